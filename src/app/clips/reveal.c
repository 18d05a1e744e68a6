/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/clips/reveal.h"

#include "app/clips/paint.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* A row comes in about every second; the last frame stands long enough to be read. */
static const double first_s = 0.8, row_s = 0.9, settle_s = 0.8, held_s = 3;

/* ---- which place ---- */

static bool has_part(const char *text, const char *part)
{
  size_t size = strlen(part);
  char piece[256];
  if (size >= sizeof piece) return false;
  for (; strlen(text) >= size; text++) {
    memcpy(piece, text, size);
    piece[size] = '\0';
    if (be_text_same(piece, part)) return true;
  }
  return false;
}

static const char *group_of(const struct place *place)
{
  return place->group ? place->name : NULL;
}

/* The first that is ranked: of a group before the combinations of it. */
static struct place *first_ranked(struct place *places, size_t count)
{
  for (size_t i = 0; i < count; i++)
    if (group_of(&places[i]) && be_place_ranked(&places[i])) return &places[i];
  for (size_t i = 0; i < count; i++)
    if (be_place_ranked(&places[i])) return &places[i];
  return NULL;
}

static struct place *named(struct place *places, size_t count, const char *which, size_t *found)
{
  struct place *place = NULL;
  *found = 0;
  for (size_t i = 0; i < count; i++)
    if (be_text_same(places[i].name, which)) {
      *found = 1;
      return &places[i];
    }
  for (size_t i = 0; i < count; i++) {
    if (!has_part(places[i].name, which)) continue;
    place = &places[i];
    ++*found;
  }
  return place;
}

static enum be_status none_ranked(struct be_err *err)
{
  be_fail_remedy(err,
                 "enter pulls of two knots on the same lines in which something let go: voids and "
                 "lower bounds alone rank nothing");
  return BE_BAD_INPUT;
}

static enum be_status find_place(const struct survey *survey, const char *which,
                                 struct place **place, struct be_err *err)
{
  struct place *places = NULL;
  size_t count = 0, found = 0;
  enum be_status status = be_places(survey, &places, &count, err);
  if (status != BE_OK) return status;
  if (strcmp(which, "standings") == 0) {
    *place = first_ranked(places, count);
    if (*place) return BE_OK;
    be_fail(err, BE_BAD_INPUT, "no two knots can be ranked in this book yet");
    return none_ranked(err);
  }
  *place = named(places, count, which, &found);
  if (found == 1 && be_place_ranked(*place)) return BE_OK;
  if (found == 1) {
    be_fail(err, BE_BAD_INPUT, "in %s there are no two knots to rank", (*place)->name);
    return none_ranked(err);
  }
  if (found)
    be_fail(err, BE_WRONG_USE, "%zu groups and combinations have \"%.80s\" in their name", found,
            which);
  else be_fail(err, BE_WRONG_USE, "there is no group or combination \"%.80s\"", which);
  be_fail_remedy(err,
                 "give the name that the page of standings has, or \"standings\" for the first "
                 "group");
  return BE_WRONG_USE;
}

/* ---- rows ---- */

static const char *say_n(const struct survey *survey, const struct ranking *r, size_t knot)
{
  if (!r->bounds[knot]) return be_arena_format(survey->arena, "n = %zu", r->n[knot]);
  return be_arena_format(survey->arena, "n = %zu + %zu at least", r->n[knot], r->bounds[knot]);
}

static const char *say_interval(const struct survey *survey, double low, double high, int decimals)
{
  if (!isfinite(low) || !isfinite(high)) return "";
  return be_arena_format(survey->arena, "[%.*f, %.*f]", decimals, low, decimals, high);
}

static bool fill_row(const struct survey *survey, const struct place *place, size_t knot,
                     bool share, struct reveal_row *row)
{
  const struct ranking *r = place->ranking;
  const struct rank *rank = &r->rank[knot];
  double by = share ? 0.01 : survey->how.unit->factor;
  int decimals = share ? 0 : survey->decimals;
  struct be_interval interval = r->efficiency_interval[knot];
  row->mean = share ? r->efficiency[knot] : r->load[knot];
  if (!share && place->group) interval = (struct be_interval){NAN, NAN};
  else if (!share) {
    const struct be_estimate *load = &be_grid_cell(&place->block, knot, 0)->load;
    row->mean = load->value;
    interval = be_load_interval(load, survey->how.level);
  }
  row->mean /= by;
  row->low = interval.low / by;
  row->high = interval.high / by;
  row->name = be_knot_name(survey, place->block.knot[knot]);
  row->rank = rank->low == rank->high
                  ? be_arena_format(survey->arena, "%zu", rank->low)
                  : be_arena_format(survey->arena, "%zu\xE2\x80\x93%zu", rank->low, rank->high);
  row->value = be_arena_format(survey->arena, "%.*f %s", decimals, row->mean,
                               share ? "%" : survey->how.unit->name);
  row->interval = say_interval(survey, row->low, row->high, decimals);
  row->n = say_n(survey, r, knot);
  return row->rank && row->value && row->interval && row->n;
}

static bool all_have_share(const struct ranking *r)
{
  for (size_t k = 0; k < r->block.knots; k++)
    if (!isfinite(r->efficiency[k])) return false;
  return true;
}

static enum be_status fill_rows(const struct survey *survey, const struct place *place,
                                struct reveal *reveal, bool share, struct be_err *err)
{
  const struct ranking *r = place->ranking;
  reveal->count = r->block.knots;
  reveal->rows = be_arena_alloc(survey->arena, reveal->count * sizeof *reveal->rows);
  if (!reveal->rows) return be_no_memory(err);
  reveal->axis = share ? 110 : 0;
  reveal->whole = share ? 100 : 0;
  for (size_t i = 0; i < reveal->count; i++) {
    struct reveal_row *row = &reveal->rows[i];
    if (!fill_row(survey, place, r->order[i], share, row)) return be_no_memory(err);
    double end = isfinite(row->high) ? row->high : row->mean;
    if (end * 1.04 > reveal->axis) reveal->axis = end * 1.04;
  }
  return BE_OK;
}

/* ---- words ---- */

static const char *say_finding(const struct survey *survey, const struct ranking *r)
{
  size_t others = be_ranking_followers(r);
  const char *first = be_knot_name(survey, r->block.knot[r->order[0]]);
  if (be_ranking_bare(r)) return "One pull of a knot tells nothing of scatter";
  if (others)
    return be_arena_format(survey->arena, "Cannot separate the first from %zu other%s", others,
                           others == 1 ? "" : "s");
  return be_arena_format(survey->arena, "The %s %s", first,
                         r->rival ? "has the highest mean" : "holds most");
}

static enum be_status say_words(const struct survey *survey, const struct place *place, bool share,
                                struct reveal *reveal, struct be_err *err)
{
  double level = 100 * survey->how.level;
  const struct ranking *r = place->ranking;
  size_t left_out = place->all.knots - place->block.knots;
  bool intervals = false;
  for (size_t i = 0; i < reveal->count; i++) intervals |= reveal->rows[i].interval[0] != '\0';
  reveal->place = place->name;
  reveal->measure = be_arena_format(
      survey->arena, "%s%s%s", share ? "Efficiency, % of the plain line" : "Mean load",
      share || !place->group ? "" : " over the shared combinations",
      place->group
          ? be_arena_format(survey->arena, "; mean of %zu combinations", r->block.combinations)
          : "");
  reveal->foot =
      be_arena_format(survey->arena, "Rank ranges%s at %g %%%s%s. For angling only.",
                      intervals ? " and [intervals]" : "", level, left_out ? "; " : "",
                      left_out ? be_arena_format(survey->arena, "%zu knot%s not tied in all",
                                                 left_out, left_out == 1 ? "" : "s")
                               : "");
  reveal->finding = say_finding(survey, r);
  reveal->title = reveal->finding ? be_arena_format(survey->arena, "%s in %s, %zu knots",
                                                    reveal->finding, place->name, reveal->count)
                                  : NULL;
  bool whole = reveal->measure && reveal->foot && reveal->finding && reveal->title;
  return whole ? BE_OK : be_no_memory(err);
}

enum be_status be_reveal_make(const struct survey *survey, const char *which, int width, int height,
                              struct be_doc *doc, struct reveal *reveal, struct be_err *err)
{
  struct place *place = NULL;
  enum be_status status = find_place(survey, which, &place, err);
  if (status == BE_OK) status = be_place_rank(survey, place, err);
  if (status != BE_OK) return status;
  bool share = all_have_share(place->ranking);
  *reveal = (struct reveal){.width = width, .height = height};
  status = fill_rows(survey, place, reveal, share, err);
  if (status == BE_OK) status = say_words(survey, place, share, reveal, err);
  if (status == BE_OK) status = be_reveal_lay_out(reveal, err);
  if (status != BE_OK) return status;
  for (size_t i = 0; i < reveal->count; i++) be_paint_say_lacks(reveal->rows[i].name, doc);
  reveal->each_s = row_s;
  reveal->lasts_s = first_s + row_s * (double)(reveal->count - 1) + settle_s + held_s;
  if (reveal->fit < reveal->count)
    be_doc_note(doc,
                "A frame has room for %zu rows: the last one shows the strongest, the others "
                "have passed.",
                reveal->fit);
  if (!share && place->group)
    be_doc_note(doc, "Not every knot has a plain line to be divided by, so that mean loads are "
                     "shown, without intervals over combinations.");
  return BE_OK;
}

void be_reveal_tell(const struct reveal *reveal, struct be_buf *told)
{
  be_buf_format(told, "%s\n%s\n%s\n%s\n%.17g\n", reveal->place, reveal->measure, reveal->foot,
                reveal->finding, reveal->axis);
  for (size_t i = 0; i < reveal->count; i++) {
    const struct reveal_row *row = &reveal->rows[i];
    be_buf_format(told, "%s|%s|%s|%s|%s|%.17g %.17g %.17g\n", row->rank, row->name, row->value,
                  row->interval, row->n, row->mean, row->low, row->high);
  }
}
