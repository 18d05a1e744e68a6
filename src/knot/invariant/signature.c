/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Goeritz's form of the faces of one colour, and the correction of Gordon and Litherland
 * (Inventiones mathematicae 47, 53, 1978): signature = signature of the form less the signs of the
 * crossings whose two strands run the same way along the surface of the other colour. */
#include "knot/invariant/inside.h"

#include <math.h>
#include <string.h>

enum { FACES_MOST = 200 };

/* The faces in the four corners of each crossing. */
struct coloured {
  size_t faces;
  bool white[FACES_MOST];
  unsigned short corner[FACES_MOST][4]; /* by crossing: left of over out, then counter-clockwise */
};

/* A form: symmetric, whole numbers in doubles. */
struct form {
  size_t n;
  double at[FACES_MOST][FACES_MOST];
};

/* Corners: the face to the left of what leaves by slot k lies between slots k and k + 1. */
static enum be_status read_corners(const struct be_diagram *diagram, struct be_arena *arena,
                                   struct coloured *coloured, struct be_err *err)
{
  struct be_face *faces;
  enum be_status status = be_faces_find(diagram, arena, &faces, &coloured->faces, err);
  if (status != BE_OK) return status;
  if (coloured->faces > FACES_MOST || diagram->crossings > FACES_MOST)
    return be_fail(err, BE_TOO_LARGE, "the drawing has too many faces for its signature");
  for (size_t f = 0; f < coloured->faces; f++)
    for (size_t e = 0; e < faces[f].edges; e++) {
      struct be_face_edge edge = faces[f].edge[e];
      size_t n = diagram->strand[edge.strand].count;
      if (n == 0) continue;
      /* The crossing that this edge leaves, and by which slot. */
      size_t at = edge.forward ? (edge.arc + n - 1) % n : edge.arc;
      struct be_pass pass = diagram->strand[edge.strand].pass[at];
      bool left = (diagram->sign[pass.crossing] > 0) == edge.forward;
      unsigned slot = pass.over ? (edge.forward ? 0U : 2U) : left ? 1U : 3U;
      coloured->corner[pass.crossing][slot] = (unsigned short)f;
    }
  return BE_OK;
}

/* Two faces with an edge between them differ. False if that cannot be: never, of a drawing. */
static bool colour(const struct be_diagram *diagram, struct coloured *coloured)
{
  bool known[FACES_MOST] = {false};
  for (bool more = true; more;) {
    more = false;
    for (size_t c = 0; c < diagram->crossings; c++)
      for (int k = 0; k < 4; k++) {
        unsigned short a = coloured->corner[c][k], b = coloured->corner[c][(k + 1) % 4];
        if (!known[a] && !known[b] && c + (size_t)k > 0) continue;
        if (!known[a] && !known[b]) known[a] = true;
        if (known[a] == known[b]) continue;
        if (known[a]) coloured->white[b] = !coloured->white[a], known[b] = true;
        else coloured->white[a] = !coloured->white[b], known[a] = true;
        more = true;
      }
  }
  for (size_t c = 0; c < diagram->crossings; c++)
    for (int k = 0; k < 4; k++)
      if (coloured->white[coloured->corner[c][k]] ==
          coloured->white[coloured->corner[c][(k + 1) % 4]])
        return false;
  return true;
}

static void take(struct form *form, size_t a, size_t b, double value)
{
  if (a == b) return;
  form->at[a][b] -= value;
  form->at[b][a] -= value;
  form->at[a][a] += value;
  form->at[b][b] += value;
}

/* Returns the correction. Faces between over out and what is to its left (slots 0, 2) are swept
 * when the strand over turns counter-clockwise. */
static int make_form(const struct be_diagram *diagram, const struct coloured *coloured,
                     struct form *form)
{
  unsigned short number[FACES_MOST];
  int correction = 0;
  form->n = 0;
  for (size_t f = 0; f < coloured->faces; f++)
    if (coloured->white[f]) number[f] = (unsigned short)form->n++;
  memset(form->at, 0, sizeof form->at);
  for (size_t c = 0; c < diagram->crossings; c++) {
    bool swept_white = coloured->white[coloured->corner[c][0]];
    unsigned first = swept_white ? 0 : 1;
    int type = swept_white ? 1 : -1;
    take(form, number[coloured->corner[c][first]], number[coloured->corner[c][first + 2]], type);
    bool same_way = (diagram->sign[c] > 0) != swept_white;
    if (same_way) correction += type;
  }
  if (form->n > 0) form->n--; /* one face is left out */
  return correction;
}

/* Signs of the pivots (Sylvester), with rows and columns changed together; a pivot of two where the
 * diagonal is all zero. */
static int signature_of(struct form *form)
{
  int signature = 0;
  bool done[FACES_MOST] = {false};
  const double nothing = 1e-7; /* entries are whole numbers, their fractions not that small */
  for (size_t step = 0; step < form->n; step++) {
    size_t p = SIZE_MAX, q = SIZE_MAX;
    double most = nothing;
    for (size_t i = 0; i < form->n; i++)
      if (!done[i] && fabs(form->at[i][i]) > most) most = fabs(form->at[i][i]), p = i;
    for (size_t i = 0; i < form->n && p == SIZE_MAX; i++)
      for (size_t j = 0; j < i; j++)
        if (!done[i] && !done[j] && fabs(form->at[i][j]) > most)
          most = fabs(form->at[i][j]), q = i, p = j;
    if (p == SIZE_MAX) break;
    if (q != SIZE_MAX) { /* add row q to p, so that p has something on its diagonal */
      for (size_t j = 0; j < form->n; j++) form->at[p][j] += form->at[q][j];
      for (size_t j = 0; j < form->n; j++) form->at[j][p] += form->at[j][q];
    }
    done[p] = true;
    signature += form->at[p][p] > 0 ? 1 : -1;
    for (size_t i = 0; i < form->n; i++) {
      double factor = form->at[i][p] / form->at[p][p];
      if (done[i] || fabs(factor) <= 0) continue;
      for (size_t j = 0; j < form->n; j++)
        if (!done[j]) form->at[i][j] -= factor * form->at[p][j];
    }
  }
  return signature;
}

enum be_status be_signature(const struct be_diagram *diagram, struct be_arena *arena,
                            int *signature, struct be_err *err)
{
  *signature = 0;
  if (diagram->crossings == 0) return BE_OK;
  struct coloured *coloured = be_arena_alloc(arena, sizeof *coloured);
  struct form *form = be_arena_alloc(arena, sizeof *form);
  if (!coloured || !form) return be_fail(err, BE_NO_MEMORY, "no memory for the signature");
  for (size_t s = 0; s < diagram->strands; s++)
    if (!diagram->strand[s].closed)
      return be_fail(err, BE_WRONG_USE, "the lines are not closed: say how they are");
  enum be_status status = read_corners(diagram, arena, coloured, err);
  if (status != BE_OK) return status;
  if (!colour(diagram, coloured))
    return be_fail(err, BE_BAD_INPUT, "the faces of the drawing cannot be told apart");
  int correction = make_form(diagram, coloured, form);
  *signature = correction - signature_of(form);
  return BE_OK;
}
