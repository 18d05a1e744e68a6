/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Standings by something else than strength: by slips, by how low a pull may go, by strength when
 * it holds. Combination by combination; two knots are told apart by a test of their own,
 * adjusted by Holm. */
#include "app/ranking/ranking.h"
#include "app/strength/strength.h"

#include <math.h>
#include <string.h>

static const double above = 0.90, confidence = 0.95; /* as the low end of strength */

/* A knot by one measure; greater is better. */
struct measured {
  const struct cell *cell;
  double value, better; /* as shown; for sorting */
  struct be_interval interval;
  size_t n, rank, low, high;
};

struct measure {
  enum be_by by;
  const char *word;  /* as asked for */
  const char *title; /* of the tables */
  bool (*has)(const struct cell *cell);
  enum be_status (*take)(const struct survey *survey, struct measured *knot, struct be_err *err);
  /* That two are alike; 1 when it cannot be told; null where there is no test. */
  double (*p)(const struct survey *survey, const struct cell *a, const struct cell *b);
};

/* ---- slips ---- */

static bool was_told(const struct cell *cell)
{
  return cell->told > 0;
}

static enum be_status take_slips(const struct survey *survey, struct measured *knot,
                                 struct be_err *err)
{
  (void)err;
  const struct cell *cell = knot->cell;
  struct be_interval rate = be_rate_exact(cell->slips, cell->told, survey->how.level);
  knot->n = cell->told;
  knot->value = 100 * (double)cell->slips / (double)cell->told;
  knot->better = -knot->value;
  knot->interval = (struct be_interval){100 * rate.low, 100 * rate.high, rate.level};
  return BE_OK;
}

static double p_of_slips(const struct survey *survey, const struct cell *a, const struct cell *b)
{
  struct be_rates rates;
  be_rates_compare(a->slips, a->told, b->slips, b->told, survey->how.level, &rates);
  return rates.fisher_p;
}

/* ---- how low ---- */

static bool has_two(const struct cell *cell)
{
  return cell->n >= 2 && cell->summary.sd > 0;
}

static enum be_status take_low(const struct survey *survey, struct measured *knot,
                               struct be_err *err)
{
  const struct cell *cell = knot->cell;
  size_t count = cell->n + cell->lower_count;
  const struct be_held *held = be_held_of(survey, cell);
  if (!held) return be_no_memory(err);
  struct be_fit fit;
  be_fit_censored(BE_FAMILY_WEIBULL, held, count, &fit);
  knot->n = cell->n;
  knot->value = be_shown(survey, be_fit_lower(&fit, held, count, above, confidence));
  knot->better = knot->value;
  return BE_OK;
}

/* ---- strength when it holds ---- */

static bool has_held(const struct cell *cell)
{
  return cell->held.n >= 2 && cell->held.sd > 0;
}

static enum be_status take_held(const struct survey *survey, struct measured *knot,
                                struct be_err *err)
{
  (void)err;
  struct be_estimate mean = be_estimate_mean(&knot->cell->held);
  struct be_interval interval = be_estimate_interval(&mean, survey->how.level);
  knot->n = knot->cell->held.n;
  knot->value = knot->better = be_shown(survey, mean.value);
  knot->interval = (struct be_interval){be_shown(survey, interval.low),
                                        be_shown(survey, interval.high), interval.level};
  return BE_OK;
}

static double p_of_held(const struct survey *survey, const struct cell *a, const struct cell *b)
{
  struct be_estimate first = be_estimate_mean(&a->held), second = be_estimate_mean(&b->held);
  struct be_difference difference;
  be_welch(&first, &second, survey->how.level, &difference);
  return be_same_mix(a, b) && !isnan(difference.p) ? difference.p : 1;
}

static const struct measure measures[] = {
    {BE_BY_SLIPS, "slips", "Fewest slips first", was_told, take_slips, p_of_slips},
    {BE_BY_LOW, "low", "By how low a pull may go", has_two, take_low, NULL},
    {BE_BY_HELD, "held", "By strength when it holds", has_held, take_held, p_of_held},
};

static const struct measure *find_measure(enum be_by by)
{
  const struct measure *found = NULL;
  for (size_t i = 0; i < sizeof measures / sizeof measures[0]; i++)
    if (measures[i].by == by) found = &measures[i];
  return found;
}

/* ---- one combination ---- */

struct table_of {
  struct measured *knots;
  size_t count;
  bool *apart; /* count x count */
};

static enum be_status gather(const struct survey *survey, const struct combination *where,
                             const struct measure *measure, struct table_of *t, struct be_err *err)
{
  struct be_arena *arena = survey->arena;
  size_t most = where->cells_count;
  *t = (struct table_of){.knots = be_arena_alloc(arena, most * sizeof *t->knots),
                         .apart = be_arena_alloc(arena, most * most * sizeof *t->apart)};
  if (!t->knots || !t->apart) return be_no_memory(err);
  enum be_status status = BE_OK;
  for (size_t i = where->first_cell; i < where->first_cell + most && status == BE_OK; i++) {
    const struct cell *cell = &survey->cells[i];
    if (cell->knot < 0 || cell->knot_b >= 0 || !measure->has(cell)) continue;
    struct measured knot = {.cell = cell, .interval = {NAN, NAN, survey->how.level}};
    status = measure->take(survey, &knot, err);
    if (!isnan(knot.value)) t->knots[t->count++] = knot;
  }
  return status;
}

static enum be_status judge(const struct survey *survey, const struct measure *measure,
                            struct table_of *t, struct be_err *err)
{
  size_t n = t->count, pairs = n * (n - 1) / 2, at = 0;
  double *p = be_arena_alloc(survey->arena, pairs * sizeof *p);
  if (!p) return be_no_memory(err);
  for (size_t a = 0; a < n; a++)
    for (size_t b = a + 1; b < n; b++)
      p[at++] = measure->p(survey, t->knots[a].cell, t->knots[b].cell);
  enum be_status status = be_holm(p, pairs, p, err);
  at = 0;
  for (size_t a = 0; a < n && status == BE_OK; a++)
    for (size_t b = a + 1; b < n; b++)
      t->apart[a * n + b] = t->apart[b * n + a] = p[at++] <= 1 - survey->how.level;
  return status;
}

static void place(struct table_of *t, bool tested)
{
  for (size_t k = 0; k < t->count; k++) {
    struct measured *knot = &t->knots[k];
    knot->rank = knot->low = 1;
    knot->high = t->count;
    for (size_t i = 0; i < t->count; i++) {
      double other = t->knots[i].better;
      bool before = other > knot->better || (other == knot->better && i < k);
      if (i == k) continue;
      knot->rank += before;
      if (!tested || !t->apart[k * t->count + i]) continue;
      knot->low += before;
      knot->high -= !before;
    }
  }
}

static void rows(struct be_table *table, const struct survey *survey,
                 const struct combination *where, const struct measure *measure,
                 const struct table_of *t)
{
  int decimals = measure->by == BE_BY_SLIPS ? 0 : survey->decimals + 1;
  for (size_t rank = 1; rank <= t->count; rank++)
    for (size_t k = 0; k < t->count; k++) {
      const struct measured *knot = &t->knots[k];
      if (knot->rank != rank) continue;
      be_table_text(table, "%s", where->name);
      be_table_number(table, (double)rank, 0);
      if (!measure->p) be_table_text(table, "not told");
      else if (knot->low == knot->high) be_table_text(table, "%zu", knot->low);
      else be_table_text(table, "%zu to %zu", knot->low, knot->high);
      be_table_text(table, "%s", be_knot_name(survey, knot->cell->knot));
      be_table_link(table, "/cell?at=%zu", (size_t)(knot->cell - survey->cells));
      be_table_number(table, (double)knot->n, 0);
      be_table_number(table, knot->value, decimals);
      be_table_interval(table, knot->interval.low, knot->interval.high, decimals);
    }
}

static struct be_table *begin(struct be_doc *doc, const struct survey *survey,
                              const struct measure *measure)
{
  const char *value = measure->by == BE_BY_SLIPS ? "slipped out (%)"
                      : measure->by == BE_BY_LOW ? be_head(survey, "90 % hold")
                                                 : be_head(survey, "mean when it holds");
  const char *key = measure->by == BE_BY_SLIPS ? "slipped_out_percent"
                    : measure->by == BE_BY_LOW ? "tolerance_weibull"
                                               : "mean_when_it_holds";
  const struct be_column columns[] = {
      {"place", "combination", BE_COLUMN_TEXT, false},
      {"rank", "rank", BE_COLUMN_NUMBER, false},
      {"rank_range", "rank range", BE_COLUMN_TEXT, false},
      {"knot", "knot", BE_COLUMN_TEXT, false},
      {"n", "n", BE_COLUMN_NUMBER, false},
      {key, value, BE_COLUMN_NUMBER, false},
      {key, "interval", BE_COLUMN_INTERVAL, false},
  };
  return be_doc_table(doc, "standings_by", measure->title, columns,
                      sizeof columns / sizeof columns[0]);
}

/* ---- the document ---- */

static void say_method(struct be_doc *doc, const struct survey *survey,
                       const struct measure *measure)
{
  static const char *const notes[] = {
      [BE_BY_SLIPS] = "Over the pulls that say what let go. Told apart by Fisher's exact test",
      [BE_BY_HELD] =
          "Events that did not slip out, by load: told apart by Welch's test, only where "
          "both were tied on the same spools and pulled alike",
  };
  if (measure->by == BE_BY_LOW)
    be_doc_note(
        doc,
        "The load that %.0f %% of such pulls hold with %.0f %% confidence, by the Weibull: it "
        "is low for few pulls as well as for weak ones. No test tells two such bounds apart.",
        100 * above, 100 * confidence);
  else
    be_doc_note(doc,
                "%s; adjusted by Holm over each combination, so that its rank ranges hold at "
                "once, at %g %%.",
                notes[measure->by], 100 * survey->how.level);
}

enum be_status be_standings_by(const struct survey *survey, struct be_doc **out, struct be_err *err)
{
  const struct measure *measure = find_measure(survey->how.by);
  struct be_doc *doc = be_doc_create("standings", "Standings");
  if (!doc) return be_no_memory(err);
  struct be_table *table = NULL;
  size_t shared = 0, apart = 0;
  enum be_status status = BE_OK;
  be_progress_step("ranking the knots", "combinations", survey->combinations_count);
  for (size_t c = 0; c < survey->combinations_count && status == BE_OK; c++) {
    be_progress_at(c);
    const struct combination *where = &survey->combinations[c];
    struct table_of t;
    status = gather(survey, where, measure, &t, err);
    if (status != BE_OK || t.count < 2) continue;
    if (measure->p) status = judge(survey, measure, &t, err);
    if (status != BE_OK) break;
    place(&t, measure->p != NULL);
    if (!table) table = begin(doc, survey, measure);
    rows(table, survey, where, measure, &t);
    shared++;
    for (size_t k = 0; k < t.count; k++) apart += t.knots[k].rank == 1 && t.knots[k].high == 1;
  }
  if (!shared) be_doc_sentence(doc, "No two knots can be ranked so in the same combination yet.");
  size_t answer = be_doc_place(doc);
  if (shared && measure->p)
    be_doc_sentence(doc, "%s: in %zu of %zu combination%s the first stands apart from every other.",
                    measure->title, apart, shared, shared == 1 ? "" : "s");
  else if (shared)
    be_doc_sentence(doc, "%s: an order in %zu combination%s, which no test bears out.",
                    measure->title, shared, shared == 1 ? "" : "s");
  be_doc_first(doc, answer);
  say_method(doc, survey, measure);
  if (status == BE_OK) status = be_say_departures(doc, survey, err);
  be_doc_fact(doc, "by", "Ranked by", "%s", measure->word);
  be_doc_fact(doc, "level", "Level of ranges", "%g", survey->how.level);
  be_doc_fact(doc, "unit", "Unit of force", "%s", survey->how.unit->name);
  return be_answer_done(survey, doc, status, out, err);
}
