/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The most of what moved, in one sentence: who came in, whose verdicts changed, who passed whom;
 * the rest is counted. */
#include "app/moved/moved.h"

#include <math.h>

enum { TOLD_MAX = 3, WORDS_MAX = 1 << 20 };

struct telling {
  const struct moved *moved;
  struct be_buf text;
  size_t told, passed_over;
  bool others; /* knots or places that were not ranked both times */
};

/* Whether there is room for one more; else it is counted. */
static bool next(struct telling *telling)
{
  if (telling->told == TOLD_MAX) {
    telling->passed_over++;
    return false;
  }
  be_buf_text(&telling->text, telling->told++ ? "; " : " ");
  return true;
}

static const char *knot_name(const struct telling *telling, int knot)
{
  return be_knot_name(telling->moved->step[STEP_NOW], knot);
}

/* ---- what may be told ---- */

/* Places that were not ranked then, or are not now. */
static void tell_places(struct telling *telling, bool ranked_now)
{
  const struct moved *moved = telling->moved;
  const struct moved_place *one = NULL;
  size_t count = 0;
  for (size_t i = 0; i < moved->count; i++) {
    const struct moved_place *place = &moved->places[i];
    if (ranked_now ? place->then != NULL : place->now != NULL) continue;
    one = place;
    count++;
  }
  if (count == 0 || !next(telling)) return;
  telling->others = true;
  struct be_buf *out = &telling->text;
  if (count > 1)
    be_buf_format(out,
                  ranked_now ? "%zu places are ranked for the first time"
                             : "in %zu places nothing is left to rank",
                  count);
  else if (ranked_now)
    be_buf_format(out, "%s is ranked for the first time, %zu knots", one->name,
                  one->now->block.knots);
  else be_buf_format(out, "in %s nothing is left to rank", one->name);
}

static void tell_who_came(struct telling *telling, const struct moved_place *place)
{
  for (size_t i = 0; i < place->count; i++) {
    const struct move *move = &place->moves[i];
    if (move->how != MOVED_NEW && move->how != MOVED_LEFT) continue;
    telling->others = true;
    if (!next(telling)) continue;
    if (move->how == MOVED_LEFT) {
      be_buf_format(&telling->text, "the %s is no longer ranked in %s",
                    knot_name(telling, move->knot), place->name);
      continue;
    }
    const struct rank *rank = &place->now->rank[move->now];
    be_buf_format(&telling->text, "the %s came in at rank %zu of %zu in %s",
                  knot_name(telling, move->knot), rank->rank, place->now->block.knots, place->name);
    if (rank->low < rank->high)
      be_buf_format(&telling->text, ", and may be any from %zu to %zu", rank->low, rank->high);
  }
}

/* Of each pair the better one by rank now speaks. */
struct pair {
  int then_a, then_b, now_a, now_b;
};

static bool find_pair(const struct moved_place *place, const struct move *move, size_t other,
                      struct pair *pair)
{
  *pair = (struct pair){move->then, be_moved_index(place->then, place->now->block.knot[other]),
                        move->now, (int)other};
  return pair->then_b != NOT_RANKED &&
         place->now->rank[pair->now_a].rank < place->now->rank[other].rank;
}

static void tell_pair(struct telling *telling, const struct moved_place *place,
                      const struct pair *pair, bool of_verdicts)
{
  const struct ranking *then = place->then, *now = place->now;
  bool passed = then->rank[pair->then_a].rank > then->rank[pair->then_b].rank;
  int was = be_moved_verdict(then, pair->then_a, pair->then_b);
  int is = be_moved_verdict(now, pair->now_a, pair->now_b);
  if (of_verdicts != (was != is) || (!of_verdicts && !passed)) return;
  if (!next(telling)) return;
  const char *a = knot_name(telling, now->block.knot[pair->now_a]);
  const char *b = knot_name(telling, now->block.knot[pair->now_b]);
  if (passed)
    be_buf_format(&telling->text, "the %s passed the %s in %s, %s", a, b, place->name,
                  is    ? "and is apart from it"
                  : was ? "and they are no longer apart"
                        : "within what their ranges allow");
  else if (is)
    be_buf_format(&telling->text, "the %s is now apart from the %s in %s", a, b, place->name);
  else
    be_buf_format(&telling->text, "the %s is no longer apart from the %s in %s", a, b, place->name);
}

static void tell_pairs(struct telling *telling, const struct moved_place *place, bool of_verdicts)
{
  for (size_t i = 0; i < place->count; i++) {
    const struct move *move = &place->moves[i];
    if (move->then == NOT_RANKED || move->now == NOT_RANKED) continue;
    for (size_t other = 0; other < place->now->block.knots; other++) {
      struct pair pair;
      if (find_pair(place, move, other, &pair)) tell_pair(telling, place, &pair, of_verdicts);
    }
  }
}

/* ---- where nothing of that happened ---- */

static void tell_figures(struct telling *telling)
{
  const struct moved *moved = telling->moved;
  const struct survey *now = moved->step[STEP_NOW];
  double points = 0, load = 0;
  size_t count = 0;
  for (size_t i = 0; i < moved->count; i++)
    for (size_t k = 0; k < moved->places[i].count; k++) {
      const struct move *move = &moved->places[i].moves[k];
      double *most = move->by_load ? &load : &points;
      *most = fmax(*most, fabs(move->is - move->was));
      count++;
    }
  if (count == 0) {
    be_buf_text(&telling->text, " nothing moved");
    return;
  }
  be_buf_format(&telling->text, " nobody changed places; %zu figure%s moved, by ", count,
                count == 1 ? "" : "s");
  if (points > 0) be_buf_format(&telling->text, "%.1f pts", 100 * points);
  if (load > 0)
    be_buf_format(&telling->text, "%s%.*f %s", points > 0 ? " or " : "", now->decimals + 1,
                  be_shown(now, load), now->how.unit->name);
  be_buf_text(&telling->text, " at most");
}

const char *be_moved_headline(const struct moved *moved, const char *since)
{
  struct telling telling = {.moved = moved};
  be_buf_init(&telling.text, WORDS_MAX);
  be_buf_format(&telling.text, "%s:", since);
  tell_places(&telling, true);
  tell_places(&telling, false);
  for (size_t i = 0; i < moved->count; i++) tell_who_came(&telling, &moved->places[i]);
  for (size_t i = 0; i < moved->count; i++) tell_pairs(&telling, &moved->places[i], true);
  for (size_t i = 0; i < moved->count; i++) tell_pairs(&telling, &moved->places[i], false);
  if (telling.told == 0) tell_figures(&telling);
  else if (telling.passed_over) be_buf_format(&telling.text, "; and %zu more", telling.passed_over);
  else
    be_buf_text(&telling.text,
                telling.others ? "; all others keep their order" : "; nobody else changed places");
  be_buf_char(&telling.text, '.');
  const char *text =
      telling.text.status == BE_OK
          ? be_arena_text(moved->step[STEP_NOW]->arena, telling.text.data, telling.text.size)
          : NULL;
  be_buf_free(&telling.text);
  return text;
}
