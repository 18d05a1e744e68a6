/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From the record to cells: one pass sorts the pulls into combinations and
 * knots, a second one works out the figures of each cell. */
#include "app/survey/survey.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum be_status be_no_memory(struct be_err *err)
{
  return be_fail(err, BE_NO_MEMORY, "no memory to work out the answer");
}

bool be_is_plain(const struct combination *combination)
{
  return combination->design == BE_DESIGN_PLAIN;
}

const char *be_knot_name(const struct survey *survey, int knot)
{
  return knot < 0 ? "plain line" : survey->record.knots[knot].full;
}

const char *be_cell_name(const struct survey *survey, const struct cell *cell)
{
  const char *name = be_knot_name(survey, cell->knot);
  if (cell->knot_b < 0) return name;
  const char *both =
      be_arena_format(survey->arena, "%s against %s", name, be_knot_name(survey, cell->knot_b));
  return both ? both : name;
}

struct be_interval be_load_interval(const struct be_estimate *load, double level)
{
  struct be_interval interval = be_estimate_interval(load, level);
  if (interval.low < 0) interval.low = 0;
  return interval;
}

double be_shown(const struct survey *survey, double force_N)
{
  return force_N / survey->how.unit->factor;
}

/* About three figures of a usual load; of a lower bound while there is no event. */
static int find_decimals(const struct survey *survey)
{
  double sum = 0, held = 0;
  size_t count = 0, bounds = 0;
  for (size_t i = 0; i < survey->cells_count; i++) {
    const struct cell *cell = &survey->cells[i];
    if (cell->n) sum += cell->load.value, count++;
    else if (cell->lower_count) held += cell->lower[0]->load_N, bounds++;
  }
  if (!count) {
    sum = held;
    count = bounds;
  }
  int decimals = be_quantity_decimals(count ? sum / (double)count : 0, survey->how.unit);
  return decimals > 0 ? decimals - 1 : 0;
}

const char *be_head(const struct survey *survey, const char *word)
{
  const char *text = be_arena_format(survey->arena, "%s (%s)", word, survey->how.unit->name);
  return text ? text : word;
}

const char *be_number_words(const struct survey *survey, double value, int decimals)
{
  const char *words = be_arena_format(survey->arena, "%.*f", decimals, value);
  if (!words) return "";
  bool zero = words[0] == '-' && strspn(words + 1, "0.") == strlen(words + 1);
  return zero ? words + 1 : words;
}

const char *be_plural(size_t count)
{
  return count == 1 ? "" : "s";
}

const char *be_interval_words(const struct survey *survey, double low, double high, int decimals)
{
  if (isnan(low) || isnan(high)) return "";
  const char *words =
      be_arena_format(survey->arena, " [%s, %s]", be_number_words(survey, low, decimals),
                      be_number_words(survey, high, decimals));
  return words ? words : "";
}

int be_percent_decimals(const struct be_ratio *ratio)
{
  bool narrow =
      ratio->shape == BE_RATIO_PIECE && 100 * (ratio->interval.high - ratio->interval.low) < 2;
  return narrow ? 1 : 0;
}

/* ---- combinations ---- */

static enum be_status name_lines(struct survey *survey, struct be_err *err)
{
  const struct be_record *record = &survey->record;
  survey->name_of_line = be_arena_alloc(survey->arena, record->lines_count * sizeof(int));
  survey->line_names = be_arena_alloc(survey->arena, record->lines_count * sizeof(char *));
  if (!survey->name_of_line || !survey->line_names) return be_no_memory(err);
  for (size_t i = 0; i < record->lines_count; i++) {
    size_t k = 0;
    while (k < survey->line_names_count &&
           !be_text_same(survey->line_names[k], record->lines[i].name))
      k++;
    if (k == survey->line_names_count)
      survey->line_names[survey->line_names_count++] = record->lines[i].name;
    survey->name_of_line[i] = (int)k;
  }
  return BE_OK;
}

static bool same_text(const char *a, const char *b)
{
  return a == b || (a && b && be_text_same(a, b));
}

static const char *material_of(const struct survey *survey, int line_row)
{
  if (line_row < 0) return NULL;
  const char *material = survey->record.lines[line_row].material;
  return material ? material : "material not recorded";
}

static void name_combination(struct survey *survey, struct combination *where,
                             const struct be_pull *pull)
{
  struct be_arena *arena = survey->arena;
  const char *a = survey->line_names[where->line_a];
  const char *b = where->line_b < 0 ? where->hardware : survey->line_names[where->line_b];
  bool both = where->line_b >= 0 && where->hardware && !be_text_same(where->hardware, "none");
  const char *soak =
      where->soak == BE_SOAK_UNKNOWN ? "soak not recorded" : be_soak_word(where->soak);
  bool odd = where->design != BE_DESIGN_SINGLE && where->design != BE_DESIGN_UNKNOWN &&
             !be_is_plain(where);
  where->name = be_arena_format(arena, "%s%s%s%s%s, %s%s%s", a, b ? " to " : "", b ? b : "",
                                both ? " by " : "", both ? where->hardware : "", soak,
                                odd ? ", " : "", odd ? be_design_word(where->design) : "");
  const char *to = where->line_b < 0 ? where->hardware : material_of(survey, pull->line_b);
  where->group = be_arena_format(arena, "%s%s%s, %s%s%s", material_of(survey, pull->line_a),
                                 to ? " to " : "", to ? to : "", soak, odd ? ", " : "",
                                 odd ? be_design_word(where->design) : "");
}

static struct combination key_of(const struct survey *survey, const struct be_pull *pull)
{
  /* A design that was not recorded is taken for a single knot, and said. */
  enum be_design design = pull->design == BE_DESIGN_UNKNOWN ? BE_DESIGN_SINGLE : pull->design;
  const char *hardware =
      pull->hardware && be_text_same(pull->hardware, "none") ? NULL : pull->hardware;
  return (struct combination){.line_a = survey->name_of_line[pull->line_a],
                              .line_b = pull->line_b < 0 ? -1 : survey->name_of_line[pull->line_b],
                              .hardware = hardware,
                              .soak = pull->soak,
                              .design = design};
}

static bool same_combination(const struct combination *a, const struct combination *b)
{
  return a->line_a == b->line_a && a->line_b == b->line_b && a->soak == b->soak &&
         a->design == b->design && same_text(a->hardware, b->hardware);
}

struct placed {
  const struct be_pull *pull;
  int knot_b; /* -1 for none, and for the same knot twice */
  size_t combination, order;
};

/* Two alike knots on a specimen are one knot, twice. */
static int knot_b_of(const struct be_pull *pull)
{
  return pull->knot_b == pull->knot ? -1 : pull->knot_b;
}

static enum be_status place_pulls(struct survey *survey, struct placed *placed, struct be_err *err)
{
  enum { PLACES_MAX = 100000 };
  size_t capacity = 0, last = 0;
  void *block = NULL;
  enum be_status status = BE_OK;
  struct combination *list = NULL;
  size_t count = 0;
  for (size_t i = 0; i < survey->record.pulls_count && status == BE_OK; i++) {
    const struct be_pull *pull = &survey->record.pulls[i];
    struct combination key = key_of(survey, pull);
    size_t k = last;
    if (count == 0 || !same_combination(&list[k], &key))
      for (k = 0; k < count && !same_combination(&list[k], &key);) k++;
    if (k == count) {
      status = be_grow(&block, &capacity, sizeof *list, count + 1, PLACES_MAX, err);
      list = block;
      if (status != BE_OK) break;
      name_combination(survey, &key, pull);
      if (!key.name || !key.group) status = be_no_memory(err);
      list[count++] = key;
    }
    last = k;
    placed[i] = (struct placed){pull, knot_b_of(pull), k, i};
  }
  if (status == BE_OK) {
    survey->combinations = be_arena_alloc(survey->arena, count * sizeof *list);
    if (!survey->combinations) status = be_no_memory(err);
    else if (count) memcpy(survey->combinations, list, count * sizeof *list);
    survey->combinations_count = count;
  }
  be_free(block);
  return status;
}

/* Combinations in the order people look for them: by group, then by the label
 * of the first line, then by name. */
struct sortable {
  struct combination where;
  double label_N;
  size_t was;
};

static int by_group(const void *a_, const void *b_)
{
  const struct sortable *a = a_, *b = b_;
  int order = strcmp(a->where.group, b->where.group);
  if (order == 0 && a->label_N != b->label_N) order = a->label_N < b->label_N ? -1 : 1;
  if (order == 0) order = strcmp(a->where.name, b->where.name);
  return order ? order : a->was < b->was ? -1 : 1;
}

static double label_of_name(const struct survey *survey, int name)
{
  for (size_t i = 0; i < survey->record.lines_count; i++)
    if (survey->name_of_line[i] == name && !isnan(survey->record.lines[i].label_N))
      return survey->record.lines[i].label_N;
  return 0;
}

static enum be_status sort_combinations(struct survey *survey, struct placed *placed,
                                        struct be_err *err)
{
  size_t count = survey->combinations_count;
  struct sortable *list = be_arena_alloc(survey->arena, count * sizeof *list);
  size_t *now = be_arena_alloc(survey->arena, count * sizeof *now);
  if (!list || !now) return be_no_memory(err);
  for (size_t i = 0; i < count; i++)
    list[i] = (struct sortable){survey->combinations[i],
                                label_of_name(survey, survey->combinations[i].line_a), i};
  qsort(list, count, sizeof *list, by_group);
  for (size_t i = 0; i < count; i++) {
    survey->combinations[i] = list[i].where;
    now[list[i].was] = i;
  }
  for (size_t i = 0; i < survey->record.pulls_count; i++)
    placed[i].combination = now[placed[i].combination];
  return BE_OK;
}

static int by_cell(const void *a_, const void *b_)
{
  const struct placed *a = a_, *b = b_;
  if (a->combination != b->combination) return a->combination < b->combination ? -1 : 1;
  if (a->pull->knot != b->pull->knot) return a->pull->knot < b->pull->knot ? -1 : 1;
  if (a->knot_b != b->knot_b) return a->knot_b < b->knot_b ? -1 : 1;
  return a->order < b->order ? -1 : 1;
}

/* ---- cells ---- */

static void sort_into_cell(struct cell *cell, const struct be_pull *pull)
{
  cell->pulls[cell->count++] = pull;
  if (pull->kind == BE_KIND_VOID) cell->voids++;
  else if (pull->kind == BE_KIND_BOUND) {
    cell->bounds++;
    if (pull->load_N > 0) cell->lower[cell->lower_count++] = pull;
    if (!cell->highest || pull->load_N > cell->highest->load_N) cell->highest = pull;
  } else {
    cell->events[cell->n] = pull;
    cell->loads[cell->n++] = pull->load_N;
    cell->told += pull->what != BE_WHAT_UNKNOWN;
    cell->slips += pull->what == BE_WHAT_SLIPPED_OUT;
    cell->slipped_broke += pull->what == BE_WHAT_SLIPPED_BROKE;
  }
}

static bool same_cell(const struct placed *a, const struct placed *b)
{
  return a->combination == b->combination && a->pull->knot == b->pull->knot &&
         a->knot_b == b->knot_b;
}

static enum be_status make_cells(struct survey *survey, const struct placed *placed,
                                 struct be_err *err)
{
  size_t pulls = survey->record.pulls_count, cells = 0;
  for (size_t i = 0; i < pulls; i++) cells += i == 0 || !same_cell(&placed[i], &placed[i - 1]);
  survey->cells = be_arena_alloc(survey->arena, cells * sizeof *survey->cells);
  const struct be_pull **all = be_arena_alloc(survey->arena, pulls * sizeof *all);
  const struct be_pull **events = be_arena_alloc(survey->arena, pulls * sizeof *events);
  const struct be_pull **lower = be_arena_alloc(survey->arena, pulls * sizeof *lower);
  double *loads = be_arena_alloc(survey->arena, pulls * sizeof *loads);
  if (!survey->cells || !all || !events || !lower || !loads) return be_no_memory(err);
  for (size_t i = 0; i < pulls; i++) {
    bool new_combination = i == 0 || placed[i].combination != placed[i - 1].combination;
    if (new_combination || !same_cell(&placed[i], &placed[i - 1])) {
      struct combination *where = &survey->combinations[placed[i].combination];
      if (new_combination) where->first_cell = survey->cells_count;
      where->cells_count++;
      survey->cells[survey->cells_count++] = (struct cell){.combination = placed[i].combination,
                                                           .knot = placed[i].pull->knot,
                                                           .knot_b = placed[i].knot_b,
                                                           .pulls = all + i,
                                                           .events = events + i,
                                                           .lower = lower + i,
                                                           .loads = loads + i};
    }
    sort_into_cell(&survey->cells[survey->cells_count - 1], placed[i].pull);
  }
  return BE_OK;
}

static enum be_status gather_plain(struct survey *survey, struct be_err *err)
{
  for (int pass = 0; pass < 2; pass++) {
    survey->plain_count = survey->plain_bounds_count = 0;
    for (size_t i = 0; i < survey->record.pulls_count; i++) {
      const struct be_pull *pull = &survey->record.pulls[i];
      if (pull->design != BE_DESIGN_PLAIN || pull->kind == BE_KIND_VOID) continue;
      bool event = pull->kind == BE_KIND_EVENT;
      size_t at = event ? survey->plain_count++ : survey->plain_bounds_count++;
      if (pass == 1 && event) survey->plain[at] = pull;
      if (pass == 1 && !event) survey->plain_bounds[at] = pull;
    }
    if (pass == 1) break;
    survey->plain = be_arena_alloc(survey->arena, survey->plain_count * sizeof *survey->plain);
    survey->plain_bounds =
        be_arena_alloc(survey->arena, survey->plain_bounds_count * sizeof *survey->plain_bounds);
    if (!survey->plain || !survey->plain_bounds) return be_no_memory(err);
  }
  return BE_OK;
}

/* ---- the whole ---- */

static void fill_in(struct survey *survey)
{
  if (!survey->how.unit)
    survey->how.unit = be_unit_find_in(BE_FORCE, survey->record.unit, strlen(survey->record.unit));
  if (survey->how.level == 0) survey->how.level = 0.95;
  survey->margin_asked = survey->how.within != 0;
  if (!survey->margin_asked) survey->how.within = 0.05;
  if (survey->how.power == 0) survey->how.power = 0.8;
  if (survey->how.seed == 0) survey->how.seed = 1;
  if (survey->how.resamples == 0) survey->how.resamples = 2000;
}

enum be_status be_survey_of(const struct be_record *record, const struct be_answering *how,
                            struct be_arena *arena, struct survey *survey, struct be_err *err)
{
  *survey = (struct survey){.arena = arena, .record = *record, .how = *how};
  fill_in(survey);
  be_progress_step("sorting the pulls", NULL, 0);
  struct placed *placed = be_arena_alloc(arena, record->pulls_count * sizeof *placed);
  if (!placed) return be_no_memory(err);
  enum be_status status = name_lines(survey, err);
  if (status == BE_OK) status = place_pulls(survey, placed, err);
  if (status == BE_OK) status = sort_combinations(survey, placed, err);
  if (status != BE_OK) return status;
  qsort(placed, record->pulls_count, sizeof *placed, by_cell);
  status = make_cells(survey, placed, err);
  if (status == BE_OK) status = gather_plain(survey, err);
  if (status == BE_OK) status = be_cells_work_out(survey, err);
  survey->decimals = find_decimals(survey);
  return status;
}

enum be_status be_survey_until(const char *book_path, int64_t entering,
                               const struct be_answering *how, struct be_arena *arena,
                               struct survey *survey, struct be_err *err)
{
  memset(survey, 0, sizeof *survey);
  struct be_book *book = NULL;
  struct be_record record;
  const char *path = be_arena_text(arena, book_path, strlen(book_path));
  if (!path) return be_no_memory(err);
  enum be_status status = be_book_open(path, false, &book, err);
  if (status == BE_OK) status = be_book_read_until(book, entering, arena, &record, err);
  be_book_close(book);
  if (status == BE_OK) status = be_survey_of(&record, how, arena, survey, err);
  survey->book_path = survey->own_path = path;
  return status;
}

enum be_status be_survey_read(const char *book_path, const struct be_answering *how,
                              struct be_arena *arena, struct survey *survey, struct be_err *err)
{
  return be_survey_until(book_path, INT64_MAX, how, arena, survey, err);
}
