/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The classes in which records of line are kept: whole kilograms, and what is said for them in
 * pounds by custom. IGFA International Angling Rules, "Line classes". */
#include "units/units.h"

#define CLASS(kg, lb)                                                                              \
  {                                                                                                \
    (kg) * 9.80665, kg, lb                                                                         \
  }

static const struct be_line_class classes[] = {
    CLASS(1, 2),   CLASS(2, 4),   CLASS(3, 6),   CLASS(4, 8),   CLASS(6, 12),  CLASS(8, 16),
    CLASS(10, 20), CLASS(15, 30), CLASS(24, 50), CLASS(37, 80), CLASS(60, 130)};

const struct be_line_class *be_line_class_of(double force_N)
{
  /* Loads come from decimals of other units: a kilogram is not to miss its class by a last bit. */
  const double slack = 1 + 1e-12;
  if (!(force_N > 0)) return NULL;
  for (size_t i = 0; i < sizeof classes / sizeof classes[0]; i++)
    if (force_N <= classes[i].limit_N * slack) return &classes[i];
  return NULL;
}
