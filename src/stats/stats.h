/* SPDX-License-Identifier: GPL-3.0-or-later */
/* stats: estimates and intervals for small samples. Plain arrays in, value
 * structs out; no disk, clock or screen, and nothing is allocated except where
 * said. A quantity that the data cannot give is not-a-number, never a guess.
 * docs/methods.md gives each method with its equation and source.
 *
 *     number <- sample <- censored, compare, benches, mixed, standing */
#ifndef BE_STATS_H
#define BE_STATS_H

#include "stats/benches/benches.h"
#include "stats/censored/censored.h"
#include "stats/compare/compare.h"
#include "stats/mixed/mixed.h"
#include "stats/sample/sample.h"
#include "stats/standing/standing.h"

#endif
