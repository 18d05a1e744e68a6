/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Places for the numbers of crossings: near, on paper rather than on a tube, and never one on
 * another. What is taken is kept on a grid of squares. */
#include "knot/picture/inside.h"

#include <stdint.h>

enum { FREE = 0, TUBE = 1, TAKEN = 2, SQUARES_MOST = 1 << 20 };

struct grid {
  double left, bottom, size;
  size_t columns, rows;
  uint8_t *squares;
};

static bool make_grid(const struct be_picture *picture, double margin, double size,
                      struct be_arena *arena, struct grid *grid)
{
  double width = picture->right - picture->left + 2 * margin;
  double height = picture->top - picture->bottom + 2 * margin;
  size = fmax(size, sqrt(width * height / SQUARES_MOST) + (width + height) / SQUARES_MOST);
  *grid = (struct grid){picture->left - margin,     picture->bottom - margin,    size,
                        (size_t)(width / size) + 1, (size_t)(height / size) + 1, NULL};
  grid->squares = be_arena_alloc(arena, grid->columns * grid->rows);
  return grid->squares != NULL;
}

static size_t clip(double at, size_t count)
{
  return at < 0 ? 0 : at < (double)count ? (size_t)at : count;
}

static double squared(double value)
{
  return value * value;
}

/* Squares whose middles lie in a disc. */
static void mark_disc(struct grid *grid, double x, double y, double radius)
{
  double cx = (x - grid->left) / grid->size, cy = (y - grid->bottom) / grid->size;
  double r = radius / grid->size;
  for (size_t row = clip(cy - r, grid->rows); row < clip(cy + r + 1, grid->rows); row++)
    for (size_t col = clip(cx - r, grid->columns); col < clip(cx + r + 1, grid->columns); col++)
      if (squared((double)col + 0.5 - cx) + squared((double)row + 0.5 - cy) <= r * r)
        grid->squares[row * grid->columns + col] |= TUBE;
}

/* Of the widest number. */
struct size {
  double width, height;
};

struct box {
  size_t left, right, bottom, top; /* of squares; right and top are outside */
};

static struct box box_at(const struct grid *grid, double x, double y, const struct size *size)
{
  double cx = (x - grid->left) / grid->size, cy = (y - grid->bottom) / grid->size;
  double w = size->width / grid->size / 2, h = size->height / grid->size / 2;
  return (struct box){clip(cx - w, grid->columns), clip(cx + w + 1, grid->columns),
                      clip(cy - h, grid->rows), clip(cy + h + 1, grid->rows)};
}

/* Which shares of a box are on a tube, and on another number. */
static void look_at(const struct grid *grid, struct box box, double *tube, double *taken)
{
  size_t all = 0, tubes = 0, others = 0;
  for (size_t row = box.bottom; row < box.top; row++)
    for (size_t col = box.left; col < box.right; col++, all++) {
      tubes += (grid->squares[row * grid->columns + col] & TUBE) != 0;
      others += (grid->squares[row * grid->columns + col] & TAKEN) != 0;
    }
  *tube = all ? (double)tubes / (double)all : 1;
  *taken = all ? (double)others / (double)all : 1;
}

static void take(struct grid *grid, struct box box)
{
  for (size_t row = box.bottom; row < box.top; row++)
    for (size_t col = box.left; col < box.right; col++)
      grid->squares[row * grid->columns + col] |= TAKEN;
}

/* Rings round the crossing. On paper near by is best; one diameter farther off is as bad as three
 * tenths of the number on a tube. */
static struct be_number_place best_place(const struct grid *grid,
                                         const struct be_crossing *crossing,
                                         const struct size *size, double unit)
{
  enum { ANGLES = 24, RINGS = 16 };
  const double turn = 2 * 3.14159265358979323846 / ANGLES;
  struct be_number_place best = {0};
  double least = INFINITY, near = hypot(size->width, size->height) / 2;
  for (int ring = 0; ring < RINGS; ring++)
    for (int a = 0; a < ANGLES; a++) {
      double radius = (0.45 + 0.3 * ring) * unit + near / 2, angle = (a + 0.5) * turn, tube, taken;
      double x = crossing->x + radius * cos(angle), y = crossing->y + radius * sin(angle);
      look_at(grid, box_at(grid, x, y, size), &tube, &taken);
      double cost = 0.3 * radius / unit + tube + (taken > 0 ? 10 + taken : 0);
      if (!(cost < least - 1e-9)) continue;
      least = cost;
      best = (struct be_number_place){x, y, radius > 0.8 * unit + near};
    }
  return best;
}

static void mark_tubes(struct grid *grid, const struct be_picture *picture)
{
  for (size_t i = 0; i < picture->spans_count; i++) {
    const struct be_span *span = &picture->spans[i];
    for (size_t k = 0; k + 1 < span->count; k++) {
      struct be_point a = span->points[k], b = span->points[k + 1];
      int parts = (int)ceil(hypot(b.x - a.x, b.y - a.y) / (0.25 * span->width)) + 1;
      for (int part = 0; part < parts; part++) {
        struct be_point p = blend(a, b, (double)part / parts);
        mark_disc(grid, p.x, p.y, span->width / 2);
      }
    }
  }
}

/* Where arrows and letters stand. */
static void mark_ends(struct grid *grid, const struct be_picture *picture, double unit)
{
  for (size_t e = 0; e < picture->ends_count; e++) {
    const struct be_end *end = &picture->ends[e];
    for (int k = 1; k < 12; k++)
      mark_disc(grid, end->at.x + 0.3 * k * unit * end->outward.x,
                end->at.y + 0.3 * k * unit * end->outward.y, 0.5 * unit);
  }
}

enum be_status be_picture_numbers(const struct be_picture *picture,
                                  const struct be_crossing *crossings, size_t count, double width,
                                  double height, struct be_arena *arena,
                                  struct be_number_place **numbers, struct be_err *err)
{
  double unit = picture->spans[0].width / BE_PICTURE_TUBE;
  const struct size size = {width, height};
  struct grid grid;
  *numbers = be_arena_alloc(arena, (count + 1) * sizeof **numbers);
  if (!*numbers || !make_grid(picture, 6 * unit, 0.1 * unit, arena, &grid))
    return be_fail(err, BE_NO_MEMORY, "no memory for the numbers");
  mark_tubes(&grid, picture);
  mark_ends(&grid, picture, unit);
  for (size_t i = 0; i < count; i++) {
    (*numbers)[i] = best_place(&grid, &crossings[i], &size, unit);
    take(&grid, box_at(&grid, (*numbers)[i].x, (*numbers)[i].y, &size));
  }
  return BE_OK;
}
