/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reads a column of tests/published/data, whose files hold what is too long to be typed
 * into a test. Tests run in the root of the repository. */
#ifndef BE_PUBLISHED_DATA_H
#define BE_PUBLISHED_DATA_H

#include "test.h"

/* Column `column`, counted from 0, of a comma-separated file. Lines that begin with '#' and
 * lines without a number there (the header) are skipped. Fails the test when the file is
 * not there, holds no such number or more than `most`. */
static inline size_t read_numbers(const char *name, size_t column, double *x, size_t most)
{
  char path[300], line[500];
  snprintf(path, sizeof path, "tests/published/data/%s", name);
  FILE *file = fopen(path, "r");
  if (!file) fail_msg("%s is not there: run the tests in the root of the repository", path);
  size_t n = 0;
  while (file && fgets(line, sizeof line, file)) {
    const char *cell = line[0] == '#' ? NULL : line;
    for (size_t i = 0; i < column && cell; i++) {
      cell = strchr(cell, ',');
      if (cell) cell++;
    }
    char *end;
    double value = cell ? strtod(cell, &end) : 0;
    if (!cell || end == cell) continue;
    if (n == most) fail_msg("%s holds more than %zu numbers", path, most);
    x[n++] = value;
  }
  fclose(file);
  if (n == 0) fail_msg("%s holds no number in column %zu", path, column);
  return n;
}

#endif
