/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Every spool of the book, and which of them can be divided by. */
#include "app/lines/lines.h"

#include <math.h>

enum { NAMED_MAX = 6 };

/* "a, b and 3 more", of those in this state. */
static const char *names_of(const struct survey *survey, const struct line_state *states,
                            enum divisible divisible, size_t count)
{
  const char *words = "";
  size_t named = 0;
  for (size_t i = 0; i < survey->record.lines_count && named < NAMED_MAX && words; i++) {
    if (states[i].divisible != divisible) continue;
    words = be_arena_format(survey->arena, "%s%s%s", words, named ? ", " : "",
                            be_line_words(survey, i));
    named++;
  }
  if (words && count > named)
    words = be_arena_format(survey->arena, "%s and %zu more", words, count - named);
  return words ? words : "?";
}

static void say_answer(struct be_doc *doc, const struct survey *survey,
                       const struct line_state *states)
{
  size_t all = survey->record.lines_count, counts[DIVISIBLE_NOT + 1] = {0};
  for (size_t i = 0; i < all; i++) counts[states[i].divisible]++;
  if (all == 0) {
    be_doc_sentence(doc, "The book knows no line yet: a line sheet tells what is on each spool, "
                         "and a pull sheet makes the lines that it names.");
    return;
  }
  size_t few = counts[DIVISIBLE_BY_FEW], none = counts[DIVISIBLE_NOT];
  if (counts[DIVISIBLE] == 0)
    be_doc_sentence(doc,
                    "No spool can be divided by yet, of %zu: it takes %d plain pulls or more in "
                    "every soak in which a knot was tied on it.",
                    all, PLAIN_ENOUGH);
  else
    be_doc_sentence(doc,
                    "%zu of %zu spool%s can be divided by: %s %d plain pulls or more in every soak "
                    "in which a knot was tied on %s.",
                    counts[DIVISIBLE], all, all == 1 ? "" : "s",
                    counts[DIVISIBLE] == 1 ? "it has" : "they have", PLAIN_ENOUGH,
                    counts[DIVISIBLE] == 1 ? "it" : "them");
  if (few)
    be_doc_sentence(doc, "Too few plain pulls, in some soak: %s.",
                    names_of(survey, states, DIVISIBLE_BY_FEW, few));
  if (none)
    be_doc_sentence(doc, "No plain pull that let go at all: %s.",
                    names_of(survey, states, DIVISIBLE_NOT, none));
}

static void put_text(struct be_table *table, const char *text)
{
  be_table_text(table, "%s", text ? text : "not recorded");
}

static void say_spools(struct be_doc *doc, const struct survey *survey,
                       const struct line_state *states)
{
  static const struct be_column columns[] = {
      {"line", "line", BE_COLUMN_TEXT, false},
      {"spool", "spool", BE_COLUMN_TEXT, false},
      {"material", "material", BE_COLUMN_TEXT, false},
      {"label", "label", BE_COLUMN_TEXT, false},
      {"size", "size", BE_COLUMN_TEXT, false},
      {"diameter_mm", "diameter (mm)", BE_COLUMN_NUMBER, false},
      {"lot", "lot", BE_COLUMN_TEXT, false},
      {"divisible", "can be divided by", BE_COLUMN_TEXT, false},
  };
  static const char *const words[] = {
      [DIVISIBLE] = "yes", [DIVISIBLE_BY_FEW] = "too few plain pulls", [DIVISIBLE_NOT] = "no"};
  struct be_table *table = be_doc_table(doc, "lines", "Spools", columns, 8);
  for (size_t i = 0; i < survey->record.lines_count; i++) {
    const struct be_line *line = &survey->record.lines[i];
    be_table_text(table, "%s", line->name);
    be_table_link(table, "/line?at=%zu", i);
    put_text(table, line->spool);
    put_text(table, line->material);
    put_text(table, line->label);
    put_text(table, line->size);
    be_table_number(table, line->diameter_m * 1000, 3);
    put_text(table, line->lot);
    be_table_text(table, "%s", words[states[i].divisible]);
  }
}

static void say_stock(struct be_doc *doc, const struct survey *survey,
                      const struct line_state *states)
{
  static const struct be_column columns[] = {
      {"line", "line", BE_COLUMN_TEXT, false},
      {"on_hand_m", "on hand (m)", BE_COLUMN_NUMBER, false},
      {"counted_m", "last count (m)", BE_COLUMN_NUMBER, false},
      {"counted", "counted", BE_COLUMN_TEXT, false},
      {"used_since", "specimens since", BE_COLUMN_NUMBER, false},
      {"needed_specimens", "specimens still to pull", BE_COLUMN_NUMBER, false},
      {"needed_m", "trials still need (m)", BE_COLUMN_NUMBER, false},
      {"pulls", "pulls that use it", BE_COLUMN_NUMBER, false},
  };
  struct be_table *table = be_doc_table(doc, "stock", "Line on hand", columns, 8);
  for (size_t i = 0; i < survey->record.lines_count; i++) {
    const struct be_line *line = &survey->record.lines[i];
    bool never = isnan(line->counted_m);
    be_table_text(table, "%s", be_line_words(survey, i));
    be_table_link(table, "/line?at=%zu", i);
    be_table_number(table, line->on_hand_m, 1);
    be_table_number(table, line->counted_m, 1);
    be_table_text(table, "%s", never ? "never" : line->counted ? line->counted : "not recorded");
    if (never) be_table_none(table);
    else be_table_number(table, (double)line->used_since, 0);
    be_table_number(table, (double)states[i].needed_specimens, 0);
    be_table_number(table, states[i].needed_m, 1);
    be_table_number(table, (double)states[i].pulls, 0);
  }
}

static void say_ways(struct be_doc *doc)
{
  static const struct be_column columns[] = {{"page", "more", BE_COLUMN_TEXT, false}};
  struct be_table *table = be_doc_table(doc, "ways", "More", columns, 1);
  be_table_text(table, "What knots held on these lines");
  be_table_link(table, "/strength");
  be_table_text(table, "All pulls of the book");
  be_table_link(table, "/pulls");
  be_table_people_only(table);
}

enum be_status be_lines_doc(const struct survey *survey, struct be_doc **out, struct be_err *err)
{
  const struct line_state *states = be_line_states(survey);
  struct be_doc *doc = states ? be_doc_create("lines", "Lines") : NULL;
  if (!doc) return be_no_memory(err);
  say_answer(doc, survey, states);
  if (survey->record.lines_count) {
    be_say_line_doubts(doc, survey, states, -1);
    say_spools(doc, survey, states);
    be_say_plain_sets(doc, survey, states, -1);
    say_stock(doc, survey, states);
    say_ways(doc);
  }
  be_doc_fact(doc, "unit", "Unit of force", "%s", survey->how.unit->name);
  be_doc_fact(doc, "level", "Level of intervals", "%g", survey->how.level);
  return be_answer_done(survey, doc, BE_OK, out, err);
}
