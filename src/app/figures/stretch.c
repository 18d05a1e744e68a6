/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Load against extension, or against time where extension was not recorded: of each knot on the
 * same lines the one pull that stands in the middle of its loads. */
#include "app/figures/gallery.h"

#include <math.h>
#include <stdlib.h>

struct drawing {
  const struct survey *survey;
  struct be_figure *figure;
  struct be_buf words;
  bool extension; /* else time */
  size_t shown;
  double most; /* extension or time at the peak, the most of them */
  const char *most_of;
};

static int by_load(const void *a_, const void *b_)
{
  const struct be_pull *const *a = a_, *const *b = b_;
  if ((*a)->load_N != (*b)->load_N) return (*a)->load_N < (*b)->load_N ? -1 : 1;
  return (*a)->id < (*b)->id ? -1 : (*a)->id > (*b)->id;
}

/* Of the events with a trace the one in the middle, of two the lower; null: none. */
static enum be_status middle_of(const struct survey *survey, const struct cell *cell,
                                const struct be_pull **middle, struct be_err *err)
{
  size_t n = 0;
  const struct be_pull **pulls = be_arena_alloc(survey->arena, (cell->n + 1) * sizeof *pulls);
  if (!pulls) return be_no_memory(err);
  for (size_t i = 0; i < cell->n; i++)
    if (cell->events[i]->trace) pulls[n++] = cell->events[i];
  if (n) qsort(pulls, n, sizeof *pulls, by_load);
  *middle = n ? pulls[(n - 1) / 2] : NULL;
  return BE_OK;
}

static void draw_line(struct drawing *drawing, const struct cell *cell, const struct be_pull *pull,
                      const struct be_trace *trace, const struct be_trace_events *events)
{
  const struct survey *survey = drawing->survey;
  const double *values = drawing->extension ? trace->extension_m : trace->time_s;
  if (!values) return;
  double zero = isnan(events->zero_N) ? 0 : events->zero_N;
  double foot = drawing->extension ? events->foot_m : values[events->onset_row];
  double times = drawing->extension ? 1000 : 1;
  const struct trace_column across = {values, isnan(foot) ? values[events->onset_row] : foot,
                                      times};
  const struct trace_column up = {trace->force_N, zero, be_shown(survey, 1)};
  struct trace_line line;
  be_trace_line(trace, events->onset_row, events->peak_row, &across, &up, &line);
  if (line.n == 0) return;
  double reach = line.x[line.n - 1], peak = line.y[line.n - 1];
  struct cell_look look = be_look_of_cell(survey, cell);
  const char *name = be_cell_name(survey, cell);
  be_figure_means(drawing->figure, "trace");
  be_tell_cell(drawing->figure, survey, cell, false);
  be_figure_tell(drawing->figure, "specimen", pull->code);
  be_figure_line(drawing->figure, line.x, line.y, line.n, look.tone,
                 drawing->shown % 2 ? BE_STROKE_DASH : BE_STROKE_SOLID);
  be_figure_means(drawing->figure, "peak");
  be_figure_mark(drawing->figure, reach, peak, look.shape, BE_FILL_SOLID, look.tone);
  const char *label = be_arena_format(survey->arena, "%s, %s", name, pull->code);
  be_figure_label(drawing->figure, reach, peak, label ? label : name, look.tone);
  be_buf_format(&drawing->words, "%s%s (%s, 1 of %zu): %.*f %s at %.*f %s",
                drawing->shown ? "; " : "", name, pull->code, cell->n, survey->decimals, peak,
                survey->how.unit->name, drawing->extension ? 0 : 1, reach,
                drawing->extension ? "mm" : "s");
  if (reach > drawing->most) {
    drawing->most = reach;
    drawing->most_of = name;
  }
  drawing->shown++;
}

/* Whether the first trace of the cells has extension, or time; false: neither. */
static enum be_status look_at(struct gallery *gallery, const struct be_pull *pull, bool *extension,
                              bool *time, struct be_err *err)
{
  struct be_trace_file *file = NULL;
  struct be_trace_events events;
  enum be_status status = be_gallery_trace(gallery, pull, &file, &events, err);
  if (status == BE_OK && file) {
    *extension |= file->tests[0].extension_m != NULL;
    *time |= file->tests[0].time_s != NULL;
  }
  be_trace_file_free(file);
  return status;
}

static enum be_status draw_cells(struct gallery *gallery, struct drawing *drawing,
                                 const struct combination *where, const struct be_pull **pulls,
                                 struct be_err *err)
{
  const struct survey *survey = gallery->survey;
  enum be_status status = BE_OK;
  for (size_t i = 0; i < where->cells_count && status == BE_OK; i++) {
    struct be_trace_file *file = NULL;
    struct be_trace_events events;
    if (!pulls[i]) continue;
    size_t before = drawing->shown;
    status = be_gallery_trace(gallery, pulls[i], &file, &events, err);
    if (status == BE_OK && file)
      draw_line(drawing, &survey->cells[where->first_cell + i], pulls[i], &file->tests[0], &events);
    be_trace_file_free(file);
    if (drawing->shown == before) pulls[i] = NULL;
  }
  return status;
}

/* Knots whose loads are in the book, but no trace of them that could be drawn. */
static void say_missing(struct drawing *drawing, const struct combination *where,
                        const struct be_pull *const *pulls)
{
  size_t missing = 0;
  for (size_t i = 0; i < where->cells_count; i++) {
    const struct cell *cell = &drawing->survey->cells[where->first_cell + i];
    if (pulls[i] || cell->n == 0) continue;
    be_buf_format(&drawing->words, "%s%s", missing++ ? "; " : " Not shown, for want of a trace: ",
                  be_cell_name(drawing->survey, cell));
  }
  if (missing) be_buf_char(&drawing->words, '.');
}

static enum be_status finish(struct gallery *gallery, struct drawing *drawing,
                             const struct combination *where, const struct be_pull *const *pulls,
                             struct be_err *err)
{
  const struct survey *survey = gallery->survey;
  const char *unit = drawing->extension ? "mm" : "s";
  const char *title =
      drawing->shown == 1
          ? be_arena_format(survey->arena, "The %s held until %.*f %s, one pull", drawing->most_of,
                            drawing->extension ? 0 : 1, drawing->most, unit)
      : drawing->extension
          ? be_arena_format(survey->arena, "The furthest stretched %.0f mm; one pull of each knot",
                            drawing->most)
          : be_arena_format(survey->arena, "The longest held %.1f s; one pull of each knot",
                            drawing->most);
  if (!title) return be_no_memory(err);
  be_figure_retitle(drawing->figure, title);
  be_buf_char(&drawing->words, '.');
  say_missing(drawing, where, pulls);
  struct be_figure *figure = be_with_twin(drawing->figure, &drawing->words);
  drawing->figure = NULL;
  return be_gallery_add(gallery, where->name, figure, err);
}

static enum be_status show_combination(struct gallery *gallery, const struct combination *where,
                                       struct be_err *err)
{
  const struct survey *survey = gallery->survey;
  const struct be_pull **pulls =
      be_arena_alloc(survey->arena, (where->cells_count + 1) * sizeof *pulls);
  enum be_status status = pulls ? BE_OK : be_no_memory(err);
  bool extension = false, time = false;
  for (size_t i = 0; i < where->cells_count && status == BE_OK; i++) {
    status = middle_of(survey, &survey->cells[where->first_cell + i], &pulls[i], err);
    if (status == BE_OK && pulls[i] && !extension)
      status = look_at(gallery, pulls[i], &extension, &time, err);
  }
  if (status != BE_OK || (!extension && !time)) return status;
  const char *subtitle =
      be_arena_format(survey->arena, "%s: of each knot the pull in the middle of its loads, %s",
                      where->name, extension ? "toe taken off" : "as extension was not recorded");
  struct drawing drawing = {.survey = survey, .extension = extension, .most = -INFINITY};
  be_buf_init(&drawing.words, 1 << 20);
  drawing.figure = subtitle ? be_figure_create("", subtitle, FIGURE_WIDTH, FIGURE_HEIGHT) : NULL;
  be_figure_x(drawing.figure, extension ? "extension (mm)" : "time from the first load (s)", 0, 0,
              false);
  be_figure_y(drawing.figure, be_head(survey, "load"), 0, 0);
  status = drawing.figure ? draw_cells(gallery, &drawing, where, pulls, err) : be_no_memory(err);
  if (status == BE_OK && drawing.shown) status = finish(gallery, &drawing, where, pulls, err);
  be_buf_free(&drawing.words);
  be_figure_free(drawing.figure);
  return status;
}

enum be_status be_show_stretch(struct gallery *gallery, struct be_err *err)
{
  const struct survey *survey = gallery->survey;
  enum be_status status = BE_OK;
  gallery->why = "the book has no trace with extension or time";
  for (size_t i = 0; i < survey->combinations_count && gallery->book && status == BE_OK; i++)
    status = show_combination(gallery, &survey->combinations[i], err);
  return status;
}
