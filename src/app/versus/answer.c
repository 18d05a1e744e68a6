/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The first sentence: which held more, where, by how much, and what would settle the rest. */
#include "app/versus/versus.h"

#include <math.h>

static const char *or_nothing(const char *words)
{
  return words ? words : "";
}

/* ---- where ---- */

/* Each combination is one line of its own, so that people may call it so. */
static bool are_lines(const struct pair *pair)
{
  for (size_t i = 0; i < pair->count; i++) {
    const struct combination *where = pair->list[i].where;
    if (where->line_b >= 0) return false;
    for (size_t k = 0; k < i; k++)
      if (pair->list[k].where->line_a == where->line_a) return false;
  }
  return true;
}

/* "on every line both were tied in", "in 5 of the 6 combinations where they can be compared",
 * "in nylon 12 lb, dry" */
static const char *where_words(const struct survey *survey, const struct pair *pair, size_t agree)
{
  bool lines = are_lines(pair);
  const char *on = lines ? "on" : "in", *thing = lines ? "line" : "combination";
  const char *which = pair->passed_count ? "where they can be compared" : "both were tied in";
  struct be_arena *arena = survey->arena;
  if (pair->count == 1)
    return or_nothing(be_arena_format(arena, "in %s", pair->list[0].where->name));
  if (agree == pair->count)
    return or_nothing(be_arena_format(arena, "%s every %s %s", on, thing, which));
  if (agree > 0)
    return or_nothing(
        be_arena_format(arena, "%s %zu of the %zu %ss %s", on, agree, pair->count, thing, which));
  return or_nothing(be_arena_format(arena, "%s the %zu %ss %s", on, pair->count, thing, which));
}

/* ---- how much ---- */

static const char *points_words(const struct survey *survey, const struct pair *pair)
{
  return or_nothing(be_arena_format(
      survey->arena, "%s pts%s of the line", be_number_words(survey, 100 * pair->points.value, 1),
      be_interval_words(survey, pair->points_interval.low, pair->points_interval.high, 1)));
}

static const char *relative_words(const struct survey *survey, const struct pair *pair)
{
  return or_nothing(
      be_arena_format(survey->arena, "%s %% relative%s",
                      be_number_words(survey, 100 * expm1(pair->log_ratio.value), 1),
                      be_interval_words(survey, pair->relative.low, pair->relative.high, 1)));
}

/* ---- what would settle the rest ---- */

static size_t count_unclear(const struct pair *pair)
{
  size_t count = 0;
  for (size_t i = 0; i < pair->count; i++) count += !pair->list[i].apart;
  return count;
}

/* Clear, but against what all of them together say. */
static size_t count_other_way(const struct pair *pair)
{
  size_t count = 0;
  for (size_t i = 0; i < pair->count; i++)
    count += pair->list[i].apart && pair->list[i].log_ratio.value * pair->log_ratio.value < 0;
  return count;
}

/* Of the combinations not yet clear the one that needs the fewest more pairs, and among those
 * beyond all patience the one that needs the fewest pulls; null if no scatter is known. */
static const struct matched *least_of(const struct pair *pair)
{
  const struct matched *best = NULL;
  for (size_t i = 0; i < pair->count; i++) {
    const struct matched *m = &pair->list[i];
    if (m->apart || isnan(m->more)) continue;
    if (!best || m->more < best->more || (m->more == best->more && m->needed < best->needed))
      best = m;
  }
  return best;
}

/* The end of the first sentence. */
static const char *settle_words(const struct survey *survey, const struct pair *pair)
{
  struct be_arena *arena = survey->arena;
  const struct matched *least = least_of(pair);
  size_t unclear = count_unclear(pair), other = count_other_way(pair);
  size_t clear = pair->count - unclear - other;
  if (unclear == 0 && other == 0) return pair->count > 1 ? "; clear in each of them" : "";
  const char *way =
      !other ? "" : or_nothing(be_arena_format(arena, ", the other way in %zu", other));
  const char *number = clear ? or_nothing(be_arena_format(arena, "%zu", clear)) : "none";
  if (!least)
    return !other ? ""
                  : or_nothing(be_arena_format(arena, "; clear in %s of the %zu%s", number,
                                               pair->count, way));
  const char *so_far = "", *there = "";
  if (pair->count > 1) {
    so_far = or_nothing(
        be_arena_format(arena, "clear in %s of the %zu%s, and ", number, pair->count, way));
    there = or_nothing(be_arena_format(arena, " in %s", least->where->name));
  }
  if (isinf(least->more))
    return or_nothing(be_arena_format(
        arena, "; %sno number of pulls worth tying would tell them apart%s", so_far, there));
  return or_nothing(be_arena_format(arena, "; %s%.0f more pair%s would tell them apart%s", so_far,
                                    least->more, least->more == 1 ? "" : "s", there));
}

static void say_power(struct be_doc *doc, const struct survey *survey, const struct pair *pair)
{
  const struct matched *least = least_of(pair);
  if (!least) return;
  if (isinf(least->more))
    be_doc_note(doc,
                "Worth tying are at most %d more pairs in one combination, for %g %% power, if the "
                "difference is as large as it looks.",
                BE_MORE_MAX, 100 * survey->how.power);
  else
    be_doc_note(doc,
                "A pair is a specimen of each: so many have %g %% power, if the difference there "
                "is as large as it looks.",
                100 * survey->how.power);
}

/* The average over combinations may hide that they do not agree. */
static void say_spread(struct be_doc *doc, const struct survey *survey, const struct pair *pair)
{
  const struct matched *low = &pair->list[0], *high = &pair->list[0];
  for (size_t i = 1; i < pair->count; i++) {
    if (pair->list[i].log_ratio.value < low->log_ratio.value) low = &pair->list[i];
    if (pair->list[i].log_ratio.value > high->log_ratio.value) high = &pair->list[i];
  }
  if (low == high) return;
  be_doc_sentence(doc, "By combination it runs from %s %% relative (%s) to %s %% (%s).",
                  be_number_words(survey, 100 * expm1(low->log_ratio.value), 1), low->where->name,
                  be_number_words(survey, 100 * expm1(high->log_ratio.value), 1),
                  high->where->name);
}

/* ---- the answer ---- */

static const char *side_words(const struct survey *survey, const struct pair *pair,
                              const struct matched *m)
{
  double sign = m->log_ratio.value > 0 ? 1 : -1;
  bool points = pair->has_points;
  const struct be_interval *interval = points ? &m->points_interval : &m->relative;
  double low = sign > 0 ? interval->low : -interval->high,
         high = sign > 0 ? interval->high : -interval->low;
  double value = 100 * (points ? m->points.value : expm1(m->log_ratio.value));
  size_t n_strong = sign > 0 ? m->a->n : m->b->n, n_weak = sign > 0 ? m->b->n : m->a->n;
  return or_nothing(be_arena_format(survey->arena, "%s (%.1f %s%s, n = %zu and %zu)",
                                    m->where->name, sign * value, points ? "pts" : "% relative",
                                    be_interval_words(survey, low, high, 1), n_strong, n_weak));
}

/* No one of the two is the stronger: where each is. */
static void say_divided(struct be_doc *doc, const struct survey *survey, const struct pair *pair,
                        const char *size)
{
  const char *a = be_knot_name(survey, pair->a), *b = be_knot_name(survey, pair->b);
  be_doc_sentence(doc,
                  "Which is the stronger depends on the %s: the %s held more in %s, the %s in %s.",
                  are_lines(pair) ? "line" : "combination", a,
                  side_words(survey, pair, pair->for_a), b, side_words(survey, pair, pair->for_b));
  be_doc_sentence(doc,
                  "Over all %zu, first less second is %s, n = %zu and %zu: an average of unlike "
                  "things.",
                  pair->count, size, pair->n_a, pair->n_b);
}

void be_say_answer(struct be_doc *doc, const struct survey *survey, const struct pair *pair)
{
  const char *a = be_knot_name(survey, pair->a), *b = be_knot_name(survey, pair->b);
  const char *size = pair->has_points ? points_words(survey, pair) : relative_words(survey, pair);
  size_t agree = 0;
  for (size_t i = 0; i < pair->count; i++) agree += pair->list[i].log_ratio.value > 0;
  if (!be_pair_known(pair)) {
    be_doc_sentence(doc, "Cannot separate the %s and the %s: their scatter is not known.", a, b);
    return;
  }
  const char *end = settle_words(survey, pair);
  if (be_pair_divided(pair)) say_divided(doc, survey, pair, size);
  else if (be_pair_apart(pair))
    be_doc_sentence(doc, "The %s held more than the %s %s: %s, n = %zu and %zu%s.", a, b,
                    where_words(survey, pair, agree), size, pair->n_a, pair->n_b, end);
  else
    be_doc_sentence(doc,
                    "Cannot separate the %s and the %s %s: first less second is %s, n = %zu and "
                    "%zu%s.",
                    a, b, where_words(survey, pair, 0), size, pair->n_a, pair->n_b, end);
  if (pair->has_points) be_doc_sentence(doc, "That is %s.", relative_words(survey, pair));
  if (be_pair_contrary(pair))
    be_doc_sentence(doc, "Points and relative per cent point opposite ways: which is the stronger "
                         "depends on the combination.");
  if (be_pair_divided(pair)) return;
  say_spread(doc, survey, pair);
  if (count_unclear(pair)) say_power(doc, survey, pair);
}
