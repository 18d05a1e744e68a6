/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The figure of a trace with what was found in it. */
#include "app/survey.h"

#include <math.h>
#include <stdio.h>

static const double figure_width = 760;

/* What is drawn: rows whose place is known, in the units shown. */
struct drawn {
  double *x, *y;
  size_t n;
  double left, right, low, high;
};

static double place_of(const struct be_trace *trace, size_t row)
{
  if (trace->time_s) return trace->time_s[row];
  return trace->extension_m ? 1000 * trace->extension_m[row] : (double)row;
}

static void fill_drawn(const struct be_trace *trace, const struct be_unit *unit,
                       struct drawn *drawn)
{
  drawn->left = INFINITY;
  drawn->right = -INFINITY;
  for (size_t i = 0; i < trace->n; i++) {
    double x = place_of(trace, i), y = trace->force_N[i] / unit->factor;
    if (!isfinite(x) || !isfinite(y)) continue;
    drawn->x[drawn->n] = x;
    drawn->y[drawn->n++] = y;
    drawn->left = fmin(drawn->left, x);
    drawn->right = fmax(drawn->right, x);
    drawn->low = fmin(drawn->low, y);
    drawn->high = fmax(drawn->high, y);
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
  be_figure_mark(figure, x, y, mark->shape, BE_FILL_SOLID, mark->tone);
  if (mark->name) be_figure_note(figure, x, y, mark->name, mark->anchor, mark->tone);
}

/* Between two rows along the trace itself. */
static void draw_window(struct be_figure *figure, const struct drawn *drawn, struct be_rows rows,
                        const char *name, enum be_tone tone)
{
  if (!be_rows_any(rows) || rows.last >= drawn->n) return;
  size_t n = rows.last - rows.first + 1, middle = rows.first + n / 2;
  be_figure_line(figure, drawn->x + rows.first, drawn->y + rows.first, n, tone, BE_STROKE_SOLID);
  be_figure_note(figure, drawn->x[middle], drawn->y[middle], name, BE_ANCHOR_END, tone);
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
                       const struct drawn *drawn)
{
  char axis[64];
  const char *across = trace->time_s ? "time (s)" : trace->extension_m ? "extension (mm)" : "row";
  snprintf(axis, sizeof axis, "load (%s)", unit->name);
  be_figure_x(figure, across, drawn->left,
              drawn->right > drawn->left ? drawn->right : drawn->left + 1, false);
  be_figure_y(figure, axis, drawn->low, drawn->high > drawn->low ? 1.08 * drawn->high : 1);
  if (!isnan(events->zero_N)) be_figure_rule_y(figure, events->zero_N / unit->factor, "zero");
  be_figure_line(figure, drawn->x, drawn->y, drawn->n, BE_TONE_NYLON, BE_STROKE_SOLID);
  draw_marks(figure, trace, events, unit);
  /* Rows without a place are not among the drawn, which shifts the others. */
  if (drawn->n == trace->n) draw_window(figure, drawn, events->stiffness, "stiffness", BE_TONE_ACT);
}

/* Force against time, or against extension, or against the row. */
struct be_figure *be_figure_of_trace(const struct be_trace *trace,
                                     const struct be_trace_events *events, const char *title,
                                     const struct be_unit *unit)
{
  struct drawn drawn = {.x = be_alloc_array(trace->n, sizeof(double)),
                        .y = be_alloc_array(trace->n, sizeof(double))};
  char subtitle[128];
  int decimals = be_quantity_decimals(events->peak_N, unit);
  double peak = events->peak_N / unit->factor;
  snprintf(subtitle, sizeof subtitle, "%zu rows; peak %.*f %s", trace->rows, decimals, peak,
           unit->name);
  struct be_figure *figure =
      drawn.x && drawn.y ? be_figure_create(title, subtitle, figure_width, 400) : NULL;
  if (figure) fill_drawn(trace, unit, &drawn);
  if (figure && drawn.n) draw_trace(figure, trace, events, unit, &drawn);
  be_figure_twin(
      figure,
      "The load rises to %s%.*f %s; slips before the peak: %zu, after it: %zu; tops: %zu; "
      "%s. Suggested: %s, %s (%s).",
      events->flags[BE_FLAG_SATURATED] ? "at least " : "", decimals, peak, unit->name,
      events->slips_count, events->slips_after, events->stages_count ? events->stages_count : 1,
      be_ending_words(events->ending), be_suggested_word(events->suggestion.result),
      be_let_go_word(events->suggestion.what), events->suggestion.evidence);
  be_free(drawn.x);
  be_free(drawn.y);
  return figure;
}
