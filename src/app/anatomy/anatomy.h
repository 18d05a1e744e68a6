/* SPDX-License-Identifier: GPL-3.0-or-later */
/* anatomy: what a tie is, said: where it crosses itself, what lies on what, what it is consistent
 * with. No book is needed.
 *
 *   source.c    words, a text, a code or a table of points -> a tie
 *   work.c      all that is worked out of one
 *   doc.c       the answer; tables.c, closed.c: its tables
 *   compare.c   two of them: the same?
 *   built.c     what findings ask of it
 *   list.c      the ties that the program knows
 *   picture.h   how it is drawn
 *   files.c     its picture and its shape, as files
 *   asked.c     the command
 *   page.c      what pages show
 *   keep.c      how a tie told there comes into the book */
#ifndef BE_APP_ANATOMY_H
#define BE_APP_ANATOMY_H

#include "app/anatomy/picture.h"
#include "app/app.h"

/* How a tie is looked at. Zero: as it is usually drawn. */
enum be_looked { BE_LOOKED_USUAL, BE_LOOKED_FEWEST, BE_LOOKED_TURNED };

/* A closure of it, and what that is consistent with. */
struct closing {
  enum be_closure rule;
  struct be_closed closed;
  struct be_diagram drawing; /* closed strands */
  struct be_diagram diagram; /* simplified */
  const char *integral;      /* linking of each two strands by Gauss's integral: "3.000" */
  struct part {              /* all strands together, then each alone */
    struct be_polynomial alexander;
    uint64_t determinant;
    int signature;
    struct be_named names[BE_NAMED_MAX];
    size_t names_count; /* of a single strand */
  } part[1 + BE_LINES_MAX];
};

/* A drawing of it: a view, and what crosses in it. */
struct seen {
  const char *words; /* "as it is usually drawn" */
  struct be_view view;
  struct be_crossing *crossings;
  size_t count;
  struct be_crossing_counts counts;
};

struct line_in_space {
  double length, writhe, twist, sum, average_crossings;
};

/* Of one tie; all in the arena. */
struct anatomy {
  struct be_arena *arena;
  struct be_tie tie;
  const char *full; /* "clinch, turns 7": name and settings that are not the usual ones */
  struct be_ends ends;
  struct seen seen, fewest;
  enum be_part (*parts)[2]; /* of seen.crossings */
  bool pulled;              /* an end is; else there is no load path, and no part of it */
  struct be_load_counts load;
  struct be_overlap *overlaps; /* [line * lines + other] */
  struct be_wrap *wraps;
  size_t wraps_count;
  struct closing closing[BE_CLOSURES];
  size_t closings;
  const char *left_out; /* why a closure is, or null */
  struct line_in_space space[BE_LINES_MAX];
  bool bend_counted;
  struct be_bend_counts bend;
  const char *gauss;           /* of the lines as they are seen; null: nothing crosses */
  const char *pd, *dowker;     /* of the first closure, or null */
  const char *picture, *shape; /* addresses, where there are pages; else null */
};

/* What is given as a tie: words for the library ("clinch turns=7"), a text that begins with the
 * word tie, a code behind its name ("gauss 1 -2 3 -1 2 -3", "dowker 4 6 2", "pd X[1,5,2,4] ..."),
 * or a table of points x,y,z. name: of what has none of its own. */
enum be_status be_tie_given(const char *text, size_t size, const char *name, struct be_arena *arena,
                            struct be_tie *tie, struct be_err *err);

/* "clinch, turns 7": name and settings that are not the usual ones; null without memory. */
const char *be_tie_full(const struct be_tie *tie, struct be_arena *arena);

/* looked turned: by be_view_of. BE_TOO_LARGE for a tie of very many points or crossings. */
enum be_status be_anatomy_work(const struct be_tie *tie, enum be_looked looked, double turn_deg,
                               double tilt_deg, struct be_arena *arena, struct anatomy *anatomy,
                               struct be_err *err);
/* BE_TOO_LARGE for a tie of more points than that. */
enum be_status be_anatomy_check(const struct be_tie *tie, struct be_err *err);
/* Only as far as a picture needs: its size is checked, and seen is filled in. */
enum be_status be_anatomy_look(const struct be_tie *tie, enum be_looked looked, double turn_deg,
                               double tilt_deg, struct be_arena *arena, struct anatomy *anatomy,
                               struct be_err *err);
enum be_status be_anatomy_doc(const struct anatomy *anatomy, struct be_doc **doc,
                              struct be_err *err);
enum be_status be_anatomies_compare(const struct be_tie *a, const struct be_tie *b,
                                    struct be_arena *arena, struct be_doc **doc,
                                    struct be_err *err);
enum be_status be_ties_doc(struct be_arena *arena, struct be_doc **doc, struct be_err *err);

/* Directions that are tried for the view with the fewest crossings, and of their stream. */
enum { BE_VIEWS_TRIED = 200, BE_VIEWS_SEED = 1 };

/* ---- built.c ---- */

/* In the view with the fewest crossings found; not-a-number where there is no such line. Crossings
 * of a line: with itself and with the other. Overlap: how much of A touches the other and lies on
 * it, of a single line on itself; in diameters of A. Wraps: turns of wrap of all lines round one
 * another and themselves, whichever way, without hardware. BE_TOO_LARGE as be_anatomy_check. */
struct be_built {
  double crossings_a, crossings_b, overlap, wraps;
};
enum be_status be_tie_built(const char *text, struct be_built *built, struct be_err *err);

/* ---- files.c ---- */

struct looks {
  bool numbered;                /* crossings, as in the table */
  size_t steps;                 /* a strip of so many; 0: the knot */
  double width;                 /* px */
  const enum be_tone *material; /* of each line, or null */
  enum be_drawn how;
  unsigned number; /* unique on a page */
};
enum be_status be_anatomy_picture(const struct anatomy *anatomy, const struct looks *looks,
                                  struct be_buf *svg, struct be_err *err);
/* All that is asked for by a path. */
enum be_status be_anatomy_files(const struct anatomy *anatomy, const struct be_anatomy *asked,
                                struct be_err *err);

/* ---- page.c: a tie told by its text, as be_tie_given takes it ---- */

/* "/tie?tie=clinch%20turns%3D7" for the path "/tie"; null without memory, "" for a text so long
 * that the server would refuse its address. */
const char *be_tie_address(struct be_arena *arena, const char *path, const char *text);
/* be_tie_given of a text no longer than notation may be: what is told on a page keeps others
 * waiting. */
enum be_status be_tie_told(const char *text, struct be_arena *arena, struct be_tie *tie,
                           struct be_err *err);
enum be_status be_tie_doc(const char *text, struct be_arena *arena, struct be_doc **doc,
                          struct be_err *err);
enum be_status be_tie_svg(const char *text, struct be_arena *arena, struct be_buf *svg,
                          struct be_err *err);
/* JSON of its lines in space, for who draws them himself. */
enum be_status be_tie_lines(const char *text, struct be_arena *arena, struct be_buf *out,
                            struct be_err *err);
struct be_tie_kept {
  const char *knot, *version, *turns; /* as a knot sheet has them; version, turns: may be null */
  const char *text;
};
/* The same with what fills the form of the page, where it is known. */
const char *be_tie_address_of(struct be_arena *arena, const char *path,
                              const struct be_tie_kept *of);
/* keep.c: as a knot sheet of one row. BE_BAD_INPUT for a tie that cannot be read, and for a knot
 * that has another one. */
enum be_status be_tie_keep(const char *book_path, const struct be_tie_kept *kept,
                           struct be_err *err);

/* ---- tables.c, closed.c ---- */

/* "A"; "hardware R". */
const char *be_strand_words(const struct anatomy *anatomy, size_t line);
void be_say_lines(struct be_doc *doc, const struct anatomy *anatomy);
void be_say_counts(struct be_doc *doc, const struct anatomy *anatomy);
void be_say_crossings(struct be_doc *doc, const struct anatomy *anatomy);
void be_say_overlaps(struct be_doc *doc, const struct anatomy *anatomy);
void be_say_wraps(struct be_doc *doc, const struct anatomy *anatomy);
void be_say_bend(struct be_doc *doc, const struct anatomy *anatomy);
void be_say_closings(struct be_doc *doc, const struct anatomy *anatomy);
void be_say_space(struct be_doc *doc, const struct anatomy *anatomy);
void be_say_settings(struct be_doc *doc, const struct anatomy *anatomy);

/* "3_1, trefoil; or 8_20"; of nothing known "no knot of the table". */
const char *be_part_words(const struct anatomy *anatomy, const struct part *part);

#endif
