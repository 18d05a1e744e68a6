/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Load traces without a book: what each file says, and how it was read. */
#include "app/survey.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void say_layout(struct be_doc *doc, const struct be_trace *trace)
{
  static const struct be_column columns[] = {
      {"column", "column", BE_COLUMN_NUMBER, false},
      {"name", "name in the file", BE_COLUMN_TEXT, false},
      {"role", "taken for", BE_COLUMN_TEXT, false},
      {"unit", "unit", BE_COLUMN_TEXT, false},
      {"sureness", "how sure", BE_COLUMN_TEXT, false},
      {"why", "why", BE_COLUMN_TEXT, false},
  };
  const struct be_trace_layout *layout = trace->layout;
  const char *delimiter = layout->delimiter == '\t'  ? "a tab"
                          : layout->delimiter == ';' ? "a semicolon"
                          : layout->delimiter == ' ' ? "spaces"
                                                     : "a comma";
  be_doc_sentence(doc, "Read as %s between columns, decimal %s, %s, %zu header line%s.", delimiter,
                  layout->decimal == ',' ? "comma" : "point", be_text_coding_word(layout->coding),
                  layout->header_lines, layout->header_lines == 1 ? "" : "s");
  struct be_table *table = be_doc_table(doc, "columns", "Columns", columns, 6);
  for (size_t i = 0; i < layout->columns_count; i++) {
    const struct be_trace_column *column = &layout->columns[i];
    be_table_number(table, (double)(i + 1), 0);
    be_table_text(table, "%s", column->name);
    be_table_text(table, "%s", be_role_word(column->role));
    be_table_text(table, "%s", column->unit ? column->unit->name : "");
    be_table_text(table, "%s",
                  column->role == BE_ROLE_NONE ? "" : be_sureness_word(column->sureness));
    be_table_text(table, "%s", column->why);
  }
  be_table_people_only(table);
  if (layout->sign < 0) be_doc_note(doc, "The sign is turned: %s.", layout->sign_why);
}

static const struct be_trace_column *column_of(const struct be_trace *trace, enum be_role role)
{
  for (size_t i = 0; i < trace->layout->columns_count; i++)
    if (trace->layout->columns[i].role == role) return &trace->layout->columns[i];
  return NULL;
}

/* Unit of a role in the file, or of SI where the file names none of its kind. */
static const struct be_unit *unit_of(const struct be_trace *trace, enum be_role role,
                                     enum be_dimension dimension)
{
  const struct be_trace_column *column = column_of(trace, role);
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
  const struct be_trace_column *column = column_of(trace, role);
  return column && !column->unit && column->sureness == BE_GUESS;
}

/* " at 3.154 mm"; where the file names no unit, none is made up. */
static size_t say_place(char *place, size_t size, const struct be_trace *trace, enum be_role role,
                        double value, enum be_dimension dimension)
{
  const struct be_unit *unit = unit_of(trace, role, dimension);
  char text[64];
  as_written(text, value / unit->factor);
  size_t column = 1;
  while (column <= trace->layout->columns_count && trace->layout->columns[column - 1].role != role)
    column++;
  int put = is_guess(trace, role)
                ? snprintf(place, size, " at %s in column %zu, which has no unit", text, column)
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
         events->flags[BE_FLAG_HELD];
}

/* The answer: the file's own number in its own unit. */
static void say_peak(struct be_doc *doc, const struct be_trace *trace,
                     const struct be_trace_events *events, const char *name)
{
  size_t row = events->peak_row, used = 0;
  char place[200] = "", peak[64];
  if (trace->extension_m)
    used += say_place(place, sizeof place, trace, BE_ROLE_EXTENSION, trace->extension_m[row],
                      BE_LENGTH);
  if (trace->time_s && used < sizeof place)
    say_place(place + used, sizeof place - used, trace, BE_ROLE_TIME, trace->time_s[row], BE_TIME);
  const struct be_trace_column *force = column_of(trace, BE_ROLE_FORCE);
  bool scaled = force && force->unit && force->unit->dimension != BE_FORCE;
  if (scaled) snprintf(peak, sizeof peak, "%.*f", figures_of(events->peak_N), events->peak_N);
  else as_written(peak, trace->as_written.peak);
  be_doc_sentence(doc, "%s: peak %s%s %s%s (line %zu).", name, is_bound(events) ? "at least " : "",
                  peak, unit_of(trace, BE_ROLE_FORCE, BE_FORCE)->name, place, trace->line[row]);
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

static void say_slips(struct be_table *table, const struct be_trace *trace,
                      const struct be_trace_events *events, const struct be_unit *force)
{
  be_table_text(table, "first slip");
  if (events->slips_count == 0) {
    be_table_text(table, "none seen before the peak");
    return;
  }
  const struct be_slip *first = &events->slips[0];
  double from = first->from_N / force->factor;
  be_table_text(table, "%.*f %s (line %zu), fell to %.*f; %zu before the peak", figures_of(from),
                from, force->name, trace->line[first->from_row], figures_of(from),
                first->to_N / force->factor, events->slips_count);
}

static void say_events(struct be_doc *doc, const struct be_trace *trace,
                       const struct be_trace_events *events, const char *file)
{
  static const struct be_column columns[] = {
      {"what", "found", BE_COLUMN_TEXT, false},
      {"value", "", BE_COLUMN_TEXT, false},
  };
  const struct be_unit *force = unit_of(trace, BE_ROLE_FORCE, BE_FORCE);
  double f = force->factor;
  char per_s[64], per_mm[64];
  snprintf(per_s, sizeof per_s, "%s/s", force->name);
  snprintf(per_mm, sizeof per_mm, "%s/mm", force->name);
  struct be_table *table = be_doc_table(doc, "found", file, columns, 2);
  be_table_people_only(table);
  be_table_text(table, "rows");
  be_table_text(table, "%zu", trace->n);
  be_table_text(table, "how it ended");
  be_table_text(table, "%s", be_ending_words(events->ending));
  say_slips(table, trace, events, force);
  found(table, "zero before", events->zero_N / f, force->name);
  found(table, "zero after", events->zero_after_N / f, force->name);
  found(table, "peak less zero", events->rise_N / f, force->name);
  found(table, "noise of one reading", events->noise_N / f, force->name);
  if (!is_guess(trace, BE_ROLE_TIME)) {
    found(table, "loading rate", events->rate_N_per_s / f, per_s);
    found(table, "time to peak", events->time_to_peak_s, "s");
  }
  if (!is_guess(trace, BE_ROLE_EXTENSION)) {
    found(table, "stiffness", events->stiffness_N_per_m / f / 1000, per_mm);
    found(table, "energy to the peak", events->energy_J, "J");
  }
  found(table, "peak missed, at most", events->missed_N / f, force->name);
}

static void say_flags(struct be_doc *doc, const struct be_trace_events *events)
{
  static const struct be_column columns[] = {
      {"flag", "flag", BE_COLUMN_TEXT, false},
      {"means", "means", BE_COLUMN_TEXT, false},
  };
  struct be_table *table = NULL;
  for (int i = 0; i < BE_TRACE_FLAGS; i++) {
    if (!events->flags[i]) continue;
    if (!table) table = be_doc_table(doc, "flags", "Flags", columns, 2);
    be_table_people_only(table);
    be_table_text(table, "%s", be_trace_flag_name((enum be_trace_flag)i));
    be_table_text(table, "%s", be_trace_flag_words((enum be_trace_flag)i));
  }
}

/* For programs: every test of every file, one row each. */
static struct be_table *traces_table(struct be_doc *doc)
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
  };
  return be_doc_table(doc, "traces", "Traces", columns, 19);
}

static void traces_row(struct be_table *table, const char *file, const struct be_trace *trace,
                       const struct be_trace_events *events)
{
  size_t row = events->peak_row, used = 0;
  char flags[300] = "";
  for (int i = 0; i < BE_TRACE_FLAGS; i++)
    if (events->flags[i] && used < sizeof flags - 32)
      used += (size_t)snprintf(flags + used, sizeof flags - used, "%s%s", used ? " " : "",
                               be_trace_flag_name((enum be_trace_flag)i));
  be_table_text(table, "%s", file);
  be_table_text(table, "%s", trace->title);
  be_table_number(table, (double)trace->n, 0);
  be_table_number(table, trace->as_written.peak, trace->decimals);
  /* The unit of the number beside it, which need not be one of force. */
  const struct be_trace_column *force = column_of(trace, BE_ROLE_FORCE);
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
}

static enum be_status read_test(struct be_doc *doc, struct be_table *table, const char *path,
                                const struct be_trace_file *from, size_t test, struct be_err *err)
{
  struct be_trace_events events;
  const struct be_trace *trace = &from->tests[test];
  enum be_status status = be_trace_find(trace, &events, err);
  if (status != BE_OK) return status;
  const char *slash = strrchr(path, '/'), *file = slash ? slash + 1 : path;
  char name[400];
  /* A title tells the tests of one file apart; alone it is a line of the banner. */
  if (from->count == 1) snprintf(name, sizeof name, "%.255s", file);
  else if (*trace->title) snprintf(name, sizeof name, "%.255s, %s", file, trace->title);
  else snprintf(name, sizeof name, "%.255s, test %zu", file, test + 1);
  be_doc_heading(doc, "%s", name);
  say_peak(doc, trace, &events, name);
  say_events(doc, trace, &events, name);
  say_flags(doc, &events);
  if (test == 0) say_layout(doc, trace);
  traces_row(table, file, trace, &events);
  be_doc_figure(doc,
                be_figure_of_trace(trace, &events, name, unit_of(trace, BE_ROLE_FORCE, BE_FORCE)));
  return BE_OK;
}

static enum be_status read_one(struct be_doc *doc, struct be_table *table, const char *path,
                               const struct be_trace_options *options, struct be_err *err)
{
  struct be_source *source = NULL;
  struct be_trace_file *file = NULL;
  enum be_status status = be_source_open(path, &source, err);
  if (status == BE_OK) status = be_trace_read(source, options, &file, err);
  be_source_close(source);
  for (size_t i = 0; status == BE_OK && i < file->count; i++)
    status = read_test(doc, table, path, file, i, err);
  if (status != BE_OK) be_fail_at(err, path, 0, 0);
  be_trace_file_free(file);
  return status;
}

static void say_refused(struct be_doc *doc, const char *path, const struct be_err *why)
{
  be_doc_heading(doc, "%s", path);
  char place[80] = "";
  if (why->line && why->column)
    snprintf(place, sizeof place, " at line %zu, column %zu", why->line, why->column);
  else if (why->line) snprintf(place, sizeof place, " at line %zu", why->line);
  be_doc_sentence(doc, "Not read%s: %s.", place, why->what);
  if (why->remedy[0]) be_doc_sentence(doc, "What to do: %s.", why->remedy);
}

enum be_status be_app_read(const char *const *paths, size_t count,
                           const struct be_trace_options *options, struct be_doc **out,
                           struct be_err *err)
{
  struct be_doc *doc = be_doc_create("read", "Traces");
  if (!doc) return be_no_memory(err);
  enum be_status first = BE_OK;
  struct be_table *table = traces_table(doc);
  for (size_t i = 0; i < count && first != BE_NO_MEMORY; i++) {
    struct be_err why = {0};
    enum be_status status = read_one(doc, table, paths[i], options, &why);
    if (status == BE_OK) continue;
    say_refused(doc, paths[i], &why);
    if (first == BE_OK || status == BE_NO_MEMORY) {
      first = status;
      if (err) *err = why;
    }
  }
  bool shown = first == BE_OK || (count > 1 && first != BE_NO_MEMORY);
  be_doc_done(doc, shown ? BE_OK : first, out);
  return first;
}
