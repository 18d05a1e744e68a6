/* SPDX-License-Identifier: GPL-3.0-or-later */
/* diagram: how lines pass over one another, without lengths: for each line the crossings that it
 * meets in their order, over or under, and each crossing's sign. Codes in and out, faces, moves. */
#ifndef BE_KNOT_DIAGRAM_H
#define BE_KNOT_DIAGRAM_H

#include "base/base.h"

enum { BE_STRANDS_MAX = 8, BE_CROSSINGS_MAX = 4000 };

struct be_pass {
  unsigned short crossing;
  bool over;
};

/* A strand may be open: its ends lie where they lie, and no move passes over them. */
struct be_diagram {
  size_t strands;
  struct {
    struct be_pass *pass;
    size_t count;
    bool closed;
  } strand[BE_STRANDS_MAX];
  size_t crossings;
  signed char *sign; /* of each */
};

/* BE_BAD_INPUT unless each crossing is met once over and once under, and the signs can be drawn on
 * a sphere (Euler's formula for the faces of each connected part). */
enum be_status be_diagram_check(const struct be_diagram *diagram, struct be_err *err);
enum be_status be_diagram_copy(const struct be_diagram *from, struct be_arena *arena,
                               struct be_diagram *to, struct be_err *err);
void be_diagram_mirror(struct be_diagram *diagram); /* every over becomes under */
void be_diagram_reverse(struct be_diagram *diagram, size_t strand);
/* One strand alone, the others taken away. */
enum be_status be_diagram_alone(const struct be_diagram *diagram, size_t strand,
                                struct be_arena *arena, struct be_diagram *to, struct be_err *err);

/* ---- codes ---- */

/* Signed Gauss code, a strand in brackets or apart by ";": "1 -2 3 -1 2 -3" (negative: under), or
 * with signs of crossings, "O1+U2+O3+U1+O2+U3+". Without signs those of a drawing are worked out,
 * of the two mirror images that whose first crossing is positive; BE_BAD_INPUT for a code that no
 * drawing on a sphere has. */
enum be_status be_gauss_read(const char *text, size_t size, struct be_arena *arena,
                             struct be_diagram *diagram, struct be_err *err);
void be_gauss_write(const struct be_diagram *diagram, bool signs, struct be_buf *out);
/* Dowker-Thistlethwaite code of a closed knot: even numbers, negative where the odd pass is under.
 */
enum be_status be_dt_read(const char *text, size_t size, struct be_arena *arena,
                          struct be_diagram *diagram, struct be_err *err);
enum be_status be_dt_write(const struct be_diagram *diagram, struct be_buf *out,
                           struct be_err *err);
/* Planar-diagram code: "X[1,5,2,4] X[3,1,4,6] X[5,3,6,2]": arcs counter-clockwise from the incoming
 * one under. */
enum be_status be_pd_read(const char *text, size_t size, struct be_arena *arena,
                          struct be_diagram *diagram, struct be_err *err);
enum be_status be_pd_write(const struct be_diagram *diagram, struct be_buf *out,
                           struct be_err *err);

/* What tells strands apart beside the drawing; all zero: nothing does. */
struct be_marks {
  unsigned char kind[BE_STRANDS_MAX];    /* 0 to 15: strands of one kind may change places */
  signed char direction[BE_STRANDS_MAX]; /* 1: as its passes run, -1: against; 0: it has none */
};
/* One code for all ways to write a drawing: the least of the signed Gauss codes that begin at any
 * pass (of an open strand: at either end), in either direction, with strands in the order that they
 * are met in, each in the direction that makes the crossing it is met at positive. Two drawings
 * have the same code exactly when, on a sphere, one is the other (parts that do not cross: each
 * is). Mirror images have codes of their own. */
struct be_canonical {
  unsigned short *code;
  size_t count;
  unsigned char order[BE_STRANDS_MAX]; /* the drawing's strands, as the code has them */
  bool reversed[BE_STRANDS_MAX];       /* by the drawing's strand */
};
/* marks may be null. */
enum be_status be_diagram_canonical(const struct be_diagram *diagram, const struct be_marks *marks,
                                    struct be_arena *arena, struct be_canonical *canonical,
                                    struct be_err *err);
bool be_canonical_same(const struct be_canonical *a, const struct be_canonical *b);

/* ---- faces ---- */

/* Each face as its corners' arcs, in the arena. An arc is numbered by strand and by the pass that
 * it leaves from. */
struct be_face {
  size_t edges;
  struct be_face_edge {
    unsigned short strand,
        arc;      /* arc k runs from pass k - 1 to pass k; 0 of an open one begins it */
    bool forward; /* with the face to the left */
  } * edge;
  bool open; /* touches a free end */
};
enum be_status be_faces_find(const struct be_diagram *diagram, struct be_arena *arena,
                             struct be_face **faces, size_t *count, struct be_err *err);

/* ---- moves ---- */

/* A random move of Reidemeister's three that can be made, by a seeded stream; up: may add
 * crossings. BE_NO when there is none. */
enum be_status be_diagram_move(struct be_diagram *diagram, struct be_random *random, bool up,
                               struct be_arena *arena, struct be_err *err);
/* Takes out what moves of the first two kinds, and passes of a whole run over (or under) others to
 * where it crosses fewer, take out, until none does, nor after a move of the third kind. What is
 * left is often, not always, the fewest;
 * *moves counts them: the certificate is their list in words. */
enum be_status be_diagram_simplify(struct be_diagram *diagram, struct be_arena *arena,
                                   struct be_buf *certificate, size_t *moves, struct be_err *err);

#endif
