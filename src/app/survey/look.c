/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How materials are drawn: the one place that says so. */
#include "app/survey/survey.h"

#include <math.h>
#include <string.h>

struct cell_look be_look_of_line(const struct survey *survey, int line)
{
  const char *material = line < 0 ? NULL : survey->record.lines[line].material;
  if (material && strcmp(material, "braid") == 0)
    return (struct cell_look){BE_TONE_BRAID, BE_SHAPE_SQUARE, BE_STROKE_TWIN};
  if (material && strcmp(material, "fluorocarbon") == 0)
    return (struct cell_look){BE_TONE_FLUOROCARBON, BE_SHAPE_TRIANGLE, BE_STROKE_DASH};
  return (struct cell_look){BE_TONE_NYLON, BE_SHAPE_ROUND, BE_STROKE_SOLID};
}

/* By their labels, where nothing measured tells; line A where these do not either. */
static int labelled_weaker(const struct survey *survey, const struct be_pull *pull)
{
  const struct be_line *lines = survey->record.lines;
  bool b = pull->line_b >= 0 && lines[pull->line_b].label_N < lines[pull->line_a].label_N;
  return b ? pull->line_b : pull->line_a;
}

struct cell_look be_look_of_cell(const struct survey *survey, const struct cell *cell)
{
  return be_look_of_line(survey, cell->plain.match ? cell->plain.line_row
                                                   : labelled_weaker(survey, cell->pulls[0]));
}

struct cell_look be_look_of_pull(const struct survey *survey, const struct be_pull *pull)
{
  for (size_t i = 0; i < survey->cells_count; i++)
    for (size_t k = 0; k < survey->cells[i].count; k++)
      if (survey->cells[i].pulls[k] == pull) return be_look_of_cell(survey, &survey->cells[i]);
  return be_look_of_line(survey, labelled_weaker(survey, pull));
}
