/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/scatter.h"

#include <math.h>

struct be_summary be_cell_scatter(const struct cell *cell, bool by_share)
{
  const struct be_estimate *mean = by_share ? &cell->share : &cell->pooled;
  if (!(mean->variance > 0) || !(mean->df > 0)) return (struct be_summary){.n = 0, .sd = NAN};
  return (struct be_summary){.n = (size_t)mean->df + 1,
                             .sd = sqrt((double)cell->n * mean->variance) / mean->value};
}

void be_pool_add(struct scatter_pool *pool, const struct be_summary *scatter)
{
  if (scatter->n < 2) return;
  double df = (double)(scatter->n - 1);
  pool->squares += df * scatter->sd * scatter->sd;
  pool->df += df;
}
