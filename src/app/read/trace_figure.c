/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The figure of a trace with what was found in it. */
#include "app/read/found.h"

#include <math.h>
#include <stdio.h>

static const double figure_width = 760;

/* What is drawn: rows whose place is known, in the units shown. Of more rows
 * than the picture can show apart, the lowest and the highest of each bucket. */
enum { DRAWN_MOST = 4000 };

struct drawn {
  double x[DRAWN_MOST], y[DRAWN_MOST];
  size_t n;
  double left, right, low, high;
};

static double place_of(const struct be_trace *trace, size_t row)
{
  if (trace->time_s) return trace->time_s[row];
  return trace->extension_m ? 1000 * trace->extension_m[row] : (double)row;
}

static void draw_row(const struct be_trace *trace, const struct be_unit *unit, size_t row,
                     struct drawn *drawn)
{
  double x = place_of(trace, row), y = trace->force_N[row] / unit->factor;
  if (!isfinite(x) || !isfinite(y) || drawn->n == DRAWN_MOST) return;
  drawn->x[drawn->n] = x;
  drawn->y[drawn->n++] = y;
  drawn->left = fmin(drawn->left, x);
  drawn->right = fmax(drawn->right, x);
  drawn->low = fmin(drawn->low, y);
  drawn->high = fmax(drawn->high, y);
}

static void draw_rows(const struct be_trace *trace, const struct be_unit *unit, struct be_rows rows,
                      struct drawn *drawn)
{
  const double *force = trace->force_N;
  size_t all = rows.last - rows.first + 1, bucket = 1;
  while (all / bucket > DRAWN_MOST / 2 - 2) bucket *= 2;
  drawn->n = 0;
  drawn->left = INFINITY;
  drawn->right = -INFINITY;
  for (size_t from = rows.first; from <= rows.last; from += bucket) {
    size_t past = rows.last - from < bucket ? rows.last + 1 : from + bucket, low = from,
           high = from;
    for (size_t i = from + 1; i < past; i++) {
      low = force[i] < force[low] ? i : low;
      high = force[i] > force[high] ? i : high;
    }
    draw_row(trace, unit, low < high ? low : high, drawn);
    if (low != high) draw_row(trace, unit, low < high ? high : low, drawn);
  }
}

/* One mark with its name; a row that has no place is not drawn. */
struct mark {
  enum be_shape shape;
  enum be_tone tone;
  const char *name; /* may be null */
  enum be_anchor anchor;
};

static void mark_row(struct be_figure *figure, const struct be_trace *trace,
                     const struct be_unit *unit, size_t row, const struct mark *mark)
{
  double x = place_of(trace, row), y = trace->force_N[row] / unit->factor;
  if (!isfinite(x) || !isfinite(y)) return;
  be_figure_means(figure, "%s", mark->name ? mark->name : "slip");
  be_figure_mark(figure, x, y, mark->shape, BE_FILL_SOLID, mark->tone);
  if (mark->name) be_figure_note(figure, x, y, mark->name, mark->anchor, mark->tone);
}

/* Between two rows along the trace itself. */
static void draw_window(struct be_figure *figure, const struct be_trace *trace,
                        const struct be_unit *unit, struct be_rows rows, const char *name,
                        enum be_tone tone, struct drawn *drawn)
{
  if (!be_rows_any(rows)) return;
  draw_rows(trace, unit, rows, drawn);
  if (drawn->n == 0) return;
  be_figure_means(figure, "%s", name);
  be_figure_line(figure, drawn->x, drawn->y, drawn->n, tone, BE_STROKE_SOLID);
  be_figure_note(figure, drawn->x[drawn->n / 2], drawn->y[drawn->n / 2], name, BE_ANCHOR_END, tone);
}

static const char *drop_name(const struct be_trace_events *events)
{
  switch (events->ending) {
  case BE_ENDED_BROKE: return "broke";
  case BE_ENDED_PARTLY: return "part let go";
  case BE_ENDED_FADED: return "slipped out";
  case BE_ENDED_LET_DOWN: return "let down";
  case BE_ENDED_UNSEEN:
  case BE_ENDED_HELD:
  case BE_ENDED_RISING: break;
  }
  return NULL;
}

static void draw_marks(struct be_figure *figure, const struct be_trace *trace,
                       const struct be_trace_events *events, const struct be_unit *unit)
{
  const struct mark peak = {BE_SHAPE_ROUND, BE_TONE_INK,
                            events->flags[BE_FLAG_SATURATED] ? "peak, at least"
                            : be_rows_any(events->plateau)   ? "peak, flat top"
                                                             : "peak",
                            BE_ANCHOR_END};
  const struct mark onset = {BE_SHAPE_ROUND, BE_TONE_MUTED, "onset", BE_ANCHOR_END};
  const struct mark drop = {BE_SHAPE_SQUARE, BE_TONE_STOP, drop_name(events), BE_ANCHOR_START};
  mark_row(figure, trace, unit, events->peak_row, &peak);
  if (drop.name && events->end_low_row < trace->n)
    mark_row(figure, trace, unit, events->end_low_row, &drop);
  for (size_t i = 0; i < events->slips_count + events->slips_after; i++) {
    const struct mark slip = {BE_SHAPE_TRIANGLE, BE_TONE_STOP,
                              i > 0                 ? NULL
                              : events->slips_count ? "first slip"
                                                    : "slip after the peak",
                              events->slips_count ? BE_ANCHOR_END : BE_ANCHOR_START};
    if (events->slips[i].from_row != events->peak_row)
      mark_row(figure, trace, unit, events->slips[i].from_row, &slip);
  }
  for (size_t i = 0; i < events->stages_count; i++) {
    const struct mark stage = {BE_SHAPE_SQUARE, BE_TONE_MUTED, "top", BE_ANCHOR_MIDDLE};
    if (events->stages[i].top_row != events->peak_row)
      mark_row(figure, trace, unit, events->stages[i].top_row, &stage);
  }
  if (events->onset_row > 0) mark_row(figure, trace, unit, events->onset_row, &onset);
}

static void draw_trace(struct be_figure *figure, const struct be_trace *trace,
                       const struct be_trace_events *events, const struct be_unit *unit,
                       struct drawn *drawn)
{
  char axis[64];
  const char *across = trace->time_s ? "time (s)" : trace->extension_m ? "extension (mm)" : "row";
  snprintf(axis, sizeof axis, "load (%s)", unit->name);
  be_figure_x(figure, across, drawn->left,
              drawn->right > drawn->left ? drawn->right : drawn->left + 1, false);
  be_figure_y(figure, axis, drawn->low, drawn->high > drawn->low ? 1.08 * drawn->high : 1);
  if (!isnan(events->zero_N)) be_figure_rule_y(figure, events->zero_N / unit->factor, "zero");
  be_figure_means(figure, "load");
  be_figure_line(figure, drawn->x, drawn->y, drawn->n, BE_TONE_NYLON, BE_STROKE_SOLID);
  draw_marks(figure, trace, events, unit);
  draw_window(figure, trace, unit, events->stiffness, "stiffness", BE_TONE_ACT, drawn);
}

/* Force against time, or against extension, or against the row. */
struct be_figure *be_figure_of_trace(const struct be_trace *trace,
                                     const struct be_trace_events *events, const char *title,
                                     const struct be_unit *unit)
{
  struct drawn *drawn = be_alloc_array(1, sizeof *drawn);
  char subtitle[128];
  int decimals = be_quantity_decimals(events->peak_N, unit);
  double peak = events->peak_N / unit->factor;
  snprintf(subtitle, sizeof subtitle, "%zu rows; peak %.*f %s", trace->rows, decimals, peak,
           unit->name);
  struct be_figure *figure = drawn ? be_figure_create(title, subtitle, figure_width, 400) : NULL;
  if (figure) draw_rows(trace, unit, (struct be_rows){0, trace->n - 1}, drawn);
  if (figure && drawn->n) draw_trace(figure, trace, events, unit, drawn);
  be_figure_twin(
      figure,
      "The load rises to %s%.*f %s; slips before the peak: %zu, after it: %zu; tops: %zu; "
      "%s. Suggested: %s, %s (%s).",
      events->flags[BE_FLAG_SATURATED] ? "at least " : "", decimals, peak, unit->name,
      events->slips_count, events->slips_after, events->stages_count ? events->stages_count : 1,
      be_ending_words(events->ending), be_suggested_word(events->suggestion.result),
      be_let_go_word(events->suggestion.what), events->suggestion.evidence);
  be_free(drawn);
  return figure;
}
