/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Knot x group as fixed effects, where several groups share knots: whether knots compare alike in
 * all of them. A second fit, a column for each knot in each group where it was tied; that knots
 * differ alike everywhere is a contrast for each ring of such cells, signs changing along it. */
#include "app/model/model.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { PULLS_MAX = 10000 };
#define NONE UINT32_MAX

struct by_group {
  const struct modelled *m;
  size_t knots, groups, cells;
  uint32_t *cell; /* knots x groups: its column, or NONE */
  size_t *n;      /* pulls of each */
  size_t columns; /* with factors behind */
  struct be_mixed *fit;
  size_t rings;
  double *weights; /* rings x columns */
};

static enum be_status find_cells(struct by_group *g, struct be_err *err)
{
  const struct model_sample *sample = g->m->sample;
  g->cell = be_arena_alloc(g->m->arena, g->knots * g->groups * sizeof *g->cell);
  g->n = be_arena_alloc(g->m->arena, g->knots * g->groups * sizeof *g->n);
  if (!g->cell || !g->n) return be_no_memory(err);
  for (size_t i = 0; i < sample->n; i++)
    g->n[sample->rows[i].knot * g->groups + sample->rows[i].group]++;
  for (size_t i = 0; i < g->knots * g->groups; i++)
    g->cell[i] = g->n[i] ? (uint32_t)g->cells++ : NONE;
  g->columns = g->cells + sample->columns - g->knots - (g->groups - 1);
  return BE_OK;
}

/* ---- rings ---- */

/* Knots and groups as nodes, cells as ways between them: a tree that reaches all, and a ring for
 * each cell beside it. */
struct tree {
  size_t *parent, *depth;
  bool *reached;
};

static uint32_t cell_between(const struct by_group *g, size_t a, size_t b)
{
  size_t knot = a < g->knots ? a : b, group = (a < g->knots ? b : a) - g->knots;
  return g->cell[knot * g->groups + group];
}

/* The sample hangs together, so that all are reached from the first knot. */
static enum be_status grow(const struct by_group *g, struct tree *tree, struct be_err *err)
{
  size_t count = g->knots + g->groups, done = 0, found = 1;
  size_t *list = be_arena_alloc(g->m->arena, count * sizeof *list);
  tree->parent = be_arena_alloc(g->m->arena, count * sizeof *tree->parent);
  tree->depth = be_arena_alloc(g->m->arena, count * sizeof *tree->depth);
  tree->reached = be_arena_alloc(g->m->arena, count * sizeof *tree->reached);
  if (!list || !tree->parent || !tree->depth || !tree->reached) return be_no_memory(err);
  tree->reached[0] = true;
  for (; done < found; done++) {
    size_t a = list[done], from = a < g->knots ? g->knots : 0, to = a < g->knots ? count : g->knots;
    for (size_t b = from; b < to; b++) {
      if (tree->reached[b] || cell_between(g, a, b) == NONE) continue;
      tree->reached[b] = true;
      tree->parent[b] = a;
      tree->depth[b] = tree->depth[a] + 1;
      list[found++] = b;
    }
  }
  return BE_OK;
}

/* From a knot and a group up to where their ways meet. Ways up from the knot's side have signs that
 * change, beginning with the opposite of the cell's own; from the group's side likewise. */
static void go_round(const struct by_group *g, const struct tree *tree, size_t knot, size_t group,
                     double *weights)
{
  size_t at[2] = {knot, g->knots + group};
  double sign[2] = {-1, -1};
  weights[g->cell[knot * g->groups + group]] = 1;
  while (at[0] != at[1]) {
    int side = tree->depth[at[0]] >= tree->depth[at[1]] ? 0 : 1;
    size_t up = tree->parent[at[side]];
    weights[cell_between(g, at[side], up)] = sign[side];
    sign[side] = -sign[side];
    at[side] = up;
  }
}

static enum be_status find_rings(struct by_group *g, struct be_err *err)
{
  struct tree tree;
  size_t most = g->cells + 1 - g->knots - g->groups;
  if (most > BE_MIXED_JOINT_MAX) return BE_OK;
  enum be_status status = grow(g, &tree, err);
  if (status != BE_OK) return status;
  g->weights = be_arena_alloc(g->m->arena, most * g->columns * sizeof *g->weights);
  if (!g->weights) return be_no_memory(err);
  for (size_t k = 0; k < g->knots; k++)
    for (size_t h = 0; h < g->groups; h++) {
      size_t node = g->knots + h;
      bool of_tree = tree.parent[node] == k || (k > 0 && tree.parent[k] == node);
      if (g->cell[k * g->groups + h] == NONE || of_tree) continue;
      go_round(g, &tree, k, h, g->weights + g->rings++ * g->columns);
    }
  return BE_OK;
}

/* ---- the fit ---- */

static enum be_status make_design(const struct by_group *g, struct be_mixed_design *design,
                                  struct be_err *err)
{
  const struct model_sample *sample = g->m->sample;
  size_t factors = g->columns - g->cells, moved = g->cells - (sample->columns - factors);
  size_t *start = be_arena_alloc(g->m->arena, (sample->n + 1) * sizeof *start);
  uint32_t *column = be_arena_alloc(g->m->arena, sample->n * (1 + factors) * sizeof *column);
  double *value = be_arena_alloc(g->m->arena, sample->n * (1 + factors) * sizeof *value);
  if (!start || !column || !value) return be_no_memory(err);
  size_t at = 0;
  for (size_t i = 0; i < sample->n; i++) {
    const struct model_row *row = &sample->rows[i];
    column[at] = g->cell[row->knot * g->groups + row->group];
    value[at++] = 1;
    for (int kind = 0; kind < BE_FACTORS; kind++) {
      const struct model_factor *factor = &sample->factor[kind];
      for (size_t c = 0; c < factor->columns; c++) {
        column[at] = (uint32_t)(factor->column + c + moved);
        value[at++] = be_factor_weight(factor, factor->of_row[i], c);
      }
    }
    start[i + 1] = at;
  }
  *design = (struct be_mixed_design){g->columns, start, column, value};
  return BE_OK;
}

/* Whether a term has one level in each cell of knot x group: it would be what is fixed here. */
static bool is_fixed_here(const struct by_group *g, const struct model_term *term, uint32_t *seen)
{
  const struct model_sample *sample = g->m->sample;
  memset(seen, 0xff, g->cells * sizeof *seen);
  for (size_t i = 0; i < sample->n; i++) {
    if (term->told && term->told[i] == 0) continue;
    uint32_t *mine = &seen[g->cell[sample->rows[i].knot * g->groups + sample->rows[i].group]];
    if (*mine != NONE && *mine != term->level[i]) return false;
    *mine = term->level[i];
  }
  return true;
}

static enum be_status fit(struct by_group *g, struct be_err *err)
{
  const struct model_sample *sample = g->m->sample;
  struct be_mixed_term terms[MODEL_TERMS];
  struct be_mixed_data data = {.n = sample->n, .terms = terms};
  double *y = be_arena_alloc(g->m->arena, sample->n * sizeof *y);
  bool *bound = be_arena_alloc(g->m->arena, sample->n * sizeof *bound);
  uint32_t *seen = be_arena_alloc(g->m->arena, g->cells * sizeof *seen);
  if (!y || !bound || !seen) return be_no_memory(err);
  for (size_t i = 0; i < sample->n; i++) {
    y[i] = sample->rows[i].y;
    bound[i] = sample->rows[i].bound;
  }
  data.y = y;
  if (sample->bounds) data.bound = bound;
  for (size_t kind = 0; kind < MODEL_TERMS; kind++) {
    const struct model_term *term = &sample->term[kind];
    if (!term->in || is_fixed_here(g, term, seen)) continue;
    terms[data.term_count++] =
        (struct be_mixed_term){term->name, term->level, term->levels, 1, {term->told}};
  }
  enum be_status status = make_design(g, &data.fixed, err);
  struct be_err why = {0};
  if (status == BE_OK) status = be_model_fit_data(&data, &g->fit, &why);
  return status == BE_NO_MEMORY ? be_no_memory(err) : BE_OK;
}

/* ---- the answer ---- */

/* For programs; people have the sentence. */
static const struct be_column test_columns[] = {
    {"place", "", BE_COLUMN_TEXT, true}, {"F", "", BE_COLUMN_NUMBER, true},
    {"df1", "", BE_COLUMN_NUMBER, true}, {"df2", "", BE_COLUMN_NUMBER, true},
    {"p", "", BE_COLUMN_NUMBER, true},
};

static enum be_status say_test(struct be_doc *doc, const struct by_group *g, struct be_err *err)
{
  struct be_mixed_joint joint;
  enum be_status status = be_mixed_joint(g->fit, g->weights, g->rings, &joint, err);
  if (status != BE_OK) return status;
  if (isnan(joint.p)) {
    const char *why = be_mixed_summary(g->fit)->why;
    be_doc_note(doc, "Whether knots compare alike in all groups cannot be tested: %s.",
                why ? why : "how well their differences are known is not known");
    return BE_OK;
  }
  const char *p = be_model_p(g->m->arena, joint.p);
  if (joint.p <= 1 - g->m->survey->how.level)
    be_doc_sentence(doc,
                    "How knots compare differs from group to group, more than from line to line "
                    "(%s, F of %zu and %.3g df): look at the groups one by one.",
                    p, joint.df1, joint.df2);
  else
    be_doc_sentence(doc,
                    "That knots compare otherwise from group to group, more than from line to "
                    "line, cannot be told (%s, F of %zu and %.3g df).",
                    p, joint.df1, joint.df2);
  struct be_table *table = be_doc_table(doc, "model_group_test", "Knot x group", test_columns, 5);
  be_table_text(table, "%s", g->m->place);
  be_table_number(table, joint.F, 3);
  be_table_number(table, (double)joint.df1, 0);
  be_table_number(table, joint.df2, 1);
  be_table_probability(table, joint.p);
  return BE_OK;
}

static void row(struct be_table *table, const struct by_group *g, const char *group, size_t h,
                size_t knot, size_t first)
{
  const struct modelled *m = g->m;
  struct be_mixed_contrast mean, apart;
  double level = m->survey->how.level;
  uint32_t mine = g->cell[knot * g->groups + h], other = g->cell[first * g->groups + h];
  const double one = 1, weights[] = {mine < other ? 1 : -1, mine < other ? -1 : 1};
  const uint32_t both[] = {mine < other ? mine : other, mine < other ? other : mine};
  int decimals = be_model_decimals(m);
  be_mixed_contrast(g->fit, &mine, &one, 1, level, &mean);
  be_table_text(table, "%s", group);
  be_table_text(table, "%s", be_knot_name(m->survey, m->sample->knot[knot]));
  be_table_number(table, (double)g->n[knot * g->groups + h], 0);
  if (m->sample->by_share) {
    be_table_number(table, be_model_shown(m, mean.value), decimals);
    be_table_interval(table, be_model_shown(m, mean.interval.low),
                      be_model_shown(m, mean.interval.high), decimals);
  } else {
    be_table_none(table);
    be_table_none(table);
  }
  if (other == NONE || other == mine) {
    for (int i = 0; i < 4; i++) be_table_none(table);
    return;
  }
  be_mixed_contrast(g->fit, both, weights, 2, level, &apart);
  be_table_number(table, 100 * expm1(apart.value), 1);
  be_table_interval(table, 100 * expm1(apart.interval.low), 100 * expm1(apart.interval.high), 1);
  be_table_number(table, apart.df, 1);
  be_table_probability(table, apart.p);
}

static void say_table(struct be_doc *doc, const struct by_group *g)
{
  const struct modelled *m = g->m;
  const struct model_sample *sample = m->sample;
  size_t first = m->order[0];
  const char *against = be_arena_format(m->arena, "against %s (relative %%)",
                                        be_knot_name(m->survey, sample->knot[first]));
  const char *mean = be_arena_format(m->arena, "modelled (%s)", be_model_unit(m));
  const struct be_column columns[] = {
      {"group", "group", BE_COLUMN_TEXT, false},
      {"knot", "knot", BE_COLUMN_TEXT, false},
      {"n", "n", BE_COLUMN_NUMBER, false},
      {"modelled", mean ? mean : "modelled", BE_COLUMN_NUMBER, false},
      {"modelled", "interval", BE_COLUMN_INTERVAL, false},
      {"against_first_relative_percent", against ? against : "against the first", BE_COLUMN_NUMBER,
       false},
      {"against_first_relative_percent", "interval", BE_COLUMN_INTERVAL, false},
      {"against_first_df", "df", BE_COLUMN_NUMBER, false},
      {"against_first_p", "p", BE_COLUMN_NUMBER, false},
  };
  struct be_table *table = be_doc_table(doc, "model_by_group", "The knots, group by group", columns,
                                        sizeof columns / sizeof columns[0]);
  be_table_fold(table);
  for (size_t h = 0, c = 0; h < g->groups; h++) {
    while (sample->group[c] != h) c++;
    for (size_t i = 0; i < g->knots; i++)
      if (g->cell[m->order[i] * g->groups + h] != NONE)
        row(table, g, sample->where[c]->group, h, m->order[i], first);
  }
}

enum be_status be_say_groups(struct be_doc *doc, const struct modelled *m, struct be_err *err)
{
  struct by_group g = {.m = m, .knots = m->sample->knots, .groups = m->sample->groups};
  const struct model_term *cells = &m->sample->term[MODEL_CELL];
  if (g.groups < 2) return BE_OK;
  enum be_status status = find_cells(&g, err);
  if (status == BE_OK) status = find_rings(&g, err);
  if (status != BE_OK || g.rings == 0) return status;
  if (m->sample->n > PULLS_MAX) {
    be_doc_note(doc,
                "Whether knots compare alike in all groups is not tested with more than 10,000 "
                "pulls: it would take as long again.");
    return BE_OK;
  }
  if (!cells->in || cells->levels <= g.cells) {
    be_doc_note(doc, "Whether knots compare alike in all groups cannot be tested: within a group "
                     "each knot would need more than one combination.");
    return BE_OK;
  }
  status = fit(&g, err);
  if (status == BE_OK && g.fit) status = say_test(doc, &g, err);
  if (status == BE_OK && g.fit) say_table(doc, &g);
  be_mixed_free(g.fit);
  return status;
}
