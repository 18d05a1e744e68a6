/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What one cell holds. Nearly all are plain numbers; the rest of this file is
 * for those that are not. */
#include "trace/text/text.h"

#include <math.h>
#include <string.h>

enum { CELL_MAX = 64 };

/* ---- words ---- */

/* Common practice of instruments and spreadsheets, no source. */
static const char *const missing_words[] = {
    "nan",          "-nan",      "+nan",     "n/a",
    "n.a.",         "na",        "#n/a",     "#na",
    "#nv",          "null",      "none",     "nil",
    "no data",      "nodata",    "no value", "no reading",
    "missing",      "invalid",   "#value!",  "#wert!",
    "#div/0!",      "#num!",     "#zahl!",   "#ref!",
    "1.#qnan",      "-1.#qnan",  "1.#ind",   "-1.#ind",
    "1.#nan",       "k.a.",      "k. a.",    "kein wert",
    "keine angabe", "n.v.",      "n.d.",     "n/d",
    "nd",           "s/d",       "s.d.",     "sin dato",
    "sin datos",    "sem dados", "sem dado", "non disponible",
    "欠測",         "欠損",      "無効",     "なし",
    "測定不能",     "无",        "無",       "无数据",
    "無數據",       "无效",      "無效",     "缺失",
    "缺测",         "缺測",      "\u2013",   "\u2014"};
static const char *const over_words[] = {"ol",
                                         "+ol",
                                         "-ol",
                                         "o.l.",
                                         "o-l",
                                         "ofl",
                                         "ovl",
                                         "ovf",
                                         "over",
                                         "ovld",
                                         "ovrld",
                                         "overload",
                                         "over load",
                                         "overrange",
                                         "over range",
                                         "over-range",
                                         "overflow",
                                         "inf",
                                         "+inf",
                                         "-inf",
                                         "infinity",
                                         "+infinity",
                                         "-infinity",
                                         "1.#inf",
                                         "-1.#inf",
                                         "\u221E",
                                         "-\u221E",
                                         "sat",
                                         "saturated",
                                         "clipped",
                                         "Überlast",
                                         "überlast",
                                         "ueberlast",
                                         "überlauf",
                                         "surcharge",
                                         "hors gamme",
                                         "sobrecarga",
                                         "fuera de rango",
                                         "fora de escala",
                                         "sovraccarico",
                                         "fuori scala",
                                         "過負荷",
                                         "オーバー",
                                         "過載",
                                         "过载",
                                         "超载",
                                         "超量程",
                                         "超限"};

static bool is_one_of(struct be_span cell, const char *const *words, size_t count)
{
  char first =
      cell.text[0] >= 'A' && cell.text[0] <= 'Z' ? (char)(cell.text[0] | 0x20) : cell.text[0];
  for (size_t i = 0; i < count; i++)
    if (first == words[i][0] && be_span_is(cell, words[i])) return true;
  return false;
}

/* Made of these marks alone. */
static bool is_made_of(struct be_span cell, const char *marks)
{
  for (size_t i = 0; i < cell.size; i++)
    if (!strchr(marks, cell.text[i])) return false;
  return cell.size > 0;
}

/* A field of asterisks holds a number too wide for it (ISO/IEC 1539-1, editing
 * of numeric fields); a row of ^ is common practice of weighing indicators. */
bool be_span_is_over(struct be_span cell)
{
  return is_made_of(cell, "^") || (cell.size > 1 && is_made_of(cell, "*")) ||
         is_one_of(cell, over_words, sizeof over_words / sizeof over_words[0]);
}

static bool is_missing(struct be_span cell)
{
  enum { LONGEST = 24 };
  size_t sign = cell.text[0] == '-' || cell.text[0] == '+';
  if (cell.size > LONGEST && cell.text[0] != '-' && cell.text[0] != '*') return false;
  if (sign < cell.size && be_is_digit(cell.text[sign]) && !memchr(cell.text, '#', cell.size))
    return false;
  return is_made_of(cell, "-.*#?_~") ||
         is_one_of(cell, missing_words, sizeof missing_words / sizeof missing_words[0]) ||
         be_span_is_over(cell);
}

/* ---- numbers in another dress ---- */

/* Bytes of a thousands mark at text[at]; 0 if there is none. */
static size_t mark_at(struct be_span text, size_t at)
{
  static const char *const wide[] = {"\u00A0", "\u202F", "\u2009", "\u2019"};
  char c = text.text[at];
  if (c == '.' || c == ',' || c == ' ' || c == '\'') return 1;
  if ((unsigned char)c < 0x80) return 0;
  for (size_t i = 0; i < sizeof wide / sizeof wide[0]; i++) {
    size_t length = strlen(wide[i]);
    if (text.size - at >= length && memcmp(text.text + at, wide[i], length) == 0) return length;
  }
  return 0;
}

/* Thousands in strict groups of three: "1,234.5", "1 234 567". One group before
 * a comma or a point alone is not told from decimals, and is refused. */
static bool is_grouped(struct be_span cell, char decimal)
{
  size_t i = cell.text[0] == '-' || cell.text[0] == '+', start = i, groups = 0;
  while (i < cell.size && i < start + 3 && be_is_digit(cell.text[i])) i++;
  size_t width = i > start && i < cell.size ? mark_at(cell, i) : 0;
  if (!width || cell.text[i] == decimal) return false;
  const char *mark = cell.text + i;
  while (cell.size - i >= width + 3 && memcmp(cell.text + i, mark, width) == 0) {
    for (size_t k = i + width; k < i + width + 3; k++)
      if (!be_is_digit(cell.text[k])) return false;
    i += width + 3;
    groups++;
  }
  bool plain = *mark == '.' || *mark == ',';
  if (i == cell.size) return groups > 1 || (groups == 1 && !plain);
  bool decimals = groups > 0 && cell.text[i] == decimal;
  for (size_t k = i + 1; decimals && k < cell.size; k++) decimals = be_is_digit(cell.text[k]);
  return decimals;
}

/* Where the number ends and a unit may begin. */
static size_t number_size(struct be_span cell)
{
  size_t i = 0;
  while (i < cell.size) {
    char c = cell.text[i];
    if (be_is_digit(c)) {
      i++;
      continue;
    }
    size_t left = cell.size - i, mark = mark_at(cell, i);
    bool digit_after = mark && left > mark && be_is_digit(cell.text[i + mark]);
    bool sign = left > 2 && (cell.text[i + 1] == '+' || cell.text[i + 1] == '-');
    bool power = i > 0 && strchr("eEdD", c) && left > 1 && be_is_digit(cell.text[i + 1 + sign]);
    if ((i == 0 && (c == '-' || c == '+')) || c == '.' || c == ',') i++;
    else if (digit_after) i += mark;
    else if (power) i += 1 + sign;
    else break;
  }
  return i;
}

/* A minus that is typeset, and blanks between a sign and its number. */
static size_t sign_size(struct be_span cell, bool *negative)
{
  static const char *const signs[] = {"+", "-", "\u2212", "\u2013"};
  *negative = false;
  if (be_is_digit(cell.text[0])) return 0;
  for (size_t i = 0; i < 4; i++) {
    size_t length = strlen(signs[i]);
    if (cell.size <= length || memcmp(cell.text, signs[i], length) != 0) continue;
    while (length < cell.size && cell.text[length] == ' ') length++;
    *negative = i > 0;
    return length;
  }
  return 0;
}

/* The cell with a plain sign and exponent, copied into `text`; empty when it
 * does not start like a number. */
static struct be_span undress(struct be_span cell, char decimal, char text[CELL_MAX])
{
  bool negative;
  size_t sign = sign_size(cell, &negative), length = cell.size - sign;
  const char *from = cell.text + sign;
  if (length == 0 || length + 1 >= CELL_MAX) return (struct be_span){0};
  if (!be_is_digit(from[0]) && !(length > 1 && from[0] == decimal && be_is_digit(from[1])))
    return (struct be_span){0};
  text[0] = negative ? '-' : '+';
  memcpy(text + 1, from, length);
  /* 1.5D+02, as Fortran writes a double (ISO/IEC 1539-1). */
  for (size_t i = 2; i + 1 <= length; i++)
    if ((text[i] == 'D' || text[i] == 'd') && memchr(text, decimal, i) &&
        (text[i + 1] == '+' || text[i + 1] == '-'))
      text[i] = 'E';
  return (struct be_span){text, length + 1};
}

static const struct be_unit *unit_in(struct be_span text)
{
  static const enum be_dimension dimensions[] = {BE_FORCE, BE_LENGTH, BE_TIME, BE_VOLTAGE};
  /* A stray quote is no inch, and # is no pound here. */
  if (text.text[0] == '"' || text.text[0] == '#' || text.size >= BE_UNIT_MAX) return NULL;
  for (size_t i = 0; i < text.size; i++)
    if (be_is_digit(text.text[i]) || strchr("\t,;:", text.text[i])) return NULL;
  for (size_t i = 0; i < sizeof dimensions / sizeof dimensions[0]; i++) {
    const struct be_unit *unit = be_unit_find_in(dimensions[i], text.text, text.size);
    if (unit) return unit;
  }
  return NULL;
}

/* A number with thousands marks, a typeset minus or a unit after it. */
static bool read_dressed(struct be_span cell, char decimal, double *value,
                         const struct be_unit **unit)
{
  char text[CELL_MAX];
  enum be_number_style style;
  struct be_span number = undress(cell, decimal, text), rest;
  *unit = NULL;
  if (number.size == 0) return false;
  size_t size = number_size(number);
  rest = be_span_trim((struct be_span){number.text + size, number.size - size});
  if (rest.size && !(*unit = unit_in(rest))) return false;
  number.size = size;
  number = be_span_trim(number);
  if (be_number_scan(number.text, number.size, decimal, value) == number.size) return true;
  return is_grouped(number, decimal) &&
         be_number_parse(number.text, number.size, decimal, value, &style, NULL) == BE_OK;
}

/* ---- all ---- */

enum be_cell_kind be_cell_read(struct be_span cell, char decimal, double *value)
{
  if (cell.size == 0) return BE_CELL_EMPTY;
  size_t read = be_number_scan(cell.text, cell.size, decimal, value);
  /* A load past the largest double is no reading. */
  if (read == cell.size) return isfinite(*value) ? BE_CELL_NUMBER : BE_CELL_BROKEN;
  if (is_missing(cell)) return BE_CELL_MISSING;
  struct be_clock clock;
  if (be_clock_read(cell, &clock)) {
    *value = clock.seconds;
    return BE_CELL_CLOCK;
  }
  const struct be_unit *unit;
  if (read_dressed(cell, decimal, value, &unit))
    return isfinite(*value) ? BE_CELL_NUMBER : BE_CELL_BROKEN;
  if (be_span_is_date(cell)) return BE_CELL_DATE;
  bool negative;
  size_t sign = sign_size(cell, &negative);
  sign += sign < cell.size && (cell.text[sign] == '.' || cell.text[sign] == ',');
  return sign < cell.size && be_is_digit(cell.text[sign]) ? BE_CELL_BROKEN : BE_CELL_TEXT;
}

const struct be_unit *be_cell_unit(struct be_span cell, char decimal)
{
  double value;
  const struct be_unit *unit = NULL;
  if (cell.size == 0 || be_is_digit(cell.text[cell.size - 1])) return NULL;
  return read_dressed(cell, decimal, &value, &unit) ? unit : NULL;
}

int be_cell_decimals(struct be_span cell, char decimal)
{
  const char *mark = cell.size ? memchr(cell.text, decimal, cell.size) : NULL;
  int count = 0;
  if (!mark) return 0;
  for (const char *p = mark + 1; p < cell.text + cell.size && be_is_digit(*p); p++) count++;
  return count;
}
