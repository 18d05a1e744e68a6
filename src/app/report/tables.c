/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Strengths, combination by combination, ready to paste: one set of columns for all of them. */
#include "app/ranking/ranking.h"
#include "app/report/report.h"
#include "app/strength/strength.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The units in which such tables are read. */
static const char *const units[] = {"lb", "kg", "N"};
enum { UNITS = sizeof units / sizeof units[0] };

/* ---- what is in a row ---- */

struct row {
  const char *line_class, *let_go, *rank_range;
  size_t let_go_k, let_go_n, ties; /* ties: that let go as often */
  struct be_measure tenth;
};

static const char *class_words(const struct survey *survey, int name)
{
  if (name < 0) return "";
  double label = NAN;
  for (size_t i = 0; i < survey->record.lines_count && isnan(label); i++)
    if (survey->name_of_line[i] == name) label = survey->record.lines[i].label_N;
  if (isnan(label)) return "no label";
  const struct be_line_class *is = be_line_class_of(label);
  return is ? be_arena_format(survey->arena, "%d kg", is->kg) : "over 60 kg";
}

/* What let go, and where, most often; both of two that did as often. */
static void find_let_go(const struct survey *survey, const struct cell *cell, struct row *row)
{
  enum { WHATS = BE_WHAT_NOTHING + 1, WHERES = BE_WHERE_NOT_SEEN + 1 };
  size_t counts[WHATS][WHERES] = {{0}};
  for (size_t i = 0; i < cell->count; i++) {
    const struct be_pull *pull = cell->pulls[i];
    if (pull->kind == BE_KIND_VOID || pull->what == BE_WHAT_UNKNOWN) continue;
    row->let_go_n++;
    counts[pull->what][pull->where]++;
    if (counts[pull->what][pull->where] > row->let_go_k)
      row->let_go_k = counts[pull->what][pull->where];
  }
  row->let_go = row->let_go_n ? "" : "not recorded";
  for (int what = 0; what < WHATS && row->let_go; what++)
    for (int where = 0; where < WHERES && row->let_go && row->let_go_k; where++) {
      if (counts[what][where] != row->let_go_k) continue;
      bool told = where != BE_WHERE_UNKNOWN;
      row->let_go =
          be_arena_format(survey->arena, "%s%s%s%s%s", row->let_go, row->ties++ ? " or " : "",
                          be_what_word((enum be_what)what), told ? " " : "",
                          told ? be_where_word((enum be_where)where) : "");
    }
}

static enum be_status find_tenth(const struct survey *survey, const struct cell *cell,
                                 struct row *row, struct be_err *err)
{
  row->tenth = (struct be_measure){NAN, {NAN, NAN, survey->how.level}};
  if (cell->n < 2) return BE_OK;
  const struct be_held *held = be_held_of(survey, cell);
  if (!held) return be_no_memory(err);
  struct be_fit weibull;
  size_t count = cell->n + cell->lower_count;
  be_fit_censored(BE_FAMILY_WEIBULL, held, count, &weibull);
  row->tenth = be_tenth_of(survey, &weibull, held, count);
  return BE_OK;
}

/* ---- ranks ---- */

static bool may_rank(const struct combination *where)
{
  return !be_is_plain(where) && where->design != BE_DESIGN_TWO_DIFFERENT;
}

/* Ranges as the standings have them; who may come first by chance is not asked here. *any: two
 * knots or more. */
static enum be_status rank(const struct survey *survey, const struct combination *where,
                           struct ranking *ranking, bool *any, struct be_err *err)
{
  struct survey own = *survey;
  struct grid block = {0};
  own.how.resamples = 0;
  enum be_status status = BE_OK;
  if (may_rank(where)) status = be_grid_make(&own, &where, 1, &block, err);
  *any = status == BE_OK && block.knots >= 2;
  return *any ? be_ranking_make(&own, &block, ranking, err) : status;
}

static const char *range_words(const struct survey *survey, const struct ranking *ranking,
                               const struct cell *cell)
{
  for (size_t k = 0; ranking && k < ranking->block.knots; k++) {
    const struct rank *is = &ranking->rank[k];
    if (be_grid_cell(&ranking->block, k, 0) != cell) continue;
    if (is->low == is->high) return be_arena_format(survey->arena, "%zu", is->low);
    return be_arena_format(survey->arena, "%zu to %zu", is->low, is->high);
  }
  return ranking ? "not ranked" : "-";
}

/* ---- the table ---- */

enum { COLUMNS = 48 };

struct columns {
  struct be_column list[COLUMNS];
  size_t count;
  struct be_arena *arena;
};

static void add(struct columns *columns, const char *key, const char *head,
                enum be_column_kind kind, bool program_only)
{
  columns->list[columns->count++] = (struct be_column){key, head, kind, program_only};
}

/* Key and head of a load in a unit: "mean_lb", "mean (lb)". */
static void add_load(struct columns *columns, const char *key, const char *head, const char *unit,
                     enum be_column_kind kind, bool program_only)
{
  const char *own_key = be_arena_format(columns->arena, "%s_%s", key, unit);
  const char *own_head = be_arena_format(columns->arena, "%s (%s)", head, unit);
  add(columns, own_key ? own_key : key, own_head ? own_head : head, kind, program_only);
}

/* The unit that people read intervals and ends in. */
static size_t shown_unit(const struct survey *survey)
{
  for (size_t u = 0; u < UNITS; u++)
    if (strcmp(units[u], survey->how.unit->name) == 0) return u;
  return UNITS - 1;
}

static void list_columns(const struct survey *survey, bool several, struct columns *columns)
{
  size_t shown = shown_unit(survey);
  *columns = (struct columns){.arena = survey->arena};
  add(columns, "combination", "combination", BE_COLUMN_TEXT, !several);
  add(columns, "knot", "knot", BE_COLUMN_TEXT, false);
  add(columns, "n", "n", BE_COLUMN_NUMBER, false);
  add(columns, "lower_bounds", "at least", BE_COLUMN_NUMBER, false);
  add(columns, "voids", "void", BE_COLUMN_NUMBER, true);
  for (size_t u = 0; u < UNITS; u++) {
    add_load(columns, "mean", "mean", units[u], BE_COLUMN_NUMBER, false);
    add_load(columns, "mean", "interval", units[u], BE_COLUMN_INTERVAL, u != shown);
  }
  add(columns, "line_class", "line class", BE_COLUMN_TEXT, false);
  for (size_t u = 0; u < UNITS; u++) add_load(columns, "sd", "s", units[u], BE_COLUMN_NUMBER, true);
  add(columns, "cv_percent", "CV (%)", BE_COLUMN_NUMBER, false);
  for (size_t u = 0; u < UNITS; u++)
    add_load(columns, "min", "worst", units[u], BE_COLUMN_NUMBER, u != shown);
  for (size_t u = 0; u < UNITS; u++) {
    add_load(columns, "one_in_ten_below", "one in ten below", units[u], BE_COLUMN_NUMBER,
             u != shown);
    add_load(columns, "one_in_ten_below", "interval", units[u], BE_COLUMN_INTERVAL, u != shown);
  }
  add(columns, "efficiency_percent", "efficiency (%)", BE_COLUMN_NUMBER, false);
  add(columns, "efficiency_percent", "interval", BE_COLUMN_INTERVAL, false);
  add(columns, "divided_by_words", "100 % is", BE_COLUMN_TEXT, !several);
  add(columns, "divided_by", "", BE_COLUMN_TEXT, true);
  for (size_t u = 0; u < UNITS; u++)
    add_load(columns, "plain_mean", "", units[u], BE_COLUMN_NUMBER, true);
  add(columns, "plain_n", "", BE_COLUMN_NUMBER, true);
  add(columns, "plain_match", "", BE_COLUMN_TEXT, true);
  add(columns, "slipped_out", "slipped out", BE_COLUMN_COUNT, false);
  add(columns, "let_go_words", "let go most often", BE_COLUMN_TEXT, false);
  add(columns, "let_go", "", BE_COLUMN_TEXT, true);
  add(columns, "let_go", "", BE_COLUMN_COUNT, true);
  add(columns, "rank_range", "rank range", BE_COLUMN_TEXT, false);
  add(columns, "level_percent", "", BE_COLUMN_NUMBER, true);
}

/* About three figures of a usual load of this survey, in a unit. */
static int decimals_in(const struct survey *survey, const struct be_unit *unit)
{
  double step = pow(10, -survey->decimals) * survey->how.unit->factor / unit->factor;
  int decimals = (int)ceil(-log10(step) - 0.35);
  return decimals < 0 ? 0 : decimals > 6 ? 6 : decimals;
}

static const struct be_unit *unit_at(size_t u)
{
  return be_unit_find_in(BE_FORCE, units[u], strlen(units[u]));
}

/* A load, in each of the units; more: decimals beside those of a single load. */
static void put_loads(struct be_table *table, const struct survey *survey, double load_N, int more)
{
  for (size_t u = 0; u < UNITS; u++)
    be_table_number(table, load_N / unit_at(u)->factor, decimals_in(survey, unit_at(u)) + more);
}

static void put_measures(struct be_table *table, const struct survey *survey,
                         const struct be_measure *load)
{
  for (size_t u = 0; u < UNITS; u++) {
    double factor = unit_at(u)->factor;
    int decimals = decimals_in(survey, unit_at(u)) + 1;
    be_table_number(table, load->value / factor, decimals);
    be_table_interval(table, load->interval.low / factor, load->interval.high / factor, decimals);
  }
}

static void put_plain(struct be_table *table, const struct survey *survey, const struct cell *cell)
{
  bool known = cell->plain.match != MATCH_NONE;
  if (known)
    be_table_text(table, "%s, %.*f %s, n = %zu", survey->line_names[cell->plain.line],
                  survey->decimals + 1, be_shown(survey, cell->plain.estimate.value),
                  survey->how.unit->name, cell->plain.estimate.n);
  else be_table_text(table, "%s", cell->n && cell->knot >= 0 ? "no plain line" : "-");
  be_table_text(table, "%s", known ? survey->line_names[cell->plain.line] : "");
  put_loads(table, survey, known ? cell->plain.estimate.value : NAN, 1);
  be_table_number(table, known ? (double)cell->plain.estimate.n : NAN, 0);
  be_table_text(table, "%s", known ? be_match_words(survey, cell) : "");
}

static void put_row(struct be_table *table, const struct survey *survey, const struct cell *cell,
                    const struct row *row)
{
  const struct be_measure mean = {cell->n ? cell->load.value : NAN,
                                  be_load_interval(&cell->load, survey->how.level)};
  struct be_interval kept = be_interval_percent(&cell->efficiency);
  int percent = be_percent_decimals(&cell->efficiency);
  be_table_text(table, "%s", survey->combinations[cell->combination].name);
  be_table_text(table, "%s", be_cell_name(survey, cell));
  be_table_link(table, "/cell?at=%zu", (size_t)(cell - survey->cells));
  be_table_number(table, (double)cell->n, 0);
  be_table_number(table, (double)cell->bounds, 0);
  be_table_number(table, (double)cell->voids, 0);
  put_measures(table, survey, &mean);
  be_table_text(table, "%s", row->line_class);
  put_loads(table, survey, cell->summary.sd, 2);
  be_table_number(table, 100 * cell->summary.sd / cell->summary.mean, 1);
  put_loads(table, survey, cell->summary.min, 1);
  put_measures(table, survey, &row->tenth);
  be_table_number(table, 100 * cell->efficiency.value, percent);
  be_table_interval(table, kept.low, kept.high, percent);
  put_plain(table, survey, cell);
  if (cell->told) be_table_count(table, cell->slips, cell->told);
  else be_table_none(table);
  if (row->let_go_n)
    be_table_text(table, "%s, %zu of %zu%s", row->let_go, row->let_go_k, row->let_go_n,
                  row->ties > 1 ? " each" : "");
  else be_table_text(table, "%s", row->let_go);
  be_table_text(table, "%s", row->let_go);
  if (row->let_go_n) be_table_count(table, row->let_go_k, row->let_go_n);
  else be_table_none(table);
  be_table_text(table, "%s", row->rank_range);
  be_table_number(table, 100 * survey->how.level, 4);
}

/* ---- rows in the order of their means ---- */

static int by_mean(const void *a_, const void *b_)
{
  const struct cell *a = *(const struct cell *const *)a_, *b = *(const struct cell *const *)b_;
  double first = a->n ? a->load.value : 0, second = b->n ? b->load.value : 0;
  if (first != second) return first > second ? -1 : 1;
  return a < b ? -1 : a > b;
}

static const struct cell **sorted(const struct survey *survey, const struct combination *where)
{
  const struct cell **cells = be_arena_alloc(survey->arena, where->cells_count * sizeof *cells);
  for (size_t i = 0; cells && i < where->cells_count; i++)
    cells[i] = &survey->cells[where->first_cell + i];
  if (cells) qsort(cells, where->cells_count, sizeof *cells, by_mean);
  return cells;
}

static enum be_status put_rows(struct be_table *table, const struct survey *survey,
                               const struct combination *where, struct be_err *err)
{
  struct ranking ranking;
  bool any = false;
  const struct cell **cells = sorted(survey, where);
  const char *a = class_words(survey, where->line_a), *b = class_words(survey, where->line_b);
  if (!cells || !a || !b) return be_no_memory(err);
  const char *line_class = be_arena_format(survey->arena, "%s%s%s", a, *b ? " to " : "", b);
  enum be_status status = rank(survey, where, &ranking, &any, err);
  for (size_t i = 0; i < where->cells_count && status == BE_OK; i++) {
    struct row row = {.line_class = line_class,
                      .rank_range = range_words(survey, any ? &ranking : NULL, cells[i])};
    find_let_go(survey, cells[i], &row);
    status = find_tenth(survey, cells[i], &row, err);
    if (status == BE_OK && !(row.rank_range && row.line_class && row.let_go))
      status = be_no_memory(err);
    if (status == BE_OK) put_row(table, survey, cells[i], &row);
  }
  return status;
}

enum be_status be_say_strengths(struct be_doc *doc, const struct survey *survey,
                                const struct combination *const *where, size_t count,
                                const char *title, struct be_err *err)
{
  struct columns columns;
  list_columns(survey, count != 1, &columns);
  struct be_table *table =
      be_doc_table(doc, "strengths_in_units", title, columns.list, columns.count);
  enum be_status status = BE_OK;
  for (size_t c = 0; c < count && status == BE_OK; c++)
    status = put_rows(table, survey, where[c], err);
  return status;
}
