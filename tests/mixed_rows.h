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
  double number[ROWS_MOST], square[ROWS_MOST];
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
  size_t i = rows->data.n;
  assert_true(i < ROWS_MOST);
  if (i >= ROWS_MOST) return;
  rows->data.n++;
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

/* Knots and a number, on lines (with a slope where width says), spools in them, and days. */
static inline void rows_made(struct rows *rows, size_t n, size_t width, uint64_t seed)
{
  struct be_random random;
  double line[9][3], spool[21], day[5];
  be_random_init(&random, seed, 0);
  for (size_t i = 0; i < 9; i++)
    for (size_t c = 0; c < 3; c++) line[i][c] = (c ? 0.2 : 0.5) * be_random_normal(&random);
  for (size_t i = 0; i < 21; i++) spool[i] = 0.3 * be_random_normal(&random);
  for (size_t i = 0; i < 5; i++) day[i] = 0.2 * be_random_normal(&random);
  rows_init(rows, 6);
  rows_term(rows, 0, "line", 9);
  rows_term(rows, 1, "spool", 21);
  rows_term(rows, 2, "day", 5);
  rows->term[0].width = width;
  if (width > 1) rows->term[0].z[1] = rows->number;
  if (width > 2) rows->term[0].z[2] = rows->square;
  for (size_t i = 0; i < n; i++) {
    size_t s = (size_t)(21 * pow(be_random_unit(&random), 1.4)), l = s % 9;
    size_t k = be_random_below(&random, 5), d = be_random_below(&random, 5);
    double x = 3.7 * be_random_unit(&random) - 1.1, y = 4.61 + 0.2 * (double)k + 0.13 * x;
    rows_add(rows, 0);
    rows->number[i] = x;
    rows->square[i] = x * x - 1.7;
    for (size_t c = 0; c < width; c++)
      y += line[l][c] * (c == 0 ? 1 : c == 1 ? x : rows->square[i]);
    rows->y[i] = y + spool[s] + day[d] + 0.25 * be_random_normal(&random);
    rows_factor(rows, k);
    rows_fixed(rows, 5, x);
    rows_level(rows, 0, (double)l);
    rows_level(rows, 1, (double)s);
    rows_level(rows, 2, (double)d);
  }
}

#endif
