/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The grid of knots by lines of each group: how many pulls each cell holds, and where there is
 * none. */
#include "app/figures/gallery.h"

#include <stdio.h>
#include <string.h>

/* The combinations of a group, and its knots by name. */
struct group {
  const struct combination **where;
  int *knot;
  size_t combinations, knots, filled;
};

static const struct cell *cell_at(const struct survey *survey, const struct combination *where,
                                  int knot)
{
  for (size_t i = where->first_cell; i < where->first_cell + where->cells_count; i++) {
    const struct cell *cell = &survey->cells[i];
    if (cell->knot == knot && cell->knot_b < 0 && cell->n + cell->bounds > 0) return cell;
  }
  return NULL;
}

static void gather(const struct survey *survey, size_t from, size_t past, struct group *group)
{
  group->combinations = group->knots = group->filled = 0;
  for (size_t c = from; c < past; c++)
    if (!be_is_plain(&survey->combinations[c]))
      group->where[group->combinations++] = &survey->combinations[c];
  for (int knot = 0; knot < (int)survey->record.knots_count; knot++) {
    size_t cells = 0;
    for (size_t c = 0; c < group->combinations; c++)
      cells += cell_at(survey, group->where[c], knot) != NULL;
    if (cells) group->knot[group->knots++] = knot;
    group->filled += cells;
  }
}

static void draw_row(struct be_figure *figure, const struct survey *survey,
                     const struct group *group, const struct combination *where,
                     struct be_buf *words)
{
  size_t all = 0;
  char note[40];
  for (size_t k = 0; k < group->knots; k++) {
    const struct cell *cell = cell_at(survey, where, group->knot[k]);
    if (cell) all += cell->n + cell->bounds;
  }
  snprintf(note, sizeof note, "n = %zu", all);
  double y = be_figure_row(figure, where->name, note);
  for (size_t k = 0; k < group->knots; k++) {
    char word[40];
    const struct cell *cell = cell_at(survey, where, group->knot[k]);
    const char *name = be_knot_name(survey, group->knot[k]);
    be_buf_format(words, "%s %s ", k ? "," : "", name);
    if (!cell) {
      be_buf_text(words, "none");
      continue;
    }
    if (cell->bounds) snprintf(word, sizeof word, "%zu + %zu", cell->n, cell->bounds);
    else snprintf(word, sizeof word, "%zu", cell->n);
    be_figure_tell_number(figure, "n", (double)cell->n);
    be_figure_tell_number(figure, "lower_bounds", (double)cell->bounds);
    be_figure_box(figure, (double)k - 0.44, y - 0.4, (double)k + 0.44, y + 0.4,
                  cell->n ? BE_PATTERN_NONE : BE_PATTERN_DOTS, BE_TONE_MUTED, word);
    be_buf_text(words, word);
  }
}

static enum be_status draw(struct gallery *gallery, const struct group *group, struct be_err *err)
{
  const struct survey *survey = gallery->survey;
  size_t all = group->knots * group->combinations, gaps = all - group->filled;
  const char *name = group->where[0]->group;
  const char **names = be_arena_alloc(survey->arena, group->knots * sizeof *names);
  const char *title =
      gaps ? be_arena_format(survey->arena, "%zu of %zu cells %s no pull yet", gaps, all,
                             gaps == 1 ? "has" : "have")
           : be_arena_format(survey->arena, "Every one of the %zu cells has pulls", all);
  const char *subtitle = be_arena_format(
      survey->arena, "%s: events of each knot, + lower bounds; a blank is a gap", name);
  if (!names || !title || !subtitle) return be_no_memory(err);
  for (size_t k = 0; k < group->knots; k++) names[k] = be_knot_name(survey, group->knot[k]);
  struct be_figure *figure = be_figure_create(title, subtitle, FIGURE_WIDTH, 0);
  struct be_buf words;
  be_buf_init(&words, 1 << 20);
  be_figure_x(figure, "", -0.5, (double)group->knots - 0.5, true);
  be_figure_names_x(figure, names, group->knots);
  be_figure_columns(figure, "combination", "knot", NULL);
  be_figure_means(figure, "pulls");
  for (size_t c = 0; c < group->combinations; c++) {
    be_buf_format(&words, "%s%s:", c ? "; " : "Events, + lower bounds. ", group->where[c]->name);
    draw_row(figure, survey, group, group->where[c], &words);
  }
  be_buf_char(&words, '.');
  return be_gallery_add(gallery, name, be_with_twin(figure, &words), err);
}

enum be_status be_show_grids(struct gallery *gallery, struct be_err *err)
{
  const struct survey *survey = gallery->survey;
  struct group group = {
      .where =
          be_arena_alloc(survey->arena, (survey->combinations_count + 1) * sizeof *group.where),
      .knot = be_arena_alloc(survey->arena, (survey->record.knots_count + 1) * sizeof *group.knot)};
  enum be_status status = group.where && group.knot ? BE_OK : be_no_memory(err);
  gallery->why = "no group has two knots or two combinations";
  for (size_t i = 0, past; i < survey->combinations_count && status == BE_OK; i = past) {
    const char *name = survey->combinations[i].group;
    for (past = i; past < survey->combinations_count; past++)
      if (strcmp(survey->combinations[past].group, name) != 0) break;
    gather(survey, i, past, &group);
    if (group.knots > 1 || (group.knots && group.combinations > 1))
      status = draw(gallery, &group, err);
  }
  return status;
}
