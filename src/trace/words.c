/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The words that headings use for time, force and travel in eight languages.
 * They are compared in lower case without accents. */
#include "trace/inside.h"

#include <string.h>

enum { SOME = 10, WELL = 30, FULL = 40, AGAINST = -30 };

/* A word must stand alone unless `part` is set, as in German compounds and in
 * scripts without spaces. */
static const struct word {
  const char *text;
  enum be_role role; /* BE_ROLE_NONE: speaks against every role */
  int score;
  bool part;
} words[] = {
    /* English */
    {"time", BE_ROLE_TIME, FULL, true},
    {"elapsed", BE_ROLE_TIME, FULL, false},
    {"seconds", BE_ROLE_TIME, FULL, false},
    {"millis", BE_ROLE_TIME, FULL, false},
    {"t", BE_ROLE_TIME, WELL, false},
    {"force", BE_ROLE_FORCE, FULL, true},
    {"load", BE_ROLE_FORCE, FULL, true},
    {"tension", BE_ROLE_FORCE, WELL, false},
    {"pull", BE_ROLE_FORCE, WELL, false},
    {"f", BE_ROLE_FORCE, WELL, false},
    {"weight", BE_ROLE_FORCE, SOME, false},
    {"reading", BE_ROLE_FORCE, SOME, false},
    {"value", BE_ROLE_FORCE, SOME, false},
    {"extension", BE_ROLE_EXTENSION, FULL, true},
    {"displacement", BE_ROLE_EXTENSION, FULL, true},
    {"elongation", BE_ROLE_EXTENSION, FULL, false},
    {"travel", BE_ROLE_EXTENSION, FULL, false},
    {"stroke", BE_ROLE_EXTENSION, FULL, false},
    {"crosshead", BE_ROLE_EXTENSION, FULL, false},
    {"stretch", BE_ROLE_EXTENSION, FULL, false},
    {"position", BE_ROLE_EXTENSION, WELL, false},
    {"distance", BE_ROLE_EXTENSION, WELL, false},
    {"deflection", BE_ROLE_EXTENSION, WELL, false},
    {"gap", BE_ROLE_EXTENSION, WELL, false},
    {"disp", BE_ROLE_EXTENSION, WELL, false},
    {"ext", BE_ROLE_EXTENSION, WELL, false},
    {"pos", BE_ROLE_EXTENSION, WELL, false},
    {"x", BE_ROLE_EXTENSION, SOME, false},
    /* German */
    {"zeit", BE_ROLE_TIME, FULL, true},
    {"dauer", BE_ROLE_TIME, WELL, false},
    {"kraft", BE_ROLE_FORCE, FULL, true},
    {"last", BE_ROLE_FORCE, WELL, false},
    {"belastung", BE_ROLE_FORCE, FULL, false},
    {"messwert", BE_ROLE_FORCE, SOME, false},
    {"weg", BE_ROLE_EXTENSION, FULL, false},
    {"verschiebung", BE_ROLE_EXTENSION, FULL, false},
    {"verlangerung", BE_ROLE_EXTENSION, FULL, false},
    {"langenanderung", BE_ROLE_EXTENSION, FULL, false},
    {"dehnweg", BE_ROLE_EXTENSION, FULL, false},
    {"traversenweg", BE_ROLE_EXTENSION, FULL, false},
    {"prufweg", BE_ROLE_EXTENSION, FULL, false},
    {"dehnung", BE_ROLE_EXTENSION, SOME, false},
    {"hub", BE_ROLE_EXTENSION, WELL, false},
    {"spalt", BE_ROLE_EXTENSION, WELL, false},
    {"abstand", BE_ROLE_EXTENSION, WELL, false},
    /* French */
    {"temps", BE_ROLE_TIME, FULL, false},
    {"duree", BE_ROLE_TIME, WELL, false},
    {"effort", BE_ROLE_FORCE, FULL, false},
    {"charge", BE_ROLE_FORCE, FULL, false},
    {"traction", BE_ROLE_FORCE, WELL, false},
    {"valeur", BE_ROLE_FORCE, SOME, false},
    {"allongement", BE_ROLE_EXTENSION, FULL, false},
    {"deplacement", BE_ROLE_EXTENSION, FULL, false},
    {"course", BE_ROLE_EXTENSION, WELL, false},
    {"entrefer", BE_ROLE_EXTENSION, WELL, false},
    /* Spanish, Portuguese */
    {"tiempo", BE_ROLE_TIME, FULL, false},
    {"tempo", BE_ROLE_TIME, FULL, false},
    {"fuerza", BE_ROLE_FORCE, FULL, false},
    {"forca", BE_ROLE_FORCE, FULL, false},
    {"carga", BE_ROLE_FORCE, FULL, false},
    {"valor", BE_ROLE_FORCE, SOME, false},
    {"desplaz", BE_ROLE_EXTENSION, FULL, true},
    {"alargamiento", BE_ROLE_EXTENSION, FULL, false},
    {"elongacion", BE_ROLE_EXTENSION, FULL, false},
    {"posicion", BE_ROLE_EXTENSION, WELL, false},
    {"carrera", BE_ROLE_EXTENSION, WELL, false},
    {"recorrido", BE_ROLE_EXTENSION, WELL, false},
    {"deslocamento", BE_ROLE_EXTENSION, FULL, false},
    {"alongamento", BE_ROLE_EXTENSION, FULL, false},
    {"extensao", BE_ROLE_EXTENSION, FULL, false},
    {"posicao", BE_ROLE_EXTENSION, WELL, false},
    {"curso", BE_ROLE_EXTENSION, WELL, false},
    /* Italian */
    {"durata", BE_ROLE_TIME, WELL, false},
    {"forza", BE_ROLE_FORCE, FULL, false},
    {"carico", BE_ROLE_FORCE, FULL, false},
    {"valore", BE_ROLE_FORCE, SOME, false},
    {"spostamento", BE_ROLE_EXTENSION, FULL, false},
    {"allungamento", BE_ROLE_EXTENSION, FULL, false},
    {"estensione", BE_ROLE_EXTENSION, FULL, false},
    {"posizione", BE_ROLE_EXTENSION, WELL, false},
    {"corsa", BE_ROLE_EXTENSION, WELL, false},
    /* Japanese, Chinese */
    {"時間", BE_ROLE_TIME, FULL, true},
    {"时间", BE_ROLE_TIME, FULL, true},
    {"時刻", BE_ROLE_TIME, WELL, true},
    {"时刻", BE_ROLE_TIME, WELL, true},
    {"荷重", BE_ROLE_FORCE, FULL, true},
    {"試験力", BE_ROLE_FORCE, FULL, true},
    {"張力", BE_ROLE_FORCE, FULL, true},
    {"拉力", BE_ROLE_FORCE, FULL, true},
    {"张力", BE_ROLE_FORCE, FULL, true},
    {"试验力", BE_ROLE_FORCE, FULL, true},
    {"载荷", BE_ROLE_FORCE, FULL, true},
    {"荷载", BE_ROLE_FORCE, FULL, true},
    {"負荷", BE_ROLE_FORCE, FULL, true},
    {"负荷", BE_ROLE_FORCE, FULL, true},
    {"力", BE_ROLE_FORCE, WELL, true},
    {"変位", BE_ROLE_EXTENSION, FULL, true},
    {"伸び", BE_ROLE_EXTENSION, FULL, true},
    {"ストローク", BE_ROLE_EXTENSION, FULL, true},
    {"移動量", BE_ROLE_EXTENSION, FULL, true},
    {"距離", BE_ROLE_EXTENSION, WELL, true},
    {"位移", BE_ROLE_EXTENSION, FULL, true},
    {"伸长", BE_ROLE_EXTENSION, FULL, true},
    {"伸長", BE_ROLE_EXTENSION, FULL, true},
    {"变形", BE_ROLE_EXTENSION, WELL, true},
    {"變形", BE_ROLE_EXTENSION, WELL, true},
    {"行程", BE_ROLE_EXTENSION, FULL, true},
    {"距离", BE_ROLE_EXTENSION, WELL, true},
    {"位置", BE_ROLE_EXTENSION, WELL, true},
    /* Against: quantities that borrow the words above, and figures that are
     * not the reading itself. */
    {"stress", BE_ROLE_NONE, 2 * AGAINST, false},
    {"spannung", BE_ROLE_NONE, 2 * AGAINST, true},
    {"contrainte", BE_ROLE_NONE, 2 * AGAINST, false},
    {"esfuerzo", BE_ROLE_NONE, 2 * AGAINST, false},
    {"tensao", BE_ROLE_NONE, 2 * AGAINST, false},
    {"応力", BE_ROLE_NONE, 2 * AGAINST, true},
    {"应力", BE_ROLE_NONE, 2 * AGAINST, true},
    {"strain", BE_ROLE_NONE, 2 * AGAINST, false},
    {"rate", BE_ROLE_NONE, 2 * AGAINST, false},
    {"speed", BE_ROLE_NONE, 2 * AGAINST, false},
    {"速度", BE_ROLE_NONE, 2 * AGAINST, true},
    {"energy", BE_ROLE_NONE, 2 * AGAINST, false},
    {"cycle", BE_ROLE_NONE, AGAINST, false},
    {"temperature", BE_ROLE_NONE, 2 * AGAINST, false},
    {"peak", BE_ROLE_NONE, AGAINST, false},
    {"max", BE_ROLE_NONE, AGAINST, false},
    {"maximum", BE_ROLE_NONE, AGAINST, false},
    {"min", BE_ROLE_NONE, AGAINST, false},
    {"minimum", BE_ROLE_NONE, AGAINST, false},
    {"break", BE_ROLE_NONE, AGAINST, false},
    {"bruch", BE_ROLE_NONE, AGAINST, true},
    {"rupture", BE_ROLE_NONE, AGAINST, false},
    {"rotura", BE_ROLE_NONE, AGAINST, false},
    {"mean", BE_ROLE_NONE, AGAINST, false},
    {"average", BE_ROLE_NONE, AGAINST, false},
    {"target", BE_ROLE_NONE, AGAINST, false},
    {"set", BE_ROLE_NONE, AGAINST, false},
    {"setpoint", BE_ROLE_NONE, AGAINST, false},
    {"corrected", BE_ROLE_NONE, AGAINST / 3, false},
    {"raw", BE_ROLE_NONE, AGAINST / 3, false},
};
enum { WORDS = sizeof words / sizeof words[0] };

/* The Latin letters U+00C0-U+00FF without their accents. */
static const char plain_latin[] = "aaaaaaaceeeeiiiidnooooo*ouuuuyts"
                                  "aaaaaaaceeeeiiiidnooooo/ouuuuyty";

/* Lower case, no accents, wide forms narrowed. */
void be_words_fold(struct be_span text, char *out, size_t size)
{
  size_t length = 0;
  for (size_t i = 0; i < text.size;) {
    uint32_t code;
    size_t step = be_utf8_next(text.text + i, text.size - i, &code);
    if (step == 0) step = 1;
    if (length + step >= size) break;
    if (code >= 0xFF01 && code <= 0xFF5E) code -= 0xFEE0;
    if (code >= 'A' && code <= 'Z') code += 'a' - 'A';
    if (code >= 0xC0 && code <= 0xFF) code = (unsigned char)plain_latin[code - 0xC0];
    if (code == 0x3000 || code == 0xA0) code = ' ';
    if (code < 0x80) {
      out[length++] = (char)code;
    } else if (code < 0x300 || code >= 0x370) { /* accents that combine fall away */
      memcpy(out + length, text.text + i, step);
      length += step;
    }
    i += step;
  }
  out[length] = '\0';
}

static bool is_letter(char c)
{
  return (c >= 'a' && c <= 'z') || (unsigned char)c >= 0x80;
}

bool be_words_have(const char *folded, const char *word, bool part)
{
  size_t length = strlen(word);
  for (const char *at = folded; (at = strstr(at, word)); at++) {
    bool starts = at == folded || !is_letter(at[-1]);
    if (part || (starts && !is_letter(at[length]))) return true;
  }
  return false;
}

void be_words_score(const char *folded, int score[BE_ROLES])
{
  int against = 0;
  for (size_t i = 0; i < WORDS; i++) {
    if (!be_words_have(folded, words[i].text, words[i].part)) continue;
    if (words[i].role == BE_ROLE_NONE) {
      against = words[i].score < against ? words[i].score : against;
    } else if (words[i].score > score[words[i].role]) {
      score[words[i].role] = words[i].score;
    }
  }
  for (int role = BE_ROLE_TIME; role < BE_ROLES; role++)
    if (score[role]) score[role] = score[role] + against > 0 ? score[role] + against : 0;
}
