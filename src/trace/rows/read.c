/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reading a file: block after block, each a test of its own. */
#include "trace/rows/rows.h"

#include <math.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

struct reading {
  struct be_feed feed;
  const struct be_trace_options *options;
  struct be_trace_options told;       /* by a saved layout */
  const struct be_trace_saved *saved; /* the one that was recognised */
  struct be_keep keep;
  struct be_block block;         /* of the tests being read */
  struct be_trace_layout layout; /* of the last tests */
  struct be_trace_column columns[BE_TRACE_COLUMNS_MAX];
  struct be_lanes lanes;
  struct be_rows_end end;  /* of the last tests */
  struct be_heading force; /* of the first test, for the sign */
  struct be_buf head_line; /* of the last block with one */
  bool gap;
  struct be_err *err;
};

void be_trace_file_free(struct be_trace_file *file)
{
  if (!file) return;
  for (size_t k = 0; k < file->count; k++) {
    struct be_trace *trace = &file->tests[k];
    be_free(trace->force_N);
    be_free(trace->time_s);
    be_free(trace->extension_m);
    be_free(trace->line);
    be_whole_free(trace->whole);
  }
  for (size_t k = 0; k < file->layouts_count; k++) be_free(file->layouts[k]);
  be_free(file->layouts);
  be_free(file->tests);
  be_free(file);
}

/* ---- the columns ---- */

static bool says_nothing(const struct be_block *block)
{
  for (size_t c = 0; c < block->columns_count; c++)
    if (block->headings[c].name[0] || block->headings[c].unit) return false;
  return true;
}

/* A later block without names has the columns of the one before it. */
static enum be_status find_columns(struct reading *r)
{
  if (r->keep.file->count > 0 && r->block.columns_count == r->layout.columns_count &&
      says_nothing(&r->block)) {
    r->layout.header_lines = r->block.header_lines;
    return BE_OK;
  }
  struct be_sample sample;
  enum be_status status = be_sample_take(&r->block, &sample, r->err);
  if (status != BE_OK) return status;
  status = be_columns_assign(&r->block, &sample, r->options, &r->layout, &r->lanes, r->err);
  be_sample_free(&sample);
  r->layout.coding = r->feed.coding;
  if (r->saved) memcpy(r->layout.saved, r->saved->name, sizeof r->layout.saved);
  return status;
}

static bool is_same_layout(const struct be_trace_layout *a, const struct be_trace_layout *b)
{
  return memcmp(a, b, offsetof(struct be_trace_layout, columns)) == 0 &&
         memcmp(a->columns, b->columns, a->columns_count * sizeof *a->columns) == 0;
}

/* The layout as the file keeps it; one like it is shared. */
static enum be_status keep_layout(struct reading *r, const struct be_trace_layout **layout)
{
  struct be_trace_file *file = r->keep.file;
  for (size_t k = file->layouts_count; k-- > 0;)
    if (is_same_layout(file->layouts[k], &r->layout)) {
      *layout = file->layouts[k];
      return BE_OK;
    }
  size_t capacity = be_block_size(file->layouts) / sizeof *file->layouts;
  void *layouts = file->layouts;
  enum be_status status = be_grow(&layouts, &capacity, sizeof *file->layouts,
                                  file->layouts_count + 1, BE_TRACE_TESTS_MAX, r->err);
  file->layouts = layouts;
  size_t columns_size = r->layout.columns_count * sizeof *r->layout.columns;
  struct be_trace_layout *kept = status == BE_OK ? be_alloc(sizeof *kept + columns_size) : NULL;
  if (!kept) return be_fail(r->err, BE_NO_MEMORY, "no memory for a layout");
  memcpy(kept, &r->layout, sizeof *kept);
  kept->columns = (struct be_trace_column *)(kept + 1);
  memcpy(kept->columns, r->layout.columns, columns_size);
  *layout = file->layouts[file->layouts_count++] = kept;
  return BE_OK;
}

/* ---- the tests of one block ---- */

static void scale(double *x, size_t n, double factor)
{
  if (!x || !(factor < 1 || factor > 1)) return;
  for (size_t i = 0; i < n; i++) x[i] *= factor;
}

static void scale_test(struct be_trace *trace, const struct be_roles *roles)
{
  double *force = trace->force_N, factor = roles->scale[BE_ROLE_FORCE], zero = roles->force_zero;
  if (trace->n == 0) return;
  size_t high = 0, low = 0;
  for (size_t i = 1; i < trace->n; i++) {
    if (force[i] > force[high]) high = i;
    if (force[i] < force[low]) low = i;
  }
  trace->as_written = (struct be_as_written){.first = force[0],
                                             .highest = force[high],
                                             .lowest = force[low],
                                             .peak = factor < 0 ? force[low] : force[high]};
  for (size_t i = 0; i < trace->n; i++) force[i] = factor * (force[i] - zero);
  scale(trace->time_s, trace->n, roles->scale[BE_ROLE_TIME]);
  scale(trace->extension_m, trace->n, roles->scale[BE_ROLE_EXTENSION]);
  if (trace->whole) be_whole_scale(trace->whole, roles);
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
  for (size_t i = 0; i < trace->n; i++)
    trace->time_s[i] = (double)(trace->line[i] - trace->line[0]) / rate_Hz;
  return BE_OK;
}

static enum be_status read_tests_of_block(struct reading *r)
{
  struct be_trace_file *file = r->keep.file;
  size_t first = file->count;
  const struct be_trace_layout *layout = NULL;
  be_feed_use(&r->feed, &r->block.rows);
  enum be_status status = keep_layout(r, &layout);
  if (status == BE_OK)
    status = be_rows_read(&r->block, &r->lanes, r->options->threads, &r->feed, &r->keep, &r->end,
                          r->err);
  for (size_t k = first; k < file->count && status == BE_OK; k++) {
    struct be_trace *trace = &file->tests[k];
    trace->layout = layout;
    if (!trace->continues) memcpy(trace->title, r->block.title, sizeof trace->title);
    scale_test(trace, &r->lanes.roles[trace->lane]);
    status = make_times(r, trace);
  }
  return status;
}

/* ---- the next one ---- */

static enum be_status interrupted(struct reading *r)
{
  be_fail(r->err, BE_BAD_INPUT, "\"%s\" in column %zu is not a number", r->end.cell,
          r->end.column ? r->end.column : 1);
  be_fail_at(r->err, NULL, r->feed.line + 1, r->end.column ? r->end.column : 1);
  be_fail_remedy(r->err, "mend that line, or name the columns again where another test starts");
  return BE_BAD_INPUT;
}

static bool same_head(const struct reading *r, struct be_span line)
{
  return r->head_line.size == line.size &&
         (line.size == 0 || memcmp(r->head_line.data, line.text, line.size) == 0);
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
  size_t column = r->lanes.roles[0].column[axis];
  be_cells_split(line, next->delimiter, &cells);
  cell = column < cells.count ? cells.cell[column] : (struct be_span){0};
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
static enum be_status skip_rows(struct reading *r, const struct be_block *block)
{
  struct be_cells cells;
  struct be_lines lines = block->rows;
  struct be_span line;
  double value;
  enum be_status status = BE_OK;
  for (bool row = true; row && status == BE_OK;) {
    be_feed_use(&r->feed, &lines);
    status = be_feed_need_line(&r->feed, r->err);
    lines = be_feed_lines(&r->feed);
    row = false;
    if (status != BE_OK || !be_lines_next(&lines, &line)) break;
    be_cells_split(line, block->delimiter, &cells);
    for (size_t c = 0; c < cells.count && c < BE_TRACE_COLUMNS_MAX; c++)
      row |= be_cell_read(cells.cell[c], block->decimal, &value) == BE_CELL_NUMBER;
  }
  return status;
}

/* ---- looking for a block ---- */

/* Lines of the first `size` bytes of the unread text, or a little less. */
static struct be_lines first_lines(const struct reading *r, size_t size)
{
  struct be_lines lines = be_feed_lines(&r->feed);
  if ((size_t)(lines.end - lines.at) <= size) return lines;
  const char *end = lines.at + size;
  while (end > lines.at && end[-1] != lines.eol) end--;
  lines.end = end;
  return lines;
}

/* Lets the rows of a found block end with its sample. */
static void cut_sample(const struct reading *r, struct be_block *block)
{
  struct be_lines all = be_feed_lines(&r->feed);
  const char *end = all.end;
  if (end - block->rows.at > BE_SAMPLE_SIZE) {
    end = block->rows.at + BE_SAMPLE_SIZE;
    while (end > block->rows.at && end[-1] != all.eol) end--;
  }
  block->rows.end = end;
}

/* Finds the first block, or the one after the last; looks farther as long as
 * there is only text. BE_NO when there is none after the last. */
static enum be_status look_for_block(struct reading *r, bool first, struct be_block *block)
{
  for (size_t size = BE_WINDOW;; size *= 4) {
    enum be_status status = be_feed_need_line(&r->feed, r->err);
    if (status == BE_OK) status = be_feed_fill(&r->feed, size + BE_SAMPLE_SIZE, r->err);
    if (status == BE_OK) status = be_feed_refuse_zeros(&r->feed, size + BE_SAMPLE_SIZE, r->err);
    if (status != BE_OK) return status;
    struct be_lines lines = first_lines(r, size);
    struct be_lines all = be_feed_lines(&r->feed);
    bool whole = r->feed.ended && lines.end == all.end;
    status = first ? be_block_find(lines, r->options, block, r->err)
                   : be_block_next(lines, &r->block, block);
    if (status == BE_OK) cut_sample(r, block);
    if (status == BE_OK || status == BE_ASK || status == BE_NO_MEMORY || whole) return status;
    if (size < BE_HEAD_MAX) continue;
    if (first) return status;
    /* Nothing but text for long: its last part may be a head. */
    bool long_text = lines.end - lines.at > BE_WINDOW;
    size_t left = long_text ? BE_WINDOW : 0;
    while ((size_t)(lines.end - lines.at) > left && be_lines_next(&lines, &(struct be_span){0}))
      continue;
    be_feed_use(&r->feed, &lines);
    if (!long_text) return be_feed_too_long(&r->feed, r->err);
    size = BE_WINDOW / 4;
  }
}

/* Finds the block after the last tests, past summaries; *found is false at the
 * end of the file. */
static enum be_status find_next(struct reading *r, bool *found)
{
  struct be_block next;
  *found = false;
  for (bool summary = false;; summary = true) {
    enum be_status status = look_for_block(r, false, &next);
    if (status == BE_NO) return BE_OK;
    if (status != BE_OK) return status;
    bool like = next.columns_count == r->block.columns_count;
    bool same = same_head(r, next.head_line);
    if (like && !summary && !same && !is_head(r, &next)) return interrupted(r);
    if (same || names_trace(&next) || (like && !next.has_names)) {
      r->block = next;
      *found = true;
      return BE_OK;
    }
    status = skip_rows(r, &next);
    if (status != BE_OK) return status;
  }
}

/* ---- all ---- */

static void set_sign(struct reading *r)
{
  struct be_trace_file *file = r->keep.file;
  int sign;
  char why[120];
  /* A scale that was given has its own sign, and that is the direction. */
  bool scaled = r->options->force_scale_N < 0 || r->options->force_scale_N > 0;
  int told = r->options->sign ? r->options->sign : scaled ? 1 : 0;
  be_sign_find(file, &r->force, r->gap, told, &sign, why);
  for (size_t k = 0; k < file->layouts_count; k++) {
    file->layouts[k]->sign = sign;
    memcpy(file->layouts[k]->sign_why, why, sizeof why);
  }
  for (size_t k = 0; k < file->count && sign < 0; k++) {
    struct be_trace *trace = &file->tests[k];
    /* 0 - x, since -x would make a zero negative. */
    for (size_t i = 0; i < trace->n; i++) trace->force_N[i] = 0 - trace->force_N[i];
    bool was_highest = !(trace->as_written.peak < trace->as_written.highest);
    trace->as_written.peak = was_highest ? trace->as_written.lowest : trace->as_written.highest;
    if (trace->whole) be_whole_turn(trace->whole);
  }
}

static enum be_status read_block(struct reading *r)
{
  enum be_status status = find_columns(r);
  if (status != BE_OK) return status;
  if (r->keep.file->count == 0) {
    size_t extension = r->lanes.roles[0].column[BE_ROLE_EXTENSION];
    r->force = r->block.headings[r->lanes.roles[0].column[BE_ROLE_FORCE]];
    r->gap = extension != BE_NOWHERE && r->block.headings[extension].gap;
  }
  r->head_line.size = 0;
  be_buf_add(&r->head_line, r->block.head_line.text, r->block.head_line.size);
  status = be_buf_status(&r->head_line, r->err);
  return status == BE_OK ? read_tests_of_block(r) : status;
}

/* Looks for the first block as a saved layout would have it; r->saved stays null
 * when none fits. */
static enum be_status recognise(struct reading *r)
{
  const struct be_trace_options *plain = r->options;
  const struct be_trace_layouts *layouts = plain->layouts;
  if (!layouts || be_trace_told(plain)) return BE_OK;
  for (size_t k = 0; k < layouts->count; k++) {
    r->told = layouts->saved[k].told;
    r->told.threads = plain->threads;
    r->options = &r->told;
    enum be_status status = look_for_block(r, true, &r->block);
    if (status == BE_NO_MEMORY || status == BE_FAILED) return status;
    if (status == BE_OK && be_layout_fits(&layouts->saved[k], &r->block)) {
      r->saved = &layouts->saved[k];
      return BE_OK;
    }
  }
  r->options = plain;
  return BE_OK;
}

static enum be_status read_tests(struct reading *r)
{
  bool found = true;
  enum be_status status = recognise(r);
  if (status == BE_OK && !r->saved) status = look_for_block(r, true, &r->block);
  while (status == BE_OK && found) {
    status = read_block(r);
    if (status == BE_OK) status = find_next(r, &found);
  }
  if (status == BE_OK) set_sign(r);
  return status;
}

enum be_status be_trace_read(struct be_source *source, const struct be_trace_options *options,
                             struct be_trace_file **file, struct be_err *err)
{
  static const struct be_trace_options none;
  *file = NULL;
  struct reading *r = be_alloc_array(1, sizeof *r);
  struct be_trace_file *made = be_alloc_array(1, sizeof *made);
  enum be_status status = r && made ? BE_OK : be_fail(err, BE_NO_MEMORY, "no memory for a trace");
  if (status == BE_OK) {
    r->options = options ? options : &none;
    r->keep.file = made;
    r->layout.columns = r->columns;
    r->err = err;
    be_buf_init(&r->head_line, BE_WINDOW);
    status = be_feed_start(&r->feed, source, err);
    if (status == BE_OK) status = read_tests(r);
    be_feed_end(&r->feed);
    be_buf_free(&r->head_line);
  }
  be_free(r);
  if (status == BE_OK) *file = made;
  else be_trace_file_free(made);
  return status;
}

enum be_status be_trace_read_bytes(const char *bytes, size_t size,
                                   const struct be_trace_options *options,
                                   struct be_trace_file **file, struct be_err *err)
{
  struct be_source *source = NULL;
  *file = NULL;
  enum be_status status = be_source_of_bytes(bytes ? bytes : "", size, &source, err);
  if (status == BE_OK) status = be_trace_read(source, options, file, err);
  be_source_close(source);
  return status;
}
