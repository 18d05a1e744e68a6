/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Line on hand: what may still be tied of the spools that the knots of a plan were tied on. A
 * specimen takes its metres of each of its lines, from the first of their spools that has so
 * much; a spool that was never counted is taken to have enough. */
#include "app/next/next.h"

#include <math.h>

/* Beyond the free length, for the knot, the tag and the bollards. */
static const double beyond_m = 1, free_length_usual_m = 0.5;
/* Sums of metres are off by less, and no spool is measured so. */
static const double hair_m = 1e-9;

enum be_status be_stock_begin(const struct survey *survey, const struct be_tying *asked,
                              struct stock *stock, struct be_err *err)
{
  size_t lines = survey->record.lines_count;
  *stock = (struct stock){.metres_each = asked->metres_each,
                          .left_m = be_arena_alloc(survey->arena, lines * sizeof *stock->left_m),
                          .taken = be_arena_alloc(survey->arena, lines * sizeof *stock->taken)};
  if (!stock->left_m || !stock->taken) return be_no_memory(err);
  for (size_t i = 0; i < lines; i++) {
    const struct be_line *line = &survey->record.lines[i];
    stock->left_m[i] = isnan(line->counted_m) ? INFINITY : fmax(0, line->on_hand_m);
    stock->taken[i] = 0;
  }
  return BE_OK;
}

/* ---- one specimen ---- */

static double metres_of(const struct stock *stock, const struct spot *spot)
{
  if (stock->metres_each > 0) return stock->metres_each;
  double length = spot->cell ? NAN : spot->set->like->length_m;
  for (size_t i = 0; spot->cell && i < spot->cell->n && isnan(length); i++)
    length = spot->cell->events[i]->length_m;
  return beyond_m + (isnan(length) ? free_length_usual_m : length);
}

/* The spool of this side that has so many metres; -1 if there is none, -2 without such a side. */
enum { NO_SPOOL = -1, NO_SIDE = -2 };

static int find_spool(const struct stock *stock, const struct spot *spot, int side, double metres)
{
  if (spot->set)
    return side                                                ? NO_SIDE
           : stock->left_m[spot->set->line] >= metres - hair_m ? spot->set->line
                                                               : NO_SPOOL;
  int found = NO_SIDE;
  for (size_t i = 0; i < spot->cell->kinds_count && found < 0; i++) {
    const struct be_pull *like = spot->cell->kinds[i].like;
    int line = side ? like->line_b : like->line_a;
    if (line >= 0) found = stock->left_m[line] >= metres - hair_m ? line : NO_SPOOL;
  }
  return found;
}

static void take(struct stock *stock, int line, double metres)
{
  if (line < 0) return;
  stock->left_m[line] -= metres;
  stock->taken[line]++;
}

/* As the book takes it off (book/stock.c): both ends of one spool are one piece. */
bool be_stock_take(struct stock *stock, const struct spot *spot)
{
  double metres = metres_of(stock, spot);
  int a = find_spool(stock, spot, 0, metres), b = find_spool(stock, spot, 1, metres);
  if (a == NO_SPOOL || b == NO_SPOOL) return false;
  take(stock, a, metres);
  if (b != a) take(stock, b, metres);
  return true;
}

bool be_stock_bears(const struct stock *stock, const struct spot *spot)
{
  double metres = metres_of(stock, spot);
  return find_spool(stock, spot, 0, metres) != NO_SPOOL &&
         find_spool(stock, spot, 1, metres) != NO_SPOOL;
}

/* ---- what is said of it ---- */

static bool bears_on(const struct spot *spot, int line)
{
  if (spot->set) return spot->set->line == line;
  bool any = false;
  for (size_t i = 0; i < spot->cell->kinds_count; i++) {
    const struct be_pull *like = spot->cell->kinds[i].like;
    any |= like->line_a == line || like->line_b == line;
  }
  return any;
}

/* The metres of the cheapest specimen that takes from a spool; infinity if none does. */
static double least_metres(const struct plan *plan, int line)
{
  double least = INFINITY;
  for (size_t i = 0; i < plan->state.cells; i++)
    if (bears_on(&plan->spots[i], line))
      least = fmin(least, metres_of(&plan->stock, &plan->spots[i]));
  return least;
}

static const char *spool_words(const struct survey *survey, int line)
{
  const struct be_line *row = &survey->record.lines[line];
  if (!row->spool) return row->name;
  const char *words = be_arena_format(survey->arena, "%s (spool %s)", row->name, row->spool);
  return words ? words : "";
}

static void table_row(struct be_table *table, const struct survey *survey, const struct plan *plan,
                      int line)
{
  const struct be_line *row = &survey->record.lines[line];
  double had = fmax(0, row->on_hand_m), left = plan->stock.left_m[line];
  be_table_text(table, "%s", row->name);
  be_table_text(table, "%s", row->spool ? row->spool : "not recorded");
  be_table_number(table, had, 1);
  be_table_number(table, (double)plan->stock.taken[line], 0);
  be_table_number(table, had - left, 1);
  be_table_number(table, left, 1);
}

void be_say_stock(struct be_doc *doc, const struct survey *survey, const struct plan *plan)
{
  static const struct be_column columns[] = {
      {"line", "line", BE_COLUMN_TEXT, false},
      {"spool", "spool", BE_COLUMN_TEXT, false},
      {"on_hand_m", "on hand (m)", BE_COLUMN_NUMBER, false},
      {"specimens", "specimens of it", BE_COLUMN_NUMBER, false},
      {"taken_m", "these take (m)", BE_COLUMN_NUMBER, false},
      {"left_m", "left (m)", BE_COLUMN_NUMBER, false},
  };
  struct be_table *table = NULL;
  for (size_t i = 0; i < survey->record.lines_count; i++) {
    int line = (int)i;
    double least = least_metres(plan, line);
    if (isinf(plan->stock.left_m[i]) || isinf(least)) continue;
    if (!table)
      table =
          be_doc_table(doc, "on_hand", "Line on hand", columns, sizeof columns / sizeof columns[0]);
    table_row(table, survey, plan, line);
  }
  for (size_t i = 0; table && i < survey->record.lines_count; i++) {
    int line = (int)i, taken = plan->stock.taken[i];
    double least = least_metres(plan, line);
    if (isinf(plan->stock.left_m[i]) || isinf(least) || plan->stock.left_m[i] >= least - hair_m)
      continue;
    if (taken) be_doc_note(doc, "%s is used up after %d more.", spool_words(survey, line), taken);
    else be_doc_note(doc, "%s is used up.", spool_words(survey, line));
  }
  if (!table) return;
  const char *uncounted = "Spools that were never counted are taken to have enough.";
  if (plan->stock.metres_each > 0)
    be_doc_note(doc, "A specimen takes %.10g m of each of its lines. %s", plan->stock.metres_each,
                uncounted);
  else
    be_doc_note(doc,
                "A specimen takes its free length (%g m where that was not recorded) and %g m of "
                "each of its lines. %s",
                free_length_usual_m, beyond_m, uncounted);
}
