/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From cells to the rows of a model: which knots and combinations hang together, what each pull
 * kept of its line, and what pulls share. */
#include "app/model/model.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static bool is_modelled(const struct survey *survey, const struct cell *cell)
{
  return survey->combinations[cell->combination].design == BE_DESIGN_SINGLE && cell->knot >= 0 &&
         cell->knot_b < 0;
}

/* ---- what hangs together ---- */

/* Knots and combinations as one forest: knots first. */
struct forest {
  size_t *parent, *pulls; /* by root: pulls, and how much of each kind the tree has */
  size_t *knots_in, *wheres_in;
  size_t knots, count;
};

static size_t root_of(const struct forest *forest, size_t i)
{
  while (forest->parent[i] != i) i = forest->parent[i] = forest->parent[forest->parent[i]];
  return i;
}

/* The range of cells of the combinations: they stand in the same order. */
struct range {
  const struct cell *first, *end;
  bool by_share; /* cells with events but no plain line are left out */
};

static bool has_plain(const struct cell *cell)
{
  return cell->n == 0 || cell->shares;
}

static bool is_taken(const struct survey *survey, const struct range *range,
                     const struct cell *cell)
{
  return is_modelled(survey, cell) && (!range->by_share || has_plain(cell));
}

/* A tenth of the pulls may lack a plain line: better without them than without shares. */
static bool is_nearly_all_by_share(const struct survey *survey, const struct range *range)
{
  size_t all = 0, without = 0;
  for (const struct cell *cell = range->first; cell < range->end; cell++) {
    if (!is_modelled(survey, cell)) continue;
    all += cell->n;
    without += has_plain(cell) ? 0 : cell->n;
  }
  return 10 * without <= all;
}

static struct range cells_of(const struct survey *survey, size_t from, size_t to)
{
  const struct combination *first = &survey->combinations[from],
                           *last = &survey->combinations[to - 1];
  struct range range = {survey->cells + first->first_cell,
                        survey->cells + last->first_cell + last->cells_count, false};
  range.by_share = is_nearly_all_by_share(survey, &range);
  return range;
}

static enum be_status join(const struct survey *survey, size_t from, size_t to,
                           struct be_arena *arena, struct forest *forest, struct be_err *err)
{
  forest->knots = survey->record.knots_count;
  forest->count = forest->knots + (to - from);
  forest->parent = be_arena_alloc(arena, forest->count * sizeof *forest->parent);
  forest->pulls = be_arena_alloc(arena, forest->count * sizeof *forest->pulls);
  forest->knots_in = be_arena_alloc(arena, forest->count * sizeof *forest->knots_in);
  forest->wheres_in = be_arena_alloc(arena, forest->count * sizeof *forest->wheres_in);
  if (!forest->parent || !forest->pulls || !forest->knots_in || !forest->wheres_in)
    return be_no_memory(err);
  for (size_t i = 0; i < forest->count; i++) forest->parent[i] = i;
  struct range range = cells_of(survey, from, to);
  for (const struct cell *cell = range.first; cell < range.end; cell++) {
    if (!is_taken(survey, &range, cell) || cell->n == 0) continue;
    size_t a = root_of(forest, (size_t)cell->knot);
    size_t b = root_of(forest, forest->knots + cell->combination - from);
    forest->parent[a < b ? b : a] = a < b ? a : b;
  }
  for (const struct cell *cell = range.first; cell < range.end; cell++)
    if (is_taken(survey, &range, cell))
      forest->pulls[root_of(forest, (size_t)cell->knot)] += cell->n;
  for (size_t i = 0; i < forest->count; i++)
    ++(i < forest->knots ? forest->knots_in : forest->wheres_in)[root_of(forest, i)];
  return BE_OK;
}

/* Roots of trees of two knots and two combinations or more: of the most pulls first, among equals
 * the first. forest->count if there is no nth. */
static size_t nth_tree(const struct forest *forest, size_t nth)
{
  size_t last = forest->count;
  for (size_t k = 0; k <= nth; k++) {
    size_t best = forest->count;
    for (size_t i = 0; i < forest->knots; i++) {
      if (forest->knots_in[i] < 2 || forest->wheres_in[i] < 2) continue;
      bool later = last == forest->count || forest->pulls[i] < forest->pulls[last] ||
                   (forest->pulls[i] == forest->pulls[last] && i > last);
      bool better = best == forest->count || forest->pulls[i] > forest->pulls[best];
      if (later && better) best = i;
    }
    if (best == forest->count) return best;
    last = best;
  }
  return last;
}

static enum be_status take_grid(const struct survey *survey, size_t from, size_t to,
                                struct be_arena *arena, const struct forest *forest, size_t tree,
                                struct model_sample *sample, struct be_err *err)
{
  enum { NONE = -1 };
  int *place = be_arena_alloc(arena, forest->knots * sizeof *place);
  bool *open = be_arena_alloc(arena, forest->knots * sizeof *open);
  sample->knot = be_arena_alloc(arena, forest->knots * sizeof *sample->knot);
  sample->where = be_arena_alloc(arena, (to - from) * sizeof *sample->where);
  sample->group = be_arena_alloc(arena, (to - from) * sizeof *sample->group);
  if (!place || !open || !sample->knot || !sample->where || !sample->group)
    return be_no_memory(err);
  struct range range = cells_of(survey, from, to);
  for (const struct cell *cell = range.first; cell < range.end; cell++)
    if (is_taken(survey, &range, cell)) open[cell->knot] |= cell->lower_count > 0;
  for (size_t k = 0; k < forest->knots; k++) {
    size_t root = root_of(forest, k);
    bool in = root == tree;
    place[k] = in ? (int)sample->knots : NONE;
    if (in) sample->knot[sample->knots++] = (int)k;
    else if (forest->pulls[root] > 0) sample->apart_knots++;
    else sample->open_knots += open[k];
  }
  for (const struct cell *cell = range.first; cell < range.end; cell++)
    if (is_modelled(survey, cell) && !is_taken(survey, &range, cell) && place[cell->knot] != NONE)
      sample->without_plain += cell->n + cell->lower_count;
  for (size_t c = from; c < to; c++) {
    const struct combination *where = &survey->combinations[c];
    if (root_of(forest, forest->knots + c - from) != tree) continue;
    if (sample->wheres == 0 || strcmp(sample->where[sample->wheres - 1]->group, where->group) != 0)
      sample->groups++;
    sample->group[sample->wheres] = (uint32_t)sample->groups - 1;
    sample->where[sample->wheres++] = where;
  }
  sample->cell = be_arena_alloc(arena, sample->knots * sample->wheres * sizeof *sample->cell);
  if (!sample->cell) return be_no_memory(err);
  for (size_t c = 0; c < sample->wheres; c++)
    for (size_t i = 0; i < sample->where[c]->cells_count; i++) {
      const struct cell *cell = &survey->cells[sample->where[c]->first_cell + i];
      if (!is_taken(survey, &range, cell) || place[cell->knot] == NONE) continue;
      if (cell->n + cell->lower_count > 0)
        sample->cell[(size_t)place[cell->knot] * sample->wheres + c] = cell;
    }
  return BE_OK;
}

/* Whether any two groups share two knots. */
static enum be_status look_at_groups(struct be_arena *arena, struct model_sample *sample,
                                     struct be_err *err)
{
  bool *has = be_arena_alloc(arena, sample->groups * sample->knots * sizeof *has);
  if (!has) return be_no_memory(err);
  for (size_t k = 0; k < sample->knots; k++)
    for (size_t c = 0; c < sample->wheres; c++) {
      const struct cell *cell = sample->cell[k * sample->wheres + c];
      if (cell && cell->n) has[sample->group[c] * sample->knots + k] = true;
    }
  for (size_t a = 0; a < sample->groups && !sample->groups_meet; a++)
    for (size_t b = a + 1; b < sample->groups; b++) {
      size_t both = 0;
      for (size_t k = 0; k < sample->knots; k++)
        both += has[a * sample->knots + k] && has[b * sample->knots + k];
      if (both >= 2) sample->groups_meet = true;
    }
  return BE_OK;
}

/* ---- rows ---- */

/* The plain line that an event of the cell on the same spools, pulled alike, was divided by. */
static double plain_in(const struct cell *cell, const struct be_pull *pull)
{
  for (size_t i = 0; cell->shares && i < cell->n; i++) {
    const struct be_pull *event = cell->events[i];
    if (event->line_a == pull->line_a && event->line_b == pull->line_b &&
        be_pulled_alike(event, pull))
      return cell->loads[i] / cell->shares[i];
  }
  return NAN;
}

/* Of the bound's own cell, or else of another knot's there. */
static double plain_of(const struct model_sample *sample, const struct cell *cell, size_t c,
                       const struct be_pull *pull)
{
  double plain = plain_in(cell, pull);
  for (size_t k = 0; isnan(plain) && k < sample->knots; k++) {
    const struct cell *other = sample->cell[k * sample->wheres + c];
    if (other) plain = plain_in(other, pull);
  }
  return plain;
}

static void add_row(struct model_sample *sample, const struct be_pull *pull, size_t k, size_t c,
                    double kept, bool bound)
{
  sample->bounds += bound;
  sample->rows[sample->n++] = (struct model_row){.pull = pull,
                                                 .knot = (uint32_t)k,
                                                 .where = (uint32_t)c,
                                                 .group = sample->group[c],
                                                 .y = log(kept),
                                                 .bound = bound};
}

static enum be_status take_rows(struct be_arena *arena, struct model_sample *sample,
                                struct be_err *err)
{
  size_t pulls = 0;
  sample->by_share = true;
  for (size_t i = 0; i < sample->knots * sample->wheres; i++) {
    const struct cell *cell = sample->cell[i];
    if (!cell) continue;
    pulls += cell->n + cell->lower_count;
    sample->by_share &= cell->n == 0 || cell->shares;
  }
  sample->rows = be_arena_alloc(arena, pulls * sizeof *sample->rows);
  if (!sample->rows) return be_no_memory(err);
  for (size_t c = 0; c < sample->wheres; c++)
    for (size_t k = 0; k < sample->knots; k++) {
      const struct cell *cell = sample->cell[k * sample->wheres + c];
      if (!cell) continue;
      for (size_t i = 0; i < cell->n; i++)
        add_row(sample, cell->events[i], k, c, sample->by_share ? cell->shares[i] : cell->loads[i],
                false);
      for (size_t i = 0; i < cell->lower_count; i++) {
        const struct be_pull *pull = cell->lower[i];
        double plain = sample->by_share ? plain_of(sample, cell, c, pull) : 1;
        if (isnan(plain)) sample->bounds_unmatched++;
        else add_row(sample, pull, k, c, pull->load_N / plain, true);
      }
    }
  return BE_OK;
}

/* ---- what pulls share ---- */

static int by_text(const char *a, const char *b)
{
  return strcmp(a ? a : "", b ? b : "");
}

static int by_int(int64_t a, int64_t b)
{
  return (a > b) - (a < b);
}

static int by_spool(const void *a_, const void *b_)
{
  const struct model_row *a = *(const struct model_row *const *)a_;
  const struct model_row *b = *(const struct model_row *const *)b_;
  int order = by_int(a->where, b->where);
  if (order == 0) order = by_int(a->pull->line_a, b->pull->line_a);
  return order ? order : by_int(a->pull->line_b, b->pull->line_b);
}

static int by_cell(const void *a_, const void *b_)
{
  const struct model_row *a = *(const struct model_row *const *)a_;
  const struct model_row *b = *(const struct model_row *const *)b_;
  int order = by_int(a->where, b->where);
  return order ? order : by_int(a->knot, b->knot);
}

static int by_where(const void *a_, const void *b_)
{
  const struct model_row *a = *(const struct model_row *const *)a_;
  const struct model_row *b = *(const struct model_row *const *)b_;
  return by_int(a->where, b->where);
}

static int by_session(const void *a_, const void *b_)
{
  const struct model_row *a = *(const struct model_row *const *)a_;
  const struct model_row *b = *(const struct model_row *const *)b_;
  return by_text(a->pull->session, b->pull->session);
}

static int by_tyer(const void *a_, const void *b_)
{
  const struct model_row *a = *(const struct model_row *const *)a_;
  const struct model_row *b = *(const struct model_row *const *)b_;
  return by_text(a->pull->tyer, b->pull->tyer);
}

typedef int comparison(const void *, const void *);
static const struct {
  const char *name;
  comparison *compare;
} kinds[MODEL_CROSSED] = {{"combination", by_where},
                          {"spool", by_spool},
                          {"knot x combination", by_cell},
                          {"day", by_session},
                          {"tyer", by_tyer}};

static bool is_told(size_t kind, const struct model_row *row)
{
  if (kind == MODEL_SESSION) return row->pull->session != NULL;
  return kind != MODEL_TYER || row->pull->tyer != NULL;
}

/* Rows of one level stand together once sorted. list has a place a row. */
static enum be_status find_levels(const struct model_sample *sample, size_t kind,
                                  const struct model_row **list, struct be_arena *arena,
                                  struct model_term *term, struct be_err *err)
{
  term->name = kinds[kind].name;
  term->level = be_arena_alloc(arena, sample->n * sizeof *term->level);
  if (!term->level) return be_no_memory(err);
  for (size_t i = 0; i < sample->n; i++)
    if (is_told(kind, &sample->rows[i])) list[term->rows++] = &sample->rows[i];
  if (term->rows < sample->n) {
    term->told = be_arena_alloc(arena, sample->n * sizeof *term->told);
    if (!term->told) return be_no_memory(err);
  }
  qsort(list, term->rows, sizeof *list, kinds[kind].compare);
  for (size_t i = 0; i < term->rows; i++) {
    if (i == 0 || kinds[kind].compare(&list[i], &list[i - 1]) != 0) term->levels++;
    size_t row = (size_t)(list[i] - sample->rows);
    term->level[row] = (uint32_t)term->levels - 1;
    if (term->told) term->told[row] = 1;
  }
  return BE_OK;
}

/* Whether the class of a row, of `classes`, says its level; among the rows where the level is
 * told. said has a place a class. */
static bool is_said_by(const struct model_sample *sample, const struct model_term *term,
                       const uint32_t *class, size_t stride, uint32_t *said, size_t classes)
{
  for (size_t i = 0; i < classes; i++) said[i] = UINT32_MAX;
  for (size_t i = 0; i < sample->n; i++) {
    if (term->told && term->told[i] == 0) continue;
    uint32_t *seen = &said[*(const uint32_t *)(const void *)((const char *)class + i * stride)];
    if (*seen != UINT32_MAX && *seen != term->level[i]) return false;
    *seen = term->level[i];
  }
  return true;
}

static bool is_same(const struct model_sample *sample, const struct model_term *a,
                    const struct model_term *b, uint32_t *said)
{
  size_t stride = sizeof *a->level;
  return a->levels == b->levels && a->rows == b->rows &&
         is_said_by(sample, a, b->level, stride, said, b->levels) &&
         is_said_by(sample, b, a->level, stride, said, a->levels);
}

/* Days cross every knot and combination, which fills the equations: 3 s for 10,000 pulls of 200
 * days, half a minute for 100,000 of 1,000 (docs/measured.md). */
enum { DAYS_MOST_PULLS = 10000 };

/* Why a term cannot be told from what else is in the model; null if it can. */
static const char *why_not(const struct model_sample *sample, size_t kind, uint32_t *said)
{
  const struct model_term *term = &sample->term[kind];
  size_t stride = sizeof *sample->rows;
  if (kind == MODEL_TYER && sample->factor[BE_FACTOR_TYER].in) return "held fixed";
  if (term->rows == 0) return "not recorded";
  if (term->levels < 2) return "there is only one";
  if (kind == MODEL_SESSION && sample->n > DAYS_MOST_PULLS)
    return "with more than 10,000 pulls it would take too long";
  if (term->levels >= term->rows) return "no two pulls share one";
  if (is_said_by(sample, term, &sample->rows[0].knot, stride, said, sample->knots))
    return "each knot has only one: it cannot be told from the knot";
  if (sample->groups > 1 &&
      is_said_by(sample, term, &sample->rows[0].group, stride, said, sample->groups))
    return "each group has only one: it cannot be told from the group";
  if (kind == MODEL_CELL && term->levels < sample->knots + sample->wheres)
    return "too many gaps: it cannot be told from knot and combination";
  static const char *const words[MODEL_CROSSED] = {
      "it cannot be told from the combination", "it cannot be told from the spool",
      "it cannot be told from knot x combination", "it cannot be told from the day",
      "it cannot be told from the tyer"};
  for (size_t k = 0; k < kind && k < MODEL_CROSSED; k++)
    if (sample->term[k].in && is_same(sample, term, &sample->term[k], said)) return words[k];
  return NULL;
}

/* ---- factors crossed with what they may hang on ---- */

/* What turns and tyers do may differ from knot to knot, what the others do from line to line. */
static enum be_status find_crossed(const struct model_sample *sample, enum be_factor kind,
                                   struct be_arena *arena, struct model_term *term,
                                   struct be_err *err)
{
  const struct model_factor *factor = &sample->factor[kind];
  bool by_knot = kind == BE_FACTOR_TURNS || kind == BE_FACTOR_TYER;
  size_t classes = by_knot ? sample->knots : sample->wheres;
  uint32_t *number = be_arena_alloc(arena, factor->count * classes * sizeof *number);
  term->name =
      be_arena_format(arena, "%s x %s", be_factor_words[kind], by_knot ? "knot" : "combination");
  term->level = be_arena_alloc(arena, sample->n * sizeof *term->level);
  term->told = be_arena_alloc(arena, sample->n * sizeof *term->told);
  if (!number || !term->name || !term->level || !term->told) return be_no_memory(err);
  for (size_t i = 0; i < sample->n; i++) {
    const struct model_row *row = &sample->rows[i];
    if (factor->of_row[i] == UINT32_MAX) continue;
    uint32_t *mine = &number[factor->of_row[i] * classes + (by_knot ? row->knot : row->where)];
    if (*mine == 0) *mine = (uint32_t)++term->levels;
    term->level[i] = *mine - 1;
    term->told[i] = 1;
    term->rows++;
  }
  /* Two differences of it at least, beside its own: of one nobody could tell how they scatter. */
  if (term->levels < classes + factor->columns + 2)
    term->why = "too few to tell how the effect differs";
  return BE_OK;
}

static enum be_status take_crossed(struct be_arena *arena, struct model_sample *sample,
                                   uint32_t *said, struct be_err *err)
{
  enum { LEVELS_MAX = 50 };
  for (int kind = 0; kind < BE_FACTOR_ORDER; kind++) {
    const struct model_factor *factor = &sample->factor[kind];
    size_t at = MODEL_CROSSED + sample->crossed;
    if (!factor->in || factor->count > LEVELS_MAX || at == MODEL_TERMS) continue;
    struct model_term *term = &sample->term[at];
    enum be_status status = find_crossed(sample, (enum be_factor)kind, arena, term, err);
    if (status != BE_OK) return status;
    sample->crosses[sample->crossed++] = (enum be_factor)kind;
    if (!term->why) term->why = why_not(sample, at, said);
    term->in = !term->why;
  }
  return BE_OK;
}

static enum be_status take_terms(struct be_arena *arena, struct model_sample *sample,
                                 struct be_err *err)
{
  size_t most = sample->n > sample->knots ? sample->n : sample->knots;
  const struct model_row **list = be_arena_alloc(arena, sample->n * sizeof *list);
  uint32_t *said = be_arena_alloc(arena, most * sizeof *said);
  if (!list || !said) return be_no_memory(err);
  for (size_t kind = 0; kind < MODEL_CROSSED; kind++) {
    struct model_term *term = &sample->term[kind];
    enum be_status status = find_levels(sample, kind, list, arena, term, err);
    if (status != BE_OK) return status;
    term->why = why_not(sample, kind, said);
    term->in = !term->why;
  }
  return take_crossed(arena, sample, said, err);
}

enum be_status be_model_sample(const struct survey *survey, size_t from, size_t to, size_t nth,
                               struct be_arena *arena, struct model_sample *sample,
                               struct be_err *err)
{
  struct forest forest;
  *sample = (struct model_sample){0};
  if (survey->record.knots_count < 2 || to < from + 2) return BE_OK;
  enum be_status status = join(survey, from, to, arena, &forest, err);
  if (status != BE_OK) return status;
  size_t tree = nth_tree(&forest, nth);
  if (tree == forest.count) return BE_OK;
  status = take_grid(survey, from, to, arena, &forest, tree, sample, err);
  if (status == BE_OK) status = look_at_groups(arena, sample, err);
  if (status == BE_OK) status = take_rows(arena, sample, err);
  if (status == BE_OK) status = be_model_take_factors(survey, arena, sample, err);
  return status == BE_OK ? take_terms(arena, sample, err) : status;
}
