/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Many knots on the same lines: do they differ at all, which pairs do, and which share a
 * letter because they cannot be separated. */
#include "app/ranking/ranking.h"
#include "app/strength/strength.h"

#include <math.h>
#include <string.h>

/* The knots of one combination that have two events or more: as shares of the plain line
 * where all have one, else as loads where all were tied on the same spools. */
struct sets {
  const struct cell **cells;
  const double **x;
  size_t *n;
  struct be_summary *summaries;
  size_t count;
  bool by_share, fair;
};

static enum be_status gather(const struct survey *survey, const struct combination *where,
                             struct sets *sets, struct be_err *err)
{
  struct be_arena *arena = survey->arena;
  size_t most = where->cells_count;
  *sets = (struct sets){.cells = be_arena_alloc(arena, most * sizeof *sets->cells),
                        .x = be_arena_alloc(arena, most * sizeof *sets->x),
                        .n = be_arena_alloc(arena, most * sizeof *sets->n),
                        .summaries = be_arena_alloc(arena, most * sizeof *sets->summaries),
                        .by_share = true,
                        .fair = true};
  if (!sets->cells || !sets->x || !sets->n || !sets->summaries) return be_no_memory(err);
  for (size_t i = where->first_cell; i < where->first_cell + most; i++) {
    const struct cell *cell = &survey->cells[i];
    if (cell->n < 2 || cell->knot < 0 || cell->knot_b >= 0) continue;
    sets->by_share &= cell->shares != NULL;
    sets->cells[sets->count++] = cell;
  }
  for (size_t i = 0; i < sets->count; i++) {
    const struct cell *cell = sets->cells[i];
    for (size_t k = 0; k < i; k++) sets->fair &= be_fair(sets->cells[k], cell);
    sets->x[i] = sets->by_share ? cell->shares : cell->loads;
    sets->n[i] = cell->n;
    be_summary_of(sets->x[i], cell->n, &sets->summaries[i]);
  }
  return BE_OK;
}

/* ---- do they differ at all ---- */

static enum be_status differ_row(struct be_table *table, const struct combination *where,
                                 const struct sets *sets, struct be_err *err)
{
  struct be_anova equal, unequal, scatter;
  struct be_many_ad distributions;
  be_anova_of(sets->x, sets->n, sets->count, &equal);
  be_anova_welch(sets->summaries, sets->count, &unequal);
  enum be_status status = be_levene(sets->x, sets->n, sets->count, &scatter, err);
  if (status == BE_OK)
    status = be_many_anderson_darling(sets->x, sets->n, sets->count, &distributions, err);
  if (status != BE_OK) return status;
  be_table_text(table, "%s", where->name);
  be_table_text(table, "%s", sets->by_share ? "shares" : "loads");
  be_table_number(table, (double)sets->count, 0);
  be_table_number(table, (double)equal.n, 0);
  be_table_number(table, unequal.f, 2);
  be_table_number(table, unequal.df, 0);
  be_table_number(table, unequal.df_within, 1);
  be_table_probability(table, unequal.p);
  be_table_number(table, equal.f, 2);
  be_table_number(table, equal.df_within, 0);
  be_table_probability(table, equal.p);
  be_table_number(table, equal.between, 6);
  be_table_number(table, equal.within, 6);
  be_table_probability(table, scatter.p);
  be_table_number(table, distributions.t_midrank, 2);
  be_table_probability(table, distributions.p);
  return BE_OK;
}

static struct be_table *differ_table(struct be_doc *doc)
{
  static const struct be_column columns[] = {
      {"combination", "combination", BE_COLUMN_TEXT, false},
      {"of", "of", BE_COLUMN_TEXT, false},
      {"knots", "knots", BE_COLUMN_NUMBER, false},
      {"n", "n", BE_COLUMN_NUMBER, false},
      {"welch_f", "Welch F", BE_COLUMN_NUMBER, false},
      {"welch_df", "df", BE_COLUMN_NUMBER, false},
      {"welch_df_within", "within", BE_COLUMN_NUMBER, false},
      {"welch_p", "p", BE_COLUMN_NUMBER, false},
      {"anova_f", "one-way F", BE_COLUMN_NUMBER, false},
      {"anova_df_within", "df within", BE_COLUMN_NUMBER, false},
      {"anova_p", "p", BE_COLUMN_NUMBER, false},
      {"anova_between", "", BE_COLUMN_NUMBER, true},
      {"anova_within", "", BE_COLUMN_NUMBER, true},
      {"levene_p", "scatter alike, p", BE_COLUMN_NUMBER, false},
      {"anderson_darling", "k-sample A-D", BE_COLUMN_NUMBER, false},
      {"anderson_darling_p", "p", BE_COLUMN_NUMBER, false},
  };
  be_doc_heading(doc, "Do the knots differ at all");
  return be_doc_table(doc, "differ", "The knots of a combination all at once", columns,
                      sizeof columns / sizeof columns[0]);
}

/* ---- pair by pair ---- */

/* In points of the line where shares are compared. */
static void difference_cells(struct be_table *table, const struct survey *survey,
                             const struct sets *sets, const struct be_pair *pair)
{
  double factor = sets->by_share ? 100 : 1 / survey->how.unit->factor;
  int decimals = sets->by_share ? 1 : survey->decimals + 1;
  be_table_number(table, factor * pair->difference, decimals);
  be_table_interval(table, factor * pair->interval.low, factor * pair->interval.high, decimals);
}

static void name_cells(struct be_table *table, const struct survey *survey,
                       const struct combination *where, const struct sets *sets,
                       const struct be_pair *pair)
{
  be_table_text(table, "%s", where->name);
  be_table_text(table, "%s", be_knot_name(survey, sets->cells[pair->a]->knot));
  be_table_text(table, "%s", be_knot_name(survey, sets->cells[pair->b]->knot));
  be_table_text(table, "%s", sets->by_share ? "pts" : survey->how.unit->name);
}

static enum be_status pair_rows(struct be_table *table, const struct survey *survey,
                                const struct combination *where, const struct sets *sets,
                                struct be_err *err)
{
  size_t count = sets->count * (sets->count - 1) / 2;
  struct be_pair *own = be_arena_alloc(survey->arena, count * sizeof *own);
  struct be_pair *pooled = be_arena_alloc(survey->arena, count * sizeof *pooled);
  if (!own || !pooled) return be_no_memory(err);
  be_games_howell(sets->summaries, sets->count, survey->how.level, own);
  be_tukey_kramer(sets->summaries, sets->count, survey->how.level, pooled);
  for (size_t i = 0; i < count; i++) {
    name_cells(table, survey, where, sets, &own[i]);
    difference_cells(table, survey, sets, &own[i]);
    be_table_probability(table, own[i].p);
    be_table_number(table, own[i].df, 1);
    difference_cells(table, survey, sets, &pooled[i]);
    be_table_probability(table, pooled[i].p);
  }
  return BE_OK;
}

static struct be_table *pair_table(struct be_doc *doc)
{
  static const struct be_column columns[] = {
      {"combination", "combination", BE_COLUMN_TEXT, false},
      {"first", "first", BE_COLUMN_TEXT, false},
      {"second", "second", BE_COLUMN_TEXT, false},
      {"difference_unit", "in", BE_COLUMN_TEXT, false},
      {"difference", "first less second", BE_COLUMN_NUMBER, false},
      {"difference", "Games-Howell", BE_COLUMN_INTERVAL, false},
      {"games_howell_p", "p", BE_COLUMN_NUMBER, false},
      {"games_howell_df", "", BE_COLUMN_NUMBER, true},
      {"difference_pooled", "", BE_COLUMN_NUMBER, true},
      {"difference_pooled", "Tukey-Kramer", BE_COLUMN_INTERVAL, false},
      {"tukey_kramer_p", "p", BE_COLUMN_NUMBER, false},
  };
  be_doc_heading(doc, "Pair by pair");
  struct be_table *table = be_doc_table(doc, "pairs", "All pairs of a combination at once", columns,
                                        sizeof columns / sizeof columns[0]);
  be_table_fold_long(table);
  return table;
}

/* ---- each with one ---- */

/* The number of sets when the knot is none of them. */
static size_t find_set(const struct sets *sets, int knot)
{
  size_t i = 0;
  while (i < sets->count && sets->cells[i]->knot != knot) i++;
  return i;
}

static enum be_status against_rows(struct be_table *table, const struct survey *survey,
                                   const struct combination *where, const struct sets *sets,
                                   size_t reference, struct be_err *err)
{
  struct be_pair *pairs = be_arena_alloc(survey->arena, sets->count * sizeof *pairs);
  double *scratch = be_arena_alloc(survey->arena, sets->count * sizeof *scratch);
  if (!pairs || !scratch) return be_no_memory(err);
  be_dunnett(sets->summaries, sets->count, reference, survey->how.level, scratch, pairs);
  for (size_t i = 0; i + 1 < sets->count; i++) {
    name_cells(table, survey, where, sets, &pairs[i]);
    difference_cells(table, survey, sets, &pairs[i]);
    be_table_probability(table, pairs[i].p);
  }
  return BE_OK;
}

static struct be_table *against_table(struct be_doc *doc, const struct survey *survey, int knot)
{
  static const struct be_column columns[] = {
      {"combination", "combination", BE_COLUMN_TEXT, false},
      {"knot", "knot", BE_COLUMN_TEXT, false},
      {"against", "against", BE_COLUMN_TEXT, false},
      {"difference_unit", "in", BE_COLUMN_TEXT, false},
      {"difference", "difference", BE_COLUMN_NUMBER, false},
      {"difference", "Dunnett", BE_COLUMN_INTERVAL, false},
      {"dunnett_p", "p", BE_COLUMN_NUMBER, false},
  };
  be_doc_heading(doc, "Each against the %s", be_knot_name(survey, knot));
  return be_doc_table(doc, "against", "All of a combination at once, one pooled scatter", columns,
                      sizeof columns / sizeof columns[0]);
}

/* ---- all combinations ---- */

static bool is_worth(const struct sets *sets, size_t least)
{
  bool scatter = false;
  for (size_t i = 0; i < sets->count; i++) scatter |= sets->summaries[i].sd > 0;
  return sets->count >= least && sets->fair && scatter;
}

static enum be_status say_each(struct be_doc *doc, const struct survey *survey, struct sets *all,
                               struct be_err *err)
{
  struct be_table *table = NULL;
  enum be_status status = BE_OK;
  size_t unfair = 0;
  for (size_t c = 0; c < survey->combinations_count && status == BE_OK; c++) {
    const struct combination *where = &survey->combinations[c];
    status = gather(survey, where, &all[c], err);
    if (status == BE_OK && all[c].count >= 2) unfair += !all[c].fair;
    if (status != BE_OK || !is_worth(&all[c], 2)) continue;
    if (!table) table = differ_table(doc);
    status = differ_row(table, where, &all[c], err);
  }
  if (table)
    be_doc_note(doc,
                "p of the k-sample Anderson and Darling test is known from 0.001 to 0.25; beyond, "
                "the nearer of these stands.");
  if (unfair)
    be_doc_note(doc,
                "Passed over: %zu combination%s, where knots were tied on different spools, or "
                "pulled otherwise, without "
                "a plain line of each.",
                unfair, unfair == 1 ? "" : "s");
  return status;
}

enum be_status be_say_many(struct be_doc *doc, const struct survey *survey, struct be_err *err)
{
  size_t count = survey->combinations_count;
  int against = -1;
  if (survey->how.relative_to) against = be_knot_find(survey, survey->how.relative_to, err);
  if (survey->how.relative_to && against < 0) return BE_WRONG_USE;
  struct sets *all = be_arena_alloc(survey->arena, count * sizeof *all);
  if (!all) return be_no_memory(err);
  enum be_status status = say_each(doc, survey, all, err);
  struct be_table *table = NULL;
  for (size_t c = 0; c < count && status == BE_OK; c++) {
    if (!is_worth(&all[c], 3)) continue;
    if (!table) table = pair_table(doc);
    status = pair_rows(table, survey, &survey->combinations[c], &all[c], err);
  }
  if (table)
    be_doc_note(doc,
                "Events alone. Intervals and p hold for all pairs of a combination at once. Games "
                "and Howell give each pair its own scatter and are to be preferred; Tukey and "
                "Kramer pool it.");
  if (against < 0) return status;
  table = NULL;
  for (size_t c = 0; c < count && status == BE_OK; c++) {
    size_t reference = find_set(&all[c], against);
    if (reference == all[c].count || !is_worth(&all[c], 2)) continue;
    if (!table) table = against_table(doc, survey, against);
    status = against_rows(table, survey, &survey->combinations[c], &all[c], reference, err);
  }
  return status;
}

/* ---- letters ---- */

enum be_status be_letters_of(const struct survey *survey, const struct combination *where,
                             const char **texts, struct be_err *err)
{
  struct grid block;
  struct ranking ranking;
  for (size_t i = 0; i < where->cells_count; i++) texts[i] = "";
  enum be_status status = be_grid_make(survey, &where, 1, &block, err);
  if (status != BE_OK || block.knots < 2) return status;
  status = be_ranking_make(survey, &block, &ranking, err);
  for (size_t k = 0; k < block.knots && status == BE_OK; k++) {
    size_t cell = (size_t)(be_grid_cell(&block, k, 0) - survey->cells) - where->first_cell;
    texts[cell] = ranking.letters[k];
  }
  return status;
}
