/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tie: how a knot runs, as a small text that people read and write, and the lines in space that are
 * built from it. The notation is taught in docs/ties.md. */
#ifndef BE_KNOT_TIE_H
#define BE_KNOT_TIE_H

#include "knot/curve/curve.h"

enum { BE_TIE_SETTINGS_MAX = 16, BE_TIE_TEXT_MAX = 65536 };

/* What a user may change. */
struct be_tie_setting {
  const char *name;          /* "turns" */
  const char *usual, *value; /* as text; value is in force */
  bool number, whole;        /* else a choice; whole: no fractions */
  double least, most;        /* of a number */
  const char *choices;       /* else: "right, left" */
};

struct be_tie {
  const char *name, *also, *kind; /* also: other names, ", " between; kind: bend, hitch, loop,
                                     stopper; "" when it is not said */
  struct be_lines lines;          /* hardware (ring, hook shank) is a line too, after the others */
  char letter[BE_LINES_MAX];      /* 'A', 'B', ...; hardware 'R' */
  bool hardware[BE_LINES_MAX];
  bool loaded[BE_LINES_MAX][2]; /* pulled at its first point, at its last */
  struct be_view view;          /* in which it is usually drawn */
  struct be_tie_setting setting[BE_TIE_SETTINGS_MAX];
  size_t settings;
};

/* Reads a text and builds its lines: smooth, in even steps of a quarter of a diameter, strands
 * pushed apart until they touch. settings: "turns=7 hand=left", commas or blanks between; null: the
 * usual ones. All of *tie is in the arena. BE_BAD_INPUT: with line and column of the text;
 * BE_TOO_LARGE past BE_TIE_TEXT_MAX and its like. */
enum be_status be_tie_read(const char *text, size_t size, const char *settings,
                           struct be_arena *arena, struct be_tie *tie, struct be_err *err);
/* The least distance of two strands, as a share of the mean of their diameters: 1 where they just
 * touch. Pieces of a line nearer than two diameters along it are left out. */
double be_tie_clearance(const struct be_tie *tie);
/* What it is at least in a well drawn tie. */
extern const double be_tie_seated;

/* ---- the library ---- */

struct be_tie_entry {
  const char *name, *also, *kind; /* as in the text */
  const char *text;
  size_t size;
};

const struct be_tie_entry *be_tie_library(size_t *count);
/* By name or other name, whatever the case. BE_NO, with the nearest names, when there is none. */
enum be_status be_tie_find(const char *name, const struct be_tie_entry **entry, struct be_err *err);
/* "clinch", "clinch turns=7 hand=left", or, beginning with the word tie, the notation itself. */
enum be_status be_tie_named(const char *words, struct be_arena *arena, struct be_tie *tie,
                            struct be_err *err);

#endif
