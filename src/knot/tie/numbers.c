/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Expressions by recursive descent:  sum = product {(+|-) product},  product = factor {(*|/)
 * factor}, factor = number | name | sin(sum) | cos(sum) | odd(sum) | (sum) | - factor. Angles in
 * degrees. */
#include "knot/tie/inside.h"

#include <stdlib.h>

enum { DEPTH_MAX = 40 };

struct sums {
  const struct names *names;
  const struct word *word;
  const char *at, *end;
  int depth;
  struct be_err *err;
};

const struct name *be_names_look(const struct names *names, const char *at, size_t length)
{
  for (size_t i = names->count; i-- > 0;)
    if (names->list[i].length == length && memcmp(names->list[i].at, at, length) == 0)
      return &names->list[i];
  return NULL;
}

static bool is_letter(char c)
{
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '_';
}

static bool is_digit(char c)
{
  return c >= '0' && c <= '9';
}

/* Names that would be read as something else. */
static bool is_taken(const struct word *word)
{
  static const char *const taken[] = {
      "also",   "coil",   "cos",  "doubled", "else", "end", "kind", "let", "line", "mirror", "odd",
      "pulled", "repeat", "ring", "rod",     "set",  "sin", "tie",  "tip", "view", "when"};
  for (size_t i = 0; i < sizeof taken / sizeof taken[0]; i++)
    if (be_word_is(word, taken[i])) return true;
  size_t letters = 0;
  while (letters < word->length && (word->at[letters] == 'o' || word->at[letters] == 'u'))
    letters++;
  return letters == word->length;
}

enum be_status be_name_check(const struct word *word, struct be_err *err)
{
  bool fine = word->length > 0 && is_letter(word->at[0]);
  for (size_t i = 0; i < word->length; i++)
    fine = fine && (is_letter(word->at[i]) || is_digit(word->at[i]));
  if (!fine)
    return be_tie_wrong(err, word->place, "\"%.*s\" is no name: it is of letters, then digits",
                        (int)(word->length > 60 ? 60 : word->length), word->at);
  if (is_taken(word))
    return be_tie_wrong(err, word->place, "\"%.*s\" has a meaning of its own, and is no name",
                        (int)(word->length > 60 ? 60 : word->length), word->at);
  return BE_OK;
}

enum be_status be_names_put(struct names *names, const struct word *word, double value,
                            struct be_err *err)
{
  struct name *known = NULL;
  enum be_status status = be_name_check(word, err);
  if (status != BE_OK) return status;
  for (size_t i = 0; i < names->count; i++)
    if (names->list[i].length == word->length &&
        memcmp(names->list[i].at, word->at, word->length) == 0)
      known = &names->list[i];
  if (!known) {
    if (names->count == NAMES_MAX)
      return be_tie_wrong(err, word->place, "there are more than %d names", NAMES_MAX);
    known = &names->list[names->count++];
  }
  *known = (struct name){word->at, word->length, true, value, {0}};
  return BE_OK;
}

/* Of a piece of the text, or, where it is empty, of the place alone. */
static enum be_status wrong(const struct sums *s, const char *at, size_t length, const char *what)
{
  struct place place = s->word->place;
  place.column += (unsigned)(s->at - s->word->at);
  if (length == 0) return be_tie_wrong(s->err, place, "%s", what);
  return be_tie_wrong(s->err, place, "\"%.*s\" %s", (int)(length > 60 ? 60 : length), at, what);
}

static void skip(struct sums *s)
{
  while (s->at < s->end && (*s->at == ' ' || *s->at == '\t' || *s->at == '\r')) s->at++;
}

static bool take(struct sums *s, char c)
{
  skip(s);
  if (s->at == s->end || *s->at != c) return false;
  s->at++;
  return true;
}

static enum be_status sum(struct sums *s, double *value);

static enum be_status read_digits(struct sums *s, double *value)
{
  char digits[32];
  size_t n = 0;
  const char *from = s->at;
  while (s->at < s->end && (is_digit(*s->at) || *s->at == '.') && n + 1 < sizeof digits)
    digits[n++] = *s->at++;
  digits[n] = 0;
  char *end;
  *value = strtod(digits, &end);
  if (n == 0 || *end || n + 1 == sizeof digits) {
    s->at = from;
    return wrong(s, from, (size_t)(s->end - from), "is no number");
  }
  return BE_OK;
}

static enum be_status in_brackets(struct sums *s, double *value)
{
  enum be_status status = sum(s, value);
  if (status == BE_OK && !take(s, ')')) status = wrong(s, "", 0, "a bracket is not closed");
  return status;
}

static enum be_status named(struct sums *s, double *value)
{
  const double degree = 3.14159265358979323846 / 180;
  const char *from = s->at, *end = from;
  while (end < s->end && (is_letter(*end) || is_digit(*end))) end++;
  struct word word = {from, (size_t)(end - from), s->word->place, false};
  bool of_sine = be_word_is(&word, "sin"), of_cosine = be_word_is(&word, "cos");
  bool of_odd = be_word_is(&word, "odd");
  if (of_sine || of_cosine || of_odd) {
    s->at = end;
    if (!take(s, '(')) return wrong(s, from, word.length, "needs a bracket behind it");
    enum be_status status = in_brackets(s, value);
    if (of_odd) *value = fmod(fabs(floor(*value + 0.5)), 2);
    else *value = of_sine ? sin(*value * degree) : cos(*value * degree);
    return status;
  }
  const struct name *name = be_names_look(s->names, from, word.length);
  if (!name) return wrong(s, from, word.length, "is no name of a number");
  if (!name->number) return wrong(s, from, word.length, "is a choice, no number");
  s->at = end;
  *value = name->value;
  return BE_OK;
}

static enum be_status factor(struct sums *s, double *value)
{
  enum be_status status;
  if (s->depth++ > DEPTH_MAX) return wrong(s, "", 0, "there are too many brackets");
  if (take(s, '-')) {
    status = factor(s, value);
    *value = -*value;
  } else if (take(s, '(')) status = in_brackets(s, value);
  else if (s->at < s->end && is_letter(*s->at)) status = named(s, value);
  else status = read_digits(s, value);
  s->depth--;
  return status;
}

static enum be_status product(struct sums *s, double *value)
{
  enum be_status status = factor(s, value);
  while (status == BE_OK) {
    bool times = take(s, '*');
    if (!times && !take(s, '/')) break;
    double by;
    status = factor(s, &by);
    if (status == BE_OK && !times && by == 0) return wrong(s, "", 0, "nothing is divided by 0");
    if (status == BE_OK) *value = times ? *value * by : *value / by;
  }
  return status;
}

static enum be_status sum(struct sums *s, double *value)
{
  *value = 0;
  enum be_status status = product(s, value);
  while (status == BE_OK) {
    bool plus = take(s, '+');
    if (!plus && !take(s, '-')) break;
    double more = 0;
    status = product(s, &more);
    *value += plus ? more : -more;
  }
  return status;
}

enum be_status be_tie_number(const struct names *names, const struct word *word, const char **at,
                             double *value, struct be_err *err)
{
  struct sums s = {names, word, *at, word->at + word->length, 0, err};
  enum be_status status = sum(&s, value);
  if (status == BE_OK && !(fabs(*value) < 1e6)) /* what no tie needs, and no number */
    return be_tie_wrong(err, word->place, "a number is larger than a million");
  *at = s.at;
  return status;
}

/* ---- settings asked for ---- */

enum be_status be_tie_settings_read(const char *text, struct settings *settings, struct be_err *err)
{
  static const char parts[] = " ,;\t\r\n";
  settings->count = 0;
  if (!text) return BE_OK;
  for (const char *p = text + strspn(text, parts); *p; p += strspn(p, parts)) {
    size_t length = strcspn(p, parts), name = strcspn(p, "=");
    if (name == 0 || name + 1 >= length)
      return be_fail(err, BE_BAD_INPUT,
                     "\"%.*s\" is no setting: write it as in turns=7, without blanks",
                     (int)(length > 60 ? 60 : length), p);
    if (settings->count == BE_TIE_SETTINGS_MAX)
      return be_fail(err, BE_BAD_INPUT, "there are more than %d settings", BE_TIE_SETTINGS_MAX);
    settings->asked[settings->count++] =
        (struct asked){p, p + name + 1, name, length - name - 1, false};
    p += length;
  }
  return BE_OK;
}
