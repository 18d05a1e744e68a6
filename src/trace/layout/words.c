/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The words that headings use for time, force and travel in eight languages.
 * They are compared in lower case without accents. */
#include "trace/layout/layout.h"

#include <string.h>

enum { SOME = 10, WELL = 30, FULL = 40, AGAINST = -30, OTHER = -60, COUNTER = -1 };

/* A word must stand alone unless `part` is set, as in German compounds and in
 * scripts without spaces. */
static const struct word {
  const char *list;  /* words with | between */
  enum be_role role; /* BE_ROLE_NONE: speaks against every role */
  int score;
  bool part;
} words[] = {
    /* English */
    {"time|times|elapsed|seconds|millis|timestamp|timer|datetime|runtime", BE_ROLE_TIME, FULL,
     false},
    {"testtime|clock", BE_ROLE_TIME, FULL, false},
    {"t|sec|duration", BE_ROLE_TIME, WELL, false},
    {"force|load", BE_ROLE_FORCE, FULL, true},
    {"tension|tensions|pull|f|traction|thrust|newtons|kgf|lbf", BE_ROLE_FORCE, WELL, false},
    {"weight|reading|readings|value|values|net|gross", BE_ROLE_FORCE, SOME, false},
    {"extension|displacement|crosshead|extenso", BE_ROLE_EXTENSION, FULL, true},
    {"elongation|elongations|travel|travelled|traveled|stroke|stretch", BE_ROLE_EXTENSION, FULL,
     false},
    {"position|positions|distance|deflection|gap|disp|displ|ext|elong", BE_ROLE_EXTENSION, WELL,
     false},
    {"pos|dist|separation|lvdt|actuator|way", BE_ROLE_EXTENSION, WELL, false},
    {"x|deformation|length", BE_ROLE_EXTENSION, SOME, false},
    /* German */
    {"zeit", BE_ROLE_TIME, FULL, true},
    {"dauer|uhr", BE_ROLE_TIME, WELL, false},
    {"kraft|zuglast|pruflast", BE_ROLE_FORCE, FULL, true},
    {"belastung", BE_ROLE_FORCE, FULL, false},
    {"last|zug", BE_ROLE_FORCE, WELL, false},
    {"messwert|anzeige|wert|gewicht", BE_ROLE_FORCE, SOME, false},
    {"weg|verschiebung|verlangerung|langenanderung", BE_ROLE_EXTENSION, FULL, true},
    {"hub|spalt|abstand|pfad|auslenkung", BE_ROLE_EXTENSION, WELL, false},
    {"dehnung|lange", BE_ROLE_EXTENSION, SOME, false},
    /* French */
    {"temps", BE_ROLE_TIME, FULL, false},
    {"duree|heure", BE_ROLE_TIME, WELL, false},
    {"effort|efforts|charge|charges", BE_ROLE_FORCE, FULL, false},
    {"valeur|valeurs|poids|mesure", BE_ROLE_FORCE, SOME, false},
    {"allongement|deplacement", BE_ROLE_EXTENSION, FULL, true},
    {"course|entrefer|traverse|ecartement|etirement", BE_ROLE_EXTENSION, WELL, false},
    /* Spanish, Portuguese */
    {"tiempo|tiempos|tempo|tempos", BE_ROLE_TIME, FULL, false},
    {"hora|duracion|duracao", BE_ROLE_TIME, WELL, false},
    {"fuerza|forca|carga", BE_ROLE_FORCE, FULL, true},
    {"traccion|tracao", BE_ROLE_FORCE, WELL, false},
    {"valor|valores|peso|lectura|leitura", BE_ROLE_FORCE, SOME, false},
    {"desplaz|alargamiento|elongacion|deslocamento|alongamento|extensao", BE_ROLE_EXTENSION, FULL,
     true},
    {"posicion|carrera|recorrido|posicao|curso|estiramiento|distancia", BE_ROLE_EXTENSION, WELL,
     false},
    {"estiramento", BE_ROLE_EXTENSION, WELL, false},
    /* Italian */
    {"durata|ora|orario", BE_ROLE_TIME, WELL, false},
    {"forza|forze|carico|carichi", BE_ROLE_FORCE, FULL, false},
    {"trazione", BE_ROLE_FORCE, WELL, false},
    {"valore|valori|lettura", BE_ROLE_FORCE, SOME, false},
    {"spostamento|allungamento|estensione", BE_ROLE_EXTENSION, FULL, true},
    {"posizione|corsa|distanza", BE_ROLE_EXTENSION, WELL, false},
    /* Japanese, Chinese */
    {"時間|时间|経過|经过时", BE_ROLE_TIME, FULL, true},
    {"時刻|时刻", BE_ROLE_TIME, WELL, true},
    {"荷重|試験力|試驗力|張力|拉力|张力|引張力", BE_ROLE_FORCE, FULL, true},
    {"试验力|载荷|載荷|荷载|負荷|负荷|负载|負載", BE_ROLE_FORCE, FULL, true},
    {"ロードセル|フォース", BE_ROLE_FORCE, FULL, true},
    {"力|ロード", BE_ROLE_FORCE, WELL, true},
    {"測定値|测量值|測量值|示值|读数|讀數|数值|數值", BE_ROLE_FORCE, SOME, true},
    {"変位|伸び|ストローク|移動量|位移|伸长|伸長", BE_ROLE_EXTENSION, FULL, true},
    {"行程|クロスヘッド", BE_ROLE_EXTENSION, FULL, true},
    {"変形|变形|變形|距離|距离|位置|間隙|间隙|移動", BE_ROLE_EXTENSION, WELL, true},
    {"移动", BE_ROLE_EXTENSION, WELL, true},
    /* Against: other quantities that borrow the words above */
    {"stress|stresses|contrainte|contraintes|esfuerzo|esfuerzos|tensao", BE_ROLE_NONE, OTHER,
     false},
    {"tensione|sforzo|sollecitazione|strain|strains|deformazione", BE_ROLE_NONE, OTHER, false},
    {"deformacion|deformacao", BE_ROLE_NONE, OTHER, false},
    {"spannung|geschwindigkeit|temperatur|drehmoment|feuchte", BE_ROLE_NONE, OTHER, true},
    {"rate|rates|ratio|speed|velocity|vitesse|velocidad|velocidade", BE_ROLE_NONE, OTHER, false},
    {"velocita|energy|energie|energia|work|arbeit|travail|acceleration", BE_ROLE_NONE, OTHER,
     false},
    {"accel", BE_ROLE_NONE, OTHER, false},
    {"temp|humidity|pressure|druck|pression|presion|pressao|pressione", BE_ROLE_NONE, OTHER, false},
    {"torque|moment|angle|winkel|current|power|frequency|freq", BE_ROLE_NONE, OTHER, false},
    {"width|thickness|diameter|area|modulus|stiffness|slope|battery|fmax", BE_ROLE_NONE, OTHER,
     false},
    {"fmin|fbreak", BE_ROLE_NONE, OTHER, false},
    {"応力|应力|應力|圧力|压力|壓力|扭力|力矩|電力", BE_ROLE_NONE, OTHER, true},
    {"电力|速度|速率|温度|溫度|室温|湿度|濕度|ひずみ", BE_ROLE_NONE, OTHER, true},
    {"歪み|应变|應變|率|能量|エネルギー", BE_ROLE_NONE, OTHER, true},
    /* Against: figures and settings, not the reading itself */
    {"cycle|peak|peaks|max|maximum|min|minimum|break|breaking|rupture", BE_ROLE_NONE, AGAINST,
     false},
    {"rotura|ruptura|rottura|mean|average|avg|target|set|setpoint", BE_ROLE_NONE, AGAINST, false},
    {"command|cmd|demand|limit|preload|pretension|consigne|consigna", BE_ROLE_NONE, AGAINST, false},
    {"bruch|maximal|hochst|mittel|vorkraft|vorlast|sollwert|sollkraft", BE_ROLE_NONE, AGAINST,
     true},
    {"precarga|precharge|precarico|最大|最小|平均|目標|目标", BE_ROLE_NONE, AGAINST, true},
    {"設定|设定|破断|断裂", BE_ROLE_NONE, AGAINST, true},
    {"corrected|raw|roh|brut", BE_ROLE_NONE, AGAINST / 3, false},
    /* Against, when nothing else is said: these number the rows or name the specimen */
    {"index|idx|sample|samples|point|points|row|rows|no|nr|num|number", BE_ROLE_NONE, COUNTER,
     false},
    {"count|counter|line|id|serial|step|zeile|punkt|lfd|nummer|numero", BE_ROLE_NONE, COUNTER,
     false},
    {"ligne|fila|linha|riga|punto|ponto|datapoint|record|event|marker", BE_ROLE_NONE, COUNTER,
     false},
    {"block|test|specimen|channel", BE_ROLE_NONE, COUNTER, false},
    {"番号|序号|序號|編號|编号|行号|行號|点数|點數", BE_ROLE_NONE, COUNTER, true},
    {"点号", BE_ROLE_NONE, COUNTER, true},
};
enum { WORDS = sizeof words / sizeof words[0] };

/* The Latin letters U+00C0-U+00FF without their accents. */
static const char plain_latin[] = "aaaaaaaceeeeiiiidnooooo*ouuuuyts"
                                  "aaaaaaaceeeeiiiidnooooo/ouuuuyty";

/* Lower case, no accents, wide forms narrowed; "TensileForce" is two words. */
enum { CAMEL = 3 };
void be_words_fold(struct be_span text, char *out, size_t size)
{
  size_t length = 0, small = 0; /* small letters since the last other one */
  for (size_t i = 0; i < text.size;) {
    uint32_t code;
    size_t step = be_utf8_next(text.text + i, text.size - i, &code);
    if (step == 0) step = 1;
    if (length + step + 1 >= size) break;
    bool capital = code >= 'A' && code <= 'Z';
    if (capital && small >= CAMEL) out[length++] = ' ';
    small = code >= 'a' && code <= 'z' ? small + 1 : 0;
    if (code >= 0xFF01 && code <= 0xFF5E) code -= 0xFEE0;
    if (capital) code += 'a' - 'A';
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

static bool has_word(const char *folded, const char *word, size_t length, bool part)
{
  for (const char *at = folded; *at; at++) {
    if (*at != *word || strncmp(at, word, length) != 0) continue;
    bool starts = at == folded || !is_letter(at[-1]);
    if (part || (starts && !is_letter(at[length]))) return true;
  }
  return false;
}

bool be_words_have(const char *folded, const char *word, bool part)
{
  return has_word(folded, word, strlen(word), part);
}

static bool has_any(const char *folded, const struct word *any)
{
  for (const char *word = any->list; *word;) {
    size_t length = strcspn(word, "|");
    if (has_word(folded, word, length, any->part)) return true;
    word += length + (word[length] == '|');
  }
  return false;
}

void be_words_score(const char *folded, struct be_speech *speech)
{
  int against = 0, most = 0;
  bool counts = false;
  *speech = (struct be_speech){0};
  for (size_t i = 0; i < WORDS; i++) {
    if (!has_any(folded, &words[i])) continue;
    if (words[i].score == COUNTER) counts = true;
    else if (words[i].role == BE_ROLE_NONE)
      against = words[i].score < against ? words[i].score : against;
    else if (words[i].score > speech->score[words[i].role])
      speech->score[words[i].role] = words[i].score;
  }
  for (int role = BE_ROLE_TIME; role < BE_ROLES; role++) {
    int score = speech->score[role] + against;
    if (speech->score[role]) speech->score[role] = score > 0 ? score : 0;
    most = speech->score[role] > most ? speech->score[role] : most;
  }
  speech->other = against <= OTHER;
  speech->figure = against == AGAINST;
  speech->counter = counts && most == 0 && !speech->other;
}
