/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the published checks of mixed models share: rows, columns of a file, and that a fit is
 * settled. */
#ifndef BE_PUBLISHED_MIXED_FITS_H
#define BE_PUBLISHED_MIXED_FITS_H

#include "mixed_rows.h"
#include "published/data.h"

static struct rows rows;

/* Columns 1, 2, ... of a file into x. */
static inline size_t read_file(const char *name, size_t columns, double x[][ROWS_MOST])
{
  size_t n = 0;
  for (size_t c = 0; c < columns; c++) n = read_numbers(name, c, x[c], ROWS_MOST);
  return n;
}

static double table[8][ROWS_MOST];

static inline void fit_is_settled(const struct be_mixed *fit)
{
  const struct be_mixed_summary *summary = be_mixed_summary(fit);
  assert_true(summary->converged);
  assert_null(summary->why);
  assert_true(summary->decrement < 1e-7);
  assert_true(summary->evaluations > 5 || summary->parameters == 0);
}

#endif
