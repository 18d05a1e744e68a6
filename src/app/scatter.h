/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How much one pull scatters, by what the book knows: what planning goes by. */
#ifndef BE_APP_SCATTER_H
#define BE_APP_SCATTER_H

#include "app/survey.h"

/* Of the log of one pull of a cell, from the variance of the mean, so that what is known now is
 * what the other commands say. n counts the degrees of freedom and one; 0 where it is not known. */
struct be_summary be_cell_scatter(const struct cell *cell, bool by_share);

/* Squares of deviations, pooled. */
struct scatter_pool {
  double squares, df;
};
void be_pool_add(struct scatter_pool *pool, const struct be_summary *scatter);

#endif
