/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Load traces without a book: what each file says, and how it was read. */
#include "app/read/found.h"
#include "app/read/layouts.h"
#include "app/survey/survey.h"

#include <stdio.h>
#include <string.h>

/* Tests of one file that are worked out together and shown in full. */
enum { FEW_TESTS = 64 };

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
  if (layout->saved[0])
    be_doc_note(doc, "Recognised by the names of its columns as your layout \"%s\".",
                layout->saved);
  if (layout->delimiter_why[0]) be_doc_note(doc, "Between columns: %s.", layout->delimiter_why);
  if (layout->decimal_why[0]) be_doc_note(doc, "Decimal mark: %s.", layout->decimal_why);
  if (layout->interval_why[0]) be_doc_note(doc, "From row to row: %s.", layout->interval_why);
  be_doc_note(doc, "%s: %s.", layout->sign < 0 ? "The sign is turned" : "The sign stays",
              layout->sign_why);
}

static const char *name_of(const char *path)
{
  const char *slash = strrchr(path, '/');
  return slash ? slash + 1 : path;
}

/* How many tests a file holds, and by what they were parted. */
static void say_tests(struct be_doc *doc, const char *name, const struct be_trace_file *file)
{
  size_t again = 0, beside = 0, headed = 0;
  for (size_t i = 0; i < file->count; i++) {
    again += file->tests[i].continues;
    beside += !file->tests[i].continues && file->tests[i].lane > 0;
  }
  headed = file->count - again - beside;
  be_doc_sentence(doc,
                  "%s holds %zu tests: %zu begin%s under a head, %zu where the time or the "
                  "travel starts again, %zu side by side with another.",
                  name, file->count, headed, headed == 1 ? "s" : "", again, beside);
  if (file->count > FEW_TESTS)
    be_doc_sentence(doc,
                    "The first %d are shown in full, of the others the peak; --csv and --json "
                    "give a row for each.",
                    FEW_TESTS);
}

/* In newtons, like the trace: what was said without a unit is in the file's. */
static double told_N(const struct be_trace *trace, double value, const struct be_unit *unit)
{
  if (!unit) unit = be_trace_unit(trace, BE_ROLE_FORCE, BE_FORCE);
  return value * unit->factor;
}

static struct be_trace_known known_of(const struct be_trace *trace, const struct be_looking *how)
{
  return (struct be_trace_known){
      .filter_Hz = how->filter_Hz,
      .device_peak_N = told_N(trace, how->device_peak, how->device_peak_unit),
      .resolution_N = told_N(trace, how->resolution, how->resolution_unit)};
}

/* ---- reading ---- */

/* Files that are read side by side, as many as are small; a large one alone, by
 * several threads. */
enum { SIDE_BY_SIDE = 8, SMALL_FILE = 4 * 1024 * 1024 };

struct read_file {
  const char *path;
  enum be_status status;
  struct be_err err;
  struct be_trace_file *file;
  struct be_trace_events *events; /* one a test; null when there are many */
};

struct batch {
  struct be_trace_options options;
  const struct be_looking *how;
  size_t count;
  struct read_file files[SIDE_BY_SIDE];
};

static enum be_status find_all(struct read_file *read, const struct be_looking *how)
{
  const struct be_trace_file *file = read->file;
  enum be_status status = BE_OK;
  if (file->count > FEW_TESTS) return BE_OK;
  read->events = be_alloc_array(file->count, sizeof *read->events);
  if (!read->events) return be_no_memory(&read->err);
  for (size_t i = 0; i < file->count && status == BE_OK; i++) {
    const struct be_trace_known known = known_of(&file->tests[i], how);
    status = be_trace_find_with(&file->tests[i], &known, &read->events[i], &read->err);
  }
  return status;
}

static void read_one(void *context, size_t i)
{
  struct batch *batch = context;
  struct read_file *read = &batch->files[i];
  struct be_source *source = NULL;
  read->status = be_source_open(read->path, &source, &read->err);
  if (read->status == BE_OK)
    read->status = be_trace_read(source, &batch->options, &read->file, &read->err);
  be_source_close(source);
  if (read->status == BE_OK) read->status = find_all(read, batch->how);
}

static void free_batch(struct batch *batch)
{
  for (size_t i = 0; i < batch->count; i++) {
    be_free(batch->files[i].events);
    be_trace_file_free(batch->files[i].file);
  }
}

/* Reads the next files of the list; returns how many. */
static size_t read_batch(const char *const *paths, size_t count,
                         const struct be_trace_options *options, const struct be_looking *how,
                         struct batch *batch)
{
  *batch = (struct batch){.options = *options, .how = how};
  while (batch->count < count && batch->count < SIDE_BY_SIDE) {
    size_t size = be_file_size(paths[batch->count]);
    bool small = size > 0 && size <= SMALL_FILE;
    if (!small && batch->count > 0) break;
    batch->files[batch->count].path = paths[batch->count];
    batch->count++;
    if (!small) break;
    if (batch->count > 1) batch->options.threads = 1;
  }
  be_parallel(batch->count, 0, read_one, batch);
  return batch->count;
}

/* ---- saying ---- */

static enum be_status say_test(struct be_doc *doc, struct be_table *table,
                               const struct read_file *read, size_t test,
                               const struct be_looking *how, struct be_err *err)
{
  const struct be_trace *trace = &read->file->tests[test];
  const char *file = name_of(read->path);
  bool several = read->file->count > 1;
  struct be_trace_events events;
  char name[400];
  if (read->events) {
    events = read->events[test];
  } else {
    const struct be_trace_known known = known_of(trace, how);
    enum be_status status = be_trace_find_with(trace, &known, &events, err);
    if (status != BE_OK) return status;
  }
  /* A title tells the tests of one file apart; alone it is a line of the banner. */
  if (!several) snprintf(name, sizeof name, "%.255s", file);
  else if (*trace->title) snprintf(name, sizeof name, "%.255s, %s", file, trace->title);
  else snprintf(name, sizeof name, "%.255s, test %zu", file, test + 1);
  bool in_full = test < FEW_TESTS;
  if (in_full) be_doc_heading(doc, "%s", name);
  be_say_peak(doc, trace, &events, name);
  if (in_full) {
    be_say_events(doc, trace, &events, name);
    be_say_slips(doc, trace, &events);
    be_say_stages(doc, trace, &events);
    be_say_flags(doc, trace, &events);
  }
  if (test == 0) say_layout(doc, trace);
  be_traces_row(table, file, trace, &events);
  if (!in_full && !how->chart_path) return BE_OK;
  struct be_figure *figure =
      be_figure_of_trace(trace, &events, name, be_trace_unit(trace, BE_ROLE_FORCE, BE_FORCE));
  enum be_status status = BE_OK;
  if (how->chart_path)
    status = be_chart_write(figure, how->chart_path, several ? test + 1 : 0, read->path, err);
  if (in_full) be_doc_figure(doc, figure);
  else be_figure_free(figure);
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

static enum be_status say_file(struct be_doc *doc, struct be_table *table, struct read_file *read,
                               const struct be_trace_options *options, const struct be_looking *how)
{
  enum be_status status = read->status;
  if (status == BE_OK && how->keep_layout)
    status = be_layouts_keep(how->keep_layout, read->file->tests[0].layout, options, &read->err);
  if (status == BE_OK && read->file->count > 1) say_tests(doc, name_of(read->path), read->file);
  for (size_t i = 0; status == BE_OK && i < read->file->count; i++)
    status = say_test(doc, table, read, i, how, &read->err);
  if (status == BE_OK) return BE_OK;
  /* A chart that cannot be written has named itself. */
  if (!read->err.file[0]) be_fail_at(&read->err, read->path, 0, 0);
  say_refused(doc, read->path, &read->err);
  return status;
}

/* Files one by one in *doc; the first that could not be read in *err. */
static enum be_status read_all(const char *const *paths, size_t count,
                               const struct be_trace_options *options, const struct be_looking *how,
                               struct be_doc **out, struct be_err *err)
{
  struct be_doc *doc = be_doc_create("read", "Traces");
  if (!doc) return be_no_memory(err);
  enum be_status first = BE_OK;
  struct be_table *table = be_traces_table(doc);
  struct batch batch;
  for (size_t at = 0; at < count && first != BE_NO_MEMORY;) {
    at += read_batch(paths + at, count - at, options, how, &batch);
    for (size_t i = 0; i < batch.count && first != BE_NO_MEMORY; i++) {
      enum be_status status = say_file(doc, table, &batch.files[i], options, how);
      if (status == BE_OK || (first != BE_OK && status != BE_NO_MEMORY)) continue;
      first = status;
      if (err) *err = batch.files[i].err;
    }
    free_batch(&batch);
  }
  bool shown = first == BE_OK || (count > 1 && first != BE_NO_MEMORY);
  be_doc_done(doc, shown ? BE_OK : first, out);
  return first;
}

/* What is told by a saved layout, or else by the user; without either, saved
 * layouts may be recognised. */
static enum be_status choose_layout(const struct be_trace_layouts *layouts,
                                    const struct be_looking *how, struct be_trace_options *options,
                                    struct be_err *err)
{
  options->layouts = layouts;
  if (!how->layout) return BE_OK;
  const struct be_trace_saved *saved = be_layouts_find(layouts, how->layout);
  if (saved) {
    *options = saved->told;
    return BE_OK;
  }
  be_fail(err, BE_WRONG_USE, "there is no saved layout \"%.80s\"", how->layout);
  be_fail_remedy(err, "read --layouts lists them");
  return BE_WRONG_USE;
}

static enum be_status check_looking(const struct be_looking *how, size_t count, struct be_err *err)
{
  if (how->chart_path && count > 1) {
    be_fail(err, BE_WRONG_USE, "--chart takes one trace file");
    be_fail_remedy(err, "read the files one by one, each with a chart of its own");
    return BE_WRONG_USE;
  }
  if (!how->keep_layout || count == 1) return BE_OK;
  be_fail(err, BE_WRONG_USE, "--keep-layout takes one trace file");
  be_fail_remedy(err, "save the layout with one of them, and the others are recognised");
  return BE_WRONG_USE;
}

enum be_status be_app_read(const char *const *paths, size_t count,
                           const struct be_trace_options *options, const struct be_looking *how,
                           struct be_doc **out, struct be_err *err)
{
  static const struct be_looking usual;
  struct be_trace_layouts *layouts = NULL;
  struct be_trace_options chosen = *options;
  if (!how) how = &usual;
  enum be_status status = check_looking(how, count, err);
  if (status == BE_OK) status = be_layouts_load(&layouts, err);
  if (status == BE_OK) status = choose_layout(layouts, how, &chosen, err);
  if (status == BE_OK) status = read_all(paths, count, &chosen, how, out, err);
  be_trace_layouts_free(layouts);
  return status;
}
