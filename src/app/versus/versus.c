/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Is the difference between two knots real: the answer, the chart and the tables. */
#include "app/versus/versus.h"

#include <math.h>

static void say_slips(struct be_doc *doc, const struct survey *survey, int knot, size_t slips,
                      size_t told)
{
  if (!told) return;
  struct be_interval rate = be_rate_exact(slips, told, survey->how.level);
  be_doc_sentence(doc, "The %s slipped out in %zu of %zu%s %%.", be_knot_name(survey, knot), slips,
                  told, be_interval_words(survey, 100 * rate.low, 100 * rate.high, 0));
}

static void table_of(struct be_doc *doc, const struct survey *survey, const struct pair *pair)
{
  const struct be_column columns[] = {
      {"combination", "combination", BE_COLUMN_TEXT, false},
      {"n_first", "n first", BE_COLUMN_NUMBER, false},
      {"n_second", "n second", BE_COLUMN_NUMBER, false},
      {"difference", be_head(survey, "difference"), BE_COLUMN_NUMBER, false},
      {"difference", "interval", BE_COLUMN_INTERVAL, false},
      {"welch_t", "t", BE_COLUMN_NUMBER, false},
      {"welch_df", "df", BE_COLUMN_NUMBER, false},
      {"welch_p", "", BE_COLUMN_NUMBER, true},
      {"points", "of the line (pts)", BE_COLUMN_NUMBER, false},
      {"points", "interval", BE_COLUMN_INTERVAL, false},
      {"relative_percent", "relative (%)", BE_COLUMN_NUMBER, false},
      {"relative_percent", "interval", BE_COLUMN_INTERVAL, false},
      {"more_pairs", "more pairs", BE_COLUMN_NUMBER, false},
      {"pulls_needed", "", BE_COLUMN_NUMBER, true},
  };
  struct be_table *table =
      be_doc_table(doc, "versus", "First less second, combination by combination", columns,
                   sizeof columns / sizeof columns[0]);
  int decimals = survey->decimals + 1;
  for (size_t i = 0; i < pair->count; i++) {
    const struct matched *m = &pair->list[i];
    be_table_text(table, "%s", m->where->name);
    be_table_number(table, (double)m->a->n, 0);
    be_table_number(table, (double)m->b->n, 0);
    be_table_number(table, be_shown(survey, m->load.value), decimals);
    be_table_interval(table, be_shown(survey, m->load.interval.low),
                      be_shown(survey, m->load.interval.high), decimals);
    be_table_number(table, m->load.t, 2);
    be_table_number(table, m->load.df, 1);
    be_table_probability(table, m->load.p);
    be_table_number(table, 100 * m->points.value, 1);
    be_table_interval(table, m->points_interval.low, m->points_interval.high, 1);
    be_table_number(table, 100 * (exp(m->log_ratio.value) - 1), 1);
    be_table_interval(table, m->relative.low, m->relative.high, 1);
    be_table_number(table, m->apart ? 0 : isfinite(m->more) ? m->more : NAN, 0);
    be_table_number(table, m->needed < 10000 ? m->needed : NAN, 0);
  }
}

/* Combinations where they are not compared, and why. */
static void say_rest(struct be_doc *doc, const struct survey *survey, const struct pair *pair)
{
  for (size_t i = 0; i < pair->passed_count; i++) {
    const struct cell *a = be_cell_find(survey, pair->passed[i], pair->a);
    const struct cell *b = be_cell_find(survey, pair->passed[i], pair->b);
    if (a->n < 2 || b->n < 2)
      be_doc_note(doc, "Left out: %s, with a single event of one of them.", pair->passed[i]->name);
    else
      be_doc_note(
          doc,
          "Left out: %s, tied on different spools, or pulled otherwise (speed, bench, length), "
          "without a plain line of each: a "
          "strong spool may pass for a strong knot.",
          pair->passed[i]->name);
  }
  for (size_t i = 0; i < survey->combinations_count; i++) {
    const struct combination *where = &survey->combinations[i];
    bool first = be_cell_find(survey, where, pair->a),
         second = be_cell_find(survey, where, pair->b);
    if (first != second)
      be_doc_note(doc, "Left out: %s, where only the %s has events.", where->name,
                  be_knot_name(survey, first ? pair->a : pair->b));
  }
}

/* Lower bounds that are in no mean are said, not compared; the others are counted. */
static void say_bounds(struct be_doc *doc, const struct survey *survey, const struct pair *pair)
{
  size_t counted = 0;
  for (size_t i = 0; i < survey->cells_count; i++) {
    const struct cell *cell = &survey->cells[i];
    if (cell->knot_b >= 0 || !cell->highest) continue;
    if (cell->knot != pair->a && cell->knot != pair->b) continue;
    if (cell->counted_in) counted += cell->lower_count;
    else
      be_doc_note(doc, "Not compared: the %s held at least %.*f %s in %s (%zu lower bound%s).",
                  be_knot_name(survey, cell->knot), survey->decimals,
                  be_shown(survey, cell->highest->load_N), survey->how.unit->name,
                  survey->combinations[cell->combination].name, cell->bounds,
                  cell->bounds == 1 ? "" : "s");
  }
  if (counted)
    be_doc_note(doc,
                "Lower bounds counted in the means for what they held: %zu. The tests without a "
                "normal distribution take events alone.",
                counted);
}

static enum be_status write_versus(struct be_doc *doc, const struct survey *survey,
                                   const struct pair *pair, struct be_err *err)
{
  enum be_status status = BE_OK;
  if (pair->count == 0) {
    be_doc_sentence(doc,
                    "The %s and the %s have no combination in which their events can be "
                    "compared.",
                    be_knot_name(survey, pair->a), be_knot_name(survey, pair->b));
  } else {
    be_say_answer(doc, survey, pair);
    if (!be_pair_divided(pair)) be_say_same(doc, survey, pair, be_pair_apart(pair));
    say_slips(doc, survey, pair->a, pair->slips_a, pair->told_a);
    say_slips(doc, survey, pair->b, pair->slips_b, pair->told_b);
    be_say_slip_rates(doc, survey, pair);
    be_doc_figure(doc, be_figure_of_pair(survey, pair));
    table_of(doc, survey, pair);
    status = be_say_tests(doc, survey, pair, err);
  }
  say_bounds(doc, survey, pair);
  say_rest(doc, survey, pair);
  be_doc_note(doc,
              "Points are of the plain line; relative per cent is of the second knot. Loads are "
              "compared only where both were tied on the same spools and pulled alike. Intervals "
              "are at %g %%; each row is taken by itself. More pairs: 0 where the two are apart, - "
              "where over %d would be needed.",
              100 * survey->how.level, BE_MORE_MAX);
  if (status == BE_OK && pair->count) status = be_say_looks(doc, survey, pair, err);
  if (status == BE_OK) status = be_say_departures(doc, survey, err);
  be_doc_fact(doc, "first", "First", "%s", be_knot_name(survey, pair->a));
  be_doc_fact(doc, "second", "Second", "%s", be_knot_name(survey, pair->b));
  be_doc_fact(doc, "unit", "Unit of force", "%s", survey->how.unit->name);
  be_doc_fact(doc, "level", "Level of intervals", "%g", survey->how.level);
  if (pair->count) be_pair_facts(doc, survey, pair);
  be_doc_fact(doc, "seed", "Seed", "%llu", (unsigned long long)survey->how.seed);
  return status;
}

/* The one that held more is spoken of first, so that one difference has one
 * per cent; where they cannot be separated the order asked for is kept. */
enum be_status be_versus_doc(const struct survey *survey, int a, int b, struct be_doc **out,
                             struct be_err *err)
{
  struct pair pair = {.a = a, .b = b};
  be_progress_step("comparing the two knots", NULL, 0);
  enum be_status status = be_pair_fill(survey, &pair, err);
  if (status == BE_OK && be_pair_apart(&pair) && pair.log_ratio.value < 0) {
    be_pair_empty(&pair);
    pair = (struct pair){.a = b, .b = a};
    status = be_pair_fill(survey, &pair, err);
  }
  const char *title = be_arena_format(survey->arena, "%s versus %s", be_knot_name(survey, pair.a),
                                      be_knot_name(survey, pair.b));
  struct be_doc *doc = status == BE_OK && title ? be_doc_create("versus", title) : NULL;
  if (status == BE_OK && !doc) status = be_no_memory(err);
  if (status == BE_OK) status = write_versus(doc, survey, &pair, err);
  be_pair_empty(&pair);
  return be_answer_done(survey, doc, status, out, err);
}
