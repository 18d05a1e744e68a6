/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "knot/crossing/inside.h"

void be_crossings_count(const struct be_crossing *crossings, size_t count,
                        struct be_crossing_counts *counts)
{
  *counts = (struct be_crossing_counts){.all = count};
  for (size_t i = 0; i < count; i++) {
    size_t a = crossings[i].line[0], b = crossings[i].line[1];
    if (a == b) {
      counts->own[a]++;
      counts->own_sign[a] += crossings[i].sign;
      continue;
    }
    counts->between[a][b]++, counts->between[b][a]++;
    counts->between_sign[a][b] += crossings[i].sign,
        counts->between_sign[b][a] += crossings[i].sign;
  }
}
