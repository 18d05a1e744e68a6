/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Factors that a model holds fixed: their words, what pulls have of them, and their columns. */
#include "app/model/model.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { LEVELS_MAX = 50 };

const char *const be_factor_words[BE_FACTORS] = {"turns", "soak",   "lubricant", "tyer",
                                                 "speed", "length", "order"};

enum be_status be_factors_read(const char *words, unsigned *factors, struct be_err *err)
{
  for (const char *at = words;; at++) {
    at += strspn(at, " ");
    size_t all = strcspn(at, ","), size = all, i = 0;
    while (size > 0 && at[size - 1] == ' ') size--;
    while (i < BE_FACTORS &&
           (strlen(be_factor_words[i]) != size || strncmp(at, be_factor_words[i], size) != 0))
      i++;
    if (i == BE_FACTORS)
      return be_fail(err, BE_WRONG_USE,
                     "a factor is turns, soak, lubricant, tyer, speed, length or order, not "
                     "\"%.*s\"",
                     (int)(size < 40 ? size : 40), at);
    *factors |= 1U << i;
    at += all;
    if (!*at) return BE_OK;
  }
}

/* ---- values ---- */

struct factor_value be_factor_value(const struct survey *survey, enum be_factor factor,
                                    const struct be_pull *pull)
{
  struct factor_value value = {NULL, NAN};
  switch (factor) {
  case BE_FACTOR_TURNS: value.number = survey->record.knots[pull->knot].turns; break;
  case BE_FACTOR_SOAK:
    if (pull->soak != BE_SOAK_UNKNOWN) value.text = be_soak_word(pull->soak);
    break;
  case BE_FACTOR_LUBRICANT: value.text = pull->lubricant; break;
  case BE_FACTOR_TYER: value.text = pull->tyer; break;
  case BE_FACTOR_SPEED: value.number = pull->speed_m_s > 0 ? log2(pull->speed_m_s) : NAN; break;
  case BE_FACTOR_LENGTH: value.number = pull->length_m > 0 ? log2(pull->length_m) : NAN; break;
  default: value.number = pull->order;
  }
  return value;
}

bool be_factor_told(const struct factor_value *value)
{
  return value->text || !isnan(value->number);
}

/* Speeds and lengths that differ by rounding of their units are the same. */
bool be_factor_same(const struct factor_value *a, const struct factor_value *b)
{
  if (a->text || b->text) return a->text && b->text && be_text_same(a->text, b->text);
  return fabs(a->number - b->number) <= 1e-9 * (fabs(a->number) + fabs(b->number));
}

const char *be_factor_say(struct be_arena *arena, enum be_factor factor,
                          const struct factor_value *value)
{
  const char *text;
  switch (factor) {
  case BE_FACTOR_TURNS:
    text = be_arena_format(arena, "%g turn%s", value->number, value->number == 1 ? "" : "s");
    break;
  case BE_FACTOR_SPEED:
    text = be_arena_format(arena, "%.4g mm/min", 60000 * exp2(value->number));
    break;
  case BE_FACTOR_LENGTH:
    text = be_arena_format(arena, "%.4g mm", 1000 * exp2(value->number));
    break;
  case BE_FACTOR_ORDER:
    text = be_arena_format(arena, "pull %g of its session", value->number);
    break;
  default: return value->text;
  }
  return text ? text : "?";
}

/* ---- levels ---- */

static bool by_number(enum be_factor factor)
{
  return factor != BE_FACTOR_SOAK && factor != BE_FACTOR_LUBRICANT && factor != BE_FACTOR_TYER;
}

static int compare(const void *a_, const void *b_)
{
  const double *a = a_, *b = b_;
  return (*a > *b) - (*a < *b);
}

/* The lower median: a value that pulls have. */
static double middle(double *number, size_t count)
{
  qsort(number, count, sizeof *number, compare);
  return number[(count - 1) / 2];
}

/* Sorted by their words, so that in every place the same one is what the others are compared with:
 * dry before soaked. */
static void sort_levels(struct model_factor *factor, size_t rows)
{
  for (uint32_t i = 1; i < factor->count; i++)
    for (uint32_t k = i; k > 0 && strcmp(factor->level[k].text, factor->level[k - 1].text) < 0;
         k--) {
      struct factor_value level = factor->level[k];
      size_t pulls = factor->pulls[k];
      factor->level[k] = factor->level[k - 1];
      factor->pulls[k] = factor->pulls[k - 1];
      factor->level[k - 1] = level;
      factor->pulls[k - 1] = pulls;
      for (size_t r = 0; r < rows; r++)
        if (factor->of_row[r] == k) factor->of_row[r] = k - 1;
        else if (factor->of_row[r] == k - 1) factor->of_row[r] = k;
    }
}

/* Beyond LEVELS_MAX it no longer matters which are the same: texts are refused, and numbers are
 * only asked for their value. */
static uint32_t find_level(struct model_factor *factor, const struct factor_value *value)
{
  for (uint32_t k = 0; k < factor->count && k <= LEVELS_MAX; k++)
    if (be_factor_same(&factor->level[k], value)) return k;
  factor->level[factor->count++] = *value;
  return (uint32_t)factor->count - 1;
}

static enum be_status take_levels(const struct survey *survey, enum be_factor kind,
                                  struct be_arena *arena, const struct model_sample *sample,
                                  struct model_factor *factor, struct be_err *err)
{
  factor->level = be_arena_alloc(arena, sample->n * sizeof *factor->level);
  factor->pulls = be_arena_alloc(arena, sample->n * sizeof *factor->pulls);
  factor->of_row = be_arena_alloc(arena, sample->n * sizeof *factor->of_row);
  double *number = be_arena_alloc(arena, sample->n * sizeof *number);
  if (!factor->level || !factor->pulls || !factor->of_row || !number) return be_no_memory(err);
  size_t told = 0;
  for (size_t i = 0; i < sample->n; i++) {
    struct factor_value value = be_factor_value(survey, kind, sample->rows[i].pull);
    factor->of_row[i] = UINT32_MAX;
    if (!be_factor_told(&value)) continue;
    factor->of_row[i] = find_level(factor, &value);
    factor->pulls[factor->of_row[i]]++;
    number[told++] = value.number;
  }
  factor->by_number = by_number(kind);
  if (factor->count == 0) factor->why = "not recorded here";
  else if (factor->count == 1)
    factor->why = be_arena_format(arena, "all are %s", be_factor_say(arena, kind, factor->level));
  else if (!factor->by_number && factor->count > LEVELS_MAX) factor->why = "more than 50 of them";
  else factor->in = true;
  if (!factor->in && !factor->why) return be_no_memory(err);
  if (factor->by_number && told) factor->reference = middle(number, told);
  if (!factor->by_number && factor->in) sort_levels(factor, sample->n);
  return BE_OK;
}

/* ---- columns ---- */

static void place_columns(struct model_sample *sample)
{
  sample->columns = sample->knots + sample->groups - 1;
  for (int kind = 0; kind < BE_FACTORS; kind++) {
    struct model_factor *factor = &sample->factor[kind];
    factor->column = sample->columns;
    factor->columns = !factor->in ? 0 : factor->by_number ? 1 : factor->count - 1;
    sample->columns += factor->columns;
  }
}

enum be_status be_model_take_factors(const struct survey *survey, struct be_arena *arena,
                                     struct model_sample *sample, struct be_err *err)
{
  enum be_status status = BE_OK;
  for (int kind = 0; kind < BE_FACTORS && status == BE_OK; kind++) {
    sample->factor[kind].asked = survey->how.factors >> kind & 1;
    if (sample->factor[kind].asked)
      status = take_levels(survey, (enum be_factor)kind, arena, sample, &sample->factor[kind], err);
  }
  place_columns(sample);
  return status;
}

void be_model_drop_factor(struct model_sample *sample, enum be_factor kind, const char *why)
{
  sample->factor[kind].in = false;
  sample->factor[kind].why = why;
  place_columns(sample);
}

/* The first level is the last column's opposite: less 1 in every column. */
double be_factor_weight(const struct model_factor *factor, size_t level, size_t column)
{
  if (level == UINT32_MAX) return 0;
  if (factor->by_number) return factor->level[level].number - factor->reference;
  return level == 0 ? -1 : level == column + 1 ? 1 : 0;
}
