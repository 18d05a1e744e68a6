/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which direction of the force is the pull. Words decide first, then a gap that
 * closes under pressure, then loads that lie all on one side. Otherwise the
 * file's own sign stays, and the layout says that it was a guess. */
#include "trace/rows/rows.h"

#include <math.h>
#include <stdio.h>

/* One side is clear when its loads are five times those of the other: the
 * swing back after a break reaches a third of the peak in real traces. */
static const double clear_ratio = 5;

struct sides {
  double above, below;            /* largest load on each side of zero */
  double from_start, under_start; /* the same from each test's first reading */
};

static struct sides sides_of(const struct be_trace_file *file)
{
  struct sides sides = {0};
  for (size_t k = 0; k < file->count; k++) {
    const struct be_trace *trace = &file->tests[k];
    double most = trace->as_written.highest, least = trace->as_written.lowest;
    if (trace->n == 0) continue;
    sides.above = fmax(sides.above, most);
    sides.below = fmax(sides.below, -least);
    sides.from_start = fmax(sides.from_start, most - trace->as_written.first);
    sides.under_start = fmax(sides.under_start, trace->as_written.first - least);
  }
  return sides;
}

/* Sum over the tests of the covariance of force and gap, as a correlation. */
static double gap_correlation(const struct be_trace_file *file)
{
  double both = 0, force2 = 0, gap2 = 0, n = 0, force_mean = 0, gap_mean = 0;
  for (int pass = 0; pass < 2; pass++) {
    for (size_t k = 0; k < file->count; k++) {
      const struct be_trace *trace = &file->tests[k];
      for (size_t i = 0; trace->extension_m && i < trace->n; i++) {
        double force = trace->force_N[i], gap = trace->extension_m[i];
        if (isnan(gap)) continue;
        if (pass == 0) {
          force_mean += force;
          gap_mean += gap;
          n++;
        } else {
          both += (force - force_mean) * (gap - gap_mean);
          force2 += (force - force_mean) * (force - force_mean);
          gap2 += (gap - gap_mean) * (gap - gap_mean);
        }
      }
    }
    if (n < 3) return 0;
    if (pass == 0) force_mean /= n, gap_mean /= n;
  }
  double scale = sqrt(force2) * sqrt(gap2);
  return scale > 0 && isfinite(scale) ? both / scale : 0;
}

void be_sign_find(const struct be_trace_file *file, const struct be_heading *force,
                  bool extension_is_gap, int told, int *sign, char why[120])
{
  const size_t size = 120;
  *sign = told > 0 ? 1 : told < 0 ? -1 : force->direction;
  if (*sign) {
    snprintf(why, size, "%s",
             told        ? "as told"
             : *sign > 0 ? "the column is named for pulling"
                         : "the column is named for pressing");
    return;
  }
  struct sides sides = sides_of(file);
  double correlation = extension_is_gap ? gap_correlation(file) : 0;
  *sign = 1;
  if (fabs(correlation) > 0.2) {
    *sign = correlation < 0 ? -1 : 1;
    snprintf(why, size, "the force %s as the gap closes: pulling is %s",
             correlation < 0 ? "rises" : "falls", correlation < 0 ? "negative" : "positive");
  } else if (sides.below >= clear_ratio * sides.above &&
             sides.under_start >= clear_ratio * sides.from_start && sides.below > 0) {
    *sign = -1;
    snprintf(why, size, "the loads go down to %.6g and hardly above zero", -sides.below);
  } else if (sides.above >= clear_ratio * sides.below) {
    snprintf(why, size, "the loads are positive");
  } else if (sides.above > sides.below) {
    snprintf(why, size, "the larger loads are positive, though some reach %.6g", -sides.below);
  } else {
    snprintf(why, size, "a guess: loads reach %.6g and %.6g and nothing tells which is the pull",
             sides.above, -sides.below);
  }
}
