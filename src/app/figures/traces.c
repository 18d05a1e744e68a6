/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Traces of one knot on the same lines over one another, their peaks at one moment, with slips and
 * breaks marked. */
#include "app/figures/gallery.h"

#include <math.h>
#include <string.h>

enum { TRACES_SHOWN = 12 };
static const double after = 0.12; /* of the time before the peak: so much is shown behind it */

enum be_status be_gallery_trace(const struct gallery *gallery, const struct be_pull *pull,
                                struct be_trace_file **file, struct be_trace_events *events,
                                struct be_err *err)
{
  enum be_status status = be_book_trace(gallery->book, pull->trace, file, err);
  if (status != BE_OK) return status;
  if ((*file)->count && (*file)->tests[0].n > 1)
    return be_trace_find(&(*file)->tests[0], events, err);
  be_trace_file_free(*file);
  *file = NULL;
  return BE_OK;
}

static void add_point(struct trace_line *line, const struct trace_column *across,
                      const struct trace_column *up, size_t row)
{
  double x = (across->values[row] - across->less) * across->times;
  double y = (up->values[row] - up->less) * up->times;
  if (!isfinite(x) || !isfinite(y) || line->n == TRACE_POINTS) return;
  line->x[line->n] = x;
  line->y[line->n++] = y;
}

void be_trace_line(const struct be_trace *trace, size_t first, size_t last,
                   const struct trace_column *across, const struct trace_column *up,
                   struct trace_line *line)
{
  line->n = 0;
  if (last >= trace->n) last = trace->n - 1;
  if (first > last) return;
  size_t rows = last - first + 1, bucket = (rows + TRACE_POINTS / 2 - 1) / (TRACE_POINTS / 2);
  if (bucket < 2) bucket = 1;
  for (size_t from = first; from <= last; from += bucket) {
    size_t past = from + bucket > last ? last + 1 : from + bucket, low = from, high = from;
    for (size_t i = from; i < past; i++) {
      low = up->values[i] < up->values[low] ? i : low;
      high = up->values[i] > up->values[high] ? i : high;
    }
    add_point(line, across, up, low < high ? low : high);
    if (low != high) add_point(line, across, up, low < high ? high : low);
  }
}

/* ---- one figure ---- */

struct overlay {
  const struct survey *survey;
  const struct cell *cell;
  struct be_figure *figure;
  struct be_buf words;
  size_t shown, slipped, passed; /* passed: traces without time, or beyond those shown */
  size_t typed;                  /* loads on the sheet that are not the peak of the trace */
  double lowest, highest;        /* peaks, as shown */
};

static bool is_slip(const struct be_trace_events *events, size_t i)
{
  return events->slips[i].from_row != events->peak_row;
}

static void draw_slips(struct overlay *overlay, const struct be_trace *trace,
                       const struct be_trace_events *events, double zero)
{
  const struct survey *survey = overlay->survey;
  double peak_s = trace->time_s[events->peak_row];
  for (size_t i = 0; i < events->slips_count + events->slips_after; i++) {
    if (!is_slip(events, i)) continue;
    size_t row = events->slips[i].from_row;
    be_figure_means(overlay->figure, "slip");
    be_figure_mark(overlay->figure, trace->time_s[row] - peak_s,
                   be_shown(survey, trace->force_N[row] - zero), BE_SHAPE_TRIANGLE, BE_FILL_SOLID,
                   BE_TONE_STOP);
  }
}

static void draw_end(struct overlay *overlay, const struct be_trace *trace,
                     const struct be_trace_events *events, double zero)
{
  bool broke = events->ending == BE_ENDED_BROKE || events->ending == BE_ENDED_PARTLY;
  size_t row = events->end_row > 0 && events->end_row < trace->n ? events->end_row - 1 : trace->n;
  if (!broke || row == trace->n) return;
  be_figure_means(overlay->figure, "broke");
  be_figure_mark(overlay->figure, trace->time_s[row] - trace->time_s[events->peak_row],
                 be_shown(overlay->survey, trace->force_N[row] - zero), BE_SHAPE_SQUARE,
                 BE_FILL_SOLID, BE_TONE_INK);
}

static size_t row_at(const struct be_trace *trace, double time_s)
{
  size_t row = 0;
  while (row + 1 < trace->n && !(trace->time_s[row] >= time_s)) row++;
  return row;
}

/* What was typed where it is not the peak of the trace; "" else. */
static const char *typed_words(struct overlay *overlay, const struct be_pull *pull, double peak)
{
  const struct survey *survey = overlay->survey;
  if (!pull->load_text || isnan(pull->load_N)) return "";
  const char *of_trace = be_number_words(survey, peak, survey->decimals);
  const char *of_sheet = be_number_words(survey, be_shown(survey, pull->load_N), survey->decimals);
  if (strcmp(of_trace, of_sheet) == 0) return "";
  overlay->typed++;
  const char *words = be_arena_format(survey->arena, ", typed %s", of_sheet);
  return words ? words : "";
}

/* What a person saw let go where the trace says otherwise; "" else. */
static const char *seen_words(struct overlay *overlay, const struct be_pull *pull,
                              const struct be_trace_events *events)
{
  bool none = events->ending == BE_ENDED_HELD || events->ending == BE_ENDED_LET_DOWN;
  if (pull->what == BE_WHAT_UNKNOWN || none == (pull->what == BE_WHAT_NOTHING)) return "";
  const char *words = be_arena_format(
      overlay->survey->arena, "; but the sheet says \"%s\", which counts: an eye knows better",
      be_what_word(pull->what));
  return words ? words : "";
}

static void draw_trace(struct overlay *overlay, const struct be_pull *pull,
                       const struct be_trace *trace, const struct be_trace_events *events)
{
  struct trace_line line;
  double zero = isnan(events->zero_N) ? 0 : events->zero_N;
  double start_s = trace->time_s[events->onset_row], peak_s = trace->time_s[events->peak_row];
  double peak = be_shown(overlay->survey, events->peak_N - zero);
  const struct trace_column across = {trace->time_s, peak_s, 1};
  const struct trace_column up = {trace->force_N, zero, be_shown(overlay->survey, 1)};
  struct cell_look look = be_look_of_cell(overlay->survey, overlay->cell);
  be_trace_line(trace, events->onset_row, row_at(trace, peak_s + after * (peak_s - start_s)),
                &across, &up, &line);
  be_figure_means(overlay->figure, "trace");
  be_tell_cell(overlay->figure, overlay->survey, overlay->cell, false);
  be_figure_tell(overlay->figure, "specimen", pull->code);
  be_figure_line(overlay->figure, line.x, line.y, line.n, look.tone, BE_STROKE_SOLID);
  draw_slips(overlay, trace, events, zero);
  draw_end(overlay, trace, events, zero);
  overlay->slipped += events->slips_count > 0;
  overlay->lowest = fmin(overlay->lowest, peak);
  overlay->highest = fmax(overlay->highest, peak);
  be_buf_format(&overlay->words, "%s%s: peak %.*f %s%s, slips before it %zu, %s%s",
                overlay->shown ? "; " : "", pull->code, overlay->survey->decimals, peak,
                overlay->survey->how.unit->name, typed_words(overlay, pull, peak),
                events->slips_count, be_ending_words(events->ending),
                seen_words(overlay, pull, events));
  overlay->shown++;
}

static enum be_status draw_pull(struct gallery *gallery, struct overlay *overlay,
                                const struct be_pull *pull, struct be_err *err)
{
  struct be_trace_file *file = NULL;
  struct be_trace_events events;
  if (overlay->shown == TRACES_SHOWN) {
    overlay->passed++;
    return BE_OK;
  }
  enum be_status status = be_gallery_trace(gallery, pull, &file, &events, err);
  if (status != BE_OK) return status;
  bool timed = file && file->tests[0].time_s &&
               file->tests[0].time_s[events.peak_row] > file->tests[0].time_s[events.onset_row];
  if (timed) draw_trace(overlay, pull, &file->tests[0], &events);
  else overlay->passed++;
  be_trace_file_free(file);
  return BE_OK;
}

/* The title tells what was drawn, so it is made last, and the figure put together anew. */
static const char *title_of(const struct overlay *overlay)
{
  const struct survey *survey = overlay->survey;
  struct be_interval rate = be_rate_exact(overlay->slipped, overlay->shown, survey->how.level);
  return be_arena_format(survey->arena,
                         "%zu of %zu slipped on the way up, %.0f %% [%.0f, %.0f]; peaks %.*f to "
                         "%.*f %s",
                         overlay->slipped, overlay->shown,
                         100.0 * (double)overlay->slipped / (double)overlay->shown, 100 * rate.low,
                         100 * rate.high, survey->decimals, overlay->lowest, survey->decimals,
                         overlay->highest, survey->how.unit->name);
}

static enum be_status show_cell(struct gallery *gallery, const struct cell *cell, const char *of,
                                struct be_err *err)
{
  const struct survey *survey = gallery->survey;
  struct overlay overlay = {
      .survey = survey, .cell = cell, .lowest = INFINITY, .highest = -INFINITY};
  const char *subtitle =
      be_arena_format(survey->arena, "%s: traces over one another, their peaks at time 0", of);
  overlay.figure = subtitle ? be_figure_create("", subtitle, FIGURE_WIDTH, FIGURE_HEIGHT) : NULL;
  be_buf_init(&overlay.words, 1 << 20);
  be_figure_x(overlay.figure, "time from the peak (s)", 0, 0, false);
  be_figure_y(overlay.figure, be_head(survey, "load"), 0, 0);
  be_figure_key_mark(overlay.figure, BE_SHAPE_TRIANGLE, BE_FILL_SOLID, BE_TONE_STOP, "slip");
  be_figure_key_mark(overlay.figure, BE_SHAPE_SQUARE, BE_FILL_SOLID, BE_TONE_INK, "broke");
  enum be_status status = overlay.figure ? BE_OK : be_no_memory(err);
  for (size_t i = 0; i < cell->count && status == BE_OK; i++)
    if (cell->pulls[i]->trace && cell->pulls[i]->kind != BE_KIND_VOID)
      status = draw_pull(gallery, &overlay, cell->pulls[i], err);
  if (status == BE_OK && overlay.shown > 1) {
    const char *title = title_of(&overlay);
    be_buf_char(&overlay.words, '.');
    if (overlay.passed) {
      be_figure_foot(overlay.figure, "%zu more: beyond the first %d, or without times.",
                     overlay.passed, TRACES_SHOWN);
      be_buf_format(&overlay.words, " Not shown: %zu more, beyond the first %d or without times.",
                    overlay.passed, TRACES_SHOWN);
    }
    if (title) be_figure_retitle(overlay.figure, title);
    be_buf_text(&overlay.words,
                " A slip on the way up is a fall that the load climbs back from: "
                "the knot still holds. Slipped out is another thing: so it let go.");
    if (overlay.typed)
      be_buf_text(&overlay.words,
                  " A load that was typed counts, since gauges catch more of a peak "
                  "than they stream; where none was, the peak of the trace does.");
    overlay.figure = be_with_twin(overlay.figure, &overlay.words);
    status = title ? be_gallery_add(gallery, of, overlay.figure, err) : be_no_memory(err);
    if (title) return status;
  }
  be_buf_free(&overlay.words);
  be_figure_free(overlay.figure);
  return status;
}

static size_t count_traces(const struct cell *cell)
{
  size_t traces = 0;
  for (size_t k = 0; k < cell->count; k++)
    traces += cell->pulls[k]->trace && cell->pulls[k]->kind != BE_KIND_VOID;
  return traces;
}

/* The first of those with the most traces in its combination. */
static bool has_most(const struct survey *survey, size_t at)
{
  const struct combination *where = &survey->combinations[survey->cells[at].combination];
  size_t own = count_traces(&survey->cells[at]);
  for (size_t i = where->first_cell; i < where->first_cell + where->cells_count; i++) {
    size_t other = count_traces(&survey->cells[i]);
    if (other > own || (other == own && i < at)) return false;
  }
  return true;
}

enum be_status be_show_overlays(struct gallery *gallery, struct be_err *err)
{
  const struct survey *survey = gallery->survey;
  enum be_status status = BE_OK;
  gallery->why = "no knot has two traces with times on the same lines";
  for (size_t i = 0; i < survey->cells_count && gallery->book && status == BE_OK; i++) {
    const struct cell *cell = &survey->cells[i];
    if (count_traces(cell) < 2 || (gallery->for_report && !has_most(survey, i))) continue;
    const char *of = be_arena_format(survey->arena, "%s, %s", be_cell_name(survey, cell),
                                     survey->combinations[cell->combination].name);
    status = of ? show_cell(gallery, cell, of, err) : be_no_memory(err);
  }
  return status;
}
