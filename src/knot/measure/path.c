/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "knot/measure/inside.h"

static double turned_between(const struct be_curve *curve, double from, double to)
{
  double along = 0, sum = 0;
  for (size_t i = 0; i + 1 < be_curve_edges(curve); i++) {
    along += edge_length(curve, i);
    if (along < from || along > to) continue;
    struct be_point t = edge_of(curve, i), u = edge_of(curve, i + 1);
    sum += atan2(norm(cross(t, u)), dot(t, u));
  }
  return sum * 180 / 3.14159265358979323846;
}

static struct be_load_path part_in_knot(const struct be_lines *lines, size_t line,
                                        const struct be_overlap *overlaps)
{
  const struct be_curve *curve = &lines->line[line];
  double length = be_curve_length(curve);
  struct be_load_path path = {.from = length, .to = 0};
  for (size_t other = 0; other < lines->count; other++) {
    const struct be_stretches *touching = &overlaps[line * lines->count + other].touching;
    if (touching->count == 0) continue;
    path.touches = true;
    path.from = fmin(path.from, touching->list[0].from);
    path.to = fmax(path.to, touching->list[touching->count - 1].to);
  }
  if (!path.touches || curve->closed) path.from = 0, path.to = length;
  path.turned_deg = turned_between(curve, path.from, path.to);
  return path;
}

static enum be_part part_of(const struct be_load_path *path, const bool loaded[2], double along)
{
  if (along < path->from) return loaded[0] ? BE_STANDING : BE_TAG;
  if (along > path->to) return loaded[1] ? BE_STANDING : BE_TAG;
  return BE_IN_KNOT;
}

enum be_status be_load_path(const struct be_lines *lines, const struct be_ends *ends,
                            const struct be_overlap overlaps[BE_OVERLAPS_MAX],
                            const struct be_crossing *crossings, size_t count,
                            struct be_load_counts *counts, enum be_part (*parts)[2],
                            struct be_err *err)
{
  *counts = (struct be_load_counts){0};
  bool loaded = false;
  for (size_t l = 0; l < lines->count; l++) {
    loaded = loaded || ends->loaded[l][0] || ends->loaded[l][1];
    counts->line[l] = part_in_knot(lines, l, overlaps);
  }
  if (!loaded) return be_fail(err, BE_NO, "no end is pulled, so that there is no load path");
  for (size_t c = 0; c < count; c++) {
    enum be_part part[2];
    for (int k = 0; k < 2; k++) {
      size_t line = crossings[c].line[k];
      part[k] = part_of(&counts->line[line], ends->loaded[line], crossings[c].along[k]);
      if (parts) parts[c][k] = part[k];
    }
    int in = (part[0] == BE_IN_KNOT) + (part[1] == BE_IN_KNOT);
    if (in == 2) counts->inside++;
    else if (in == 1) counts->half++;
    else if (part[0] == BE_TAG || part[1] == BE_TAG) counts->tags++;
    else counts->standing++;
  }
  return BE_OK;
}
