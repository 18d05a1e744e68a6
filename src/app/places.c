/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/places.h"

#include <string.h>

static bool may_rank(const struct combination *where)
{
  return !be_is_plain(where) && where->design != BE_DESIGN_TWO_DIFFERENT;
}

bool be_place_ranked(const struct place *place)
{
  return place->block.knots >= 2 && (!place->group || place->block.combinations > 1);
}

enum be_status be_place_rank(const struct survey *survey, struct place *place, struct be_err *err)
{
  if (place->ranking) return BE_OK;
  struct ranking *ranking = be_arena_alloc(survey->arena, sizeof *ranking);
  if (!ranking) return be_no_memory(err);
  enum be_status status = be_ranking_make(survey, &place->block, ranking, err);
  if (status == BE_OK) place->ranking = ranking;
  return status;
}

static enum be_status add_group(const struct survey *survey, const char *group,
                                const struct combination *const *where, size_t members,
                                struct place *place, struct be_err *err)
{
  *place = (struct place){.name = group, .group = true};
  enum be_status status = be_grid_make(survey, where, members, &place->all, err);
  return status == BE_OK ? be_grid_block(survey, &place->all, &place->block, err) : status;
}

static enum be_status add_combination(const struct survey *survey, const struct combination *where,
                                      struct place *place, struct be_err *err)
{
  *place = (struct place){.name = where->name};
  enum be_status status = be_grid_make(survey, &where, 1, &place->all, err);
  place->block = place->all;
  return status;
}

enum be_status be_places(const struct survey *survey, struct place **list, size_t *count,
                         struct be_err *err)
{
  size_t all = survey->combinations_count;
  enum be_status status = BE_OK;
  const struct combination **where = be_arena_alloc(survey->arena, all * sizeof *where);
  *list = be_arena_alloc(survey->arena, 2 * all * sizeof **list);
  *count = 0;
  if (!where || !*list) return be_no_memory(err);
  for (size_t i = 0, next; i < all && status == BE_OK; i = next) {
    const char *group = survey->combinations[i].group;
    size_t members = 0;
    for (next = i; next < all && strcmp(survey->combinations[next].group, group) == 0; next++)
      if (may_rank(&survey->combinations[next])) where[members++] = &survey->combinations[next];
    if (members > 1) status = add_group(survey, group, where, members, &(*list)[(*count)++], err);
    for (size_t c = 0; c < members && status == BE_OK; c++)
      status = add_combination(survey, where[c], &(*list)[(*count)++], err);
  }
  return status;
}
