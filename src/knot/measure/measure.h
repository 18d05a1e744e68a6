/* SPDX-License-Identifier: GPL-3.0-or-later */
/* measure: what a tester counts on a tied knot: what lies on what, turns of wrap, crossings in the
 * load path, counting rules for bends; closures, and whether two ties are the same. Lengths are in
 * the unit of the points (of a tie: diameters of its first line), along a line from its first
 * point. */
#ifndef BE_KNOT_MEASURE_H
#define BE_KNOT_MEASURE_H

#include "knot/crossing/crossing.h"
#include "knot/curve/curve.h"
#include "knot/diagram/diagram.h"
#include "knot/invariant/invariant.h"

/* Which ends are pulled; hardware (ring, hook shank) has none. */
struct be_ends {
  bool loaded[BE_LINES_MAX][2]; /* at its first point, at its last */
  bool hardware[BE_LINES_MAX];
};

/* ---- overlap ---- */

/* In order, apart from one another. Of a closed line one that runs over its first point is two. */
struct be_stretches {
  struct be_stretch *list;
  size_t count;
  double length; /* of all */
};

/* Of a line against another, or against itself, where what is nearer along the line than pi/2 of
 * its diameter is left out (the tightest half turn that a tube can make).
 *   touching: within the mean of the two diameters of the other's centre-line, times 1 + tolerance.
 *     In space: no view changes it.
 *   over, under: in the drawing the two tubes' outlines overlap there (centre-lines drawn nearer
 *     than the mean diameter), and this line is the higher, the lower. A line that winds about the
 *     other may be both at one place.
 *   on, beneath: touching, and over, under in this view; the rest of touching lies beside. */
struct be_overlap {
  size_t line, other;
  struct be_stretches touching, over, under, on, beneath;
};
enum { BE_OVERLAPS_MAX = BE_LINES_MAX * BE_LINES_MAX };
extern const double be_touch_tolerance; /* 0.25: a knot that is drawn is not yet tight */

/* All ordered pairs, lines * lines of them, [line * lines + other]; in the arena. tolerance: 0 to
 * 0.5 (more, and a line would touch itself wherever it runs straight). */
enum be_status be_overlaps(const struct be_lines *lines, const struct be_view *view,
                           double tolerance, struct be_arena *arena,
                           struct be_overlap overlaps[BE_OVERLAPS_MAX], struct be_err *err);

/* ---- turns of wrap ---- */

/* A line winds round another, or round another part of itself. Its direction from the nearest point
 * of the other is followed in a frame carried along the other without turning (Bishop, Amer. Math.
 * Monthly 82, 246, 1975), while it is near. */
struct be_wrap {
  size_t line, other;
  double turns;                /* right-handed positive, by the way it goes along the other */
  double from, to;             /* along the line, each end to a sixteenth of a turn */
  double other_from, other_to; /* along the other, the lower first */
  double apart;                /* mean distance of the two centre-lines */
};
/* near: mean diameters (0: 3). Only those of `least` turns (0: 0.75, 0.5 at least; a straight
 * crossing at right angles is up to 0.4) that go round it at least once in 20 mean diameters of it;
 * a turn back of half a turn, or three mean diameters without a tenth of one, ends it. By line,
 * other and place; in the arena. */
enum be_status be_wraps(const struct be_lines *lines, double near, double least,
                        struct be_arena *arena, struct be_wrap **wraps, size_t *count,
                        struct be_err *err);

/* ---- load path ---- */

/* A line's part in the knot: from the first place where it touches anything (itself too) to the
 * last. What lies before and behind is a standing part on the side of a pulled end, and a tag on
 * that of a free one. A closed line, and one that touches nothing, is in the knot whole. */
struct be_load_path {
  bool touches;
  double from, to;
  double turned_deg; /* sum of the angles between edges there: what friction acts round */
};
enum be_part { BE_IN_KNOT, BE_STANDING, BE_TAG };
struct be_load_counts {
  struct be_load_path line[BE_LINES_MAX];
  size_t inside;   /* both strands of the crossing are in the knot */
  size_t half;     /* one is */
  size_t tags;     /* neither is, one or both a tag */
  size_t standing; /* both are standing parts */
};
/* parts: for each crossing those of its strand over and under; may be null. */
enum be_status be_load_path(const struct be_lines *lines, const struct be_ends *ends,
                            const struct be_overlap overlaps[BE_OVERLAPS_MAX],
                            const struct be_crossing *crossings, size_t count,
                            struct be_load_counts *counts, enum be_part (*parts)[2],
                            struct be_err *err);

/* ---- closures ---- */

/* Ends are led straight out, away from the middle of the drawing, at their own height, to a circle
 * round it, and joined along it by the shorter way; what spans less lies further in. Joins that
 * must cross do so above the drawing, later pairs over earlier ones. */
enum be_closure {
  BE_CLOSE_EACH,       /* each line's own two ends */
  BE_CLOSE_EACH_UNDER, /* the same; later pairs under earlier ones */
  BE_CLOSE_ENDS,       /* the first ends of two lines, and their last ends */
  BE_CLOSE_SIDES,      /* of two lines: the two ends furthest left in the drawing, and the others */
  BE_CLOSE_LOADED,     /* of two lines: the pulled ends, and the free ends */
  BE_CLOSE_NEIGHBOURS, /* of two lines: neighbours round the circle, from the first line's first
                          end counter-clockwise */
  BE_CLOSE_NEIGHBOURS_BACK, /* the same, clockwise */
  BE_CLOSURES
};
struct be_closure_rule {
  const char *name, *words; /* "each", "each line's two ends joined, ..." */
  bool for_two;             /* two open lines; else any number */
};
extern const struct be_closure_rule be_closures[BE_CLOSURES];

struct be_closed {
  struct be_lines lines;   /* closed; rings as they were */
  size_t of[BE_LINES_MAX]; /* the line by which a closed one begins, in its direction */
  size_t joins;            /* pairs of ends */
  size_t outside;          /* joins that cross one another */
  size_t led;              /* how often a lead to the circle passes what is drawn: 0 is clean */
};
/* ends: needed for BE_CLOSE_LOADED, else may be null. BE_NO: the rule does not fit these lines. */
enum be_status be_close(const struct be_lines *lines, const struct be_ends *ends,
                        const struct be_view *view, enum be_closure closure, struct be_arena *arena,
                        struct be_closed *closed, struct be_err *err);

/* One open line closed many ways: both ends led straight to one far point, evenly over all
 * directions by a seeded stream (Millett, Dobay and Stasiak, Macromolecules 38, 601, 2005), and
 * what each is consistent with. */
struct be_share {
  char name[32]; /* "3_1"; "other": none of the table */
  size_t count;
};
enum { BE_SHARES_MAX = 12 };
struct be_shares {
  size_t directions, count;
  struct be_share share[BE_SHARES_MAX]; /* most first; what finds no room is in the last, "other" */
};
enum be_status be_closure_shares(const struct be_curve *line, size_t directions, uint64_t seed,
                                 struct be_shares *shares, struct be_err *err);

/* ---- counting rules for bends ---- */

/* Patil, Sandt, Kolle and Dunkel, Science 367, 71 (2020): of a drawing and its pulled ends, not of
 * a knot: say the view. Each line runs from its free end to its pulled one. */
struct be_bend_counts {
  size_t crossings; /* N */
  int sum;          /* of the signs q */
  double tau;       /* twist fluctuation: variance of q, 1 - (sum / N)^2 */
  double gamma;     /* circulation: sum over faces of |edges counter-clockwise less clockwise| /
                       edges; faces that touch a free end are left out, the outer one with them */
  size_t faces;     /* that were summed over */
};
/* What of this is verified, and what is not: to be shown wherever the counts are. */
extern const char be_bend_counts_note[];
/* reversed: strands that are pulled at their first point. */
enum be_status be_diagram_bend_counts(const struct be_diagram *diagram,
                                      const bool reversed[BE_STRANDS_MAX], struct be_arena *arena,
                                      struct be_bend_counts *counts, struct be_err *err);
/* BE_NO unless every open line is pulled at one end and free at the other. */
enum be_status be_bend_counts(const struct be_lines *lines, const struct be_ends *ends,
                              const struct be_crossing *crossings, size_t count,
                              struct be_arena *arena, struct be_bend_counts *counts,
                              struct be_err *err);

/* ---- the same tie? ---- */

/* A tie as it is drawn in a view, with its ends. */
struct be_tied {
  const struct be_lines *lines;
  const struct be_ends *ends;
  const struct be_view *view;
};
/* held: both drawings with their ends where they are, by moves that pass over no end: "same" is
 * the strongest that can be said, "apart" never comes of it. closed: both closed in the way that is
 * told; of one line this is as strong, of more it holds for that closure. */
struct be_compared {
  struct be_same held, closed;
  enum be_closure closure;
  bool other_ends; /* the same so far as told, yet other ends are pulled: another knot under load */
  bool counted[2]; /* whether the counting rules apply, then in: */
  struct be_bend_counts counts[2];
};
enum be_status be_ties_compare(const struct be_tied *a, const struct be_tied *b,
                               enum be_closure closure, struct be_arena *arena,
                               struct be_buf *certificate, struct be_compared *compared,
                               struct be_err *err);

/* ---- writhe and twist ---- */

/* A ribbon along a line that faces the eye all along: its linking number is writhe and twist
 * together (Calugareanu 1961; White 1969), a whole number for a closed line. */
struct be_ribbon {
  double writhe, twist, sum;
  bool closed;
  int signs;    /* of the crossings in this view added up: what a closed line's sum must be */
  double error; /* of the sum from the nearest whole number */
};
/* BE_NO as be_crossings_find. */
enum be_status be_ribbon(const struct be_curve *curve, const struct be_view *view,
                         struct be_arena *arena, struct be_ribbon *ribbon, struct be_err *err);

#endif
