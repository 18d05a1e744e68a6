/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the tests of this room share: reading a text, and making pulls. */
#ifndef BE_TRACE_TEST_H
#define BE_TRACE_TEST_H

#include "test.h"
#include "trace/trace.h"

/* Reads text that must be a trace. */
static inline struct be_trace_file *read_with(const char *text, size_t size,
                                              const struct be_trace_options *options)
{
  struct be_trace_file *file = NULL;
  struct be_err err = {0};
  enum be_status status = be_trace_read_bytes(text, size, options, &file, &err);
  if (status != BE_OK) print_error("%zu:%zu: %s\n", err.line, err.column, err.what);
  assert_int_equal(status, BE_OK);
  return file;
}

static inline struct be_trace_file *read_text(const char *text)
{
  return read_with(text, strlen(text), NULL);
}

/* Reads text that must fail; what must be part of the message. */
static inline struct be_err fail_text(const char *text, enum be_status want, const char *what)
{
  struct be_trace_file *file = NULL;
  struct be_err err = {0};
  assert_int_equal(be_trace_read_bytes(text, strlen(text), NULL, &file, &err), want);
  assert_null(file);
  if (!strstr(err.what, what)) print_error("got: %s\n", err.what);
  assert_non_null(strstr(err.what, what));
  assert_int_not_equal(err.remedy[0], 0);
  return err;
}

/* ---- made pulls ---- */

enum { MADE_ROWS = 4000 };

struct made {
  size_t n;
  double force[MADE_ROWS], time[MADE_ROWS], extension[MADE_ROWS];
};

static inline void made_row(struct made *made, double force)
{
  assert_true(made->n < MADE_ROWS);
  size_t i = made->n++;
  made->force[i] = force;
  made->time[i] = 0.02 * (double)i;
  made->extension[i] = 0.9e-4 * (double)i;
}

/* `rows` rows of load running from here to there, the first included. */
static inline void made_ramp(struct made *made, size_t rows, double from, double to)
{
  for (size_t i = 0; i < rows; i++) made_row(made, from + (to - from) * (double)i / (double)rows);
}

static inline void made_noise(struct made *made, double sd, uint64_t seed)
{
  struct be_random random;
  be_random_init(&random, seed, 1);
  for (size_t i = 0; i < made->n; i++) made->force[i] += sd * be_random_normal(&random);
}

static inline struct be_trace_events events_of(struct made *made)
{
  struct be_trace trace = {.n = made->n,
                           .rows = made->n,
                           .force_N = made->force,
                           .time_s = made->time,
                           .extension_m = made->extension,
                           .time_decimals = 2};
  struct be_trace_events events;
  assert_int_equal(be_trace_find(&trace, &events, NULL), BE_OK);
  return events;
}

#endif
