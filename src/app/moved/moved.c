/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/moved/moved.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* A larger book is compared with itself only when that is asked for: it takes as long again. */
enum { UNASKED_MAX = 20000 };

/* ---- since when ---- */

static void look_at_cells(const struct survey *survey, const struct combination *where,
                          struct be_moment *moment)
{
  for (size_t i = where->first_cell; i < where->first_cell + where->cells_count; i++)
    for (size_t k = 0; k < survey->cells[i].count && survey->cells[i].knot_b < 0; k++) {
      const struct be_pull *pull = survey->cells[i].pulls[k];
      bool bears = pull->kind != BE_KIND_VOID || pull->corrections > 0;
      if (!bears || pull->entering <= moment->id) continue;
      *moment = (struct be_moment){.id = pull->entering, .file = pull->file};
    }
}

/* The last file that brought pulls of knots, or corrected them, where anything is ranked. */
static struct be_moment last_entering(const struct survey *survey, const struct place *places,
                                      size_t count)
{
  struct be_moment moment = {0};
  for (size_t i = 0; i < count; i++)
    if (!places[i].group && be_place_ranked(&places[i]))
      look_at_cells(survey, places[i].block.where[0], &moment);
  return moment;
}

static enum be_status asked_entering(const struct survey *survey, struct be_moment *moment,
                                     struct be_err *err)
{
  struct be_book *book = NULL;
  enum be_status status = be_book_open(survey->book_path, false, &book, err);
  if (status == BE_OK) status = be_book_moment(book, survey->how.since, survey->arena, moment, err);
  be_book_close(book);
  return status;
}

/* "Since session-9.csv and what came after it (22 pulls, 1 correction)" */
static const char *name_since(const struct moved *moved, const struct be_moment *moment)
{
  const struct survey *now = moved->step[STEP_NOW];
  const char *since = now->how.since ? now->how.since : moment->file;
  bool later = false;
  for (size_t i = 0; i < now->record.pulls_count; i++)
    later |= now->record.pulls[i].entering > moment->id;
  bool of_file = strcmp(since, moment->file) == 0;
  const char *pulls =
      be_arena_format(now->arena, "%zu pull%s", moved->pulls, moved->pulls == 1 ? "" : "s");
  const char *corrections =
      moved->corrections ? be_arena_format(now->arena, ", %zu correction%s", moved->corrections,
                                           moved->corrections == 1 ? "" : "s")
                         : "";
  if (!pulls || !corrections) return NULL;
  return be_arena_format(now->arena, "Since %s%s (%s%s)", since,
                         of_file && later ? " and what came after it" : "", pulls, corrections);
}

/* ---- the tables ---- */

static bool same_rank(const struct moved_place *place, const struct move *move)
{
  if (move->then == NOT_RANKED || move->now == NOT_RANKED) return false;
  const struct rank *was = &place->then->rank[move->then], *is = &place->now->rank[move->now];
  return was->rank == is->rank && was->low == is->low && was->high == is->high;
}

static const struct rank *rank_of(const struct ranking *ranking, int index)
{
  return index == NOT_RANKED ? NULL : &ranking->rank[index];
}

static void put_rank(struct be_table *table, const struct rank *rank)
{
  if (rank) be_table_number(table, (double)rank->rank, 0);
  else be_table_none(table);
}

static void put_range(struct be_table *table, const struct rank *rank)
{
  if (!rank) be_table_none(table);
  else if (rank->low == rank->high) be_table_text(table, "%zu", rank->low);
  else be_table_text(table, "%zu to %zu", rank->low, rank->high);
}

static void put_figure(struct be_table *table, const struct survey *now, const struct move *move,
                       double figure)
{
  if (isnan(figure)) be_table_none(table);
  else if (move->by_load) be_table_number(table, be_shown(now, figure), now->decimals + 1);
  else be_table_number(table, 100 * figure, 1);
}

/* What people read of a then and a now: one of them where both look the same, "-" for none. */
static void put_change(struct be_table *table, const char *then, const char *now, const char *unit)
{
  if (strcmp(then, now) == 0) be_table_text(table, "%s%s", now, unit);
  else be_table_text(table, "%s \xE2\x86\x92 %s%s", then, now, unit);
}

static void write_rank(char text[32], const struct rank *rank)
{
  if (rank) snprintf(text, 32, "%zu", rank->rank);
  else snprintf(text, 32, "-");
}

static void write_range(char text[32], const struct rank *rank)
{
  if (!rank) snprintf(text, 32, "-");
  else if (rank->low == rank->high) snprintf(text, 32, "%zu", rank->low);
  else snprintf(text, 32, "%zu to %zu", rank->low, rank->high);
}

static void write_figure(char text[32], const struct survey *now, const struct move *move,
                         double figure)
{
  if (isnan(figure)) snprintf(text, 32, "-");
  else if (move->by_load) snprintf(text, 32, "%.*f", now->decimals + 1, be_shown(now, figure));
  else snprintf(text, 32, "%.1f", 100 * figure);
}

static void put_words(struct be_table *table, const struct survey *now,
                      const struct moved_place *place, const struct move *move)
{
  const struct rank *was = rank_of(place->then, move->then), *is = rank_of(place->now, move->now);
  char then_text[32], now_text[32], unit[24];
  write_rank(then_text, was);
  write_rank(now_text, is);
  put_change(table, then_text, now_text, "");
  write_range(then_text, was);
  write_range(now_text, is);
  put_change(table, then_text, now_text, "");
  snprintf(unit, sizeof unit, " %s", move->by_load ? now->how.unit->name : "%");
  write_figure(then_text, now, move, move->was);
  write_figure(now_text, now, move, move->is);
  put_change(table, then_text, now_text, unit);
}

static enum be_status put_move(struct be_table *table, const struct moved *moved,
                               const struct moved_place *place, const struct move *move,
                               struct be_err *err)
{
#define X(code, words) words,
  static const char *const words[] = {MOVED_LIST(X)};
#undef X
  const struct survey *now = moved->step[STEP_NOW];
  const struct cell *cell = place->group ? NULL : be_moved_cell(now, place->name, move->knot);
  const char *why = be_moved_why(moved, place, move);
  if (!why) return be_no_memory(err);
  be_table_text(table, "%s", place->name);
  be_table_text(table, "%s", be_knot_name(now, move->knot));
  if (cell) be_table_link(table, "/cell?at=%zu", (size_t)(cell - now->cells));
  put_words(table, now, place, move);
  put_rank(table, rank_of(place->then, move->then));
  put_rank(table, rank_of(place->now, move->now));
  put_range(table, rank_of(place->then, move->then));
  put_range(table, rank_of(place->now, move->now));
  put_figure(table, now, move, move->was);
  put_figure(table, now, move, move->is);
  put_figure(table, now, move, move->is - move->was);
  be_table_text(table, "%s", move->by_load ? now->how.unit->name : "pts");
  for (int i = 0; i < PARTS; i++) put_figure(table, now, move, move->part[i]);
  be_table_number(table, (double)move->n_was, 0);
  be_table_number(table, (double)move->n_is, 0);
  be_table_text(table, "%s", words[move->how]);
  if (same_rank(place, move)) be_table_text(table, "%s", why);
  else be_table_text(table, "%s: %s", words[move->how], why);
  return BE_OK;
}

static bool any_load(const struct moved *moved, bool of_rank)
{
  for (size_t i = 0; i < moved->count; i++)
    for (size_t k = 0; k < moved->places[i].count; k++) {
      const struct move *move = &moved->places[i].moves[k];
      if (move->by_load && same_rank(&moved->places[i], move) != of_rank) return true;
    }
  return false;
}

static struct be_table *make_table(struct be_doc *doc, const struct moved *moved, bool of_rank,
                                   bool for_people)
{
  const struct survey *now = moved->step[STEP_NOW];
  const char *change = any_load(moved, of_rank)
                           ? be_arena_format(now->arena, "change (pts or %s)", now->how.unit->name)
                           : "change (pts)";
  struct be_column columns[] = {
      {"place", "where", BE_COLUMN_TEXT, false},
      {"knot", "knot", BE_COLUMN_TEXT, false},
      {"rank_words", "rank", BE_COLUMN_TEXT, false},
      {"rank_range_words", "rank range", BE_COLUMN_TEXT, false},
      {"strength_words", "strength", BE_COLUMN_TEXT, false},
      {"rank_then", "", BE_COLUMN_NUMBER, true},
      {"rank", "", BE_COLUMN_NUMBER, true},
      {"rank_range_then", "", BE_COLUMN_TEXT, true},
      {"rank_range", "", BE_COLUMN_TEXT, true},
      {"strength_then", "", BE_COLUMN_NUMBER, true},
      {"strength", "", BE_COLUMN_NUMBER, true},
      {"change", change ? change : "change", BE_COLUMN_NUMBER, false},
      {"unit", "", BE_COLUMN_TEXT, true},
      {"by_corrections", "", BE_COLUMN_NUMBER, true},
      {"by_pulls", "", BE_COLUMN_NUMBER, true},
      {"by_plain_lines", "", BE_COLUMN_NUMBER, true},
      {"by_combinations", "", BE_COLUMN_NUMBER, true},
      {"n_then", "", BE_COLUMN_NUMBER, true},
      {"n", "n", BE_COLUMN_NUMBER, false},
      {"moved", "", BE_COLUMN_TEXT, true},
      {"why", of_rank ? "what it means, and why" : "why", BE_COLUMN_TEXT, false},
  };
  const size_t count = sizeof columns / sizeof columns[0];
  for (size_t i = 0; i < count && !for_people; i++) columns[i].program_only = true;
  struct be_table *table =
      be_doc_table(doc, of_rank ? "moved" : "moved_figures",
                   of_rank ? "Ranks and ranges that moved"
                           : "Figures alone: within their ranges, nothing real has changed",
                   columns, count);
  be_table_unlike_units(table);
  return table;
}

static size_t count_moves(const struct moved *moved, bool of_rank)
{
  size_t count = 0;
  for (size_t i = 0; i < moved->count; i++)
    for (size_t k = 0; k < moved->places[i].count; k++)
      count += same_rank(&moved->places[i], &moved->places[i].moves[k]) != of_rank;
  return count;
}

/* One table of the ranks and ranges that moved, one of the others' figures; but in a report these
 * are for programs alone when they are many. */
static enum be_status say_moves(struct be_doc *doc, const struct moved *moved, bool of_rank,
                                struct be_err *err)
{
  enum { FIGURES_SHOWN = 8 };
  const struct survey *now = moved->step[STEP_NOW];
  size_t count = count_moves(moved, of_rank);
  bool for_people = of_rank || now->in_report || count <= FIGURES_SHOWN;
  if (count == 0) return BE_OK;
  struct be_table *table = make_table(doc, moved, of_rank, for_people);
  enum be_status status = BE_OK;
  for (size_t i = 0; i < moved->count; i++)
    for (size_t k = 0; k < moved->places[i].count && status == BE_OK; k++) {
      const struct moved_place *place = &moved->places[i];
      if (same_rank(place, &place->moves[k]) != of_rank)
        status = put_move(table, moved, place, &place->moves[k], err);
    }
  if (now->in_report) be_table_fold_long(table);
  if (!for_people)
    be_doc_note(
        doc,
        "%zu figures moved within rank ranges that did not: nothing real has changed there. "
        "--json lists them.",
        count);
  return status;
}

static enum be_status say_tables(struct be_doc *doc, const struct moved *moved, struct be_err *err)
{
  enum be_status status = say_moves(doc, moved, true, err);
  if (status == BE_OK) status = say_moves(doc, moved, false, err);
  be_doc_note(doc,
              "A change in points is split by swapping one thing at a time: the knot's own "
              "corrections, its own new pulls, the plain lines, the combinations ranked over. In "
              "earnest: it and the first or a neighbour are told apart now and were not, or the "
              "other way round.%s",
              moved->step[STEP_NOW]->in_report ? "" : " --since WHEN asks of another day or file.");
  return status;
}

/* ---- the section ---- */

static enum be_status compare(struct be_doc *doc, const struct survey *now, struct place *places,
                              size_t count, const struct be_moment *moment, struct be_err *err)
{
  struct survey then;
  struct moved moved;
  enum be_status status =
      be_survey_until(now->book_path, moment->id, &now->how, now->arena, &then, err);
  if (status != BE_OK) return status;
  then.how.resamples = 0;
  if (then.record.pulls_count == 0) {
    if (now->how.since)
      be_doc_sentence(doc, "Before %s the book held no pull: all of this is new since.",
                      now->how.since);
    return BE_OK;
  }
  status = be_moved_compare(&then, now, places, count, &moved, err);
  if (status != BE_OK) return status;
  const char *since = name_since(&moved, moment);
  const char *headline = since ? be_moved_headline(&moved, since) : NULL;
  if (!headline) return be_no_memory(err);
  bool quiet = count_moves(&moved, true) + count_moves(&moved, false) == 0;
  if (!quiet && !now->how.since) be_doc_heading(doc, "What moved");
  be_doc_sentence(doc, "%s", headline);
  return quiet ? BE_OK : say_tables(doc, &moved, err);
}

/* All but the words is in an arena of its own: what stood then is not needed any longer. */
enum be_status be_say_moved(struct be_doc *doc, const struct survey *survey, struct place *places,
                            size_t count, struct be_err *err)
{
  struct be_moment moment;
  if (!survey->book_path) return BE_OK; /* a record in memory has no state of before */
  if (!survey->how.since && survey->record.pulls_count > UNASKED_MAX) {
    be_doc_note(doc,
                "What moved since an earlier day or file is told when it is asked for, with "
                "--since: the book holds more than %d pulls.",
                UNASKED_MAX);
    return BE_OK;
  }
  struct survey now = *survey;
  now.how.resamples = 0;
  now.arena = be_arena_create();
  if (!now.arena) return be_no_memory(err);
  enum be_status status = BE_OK;
  /* In the arena of the survey, for they are kept with the places. */
  for (size_t i = 0; i < count && status == BE_OK; i++)
    if (be_place_ranked(&places[i])) status = be_place_rank(survey, &places[i], err);
  if (status == BE_OK && now.how.since) status = asked_entering(&now, &moment, err);
  else moment = last_entering(&now, places, count);
  if (status == BE_OK && !moment.file && now.how.since)
    be_doc_sentence(doc, "Nothing was entered since %s.", now.how.since);
  if (status == BE_OK && moment.file) status = compare(doc, &now, places, count, &moment, err);
  if (status == BE_OK && be_arena_ran_out(now.arena)) status = be_no_memory(err);
  be_arena_free(now.arena);
  return status;
}
