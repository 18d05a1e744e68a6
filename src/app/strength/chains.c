/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Chains: a specimen of two alike knots, or of a longer line, lets go at its weakest link. What
 * one link holds is more than what the specimen held. */
#include "app/strength/strength.h"

#include <math.h>
#include <stdlib.h>

/* ---- two alike knots ---- */

static struct be_held *two_links(const struct survey *survey, const struct cell *cell)
{
  struct be_held *held = be_held_of(survey, cell);
  for (size_t i = 0; held && i < cell->n + cell->lower_count; i++) held[i].links = 2;
  return held;
}

static enum be_status two_row(struct be_table *table, const struct survey *survey,
                              const struct cell *cell, struct be_err *err)
{
  size_t count = cell->n + cell->lower_count;
  const struct be_held *held = two_links(survey, cell);
  if (!held) return be_no_memory(err);
  struct be_fit weibull, lognormal;
  struct be_measure by_weibull, by_lognormal;
  be_fit_censored(BE_FAMILY_WEIBULL, held, count, &weibull);
  be_fit_censored(BE_FAMILY_LOGNORMAL, held, count, &lognormal);
  be_fit_conditional(&weibull, held, count, BE_WANTED_MEAN, 0, survey->how.level, &by_weibull);
  be_fit_profile(&lognormal, held, count, BE_WANTED_MEAN, 0, survey->how.level, &by_lognormal);
  be_table_text(table, "%s", survey->combinations[cell->combination].name);
  be_table_text(table, "%s", be_cell_name(survey, cell));
  be_table_number(table, (double)cell->n, 0);
  be_table_number(table, be_shown(survey, cell->load.value), survey->decimals + 1);
  be_table_measure(table, survey, &by_weibull, survey->decimals + 1);
  be_table_measure(table, survey, &by_lognormal, survey->decimals + 1);
  return BE_OK;
}

static enum be_status say_two_same(struct be_doc *doc, const struct survey *survey,
                                   struct be_err *err)
{
  const struct be_column columns[] = {
      {"combination", "combination", BE_COLUMN_TEXT, false},
      {"knot", "knot", BE_COLUMN_TEXT, false},
      {"n", "n", BE_COLUMN_NUMBER, false},
      {"mean_of_specimens", be_head(survey, "mean of specimens"), BE_COLUMN_NUMBER, false},
      {"one_knot_weibull", "one knot, Weibull", BE_COLUMN_NUMBER, false},
      {"one_knot_weibull", "interval", BE_COLUMN_INTERVAL, false},
      {"one_knot_lognormal", "lognormal", BE_COLUMN_NUMBER, false},
      {"one_knot_lognormal", "interval", BE_COLUMN_INTERVAL, false},
  };
  struct be_table *table = NULL;
  enum be_status status = BE_OK;
  for (size_t i = 0; i < survey->cells_count && status == BE_OK; i++) {
    const struct cell *cell = &survey->cells[i];
    if (survey->combinations[cell->combination].design != BE_DESIGN_TWO_SAME || cell->n < 3)
      continue;
    if (!table) {
      be_doc_heading(doc, "Two alike knots on a specimen");
      table = be_doc_table(doc, "two_same", "Mean load of one knot", columns,
                           sizeof columns / sizeof columns[0]);
    }
    status = two_row(table, survey, cell, err);
  }
  if (table)
    be_doc_note(doc, "The specimen holds what the weaker of its two knots holds. One knot's mean "
                     "is worked out from that, for the shape named; the two are taken as tied "
                     "alike and apart. The lognormal's interval is too narrow of few pulls; the "
                     "Weibull's is not.");
  return status;
}

/* ---- plain line of several lengths ---- */

struct lengths {
  struct be_held *held;
  size_t n, distinct;
  double shortest, longest;
};

static bool is_of(const struct survey *survey, const struct be_pull *pull, int name,
                  enum be_soak soak)
{
  return pull->design == BE_DESIGN_PLAIN && pull->kind != BE_KIND_VOID && pull->load_N > 0 &&
         pull->length_m > 0 && pull->soak == soak && survey->name_of_line[pull->line_a] == name;
}

static int by_length(const void *a_, const void *b_)
{
  const struct be_held *a = a_, *b = b_;
  if (a->links != b->links) return a->links < b->links ? -1 : 1;
  return a->load < b->load ? -1 : a->load > b->load;
}

/* Lengths of fewer than two events say nothing of their own scatter, and are taken out. held
 * rises by length. */
static void keep_repeated(struct lengths *lengths)
{
  struct be_held *held = lengths->held;
  size_t kept = 0;
  for (size_t from = 0, to; from < lengths->n; from = to) {
    size_t events = 0;
    for (to = from; to < lengths->n && held[to].links == held[from].links; to++)
      events += !held[to].bound;
    if (events < 2) continue;
    if (kept == 0) lengths->shortest = held[from].links;
    lengths->longest = held[from].links;
    lengths->distinct++;
    for (size_t i = from; i < to; i++) held[kept++] = held[i];
  }
  lengths->n = kept;
}

static enum be_status gather(const struct survey *survey, int name, enum be_soak soak,
                             struct lengths *lengths, struct be_err *err)
{
  size_t all = 0;
  for (size_t i = 0; i < survey->record.pulls_count; i++)
    all += is_of(survey, &survey->record.pulls[i], name, soak);
  *lengths = (struct lengths){.held = be_arena_alloc(survey->arena, all * sizeof(struct be_held))};
  if (!lengths->held) return be_no_memory(err);
  for (size_t i = 0; i < survey->record.pulls_count; i++) {
    const struct be_pull *pull = &survey->record.pulls[i];
    if (is_of(survey, pull, name, soak))
      lengths->held[lengths->n++] =
          (struct be_held){pull->load_N, pull->kind == BE_KIND_BOUND, pull->length_m};
  }
  qsort(lengths->held, lengths->n, sizeof *lengths->held, by_length);
  keep_repeated(lengths);
  for (size_t i = 0; i < lengths->n; i++) lengths->held[i].links /= lengths->shortest;
  return BE_OK;
}

static void length_row(struct be_table *table, const struct survey *survey,
                       const struct combination *where, const struct lengths *lengths,
                       const struct be_length_fit *fit)
{
  double ratio = lengths->longest / lengths->shortest;
  be_table_text(table, "%s", where->name);
  be_table_number(table, (double)lengths->n, 0);
  be_table_number(table, 1000 * lengths->shortest, 0);
  be_table_number(table, 1000 * lengths->longest, 0);
  be_table_number(table, fit->beta, 1);
  be_table_number(table, be_shown(survey, fit->scale), survey->decimals + 1);
  be_table_number(table, 100 * (pow(ratio, -1 / fit->beta) - 1), 1);
  be_table_number(table, 100 * (pow(ratio, fit->slope) - 1), 1);
  be_table_number(table, fit->slope, 4);
  be_table_number(table, fit->slope_se, 4);
  be_table_number(table, fit->p_strict, 3);
}

static enum be_status say_lengths(struct be_doc *doc, const struct survey *survey,
                                  struct be_err *err)
{
  const struct be_column columns[] = {
      {"line", "plain line", BE_COLUMN_TEXT, false},
      {"n", "n", BE_COLUMN_NUMBER, false},
      {"shortest_mm", "from (mm)", BE_COLUMN_NUMBER, false},
      {"longest_mm", "to (mm)", BE_COLUMN_NUMBER, false},
      {"weibull_shape", "Weibull shape", BE_COLUMN_NUMBER, false},
      {"weibull_scale", be_head(survey, "scale at the shortest"), BE_COLUMN_NUMBER, false},
      {"weakest_link_percent", "weakest link says (%)", BE_COLUMN_NUMBER, false},
      {"seen_percent", "seen (%)", BE_COLUMN_NUMBER, false},
      {"slope", "", BE_COLUMN_NUMBER, true},
      {"slope_se", "", BE_COLUMN_NUMBER, true},
      {"p", "p", BE_COLUMN_NUMBER, false},
  };
  struct be_table *table = NULL;
  for (size_t c = 0; c < survey->combinations_count; c++) {
    const struct combination *where = &survey->combinations[c];
    struct lengths lengths;
    struct be_length_fit fit;
    if (!be_is_plain(where)) continue;
    enum be_status status = gather(survey, where->line_a, where->soak, &lengths, err);
    if (status != BE_OK) return status;
    if (lengths.distinct < 2) continue;
    be_length_of(lengths.held, lengths.n, &fit);
    if (!fit.converged) continue;
    if (!table) {
      be_doc_heading(doc, "Strength and length");
      table = be_doc_table(doc, "length", "Plain line pulled at several free lengths", columns,
                           sizeof columns / sizeof columns[0]);
    }
    length_row(table, survey, where, &lengths, &fit);
  }
  if (table)
    be_doc_note(doc, "A longer line has more weak spots. The change from the shortest to the "
                     "longest is given as weakest links would have it (strength falls with length "
                     "to the power of -1 / shape) and as seen; p tells whether the two differ by "
                     "more than chance. Efficiencies are not corrected for length.");
  return BE_OK;
}

enum be_status be_say_chains(struct be_doc *doc, const struct survey *survey, struct be_err *err)
{
  enum be_status status = say_two_same(doc, survey, err);
  return status == BE_OK ? say_lengths(doc, survey, err) : status;
}
