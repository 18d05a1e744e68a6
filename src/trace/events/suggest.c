/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the trace suggests of the result, with the evidence in words. It is never
 * more than that: a trace does not see the specimen. Sorting into events, lower
 * bounds and voids is common practice, without a source. */
#include "trace/events/events.h"

#include <math.h>
#include <stdio.h>

/* A rise below ten deviations of a reading may be noise alone. */
static const double faint = 10;

static double percent_at(const struct be_pull *pull, const struct be_trace_events *events,
                         size_t row)
{
  double percent = 100 * (pull->trace->force_N[row] - pull->zero_N) / events->rise_N;
  return percent < 0 && percent > -0.5 ? 0 : percent; /* no "-0" */
}

static void say_fall(const struct be_pull *pull, const struct be_trace_events *events, char *text,
                     size_t size)
{
  const double *t = pull->trace->time_s;
  const char *how = events->ending == BE_ENDED_LET_DOWN ? "went down" : "fell";
  size_t from = events->end_row - 1, to = events->end_low_row, rows = to - from;
  int used = snprintf(text, size, "%s from %.0f %% to %.0f %% of the rise in %zu row%s", how,
                      percent_at(pull, events, from), percent_at(pull, events, to), rows,
                      rows == 1 ? "" : "s");
  double span = t ? t[to] - t[from] : 0;
  if (span > 0 && used > 0 && (size_t)used < size)
    snprintf(text + used, size - (size_t)used, span < 100 ? " (%.3g s)" : " (%.0f s)", span);
}

static void say_end(const struct be_pull *pull, const struct be_trace_events *events, char *text,
                    size_t size)
{
  size_t last = pull->trace->n - 1;
  snprintf(text, size, "the record ends at %.0f %% of the rise, %zu row%s after the peak",
           percent_at(pull, events, last), last - events->peak_row,
           last - events->peak_row == 1 ? "" : "s");
}

static void suggest_ending(const struct be_pull *pull, struct be_trace_events *events)
{
  struct be_suggestion *s = &events->suggestion;
  bool slipped = events->slips_count > 0, fell = events->end_row < pull->trace->n;
  static const enum be_let_go what[] = {
      [BE_ENDED_UNSEEN] = BE_LET_GO_UNSEEN,   [BE_ENDED_BROKE] = BE_LET_GO_BROKE,
      [BE_ENDED_PARTLY] = BE_LET_GO_STRAND,   [BE_ENDED_FADED] = BE_LET_GO_SLIPPED_OUT,
      [BE_ENDED_HELD] = BE_LET_GO_NOTHING,    [BE_ENDED_RISING] = BE_LET_GO_UNSEEN,
      [BE_ENDED_LET_DOWN] = BE_LET_GO_NOTHING};
  bool event = events->ending == BE_ENDED_BROKE || events->ending == BE_ENDED_PARTLY ||
               events->ending == BE_ENDED_FADED;
  s->result = event ? BE_SUGGEST_EVENT : BE_SUGGEST_BOUND;
  s->what = what[events->ending];
  if (s->what == BE_LET_GO_BROKE && slipped) s->what = BE_LET_GO_SLIPPED_BROKE;
  if (fell) say_fall(pull, events, s->evidence, sizeof s->evidence);
  else say_end(pull, events, s->evidence, sizeof s->evidence);
}

void be_suggest(const struct be_pull *pull, struct be_trace_events *events)
{
  struct be_suggestion *s = &events->suggestion;
  struct be_rows top = events->flag_rows[BE_FLAG_SATURATED];
  if (!(events->rise_N > faint * events->noise_N) || !(events->rise_N > 0)) {
    *s = (struct be_suggestion){.result = BE_SUGGEST_VOID, .what = BE_LET_GO_UNSEEN};
    snprintf(s->evidence, sizeof s->evidence,
             "no pull is seen: the rise is less than %g times the noise", faint);
    return;
  }
  suggest_ending(pull, events);
  if (!events->flags[BE_FLAG_SATURATED]) return;
  s->result = BE_SUGGEST_BOUND;
  if (pull->trace->over_rows > 0)
    snprintf(s->evidence, sizeof s->evidence, "the rig wrote \"past my range\" in %zu row%s",
             pull->trace->over_rows, pull->trace->over_rows == 1 ? "" : "s");
  else
    snprintf(s->evidence, sizeof s->evidence, "%zu equal readings at the top, reached at full pace",
             top.last - top.first + 1);
}
