/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The order planned and the order pulled. While a trial has specimens left, rows are blocks, so
 * that the figure tells nobody what a specimen is; when all are pulled they are knots on lines. */
#include "app/figures/gallery.h"
#include "app/plan/plan.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct run {
  const struct survey *survey;
  const struct be_trial *trial;
  struct plan_grid grid;
  size_t *of;    /* cell of each planned specimen */
  size_t *place; /* of each planned specimen that was pulled: its turn, from 1 */
  double *row;   /* of each cell; not-a-number: not drawn yet */
  size_t pulled, moved;
};

struct turn {
  const struct be_pull *pull;
  size_t planned;
};

/* As departures are judged: within a session by the order told, else as entered. */
static int by_turn(const void *a_, const void *b_)
{
  const struct be_pull *a = ((const struct turn *)a_)->pull, *b = ((const struct turn *)b_)->pull;
  bool together = a->session && b->session && strcmp(a->session, b->session) == 0;
  if (together && a->order < b->order) return -1;
  if (together && a->order > b->order) return 1;
  return a < b ? -1 : a > b;
}

static enum be_status find_turns(struct run *run, struct be_err *err)
{
  const struct survey *survey = run->survey;
  size_t all = run->trial->planned_count, rank = 0;
  struct turn *turns = be_arena_alloc(survey->arena, (all + 1) * sizeof *turns);
  if (!turns) return be_no_memory(err);
  for (size_t i = 0; i < all; i++) {
    int pull = run->trial->planned[i].pull;
    if (pull >= 0) turns[run->pulled++] = (struct turn){&survey->record.pulls[pull], i};
  }
  if (run->pulled) qsort(turns, run->pulled, sizeof *turns, by_turn);
  for (size_t i = 0; i < run->pulled; i++) run->place[turns[i].planned] = i + 1;
  for (size_t i = 0; i < all; i++)
    if (run->trial->planned[i].pull >= 0) run->moved += run->place[i] != ++rank;
  return BE_OK;
}

static bool is_over(const struct run *run)
{
  return run->pulled == run->trial->planned_count;
}

static double row_of(struct be_figure *figure, struct run *run, size_t i)
{
  const struct survey *survey = run->survey;
  const struct be_planned *planned = &run->trial->planned[i];
  bool new_block = i == 0 || planned->block != run->trial->planned[i - 1].block;
  char name[200];
  if (!is_over(run)) {
    snprintf(name, sizeof name, "block %g", planned->block);
    if (new_block) run->row[0] = be_figure_row(figure, name, "");
    return run->row[0];
  }
  size_t of = run->of[i];
  if (isnan(run->row[of])) {
    const struct plan_cell *cell = &run->grid.cells[of];
    snprintf(name, sizeof name, "%s, %s", be_plan_knot(survey, cell), be_plan_where(survey, cell));
    char note[40];
    snprintf(note, sizeof note, "n = %zu", cell->n);
    run->row[of] = be_figure_row(figure, name, note);
  }
  return run->row[of];
}

/* The row is named by both. */
static void tell_cell(struct be_figure *figure, const struct run *run, size_t i)
{
  const struct plan_cell *cell = &run->grid.cells[run->of[i]];
  be_figure_tell(figure, "knot", be_plan_knot(run->survey, cell));
  be_figure_tell(figure, "combination", be_plan_where(run->survey, cell));
}

static void draw_specimen(struct be_figure *figure, struct run *run, size_t i, double rank)
{
  static const enum be_fill fills[] = {[BE_KIND_UNKNOWN] = BE_FILL_SOLID,
                                       [BE_KIND_EVENT] = BE_FILL_SOLID,
                                       [BE_KIND_BOUND] = BE_FILL_OPEN,
                                       [BE_KIND_VOID] = BE_FILL_CROSS};
  const struct be_planned *planned = &run->trial->planned[i];
  double y = row_of(figure, run, i);
  be_figure_means(figure, "planned");
  be_figure_tell(figure, "specimen", planned->code);
  be_figure_tell_number(figure, "block", planned->block);
  be_figure_tell_number(figure, "place", rank);
  be_figure_tell(figure, "result", NULL);
  if (is_over(run)) tell_cell(figure, run, i);
  be_figure_box(figure, rank - 0.4, y - 0.36, rank + 0.4, y + 0.36, BE_PATTERN_NONE,
                BE_TONE_HAIRLINE, NULL);
  if (planned->pull < 0) return;
  const struct be_pull *pull = &run->survey->record.pulls[planned->pull];
  be_figure_means(figure, "pulled");
  be_figure_tell_number(figure, "place", (double)run->place[i]);
  be_figure_tell(figure, "result", be_kind_word(pull->kind));
  be_figure_mark(figure, (double)run->place[i], y, BE_SHAPE_ROUND, fills[pull->kind],
                 BE_TONE_NYLON);
}

static void say_blocks(struct be_buf *words, const struct run *run)
{
  const struct be_trial *trial = run->trial;
  size_t kinds[BE_KIND_VOID + 1] = {0};
  for (size_t i = 0, past; i < trial->planned_count; i = past) {
    size_t pulled = 0;
    for (past = i; past < trial->planned_count; past++) {
      const struct be_planned *planned = &trial->planned[past];
      if (planned->block != trial->planned[i].block) break;
      if (planned->pull < 0) continue;
      pulled++;
      kinds[run->survey->record.pulls[planned->pull].kind]++;
    }
    be_buf_format(words, "%s %g, places %zu to %zu: %zu of %zu pulled", i ? "; block" : "Block",
                  trial->planned[i].block, i + 1, past, pulled, past - i);
  }
  be_buf_format(words, ". Of those pulled %zu gave an event, %zu a lower bound, %zu %s void.",
                kinds[BE_KIND_EVENT], kinds[BE_KIND_BOUND], kinds[BE_KIND_VOID],
                kinds[BE_KIND_VOID] == 1 ? "is" : "are");
}

/* Places are counted among those pulled. */
static void say_moved(struct be_buf *words, const struct run *run)
{
  size_t rank = 0, said = 0;
  for (size_t i = 0; i < run->trial->planned_count; i++) {
    if (run->trial->planned[i].pull < 0 || run->place[i] == ++rank) continue;
    be_buf_format(words, "%s %s as number %zu instead of %zu",
                  said++ ? "," : " At another place than planned:", run->trial->planned[i].code,
                  run->place[i], rank);
  }
  be_buf_text(words, said ? "." : " None was pulled at another place than planned.");
}

static struct be_figure *draw(struct run *run)
{
  const struct survey *survey = run->survey;
  const struct be_trial *trial = run->trial;
  const char *title = run->moved == 0 ? be_arena_format(survey->arena,
                                                        "All %zu so far were pulled in the order "
                                                        "planned",
                                                        run->pulled)
                                      : be_arena_format(survey->arena,
                                                        "%zu of %zu were pulled at another place "
                                                        "than planned",
                                                        run->moved, run->pulled);
  const char *subtitle = be_arena_format(
      survey->arena, "trial %s: %zu of %zu specimens pulled; seed %s", trial->name, run->pulled,
      trial->planned_count, trial->rule[BE_RULE_SEED] ? trial->rule[BE_RULE_SEED] : "not recorded");
  if (!title || !subtitle) return NULL;
  struct be_figure *figure = be_figure_create(title, subtitle, FIGURE_WIDTH, 0);
  be_figure_x(figure, "order of pulling", 0.5, (double)trial->planned_count + 0.5, true);
  be_figure_columns(figure, is_over(run) ? "knot" : "block", "place", NULL);
  be_figure_key_box(figure, BE_PATTERN_NONE, BE_TONE_HAIRLINE, "planned");
  be_figure_key_mark(figure, BE_SHAPE_ROUND, BE_FILL_SOLID, BE_TONE_NYLON, "pulled");
  for (size_t i = 0; i < trial->planned_count; i++) {
    draw_specimen(figure, run, i, (double)i + 1);
    if (i == 0 || trial->planned[i].block == trial->planned[i - 1].block) continue;
    char name[40];
    snprintf(name, sizeof name, "block %g", trial->planned[i].block);
    be_figure_tell_nothing(figure);
    if (is_over(run)) be_figure_rule_x(figure, (double)i + 0.5, name);
  }
  struct be_buf words;
  be_buf_init(&words, 1 << 20);
  say_blocks(&words, run);
  say_moved(&words, run);
  return be_with_twin(figure, &words);
}

enum be_status be_show_orders(struct gallery *gallery, struct be_err *err)
{
  const struct survey *survey = gallery->survey;
  enum be_status status = BE_OK;
  gallery->why = "the book has no trial with a plan";
  for (size_t t = 0; t < survey->record.trials_count && status == BE_OK; t++) {
    const struct be_trial *trial = &survey->record.trials[t];
    size_t all = trial->planned_count;
    if (all == 0) continue;
    struct run run = {.survey = survey,
                      .trial = trial,
                      .of = be_arena_alloc(survey->arena, all * sizeof *run.of),
                      .place = be_arena_alloc(survey->arena, all * sizeof *run.place),
                      .row = be_arena_alloc(survey->arena, (all + 1) * sizeof *run.row)};
    if (!run.of || !run.place || !run.row) return be_no_memory(err);
    for (size_t i = 0; i <= all; i++) run.row[i] = NAN;
    status = be_grid_of_trial(survey, trial, &run.grid, run.of, err);
    if (status == BE_OK) status = find_turns(&run, err);
    if (status == BE_OK) status = be_gallery_add(gallery, trial->name, draw(&run), err);
  }
  return status;
}
