/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What let go first. Where a specimen can let go in more than one way, each way hides what
 * the others would have held: so the share that each took is given as a cumulative
 * incidence, and the strength against one way alone with the rest as lower bounds. */
#include "app/strength/strength.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum cause { CAUSE_A, CAUSE_B, CAUSE_KNOT, CAUSE_TAG, CAUSE_SLIP, CAUSE_CLEAR, CAUSES };

static bool is_two(const struct be_pull *pull)
{
  return pull->design == BE_DESIGN_TWO_SAME || pull->design == BE_DESIGN_TWO_DIFFERENT;
}

/* Sides are those of two knots, or of the two lines that one knot joins; one knot in one line
 * has none. */
static enum cause side_of(const struct be_pull *pull)
{
  enum be_which a = is_two(pull) ? BE_WHICH_KNOT_A : BE_WHICH_A;
  enum be_which b = is_two(pull) ? BE_WHICH_KNOT_B : BE_WHICH_B;
  if (pull->which == BE_WHICH_TAG) return CAUSE_TAG;
  if (!is_two(pull) && pull->line_b < 0) return CAUSE_KNOT;
  return pull->which == a ? CAUSE_A : pull->which == b ? CAUSE_B : CAUSE_KNOT;
}

/* Grip, hardware and a pull that was stopped say nothing of what would have gone first; a
 * line that parted clear of the knot is a lower bound of the knot, but it did let go. */
static int cause_of(const struct be_pull *pull)
{
  if (pull->kind == BE_KIND_BOUND && pull->where != BE_WHERE_CLEAR) return BE_CAUSE_NONE;
  switch (pull->what) {
  case BE_WHAT_SLIPPED_OUT: return CAUSE_SLIP;
  case BE_WHAT_BROKE:
  case BE_WHAT_SLIPPED_BROKE:
  case BE_WHAT_STRAND: break;
  default: return BE_CAUSE_NONE;
  }
  if (pull->where == BE_WHERE_CLEAR) return CAUSE_CLEAR;
  if (pull->where == BE_WHERE_GRIP) return BE_CAUSE_NONE;
  return (int)side_of(pull);
}

/* The name of side A or B. */
static const char *side_name(const struct survey *survey, const struct cell *cell, bool is_b)
{
  const struct be_pull *pull = cell->pulls[0];
  const char letter = is_b ? 'B' : 'A';
  if (cell->knot_b >= 0)
    return be_arena_format(survey->arena, "the %s",
                           be_knot_name(survey, is_b ? pull->knot_b : pull->knot));
  if (is_two(pull)) return be_arena_format(survey->arena, "knot %c", letter);
  const char *a = survey->record.lines[pull->line_a].name;
  const char *b = survey->record.lines[pull->line_b].name;
  if (be_text_same(a, b)) return be_arena_format(survey->arena, "in the knot, line %c", letter);
  return be_arena_format(survey->arena, "in the knot, side of %s", is_b ? b : a);
}

static const char *cause_name(const struct survey *survey, const struct cell *cell, int cause)
{
  bool two = is_two(cell->pulls[0]);
  const char *text = NULL;
  switch (cause) {
  case CAUSE_A: text = side_name(survey, cell, false); break;
  case CAUSE_B: text = side_name(survey, cell, true); break;
  case CAUSE_KNOT: text = two ? "a knot, not told which" : "in the knot"; break;
  case CAUSE_TAG: text = "in the knot, tag"; break;
  case CAUSE_SLIP: text = "slipped out"; break;
  default: text = two ? "clear of both knots" : "clear of the knot"; break;
  }
  return text ? text : "?";
}

/* ---- rows of a cell by load ---- */

static int by_load(const void *a_, const void *b_)
{
  const struct be_caused *a = a_, *b = b_;
  if (a->load != b->load) return a->load < b->load ? -1 : 1;
  return (a->cause == BE_CAUSE_NONE) - (b->cause == BE_CAUSE_NONE);
}

struct told {
  struct be_caused *rows;
  size_t n, counts[CAUSES], causes, events;
  double top; /* the highest load at which something let go */
};

static enum be_status gather(const struct survey *survey, const struct cell *cell,
                             struct told *told, struct be_err *err)
{
  *told = (struct told){0};
  told->rows = be_arena_alloc(survey->arena, cell->count * sizeof *told->rows);
  if (!told->rows) return be_no_memory(err);
  for (size_t i = 0; i < cell->count; i++) {
    const struct be_pull *pull = cell->pulls[i];
    if (pull->kind == BE_KIND_VOID || !(pull->load_N > 0)) continue;
    int cause = cause_of(pull);
    told->rows[told->n++] = (struct be_caused){pull->load_N, cause};
    if (cause == BE_CAUSE_NONE) continue;
    told->causes += told->counts[cause]++ == 0;
    told->events++;
    told->top = fmax(told->top, pull->load_N);
  }
  qsort(told->rows, told->n, sizeof *told->rows, by_load);
  return BE_OK;
}

/* ---- the table ---- */

/* An interval of a load that goes on past so many times the highest load has no end to speak of. */
static const double no_end = 10;

static void cause_row(struct be_table *table, const struct survey *survey, const struct cell *cell,
                      const struct told *told, int cause, const struct be_measure *incidence,
                      struct be_held *held)
{
  double level = survey->how.level;
  struct be_interval share = be_rate_exact(told->counts[cause], told->events, level);
  struct be_fit fit;
  struct be_measure alone;
  be_only_cause(told->rows, told->n, cause, held);
  be_fit_censored(BE_FAMILY_WEIBULL, held, told->n, &fit);
  be_fit_conditional(&fit, held, told->n, BE_WANTED_QUANTILE, 0.5, level, &alone);
  be_table_text(table, "%s", survey->combinations[cell->combination].name);
  be_table_text(table, "%s", be_cell_name(survey, cell));
  be_table_text(table, "%s", cause_name(survey, cell, cause));
  be_table_count(table, told->counts[cause], told->events);
  be_table_interval(table, 100 * share.low, 100 * share.high, 0);
  be_table_number(table, be_shown(survey, told->top), survey->decimals);
  be_table_number(table, 100 * incidence->value, 0);
  be_table_interval(table, 100 * incidence->interval.low, 100 * incidence->interval.high, 0);
  if (alone.interval.high > no_end * told->top) alone.interval.high = INFINITY;
  be_table_measure(table, survey, &alone, survey->decimals + 1);
}

static enum be_status say_cell(struct be_doc *doc, struct be_table **table,
                               const struct survey *survey, const struct cell *cell,
                               struct be_err *err)
{
  struct told told;
  enum be_status status = gather(survey, cell, &told, err);
  if (status != BE_OK || told.causes < 2) return status;
  const struct be_column columns[] = {
      {"combination", "combination", BE_COLUMN_TEXT, false},
      {"knot", "knot", BE_COLUMN_TEXT, false},
      {"let_go", "let go first", BE_COLUMN_TEXT, false},
      {"let_go", "", BE_COLUMN_COUNT, false},
      {"let_go_percent", "(%)", BE_COLUMN_INTERVAL, false},
      {"up_to", be_head(survey, "up to"), BE_COLUMN_NUMBER, false},
      {"incidence_percent", "incidence (%)", BE_COLUMN_NUMBER, false},
      {"incidence_percent", "interval", BE_COLUMN_INTERVAL, false},
      {"alone_median", be_head(survey, "median of it alone"), BE_COLUMN_NUMBER, false},
      {"alone_median", "interval", BE_COLUMN_INTERVAL, false},
  };
  if (!*table) {
    be_doc_heading(doc, "What let go first");
    *table = be_doc_table(doc, "causes", "Where more than one thing let go", columns,
                          sizeof columns / sizeof columns[0]);
    be_table_fold_long(*table);
  }
  struct be_measure incidence[CAUSES];
  double intact;
  struct be_held *held = be_arena_alloc(survey->arena, told.n * sizeof *held);
  if (!held) return be_no_memory(err);
  be_incidence(told.rows, told.n, told.top, CAUSES, survey->how.level, incidence, &intact);
  for (int cause = 0; cause < CAUSES; cause++)
    if (told.counts[cause]) cause_row(*table, survey, cell, &told, cause, &incidence[cause], held);
  return BE_OK;
}

/* ---- which line of a bend ---- */

struct sides {
  size_t a, b;
  const char *line_a, *line_b;
};

bool be_tells_side(const struct be_pull *pull)
{
  if (pull->kind != BE_KIND_EVENT || pull->line_b < 0 || is_two(pull)) return false;
  int cause = cause_of(pull);
  return cause == CAUSE_A || cause == CAUSE_B;
}

static struct sides count_sides(const struct survey *survey, size_t from, size_t to)
{
  struct sides sides = {0};
  for (size_t c = from; c < to; c++) {
    const struct combination *where = &survey->combinations[c];
    for (size_t i = where->first_cell; i < where->first_cell + where->cells_count; i++)
      for (size_t k = 0; k < survey->cells[i].count; k++) {
        const struct be_pull *pull = survey->cells[i].pulls[k];
        if (!be_tells_side(pull)) continue;
        sides.a += pull->which == BE_WHICH_A;
        sides.b += pull->which == BE_WHICH_B;
        sides.line_a = survey->record.lines[pull->line_a].material;
        sides.line_b = survey->record.lines[pull->line_b].material;
      }
  }
  return sides;
}

/* All on one side is the strongest thing such counts can say, and less than it seems. */
static void say_all_on_one(struct be_doc *doc, const struct survey *survey, const char *group,
                           const char *side, size_t n)
{
  be_doc_note(doc,
              "All %zu joints of %s that parted at the knot did so on the %s side: with %g %% "
              "confidence at least %.1f %% of such joints do. It does not show that none "
              "would part on the other, nor anything of other lines, knots or tyers.",
              n, group, side, 100 * survey->how.level,
              100 * be_rate_lower(n, n, survey->how.level));
}

static void sides_row(struct be_table *table, const struct survey *survey, const char *group,
                      const char *side, size_t k, size_t n)
{
  double level = survey->how.level;
  struct be_interval exact = be_rate_exact(k, n, level);
  struct be_interval wilson = be_rate_wilson(k, n, level, false);
  struct be_interval jeffreys = be_rate_jeffreys(k, n, level);
  be_table_text(table, "%s", group);
  be_table_text(table, "%s", side);
  be_table_count(table, k, n);
  be_table_number(table, 100 * (double)k / (double)n, 1);
  be_table_interval(table, 100 * exact.low, 100 * exact.high, 1);
  be_table_interval(table, 100 * wilson.low, 100 * wilson.high, 1);
  be_table_interval(table, 100 * jeffreys.low, 100 * jeffreys.high, 1);
  be_table_number(table, 100 * be_rate_lower(k, n, level), 1);
}

static void say_sides(struct be_doc *doc, const struct survey *survey)
{
  const struct be_column columns[] = {
      {"group", "joints", BE_COLUMN_TEXT, false},
      {"side", "side", BE_COLUMN_TEXT, false},
      {"parted", "parted there", BE_COLUMN_COUNT, false},
      {"parted_percent", "(%)", BE_COLUMN_NUMBER, false},
      {"clopper_pearson_percent", "Clopper-Pearson", BE_COLUMN_INTERVAL, false},
      {"wilson_percent", "Wilson", BE_COLUMN_INTERVAL, false},
      {"jeffreys_percent", "Jeffreys", BE_COLUMN_INTERVAL, false},
      {"at_least_percent", "one-sided, at least", BE_COLUMN_NUMBER, false},
  };
  struct be_table *table = NULL;
  for (size_t c = 0, next; c < survey->combinations_count; c = next) {
    const char *group = survey->combinations[c].group;
    for (next = c;
         next < survey->combinations_count && strcmp(survey->combinations[next].group, group) == 0;)
      next++;
    struct sides sides = count_sides(survey, c, next);
    size_t n = sides.a + sides.b;
    if (n == 0) continue;
    bool named = sides.line_a && sides.line_b && strcmp(sides.line_a, sides.line_b) != 0;
    const char *side = sides.a >= sides.b ? named ? sides.line_a : "line A"
                       : named            ? sides.line_b
                                          : "line B";
    if (!table) {
      be_doc_heading(doc, "Which side of the joint");
      table = be_doc_table(doc, "sides", "Of the joints that parted at the knot, side told",
                           columns, sizeof columns / sizeof columns[0]);
    }
    sides_row(table, survey, group, side, sides.a >= sides.b ? sides.a : sides.b, n);
    if (n > 1 && (sides.a == 0 || sides.b == 0)) say_all_on_one(doc, survey, group, side, n);
  }
}

enum be_status be_say_causes(struct be_doc *doc, const struct survey *survey, struct be_err *err)
{
  struct be_table *table = NULL;
  enum be_status status = BE_OK;
  for (size_t i = 0; i < survey->cells_count && status == BE_OK; i++)
    if (survey->cells[i].knot >= 0) status = say_cell(doc, &table, survey, &survey->cells[i], err);
  if (table)
    be_doc_note(doc,
                "The incidence is the share of specimens in which this let go first, of all, pulls "
                "that held counted for what they held (Aalen and Johansen). The median of it alone "
                "is by Weibull, what else let go taken as a lower bound: it holds if the ways to "
                "let go do not depend on one another.");
  if (status == BE_OK) say_sides(doc, survey);
  return status;
}
