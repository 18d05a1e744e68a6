/* SPDX-License-Identifier: GPL-3.0-or-later */
/* By what a knot's plain line was matched, counted event by event, and in words. */
#include "app/survey/survey.h"

#include <math.h>

/* ---- what two pulls have in common, by the record ---- */

static enum likeness by_number(double a, double b, bool same)
{
  if (isnan(a) && isnan(b)) return LIKE_UNTOLD;
  if (isnan(a) || isnan(b)) return LIKE_HALF;
  return same ? LIKE_SAME : LIKE_OTHER;
}

static enum likeness by_row(int a, int b)
{
  if (a < 0 && b < 0) return LIKE_UNTOLD;
  if (a < 0 || b < 0) return LIKE_HALF;
  return a == b ? LIKE_SAME : LIKE_OTHER;
}

static enum likeness by_spool(const struct survey *survey, int a, int b)
{
  bool told_a = survey->record.lines[a].spool, told_b = survey->record.lines[b].spool;
  if (!told_a && !told_b) return LIKE_UNTOLD;
  if (!told_a || !told_b) return LIKE_HALF;
  return a == b ? LIKE_SAME : LIKE_OTHER;
}

void be_match_look(const struct survey *survey, const struct be_pull *pull, int line,
                   const struct plain_set *set, enum likeness like[MATCHED_BY])
{
  const struct be_pull *plain = set->like;
  const enum likeness is[MATCHED_BY] = {
      [BY_SPOOL] = by_spool(survey, line, set->line),
      [BY_SOAK] = pull->soak == BE_SOAK_UNKNOWN ? LIKE_UNTOLD : LIKE_SAME,
      [BY_SPEED] = by_number(pull->speed_m_s, plain->speed_m_s, be_same_speed(pull, plain)),
      [BY_BENCH] = by_row(pull->bench, plain->bench),
      [BY_LENGTH] = by_number(pull->length_m, plain->length_m, be_same_length(pull, plain)),
  };
  for (int by = 0; by < MATCHED_BY; by++)
    if (is[by] > like[by]) like[by] = is[by];
}

/* ---- in words ---- */

static const struct {
  const char *name, *other;
} words[MATCHED_BY] = {[BY_SPOOL] = {"spool", "from another spool"},
                       [BY_SOAK] = {"soak", "in another soak"},
                       [BY_SPEED] = {"speed", "at another speed"},
                       [BY_BENCH] = {"bench", "on another bench"},
                       [BY_LENGTH] = {"free length", "at another free length"}};

const char *be_matched_word(enum matched_by by)
{
  return words[by].name;
}

struct phrases {
  struct be_arena *arena;
  const char *list[MATCHED_BY + 1];
  size_t count;
};

/* count of all events: not said when it is all of them. */
static void add(struct phrases *phrases, const char *phrase, size_t count, size_t all)
{
  if (!count) return;
  phrases->list[phrases->count++] =
      count == all ? phrase
                   : be_arena_format(phrases->arena, "%s (%zu of %zu pulls)", phrase, count, all);
}

/* "a, b and c" */
static const char *join(const struct phrases *phrases)
{
  const char *text = "";
  for (size_t i = 0; i < phrases->count && text && phrases->list[i]; i++)
    text = be_arena_format(phrases->arena, "%s%s%s", text,
                           i == 0                   ? ""
                           : i + 1 < phrases->count ? ", "
                                                    : " and ",
                           phrases->list[i]);
  return text;
}

const char *be_match_words(const struct survey *survey, const struct cell *cell)
{
  static const char none[] = "no plain line was pulled in this soak";
  if (cell->plain.match == MATCH_NONE) return none;
  struct phrases same = {survey->arena, {0}, 0}, other = same, half = same, untold = same;
  if (cell->plain.by[BY_SPOOL][LIKE_SAME] < cell->n) add(&same, "line", 1, 1);
  for (int by = 0; by < MATCHED_BY; by++) {
    const size_t *count = cell->plain.by[by];
    add(&same, words[by].name, count[LIKE_SAME], cell->n);
    add(&other, words[by].other, count[LIKE_OTHER], cell->n);
    add(&half, words[by].name, count[LIKE_HALF], cell->n);
    add(&untold, words[by].name, count[LIKE_UNTOLD], cell->n);
  }
  const char *text = be_arena_format(survey->arena, "matched by %s", join(&same));
  if (text && other.count) text = be_arena_format(survey->arena, "%s, but %s", text, join(&other));
  if (text && half.count)
    text = be_arena_format(survey->arena, "%s; recorded of one side alone: %s", text, join(&half));
  if (text && untold.count)
    text = be_arena_format(survey->arena, "%s; not recorded: %s", text, join(&untold));
  return text ? text : "matched";
}
