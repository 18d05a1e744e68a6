/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the heading of one column says: its words, and the unit in brackets, on
 * the line below or inside the name. */
#include "trace/layout/layout.h"

#include <string.h>

/* The unit that a text spells; roles that the name speaks for come first, so
 * that "m" is a minute under "time". score may be null. */
static const struct be_unit *unit_of(struct be_span text, const int *score)
{
  const struct be_unit *unit = NULL;
  int best = 0;
  text = be_span_trim(text);
  if (text.size == 0) return NULL;
  for (int role = BE_ROLE_TIME; score && role < BE_ROLES; role++) {
    const struct be_unit *found = NULL;
    if (score[role] > best) found = be_unit_find_in(be_role_dimension[role], text.text, text.size);
    if (found) unit = found, best = score[role];
  }
  return unit ? unit : be_unit_find(text.text, text.size);
}

/* ---- brackets ---- */

/* Bytes of a bracket at text[at], 0 if there is none; wide ones too. */
static size_t bracket(struct be_span text, size_t at, bool opening)
{
  static const char *const forms[2][5] = {{"(", "[", "{", "\uFF08", "\uFF3B"},
                                          {")", "]", "}", "\uFF09", "\uFF3D"}};
  for (size_t i = 0; i < 5; i++) {
    const char *form = forms[!opening][i];
    size_t length = strlen(form);
    if (text.size - at >= length && memcmp(text.text + at, form, length) == 0) return length;
  }
  return 0;
}

/* The next bracketed part of text at or after *at, which moves past it. */
static bool next_bracketed(struct be_span text, size_t *at, struct be_span *inside)
{
  size_t i = *at, open = 0;
  while (i < text.size && !(open = bracket(text, i, true))) i++;
  for (size_t k = i + open; k < text.size; k++) {
    size_t close = bracket(text, k, false);
    if (!close) continue;
    *inside = be_span_trim((struct be_span){text.text + i + open, k - i - open});
    *at = k + close;
    return true;
  }
  return false;
}

/* "(corrected)" and "(cell 1)" are no units; "(MPa)" and "(tonf)" must be. */
static bool may_be_unit(struct be_span text)
{
  if (text.size == 0 || text.size > 7 || memchr(text.text, ' ', text.size)) return false;
  return !(text.text[0] >= '0' && text.text[0] <= '9');
}

/* "(pound force)", "(in lb)", "(N, corrected)": the one word that is a unit of
 * what the name speaks of. */
static const struct be_unit *unit_among(struct be_span text, const int *score)
{
  for (int role = BE_ROLE_TIME; role < BE_ROLES; role++) {
    for (size_t at = 0, end; score[role] && at < text.size; at = end + 1) {
      for (end = at; end < text.size && !strchr(" ,;", text.text[end]);) end++;
      const struct be_unit *unit =
          be_unit_find_in(be_role_dimension[role], text.text + at, end - at);
      if (unit) return unit;
    }
  }
  return NULL;
}

/* Hears the words of a name again without its unit: "Time (min)" is no minimum. */
static void hear_without(struct be_span name, struct be_span unit, struct be_heading *heading)
{
  char text[BE_NAME_MAX], folded[2 * BE_NAME_MAX];
  size_t before = (size_t)(unit.text - name.text), behind = before + unit.size, length;
  be_span_copy((struct be_span){name.text, before}, text, sizeof text);
  length = strlen(text);
  be_span_copy((struct be_span){name.text + behind, name.size - behind}, text + length,
               sizeof text - length);
  be_words_fold((struct be_span){text, strlen(text)}, folded, sizeof folded);
  heading->says = (struct be_speech){0};
  be_words_score(folded, &heading->says);
}

static void unit_in_brackets(struct be_span name, struct be_heading *heading)
{
  struct be_span inside;
  size_t at = 0;
  while (!heading->unit && next_bracketed(name, &at, &inside)) {
    heading->unit = unit_of(inside, heading->says.score);
    if (!heading->unit) heading->unit = unit_among(inside, heading->says.score);
    if (heading->unit) heading->place = BE_UNIT_IN_BRACKETS;
    if (heading->unit && heading->says.figure) hear_without(name, inside, heading);
    else if (!heading->unit && may_be_unit(inside))
      be_span_copy(inside, heading->strange_unit, BE_UNIT_MAX);
  }
}

/* ---- elsewhere ---- */

static bool is_small(char c)
{
  return c >= 'a' && c <= 'z';
}

/* Where the unit of "ForceN", "LoadKg" or "ForcekN" starts; 0 if it has none.
 * A small letter before the capital belongs to it when the rest is a word. */
static size_t camel_unit(struct be_span name)
{
  size_t capital = name.size, prefix = 1;
  while (capital > 0 && is_small(name.text[capital - 1])) capital--;
  if (capital < 4 || name.text[capital - 1] < 'A' || name.text[capital - 1] > 'Z') return 0;
  capital--;
  for (size_t i = 1; i <= 3; i++)
    if (!is_small(name.text[capital - i])) return 0;
  for (; prefix <= 2; prefix++) {
    const char *start = name.text + capital - prefix;
    char folded[BE_NAME_MAX];
    struct be_speech says;
    if (!be_unit_find(start, (size_t)(name.text + name.size - start))) continue;
    size_t word = capital - prefix;
    while (word > 0 && is_small(name.text[word - 1])) word--;
    if (word > 0) word--;
    be_words_fold((struct be_span){name.text + word, capital - prefix - word}, folded,
                  sizeof folded);
    be_words_score(folded, &says);
    for (int role = BE_ROLE_TIME; role < BE_ROLES; role++)
      if (says.score[role]) return capital - prefix;
    return 0;
  }
  return capital;
}

/* "Force_N", "Kraft in N", "Weg/mm", "ForceN", "N". */
static void unit_in_name(struct be_span name, struct be_heading *heading)
{
  size_t start = name.size, camel = camel_unit(name);
  while (start > camel && !strchr(" _/,.:;-", name.text[start - 1])) start--;
  struct be_span last = {name.text + start, name.size - start};
  if (start == 0) heading->unit = unit_of(name, NULL);
  for (int role = BE_ROLE_TIME; start > 0 && role < BE_ROLES && !heading->unit; role++)
    if (heading->says.score[role])
      heading->unit = be_unit_find_in(be_role_dimension[role], last.text, last.size);
  if (!heading->unit && start > 0 && last.size > 1) {
    const struct be_unit *unit = be_unit_find(last.text, last.size);
    if (unit && unit->dimension != BE_RATIO && !be_span_is(last, "in")) heading->unit = unit;
  }
  if (heading->unit) heading->place = BE_UNIT_IN_NAME;
  if (heading->unit && start > 0 && heading->says.figure) hear_without(name, last, heading);
}

static void unit_in_line(struct be_span unit, struct be_heading *heading)
{
  struct be_span inside = be_span_trim(unit), bare;
  size_t at = 0;
  if (next_bracketed(inside, &at, &bare)) inside = bare;
  heading->unit = unit_of(inside, heading->says.score);
  if (heading->unit) heading->place = BE_UNIT_IN_LINE;
  else be_span_copy(inside, heading->strange_unit, BE_UNIT_MAX);
}

static int direction_of(const char *folded)
{
  if (strstr(folded, "compress") || strstr(folded, "druckkraft")) return -1;
  if (strstr(folded, "tensil") || strstr(folded, "zugkraft") || strstr(folded, "拉力") ||
      be_words_have(folded, "pull", false) || be_words_have(folded, "tension", false))
    return 1;
  return 0;
}

void be_heading_read(struct be_span name, struct be_span unit, struct be_heading *heading)
{
  char folded[2 * BE_NAME_MAX];
  *heading = (struct be_heading){0};
  name = be_span_trim(name);
  be_span_copy(name, heading->name, BE_NAME_MAX);
  be_words_fold(name, folded, sizeof folded);
  be_words_score(folded, &heading->says);
  heading->gap = be_words_have(folded, "gap", false) || be_words_have(folded, "spalt", false) ||
                 be_words_have(folded, "entrefer", false);
  heading->direction = direction_of(folded);
  if (unit.size) unit_in_line(unit, heading);
  if (!heading->unit && name.size) unit_in_brackets(name, heading);
  if (!heading->unit && !heading->strange_unit[0] && name.size) unit_in_name(name, heading);
  if (heading->unit) heading->strange_unit[0] = '\0';
}

bool be_cells_are_units(const struct be_cells *cells)
{
  bool known = false;
  for (size_t i = 0; i < cells->count && i < BE_TRACE_COLUMNS_MAX; i++) {
    struct be_span cell = be_span_trim(cells->cell[i]), inside;
    size_t at = 0;
    if (cell.size == 0) continue;
    bool bracketed =
        bracket(cell, 0, true) > 0 && next_bracketed(cell, &at, &inside) && at == cell.size;
    if (unit_of(bracketed ? inside : cell, NULL)) known = true;
    else if (!bracketed && !memchr(cell.text, '/', cell.size) && !be_span_is(cell, "MPa") &&
             !be_span_is(cell, "kPa") && !be_span_is(cell, "-"))
      return false;
  }
  return known;
}

bool be_text_is_heading(struct be_span text)
{
  struct be_heading heading;
  be_heading_read(text, (struct be_span){0}, &heading);
  for (int role = BE_ROLE_TIME; role < BE_ROLES; role++)
    if (heading.says.score[role]) return true;
  return heading.unit != NULL;
}
