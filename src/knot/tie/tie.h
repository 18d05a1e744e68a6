/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tie: how a knot runs, written by hand, and the centre-lines built from it.
 *
 *   text -> tie (its form and parameters) -> lines in space, loose, with loaded and tag ends
 *
 * docs/formats.md describes the notation; library.c holds the ties that have names. */
#ifndef BE_KNOT_TIE_H
#define BE_KNOT_TIE_H

#include "knot/curve/curve.h"

/* What one end of a line does. */
enum be_end { BE_END_LOADED, BE_END_TAG, BE_END_EYE /* made fast to hardware */ };

struct be_tie_line {
  enum be_end first, last; /* its two ends: at its first point and at its last */
  const char *name;        /* "A", "B", or what a tie calls it: "ring" */
  bool rigid;              /* hardware: a ring, a shank */
};

/* A tie that was built; all of it in the arena. */
struct be_tie {
  const char *name, *aliases; /* aliases apart by ";"; null: none */
  const char *kind;           /* bend, hitch, loop, stopper */
  const char *text;           /* in the notation */
  struct be_lines lines;
  struct be_tie_line line[BE_LINES_MAX];
};

/* Reads the notation, or the name or alias of a tie of the library, with parameters: "barrel bend
 * turns=5 badly". BE_BAD_INPUT tells the column and what could stand there. */
enum be_status be_tie_read(const char *text, size_t size, struct be_arena *arena,
                           struct be_tie *tie, struct be_err *err);

/* ---- the library ---- */

struct be_tie_entry {
  const char *name, *aliases, *kind;
  const char *text;    /* in the notation, or a form with parameters */
  const char *differs; /* what tells it from the one it is mistaken for; null */
};
extern const struct be_tie_entry be_tie_library[];
extern const size_t be_tie_library_count;
const struct be_tie_entry *be_tie_find(const char *name);

#endif
