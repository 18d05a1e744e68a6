/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows of a mixed model, built up one by one for a test. */
#ifndef BE_MIXED_ROWS_H
#define BE_MIXED_ROWS_H

#include "stats/mixed/mixed.h"
#include "test.h"

enum { ROWS_MOST = 1200, ROW_ENTRIES = 16, ROW_TERMS = 4 };

struct rows {
  struct be_mixed_data data;
  double y[ROWS_MOST];
  bool bound[ROWS_MOST];
  size_t start[ROWS_MOST + 1];
  uint32_t column[ROWS_MOST * ROW_ENTRIES];
  double value[ROWS_MOST * ROW_ENTRIES];
  uint32_t level[ROW_TERMS][ROWS_MOST];
  double number[ROWS_MOST];
  struct be_mixed_term term[ROW_TERMS];
};

static inline void rows_init(struct rows *rows, size_t columns)
{
  memset(rows, 0, sizeof *rows);
  rows->data = (struct be_mixed_data){.y = rows->y, .terms = rows->term};
  rows->data.fixed = (struct be_mixed_design){columns, rows->start, rows->column, rows->value};
}

static inline void rows_add(struct rows *rows, double y)
{
  size_t i = rows->data.n++;
  if (i >= ROWS_MOST) fail_msg("more than %d rows", ROWS_MOST);
  rows->y[i] = y;
  rows->start[i + 1] = rows->start[i];
}

/* To the last row; columns must rise. */
static inline void rows_fixed(struct rows *rows, size_t column, double value)
{
  size_t *end = &rows->start[rows->data.n];
  rows->column[*end] = (uint32_t)column;
  rows->value[(*end)++] = value;
}

/* The intercept, and a column for each level of a factor but its first. */
static inline void rows_factor(struct rows *rows, size_t level)
{
  rows_fixed(rows, 0, 1);
  if (level > 0) rows_fixed(rows, level, 1);
}

static inline void rows_term(struct rows *rows, size_t t, const char *name, size_t levels)
{
  rows->term[t] = (struct be_mixed_term){name, rows->level[t], levels, 1, {NULL, NULL, NULL}};
  if (t + 1 > rows->data.term_count) rows->data.term_count = t + 1;
}

static inline void rows_level(struct rows *rows, size_t t, double level)
{
  rows->level[t][rows->data.n - 1] = (uint32_t)level;
}

static inline void rows_bound(struct rows *rows)
{
  rows->bound[rows->data.n - 1] = true;
  rows->data.bound = rows->bound;
}

static inline struct be_mixed *rows_fit(const struct rows *rows, enum be_mixed_method method)
{
  struct be_mixed *fit;
  struct be_err err = {0};
  if (be_mixed_fit(&rows->data, method, &fit, &err) != BE_OK) fail_msg("%s", err.what);
  return fit;
}

/* One coefficient with what is known of it. */
static inline struct be_mixed_contrast rows_coefficient(const struct be_mixed *fit, size_t column)
{
  const uint32_t which = (uint32_t)column;
  const double weight = 1;
  struct be_mixed_contrast contrast;
  be_mixed_contrast(fit, &which, &weight, 1, 0.95, &contrast);
  return contrast;
}

static inline double rows_deviation(const struct be_mixed *fit, size_t term)
{
  double covariance[BE_MIXED_WIDTH_MAX * BE_MIXED_WIDTH_MAX];
  be_mixed_term_covariance(fit, term, covariance);
  return sqrt(covariance[0]);
}

#endif
