/* SPDX-License-Identifier: GPL-3.0-or-later */
/* All figures of a book, kind after kind. */
#include "app/figures/gallery.h"
#include "app/ranking/places.h"

#include <math.h>

enum { FIGURES_MAX = 10000 };

/* In the order of the index; words: how its absence is told. */
static const struct showing {
  const char *name, *words;
  enum be_status (*show)(struct gallery *gallery, struct be_err *err);
  bool in_report; /* as a figure of its part of figures: the others are in other parts, or too many
                   */
} kinds[] = {
    {"pulls", "every pull", be_show_pulls, false},
    {"standings", "standings with rank ranges", be_show_standings, false},
    {"two-knots", "two knots over lines", be_show_pairs, true},
    {"bend-and-hitch", "bend and hitch of one knot", be_show_gains, true},
    {"label-strength", "efficiency against label strength", be_show_labels, true},
    {"diameter", "efficiency against diameter", be_show_diameters, true},
    {"turns", "the effect of turns", be_show_turns, true},
    {"let-go", "what let go", be_show_let_go, true},
    {"chances", "probability plots", be_show_chances, false},
    {"traces", "traces over one another", be_show_overlays, true},
    {"stretch", "load against extension", be_show_stretch, true},
    {"checks", "control charts of check weights", be_show_checks, false},
    {"grid", "the grid of knots by lines", be_show_grids, true},
    {"order", "plan and run order", be_show_orders, true},
};

void be_gallery_empty(struct gallery *gallery)
{
  for (size_t i = 0; i < gallery->count; i++) be_figure_free(gallery->list[i].figure);
  be_free(gallery->list);
  gallery->list = NULL;
  gallery->count = gallery->capacity = 0;
}

enum be_status be_gallery_add(struct gallery *gallery, const char *of, struct be_figure *figure,
                              struct be_err *err)
{
  enum be_status status = be_figure_status(figure);
  if (status == BE_NO_MEMORY) be_no_memory(err);
  else if (status != BE_OK) be_fail(err, status, "a figure has too many parts");
  void *list = gallery->list;
  if (status == BE_OK)
    status = be_grow(&list, &gallery->capacity, sizeof *gallery->list, gallery->count + 1,
                     FIGURES_MAX, err);
  gallery->list = list;
  if (status == BE_OK) gallery->list[gallery->count++] = (struct shown){gallery->kind, of, figure};
  else be_figure_free(figure);
  return status;
}

static enum be_status fill(struct gallery *gallery, bool for_report, struct be_err *err)
{
  enum { KINDS = sizeof kinds / sizeof kinds[0] };
  enum be_status status = BE_OK;
  for (size_t i = 0; i < KINDS && status == BE_OK; i++) {
    size_t before = gallery->count;
    if (for_report && !kinds[i].in_report) continue;
    gallery->kind = kinds[i].name;
    gallery->why = "the book has no data for it";
    be_progress_step("drawing", kinds[i].words, KINDS);
    be_progress_at(i);
    status = kinds[i].show(gallery, err);
    if (status == BE_OK && gallery->count == before && gallery->doc)
      be_doc_note(gallery->doc, "No figure of %s: %s.", kinds[i].words, gallery->why);
  }
  return status;
}

enum be_status be_gallery_fill(struct gallery *gallery, struct be_err *err)
{
  return fill(gallery, false, err);
}

enum be_status be_figures_doc(const struct survey *survey, struct be_doc **out, struct be_err *err)
{
  struct be_doc *doc = be_doc_create("figures", "Figures");
  struct gallery gallery = {.survey = survey, .doc = doc, .for_report = true};
  if (!doc) return be_no_memory(err);
  enum be_status status = BE_OK;
  if (survey->book_path) status = be_book_open(survey->book_path, false, &gallery.book, err);
  if (status == BE_OK) status = fill(&gallery, true, err);
  be_book_close(gallery.book);
  size_t place = be_doc_place(doc);
  be_doc_sentence(doc,
                  "Figures that no other part shows, each with its words and its numbers: %zu.",
                  gallery.count);
  be_doc_first(doc, place);
  for (size_t i = 0; i < gallery.count && status == BE_OK; i++) {
    be_doc_figure(doc, gallery.list[i].figure);
    gallery.list[i].figure = NULL;
  }
  be_doc_note(doc,
              "Traces over one another are shown of one knot of each combination, the one with the "
              "most of them; those of the others, and a picture of each figure, are written by "
              "publish --figures.");
  be_gallery_empty(&gallery);
  return be_answer_done(survey, doc, status, out, err);
}

/* ---- what answers draw as well ---- */

enum be_status be_show_pulls(struct gallery *gallery, struct be_err *err)
{
  const struct survey *survey = gallery->survey;
  enum be_status status = BE_OK;
  gallery->why = "the book has no pull with a load";
  for (size_t i = 0; i < survey->combinations_count && status == BE_OK; i++) {
    const struct combination *where = &survey->combinations[i];
    size_t loads = 0;
    for (size_t k = 0; k < where->cells_count; k++) {
      const struct cell *cell = &survey->cells[where->first_cell + k];
      loads += cell->n + cell->lower_count;
    }
    if (loads)
      status = be_gallery_add(gallery, where->name, be_figure_of_pulls(survey, where), err);
  }
  return status;
}

enum be_status be_show_standings(struct gallery *gallery, struct be_err *err)
{
  struct place *places;
  size_t count;
  enum be_status status = be_places(gallery->survey, &places, &count, err);
  gallery->why = "nowhere were two knots tied on the same lines";
  for (size_t i = 0; i < count && status == BE_OK; i++) {
    if (!be_place_ranked(&places[i])) continue;
    status = be_place_rank(gallery->survey, &places[i], err);
    if (status == BE_OK)
      status = be_gallery_add(
          gallery, places[i].name,
          be_figure_of_ranking(gallery->survey, places[i].ranking, places[i].name), err);
  }
  return status;
}

/* ---- shared ---- */

struct be_figure *be_with_twin(struct be_figure *figure, struct be_buf *words)
{
  enum be_status status = words->status;
  if (status == BE_OK) be_figure_twin(figure, "%s", words->data ? words->data : "");
  be_buf_free(words);
  if (status == BE_OK) return figure;
  be_figure_free(figure);
  return NULL;
}

void be_draw_efficiency(struct be_figure *figure, const struct survey *survey,
                        const struct cell *cell, double x, struct cell_look look)
{
  const struct be_interval *interval = &cell->efficiency.interval;
  const double at[2] = {x, x}, ends[2] = {100 * interval->low, 100 * interval->high};
  bool piece = cell->efficiency.shape == BE_RATIO_PIECE;
  be_figure_means(figure, NULL);
  if (piece) be_figure_line(figure, at, ends, 2, look.tone, BE_STROKE_SOLID);
  be_figure_means(figure, "mean");
  be_tell_cell(figure, survey, cell, true);
  be_figure_mark(figure, x, 100 * cell->efficiency.value, look.shape, BE_FILL_SOLID, look.tone);
  if (piece) be_figure_within(figure, false, &ends[0], &ends[1]);
}

const char *be_slope_words(const struct survey *survey, const struct be_estimate *slope,
                           const char *each)
{
  struct be_interval interval = be_estimate_interval(slope, survey->how.level);
  const char *words = NULL;
  if (isnan(slope->value) || isnan(interval.low))
    words = be_arena_format(survey->arena, "What %s goes with is not known yet", each);
  else if (interval.low > 0 || interval.high < 0)
    words = be_arena_format(survey->arena, "With %s efficiency %s by %.1f pts [%.1f, %.1f]", each,
                            slope->value > 0 ? "rises" : "falls", fabs(slope->value),
                            slope->value > 0 ? interval.low : -interval.high,
                            slope->value > 0 ? interval.high : -interval.low);
  else
    words = be_arena_format(survey->arena, "With %s efficiency may rise or fall: %s pts%s", each,
                            be_number_words(survey, slope->value, 1),
                            be_interval_words(survey, interval.low, interval.high, 1));
  return words ? words : "";
}
