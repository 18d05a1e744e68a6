/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A tube is a row of rings, at open ends with those of half a ball and its pole. */
#include "knot/solid/solid.h"
#include "knot/curve/vector.h"

static const size_t triangles_most = 4000000;
static const double pi = 3.14159265358979323846;

static struct be_point add(struct be_point a, double by, struct be_point b)
{
  return (struct be_point){a.x + by * b.x, a.y + by * b.y, a.z + by * b.z};
}

static struct be_point unit(struct be_point a)
{
  return add((struct be_point){0, 0, 0}, 1 / norm(a), a);
}

/* ---- frames along a line ---- */

struct frame {
  struct be_point along, side;
};

static struct be_point direction(const struct be_curve *curve, size_t i)
{
  size_t n = curve->count, last = be_curve_edges(curve) - 1;
  struct be_point before = unit(edge_of(curve, i > 0 ? i - 1 : curve->closed ? n - 1 : 0));
  struct be_point after = unit(edge_of(curve, i < last ? i : last));
  struct be_point sum = add(before, 1, after);
  return norm(sum) > 1e-9 ? unit(sum) : after; /* less: it turns right back */
}

static struct be_point any_side(struct be_point along)
{
  double x = fabs(along.x), y = fabs(along.y), z = fabs(along.z);
  struct be_point axis = {x <= y && x <= z, !(x <= y && x <= z) && y <= z, 0};
  if (axis.x + axis.y == 0) axis.z = 1;
  return unit(cross(along, axis));
}

static struct be_point mirrored(struct be_point a, struct be_point normal, double square)
{
  return square > 1e-30 ? add(a, -2 * dot(normal, a) / square, normal) : a;
}

/* The side carried to the next point without turning round the line: double reflection (Wang,
 * Juettler, Zheng and Liu 2008, table 1). */
static struct be_point carry(struct frame from, struct be_point step, struct be_point along)
{
  double square = dot(step, step);
  struct be_point side = mirrored(from.side, step, square);
  struct be_point rest = minus(along, mirrored(from.along, step, square));
  side = mirrored(side, rest, dot(rest, rest));
  return unit(add(side, -dot(side, along), along)); /* what rounding left along the line */
}

static struct be_point turned(struct frame frame, double angle)
{
  struct be_point up = cross(frame.along, frame.side), zero = {0, 0, 0};
  return add(add(zero, cos(angle), frame.side), sin(angle), up);
}

/* What is left to turn when a closed line comes back is spread over its length. */
static void close_frames(const struct be_curve *curve, struct frame *frames)
{
  size_t n = curve->count;
  struct be_point back = carry(frames[n - 1], edge_of(curve, n - 1), frames[0].along);
  struct be_point up = cross(frames[0].along, frames[0].side);
  double angle = atan2(dot(back, up), dot(back, frames[0].side)), walked = 0;
  double length = be_curve_length(curve);
  for (size_t i = 0; i < n; i++) {
    frames[i].side = turned(frames[i], -angle * walked / length);
    walked += edge_length(curve, i);
  }
}

static void make_frames(const struct be_curve *curve, struct frame *frames)
{
  frames[0].along = direction(curve, 0);
  frames[0].side = any_side(frames[0].along);
  for (size_t i = 1; i < curve->count; i++) {
    frames[i].along = direction(curve, i);
    frames[i].side = carry(frames[i - 1], edge_of(curve, i - 1), frames[i].along);
  }
  if (curve->closed) close_frames(curve, frames);
}

/* ---- rings ---- */

struct making {
  struct be_solid *solid;
  unsigned sides, caps; /* rings of a half ball, its pole aside */
  size_t first;         /* vertex of this line */
  size_t rings;
};

static void add_vertex(struct making *m, struct be_point at, struct be_point normal)
{
  m->solid->vertex[m->solid->vertices] = at;
  m->solid->normal[m->solid->vertices++] = normal;
}

static void add_triangle(struct making *m, size_t a, size_t b, size_t c)
{
  uint32_t *to = m->solid->triangle[m->solid->triangles++];
  to[0] = (uint32_t)a;
  to[1] = (uint32_t)b;
  to[2] = (uint32_t)c;
}

/* tilt: of the normals, from square to the line towards its direction; pi / 2 is a pole. */
static void add_ring(struct making *m, struct be_point centre, struct frame frame, double radius,
                     double tilt)
{
  struct be_point zero = {0, 0, 0};
  for (unsigned k = 0; k < m->sides; k++) {
    struct be_point out = turned(frame, 2 * pi * k / m->sides);
    struct be_point normal = add(add(zero, cos(tilt), out), sin(tilt), frame.along);
    add_vertex(m, add(centre, radius, normal), normal);
  }
  m->rings++;
}

static void join_rings(struct making *m, size_t a, size_t b)
{
  for (unsigned k = 0; k < m->sides; k++) {
    unsigned next = (k + 1) % m->sides;
    add_triangle(m, a + k, a + next, b + next);
    add_triangle(m, a + k, b + next, b + k);
  }
}

static void add_pole(struct making *m, struct be_point centre, struct frame frame, double radius,
                     int way, size_t ring)
{
  struct be_point zero = {0, 0, 0}, normal = add(zero, way, frame.along);
  size_t pole = m->solid->vertices;
  add_vertex(m, add(centre, radius, normal), normal);
  for (unsigned k = 0; k < m->sides; k++) {
    unsigned next = (k + 1) % m->sides;
    add_triangle(m, pole, ring + (way > 0 ? k : next), ring + (way > 0 ? next : k));
  }
}

static void add_tube(struct making *m, const struct be_curve *curve, const struct frame *frames,
                     double radius)
{
  size_t last = curve->count - 1;
  m->first = m->solid->vertices;
  m->rings = 0;
  for (unsigned j = curve->closed ? 0 : m->caps; j > 0; j--)
    add_ring(m, curve->points[0], frames[0], radius, -pi / 2 * j / (m->caps + 1));
  for (size_t i = 0; i <= last; i++) add_ring(m, curve->points[i], frames[i], radius, 0);
  for (unsigned j = 1; j <= m->caps && !curve->closed; j++)
    add_ring(m, curve->points[last], frames[last], radius, pi / 2 * j / (m->caps + 1));
  size_t end = m->first + (m->rings - 1) * m->sides;
  for (size_t ring = m->first; ring < end; ring += m->sides) join_rings(m, ring, ring + m->sides);
  if (curve->closed) {
    join_rings(m, end, m->first);
    return;
  }
  add_pole(m, curve->points[0], frames[0], radius, -1, m->first);
  add_pole(m, curve->points[last], frames[last], radius, 1, end);
}

static enum be_status check(const struct be_lines *lines, unsigned sides, size_t *rings,
                            size_t *longest, struct be_err *err)
{
  if (sides < 3 || sides > BE_SIDES_MAX)
    return be_fail(err, BE_WRONG_USE, "a tube has 3 to %d sides", BE_SIDES_MAX);
  for (size_t l = 0; l < lines->count; l++) {
    enum be_status status = be_curve_check(&lines->line[l], err);
    if (status != BE_OK) return status;
    if (!(lines->diameter[l] > 0 && isfinite(lines->diameter[l])))
      return be_fail(err, BE_BAD_INPUT, "the diameter of line %zu is not above 0", l + 1);
    if (lines->line[l].count > *longest) *longest = lines->line[l].count;
    *rings += lines->line[l].count + 2 * (size_t)(sides / 4) + 2;
  }
  if (2 * *rings * sides > triangles_most)
    return be_fail(err, BE_TOO_LARGE, "the tubes would have more than %zu triangles",
                   triangles_most);
  return BE_OK;
}

enum be_status be_solid_make(const struct be_lines *lines, unsigned sides, struct be_arena *arena,
                             struct be_solid *solid, struct be_err *err)
{
  size_t rings = 0, longest = 0;
  enum be_status status = check(lines, sides, &rings, &longest, err);
  if (status != BE_OK) return status;
  *solid = (struct be_solid){.groups = lines->count};
  solid->vertex = be_arena_alloc(arena, rings * sides * sizeof *solid->vertex);
  solid->normal = be_arena_alloc(arena, rings * sides * sizeof *solid->normal);
  solid->triangle = be_arena_alloc(arena, 2 * rings * sides * sizeof *solid->triangle);
  struct frame *frames = be_alloc_array(longest + 1, sizeof *frames);
  if (!solid->vertex || !solid->normal || !solid->triangle || !frames)
    status = be_fail(err, BE_NO_MEMORY, "no memory for the tubes");
  struct making making = {.solid = solid, .sides = sides, .caps = sides / 4};
  for (size_t l = 0; l < lines->count && status == BE_OK; l++) {
    struct be_solid_group *group = &solid->group[l];
    *group = (struct be_solid_group){.vertex = solid->vertices, .triangle = solid->triangles};
    make_frames(&lines->line[l], frames);
    add_tube(&making, &lines->line[l], frames, lines->diameter[l] / 2);
    group->vertices = solid->vertices - group->vertex;
    group->triangles = solid->triangles - group->triangle;
  }
  be_free(frames);
  return status;
}
