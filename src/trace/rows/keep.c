/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The rows of the tests of one file, in bounded memory. A file may keep
 * BE_KEPT_MAX rows in all. When they are full, the longest test is
 * thinned: of every four rows, the lowest and the highest stay, in their order,
 * and rows that come later are taken in buckets of as many readings. The first
 * and the last row stay too.
 *
 *   rows -> test's arrays                                  while all are kept
 *   rows -> hopper -> summed up (whole.c) -> bucket -> test's arrays    after it */
#include "trace/rows/rows.h"

#include <assert.h>
#include <string.h>

enum { THIN_FROM = 4 };

struct row {
  double column[BE_ROLES];
  size_t line;
};

/* What a test that is being read and thinned needs besides its arrays. */
struct be_hopper {
  size_t n, lead; /* rows in the columns; of these, rows that were summed up before */
  double column[BE_ROLES][BE_LEAD + BE_HOPPER_ROWS];
  size_t line[BE_LEAD + BE_HOPPER_ROWS];
  size_t in_bucket;
  struct row low, high, last;
};

/* ---- arrays ---- */

static double **array_of(struct be_trace *trace, int role)
{
  return role == BE_ROLE_TIME    ? &trace->time_s
         : role == BE_ROLE_FORCE ? &trace->force_N
                                 : &trace->extension_m;
}

/* Rows that every array has room for. */
static size_t capacity_of(struct be_trace *trace)
{
  size_t least = be_block_size(trace->line) / sizeof *trace->line;
  for (int role = BE_ROLE_TIME; role < BE_ROLES; role++) {
    double *array = *array_of(trace, role);
    size_t capacity = be_block_size(array) / sizeof *array;
    if (array && capacity < least) least = capacity;
  }
  return least;
}

static enum be_status grow(struct be_trace *trace, size_t rows, struct be_err *err)
{
  enum be_status status = BE_OK;
  if (rows <= capacity_of(trace)) return BE_OK;
  for (int role = BE_ROLE_TIME; role < BE_ROLES && status == BE_OK; role++) {
    double **array = array_of(trace, role);
    size_t capacity = be_block_size(*array) / sizeof(double);
    void *block = *array;
    if (!*array) continue;
    status = be_grow(&block, &capacity, sizeof(double), rows, BE_TRACE_ROWS_MAX, err);
    *array = block;
  }
  size_t capacity = be_block_size(trace->line) / sizeof *trace->line;
  void *line = trace->line;
  if (status == BE_OK)
    status = be_grow(&line, &capacity, sizeof *trace->line, rows, BE_TRACE_ROWS_MAX, err);
  trace->line = line;
  return status;
}

/* Giving back what is not needed cannot fail in a way that matters. */
static void give_back(struct be_trace *trace)
{
  for (int role = BE_ROLE_TIME; role < BE_ROLES; role++) {
    double **array = array_of(trace, role);
    void *less = *array ? be_resize(*array, (trace->n + 1) * sizeof(double)) : NULL;
    if (less) *array = less;
  }
  void *less = trace->line ? be_resize(trace->line, (trace->n + 1) * sizeof *trace->line) : NULL;
  if (less) trace->line = less;
}

static void copy_row(struct be_trace *trace, size_t to, size_t from)
{
  for (int role = BE_ROLE_TIME; role < BE_ROLES; role++)
    if (*array_of(trace, role)) (*array_of(trace, role))[to] = (*array_of(trace, role))[from];
  trace->line[to] = trace->line[from];
}

static enum be_status append_row(struct be_keep *keep, struct be_trace *trace,
                                 const struct row *row, struct be_err *err)
{
  enum be_status status = grow(trace, trace->n + 1, err);
  if (status != BE_OK) return status;
  for (int role = BE_ROLE_TIME; role < BE_ROLES; role++)
    if (*array_of(trace, role)) (*array_of(trace, role))[trace->n] = row->column[role];
  trace->line[trace->n++] = row->line;
  keep->rows++;
  return BE_OK;
}

/* ---- thinning ---- */

/* Of four rows from `from`, keeps the lowest and the highest at `to`. */
static void thin_four(struct be_trace *trace, size_t to, size_t from)
{
  const double *force = trace->force_N;
  size_t low = from, high = from;
  for (size_t i = from + 1; i < from + THIN_FROM; i++) {
    if (force[i] < force[low]) low = i;
    if (force[i] > force[high]) high = i;
  }
  /* A level stretch keeps its two ends. */
  if (low == high) low = from, high = from + THIN_FROM - 1;
  copy_row(trace, to, low < high ? low : high);
  copy_row(trace, to + 1, low < high ? high : low);
}

static enum be_status thin(struct be_keep *keep, struct be_trace *trace, struct be_err *err)
{
  if (!trace->whole) {
    trace->whole = be_whole_create(trace);
    if (!trace->whole) return be_fail(err, BE_NO_MEMORY, "no memory for a long trace");
  }
  size_t to = 1, from = 1;
  for (; from + THIN_FROM <= trace->n; from += THIN_FROM, to += THIN_FROM / 2)
    thin_four(trace, to, from);
  for (; from < trace->n; from++) copy_row(trace, to++, from);
  trace->whole->bucket = trace->whole->bucket ? 2 * trace->whole->bucket : THIN_FROM;
  keep->rows -= trace->n - to;
  trace->n = to;
  be_whole_fit(trace->whole, to);
  return BE_OK;
}

/* Thins the longest tests while the rows are full; nothing is left to thin when
 * every test is short. */
static enum be_status make_room(struct be_keep *keep, struct be_err *err)
{
  enum be_status status = BE_OK;
  while (status == BE_OK && keep->rows >= BE_KEPT_MAX) {
    struct be_trace *longest = NULL;
    for (size_t k = 0; k < keep->file->count; k++)
      if (!longest || keep->file->tests[k].n > longest->n) longest = &keep->file->tests[k];
    if (!longest || longest->n < BE_LEAST_ROWS) return BE_OK;
    status = thin(keep, longest, err);
    if (status == BE_OK && !longest->whole->hopper) give_back(longest);
  }
  return status;
}

/* ---- rows of a thinned test ---- */

static struct row hopper_row(const struct be_hopper *hopper, size_t i)
{
  struct row row = {.line = hopper->line[i]};
  for (int role = BE_ROLE_TIME; role < BE_ROLES; role++) row.column[role] = hopper->column[role][i];
  return row;
}

/* Puts the lowest and the highest row of the bucket to the others. */
static enum be_status end_bucket(struct be_keep *keep, size_t test, struct be_err *err)
{
  struct be_trace *trace = &keep->file->tests[test];
  struct be_hopper *hopper = trace->whole->hopper;
  bool low_first = hopper->low.line <= hopper->high.line,
       one = hopper->low.line == hopper->high.line;
  const struct row *first = low_first ? &hopper->low : &hopper->high;
  const struct row *second = low_first ? &hopper->high : &hopper->low;
  if (hopper->in_bucket == 0) return BE_OK;
  hopper->in_bucket = 0;
  enum be_status status = append_row(keep, trace, first, err);
  if (status == BE_OK && !one) status = append_row(keep, trace, second, err);
  if (status == BE_OK) status = make_room(keep, err);
  return status;
}

/* Puts rows [from, to) of the hopper into the bucket. */
static void fill_bucket(struct be_hopper *hopper, size_t from, size_t to)
{
  const double *force = hopper->column[BE_ROLE_FORCE];
  size_t low = from, high = from;
  for (size_t i = from + 1; i < to; i++) {
    if (force[i] < force[low]) low = i;
    if (force[i] > force[high]) high = i;
  }
  bool first = hopper->in_bucket == 0;
  if (first || force[low] < hopper->low.column[BE_ROLE_FORCE])
    hopper->low = hopper_row(hopper, low);
  if (first || force[high] > hopper->high.column[BE_ROLE_FORCE])
    hopper->high = hopper_row(hopper, high);
  hopper->in_bucket += to - from;
}

static enum be_status hopper_empty(struct be_keep *keep, size_t test, struct be_err *err)
{
  struct be_trace *trace = &keep->file->tests[test];
  struct be_hopper *hopper = trace->whole->hopper;
  struct be_batch rows = {.n = hopper->n};
  enum be_status status = BE_OK;
  for (int role = BE_ROLE_TIME; role < BE_ROLES; role++)
    rows.column[role] = *array_of(trace, role) ? hopper->column[role] : NULL;
  be_whole_add(trace->whole, &rows, hopper->lead);
  for (size_t i = hopper->lead; i < hopper->n && status == BE_OK;) {
    size_t left = hopper->n - i, missing = trace->whole->bucket - hopper->in_bucket;
    size_t n = left < missing ? left : missing;
    fill_bucket(hopper, i, i + n);
    i += n;
    if (n == missing) status = end_bucket(keep, test, err);
  }
  if (hopper->n > hopper->lead) hopper->last = hopper_row(hopper, hopper->n - 1);
  size_t lead = hopper->n < BE_LEAD ? hopper->n : BE_LEAD, from = hopper->n - lead;
  for (int role = BE_ROLE_TIME; role < BE_ROLES; role++)
    memmove(hopper->column[role], hopper->column[role] + from, lead * sizeof(double));
  memmove(hopper->line, hopper->line + from, lead * sizeof *hopper->line);
  hopper->n = hopper->lead = lead;
  return status;
}

/* The first hopper of a test: its lead are the rows before it. */
static enum be_status hopper_open(struct be_trace *trace, struct be_err *err)
{
  struct be_hopper *hopper = be_alloc_array(1, sizeof *hopper);
  if (!hopper) return be_fail(err, BE_NO_MEMORY, "no memory for a long trace");
  trace->whole->hopper = hopper;
  const struct be_tail *tail = &trace->whole->tail;
  for (int role = BE_ROLE_TIME; role < BE_ROLES; role++)
    memcpy(hopper->column[role], tail->column[role], tail->n * sizeof(double));
  hopper->n = hopper->lead = tail->n;
  return BE_OK;
}

static enum be_status hopper_add(struct be_keep *keep, size_t test, const struct be_batch *rows,
                                 struct be_err *err)
{
  struct be_trace *trace = &keep->file->tests[test];
  enum be_status status = trace->whole->hopper ? BE_OK : hopper_open(trace, err);
  for (size_t at = 0; at < rows->n && status == BE_OK;) {
    struct be_hopper *hopper = trace->whole->hopper;
    size_t room = BE_LEAD + BE_HOPPER_ROWS - hopper->n, left = rows->n - at;
    size_t n = left < room ? left : room;
    for (int role = BE_ROLE_TIME; role < BE_ROLES; role++)
      if (rows->column[role])
        memcpy(hopper->column[role] + hopper->n, rows->column[role] + at, n * sizeof(double));
    for (size_t i = 0; i < n; i++) hopper->line[hopper->n + i] = rows->line + at + i;
    hopper->n += n;
    at += n;
    if (n == room) status = hopper_empty(keep, test, err);
  }
  return status;
}

/* ---- use ---- */

enum be_status be_keep_open(struct be_keep *keep, const struct be_roles *roles, size_t *test,
                            struct be_err *err)
{
  void *tests = keep->file->tests;
  enum be_status status = be_grow(&tests, &keep->capacity, sizeof *keep->file->tests,
                                  keep->file->count + 1, BE_TRACE_TESTS_MAX, err);
  keep->file->tests = tests;
  if (status != BE_OK) return status;
  *test = keep->file->count;
  struct be_trace *trace = &keep->file->tests[keep->file->count++];
  *trace = (struct be_trace){0};
  for (int role = BE_ROLE_TIME; role < BE_ROLES; role++) {
    if (roles->column[role] == BE_NOWHERE) continue;
    *array_of(trace, role) = be_alloc(0);
    if (!*array_of(trace, role)) return be_fail(err, BE_NO_MEMORY, "no memory for a trace");
  }
  return BE_OK;
}

bool be_keep_has_room(const struct be_keep *keep, size_t tests, size_t rows)
{
  /* A hopper may hold rows of before, and its end adds three. */
  return keep->rows + tests * (rows + BE_HOPPER_ROWS + 3) < BE_KEPT_MAX;
}

enum be_status be_keep_rows(struct be_keep *keep, size_t test, const struct be_batch *rows,
                            struct be_err *err)
{
  size_t at = 0;
  enum be_status status = make_room(keep, err);
  keep->file->tests[test].rows += rows->n;
  while (status == BE_OK && at < rows->n && !keep->file->tests[test].whole) {
    struct be_trace *trace = &keep->file->tests[test];
    size_t full = keep->rows < BE_KEPT_MAX ? BE_KEPT_MAX - keep->rows : BE_LEAST_ROWS - trace->n;
    size_t n = rows->n - at < full ? rows->n - at : full;
    status = grow(trace, trace->n + n, err);
    if (status != BE_OK) break;
    for (int role = BE_ROLE_TIME; role < BE_ROLES; role++)
      if (rows->column[role] && *array_of(trace, role))
        memcpy(*array_of(trace, role) + trace->n, rows->column[role] + at, n * sizeof(double));
    for (size_t i = 0; i < n; i++) trace->line[trace->n + i] = rows->line + at + i;
    trace->n += n;
    keep->rows += n;
    at += n;
    status = make_room(keep, err);
  }
  if (status != BE_OK || at == rows->n) return status;
  struct be_batch rest = {.n = rows->n - at, .line = rows->line + at};
  for (int role = BE_ROLE_TIME; role < BE_ROLES; role++)
    rest.column[role] = rows->column[role] ? rows->column[role] + at : NULL;
  return hopper_add(keep, test, &rest, err);
}

enum be_status be_keep_close(struct be_keep *keep, size_t test, struct be_err *err)
{
  struct be_trace *trace = &keep->file->tests[test];
  enum be_status status = BE_OK;
  if (trace->whole && trace->whole->hopper) {
    bool more = trace->whole->hopper->n > trace->whole->hopper->lead;
    if (more) status = hopper_empty(keep, test, err);
    if (status == BE_OK) status = end_bucket(keep, test, err);
    const struct row *last = &trace->whole->hopper->last;
    if (status == BE_OK && last->line && trace->line[trace->n - 1] != last->line)
      status = append_row(keep, trace, last, err);
    be_free(trace->whole->hopper);
    trace->whole->hopper = NULL;
  }
  give_back(trace);
  return status;
}
