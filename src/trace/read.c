/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reading a file: block after block, each a test of its own. */
#include "trace/inside.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

struct reading {
  struct be_text text;
  const struct be_trace_options *options;
  struct be_trace_file *file;
  size_t capacity;
  struct be_block block;         /* of the test being read */
  struct be_trace_layout layout; /* of the last test */
  struct be_lanes lanes;
  struct be_rows_end end;  /* of the last test */
  struct be_heading force; /* of the first test, for the sign */
  bool gap;
  struct be_err *err;
};

static void free_test(struct be_trace *trace)
{
  be_free(trace->force_N);
  be_free(trace->time_s);
  be_free(trace->extension_m);
  be_free(trace->line);
  be_free(trace->force_as_written);
}

void be_trace_file_free(struct be_trace_file *file)
{
  if (!file) return;
  for (size_t k = 0; k < file->count; k++) free_test(&file->tests[k]);
  be_free(file->tests);
  be_free(file);
}

/* ---- one test ---- */

static bool says_nothing(const struct be_block *block)
{
  for (size_t c = 0; c < block->columns_count; c++)
    if (block->headings[c].name[0] || block->headings[c].unit) return false;
  return true;
}

/* A later block without names has the columns of the one before it. */
static enum be_status find_columns(struct reading *r)
{
  if (r->file->count > 0 && r->block.columns_count == r->layout.columns_count &&
      (r->end.restarts || says_nothing(&r->block))) {
    r->layout.header_lines = r->block.header_lines;
    return BE_OK;
  }
  struct be_sample sample;
  enum be_status status = be_sample_take(&r->block, &sample, r->err);
  if (status != BE_OK) return status;
  status = be_columns_assign(&r->block, &sample, r->options, &r->layout, &r->lanes, r->err);
  be_sample_free(&sample);
  r->layout.coding = r->text.coding;
  return status;
}

static void scale(double *x, size_t n, double factor)
{
  if (!x || !(factor < 1 || factor > 1)) return;
  for (size_t i = 0; i < n; i++) x[i] *= factor;
}

static enum be_status scale_force(struct reading *r, struct be_trace *trace)
{
  trace->force_N = be_alloc((trace->n + 1) * sizeof(double));
  if (!trace->force_N) return be_fail(r->err, BE_NO_MEMORY, "no memory for %zu rows", trace->n);
  for (size_t i = 0; i < trace->n; i++)
    trace->force_N[i] = r->lanes.roles[0].scale[BE_ROLE_FORCE] *
                        (trace->force_as_written[i] - r->lanes.roles[0].force_zero);
  return BE_OK;
}

static enum be_status make_times(struct reading *r, struct be_trace *trace)
{
  double rate_Hz = r->options->rate_Hz;
  if (!(rate_Hz > 0) && r->layout.interval_s > 0) {
    /* 0.0005 s is 2000 Hz: division by whole hertz gives the nearest double to
     * each time, as if it had been written in the file. */
    rate_Hz = 1 / r->layout.interval_s;
    if (fabs(rate_Hz - round(rate_Hz)) < 1e-9 * rate_Hz) rate_Hz = round(rate_Hz);
  }
  if (trace->time_s || !(rate_Hz > 0)) return BE_OK;
  trace->time_s = be_alloc_array(trace->n + 1, sizeof(double));
  if (!trace->time_s) return be_fail(r->err, BE_NO_MEMORY, "no memory for %zu rows", trace->n);
  for (size_t i = 0; i < trace->n; i++) trace->time_s[i] = (double)i / rate_Hz;
  return BE_OK;
}

static enum be_status read_test(struct reading *r)
{
  void *tests = r->file->tests;
  enum be_status status = be_grow(&tests, &r->capacity, sizeof *r->file->tests, r->file->count + 1,
                                  BE_TRACE_TESTS_MAX, r->err);
  r->file->tests = tests;
  if (status != BE_OK) return status;
  struct be_trace *trace = &r->file->tests[r->file->count++];
  *trace = (struct be_trace){0};
  status = be_rows_read(&r->block, &r->lanes.roles[0], trace, &r->end, r->err);
  if (status != BE_OK) return status;
  trace->layout = r->layout;
  memcpy(trace->title, r->block.title, sizeof trace->title);
  scale(trace->time_s, trace->n, r->lanes.roles[0].scale[BE_ROLE_TIME]);
  scale(trace->extension_m, trace->n, r->lanes.roles[0].scale[BE_ROLE_EXTENSION]);
  status = scale_force(r, trace);
  return status == BE_OK ? make_times(r, trace) : status;
}

/* ---- the next one ---- */

static enum be_status interrupted(struct reading *r)
{
  be_fail(r->err, BE_BAD_INPUT, "\"%s\" in column %zu is not a number", r->end.cell,
          r->end.column ? r->end.column : 1);
  be_fail_at(r->err, NULL, r->end.next.number + 1, r->end.column ? r->end.column : 1);
  be_fail_remedy(r->err, "mend that line, or name the columns again where another test starts");
  return BE_BAD_INPUT;
}

static bool same_line(struct be_span a, struct be_span b)
{
  return a.size == b.size && (a.size == 0 || memcmp(a.text, b.text, a.size) == 0);
}

/* Does the text above the rows of `next` look like the head of another test,
 * or did a stray line interrupt this one? */
static bool is_head(const struct reading *r, const struct be_block *next)
{
  struct be_lines lines = next->rows;
  struct be_span line, cell;
  struct be_cells cells;
  double value = NAN;
  if (next->columns_count == 1)
    return next->header_lines > 1 || next->headings[0].unit ||
           be_text_is_heading(next->head_line) ||
           memchr(next->head_line.text, ' ', next->head_line.size) != NULL;
  for (size_t c = 0; c < next->columns_count; c++)
    if (next->headings[c].unit || (next->has_names && be_text_is_heading(next->head_line)))
      return true;
  if (!next->title[0]) return false;
  /* Only a title: another test if its axis starts again, or there is none. */
  if (isnan(r->end.axis_last) || !be_lines_next(&lines, &line)) return true;
  enum be_role axis =
      r->lanes.roles[0].column[BE_ROLE_TIME] != BE_NOWHERE ? BE_ROLE_TIME : BE_ROLE_EXTENSION;
  be_cells_split(line, next->delimiter, &cells);
  cell = r->lanes.roles[0].column[axis] < cells.count ? cells.cell[r->lanes.roles[0].column[axis]]
                                                      : (struct be_span){0};
  be_cell_read(cell, next->decimal, &value);
  return !(value > r->end.axis_last);
}

/* A force by name that is a reading, not "maximum force", and an axis. */
static bool names_trace(const struct be_block *block)
{
  enum { READING = 30 };
  bool force = false, axis = block->columns_count == 1;
  for (size_t c = 0; c < block->columns_count; c++) {
    const struct be_heading *heading = &block->headings[c];
    bool bare = !heading->name[0] && heading->unit && heading->unit->dimension == BE_FORCE;
    force |= bare || heading->says.score[BE_ROLE_FORCE] >= READING;
    axis |=
        heading->says.score[BE_ROLE_TIME] > 0 || heading->says.score[BE_ROLE_EXTENSION] > 0 || bare;
  }
  return force && axis;
}

/* Past the rows of a block that is no trace. */
static void skip_rows(struct reading *r, const struct be_block *block)
{
  struct be_lines lines = block->rows, before = lines;
  struct be_span line;
  struct be_cells cells;
  double value;
  for (bool row = true; row;) {
    before = lines;
    row = false;
    if (!be_lines_next(&lines, &line)) break;
    be_cells_split(line, block->delimiter, &cells);
    for (size_t c = 0; c < cells.count && c < BE_TRACE_COLUMNS_MAX; c++)
      row |= be_cell_read(cells.cell[c], block->decimal, &value) == BE_CELL_NUMBER;
  }
  r->end.next = before;
}

/* Finds the block after the last test, past summaries; *found is false at the
 * end of the file. */
static enum be_status find_next(struct reading *r, bool *found)
{
  struct be_block next;
  *found = true;
  if (r->end.restarts) {
    r->block.rows = r->end.next;
    r->block.header_lines = 0;
    r->block.title[0] = '\0';
    return BE_OK;
  }
  for (bool summary = false; r->end.next.at != r->end.next.end; summary = true) {
    if (be_block_next(r->end.next, &r->block, &next) != BE_OK) break;
    bool like = next.columns_count == r->block.columns_count;
    bool same = same_line(next.head_line, r->block.head_line);
    if (like && !summary && !same && !is_head(r, &next)) return interrupted(r);
    if (same || names_trace(&next) || (like && !next.has_names)) {
      r->block = next;
      return BE_OK;
    }
    skip_rows(r, &next);
  }
  *found = false;
  return BE_OK;
}

static void set_sign(struct reading *r)
{
  int sign;
  char why[120];
  /* A scale that was given has its own sign, and that is the direction. */
  bool scaled = r->options->force_scale_N < 0 || r->options->force_scale_N > 0;
  int told = r->options->sign ? r->options->sign : scaled ? 1 : 0;
  be_sign_find(r->file, &r->force, r->gap, told, &sign, why);
  for (size_t k = 0; k < r->file->count; k++) {
    struct be_trace *trace = &r->file->tests[k];
    trace->layout.sign = sign;
    memcpy(trace->layout.sign_why, why, sizeof why);
    /* 0 - x, since -x would make a zero negative. */
    for (size_t i = 0; sign < 0 && i < trace->n; i++) trace->force_N[i] = 0 - trace->force_N[i];
  }
}

static enum be_status read_tests(struct reading *r)
{
  struct be_lines lines = {r->text.data, r->text.data + r->text.size, 0, r->text.eol};
  bool found = true;
  enum be_status status = be_block_find(lines, r->options, &r->block, r->err);
  while (status == BE_OK && found) {
    status = find_columns(r);
    if (status == BE_OK && r->file->count == 0) {
      size_t extension = r->lanes.roles[0].column[BE_ROLE_EXTENSION];
      r->force = r->block.headings[r->lanes.roles[0].column[BE_ROLE_FORCE]];
      r->gap = extension != BE_NOWHERE && r->block.headings[extension].gap;
    }
    if (status == BE_OK) status = read_test(r);
    if (status == BE_OK) status = find_next(r, &found);
  }
  if (status == BE_OK) set_sign(r);
  return status;
}

enum be_status be_trace_read(const char *bytes, size_t size, const struct be_trace_options *options,
                             struct be_trace_file **file, struct be_err *err)
{
  static const struct be_trace_options none;
  assert(bytes || size == 0);
  struct reading r = {.options = options ? options : &none, .err = err};
  *file = NULL;
  enum be_status status = be_text_decode(bytes ? bytes : "", size, &r.text, err);
  if (status != BE_OK) return status;
  r.file = be_alloc_array(1, sizeof *r.file);
  status = r.file ? read_tests(&r) : be_fail(err, BE_NO_MEMORY, "no memory for a trace");
  be_text_free(&r.text);
  if (status != BE_OK) be_trace_file_free(r.file);
  else *file = r.file;
  return status;
}
