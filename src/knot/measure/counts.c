/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "knot/measure/inside.h"

#include <stdlib.h>

const char be_bend_counts_note[] =
    "Rules after Patil, Sandt, Kolle and Dunkel, Science 367, 71 (2020), as we understand them: "
    "the "
    "definitions are tested for consistency (they do not change under what must not change them, "
    "and the reef's and the thief knot's values are worked out by hand too), but were not compared "
    "with the paper's own figures. That more of each holds better is the paper's claim; its order "
    "of bends is not verified here. The counts belong to this drawing and these pulled ends, not "
    "to "
    "the knot.";

enum be_status be_diagram_bend_counts(const struct be_diagram *diagram,
                                      const bool reversed[BE_STRANDS_MAX], struct be_arena *arena,
                                      struct be_bend_counts *counts, struct be_err *err)
{
  int *way = be_arena_alloc(arena, (diagram->crossings + 1) * sizeof *way);
  struct be_face *faces;
  size_t count;
  *counts = (struct be_bend_counts){.crossings = diagram->crossings};
  if (!way) return be_fail(err, BE_NO_MEMORY, "no memory for the counts");
  enum be_status status = be_faces_find(diagram, arena, &faces, &count, err);
  if (status != BE_OK) return status;
  for (size_t c = 0; c < diagram->crossings; c++) way[c] = diagram->sign[c];
  for (size_t s = 0; s < diagram->strands; s++)
    for (size_t k = 0; k < diagram->strand[s].count; k++)
      if (reversed[s]) way[diagram->strand[s].pass[k].crossing] *= -1;
  for (size_t c = 0; c < diagram->crossings; c++) counts->sum += way[c];
  double mean = diagram->crossings ? counts->sum / (double)diagram->crossings : 0;
  counts->tau = diagram->crossings ? 1 - mean * mean : 0;
  for (size_t f = 0; f < count; f++) {
    if (faces[f].open) continue;
    int net = 0;
    for (size_t e = 0; e < faces[f].edges; e++)
      net += faces[f].edge[e].forward != reversed[faces[f].edge[e].strand] ? 1 : -1;
    counts->gamma += abs(net) / (double)faces[f].edges;
    counts->faces++;
  }
  return BE_OK;
}

enum be_status be_bend_counts(const struct be_lines *lines, const struct be_ends *ends,
                              const struct be_crossing *crossings, size_t count,
                              struct be_arena *arena, struct be_bend_counts *counts,
                              struct be_err *err)
{
  struct be_diagram diagram;
  bool reversed[BE_STRANDS_MAX] = {false};
  for (size_t l = 0; l < lines->count; l++) {
    if (lines->line[l].closed || ends->hardware[l] || ends->loaded[l][0] == ends->loaded[l][1])
      return be_fail(err, BE_NO,
                     "the counting rules are for lines that are each pulled at one end and free at "
                     "the other");
    reversed[l] = ends->loaded[l][0];
  }
  if (lines->count < 2)
    return be_fail(err, BE_NO, "the counting rules are for bends, of two lines");
  enum be_status status = be_crossings_diagram(lines, crossings, count, arena, &diagram, err);
  if (status != BE_OK) return status;
  return be_diagram_bend_counts(&diagram, reversed, arena, counts, err);
}
