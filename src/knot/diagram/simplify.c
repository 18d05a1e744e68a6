/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Fewer crossings, by moves that change nothing else: a kink is taken out, two crossings of one
 * strand over another are taken out, and a run of a strand over (or under) others is laid anew by
 * the way that crosses fewest, if that is fewer than before (closed strands alone: a way over a
 * free end would be another knot). Where none of it goes, a triangle is turned if then one does. */
#include "knot/diagram/edit.h"

#include <string.h>

struct simplifying {
  struct be_diagram *diagram;
  struct be_arena *arena; /* of one step; the result is copied at the end */
  struct be_buf *certificate;
  size_t moves;
  struct be_err *err;
};

static size_t after(const struct be_diagram *d, size_t s, size_t k)
{
  if (k + 1 < d->strand[s].count) return k + 1;
  return d->strand[s].closed ? 0 : SIZE_MAX;
}

static enum be_status take_out(struct simplifying *w, size_t a, size_t b, const char *words)
{
  bool *taken = be_arena_alloc(w->arena, w->diagram->crossings + 1);
  if (!taken) return be_fail(w->err, BE_NO_MEMORY, "no memory for the move");
  taken[a] = taken[b] = true;
  if (w->certificate) {
    if (a == b) be_buf_format(w->certificate, "%s %zu; ", words, a + 1);
    else be_buf_format(w->certificate, "%s %zu and %zu; ", words, a + 1, b + 1);
  }
  w->moves++;
  return be_diagram_edit(w->diagram, taken, NULL, 0, w->diagram->sign, w->diagram->crossings,
                         w->arena, w->err);
}

/* ---- kinks, and two crossings at once ---- */

static bool has_kink(const struct be_diagram *d, size_t *crossing)
{
  for (size_t s = 0; s < d->strands; s++)
    for (size_t k = 0; k < d->strand[s].count; k++) {
      size_t next = after(d, s, k);
      if (next == SIZE_MAX || next == k) continue;
      *crossing = d->strand[s].pass[k].crossing;
      if (d->strand[s].pass[next].crossing == *crossing) return true;
    }
  return false;
}

/* Two passes over, one after the other, whose passes under follow each other too. */
static bool has_pair(const struct map *map, size_t *a, size_t *b)
{
  const struct be_diagram *d = map->diagram;
  for (size_t s = 0; s < d->strands; s++)
    for (size_t k = 0; k < d->strand[s].count; k++) {
      size_t next = after(d, s, k);
      if (next == SIZE_MAX || !d->strand[s].pass[k].over || !d->strand[s].pass[next].over) continue;
      *a = d->strand[s].pass[k].crossing;
      *b = d->strand[s].pass[next].crossing;
      const struct met *x = &map->met[*a], *y = &map->met[*b];
      if (*a == *b || x->strand[1] != y->strand[1] || d->sign[*a] == d->sign[*b]) continue;
      if (after(d, x->strand[1], x->pass[1]) == y->pass[1] ||
          after(d, x->strand[1], y->pass[1]) == x->pass[1])
        return true;
    }
  return false;
}

/* ---- runs ---- */

/* Of a closed strand: from pass `first` on, `count` passes all over (or all under), as many as
 * follow each other. */
struct run {
  size_t strand, first, count;
  bool over;
};

/* The drawing without the run: its strand is open there, and comes first. */
static enum be_status cut(const struct simplifying *w, const struct run *run,
                          struct be_diagram *open, struct be_err *err)
{
  const struct be_diagram *d = w->diagram;
  size_t n = d->strand[run->strand].count;
  struct be_pass *pass = be_arena_alloc(w->arena, (n + 1) * sizeof *pass);
  bool *taken = be_arena_alloc(w->arena, d->crossings + 1);
  if (!pass || !taken) return be_fail(err, BE_NO_MEMORY, "no memory for the move");
  for (size_t i = 0; i < n; i++)
    pass[i] = d->strand[run->strand].pass[(run->first + run->count + i) % n];
  for (size_t i = n - run->count; i < n; i++) taken[pass[i].crossing] = true;
  *open = *d;
  open->strand[run->strand] = d->strand[0];
  open->strand[0].pass = pass;
  open->strand[0].count = n;
  open->strand[0].closed = false;
  return be_diagram_edit(open, taken, NULL, 0, d->sign, d->crossings, w->arena, err);
}

struct step {
  size_t from;              /* the face before */
  struct be_face_edge edge; /* crossed, as walked with that face to the left */
};

static bool is_end(const struct be_diagram *open, const struct be_face *face, bool last)
{
  size_t arc = last ? open->strand[0].count : 0;
  for (size_t e = 0; e < face->edges; e++)
    if (face->edge[e].strand == 0 && face->edge[e].arc == arc && face->edge[e].forward == last)
      return true;
  return false;
}

static size_t face_behind(const struct be_face *faces, size_t count, struct be_face_edge edge)
{
  for (size_t f = 0; f < count; f++)
    for (size_t e = 0; e < faces[f].edges; e++)
      if (faces[f].edge[e].strand == edge.strand && faces[f].edge[e].arc == edge.arc &&
          faces[f].edge[e].forward != edge.forward)
        return f;
  return SIZE_MAX;
}

/* The shortest way from the face at the strand's last end to that at its first, each step over one
 * arc, found by breadth; false when it is not shorter than `most`. */
static bool find_way(const struct be_diagram *open, const struct be_face *faces, size_t count,
                     size_t most, struct step *steps, size_t *far, size_t *waiting, size_t *end)
{
  size_t head = 0, tail = 0;
  for (size_t f = 0; f < count; f++) {
    far[f] = SIZE_MAX;
    if (is_end(open, &faces[f], true)) far[f] = 0, waiting[tail++] = f;
  }
  while (head < tail) {
    size_t f = waiting[head++];
    if (is_end(open, &faces[f], false)) {
      *end = f;
      return far[f] < most;
    }
    if (far[f] + 1 >= most) continue;
    for (size_t e = 0; e < faces[f].edges; e++) {
      size_t g = face_behind(faces, count, faces[f].edge[e]);
      if (g == SIZE_MAX || far[g] != SIZE_MAX) continue;
      far[g] = far[f] + 1;
      steps[g] = (struct step){f, faces[f].edge[e]};
      waiting[tail++] = g;
    }
  }
  return false;
}

/* Closes the strand again along the way, which never crosses the arcs of its two ends: these have
 * one face on both sides. */
static enum be_status lay(struct simplifying *w, const struct run *run, struct be_diagram *open,
                          const struct step *steps, size_t length, size_t end)
{
  size_t crossings = open->crossings + length;
  struct insertion *list = be_arena_alloc(w->arena, (2 * length + 1) * sizeof *list);
  signed char *signs = be_arena_alloc(w->arena, crossings + 1);
  bool *taken = be_arena_alloc(w->arena, crossings + 1);
  if (!list || !signs || !taken) return be_fail(w->err, BE_NO_MEMORY, "no memory for the move");
  if (open->crossings) memcpy(signs, open->sign, open->crossings);
  unsigned short last = (unsigned short)open->strand[0].count;
  for (size_t i = length, f = end; i-- > 0; f = steps[f].from) {
    unsigned short c = (unsigned short)(open->crossings + i);
    struct be_face_edge edge = steps[f].edge;
    /* An arc is left by the pass before it, so that it stands before pass `arc`. */
    list[2 * i] = (struct insertion){edge.strand, edge.arc, {c, !run->over}};
    list[2 * i + 1] = (struct insertion){0, last, {c, run->over}};
    /* The way goes from left to right of the arc as walked. */
    signs[c] = edge.forward == run->over ? 1 : -1;
  }
  w->moves++;
  if (w->certificate)
    be_buf_format(w->certificate, "a run %s %zu laid anew %s %zu; ", run->over ? "over" : "under",
                  run->count, run->over ? "over" : "under", length);
  open->strand[0].closed = true;
  enum be_status status =
      be_diagram_edit(open, taken, list, 2 * length, signs, crossings, w->arena, w->err);
  if (status != BE_OK) return status;
  *w->diagram = *open; /* with each strand at its place again */
  w->diagram->strand[0] = open->strand[run->strand];
  w->diagram->strand[run->strand] = open->strand[0];
  return BE_OK;
}

static enum be_status lay_anew(struct simplifying *w, const struct run *run, bool *done)
{
  struct be_diagram open;
  struct be_face *faces;
  size_t count, end;
  enum be_status status = cut(w, run, &open, w->err);
  if (status == BE_OK) status = be_faces_find(&open, w->arena, &faces, &count, w->err);
  if (status != BE_OK) return status;
  struct step *steps = be_arena_alloc(w->arena, count * sizeof *steps);
  size_t *far = be_arena_alloc(w->arena, count * sizeof *far);
  size_t *waiting = be_arena_alloc(w->arena, count * sizeof *waiting);
  if (!steps || !far || !waiting) return be_fail(w->err, BE_NO_MEMORY, "no memory for the move");
  *done = find_way(&open, faces, count, run->count, steps, far, waiting, &end);
  return *done ? lay(w, run, &open, steps, far[end], end) : BE_OK;
}

/* The longest run that begins at a pass, if none begins before it. */
static bool run_at(const struct be_diagram *d, size_t s, size_t k, struct run *run)
{
  size_t n = d->strand[s].count;
  bool over = d->strand[s].pass[k].over;
  if (n == 0 || d->strand[s].pass[(k + n - 1) % n].over == over) return false;
  size_t length = 1;
  while (length < n && d->strand[s].pass[(k + length) % n].over == over) length++;
  *run = (struct run){s, k, length, over};
  return true;
}

/* A run of one pass goes only where the part of its strand that leads back to the same crossing
 * does not cross the rest of that strand: asked before the slow way is. */
static bool may_be_shorter(const struct be_diagram *d, const struct run *run)
{
  const struct be_pass *pass = d->strand[run->strand].pass;
  size_t n = d->strand[run->strand].count, back = 1;
  if (run->count > 1) return true;
  while (back < n && pass[(run->first + back) % n].crossing != pass[run->first].crossing) back++;
  if (back == n) return false;
  for (size_t i = 1; i < back; i++)
    for (size_t j = back + 1; j < n; j++)
      if (pass[(run->first + i) % n].crossing == pass[(run->first + j) % n].crossing) return false;
  return true;
}

static bool all_closed(const struct be_diagram *d)
{
  for (size_t s = 0; s < d->strands; s++)
    if (!d->strand[s].closed) return false;
  return true;
}

static enum be_status one_run(struct simplifying *w, bool *done)
{
  const struct be_diagram *d = w->diagram;
  struct run run;
  enum be_status status = BE_OK;
  *done = false;
  for (size_t s = 0; s < d->strands && all_closed(d); s++)
    for (size_t k = 0; k < d->strand[s].count && status == BE_OK && !*done; k++)
      if (run_at(d, s, k, &run) && may_be_shorter(d, &run)) status = lay_anew(w, &run, done);
  return status;
}

/* A closed strand over (or under) all that it meets lies apart. */
static enum be_status lift_off(struct simplifying *w, bool *done)
{
  struct be_diagram *d = w->diagram;
  for (size_t s = 0; s < d->strands; s++) {
    size_t n = d->strand[s].count, over = 0;
    for (size_t k = 0; k < n; k++) over += d->strand[s].pass[k].over;
    *done = n > 0 && d->strand[s].closed && all_closed(d) && (over == 0 || over == n);
    if (!*done) continue;
    bool *taken = be_arena_alloc(w->arena, d->crossings + 1);
    if (!taken) return be_fail(w->err, BE_NO_MEMORY, "no memory for the move");
    for (size_t k = 0; k < n; k++) taken[d->strand[s].pass[k].crossing] = true;
    if (w->certificate)
      be_buf_format(w->certificate, "strand %zu lies %s all it meets, and is lifted off; ", s + 1,
                    over ? "over" : "under");
    w->moves++;
    return be_diagram_edit(d, taken, NULL, 0, d->sign, d->crossings, w->arena, w->err);
  }
  return BE_OK;
}

static enum be_status reduce(struct simplifying *w, bool *done)
{
  struct map map;
  size_t a, b;
  *done = true;
  if (has_kink(w->diagram, &a)) return take_out(w, a, a, "a kink taken out at");
  enum be_status status = be_map_make(w->diagram, w->arena, &map, w->err);
  if (status != BE_OK) return status;
  if (has_pair(&map, &a, &b)) return take_out(w, a, b, "two taken out at");
  *done = false;
  status = lift_off(w, done);
  if (status == BE_OK && !*done) status = one_run(w, done);
  return status;
}

/* Each triangle by itself, on a copy: the first that makes way stays turned, and the next step
 * finds what it makes way for. */
static enum be_status turn(struct simplifying *w, bool *done)
{
  enum be_status status = BE_OK;
  for (size_t face = 0, faces; status == BE_OK; face++) {
    struct be_diagram turned, reduced;
    struct simplifying trial = {&reduced, w->arena, NULL, 0, w->err};
    status = be_diagram_copy(w->diagram, w->arena, &turned, w->err);
    if (status == BE_OK) status = be_diagram_turn(&turned, face, w->arena, &face, &faces, w->err);
    if (status == BE_NO) return BE_OK;
    if (status == BE_OK) status = be_diagram_copy(&turned, w->arena, &reduced, w->err);
    if (status == BE_OK) status = reduce(&trial, done);
    if (status != BE_OK || !*done) continue;
    *w->diagram = turned;
    w->moves++;
    if (w->certificate) be_buf_text(w->certificate, "a triangle turned; ");
    return BE_OK;
  }
  return status;
}

static enum be_status one_step(struct simplifying *w, bool *done)
{
  enum be_status status = reduce(w, done);
  return status == BE_OK && !*done ? turn(w, done) : status;
}

enum be_status be_diagram_simplify(struct be_diagram *diagram, struct be_arena *arena,
                                   struct be_buf *certificate, size_t *moves, struct be_err *err)
{
  struct simplifying w = {diagram, NULL, certificate, 0, err};
  enum be_status status = BE_OK;
  for (bool done = true; done && status == BE_OK;) {
    struct be_diagram kept = {0};
    w.arena = be_arena_create();
    if (!w.arena) return be_fail(err, BE_NO_MEMORY, "no memory for the moves");
    status = one_step(&w, &done);
    if (status == BE_OK && done) status = be_diagram_copy(diagram, arena, &kept, err);
    if (status == BE_OK && done) *diagram = kept;
    be_arena_free(w.arena);
  }
  if (moves) *moves = w.moves;
  return status;
}
