/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Gauss's integral over all pairs of edges, exact for polygons (Klenin and Langowski 2000, method
 * 1a), with and without the signs of the pairs.
 *
 * A run of edges of one line is looked at from a block of edges of the other. Where the run stays
 * out of the ball round the block, the block's edges and its chord, laid against one another, bound
 * a surface that the run does not pass; so the angles of block and run are together those of chord
 * and run, and what the surface's angle grows by from the run's beginning to its end. That is no
 * approximation, and costs as many angles as the run has edges and the block twice. Without signs
 * it holds for runs whose every pair with the block has the same sign. Other edges are left to the
 * halves of the block, and to single edges in the end. */
#include "knot/crossing/angles.h"
#include "knot/crossing/inside.h"

static const double pi = 3.14159265358979323846;

/* Blocks of the largest are about the square root of the edges: then chords and ends of runs cost
 * alike. */
enum { LEAF = 4, LEVELS_MOST = 8, RUN_LEAST = 4 };

/* A block of edges, about the middle of its box. Of edge i in it the unit direction and the moment
 * about the centre are a mean of those of the first and the last, but for what is named here. */
struct block {
  struct be_point centre, first[2], last[2];
  double radius, off_direction, off_moment;
};

/* Edges of a line's run. */
struct span {
  unsigned from, to;
};

struct sums {
  double signed_, unsigned_;
};

struct pairs {
  struct chain rows, columns;
  double *length;    /* of the columns' edges */
  bool same, closed; /* one curve with itself */
  bool unsigned_too; /* otherwise signs do not matter */
  size_t levels;     /* of blocks: LEAF << 1 edges, LEAF << 2 ... */
  struct block *block[LEVELS_MOST];
  struct span spans[LEVELS_MOST + 1][CHAIN_SEEN]; /* left to each level */
  double low[CHAIN_SEEN], high[CHAIN_SEEN], none[CHAIN_SEEN], out[CHAIN_SEEN];
  struct angles angles;
  struct sums sums;
};

/* ---- blocks ---- */

static struct be_point unit_of_edge(const struct chain *chain, size_t i, double *length)
{
  struct be_point edge = minus(chain_point(chain, i + 1), chain_point(chain, i));
  *length = norm(edge);
  return (struct be_point){edge.x / *length, edge.y / *length, edge.z / *length};
}

/* Direction and moment of an edge. */
static void line_of(const struct chain *chain, size_t i, struct be_point centre,
                    struct be_point line[2], double *length)
{
  line[0] = unit_of_edge(chain, i, length);
  line[1] = cross(minus(chain_point(chain, i), centre), line[0]);
}

static void measure_block(const struct chain *chain, size_t from, size_t to, struct block *block)
{
  struct be_point low = chain_point(chain, from), high = low, line[2];
  double length, all = 0, walked = 0;
  for (size_t i = from + 1; i <= to; i++) {
    struct be_point p = chain_point(chain, i);
    low = (struct be_point){lesser(low.x, p.x), lesser(low.y, p.y), lesser(low.z, p.z)};
    high = (struct be_point){greater(high.x, p.x), greater(high.y, p.y), greater(high.z, p.z)};
  }
  *block = (struct block){.centre = blend(low, high, 0.5)};
  for (size_t i = from; i <= to; i++)
    block->radius = greater(block->radius, distance(chain_point(chain, i), block->centre));
  line_of(chain, from, block->centre, block->first, &length);
  all -= length / 2;
  line_of(chain, to - 1, block->centre, block->last, &length);
  all -= length / 2;
  for (size_t i = from; i < to; i++) {
    unit_of_edge(chain, i, &length);
    all += length;
  }
  for (size_t i = from; i < to; i++) {
    line_of(chain, i, block->centre, line, &length);
    if (i > from) walked += length / 2;
    double share = lesser(1, walked / all);
    walked += length / 2;
    block->off_direction = greater(
        block->off_direction, distance(line[0], blend(block->first[0], block->last[0], share)));
    block->off_moment = greater(block->off_moment,
                                distance(line[1], blend(block->first[1], block->last[1], share)));
  }
}

/* ---- which columns a block may take together ---- */

enum kind { APART, RIGHT, LEFT, FLAT };

/* By column the bounds of [t, e, x - y], for a row of the block through x along t and a column
 * through y along e; it is moment(t, x) e - t (e x y), all about the centre, and its sign that of
 * the pair; below ->none it is no more than rounding. ->out is above zero for columns out of reach
 * of the block. Nothing is asked of a column here, so that several are worked at a time. */
static void bound(struct pairs *w, const struct block *b, struct span span)
{
  const double *restrict x = w->columns.x + span.from, *restrict y = w->columns.y + span.from,
                         *restrict z = w->columns.z + span.from;
  const double *restrict length = w->length + span.from;
  double *restrict low = w->low, *restrict high = w->high;
  double *restrict none = w->none, *restrict out = w->out;
  const struct be_point c = b->centre, t = b->first[0], m = b->first[1], u = b->last[0],
                        n = b->last[1];
  const double radius = b->radius * (1 + 1e-9), off_t = b->off_direction + 1e-15,
               off_m = b->off_moment + 1e-15 * b->radius;
  size_t count = span.to - span.from;
  for (size_t j = 0; j < count; j++) {
    double rx = x[j] - c.x, ry = y[j] - c.y, rz = z[j] - c.z;
    double ex = x[j + 1] - x[j], ey = y[j + 1] - y[j], ez = z[j + 1] - z[j];
    double reach = radius + length[j];
    double qx = ey * rz - ez * ry, qy = ez * rx - ex * rz, qz = ex * ry - ey * rx;
    double first = m.x * ex + m.y * ey + m.z * ez - (t.x * qx + t.y * qy + t.z * qz);
    double last = n.x * ex + n.y * ey + n.z * ez - (u.x * qx + u.y * qy + u.z * qz);
    double doubt = off_t * (fabs(qx) + fabs(qy) + fabs(qz)) + off_m * length[j];
    double middle = (first + last) / 2, half = fabs(first - last) / 2 + doubt;
    low[j] = middle - half;
    high[j] = middle + half;
    none[j] = 1e-13 * reach * length[j];
    out[j] = rx * rx + ry * ry + rz * rz - reach * reach;
  }
}

static enum kind kind_of(const struct pairs *w, size_t j)
{
  if (!(w->out[j] > 0)) return APART;
  if (!w->unsigned_too || w->low[j] > 0) return RIGHT;
  if (w->high[j] < 0) return LEFT;
  return w->high[j] < w->none[j] && -w->low[j] < w->none[j] ? FLAT : APART;
}

/* ---- sums ---- */

/* Four sums side by side, always the same ones. */
static void add_up(struct pairs *w, size_t from, size_t to)
{
  const double *angle = w->angles.angle;
  double plain[4] = {0}, absolute[4] = {0};
  size_t j = from;
  for (; j + 4 <= to; j += 4)
    for (size_t k = 0; k < 4; k++) {
      plain[k] += angle[j + k];
      absolute[k] += fabs(angle[j + k]);
    }
  for (; j < to; j++) {
    plain[0] += angle[j];
    absolute[0] += fabs(angle[j]);
  }
  w->sums.signed_ -= plain[0] + plain[1] + plain[2] + plain[3];
  w->sums.unsigned_ += absolute[0] + absolute[1] + absolute[2] + absolute[3];
}

static void take_run(struct pairs *w, struct span block, struct span run)
{
  struct angles *angles = &w->angles;
  struct sight *first = &angles->sight[0], *last = &angles->sight[1];
  double sum =
      be_angle_of_fan(angles, chain_point(&w->columns, run.from), &w->rows, block.from, block.to) -
      be_angle_of_fan(angles, chain_point(&w->columns, run.to), &w->rows, block.from, block.to);
  be_sight(chain_point(&w->rows, block.from), &w->columns, run.from, run.to, first);
  be_sight(chain_point(&w->rows, block.to), &w->columns, run.from, run.to, last);
  be_angles_between(angles, first, last, 0, run.to - run.from);
  for (size_t j = 0; j < run.to - run.from; j++) sum += angles->angle[j];
  w->sums.signed_ -= sum;
  w->sums.unsigned_ += fabs(sum);
}

/* One by one; of a curve with itself those behind the neighbour. */
static void take_edges(struct pairs *w, struct span block, struct span span)
{
  struct sight *sight = w->angles.sight;
  be_sight(chain_point(&w->rows, block.from), &w->columns, span.from, span.to, &sight[0]);
  for (unsigned i = block.from, k = 0; i < block.to; i++, k = 1 - k) {
    unsigned from = w->same && span.from < i + 2 ? i + 2 : span.from;
    unsigned to = span.to - (w->closed && i == 0 && span.to == w->columns.edges);
    be_sight(chain_point(&w->rows, i + 1), &w->columns, span.from, span.to, &sight[1 - k]);
    if (from >= to) continue;
    be_angles_between(&w->angles, &sight[k], &sight[1 - k], from - span.from, to - span.from);
    add_up(w, from - span.from, to - span.from);
  }
}

/* ---- blocks within blocks ---- */

/* Takes the runs that the block may take; what is left goes to `left`. */
static size_t take_runs(struct pairs *w, struct span block, const struct block *measured,
                        struct span span, struct span *left, size_t count)
{
  bound(w, measured, span);
  unsigned begun = span.from;
  for (unsigned j = span.from; j < span.to;) {
    unsigned from = j;
    enum kind kind = kind_of(w, j - span.from);
    while (j < span.to && kind_of(w, j - span.from) == kind) j++;
    if (kind == APART || j - from < RUN_LEAST) continue;
    if (kind != FLAT) take_run(w, block, (struct span){from, j});
    if (begun < from) left[count++] = (struct span){begun, from};
    begun = j;
  }
  if (begun < span.to) left[count++] = (struct span){begun, span.to};
  return count;
}

static void take_block(struct pairs *w, size_t level, size_t index, size_t count)
{
  unsigned size = LEAF << level;
  struct span block = {(unsigned)index * size, (unsigned)(index + 1) * size};
  if (block.from >= w->rows.edges) return;
  if (block.to > w->rows.edges) block.to = (unsigned)w->rows.edges;
  const struct span *spans = w->spans[level];
  struct span *left = w->spans[level ? level - 1 : 0];
  size_t some = 0;
  for (size_t i = 0; i < count; i++) {
    struct span span = spans[i];
    if (w->same && span.from < block.from) span.from = block.from;
    if (span.from >= span.to) continue;
    if (level == 0) take_edges(w, block, span);
    else some = take_runs(w, block, &w->block[level - 1][index], span, left, some);
  }
  if (level == 0 || some == 0) return;
  take_block(w, level - 1, 2 * index, some);
  take_block(w, level - 1, 2 * index + 1, some);
}

/* ---- making ready ---- */

static bool make_chain(const struct be_curve *curve, struct be_arena *arena, struct chain *chain)
{
  size_t n = be_curve_edges(curve);
  double *block = be_arena_alloc(arena, 3 * (n + 1) * sizeof *block);
  *chain = (struct chain){block, block + (n + 1), block + 2 * (n + 1), n};
  for (size_t i = 0; block && i <= n; i++) {
    struct be_point p = curve->points[i % curve->count];
    chain->x[i] = p.x, chain->y[i] = p.y, chain->z[i] = p.z;
  }
  return block;
}

static bool make_blocks(struct pairs *w, struct be_arena *arena)
{
  size_t edges = w->rows.edges;
  while (w->levels < LEVELS_MOST && (size_t)LEAF * LEAF << 2 * w->levels < edges) w->levels++;
  for (size_t l = 0; l < w->levels; l++) {
    size_t size = (size_t)LEAF << (l + 1), count = (edges + size - 1) / size;
    w->block[l] = be_arena_alloc(arena, count * sizeof *w->block[l]);
    if (!w->block[l]) return false;
    for (size_t b = 0; b < count; b++)
      measure_block(&w->rows, b * size, b + 1 < count ? (b + 1) * size : edges, &w->block[l][b]);
  }
  return true;
}

static enum be_status sum_pairs(const struct be_curve *a, const struct be_curve *b,
                                bool unsigned_too, struct be_arena *arena, struct sums *sums,
                                struct be_err *err)
{
  struct pairs *w = be_arena_alloc(arena, sizeof *w);
  if (!w || !make_chain(a, arena, &w->rows) || !make_chain(b, arena, &w->columns))
    return be_fail(err, BE_NO_MEMORY, "no memory for the pairs of edges");
  w->same = a == b;
  w->closed = w->same && a->closed;
  w->unsigned_too = unsigned_too;
  w->length = be_arena_alloc(arena, w->columns.edges * sizeof *w->length);
  if (!w->length || !make_blocks(w, arena))
    return be_fail(err, BE_NO_MEMORY, "no memory for the pairs of edges");
  for (size_t j = 0; j < w->columns.edges; j++) w->length[j] = edge_length(b, j);
  for (size_t from = 0; from < w->columns.edges; from += CHAIN_SEEN) {
    size_t to = from + CHAIN_SEEN < w->columns.edges ? from + CHAIN_SEEN : w->columns.edges;
    for (size_t k = 0; k * LEAF << w->levels < w->rows.edges; k++) {
      w->spans[w->levels][0] = (struct span){(unsigned)from, (unsigned)to};
      take_block(w, w->levels, k, 1);
    }
  }
  *sums = w->sums;
  return BE_OK;
}

/* ---- answers ---- */

enum be_status be_writhe_all_pairs(const struct be_curve *curve, struct be_arena *arena,
                                   double *writhe, double *average_crossings, struct be_err *err)
{
  struct sums sums;
  enum be_status status = be_curve_check(curve, err);
  if (status == BE_OK) status = sum_pairs(curve, curve, average_crossings, arena, &sums, err);
  if (status == BE_OK && writhe) *writhe = sums.signed_ / (2 * pi);
  if (status == BE_OK && average_crossings) *average_crossings = sums.unsigned_ / (2 * pi);
  return status;
}

enum be_status be_average_between(const struct be_curve *a, const struct be_curve *b,
                                  struct be_arena *arena, double *half_signs,
                                  double *average_crossings, struct be_err *err)
{
  struct sums sums;
  enum be_status status = be_curve_check(a, err);
  if (status == BE_OK) status = be_curve_check(b, err);
  if (status == BE_OK) status = sum_pairs(a, b, average_crossings, arena, &sums, err);
  if (status == BE_OK && half_signs) *half_signs = sums.signed_ / (4 * pi);
  if (status == BE_OK && average_crossings) *average_crossings = sums.unsigned_ / (2 * pi);
  return status;
}

enum be_status be_linking_integral(const struct be_curve *a, const struct be_curve *b,
                                   struct be_arena *arena, double *linking, struct be_err *err)
{
  return be_average_between(a, b, arena, linking, NULL, err);
}

/* ---- of few edges ---- */

static double with_edge(struct pairs *w, struct be_point p, struct be_point q, size_t from,
                        size_t to)
{
  struct sight *sight = w->angles.sight;
  w->sums = (struct sums){0};
  for (size_t at = from; at < to; at += CHAIN_SEEN) {
    size_t count = to - at < CHAIN_SEEN ? to - at : CHAIN_SEEN;
    be_sight(p, &w->columns, at, at + count, &sight[0]);
    be_sight(q, &w->columns, at, at + count, &sight[1]);
    be_angles_between(&w->angles, &sight[0], &sight[1], 0, count);
    add_up(w, 0, count);
  }
  return w->sums.signed_;
}

enum be_status be_writhe_of_closing(const struct be_curve *curve, const struct be_point way[2],
                                    struct be_arena *arena, double *writhe, struct be_err *err)
{
  struct be_point first = curve->points[0], last = curve->points[curve->count - 1];
  struct be_point two[2] = {way[1], first};
  struct be_curve back = {two, 2, false};
  struct pairs *w = be_arena_alloc(arena, sizeof *w);
  if (!w || !make_chain(curve, arena, &w->columns))
    return be_fail(err, BE_NO_MEMORY, "no memory for the way that closes the line");
  size_t edges = w->columns.edges;
  double sum = with_edge(w, last, way[0], 0, edges - 1) + with_edge(w, way[0], way[1], 0, edges) +
               with_edge(w, way[1], first, 1, edges);
  if (!make_chain(&back, arena, &w->columns))
    return be_fail(err, BE_NO_MEMORY, "no memory for the way that closes the line");
  *writhe = (sum + with_edge(w, last, way[0], 0, 1)) / (2 * pi);
  return BE_OK;
}
