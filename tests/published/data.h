/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Published data too long to stand in a test: tests/published/data, whose first lines name
 * the source after '#'. */
#ifndef BE_PUBLISHED_DATA_H
#define BE_PUBLISHED_DATA_H

#include "test.h"

/* Reads a column, counted from 0, of comma-separated numbers; a line that does not begin with
 * a number is left out. Fails the test when the file is not there, or too long. Tests run at the
 * root of the repository. */
static inline size_t read_numbers(const char *name, size_t column, double *x, size_t most)
{
  char path[256], line[512];
  snprintf(path, sizeof path, "tests/published/data/%s", name);
  FILE *file = fopen(path, "r");
  if (!file) fail_msg("cannot open %s", path);
  size_t n = 0;
  while (fgets(line, sizeof line, file)) {
    char *end, *at = line;
    strtod(at, &end);
    if (end == at) continue;
    for (size_t i = 0; i < column && at; i++) {
      at = strchr(at, ',');
      if (at) at++;
    }
    if (!at || n == most) fail_msg("%s has too few columns or too many lines", path);
    x[n++] = strtod(at, &end);
    if (end == at) fail_msg("%s has no number in line %zu of its data", path, n);
  }
  fclose(file);
  return n;
}

#endif
