/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "knot/picture/inside.h"

#include <float.h>

/* The last piece of what is laid of a line, at its first or at its last point; count where nothing
 * is laid. */
static size_t end_piece(const struct pieces *pieces, size_t line, int which)
{
  size_t first = pieces->first[line], end = pieces->first[line + 1];
  for (size_t k = 0; k < end - first; k++) {
    size_t i = which ? end - 1 - k : first + k;
    if (!pieces->list[i].to_come) return i;
  }
  return pieces->count;
}

/* From some way inside, so that a bend at the very end does not turn the arrow. */
static struct be_point outward_at(const struct pieces *pieces, size_t line, int which, size_t i)
{
  enum { INSIDE = 6 };
  size_t first = pieces->first[line], last = pieces->first[line + 1] - 1;
  size_t inside =
      which ? (i - first > INSIDE ? i - INSIDE : first) : (last - i > INSIDE ? i + INSIDE : last);
  const struct piece *end = &pieces->list[i], *from = &pieces->list[inside];
  struct be_point tip = which ? end->to : end->from, root = which ? from->from : from->to;
  double x = tip.x - root.x, y = tip.y - root.y, length = hypot(x, y);
  if (!(length > 1e-9 * end->radius)) return (struct be_point){which ? 1 : -1, 0, 0};
  return (struct be_point){x / length, y / length, 0};
}

static void find_ends(const struct be_lines *lines, const struct pieces *pieces,
                      const struct be_stretch *keep, const struct be_picture_asked *asked,
                      struct be_picture *picture)
{
  for (size_t l = 0; l < lines->count; l++)
    for (int which = 0; which < 2; which++) {
      size_t i = end_piece(pieces, l, which);
      if (asked->hardware[l] || lines->line[l].closed || i == pieces->count) continue;
      bool at_end = i == (which ? pieces->first[l + 1] - 1 : pieces->first[l]);
      double length = be_curve_length(&lines->line[l]);
      const struct piece *piece = &pieces->list[i];
      picture->ends[picture->ends_count++] = (struct be_end){
          .line = l,
          .which = which,
          .kind = at_end && asked->loaded[l][which] ? BE_END_LOADED : BE_END_TAG,
          .cut = at_end && (which ? keep[l].to < length : keep[l].from > 0),
          .at = which ? piece->to : piece->from,
          .outward = outward_at(pieces, l, which, i),
          .width = 2 * piece->radius,
      };
    }
}

static void find_frame(const struct pieces *pieces, struct be_picture *picture)
{
  picture->left = picture->bottom = DBL_MAX;
  picture->right = picture->top = -DBL_MAX;
  for (size_t i = 0; i < pieces->count; i++) {
    const struct piece *p = &pieces->list[i];
    picture->left = fmin(picture->left, fmin(p->from.x, p->to.x) - p->radius);
    picture->right = fmax(picture->right, fmax(p->from.x, p->to.x) + p->radius);
    picture->bottom = fmin(picture->bottom, fmin(p->from.y, p->to.y) - p->radius);
    picture->top = fmax(picture->top, fmax(p->from.y, p->to.y) + p->radius);
  }
}

static enum be_status check(const struct be_lines *lines, struct be_err *err)
{
  if (lines->count == 0) return be_fail(err, BE_BAD_INPUT, "there is no line to be drawn");
  for (size_t l = 0; l < lines->count; l++) {
    enum be_status status = be_curve_check(&lines->line[l], err);
    if (status != BE_OK) return status;
    if (!(lines->diameter[l] > 0) || !isfinite(lines->diameter[l]))
      return be_fail(err, BE_BAD_INPUT, "line %zu has no thickness", l + 1);
  }
  return BE_OK;
}

enum be_status be_picture_make(const struct be_lines *lines, const struct be_view *view,
                               const struct be_crossing *crossings, size_t count,
                               const struct be_picture_asked *asked, struct be_arena *arena,
                               struct be_picture *picture, struct be_err *err)
{
  struct pieces pieces;
  struct be_stretch keep[BE_LINES_MAX];
  *picture = (struct be_picture){0};
  enum be_status status = check(lines, err);
  if (status != BE_OK) return status;
  be_picture_keep(lines, view, crossings, count, asked->whole, keep);
  status = be_pieces_cut(lines, view, keep, asked->laid, arena, &pieces, err);
  if (status == BE_OK) status = be_spans_order(lines, &pieces, arena, picture, err);
  if (status != BE_OK) return status;
  find_frame(&pieces, picture);
  find_ends(lines, &pieces, keep, asked, picture);
  return BE_OK;
}
