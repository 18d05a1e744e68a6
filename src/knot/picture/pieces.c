/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines cut into short pieces of equal length. */
#include "knot/picture/inside.h"

/* In diameters. Two tubes of which one hides some of the other are, where they touch, a fifth of a
 * diameter apart in height or more; the middles of two pieces differ from the places where they
 * touch by no more than one length. So the higher middle is that of the piece which hides. */
static const double piece_length = 0.12;
enum { PIECES_MOST = 20000 };

/* A place on a line that is only ever moved forwards. */
struct walker {
  const struct be_curve *curve;
  const struct be_view *view;
  size_t edge;
  double along; /* at the start of the edge */
};

static struct be_point walk_to(struct walker *w, double along)
{
  double length = edge_length(w->curve, w->edge);
  while (w->along + length < along && w->edge + 1 < be_curve_edges(w->curve)) {
    w->along += length;
    length = edge_length(w->curve, ++w->edge);
  }
  size_t next = w->edge + 1 < w->curve->count ? w->edge + 1 : 0;
  struct be_point p = blend(w->curve->points[w->edge], w->curve->points[next],
                            fmin(1, (along - w->along) / length));
  return be_view_point(w->view, &p);
}

static void cut_line(const struct be_lines *lines, size_t l, const struct be_view *view,
                     struct be_stretch keep, const struct be_stretch *laid, size_t count,
                     struct pieces *pieces)
{
  struct walker walker = {&lines->line[l], view, 0, 0};
  struct be_point from = walk_to(&walker, keep.from);
  double drawn = 0;
  for (size_t i = 0; i < count; i++) {
    double start = keep.from + (keep.to - keep.from) * (double)i / (double)count;
    double end = keep.from + (keep.to - keep.from) * (double)(i + 1) / (double)count;
    double middle = (start + end) / 2;
    struct be_point to = walk_to(&walker, end);
    double length = hypot(to.x - from.x, to.y - from.y);
    struct piece *piece = &pieces->list[pieces->count++];
    *piece = (struct piece){
        .from = from,
        .to = to,
        .x = (from.x + to.x) / 2,
        .y = (from.y + to.y) / 2,
        .z = (from.z + to.z) / 2,
        .start = start,
        .end = end,
        .drawn = drawn,
        .length = length,
        .radius = lines->diameter[l] * BE_PICTURE_TUBE / 2,
        .line = (unsigned)l,
        .to_come = laid && (middle < laid->from || middle > laid->to),
    };
    drawn += length;
    from = to;
  }
}

enum be_status be_pieces_cut(const struct be_lines *lines, const struct be_view *view,
                             const struct be_stretch *keep, const struct be_stretch *laid,
                             struct be_arena *arena, struct pieces *pieces, struct be_err *err)
{
  double all = 0;
  for (size_t l = 0; l < lines->count; l++)
    all += (keep[l].to - keep[l].from) / (piece_length * lines->diameter[l]);
  double coarser = fmax(1, all / PIECES_MOST);
  size_t counts[BE_LINES_MAX] = {0}, count = 0;
  for (size_t l = 0; l < lines->count; l++) {
    double step = piece_length * lines->diameter[l] * coarser;
    counts[l] = (size_t)fmax(3, ceil((keep[l].to - keep[l].from) / step));
    count += counts[l];
  }
  *pieces = (struct pieces){.list = be_arena_alloc(arena, count * sizeof *pieces->list)};
  if (!pieces->list) return be_fail(err, BE_NO_MEMORY, "no memory for the picture");
  for (size_t l = 0; l < lines->count; l++) {
    pieces->first[l] = pieces->count;
    cut_line(lines, l, view, keep[l], laid ? &laid[l] : NULL, counts[l], pieces);
  }
  for (size_t l = lines->count; l <= BE_LINES_MAX; l++) pieces->first[l] = pieces->count;
  return BE_OK;
}
