/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/moved/moved.h"
#include "app/places.h"

#include <math.h>
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
static enum be_status last_entering(const struct survey *survey, struct be_moment *moment,
                                    struct be_err *err)
{
  struct place *places;
  size_t count;
  *moment = (struct be_moment){0};
  enum be_status status = be_places(survey, &places, &count, err);
  for (size_t i = 0; i < count && status == BE_OK; i++)
    if (!places[i].group && be_place_ranked(&places[i]))
      look_at_cells(survey, places[i].block.where[0], moment);
  return status;
}

static enum be_status find_moment(const struct survey *survey, struct be_moment *moment,
                                  struct be_err *err)
{
  struct be_book *book = NULL;
  if (!survey->how.since) return last_entering(survey, moment, err);
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

static void put_rank(struct be_table *table, const struct ranking *ranking, int index)
{
  if (index == NOT_RANKED) be_table_none(table);
  else be_table_number(table, (double)ranking->rank[index].rank, 0);
}

static void put_range(struct be_table *table, const struct ranking *ranking, int index)
{
  const struct rank *rank = index == NOT_RANKED ? NULL : &ranking->rank[index];
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
  put_rank(table, place->then, move->then);
  put_rank(table, place->now, move->now);
  put_range(table, place->then, move->then);
  put_range(table, place->now, move->now);
  put_figure(table, now, move, move->was);
  put_figure(table, now, move, move->is);
  put_figure(table, now, move, move->is - move->was);
  be_table_text(table, "%s", move->by_load ? now->how.unit->name : "%, pts");
  for (int i = 0; i < PARTS; i++) put_figure(table, now, move, move->part[i]);
  be_table_number(table, (double)move->n_was, 0);
  be_table_number(table, (double)move->n_is, 0);
  be_table_text(table, "%s", words[move->how]);
  be_table_text(table, "%s", why);
  return BE_OK;
}

static struct be_table *make_table(struct be_doc *doc, const char *name, const char *title,
                                   bool for_people)
{
  struct be_column columns[] = {
      {"place", "where", BE_COLUMN_TEXT, false},
      {"knot", "knot", BE_COLUMN_TEXT, false},
      {"rank_then", "rank then", BE_COLUMN_NUMBER, false},
      {"rank", "now", BE_COLUMN_NUMBER, false},
      {"rank_range_then", "range then", BE_COLUMN_TEXT, false},
      {"rank_range", "now", BE_COLUMN_TEXT, false},
      {"strength_then", "strength then", BE_COLUMN_NUMBER, false},
      {"strength", "now", BE_COLUMN_NUMBER, false},
      {"change", "change", BE_COLUMN_NUMBER, false},
      {"unit", "in", BE_COLUMN_TEXT, false},
      {"by_corrections", "", BE_COLUMN_NUMBER, true},
      {"by_pulls", "", BE_COLUMN_NUMBER, true},
      {"by_plain_lines", "", BE_COLUMN_NUMBER, true},
      {"by_combinations", "", BE_COLUMN_NUMBER, true},
      {"n_then", "n then", BE_COLUMN_NUMBER, false},
      {"n", "now", BE_COLUMN_NUMBER, false},
      {"how", "moved", BE_COLUMN_TEXT, false},
      {"why", "why", BE_COLUMN_TEXT, false},
  };
  const size_t count = sizeof columns / sizeof columns[0];
  for (size_t i = 0; i < count && !for_people; i++) columns[i].program_only = true;
  return be_doc_table(doc, name, title, columns, count);
}

static size_t count_moves(const struct moved *moved, bool of_rank)
{
  size_t count = 0;
  for (size_t i = 0; i < moved->count; i++)
    for (size_t k = 0; k < moved->places[i].count; k++)
      count += same_rank(&moved->places[i], &moved->places[i].moves[k]) != of_rank;
  return count;
}

/* One table of the ranks and ranges that moved, one of the others' figures; these are for
 * programs alone when they are many. */
static enum be_status say_moves(struct be_doc *doc, const struct moved *moved, bool of_rank,
                                struct be_err *err)
{
  enum { FIGURES_SHOWN = 8 };
  size_t count = count_moves(moved, of_rank);
  bool for_people = of_rank || count <= FIGURES_SHOWN;
  if (count == 0) return BE_OK;
  struct be_table *table =
      make_table(doc, of_rank ? "moved" : "moved_figures",
                 of_rank ? "Ranks and ranges that moved" : "Figures alone", for_people);
  enum be_status status = BE_OK;
  for (size_t i = 0; i < moved->count; i++)
    for (size_t k = 0; k < moved->places[i].count && status == BE_OK; k++) {
      const struct moved_place *place = &moved->places[i];
      if (same_rank(place, &place->moves[k]) != of_rank)
        status = put_move(table, moved, place, &place->moves[k], err);
    }
  if (!for_people)
    be_doc_note(doc,
                "%zu other figures moved within their ranges, which did not: --json lists "
                "them.",
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
              "other way round. --since WHEN, or ?since=WHEN here, asks of another day or file.");
  return status;
}

/* ---- the section ---- */

static enum be_status compare(struct be_doc *doc, const struct survey *now,
                              const struct be_moment *moment, struct be_err *err)
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
  status = be_moved_compare(&then, now, &moved, err);
  if (status != BE_OK) return status;
  const char *since = name_since(&moved, moment);
  const char *headline = since ? be_moved_headline(&moved, since) : NULL;
  if (!headline) return be_no_memory(err);
  bool quiet = count_moves(&moved, true) + count_moves(&moved, false) == 0;
  if (!quiet) be_doc_heading(doc, "What moved");
  be_doc_sentence(doc, "%s", headline);
  return quiet ? BE_OK : say_tables(doc, &moved, err);
}

/* All but the words is in an arena of its own: what stood then is not needed any longer. */
enum be_status be_say_moved(struct be_doc *doc, const struct survey *survey, struct be_err *err)
{
  struct be_moment moment;
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
  enum be_status status = find_moment(&now, &moment, err);
  if (status == BE_OK && !moment.file && now.how.since)
    be_doc_sentence(doc, "Nothing was entered since %s.", now.how.since);
  if (status == BE_OK && moment.file) status = compare(doc, &now, &moment, err);
  if (status == BE_OK && be_arena_ran_out(now.arena)) status = be_no_memory(err);
  be_arena_free(now.arena);
  return status;
}
