/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What happened in a trace, in words for people and in tables for programs. */
#include "app/read/found.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

/* Unit of a role in the file, or of SI where the file names none of its kind. */
const struct be_unit *be_trace_unit(const struct be_trace *trace, enum be_role role,
                                    enum be_dimension dimension)
{
  const struct be_trace_column *column = be_trace_column_of(trace, role);
  bool fits = column && column->unit && column->unit->dimension == dimension;
  return fits ? column->unit : be_unit_si(dimension);
}

/* As few decimals as give the number back: the digits that the file wrote. */
static void as_written(char text[64], double value)
{
  for (int decimals = 0; decimals <= 12; decimals++) {
    snprintf(text, 64, "%.*f", decimals, value);
    if (fabs(strtod(text, NULL) - value) <= 1e-13 * fabs(value)) return;
  }
  snprintf(text, 64, "%.15g", value);
}

static bool is_guess(const struct be_trace *trace, enum be_role role)
{
  const struct be_trace_column *column = be_trace_column_of(trace, role);
  return column && !column->unit && column->sureness == BE_GUESS;
}

/* 50587.18 s of the day is 14:03:07.18. */
static void as_clock(char text[64], double seconds)
{
  int decimals = 0;
  double scale = 1;
  /* To a microsecond, which is what a double of the day's seconds holds well. */
  while (decimals < 6 && fabs(seconds * scale - nearbyint(seconds * scale)) > 1e-6 * scale)
    decimals++, scale *= 10;
  double whole = nearbyint(seconds * scale) / scale;
  long minutes = (long)floor(whole / 60);
  snprintf(text, 64, "%02ld:%02ld:%0*.*f", minutes / 60 % 24, minutes % 60,
           decimals ? decimals + 3 : 2, decimals, whole - 60.0 * (double)minutes);
}

/* " at 3.154 mm"; where the file names no unit, none is made up. */
static size_t say_place(char *place, size_t size, const struct be_trace *trace, enum be_role role,
                        double value, enum be_dimension dimension)
{
  const struct be_unit *unit = be_trace_unit(trace, role, dimension);
  const struct be_trace_column *column = be_trace_column_of(trace, role);
  char text[64];
  bool clock = column && column->clock && value >= 0;
  if (clock) as_clock(text, value);
  else as_written(text, value / unit->factor);
  int put = clock ? snprintf(place, size, " at %s", text)
            : is_guess(trace, role)
                ? snprintf(place, size, " at %s in column %td, which has no unit", text,
                           column - trace->layout->columns + 1)
                : snprintf(place, size, " at %s %s", text, unit->name);
  return put < 0 ? 0 : (size_t)put;
}

/* Decimals for a worked-out figure, in the unit it is shown in: about three
 * figures, also of what is small. */
static int figures_of(double value)
{
  int decimals = be_quantity_decimals(value, be_unit_si(BE_RATIO));
  double least = fabs(value) * pow(10, decimals);
  for (; value != 0 && least < 100 && decimals > 0 && decimals < 9; least *= 10) decimals++;
  return decimals;
}

static bool is_bound(const struct be_trace_events *events)
{
  return events->flags[BE_FLAG_SATURATED] || events->flags[BE_FLAG_RISING] ||
         events->flags[BE_FLAG_HELD] || events->flags[BE_FLAG_LET_DOWN];
}

void be_say_peak(struct be_doc *doc, const struct be_trace *trace,
                 const struct be_trace_events *events, const char *name)
{
  size_t row = events->peak_row, used = 0;
  char place[200] = "", peak[64];
  if (trace->extension_m)
    used += say_place(place, sizeof place, trace, BE_ROLE_EXTENSION, trace->extension_m[row],
                      BE_LENGTH);
  if (trace->time_s && used < sizeof place)
    say_place(place + used, sizeof place - used, trace, BE_ROLE_TIME, trace->time_s[row], BE_TIME);
  const struct be_trace_column *force = be_trace_column_of(trace, BE_ROLE_FORCE);
  bool scaled = force && force->unit && force->unit->dimension != BE_FORCE;
  if (scaled) snprintf(peak, sizeof peak, "%.*f", figures_of(events->peak_N), events->peak_N);
  else as_written(peak, trace->as_written.peak);
  be_doc_sentence(doc, "%s: peak %s%s %s%s (line %zu).", name, is_bound(events) ? "at least " : "",
                  peak, be_trace_unit(trace, BE_ROLE_FORCE, BE_FORCE)->name, place,
                  trace->line[row]);
  if (is_guess(trace, BE_ROLE_FORCE))
    be_doc_sentence(doc, "The file names no unit of force, so newtons were taken: --unit says "
                         "another.");
}

static void found(struct be_table *table, const char *what, double value, const char *unit)
{
  if (isnan(value)) return;
  be_table_text(table, "%s", what);
  be_table_text(table, "%.*f %s", figures_of(value), value, unit);
}

/* A loss on top of a figure in percent: "0.12 N (0.3 %)". */
static void found_share(struct be_table *table, const char *what, double value_N, double of_N,
                        const struct be_unit *unit)
{
  double value = value_N / unit->factor;
  if (isnan(value)) return;
  be_table_text(table, "%s", what);
  be_table_text(table, "%.*f %s (%.2g %%)", figures_of(value), value, unit->name,
                100 * value_N / of_N);
}

static void say_slips(struct be_table *table, const struct be_trace *trace,
                      const struct be_trace_events *events, const struct be_unit *force)
{
  be_table_text(table, "first slip");
  if (events->slips_count == 0) {
    be_table_text(table, "none seen before the peak");
  } else {
    const struct be_slip *first = &events->slips[0];
    double from = first->from_N / force->factor;
    be_table_text(table, "%.*f %s (line %zu), fell to %.*f; %zu before the peak", figures_of(from),
                  from, force->name, trace->line[first->from_row], figures_of(from),
                  first->to_N / force->factor, events->slips_count);
  }
  if (events->slips_after) {
    be_table_text(table, "slips after the peak");
    be_table_text(table, "%zu", events->slips_after);
  }
}

static void say_stages(struct be_table *table, const struct be_trace *trace,
                       const struct be_trace_events *events, const struct be_unit *force)
{
  char text[300] = "";
  size_t used = 0;
  for (size_t i = 0; i < events->stages_count && used < sizeof text - 64; i++) {
    double top = events->stages[i].top_N / force->factor;
    used += (size_t)snprintf(text + used, sizeof text - used, "%s%.*f (line %zu)", i ? ", " : "",
                             figures_of(top), top, trace->line[events->stages[i].top_row]);
  }
  if (!used) return;
  be_table_text(table, "rose and fell, tops in %s", force->name);
  be_table_text(table, "%s", text);
}

static void say_plateau(struct be_table *table, const struct be_trace *trace,
                        const struct be_trace_events *events)
{
  if (!be_rows_any(events->plateau)) return;
  struct be_rows rows = events->plateau;
  be_table_text(table, "flat top");
  bool timed = trace->time_s && !is_guess(trace, BE_ROLE_TIME);
  double span = timed ? trace->time_s[rows.last] - trace->time_s[rows.first] : 0;
  if (timed)
    be_table_text(table, "lines %zu to %zu, %.*f s", trace->line[rows.first],
                  trace->line[rows.last], figures_of(span), span);
  else be_table_text(table, "lines %zu to %zu", trace->line[rows.first], trace->line[rows.last]);
}

static void say_pace(struct be_table *table, const struct be_trace *trace,
                     const struct be_trace_events *events, const struct be_unit *force)
{
  double rate = events->rate_N_per_s / force->factor;
  if (is_guess(trace, BE_ROLE_TIME)) return;
  if (!isnan(rate)) {
    be_table_text(table, "loading rate");
    double percent = 100 * events->rate_per_s;
    be_table_text(table, "%.*f %s/s, %.*f %% of the peak a second", figures_of(rate), rate,
                  force->name, figures_of(percent), percent);
  }
  found(table, "time to peak", events->time_to_peak_s, "s");
  found(table, "time to break", events->time_to_break_s, "s");
}

static void say_stretch(struct be_table *table, const struct be_trace *trace,
                        const struct be_trace_events *events, const struct be_unit *force)
{
  double stiffness = events->stiffness_N_per_m / force->factor / 1000;
  if (is_guess(trace, BE_ROLE_EXTENSION)) return;
  if (!isnan(stiffness)) {
    be_table_text(table, "stiffness");
    be_table_text(table, "%.*f %s/mm, steepest, lines %zu to %zu", figures_of(stiffness), stiffness,
                  force->name, trace->line[events->stiffness.first],
                  trace->line[events->stiffness.last]);
  }
  found(table, "extension at the peak, slack and toe off", 1e3 * events->extension_at_peak_m, "mm");
  found(table, "energy to the peak", events->energy_J, "J");
  found(table, "of it elastic, if it unloads at that stiffness", events->elastic_J, "J");
}

static void say_trust(struct be_table *table, const struct be_trace_events *events,
                      const struct be_unit *force)
{
  double f = force->factor, rise = events->rise_N, device = events->device_peak_N / f;
  found_share(table, "peak missed between rows, at most", events->missed_N, rise, force);
  found_share(table, "taken off by the filter, at most", events->lag_N, rise, force);
  if (!isnan(device)) {
    be_table_text(table, "device's own peak");
    be_table_text(table, "%.*f %s, %+.2g %% (relative) from the trace's", figures_of(device),
                  device, force->name, 100 * events->device_more);
  }
  if (isnan(events->resolution_N)) return;
  found(table, events->resolution_declared ? "resolution, as declared" : "resolution, as seen",
        events->resolution_N / f, force->name);
  found(table, "lowest trustworthy force, 200 resolutions", events->lowest_N / f, force->name);
}

void be_say_events(struct be_doc *doc, const struct be_trace *trace,
                   const struct be_trace_events *events, const char *name)
{
  static const struct be_column columns[] = {
      {"what", "found", BE_COLUMN_TEXT, false},
      {"value", "", BE_COLUMN_TEXT, false},
  };
  const struct be_suggestion *suggestion = &events->suggestion;
  const struct be_unit *force = be_trace_unit(trace, BE_ROLE_FORCE, BE_FORCE);
  const char *what = suggestion->what == BE_LET_GO_NOTHING  ? "nothing let go"
                     : suggestion->what == BE_LET_GO_UNSEEN ? "what let go was not seen"
                                                            : be_let_go_word(suggestion->what);
  be_doc_sentence(doc,
                  "Suggested: %s, %s (%s). Where it let go no trace can tell; a person confirms.",
                  be_suggested_word(suggestion->result), what, suggestion->evidence);
  struct be_table *table = be_doc_table(doc, "found", name, columns, 2);
  be_table_unlike_units(table);
  be_table_people_only(table);
  be_table_text(table, "rows");
  be_table_text(table, "%zu", trace->rows);
  be_table_text(table, "how it ended");
  be_table_text(table, "%s", be_ending_words(events->ending));
  say_slips(table, trace, events, force);
  say_stages(table, trace, events, force);
  say_plateau(table, trace, events);
  found(table, "zero before", events->zero_N / force->factor, force->name);
  found(table, "zero after", events->zero_after_N / force->factor, force->name);
  found(table, "peak less zero", events->rise_N / force->factor, force->name);
  found(table, "noise of one reading", events->noise_N / force->factor, force->name);
  say_pace(table, trace, events, force);
  say_stretch(table, trace, events, force);
  say_trust(table, events, force);
}

static void line_of(struct be_table *table, const struct be_trace *trace, size_t row, bool any)
{
  if (any && row < trace->n) be_table_number(table, (double)trace->line[row], 0);
  else be_table_none(table);
}

void be_say_flags(struct be_doc *doc, const struct be_trace *trace,
                  const struct be_trace_events *events)
{
  static const struct be_column columns[] = {
      {"flag", "flag", BE_COLUMN_TEXT, false},
      {"means", "means", BE_COLUMN_TEXT, false},
      {"from_line", "from line", BE_COLUMN_NUMBER, false},
      {"to_line", "to line", BE_COLUMN_NUMBER, false},
  };
  struct be_table *table = NULL;
  for (int i = 0; i < BE_TRACE_FLAGS; i++) {
    if (!events->flags[i]) continue;
    if (!table) table = be_doc_table(doc, "flags", "Flags", columns, 4);
    be_table_people_only(table);
    be_table_text(table, "%s", be_trace_flag_name((enum be_trace_flag)i));
    be_table_text(table, "%s", be_trace_flag_words((enum be_trace_flag)i));
    struct be_rows rows = events->flag_rows[i];
    line_of(table, trace, rows.first, be_rows_any(rows));
    line_of(table, trace, rows.last, be_rows_any(rows));
  }
}

/* ---- for programs ---- */

void be_say_slips(struct be_doc *doc, const struct be_trace *trace,
                  const struct be_trace_events *events)
{
  static const struct be_column columns[] = {
      {"after_peak", "after the peak", BE_COLUMN_TEXT, true},
      {"from_N", "from (N)", BE_COLUMN_NUMBER, true},
      {"to_N", "to (N)", BE_COLUMN_NUMBER, true},
      {"recovered_N", "recovered (N)", BE_COLUMN_NUMBER, true},
      {"fall_s", "fall (s)", BE_COLUMN_NUMBER, true},
      {"recovery_s", "recovery (s)", BE_COLUMN_NUMBER, true},
      {"from_line", "from line", BE_COLUMN_NUMBER, true},
      {"to_line", "to line", BE_COLUMN_NUMBER, true},
      {"recovered_line", "recovered at line", BE_COLUMN_NUMBER, true},
  };
  bool timed = !is_guess(trace, BE_ROLE_TIME);
  size_t count = events->slips_count + events->slips_after;
  struct be_table *table = count ? be_doc_table(doc, "slips", "Slips", columns, 9) : NULL;
  if (!table) return;
  be_table_people_only(table);
  for (size_t i = 0; i < count; i++) {
    const struct be_slip *slip = &events->slips[i];
    be_table_text(table, "%s", i < events->slips_count ? "no" : "yes");
    be_table_number(table, slip->from_N, 3);
    be_table_number(table, slip->to_N, 3);
    be_table_number(table, slip->recovered_N, 3);
    be_table_number(table, timed ? slip->fall_s : NAN, 3);
    be_table_number(table, timed ? slip->recovery_s : NAN, 3);
    line_of(table, trace, slip->from_row, true);
    line_of(table, trace, slip->to_row, true);
    line_of(table, trace, slip->recovered_row, true);
  }
}

void be_say_stages(struct be_doc *doc, const struct be_trace *trace,
                   const struct be_trace_events *events)
{
  static const struct be_column columns[] = {
      {"top_N", "top (N)", BE_COLUMN_NUMBER, true},
      {"low_N", "low after it (N)", BE_COLUMN_NUMBER, true},
      {"top_line", "top at line", BE_COLUMN_NUMBER, true},
      {"low_line", "low at line", BE_COLUMN_NUMBER, true},
  };
  if (!events->stages_count) return;
  struct be_table *table = be_doc_table(doc, "stages", "Stages", columns, 4);
  be_table_people_only(table);
  for (size_t i = 0; i < events->stages_count; i++) {
    const struct be_stage *stage = &events->stages[i];
    be_table_number(table, stage->top_N, 3);
    be_table_number(table, stage->low_N, 3);
    line_of(table, trace, stage->top_row, true);
    line_of(table, trace, stage->low_row, true);
  }
}

struct be_table *be_traces_table(struct be_doc *doc)
{
  static const struct be_column columns[] = {
      {"file", "file", BE_COLUMN_TEXT, true},
      {"test", "test", BE_COLUMN_TEXT, true},
      {"rows", "rows", BE_COLUMN_NUMBER, true},
      {"peak", "peak", BE_COLUMN_NUMBER, true},
      {"unit", "unit", BE_COLUMN_TEXT, true},
      {"peak_N", "peak (N)", BE_COLUMN_NUMBER, true},
      {"line", "line", BE_COLUMN_NUMBER, true},
      {"extension_mm", "extension (mm)", BE_COLUMN_NUMBER, true},
      {"time_s", "time (s)", BE_COLUMN_NUMBER, true},
      {"first_slip_N", "first slip (N)", BE_COLUMN_NUMBER, true},
      {"slips", "slips", BE_COLUMN_NUMBER, true},
      {"ended", "ended", BE_COLUMN_TEXT, true},
      {"zero_N", "zero (N)", BE_COLUMN_NUMBER, true},
      {"noise_N", "noise (N)", BE_COLUMN_NUMBER, true},
      {"rate_N_per_s", "rate (N/s)", BE_COLUMN_NUMBER, true},
      {"stiffness_N_per_mm", "stiffness (N/mm)", BE_COLUMN_NUMBER, true},
      {"energy_J", "energy (J)", BE_COLUMN_NUMBER, true},
      {"missed_N", "missed at most (N)", BE_COLUMN_NUMBER, true},
      {"flags", "flags", BE_COLUMN_TEXT, true},
      {"slips_after", "slips after the peak", BE_COLUMN_NUMBER, true},
      {"suggested", "suggested result", BE_COLUMN_TEXT, true},
      {"what", "what let go, as suggested", BE_COLUMN_TEXT, true},
      {"evidence", "evidence", BE_COLUMN_TEXT, true},
      {"zero_after_N", "zero after (N)", BE_COLUMN_NUMBER, true},
      {"rise_N", "peak less zero (N)", BE_COLUMN_NUMBER, true},
      {"plateau_from_line", "flat top from line", BE_COLUMN_NUMBER, true},
      {"plateau_to_line", "flat top to line", BE_COLUMN_NUMBER, true},
      {"onset_line", "onset at line", BE_COLUMN_NUMBER, true},
      {"end_line", "final drop from line", BE_COLUMN_NUMBER, true},
      {"time_to_peak_s", "time to peak (s)", BE_COLUMN_NUMBER, true},
      {"time_to_break_s", "time to break (s)", BE_COLUMN_NUMBER, true},
      {"rate_percent_per_s", "rate (% of the peak/s)", BE_COLUMN_NUMBER, true},
      {"stiffness_from_line", "stiffness from line", BE_COLUMN_NUMBER, true},
      {"stiffness_to_line", "stiffness to line", BE_COLUMN_NUMBER, true},
      {"extension_less_toe_mm", "extension less slack and toe (mm)", BE_COLUMN_NUMBER, true},
      {"elastic_J", "elastic energy (J)", BE_COLUMN_NUMBER, true},
      {"filter_lag_N", "taken off by the filter (N)", BE_COLUMN_NUMBER, true},
      {"device_peak_N", "device's peak (N)", BE_COLUMN_NUMBER, true},
      {"device_more_percent", "device's peak more by (%)", BE_COLUMN_NUMBER, true},
      {"resolution_N", "resolution (N)", BE_COLUMN_NUMBER, true},
      {"resolution_from", "resolution from", BE_COLUMN_TEXT, true},
      {"lowest_N", "lowest trustworthy force (N)", BE_COLUMN_NUMBER, true},
  };
  struct be_table *table =
      be_doc_table(doc, "traces", "Traces", columns, sizeof columns / sizeof columns[0]);
  be_table_unlike_units(table);
  return table;
}

static void more_row(struct be_table *table, const struct be_trace *trace,
                     const struct be_trace_events *events, bool timed, bool measured)
{
  const struct be_suggestion *suggestion = &events->suggestion;
  bool plateau = be_rows_any(events->plateau), stiff = be_rows_any(events->stiffness) && measured;
  be_table_number(table, (double)events->slips_after, 0);
  be_table_text(table, "%s", be_suggested_word(suggestion->result));
  be_table_text(table, "%s", be_let_go_word(suggestion->what));
  be_table_text(table, "%s", suggestion->evidence);
  be_table_number(table, events->zero_after_N, 3);
  be_table_number(table, events->rise_N, 3);
  line_of(table, trace, events->plateau.first, plateau);
  line_of(table, trace, events->plateau.last, plateau);
  line_of(table, trace, events->onset_row, true);
  line_of(table, trace, events->end_row - (events->end_row > 0), events->end_row < trace->n);
  be_table_number(table, timed ? events->time_to_peak_s : NAN, 3);
  be_table_number(table, timed ? events->time_to_break_s : NAN, 3);
  be_table_number(table, timed ? 100 * events->rate_per_s : NAN, 3);
  line_of(table, trace, events->stiffness.first, stiff);
  line_of(table, trace, events->stiffness.last, stiff);
  be_table_number(table, measured ? 1e3 * events->extension_at_peak_m : NAN, 3);
  be_table_number(table, measured ? events->elastic_J : NAN, 4);
  be_table_number(table, timed ? events->lag_N : NAN, 3);
  be_table_number(table, events->device_peak_N, 3);
  be_table_number(table, 100 * events->device_more, 2);
  be_table_number(table, events->resolution_N, 4);
  be_table_text(table, "%s",
                events->resolution_declared   ? "declared"
                : isnan(events->resolution_N) ? ""
                                              : "seen");
  be_table_number(table, events->lowest_N, 3);
}

void be_traces_row(struct be_table *table, const char *file, const struct be_trace *trace,
                   const struct be_trace_events *events)
{
  size_t row = events->peak_row, used = 0;
  char flags[512] = "";
  for (int i = 0; i < BE_TRACE_FLAGS; i++)
    if (events->flags[i] && used < sizeof flags - 32)
      used += (size_t)snprintf(flags + used, sizeof flags - used, "%s%s", used ? " " : "",
                               be_trace_flag_name((enum be_trace_flag)i));
  be_table_text(table, "%s", file);
  be_table_text(table, "%s", trace->title);
  be_table_number(table, (double)trace->rows, 0);
  be_table_number(table, trace->as_written.peak, trace->decimals < 17 ? trace->decimals : 17);
  /* The unit of the number beside it, which need not be one of force. */
  const struct be_trace_column *force = be_trace_column_of(trace, BE_ROLE_FORCE);
  be_table_text(table, "%s", force && force->unit ? force->unit->name : "N");
  be_table_number(table, events->peak_N, 3);
  be_table_number(table, (double)trace->line[row], 0);
  bool timed = trace->time_s && !is_guess(trace, BE_ROLE_TIME);
  bool measured = trace->extension_m && !is_guess(trace, BE_ROLE_EXTENSION);
  be_table_number(table, measured ? 1e3 * trace->extension_m[row] : NAN, 3);
  be_table_number(table, timed ? trace->time_s[row] : NAN, 3);
  be_table_number(table, events->slips_count ? events->slips[0].from_N : NAN, 3);
  be_table_number(table, (double)events->slips_count, 0);
  be_table_text(table, "%s", be_ending_words(events->ending));
  be_table_number(table, events->zero_N, 3);
  be_table_number(table, events->noise_N, 3);
  be_table_number(table, timed ? events->rate_N_per_s : NAN, 3);
  be_table_number(table, measured ? events->stiffness_N_per_m / 1000 : NAN, 3);
  be_table_number(table, measured ? events->energy_J : NAN, 4);
  be_table_number(table, events->missed_N, 3);
  be_table_text(table, "%s", flags);
  more_row(table, trace, events, timed, measured);
}
