/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Who held most, and which of them cannot be separated. A combination ranks
 * its own knots; a group ranks knots only over the combinations that all of
 * them were tied in (grid.c). */
#include "app/model/model.h"
#include "app/moved/moved.h"
#include "app/ranking/places.h"
#include "app/ranking/ranking.h"

#include <math.h>

/* Sentences name so many knots and count the rest. */
enum { NAMED_MAX = 8, LEADERS_MAX = 3, LISTS_MAX = 1 << 20 };

/* ---- saying it ---- */

/* The first knot and those it cannot be separated from, in the order of rank. */
static const char *list_leaders(const struct survey *survey, const struct ranking *r,
                                struct be_err *err)
{
  size_t all = be_ranking_followers(r) + 1, named = 0;
  struct be_buf names;
  be_buf_init(&names, LISTS_MAX);
  for (size_t i = 0; i < r->block.knots && named < NAMED_MAX; i++) {
    if (i > 0 && !be_ranking_together(r, r->order[0], r->order[i])) continue;
    bool last = named + 1 == all;
    be_buf_format(&names, "%s%s",
                  named == 0 ? ""
                  : last     ? " and "
                             : ", ",
                  be_knot_name(survey, r->block.knot[r->order[i]]));
    named++;
  }
  if (all > named) be_buf_format(&names, " and %zu more", all - named);
  const char *text =
      names.status == BE_OK ? be_arena_text(survey->arena, names.data, names.size) : NULL;
  be_buf_free(&names);
  if (!text) be_no_memory(err);
  return text;
}

static void ranking_row(struct be_table *table, const struct survey *survey,
                        const struct ranking *r, size_t knot, const char *place)
{
  const struct rank *rank = &r->rank[knot];
  size_t first = r->order[0];
  struct be_interval efficiency = r->efficiency_interval[knot];
  struct be_interval slip = be_rate_exact(r->slips[knot], r->told[knot], survey->how.level);
  be_table_text(table, "%s", place);
  be_table_number(table, (double)rank->rank, 0);
  if (rank->low == rank->high) be_table_text(table, "%zu", rank->low);
  else be_table_text(table, "%zu to %zu", rank->low, rank->high);
  be_table_text(table, "%s", be_knot_name(survey, r->block.knot[knot]));
  be_table_number(table, (double)r->n[knot], 0);
  be_table_number(table, be_shown(survey, r->load[knot]), survey->decimals + 1);
  be_table_number(table, 100 * r->efficiency[knot], 0);
  be_table_interval(table, 100 * efficiency.low, 100 * efficiency.high, 0);
  be_table_number(table, 100 * (r->efficiency[first] - r->efficiency[knot]), 1);
  be_table_number(table, 100 * (1 - exp(rank->score - r->rank[first].score)), 1);
  be_table_text(table, "%s", r->letters[knot]);
  be_table_text(table, "%s", be_ranking_others(survey, r, knot));
  be_table_number(table, 100 * rank->best, 0);
  be_table_number(table, 100 * rank->top, 0);
  be_table_number(table, 100 * rank->best, 1);
  if (r->told[knot]) {
    be_table_count(table, r->slips[knot], r->told[knot]);
    be_table_interval(table, 100 * slip.low, 100 * slip.high, 0);
  } else {
    be_table_none(table);
    be_table_none(table);
  }
  be_table_number(table, (double)r->bounds[knot], 0);
}

static void say_ranking(struct be_doc *doc, const struct survey *survey, const struct ranking *r,
                        const char *place)
{
  bool bounds = false;
  for (size_t i = 0; i < r->block.knots; i++) bounds |= r->bounds[i] > 0;
  const struct be_column columns[] = {
      {"place", "", BE_COLUMN_TEXT, true},
      {"rank", "rank", BE_COLUMN_NUMBER, false},
      {"rank_range", "rank range", BE_COLUMN_TEXT, false},
      {"knot", "knot", BE_COLUMN_TEXT, false},
      {"n", "n", BE_COLUMN_NUMBER, false},
      {"load", be_head(survey, "mean"), BE_COLUMN_NUMBER, false},
      {"efficiency_percent", "efficiency (%)", BE_COLUMN_NUMBER, false},
      {"efficiency_percent", "interval", BE_COLUMN_INTERVAL, false},
      {"behind_first_points", "behind first (pts)", BE_COLUMN_NUMBER, false},
      {"behind_first_relative_percent", "(relative %)", BE_COLUMN_NUMBER, false},
      {"letters", "letters", BE_COLUMN_TEXT, false},
      {"cannot_separate_from", "", BE_COLUMN_TEXT, true},
      {"first_percent", "first (%)", BE_COLUMN_NUMBER, false},
      {"first_three_percent", "first three (%)", BE_COLUMN_NUMBER, false},
      {"first_in_percent_of_resamples", "", BE_COLUMN_NUMBER, true},
      {"slipped_out", "slipped out", BE_COLUMN_COUNT, false},
      {"slipped_out_percent", "", BE_COLUMN_INTERVAL, true},
      {"lower_bounds", "at least", BE_COLUMN_NUMBER, !bounds},
  };
  struct be_table *table =
      be_doc_table(doc, "standings", place, columns, sizeof columns / sizeof columns[0]);
  for (size_t i = 0; i < r->block.knots; i++) ranking_row(table, survey, r, r->order[i], place);
}

/* ---- the answer of a section ---- */

/* One line of the summary that opens the page. */
struct outcome {
  const char *place;
  const char *first; /* the strongest, or those that cannot be separated */
  bool apart;        /* from every other, lower bounds included */
  bool bare;         /* be_ranking_bare */
  bool group;
  int knot;
  size_t together, n;
  double efficiency;
  struct be_interval interval;
};

struct tally {
  struct outcome *list;
  size_t count, capacity;
};

static void say_doubts(struct be_doc *doc, const struct survey *survey, const struct ranking *r)
{
  if (r->rival)
    be_doc_sentence(doc,
                    "But the %s held at least %.*f %s in %s, more than that mean, without letting "
                    "go: a lower bound is no event and is not ranked, and it may be stronger.",
                    be_knot_name(survey, r->rival->knot), survey->decimals,
                    be_shown(survey, r->rival->highest->load_N), survey->how.unit->name,
                    survey->combinations[r->rival->combination].name);
  if (r->mixed)
    be_doc_note(doc,
                "Some of these knots were tied on different spools or pulled otherwise (speed, "
                "bench, length), "
                "without a plain line of each: such knots are not separated, since a strong "
                "spool may pass for a strong knot, and their ranks may be those of the spools.");
  if (r->other_in_points)
    be_doc_note(doc, "Ranks go by the mean of relative shares; by points of the line another knot "
                     "of this table comes first.");
  if (r->unlike_speeds) be_doc_note(doc, "Not all of these pulls were made at the same speed.");
}

static enum be_status say_answer(struct be_doc *doc, const struct survey *survey,
                                 const struct ranking *r, const char *place, bool group,
                                 struct tally *tally, struct be_err *err)
{
  size_t first = r->order[0], together = be_ranking_followers(r) + 1;
  const char *names = list_leaders(survey, r, err);
  if (!names) return BE_NO_MEMORY;
  if (together == 1)
    be_doc_sentence(doc, "The %s held most in %s, n = %zu, apart from every other that was ranked.",
                    names, place, r->n[first]);
  else if (be_ranking_bare(r))
    be_doc_sentence(doc,
                    "One pull of a knot tells nothing of scatter, so nothing is said of which is "
                    "the stronger in %s: %s.",
                    place, names);
  else
    be_doc_sentence(doc, "Cannot separate the first from %zu other%s in %s: %s.", together - 1,
                    together == 2 ? "" : "s", place, names);
  say_doubts(doc, survey, r);
  void *block = tally->list;
  enum be_status status =
      be_grow(&block, &tally->capacity, sizeof *tally->list, tally->count + 1, 1000000, err);
  tally->list = block;
  if (status != BE_OK) return status;
  tally->list[tally->count++] = (struct outcome){.place = place,
                                                 .first = names,
                                                 .apart = together == 1 && !r->rival,
                                                 .bare = be_ranking_bare(r),
                                                 .group = group,
                                                 .knot = r->block.knot[first],
                                                 .together = together,
                                                 .n = r->n[first],
                                                 .efficiency = r->efficiency[first],
                                                 .interval = r->efficiency_interval[first]};
  return BE_OK;
}

static enum be_status say_block(struct be_doc *doc, const struct survey *survey,
                                struct place *place, const char *title, struct tally *tally,
                                struct be_err *err)
{
  enum be_status status = be_place_rank(survey, place, err);
  if (status == BE_OK)
    status = say_answer(doc, survey, place->ranking, title, place->group, tally, err);
  if (status != BE_OK) return status;
  say_ranking(doc, survey, place->ranking, title);
  be_doc_figure(doc, be_figure_of_ranking(survey, place->ranking, title));
  return BE_OK;
}

/* ---- what was left out ---- */

/* Knots that gave nothing but lower bounds in a combination. */
static void say_only_bounds(struct be_doc *doc, const struct survey *survey,
                            const struct combination *where)
{
  for (size_t i = where->first_cell; i < where->first_cell + where->cells_count; i++) {
    const struct cell *cell = &survey->cells[i];
    if (cell->n || !cell->highest) continue;
    be_doc_note(doc,
                "Not ranked: the %s gave only lower bounds here, %zu pull%s, the highest at "
                "least %.*f %s.",
                be_knot_name(survey, cell->knot), cell->bounds, cell->bounds == 1 ? "" : "s",
                survey->decimals, be_shown(survey, cell->highest->load_N), survey->how.unit->name);
  }
}

static void say_left_out(struct be_doc *doc, const struct survey *survey, const struct grid *all,
                         const struct grid *block)
{
  for (size_t c = 0; c < all->combinations; c++) {
    bool in = false;
    for (size_t i = 0; i < block->combinations; i++) in |= block->where[i] == all->where[c];
    if (!in)
      be_doc_note(doc, "Left out of the group: %s, where not all of these knots have events.",
                  all->where[c]->name);
  }
  for (size_t k = 0; k < all->knots; k++) {
    if (be_grid_has(block, all->knot[k])) continue;
    for (size_t i = 0; i < block->combinations; i++)
      if (!be_cell_find(survey, block->where[i], all->knot[k])) {
        be_doc_note(doc, "Left out of the group: %s, without an event in %s.",
                    be_knot_name(survey, all->knot[k]), block->where[i]->name);
        break;
      }
  }
}

static enum be_status group_section(struct be_doc *doc, const struct survey *survey,
                                    struct place *group, struct tally *tally, struct be_err *err)
{
  const struct grid *block = &group->block;
  be_doc_heading(doc, "Group: %s", group->name);
  if (block->knots < 2) {
    be_doc_note(doc, "No two knots share a combination in this group: nothing to compare.");
    return BE_OK;
  }
  enum be_status status = BE_OK;
  if (!be_place_ranked(group)) {
    be_doc_note(doc, "Only one combination is shared, %s: it stands by itself below.",
                block->where[0]->name);
  } else {
    const char *place = be_arena_format(survey->arena, "%s (%zu shared combinations)", group->name,
                                        block->combinations);
    status = place ? say_block(doc, survey, group, place, tally, err) : be_no_memory(err);
  }
  if (status == BE_OK) say_left_out(doc, survey, &group->all, block);
  return status;
}

static enum be_status combination_section(struct be_doc *doc, const struct survey *survey,
                                          struct place *place, struct tally *tally,
                                          struct be_err *err)
{
  enum be_status status = BE_OK;
  const struct grid *block = &place->block;
  be_doc_heading(doc, "%s", place->name);
  if (block->knots == 0) be_doc_note(doc, "No knot has an event here: nothing to rank.");
  else if (block->knots == 1)
    be_doc_note(doc, "Only the %s has events here: nothing to compare.",
                be_knot_name(survey, block->knot[0]));
  else status = say_block(doc, survey, place, place->name, tally, err);
  say_only_bounds(doc, survey, block->where[0]);
  return status;
}

static enum be_status sections(struct be_doc *doc, const struct survey *survey,
                               struct place *places, size_t count, struct tally *tally,
                               struct be_err *err)
{
  enum be_status status = BE_OK;
  for (size_t i = 0; i < count && status == BE_OK; i++)
    status = places[i].group ? group_section(doc, survey, &places[i], tally, err)
                             : combination_section(doc, survey, &places[i], tally, err);
  return status;
}

/* ---- the page ---- */

/* Two lines named in the other order are kept apart: a knot may treat them
 * differently. Said, because it may be an oversight. */
static void say_turned_round(struct be_doc *doc, const struct survey *survey)
{
  for (size_t i = 0; i < survey->combinations_count; i++)
    for (size_t k = i + 1; k < survey->combinations_count; k++) {
      const struct combination *a = &survey->combinations[i], *b = &survey->combinations[k];
      if (a->line_b < 0 || a->line_a != b->line_b || a->line_b != b->line_a ||
          a->line_a == a->line_b || a->soak != b->soak || a->design != b->design)
        continue;
      be_doc_note(doc,
                  "%s and %s hold the same two lines named in the other order: they are kept "
                  "apart.",
                  a->name, b->name);
    }
}

/* "palomar in 7, uni in 1" of the combinations, and how many there are. */
static const char *who_is_apart(const struct survey *survey, const struct tally *tally, size_t *all,
                                size_t *apart)
{
  size_t knots = survey->record.knots_count, rest;
  size_t *times = be_arena_alloc(survey->arena, (knots + 1) * sizeof *times);
  const char *words = "";
  *all = *apart = 0;
  for (size_t i = 0; i < tally->count && times; i++) {
    const struct outcome *outcome = &tally->list[i];
    if (outcome->group) continue;
    ++*all;
    *apart += outcome->apart;
    times[outcome->knot] += outcome->apart;
  }
  rest = *apart;
  for (int named = 0; rest > 0 && times && words; named++) {
    size_t most = 0;
    for (size_t k = 1; k < knots; k++)
      if (times[k] > times[most]) most = k;
    if (named == LEADERS_MAX)
      return be_arena_format(survey->arena, "%s, others in %zu", words, rest);
    words = be_arena_format(survey->arena, "%s%s%s in %zu", words, named ? ", " : "",
                            be_knot_name(survey, (int)most), times[most]);
    rest -= times[most];
    times[most] = 0;
  }
  return times ? words : NULL;
}

static const struct outcome *one_combination(const struct tally *tally)
{
  size_t i = 0;
  while (tally->list[i].group) i++;
  return &tally->list[i];
}

static enum be_status say_who(struct be_doc *doc, const struct survey *survey,
                              const struct tally *tally, struct be_err *err)
{
  size_t all, apart;
  const char *who = who_is_apart(survey, tally, &all, &apart);
  if (!who) return be_no_memory(err);
  const struct outcome *one = one_combination(tally);
  if (all == 1 && apart)
    be_doc_sentence(doc, "The %s is the strongest in %s, apart from every other.", one->first,
                    one->place);
  else if (all == 1 && one->together == 1)
    be_doc_sentence(doc, "The %s has the highest mean in %s, but another a lower bound above it.",
                    one->first, one->place);
  else if (all == 1 && one->bare)
    be_doc_sentence(doc,
                    "Which is the strongest in %s is not known: one pull of a knot tells nothing "
                    "of scatter: %s.",
                    one->place, one->first);
  else if (all == 1)
    be_doc_sentence(doc, "The strongest in %s cannot be separated: %s.", one->place, one->first);
  else if (apart == 0)
    be_doc_sentence(doc,
                    "In none of %zu combinations does the strongest knot stand apart from every "
                    "other.",
                    all);
  else
    be_doc_sentence(doc,
                    "In %zu of %zu combinations the strongest knot stands apart from every other: "
                    "%s%s.",
                    apart, all, who, apart == all ? "" : "; in the rest it does not");
  return BE_OK;
}

static enum be_status say_summary(struct be_doc *doc, const struct survey *survey,
                                  const struct tally *tally, struct be_err *err)
{
  static const struct be_column columns[] = {
      {"place", "where", BE_COLUMN_TEXT, false},
      {"first", "strongest", BE_COLUMN_TEXT, false},
      {"together", "", BE_COLUMN_NUMBER, true},
      {"n", "n", BE_COLUMN_NUMBER, false},
      {"efficiency_percent", "efficiency of the first (%)", BE_COLUMN_NUMBER, false},
      {"efficiency_percent", "interval", BE_COLUMN_INTERVAL, false},
  };
  if (tally->count == 0) {
    be_doc_sentence(doc, "No two knots have events in the same combination: there is nothing to "
                         "rank yet.");
    return BE_OK;
  }
  enum be_status status = say_who(doc, survey, tally, err);
  struct be_table *table = be_doc_table(doc, "summary", "Strongest, place by place", columns, 6);
  for (size_t i = 0; i < tally->count; i++) {
    const struct outcome *outcome = &tally->list[i];
    be_table_text(table, "%s", outcome->place);
    be_table_text(table, "%s%s%s",
                  outcome->bare           ? "not known from one pull: "
                  : outcome->together > 1 ? "cannot separate "
                                          : "",
                  outcome->first,
                  outcome->together == 1 && !outcome->apart
                      ? ", but another has a lower bound above its mean"
                      : "");
    be_table_number(table, (double)outcome->together, 0);
    be_table_number(table, (double)outcome->n, 0);
    be_table_number(table, 100 * outcome->efficiency, 0);
    be_table_interval(table, 100 * outcome->interval.low, 100 * outcome->interval.high, 0);
  }
  return status;
}

/* What was asked comes first; a report has what moved in a document of its own. */
static enum be_status answer(struct be_doc *doc, const struct survey *survey, struct place *places,
                             size_t count, const struct tally *tally, struct be_err *err)
{
  enum be_status status = BE_OK;
  if (survey->in_report && survey->how.since) return say_summary(doc, survey, tally, err);
  if (!survey->how.since) status = say_summary(doc, survey, tally, err);
  if (status == BE_OK) status = be_say_moved(doc, survey, places, count, err);
  if (status != BE_OK || !survey->how.since) return status;
  be_doc_heading(doc, "Who holds most");
  return say_summary(doc, survey, tally, err);
}

static void say_method(struct be_doc *doc, const struct survey *survey)
{
  be_doc_note(
      doc,
      "Knots are compared by each pull's share of the plain line of its own spool, so that "
      "a plain line that both were divided by cancels; by load where there is no plain "
      "line. What cannot be separated is judged by Welch's test on log shares, adjusted by "
      "Holm over each table, and letters and rank ranges follow: all ranges of a table hold "
      "at once, at %g %%. The chance of being first, or in the first three, is by %zu "
      "drawings about the figures, seed %llu: it takes them as they are, ranges do not.",
      100 * survey->how.level, survey->how.resamples, (unsigned long long)survey->how.seed);
  be_doc_fact(doc, "seed", "Seed", "%llu", (unsigned long long)survey->how.seed);
  be_doc_fact(doc, "resamples", "Resamples", "%zu", survey->how.resamples);
  be_doc_fact(doc, "level", "Level of ranges", "%g", survey->how.level);
  be_doc_fact(doc, "unit", "Unit of force", "%s", survey->how.unit->name);
}

enum be_status be_standings_doc(const struct survey *survey, struct be_doc **out,
                                struct be_err *err)
{
  be_progress_step("ranking the knots", NULL, 0);
  if (survey->how.by != BE_BY_STRENGTH && survey->how.since)
    return be_fail(err, BE_WRONG_USE, "what moved is told of standings by strength alone");
  if (survey->how.by != BE_BY_STRENGTH && survey->how.factors)
    return be_fail(err, BE_WRONG_USE, "what is held fixed goes with standings by strength alone");
  if (survey->how.factors && survey->how.since)
    return be_fail(err, BE_WRONG_USE,
                   "what moved and what is held fixed are two questions: ask one of them");
  if (survey->how.by != BE_BY_STRENGTH) return be_standings_by(survey, out, err);
  if (survey->how.factors) return be_factors_doc(survey, out, err);
  struct be_doc *doc = be_doc_create("standings", "Standings");
  if (!doc) return be_no_memory(err);
  struct tally tally = {0};
  struct place *places;
  size_t count;
  enum be_status status = be_places(survey, &places, &count, err);
  if (status == BE_OK) status = sections(doc, survey, places, count, &tally, err);
  if (status == BE_OK) status = be_say_model(doc, survey, err);
  if (status == BE_OK) status = be_say_departures(doc, survey, err);
  if (status == BE_OK) {
    say_turned_round(doc, survey);
    say_method(doc, survey);
    size_t place = be_doc_place(doc);
    status = answer(doc, survey, places, count, &tally, err);
    be_doc_first(doc, place);
  }
  be_free(tally.list);
  return be_answer_done(survey, doc, status, out, err);
}
