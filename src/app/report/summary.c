/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The first page: which knot is best where, and how sure that is, in plain words. */
#include "app/ranking/places.h"
#include "app/report/recorded.h"
#include "app/report/report.h"
#include "app/strength/strength.h"

#include <math.h>
#include <string.h>

/* A place that is spoken of: a group where it is ranked, else each of its combinations. */
struct top {
  struct place **list;
  size_t count, apart; /* apart: a knot stands apart from every other */
  size_t bare;         /* one pull of a knot tells nothing of scatter */
  bool grouped;        /* one of them is a group */
};

static bool stands_apart(const struct place *place)
{
  return be_ranking_followers(place->ranking) == 0 && !place->ranking->rival;
}

/* Combinations stand behind their group, whose ranking speaks for those in its block. */
static bool in_block(const struct place *group, const struct place *place)
{
  for (size_t i = 0; group && i < group->block.combinations; i++)
    if (strcmp(group->block.where[i]->name, place->name) == 0) return true;
  return false;
}

static enum be_status find_top(const struct survey *survey, struct top *top, struct be_err *err)
{
  struct place *places;
  const struct place *group = NULL;
  size_t count;
  enum be_status status = be_places(survey, &places, &count, err);
  if (status != BE_OK) return status;
  *top = (struct top){.list = be_arena_alloc(survey->arena, count * sizeof(struct place *))};
  if (!top->list) return be_no_memory(err);
  for (size_t i = 0; i < count && status == BE_OK; i++) {
    if (places[i].group) group = be_place_ranked(&places[i]) ? &places[i] : NULL;
    if (!be_place_ranked(&places[i]) || (!places[i].group && in_block(group, &places[i]))) continue;
    status = be_place_rank(survey, &places[i], err);
    if (status != BE_OK) break;
    top->apart += stands_apart(&places[i]);
    top->bare += be_ranking_bare(places[i].ranking);
    top->grouped |= places[i].group;
    top->list[top->count++] = &places[i];
  }
  return status;
}

static const char *first_knot(const struct survey *survey, const struct place *place)
{
  const struct ranking *r = place->ranking;
  return be_knot_name(survey, r->block.knot[r->order[0]]);
}

/* ---- place by place ---- */

/* The first and those it cannot be separated from. */
static const char *leaders(const struct survey *survey, const struct ranking *r)
{
  enum { NAMED_MAX = 4 };
  const char *text = "";
  size_t named = 0, all = be_ranking_followers(r) + 1;
  for (size_t i = 0; i < r->block.knots && named < NAMED_MAX && text; i++) {
    if (i > 0 && !be_ranking_together(r, r->order[0], r->order[i])) continue;
    named++;
    text = be_arena_format(survey->arena, "%s%sthe %s", text,
                           named == 1     ? ""
                           : named == all ? " or "
                                          : ", ",
                           be_knot_name(survey, r->block.knot[r->order[i]]));
  }
  if (text && all > named)
    text = be_arena_format(survey->arena, "%s or %zu more", text, all - named);
  return text;
}

/* ", mean 66.1 N [56.4, 75.8]"; over unlike lines by logs. */
static const char *mean_load(const struct survey *survey, const struct ranking *r, size_t knot)
{
  struct be_interval interval = r->load_interval[knot];
  return be_arena_format(survey->arena, ", %smean %.*f %s%s",
                         r->block.combinations > 1 ? "geometric " : "", survey->decimals + 1,
                         be_shown(survey, r->load[knot]), survey->how.unit->name,
                         be_interval_words(survey, be_shown(survey, interval.low),
                                           be_shown(survey, interval.high), survey->decimals + 1));
}

/* ", 91 % [89, 93] of the line"; where nothing is known of its interval, the load with its own
 * comes first. */
static const char *kept_words(const struct survey *survey, const struct ranking *r, size_t knot)
{
  struct be_interval interval = r->efficiency_interval[knot];
  double percent = 100 * r->efficiency[knot];
  if (isnan(percent)) return mean_load(survey, r, knot);
  if (!isnan(interval.low))
    return be_arena_format(survey->arena, ", %.0f %%%s of the line", percent,
                           be_interval_words(survey, 100 * interval.low, 100 * interval.high, 0));
  const char *load = mean_load(survey, r, knot);
  return load ? be_arena_format(survey->arena,
                                "%s, %.0f %% of the line (too few pulls for an interval of that)",
                                load, percent)
              : NULL;
}

static enum be_status say_place(struct be_doc *doc, const struct survey *survey,
                                const struct place *place, struct be_err *err)
{
  const struct ranking *r = place->ranking;
  size_t first = r->order[0];
  const char *names = leaders(survey, r), *kept = kept_words(survey, r, first);
  if (!names || !kept) return be_no_memory(err);
  const char *over = "";
  if (place->group && place->block.combinations > 1)
    over = be_arena_format(survey->arena, " over the %zu combinations that all were tied in",
                           place->block.combinations);
  bool alone = be_ranking_followers(r) == 0;
  be_doc_sentence(doc, "%s: %s%s%s%s%s%s, n = %zu%s.", place->name, names,
                  alone                ? ", apart from every other"
                  : be_ranking_bare(r) ? ", but one pull of a knot tells nothing of scatter, so "
                                         "which is the stronger is not known"
                  : r->mixed ? ", which were not all pulled alike, so that not all can be compared"
                             : ", which cannot be separated",
                  r->rival ? ", though another held more without letting go" : "",
                  alone                ? ""
                  : be_ranking_bare(r) ? "; the "
                                       : "; first by its mean the ",
                  alone ? "" : first_knot(survey, place), kept, r->n[first], over ? over : "");
  return BE_OK;
}

/* ---- the answer ---- */

static bool wins(const struct place *place, int knot)
{
  const struct ranking *r = place->ranking;
  return stands_apart(place) && r->block.knot[r->order[0]] == knot;
}

/* "the palomar on braid to ring, dry; nylon to ring, dry; and 2 more" */
static const char *list_wins(const struct survey *survey, const struct top *top, int knot)
{
  enum { NAMED_MAX = 4 };
  size_t count = 0;
  const char *text = be_arena_format(survey->arena, "the %s on", be_knot_name(survey, knot));
  for (size_t i = 0; i < top->count && text; i++)
    if (wins(top->list[i], knot) && count++ < NAMED_MAX)
      text =
          be_arena_format(survey->arena, "%s%s %s", text, count > 1 ? ";" : "", top->list[i]->name);
  if (text && count > NAMED_MAX)
    text = be_arena_format(survey->arena, "%s; and %zu more", text, count - NAMED_MAX);
  return text;
}

/* Each knot that stands apart somewhere, in the order of the places. */
static const char *list_winners(const struct survey *survey, const struct top *top)
{
  const char *text = "";
  for (size_t i = 0; i < top->count && text; i++) {
    const struct ranking *r = top->list[i]->ranking;
    int knot = r->block.knot[r->order[0]];
    bool before = false;
    for (size_t k = 0; k < i; k++) before |= wins(top->list[k], knot);
    if (before || !stands_apart(top->list[i])) continue;
    const char *own = list_wins(survey, top, knot);
    text = own ? be_arena_format(survey->arena, "%s%s%s", text, *text ? ", and " : "", own) : NULL;
  }
  return text;
}

static enum be_status answer(struct be_doc *doc, const struct survey *survey, const struct top *top,
                             struct be_err *err)
{
  double percent = 100 * survey->how.level;
  if (!survey->record.pulls_count)
    be_doc_sentence(doc, "Which knot is best cannot be said: the book holds no pulls yet.");
  else if (!top->count)
    be_doc_sentence(doc, "Which knot is best cannot be said: no two knots were pulled to an event "
                         "on the same lines.");
  else if (top->count == 1) return say_place(doc, survey, top->list[0], err);
  else if (top->bare == top->count)
    be_doc_sentence(doc,
                    "Which knot is best cannot be said: on each of %zu kinds of line and "
                    "hardware, one pull of a knot tells nothing of scatter.",
                    top->count);
  else if (!top->apart)
    be_doc_sentence(doc,
                    "On none of %zu kinds of line and hardware can the strongest knot be separated "
                    "from the next, at %g %%.",
                    top->count, percent);
  else {
    const char *winners = list_winners(survey, top);
    if (!winners) return be_no_memory(err);
    be_doc_sentence(doc,
                    "On %zu of %zu kinds of line and hardware one knot is the strongest and stands "
                    "apart from every other, %g %% sure of all ranks of a table at once: %s.",
                    top->apart, top->count, percent, winners);
    if (top->apart < top->count)
      be_doc_sentence(
          doc, "%s the first cannot be separated from the next, or not be compared with it.",
          top->count - top->apart == 1
              ? "On the other"
              : be_arena_format(survey->arena, "On the other %zu", top->count - top->apart));
  }
  return BE_OK;
}

static enum be_status say_places(struct be_doc *doc, const struct survey *survey,
                                 const struct top *top, struct be_err *err)
{
  enum { SAID_MAX = 16 };
  enum be_status status = BE_OK;
  if (top->count < 2) return status;
  be_doc_heading(doc, "Best where");
  for (size_t i = 0; i < top->count && i < SAID_MAX && status == BE_OK; i++)
    status = say_place(doc, survey, top->list[i], err);
  if (top->count > SAID_MAX)
    be_doc_sentence(doc, "Of %zu more the standings tell.", top->count - SAID_MAX);
  return status;
}

/* Why one knot is told of in several ways: said here for the whole report. */
static void say_ways(struct be_doc *doc)
{
  be_doc_note(
      doc,
      "A kind of line and hardware is a group of alike combinations, or one that has none "
      "alike. One knot on one line is told of in up to three ways, which differ because they "
      "rest on different pulls. Its combination alone: the events there, in the tables and "
      "standings. Its group (here, and in the standings, with how many combinations it is "
      "over): the mean over those in which all its knots have events, each counted once. The "
      "model, where one could be fitted (end of the standings): all pulls of the group at once,"
      " lower bounds too, borrowing from one combination for another. For these very lines the "
      "combination counts; for a choice over lines of a kind the group; for what was not tied "
      "there the model alone says anything. Where one separates two knots and another does not,"
      " it has more pulls, or compares more knots at once.");
}

/* ---- what else a reader wants first ---- */

struct slipping {
  int knot;
  size_t k, n;
};

static void say_slips(struct be_doc *doc, const struct survey *survey)
{
  struct slipping worst = {-1, 0, 0};
  size_t slipped = 0, told = 0;
  for (size_t i = 0; i < survey->cells_count; i++) {
    if (survey->cells[i].knot < 0) continue;
    slipped += survey->cells[i].slips;
    told += survey->cells[i].told;
  }
  for (size_t knot = 0; knot < survey->record.knots_count; knot++) {
    struct slipping is = {(int)knot, 0, 0};
    for (size_t i = 0; i < survey->cells_count; i++) {
      const struct cell *cell = &survey->cells[i];
      if (cell->knot != (int)knot || cell->knot_b >= 0) continue;
      is.k += cell->slips;
      is.n += cell->told;
    }
    if (is.k * worst.n > worst.k * is.n || (worst.knot < 0 && is.k)) worst = is;
  }
  if (!told) return;
  struct be_interval share = be_rate_exact(slipped, told, survey->how.level);
  be_doc_sentence(doc,
                  "Slipped out: %zu of %zu event%s of knots where what let go is recorded, %.0f %% "
                  "[%.0f, %.0f].",
                  slipped, told, be_plural(told), 100.0 * (double)slipped / (double)told,
                  100 * share.low, 100 * share.high);
  if (worst.knot < 0) return;
  share = be_rate_exact(worst.k, worst.n, survey->how.level);
  be_doc_sentence(doc, "Most often: the %s, %zu of %zu, %.0f %% [%.0f, %.0f].",
                  be_knot_name(survey, worst.knot), worst.k, worst.n,
                  100.0 * (double)worst.k / (double)worst.n, 100 * share.low, 100 * share.high);
}

static enum be_status say_untold(struct be_doc *doc, const struct survey *survey,
                                 struct be_err *err)
{
  const char *words = "";
  struct be_untold *list;
  size_t count;
  enum be_status status = be_untold_of(survey, &list, &count, err);
  for (size_t i = 0; i < count && status == BE_OK && words; i++)
    words = be_arena_format(survey->arena, "%s%s%s", words, i ? ", " : "", list[i].what);
  if (status != BE_OK || !words) return status != BE_OK ? status : be_no_memory(err);
  be_doc_sentence(doc, "Not recorded of any: %s.", words);
  return BE_OK;
}

static enum be_status say_data(struct be_doc *doc, const struct survey *survey, struct be_err *err)
{
  size_t events = 0, bounds = 0, voids = 0;
  for (size_t i = 0; i < survey->cells_count; i++) {
    events += survey->cells[i].n;
    bounds += survey->cells[i].bounds;
    voids += survey->cells[i].voids;
  }
  be_doc_heading(doc, "What it rests on");
  be_doc_sentence(
      doc,
      "Pulls: %zu, of these events %zu, lower bounds %zu, void %zu; knots: %zu; spools of "
      "line: %zu. Worked out from the record by bitterend %s.",
      survey->record.pulls_count, events, bounds, voids, survey->record.knots_count,
      survey->record.lines_count, be_version);
  if (survey->plain_count + survey->plain_bounds_count == 0)
    be_doc_sentence(doc, "No plain line was pulled, so loads stand alone: no efficiency is given.");
  else
    be_doc_sentence(
        doc,
        "Efficiencies are of the weaker line as measured; plain pulls: events %zu, lower "
        "bounds %zu. The label is never divided by.",
        survey->plain_count, survey->plain_bounds_count);
  say_slips(doc, survey);
  return survey->record.pulls_count ? say_untold(doc, survey, err) : BE_OK;
}

enum be_status be_summary_doc(const struct survey *survey, struct be_doc **out, struct be_err *err)
{
  struct survey own = *survey;
  struct top top;
  own.how.resamples = 0; /* no chances are said here */
  struct be_doc *doc = be_doc_create("report", "Report");
  if (!doc) return be_no_memory(err);
  enum be_status status = find_top(&own, &top, err);
  if (status == BE_OK) status = answer(doc, survey, &top, err);
  if (status == BE_OK) {
    be_doc_caution(doc, "%s", be_notice);
    status = say_places(doc, survey, &top, err);
    if (top.grouped) say_ways(doc);
  }
  if (status == BE_OK) status = say_data(doc, survey, err);
  return be_answer_done(survey, doc, status, out, err);
}
