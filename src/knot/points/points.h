/* SPDX-License-Identifier: GPL-3.0-or-later */
/* points: lines as plain tables of x, y and z, in and out. */
#ifndef BE_KNOT_POINTS_H
#define BE_KNOT_POINTS_H

#include "knot/curve/curve.h"

/* A row is a point: three numbers with blanks, tabs, commas or semicolons between. "#" begins a
 * remark. A blank row after points, or one that begins with the word "line" ("line B"), begins the
 * next line; "closed" makes the line that it stands in closed, "diameter 0.7" gives its diameter
 * (1 without). "line B closed diameter 0.7" in one row is as good. Numbers have a decimal point.
 * Points are in the arena.
 * BE_BAD_INPUT with row and column: another word, a row of more or fewer numbers, a line of too few
 * points or with two that follow each other and are the same, no line at all. BE_TOO_LARGE: more
 * than BE_LINES_MAX lines, or than 1,000,000 points. */
enum be_status be_points_read(const char *text, size_t size, struct be_arena *arena,
                              struct be_lines *lines, struct be_err *err);
/* Such a table, which reads as the same numbers to the last bit. Lines are A, B, ... */
void be_points_write(const struct be_lines *lines, struct be_buf *out);

#endif
