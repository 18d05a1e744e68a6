/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Crossings are those of the straight legs in the x,y plane whose two points have no height of
 * their own. Heights then come of three wishes, gone over in turn (Gauss-Seidel): the strand over
 * is a diameter above the one under, a line climbs no steeper than 45 degrees, and lies as flat
 * as that lets it. So the middle one of three strands takes a middle height. */
#include "knot/tie/inside.h"

#include <stdlib.h>

/* ---- where legs cross ---- */

struct legs {
  const struct sketch *line;
  size_t number, leg;
  struct be_point from, to;
};

static bool is_drawn(const struct sketch *line, const struct leg *leg)
{
  return !dots_of(line)[leg->from].given && !dots_of(line)[leg->to].given;
}

static bool share_a_dot(const struct leg *a, const struct leg *b)
{
  return a->from == b->from || a->from == b->to || a->to == b->from || a->to == b->to;
}

static double area(struct be_point a, struct be_point b, struct be_point c)
{
  return (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);
}

static struct legs legs_at(const struct sketches *all, size_t l, size_t k)
{
  const struct sketch *line = &all->line[l];
  const struct leg *leg = &legs_of(line)[k];
  return (struct legs){line, l, k, dots_of(line)[leg->from].at, dots_of(line)[leg->to].at};
}

/* How near a point comes to a leg, in the page. */
static double off_leg(struct be_point p, const struct legs *e)
{
  struct be_point u = minus(e->to, e->from), w = minus(p, e->from);
  double t = fmin(1, fmax(0, (u.x * w.x + u.y * w.y) / (u.x * u.x + u.y * u.y)));
  return hypot(w.x - t * u.x, w.y - t * u.y);
}

static bool are_apart(const struct legs *e, const struct legs *f)
{
  return fmax(e->from.x, e->to.x) + 1 < fmin(f->from.x, f->to.x) ||
         fmax(f->from.x, f->to.x) + 1 < fmin(e->from.x, e->to.x) ||
         fmax(e->from.y, e->to.y) + 1 < fmin(f->from.y, f->to.y) ||
         fmax(f->from.y, f->to.y) + 1 < fmin(e->from.y, e->to.y);
}

/* Whether they cross; *touch: an end of one lies on the other. */
static bool cross_at(const struct legs *e, const struct legs *f, struct meeting *m, bool *touch)
{
  double near = fmin(fmin(off_leg(e->from, f), off_leg(e->to, f)),
                     fmin(off_leg(f->from, e), off_leg(f->to, e)));
  *touch = near < 1e-6;
  double a = area(e->from, e->to, f->from), b = area(e->from, e->to, f->to);
  double c = area(f->from, f->to, e->from), d = area(f->from, f->to, e->to);
  if (*touch || (a > 0) == (b > 0) || (c > 0) == (d > 0)) return false;
  double s = c / (c - d), t = a / (a - b);
  struct be_point p = blend(e->from, e->to, s);
  *m = (struct meeting){.line = {e->number, f->number},
                        .leg = {e->leg, f->leg},
                        .at = {s, t},
                        .x = p.x,
                        .y = p.y,
                        .over = -1};
  return true;
}

static enum be_status find_pair(const struct legs *e, const struct legs *f, struct list *found,
                                struct be_arena *scratch, struct be_err *err)
{
  struct meeting m;
  bool touch;
  const struct leg *p = &legs_of(e->line)[e->leg], *q = &legs_of(f->line)[f->leg];
  if ((e->number == f->number && share_a_dot(p, q)) || are_apart(e, f)) return BE_OK;
  bool crosses = cross_at(e, f, &m, &touch);
  if (touch)
    return be_tie_wrong(err, q->place,
                        "up to %.4g,%.4g line %c touches a point of line %c, or a point of it lies "
                        "on that line: draw it a little aside",
                        f->to.x, f->to.y, f->line->letter, e->line->letter);
  if (!crosses) return BE_OK;
  struct meeting *made = be_list_add(found, sizeof *made, scratch);
  if (!made) return be_list_failed(found, err);
  *made = m;
  return BE_OK;
}

static enum be_status find_all(const struct sketches *all, struct list *found,
                               struct be_arena *scratch, struct be_err *err)
{
  struct list drawn = {0};
  enum be_status status = BE_OK;
  for (size_t l = 0; l < all->count; l++)
    for (size_t k = 0; k < all->line[l].legs.count; k++) {
      if (!is_drawn(&all->line[l], &legs_of(&all->line[l])[k])) continue;
      struct legs *leg = be_list_add(&drawn, sizeof *leg, scratch);
      if (!leg) return be_list_failed(&drawn, err);
      *leg = legs_at(all, l, k);
    }
  if (drawn.count > 2000)
    return be_fail(err, BE_TOO_LARGE, "more than 2,000 straight pieces are drawn");
  const struct legs *leg = drawn.items;
  for (size_t i = 0; status == BE_OK && i < drawn.count; i++)
    for (size_t j = i + 1; status == BE_OK && j < drawn.count; j++)
      status = find_pair(&leg[i], &leg[j], found, scratch, err);
  return status;
}

/* ---- who runs over ---- */

static int by_place(const void *a, const void *b)
{
  const struct pass *p = a, *q = b;
  if (p->line != q->line) return p->line < q->line ? -1 : 1;
  if (p->leg != q->leg) return p->leg < q->leg ? -1 : 1;
  return p->at < q->at ? -1 : p->at > q->at;
}

size_t be_passes_of(const struct meetings *meetings, size_t line, size_t leg, size_t *first)
{
  const struct pass *p = meetings->passes;
  size_t low = 0, high = 2 * meetings->count, end;
  while (low < high) {
    size_t middle = (low + high) / 2;
    if (p[middle].line < line || (p[middle].line == line && p[middle].leg < leg)) low = middle + 1;
    else high = middle;
  }
  for (end = low; end < 2 * meetings->count && p[end].line == line && p[end].leg == leg;) end++;
  *first = low;
  return end - low;
}

static enum be_status tell_leg(const struct sketches *all, size_t l, size_t k,
                               struct meetings *meetings, struct be_err *err)
{
  const struct sketch *line = &all->line[l];
  const struct leg *leg = &legs_of(line)[k];
  size_t first, passes = be_passes_of(meetings, l, k, &first);
  if (leg->letters == 0) return BE_OK;
  const struct letter *letter = &letters_of(line)[leg->letter];
  if (leg->letters != passes) {
    struct be_point a = dots_of(line)[leg->from].at, b = dots_of(line)[leg->to].at;
    return be_tie_wrong(err, letter->place,
                        "from %.4g,%.4g to %.4g,%.4g line %c has %zu letter%s, but %zu crossing%s",
                        a.x, a.y, b.x, b.y, line->letter, leg->letters,
                        leg->letters == 1 ? "" : "s", passes, passes == 1 ? "" : "s");
  }
  for (size_t i = 0; i < passes; i++) {
    struct pass p = meetings->passes[first + i];
    struct meeting *m = &meetings->list[p.meeting];
    if (letter[i].says == '.') continue;
    int over = letter[i].says == 'o' ? p.which : !p.which;
    if (m->over >= 0 && m->over != over)
      return be_tie_wrong(
          err, letter[i].place,
          "near %.3g,%.3g lines %c and %c both run %s: one of their letters is wrong", m->x, m->y,
          all->line[m->line[0]].letter, all->line[m->line[1]].letter,
          letter[i].says == 'o' ? "over" : "under");
    m->over = over;
  }
  return BE_OK;
}

/* The crossings of a line counted from its first point; a ring has no letters of its own. */
static enum be_status untold(const struct sketches *all, const struct meetings *meetings,
                             const struct meeting *m, struct be_err *err)
{
  size_t number = 0, first = all->line[m->line[0]].hardware;
  size_t line = m->line[first], other = m->line[!first];
  for (size_t i = 0; i < 2 * meetings->count; i++) {
    const struct pass *p = &meetings->passes[i];
    const struct meeting *at = &meetings->list[p->meeting];
    if (p->line != line) continue;
    number++;
    if (at == m) break;
  }
  char with[16] = "itself";
  if (line != other) memcpy(with, (char[]){'l', 'i', 'n', 'e', ' ', all->line[other].letter, 0}, 7);
  return be_tie_wrong(err, legs_of(&all->line[m->line[1]])[m->leg[1]].place,
                      "crossing %zu of line %c, with %s near %.3g,%.3g: it is not said which runs "
                      "over",
                      number, all->line[line].letter, with, m->x, m->y);
}

/* ---- how high ---- */

/* Points of the sketch that have a height, and the pieces between them. */
struct node {
  double z, sum, weight; /* of what its neighbours would have it be */
  bool fixed;
};
struct piece {
  size_t a, b;
  double length;
};
struct heights {
  struct node *nodes; /* dots of all lines, then passes */
  size_t count, first_dot[BE_LINES_MAX], first_pass;
  struct list pieces;
};

static enum be_status add_piece(struct heights *h, size_t a, size_t b, double length,
                                struct be_arena *scratch, struct be_err *err)
{
  struct piece *piece = be_list_add(&h->pieces, sizeof *piece, scratch);
  if (!piece) return be_list_failed(&h->pieces, err);
  *piece = (struct piece){a, b, fmax(length, 1e-3)};
  return BE_OK;
}

static enum be_status gather(const struct sketches *all, const struct meetings *meetings,
                             struct heights *h, struct be_arena *scratch, struct be_err *err)
{
  for (size_t l = 0; l < all->count; l++) {
    h->first_dot[l] = h->count;
    h->count += all->line[l].dots.count;
  }
  h->first_pass = h->count;
  h->count += 2 * meetings->count;
  h->nodes = be_arena_alloc(scratch, (h->count + 1) * sizeof *h->nodes);
  if (!h->nodes) return be_tie_no_memory(err);
  for (size_t l = 0; l < all->count; l++) {
    const struct sketch *line = &all->line[l];
    for (size_t i = 0; i < line->dots.count; i++)
      h->nodes[h->first_dot[l] + i] = (struct node){
          .z = dots_of(line)[i].at.z, .fixed = dots_of(line)[i].given || line->hardware};
    for (size_t k = 0; k < line->legs.count; k++) {
      const struct leg *leg = &legs_of(line)[k];
      size_t first, passes = be_passes_of(meetings, l, k, &first);
      size_t from = h->first_dot[l] + leg->from;
      struct be_point d = minus(dots_of(line)[leg->to].at, dots_of(line)[leg->from].at);
      double length = hypot(d.x, d.y), at = 0;
      enum be_status status = BE_OK;
      for (size_t i = 0; status == BE_OK && i <= passes; i++) {
        const struct pass *p = i < passes ? &meetings->passes[first + i] : NULL;
        size_t to = p ? h->first_pass + first + i : h->first_dot[l] + leg->to;
        if (p) h->nodes[to].fixed = line->hardware;
        double next = p ? meetings->list[p->meeting].at[p->which] : 1;
        status = add_piece(h, from, to, (next - at) * length, scratch, err);
        from = to;
        at = next;
      }
      if (status != BE_OK) return status;
    }
  }
  return BE_OK;
}

static void keep_flat(struct heights *h)
{
  const struct piece *piece = h->pieces.items;
  for (size_t i = 0; i < h->count; i++) h->nodes[i].sum = h->nodes[i].weight = 0;
  for (size_t i = 0; i < h->pieces.count; i++) {
    struct node *a = &h->nodes[piece[i].a], *b = &h->nodes[piece[i].b];
    double weight = 1 / (piece[i].length + 0.3);
    a->sum += weight * b->z;
    b->sum += weight * a->z;
    a->weight += weight;
    b->weight += weight;
  }
  for (size_t i = 0; i < h->count; i++)
    if (!h->nodes[i].fixed && h->nodes[i].weight > 0)
      h->nodes[i].z += 0.3 * (0.97 * h->nodes[i].sum / h->nodes[i].weight - h->nodes[i].z);
}

static void move_both(struct node *up, struct node *down, double by)
{
  if (!up->fixed) up->z += down->fixed ? by : by / 2;
  if (!down->fixed) down->z -= up->fixed ? by : by / 2;
}

static void keep_gentle(struct heights *h)
{
  const struct piece *piece = h->pieces.items;
  for (size_t i = 0; i < h->pieces.count; i++) {
    struct node *a = &h->nodes[piece[i].a], *b = &h->nodes[piece[i].b];
    double climb = b->z - a->z, over = fabs(climb) - piece[i].length;
    if (over > 0) move_both(climb > 0 ? a : b, climb > 0 ? b : a, over);
  }
}

static void keep_apart(const struct sketches *all, const struct meetings *meetings,
                       struct heights *h, const size_t *node_of)
{
  for (size_t i = 0; i < meetings->count; i++) {
    const struct meeting *m = &meetings->list[i];
    struct node *up = &h->nodes[node_of[2 * i + (size_t)m->over]];
    struct node *down = &h->nodes[node_of[2 * i + (size_t)!m->over]];
    double wanted = 0.55 * (all->line[m->line[0]].diameter + all->line[m->line[1]].diameter);
    double lack = wanted - (up->z - down->z);
    if (lack > 0) move_both(up, down, lack);
  }
}

static enum be_status find_heights(struct sketches *all, struct meetings *meetings,
                                   struct be_arena *scratch, struct be_err *err)
{
  enum { ROUNDS = 400 };
  struct heights h = {0};
  enum be_status status = gather(all, meetings, &h, scratch, err);
  size_t *node_of = be_arena_alloc(scratch, (2 * meetings->count + 1) * sizeof *node_of);
  if (status != BE_OK) return status;
  if (!node_of) return be_tie_no_memory(err);
  for (size_t i = 0; i < 2 * meetings->count; i++) {
    const struct pass *p = &meetings->passes[i];
    node_of[2 * p->meeting + (size_t)p->which] = h.first_pass + i;
  }
  for (int round = 0; round < ROUNDS; round++) {
    if (round < ROUNDS / 2) keep_flat(&h);
    keep_gentle(&h);
    keep_apart(all, meetings, &h, node_of);
  }
  for (size_t i = 0; i < meetings->count; i++)
    for (size_t w = 0; w < 2; w++) meetings->list[i].height[w] = h.nodes[node_of[2 * i + w]].z;
  for (size_t l = 0; l < all->count; l++)
    for (size_t i = 0; i < all->line[l].dots.count; i++)
      dots_of(&all->line[l])[i].at.z = h.nodes[h.first_dot[l] + i].z;
  return BE_OK;
}

enum be_status be_tie_heights(struct sketches *all, struct be_arena *scratch,
                              struct meetings *meetings, struct be_err *err)
{
  struct list found = {0};
  enum be_status status = find_all(all, &found, scratch, err);
  if (status != BE_OK) return status;
  *meetings = (struct meetings){.list = found.items, .count = found.count};
  meetings->passes = be_arena_alloc(scratch, (2 * found.count + 1) * sizeof *meetings->passes);
  if (!meetings->passes) return be_tie_no_memory(err);
  for (size_t i = 0; i < 2 * found.count; i++) {
    const struct meeting *m = &meetings->list[i / 2];
    size_t w = i % 2;
    meetings->passes[i] = (struct pass){i / 2, m->line[w], m->leg[w], (int)w, m->at[w]};
  }
  qsort(meetings->passes, 2 * found.count, sizeof *meetings->passes, by_place);
  for (size_t l = 0; l < all->count; l++)
    for (size_t k = 0; k < all->line[l].legs.count; k++) {
      status = tell_leg(all, l, k, meetings, err);
      if (status != BE_OK) return status;
    }
  for (size_t i = 0; i < found.count; i++)
    if (meetings->list[i].over < 0) return untold(all, meetings, &meetings->list[i], err);
  return find_heights(all, meetings, scratch, err);
}
