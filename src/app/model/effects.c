/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What factors held fixed do: as ratios of loads, or of shares of the line, in relative per cent.
 */
#include "app/model/model.h"

#include <ctype.h>
#include <math.h>
#include <string.h>

/* One effect: of a step of a number, or of a level against the first. */
struct effect {
  const struct modelled *m;
  enum be_factor kind;
  const struct model_factor *factor;
  size_t level; /* of a number: 0 */
  bool of_loads;
  struct be_mixed_contrast log;
};

enum { STEP_ORDER = 10 };

static void work_out(struct effect *effect, const struct be_mixed *fit)
{
  const struct model_factor *factor = effect->factor;
  uint32_t column[64];
  double weight[64];
  for (size_t c = 0; c < factor->columns; c++) {
    column[c] = (uint32_t)(factor->column + c);
    weight[c] = factor->by_number
                    ? effect->kind == BE_FACTOR_ORDER ? STEP_ORDER : 1
                    : be_factor_weight(factor, effect->level, c) - be_factor_weight(factor, 0, c);
  }
  be_mixed_contrast(fit, column, weight, factor->columns, effect->m->survey->how.level,
                    &effect->log);
}

static double relative(double log_ratio)
{
  return 100 * expm1(log_ratio);
}

/* ---- words ---- */

/* "soaked, against dry"; "one more turn". */
static const char *what_words(const struct effect *effect)
{
  const struct model_factor *factor = effect->factor;
  switch (effect->kind) {
  case BE_FACTOR_TURNS: return "one more turn";
  case BE_FACTOR_SPEED: return "twice the speed";
  case BE_FACTOR_LENGTH: return "twice the length";
  case BE_FACTOR_ORDER: return "ten pulls later in a session";
  default:
    return be_arena_format(effect->m->arena, "%s, against %s", factor->level[effect->level].text,
                           factor->level[0].text);
  }
}

/* How a sentence begins. */
static const char *lead(const struct effect *effect, struct be_arena *arena)
{
  const struct model_factor *factor = effect->factor;
  const char *one = factor->level[effect->level].text, *other = factor->level[0].text;
  switch (effect->kind) {
  case BE_FACTOR_TURNS: return "With one more turn";
  case BE_FACTOR_SPEED: return "At twice the speed";
  case BE_FACTOR_LENGTH: return "With twice the length";
  case BE_FACTOR_ORDER: return "Ten pulls later in a session";
  case BE_FACTOR_TYER: return be_arena_format(arena, "Tied by %s rather than %s", one, other);
  case BE_FACTOR_LUBRICANT:
    return be_arena_format(arena, "With lubricant %s rather than %s", one, other);
  default:
    return be_arena_format(arena, "%c%s rather than %s", toupper((unsigned char)one[0]), one + 1,
                           other);
  }
}

const char *be_model_p(struct be_arena *arena, double p)
{
  const char *text = p < 0.0001 ? "p < 0.0001" : be_arena_format(arena, "p = %.2g", p);
  return text ? text : "p = ?";
}

static const char *sentence(const struct effect *effect)
{
  struct be_arena *arena = effect->m->survey->arena;
  const struct be_mixed_contrast *log = &effect->log;
  double low = relative(log->interval.low), high = relative(log->interval.high);
  const char *begin = lead(effect, arena);
  if (!begin) return NULL;
  if (isnan(log->df))
    return be_arena_format(arena, "%s: by how much is not known, for the model did not settle.",
                           begin);
  const char *of = effect->of_loads ? "load" : "share of the line";
  if (low <= 0 && high >= 0)
    return be_arena_format(arena, "%s, no difference in %s can be told: %+.1f %% [%.1f, %.1f].",
                           begin, of, relative(log->value), low, high);
  bool less = log->value < 0;
  return be_arena_format(
      arena, "%s, the same knots on the same lines %s %.1f %% [%.1f, %.1f] %s %s (%s).", begin,
      effect->of_loads ? "held" : "kept", fabs(relative(log->value)), less ? -high : low,
      less ? -low : high, less ? "less" : "more",
      effect->of_loads ? "load" : "of the plain line, relative", be_model_p(arena, log->p));
}

/* Of three levels and more: whether they differ at all. */
static enum be_status sentence_of_many(const struct effect *effect, const struct be_mixed *fit,
                                       const char **text, struct be_err *err)
{
  const struct model_factor *factor = effect->factor;
  struct be_arena *arena = effect->m->survey->arena;
  size_t columns = effect->m->sample->columns;
  double *weights = be_arena_alloc(effect->m->arena, factor->columns * columns * sizeof *weights);
  struct be_mixed_joint joint;
  if (!weights) return be_no_memory(err);
  for (size_t c = 0; c < factor->columns; c++) weights[c * columns + factor->column + c] = 1;
  enum be_status status = be_mixed_joint(fit, weights, factor->columns, &joint, err);
  if (status != BE_OK) return status;
  const char *of = effect->of_loads ? "load" : "share of the line";
  const char *word = be_factor_words[effect->kind];
  *text =
      joint.p <= 1 - effect->m->survey->how.level
          ? be_arena_format(arena, "The %zu of %s differ in %s (%s, F of %zu and %.3g df).",
                            factor->count, word, of, be_model_p(arena, joint.p), joint.df1,
                            joint.df2)
          : be_arena_format(arena, "Between the %zu of %s no difference in %s can be told (%s).",
                            factor->count, word, of, be_model_p(arena, joint.p));
  return *text ? BE_OK : be_no_memory(err);
}

/* ---- the table ---- */

static const struct be_column columns[] = {
    {"place", "", BE_COLUMN_TEXT, true},
    {"factor", "", BE_COLUMN_TEXT, true},
    {"effect", "held fixed", BE_COLUMN_TEXT, false},
    {"of", "changes", BE_COLUMN_TEXT, false},
    {"n", "n", BE_COLUMN_NUMBER, false},
    {"relative_percent", "by (relative %)", BE_COLUMN_NUMBER, false},
    {"relative_percent", "interval", BE_COLUMN_INTERVAL, false},
    {"df", "df", BE_COLUMN_NUMBER, false},
    {"p", "p", BE_COLUMN_NUMBER, false},
};

static size_t pulls_of(const struct effect *effect)
{
  const struct model_factor *factor = effect->factor;
  if (!factor->by_number) return factor->pulls[effect->level];
  size_t pulls = 0;
  for (size_t i = 0; i < factor->count; i++) pulls += factor->pulls[i];
  return pulls;
}

static void row(struct be_table *table, const struct effect *effect)
{
  const struct be_mixed_contrast *log = &effect->log;
  const char *what = what_words(effect);
  be_table_text(table, "%s", effect->m->place);
  be_table_text(table, "%s", be_factor_words[effect->kind]);
  be_table_text(table, "%s", what ? what : "?");
  be_table_text(table, "%s", effect->of_loads ? "load" : "share of the line");
  be_table_number(table, (double)pulls_of(effect), 0);
  be_table_number(table, relative(log->value), 1);
  be_table_interval(table, relative(log->interval.low), relative(log->interval.high), 1);
  be_table_number(table, log->df, 1);
  be_table_probability(table, log->p);
}

/* ---- all of them ---- */

/* A factor by one of the fits: its rows, and a sentence. */
static enum be_status say_factor(struct be_table *table, struct effect effect,
                                 const struct be_mixed *fit, struct headline *said,
                                 struct be_err *err)
{
  const struct model_factor *factor = effect.factor;
  size_t first = factor->by_number ? 0 : 1, end = factor->by_number ? 1 : factor->count;
  const char *text = NULL;
  enum be_status status = BE_OK;
  for (effect.level = first; effect.level < end; effect.level++) {
    work_out(&effect, fit);
    row(table, &effect);
    if (end - first == 1) text = sentence(&effect);
  }
  if (end - first > 1) status = sentence_of_many(&effect, fit, &text, err);
  if (status == BE_OK && !text) return be_no_memory(err);
  said->text[said->count++] = text;
  return status;
}

/* Loads before shares, where both are told. */
static enum be_status say_factors(struct be_table *table, const struct modelled *m,
                                  struct headline *said, struct be_err *err)
{
  enum be_status status = BE_OK;
  for (int kind = 0; kind < BE_FACTORS && status == BE_OK; kind++) {
    const struct model_factor *factor = &m->sample->factor[kind];
    if (!factor->in) continue;
    struct effect effect = {.m = m, .kind = (enum be_factor)kind, .factor = factor};
    effect.of_loads = m->of_loads && (kind == BE_FACTOR_SOAK || kind == BE_FACTOR_SPEED ||
                                      kind == BE_FACTOR_LENGTH);
    if (effect.of_loads) status = say_factor(table, effect, m->of_loads, said, err);
    effect.of_loads = !m->sample->by_share;
    if (status == BE_OK) status = say_factor(table, effect, m->fit, said, err);
  }
  return status;
}

/* Once without a table, for the sentences that stand above it. */
enum be_status be_say_effects(struct be_doc *doc, const struct modelled *m,
                              struct headline *headline, struct be_err *err)
{
  struct headline said = {.pulls = m->sample->n}, again = {0};
  enum be_status status = say_factors(NULL, m, &said, err);
  if (status != BE_OK || said.count == 0) return status;
  for (size_t i = 0; i < said.count; i++) be_doc_sentence(doc, "%s", said.text[i]);
  headline->told++;
  if (said.pulls > headline->pulls) {
    headline->of = be_arena_format(m->survey->arena, "%s", m->place);
    if (!headline->of) return be_no_memory(err);
    headline->pulls = said.pulls;
    headline->count = said.count;
    memcpy(headline->text, said.text, sizeof said.text);
  }
  struct be_table *table =
      be_doc_table(doc, "model_effects", "What is held fixed, and what it does", columns,
                   sizeof columns / sizeof columns[0]);
  return say_factors(table, m, &again, err);
}
