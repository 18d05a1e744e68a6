/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which stretches of one line lie near another. Both are trees of balls over edges that follow each
 * other; pairs of balls too far apart are left, balls that are near as a whole are taken as a
 * whole, and edges are cut exactly where they enter and leave the tube round another edge. */
#include "knot/measure/inside.h"

/* ---- the tree ---- */

/* What holds a node. */
struct box {
  struct be_point least, most;
};

static struct box box_of_edge(const struct tree *tree, size_t edge)
{
  struct be_point p = tree->points[edge], q = tree->points[edge + 1 < tree->count ? edge + 1 : 0];
  return (struct box){{fmin(p.x, q.x), fmin(p.y, q.y), fmin(p.z, q.z)},
                      {fmax(p.x, q.x), fmax(p.y, q.y), fmax(p.z, q.z)}};
}

static struct box box_of_both(const struct box *a, const struct box *b)
{
  return (struct box){
      {fmin(a->least.x, b->least.x), fmin(a->least.y, b->least.y), fmin(a->least.z, b->least.z)},
      {fmax(a->most.x, b->most.x), fmax(a->most.y, b->most.y), fmax(a->most.z, b->most.z)}};
}

/* From the edges up; of a straight piece the ball about its box is the smallest. */
static void put_balls(const struct tree *tree, size_t nodes, struct box *boxes)
{
  for (size_t k = nodes; k-- > 0;) {
    struct node *node = &tree->nodes[k];
    const struct node *half = &tree->nodes[node->left];
    boxes[k] = node->count == 1 ? box_of_edge(tree, node->first)
                                : box_of_both(&boxes[node->left], &boxes[node->left + 1]);
    node->middle = blend(boxes[k].least, boxes[k].most, 0.5);
    node->radius = distance(boxes[k].least, boxes[k].most) / 2;
    if (!tree->heights) continue;
    size_t next = node->first + 1 < tree->count ? node->first + 1 : 0;
    double from = node->count == 1 ? tree->heights[node->first] : half->low;
    double to = node->count == 1 ? tree->heights[next] : half[1].low;
    node->low = fmin(from, to);
    if (node->count > 1) from = half->high, to = half[1].high;
    node->high = fmax(from, to);
  }
}

enum be_status be_tree_make(const struct be_curve *curve, const struct be_view *view,
                            struct be_arena *arena, struct tree *tree, struct be_err *err)
{
  size_t n = curve->count, edges = be_curve_edges(curve), used = 1;
  struct be_point *points = be_arena_alloc(arena, n * sizeof *points);
  double *along = be_arena_alloc(arena, (n + 1) * sizeof *along);
  double *heights = view ? be_arena_alloc(arena, n * sizeof *heights) : NULL;
  struct node *nodes = be_arena_alloc(arena, 2 * edges * sizeof *nodes);
  struct box *boxes = be_arena_alloc(arena, 2 * edges * sizeof *boxes);
  if (!points || !along || !nodes || !boxes || (view && !heights))
    return be_fail(err, BE_NO_MEMORY, "no memory for the overlap");
  be_curve_distances(curve, along);
  for (size_t i = 0; i < n; i++) {
    points[i] = view ? be_view_point(view, &curve->points[i]) : curve->points[i];
    if (!view) continue;
    heights[i] = points[i].z;
    points[i].z = 0;
  }
  *tree = (struct tree){nodes, points, heights, along, edges, n, curve->closed};
  nodes[0] = (struct node){.first = 0, .count = (unsigned)edges};
  for (size_t k = 0; k < used; k++) {
    struct node *node = &nodes[k];
    if (node->count == 1) continue;
    unsigned half = node->count / 2;
    node->left = (unsigned)used;
    nodes[used++] = (struct node){.first = node->first, .count = half};
    nodes[used++] = (struct node){.first = node->first + half, .count = node->count - half};
  }
  put_balls(tree, used, boxes);
  return BE_OK;
}

static struct be_point point_at(const struct tree *tree, size_t i)
{
  return tree->points[i < tree->count ? i : 0];
}

static double along_at(const struct tree *tree, size_t i)
{
  return tree->along[i < tree->count ? i : tree->count];
}

/* ---- one edge and another ---- */

/* Where |a + t u - c| <= reach; false: nowhere. */
static bool in_ball(struct be_point a, struct be_point u, struct be_point c, double reach,
                    double *from, double *to)
{
  struct be_point w = minus(a, c);
  double uu = dot(u, u), uw = dot(u, w), rest = uw * uw - uu * (dot(w, w) - reach * reach);
  if (!(uu > 0)) { /* an edge that looks like a point */
    *from = 0, *to = 1;
    return norm(w) <= reach;
  }
  if (rest < 0) return false;
  *from = (-uw - sqrt(rest)) / uu;
  *to = (-uw + sqrt(rest)) / uu;
  return true;
}

/* The same of the tube between the planes at the ends of p + s v. */
static bool in_tube(struct be_point a, struct be_point u, struct be_point p, struct be_point v,
                    double reach, double *from, double *to)
{
  double vv = dot(v, v);
  if (!(vv > 0)) return false;
  struct be_point w = minus(a, p);
  double s0 = dot(w, v) / vv, ds = dot(u, v) / vv; /* s along the axis: s0 + t ds */
  struct be_point wn = {w.x - s0 * v.x, w.y - s0 * v.y, w.z - s0 * v.z};
  struct be_point un = {u.x - ds * v.x, u.y - ds * v.y, u.z - ds * v.z};
  double uu = dot(un, un), uw = dot(un, wn), ww = dot(wn, wn) - reach * reach;
  *from = -INFINITY, *to = INFINITY;
  if (uu > 1e-24 * dot(u, u)) {
    double rest = uw * uw - uu * ww;
    if (rest < 0) return false;
    *from = (-uw - sqrt(rest)) / uu;
    *to = (-uw + sqrt(rest)) / uu;
  } else if (ww > 0) return false;
  if (fabs(ds) > 0) {
    double enter = (0 - s0) / ds, leave = (1 - s0) / ds;
    *from = fmax(*from, fmin(enter, leave));
    *to = fmin(*to, fmax(enter, leave));
  } else if (s0 < 0 || s0 > 1) return false;
  return *from <= *to;
}

/* What of the edge a + t u, 0 <= t <= 1, is within reach of the edge p + s v: one stretch, since
 * what is within reach of an edge is convex. */
static bool within(struct be_point a, struct be_point u, struct be_point p, struct be_point v,
                   double reach, double *from, double *to)
{
  struct be_point q = {p.x + v.x, p.y + v.y, p.z + v.z};
  double f, t;
  *from = INFINITY, *to = -INFINITY;
  if (in_ball(a, u, p, reach, &f, &t)) *from = fmin(*from, f), *to = fmax(*to, t);
  if (in_ball(a, u, q, reach, &f, &t)) *from = fmin(*from, f), *to = fmax(*to, t);
  if (in_tube(a, u, p, v, reach, &f, &t)) *from = fmin(*from, f), *to = fmax(*to, t);
  *from = fmax(*from, 0);
  *to = fmin(*to, 1);
  return *from <= *to;
}

/* The place on p + s v nearest to a point. */
static double nearest(struct be_point a, struct be_point p, struct be_point v)
{
  double vv = dot(v, v);
  return vv > 0 ? fmin(1, fmax(0, dot(minus(a, p), v) / vv)) : 0.5;
}

/* ---- two trees ---- */

struct walk {
  const struct nearness *near;
  bool *whole[NEAR_KINDS]; /* nodes that are near as a whole */
  size_t leaf;             /* the first's node whose edge is looked at */
  struct gather found[NEAR_KINDS];
  struct be_err *err;
};

/* A piece of an edge: where on it, and along the line. */
struct piece {
  size_t edge;
  double from, to;
};

static double height_in(const struct tree *tree, size_t edge, double at)
{
  size_t next = edge + 1 < tree->count ? edge + 1 : 0;
  return tree->heights[edge] + at * (tree->heights[next] - tree->heights[edge]);
}

static double along_in(const struct tree *tree, size_t edge, double at)
{
  double from = tree->along[edge], to = along_at(tree, edge + 1);
  return at > 0 ? at < 1 ? from + at * (to - from) : to : from;
}

static struct be_point point_in(const struct tree *tree, size_t edge, double at)
{
  return blend(tree->points[edge], point_at(tree, edge + 1), at);
}

/* How far, at least and at most, places of two nodes are apart along the line. */
static void ways_apart(const struct tree *tree, double from, double to, double other_from,
                       double other_to, double *least, double *most)
{
  double all = tree->closed ? tree->along[tree->count] : 0;
  double half = (to - from + other_to - other_from) / 2;
  double way = way_along((from + to) / 2, (other_from + other_to) / 2, all);
  *least = way - half;
  *most = way + half;
}

/* Of a line and itself: pieces of which some places are too near along the line and some are not
 * are halved, until they are so short that their middles tell. */
static enum be_status take_pieces(struct walk *w, struct piece x, struct piece y)
{
  const struct tree *a = w->near->of, *b = w->near->to;
  const double apart = w->near->apart;
  struct be_point p = point_in(a, x.edge, x.from), u = minus(point_in(a, x.edge, x.to), p);
  struct be_point q = point_in(b, y.edge, y.from), v = minus(point_in(b, y.edge, y.to), q);
  double from, to, least, most;
  if (!within(p, u, q, v, w->near->reach, &from, &to)) return BE_OK;
  if (apart >= 0) {
    double a0 = along_in(a, x.edge, x.from), a1 = along_in(a, x.edge, x.to);
    double b0 = along_in(b, y.edge, y.from), b1 = along_in(b, y.edge, y.to);
    ways_apart(a, a0, a1, b0, b1, &least, &most);
    bool unsure = least <= apart && apart < most;
    if (unsure && a1 - a0 + b1 - b0 > 0.02 * apart) {
      bool first = a1 - a0 > b1 - b0;
      struct piece *cut = first ? &x : &y, rest = *cut;
      rest.from = cut->to = (cut->from + cut->to) / 2;
      enum be_status status = take_pieces(w, x, y);
      return status == BE_OK ? take_pieces(w, first ? rest : x, first ? y : rest) : status;
    }
    if ((least + most) / 2 <= apart) return BE_OK;
  }
  int kind = NEAR_OVER;
  if (w->near->levelled) {
    double at = (from + to) / 2;
    struct be_point middle = {p.x + at * u.x, p.y + at * u.y, p.z + at * u.z};
    double other = y.from + nearest(middle, q, v) * (y.to - y.from);
    double own = x.from + at * (x.to - x.from);
    if (height_in(a, x.edge, own) < height_in(b, y.edge, other)) kind = NEAR_UNDER;
  }
  if (x.from <= 0 && x.to >= 1 && from <= 0 && to >= 1) w->whole[kind][w->leaf] = true;
  double begins = from > 0 ? x.from + from * (x.to - x.from) : x.from;
  double ends = to < 1 ? x.from + to * (x.to - x.from) : x.to;
  return be_gather_add(&w->found[kind], along_in(a, x.edge, begins), along_in(a, x.edge, ends),
                       w->err);
}

static bool nearer(struct be_point a, struct be_point b, double reach)
{
  struct be_point off = minus(a, b);
  return dot(off, off) <= reach * reach;
}

/* Whether all of a node of the first is near one edge of a node of the second, and on which side.
 */
static bool is_whole(const struct walk *w, const struct node *m, const struct node *n, int *kind)
{
  const struct tree *a = w->near->of, *b = w->near->to;
  size_t j = n->first + n->count / 2;
  struct be_point middle = blend(b->points[j], point_at(b, j + 1), 0.5);
  double rest = w->near->reach - m->radius;
  if (rest < 0 || !nearer(m->middle, middle, rest)) return false;
  *kind = NEAR_OVER;
  if (w->near->levelled) {
    double from = height_in(b, j, 0), to = height_in(b, j, 1);
    if (m->low <= fmax(from, to) && fmin(from, to) <= m->high) return false;
    if (m->high < from) *kind = NEAR_UNDER;
  }
  if (w->near->apart < 0) return true;
  double least, most;
  ways_apart(a, a->along[m->first], along_at(a, m->first + m->count), b->along[j],
             along_at(b, j + 1), &least, &most);
  return least > w->near->apart;
}

/* Whether nothing of a pair can add to what is known already. */
static bool is_known(const struct walk *w, size_t x, const struct node *m, const struct node *n)
{
  if (!w->near->levelled) return w->whole[NEAR_OVER][x];
  return (w->whole[NEAR_OVER][x] && (w->whole[NEAR_UNDER][x] || n->high < m->low)) ||
         (w->whole[NEAR_UNDER][x] && n->low > m->high);
}

static enum be_status walk_pair(struct walk *w, size_t x, size_t y)
{
  const struct tree *a = w->near->of, *b = w->near->to;
  const struct node *m = &a->nodes[x], *n = &b->nodes[y];
  if (is_known(w, x, m, n)) return BE_OK;
  if (!nearer(m->middle, n->middle, w->near->reach + m->radius + n->radius)) return BE_OK;
  double from = a->along[m->first], to = along_at(a, m->first + m->count), least, most;
  if (w->near->apart >= 0) {
    ways_apart(a, from, to, b->along[n->first], along_at(b, n->first + n->count), &least, &most);
    if (most <= w->near->apart) return BE_OK;
  }
  int kind;
  if (is_whole(w, m, n, &kind)) {
    /* Of the second node another edge may lie on the other side, or on none. */
    bool new = !w->whole[kind][x];
    w->whole[kind][x] = true;
    enum be_status status = new ? be_gather_add(&w->found[kind], from, to, w->err) : BE_OK;
    if (status != BE_OK || is_known(w, x, m, n)) return status;
  }
  w->leaf = x;
  if (m->count == 1 && n->count == 1)
    return take_pieces(w, (struct piece){m->first, 0, 1}, (struct piece){n->first, 0, 1});
  bool split_first = n->count == 1 || (m->count > 1 && m->radius > n->radius);
  /* The nearer half first: what is found whole there need not be sought further off. */
  struct be_point left = minus(m->middle, b->nodes[n->left].middle);
  struct be_point right = minus(m->middle, b->nodes[n->left + 1].middle);
  unsigned near_half = !split_first && dot(right, right) < dot(left, left);
  for (unsigned k = 0; k < 2; k++) {
    enum be_status status =
        split_first ? walk_pair(w, m->left + k, y) : walk_pair(w, x, n->left + (k ^ near_half));
    if (status != BE_OK) return status;
  }
  for (int k = 0; k < NEAR_KINDS && m->count > 1; k++)
    w->whole[k][x] = w->whole[k][x] || (w->whole[k][m->left] && w->whole[k][m->left + 1]);
  return BE_OK;
}

enum be_status be_near(const struct nearness *near, struct be_arena *arena,
                       struct be_stretches found[NEAR_KINDS], struct be_err *err)
{
  struct walk walk = {.near = near, .err = err};
  enum be_status status = BE_OK;
  for (int k = 0; k < NEAR_KINDS; k++) {
    walk.whole[k] = be_arena_alloc(arena, 2 * near->of->edges);
    if (!walk.whole[k]) status = be_fail(err, BE_NO_MEMORY, "no memory for the overlap");
  }
  if (status == BE_OK) status = walk_pair(&walk, 0, 0);
  for (int k = 0; k < (near->levelled ? 2 : 1); k++) {
    double slack = 1e-9 * near->reach; /* what rounding may leave between edges that follow */
    enum be_status finished =
        status == BE_OK ? be_gather_finish(&walk.found[k], slack, arena, &found[k], err) : status;
    if (status == BE_OK) status = finished;
    be_free(walk.found[k].list);
    walk.found[k].list = NULL;
  }
  return status;
}
