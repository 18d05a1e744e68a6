/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a tie is consistent with once its ends are joined, and what it is in space. */
#include "app/anatomy/anatomy.h"
#include "app/survey/survey.h"

#include <math.h>

/* A memory that failed is known of the arena. */
static const char *power(struct be_arena *arena, const char *before, int64_t coefficient,
                         size_t exponent)
{
  uint64_t size = coefficient < 0 ? -(uint64_t)coefficient : (uint64_t)coefficient;
  const char *sign = coefficient < 0 ? (*before ? " - " : "-") : *before ? " + " : "";
  const char *t = !exponent ? "" : exponent == 1 ? "t" : be_arena_format(arena, "t^%zu", exponent);
  if (!coefficient || !t) return before;
  const char *words = size == 1 && exponent
                          ? be_arena_format(arena, "%s%s%s", before, sign, t)
                          : be_arena_format(arena, "%s%s%llu%s%s", before, sign,
                                            (unsigned long long)size, exponent ? " " : "", t);
  return words ? words : before;
}

static const char *polynomial_words(struct be_arena *arena, const struct be_polynomial *of)
{
  const char *words = "";
  for (size_t i = 0; i < of->count; i++) words = power(arena, words, of->coefficient[i], i);
  return *words ? words : "0";
}

const char *be_part_words(const struct anatomy *anatomy, const struct part *part)
{
  const struct be_named *first = &part->names[0];
  if (!part->names_count) return "no knot of the table";
  const char *called = first->words
                           ? be_arena_format(anatomy->arena, "%s, %s", first->name, first->words)
                           : first->name;
  const char *words = called;
  for (size_t i = 1; words && i < part->names_count; i++)
    words = be_arena_format(anatomy->arena, "%s; or %s", words, part->names[i].name);
  return words ? words : "?";
}

static const char *linking_words(const struct anatomy *anatomy, const struct closing *closing)
{
  const char *words = "";
  const struct be_diagram *diagram = &closing->diagram;
  for (size_t a = 0; a < diagram->strands; a++)
    for (size_t b = a + 1; words && b < diagram->strands; b++)
      words = be_arena_format(anatomy->arena, "%s%s%d", words, *words ? ", " : "",
                              be_diagram_linking(diagram, a, b));
  return words ? words : "?";
}

/* "A", "A and B": the strand of a closure by the line it begins with. */
static const char *strand_words(const struct anatomy *anatomy, const struct closing *closing,
                                size_t strand)
{
  const char *words = be_arena_format(anatomy->arena, "from %s",
                                      be_strand_words(anatomy, closing->closed.of[strand]));
  return words ? words : "?";
}

static void closing_row(struct be_table *table, const struct anatomy *anatomy,
                        const struct closing *closing, size_t at)
{
  const struct part *part = &closing->part[at];
  bool whole = at == 0, one = closing->diagram.strands == 1;
  be_table_text(table, "%s", be_closures[closing->rule].name);
  if (whole) be_table_text(table, "%s", one ? "the one" : "all");
  else be_table_text(table, "%s", strand_words(anatomy, closing, at - 1));
  if (whole) be_table_number(table, (double)closing->drawing.crossings, 0);
  else be_table_none(table);
  if (whole) be_table_number(table, (double)closing->diagram.crossings, 0);
  else be_table_none(table);
  be_table_text(table, "%s", polynomial_words(anatomy->arena, &part->alexander));
  be_table_number(table, (double)part->determinant, 0);
  be_table_number(table, part->signature, 0);
  if (whole && !one) be_table_text(table, "%s", linking_words(anatomy, closing));
  else be_table_none(table);
  if (whole && !one) be_table_text(table, "%s", closing->integral);
  else be_table_none(table);
  if (whole && !one) be_table_none(table);
  else be_table_text(table, "%s", be_part_words(anatomy, part));
}

/* Joins that pass over or under one another matter only where they do. */
static bool is_repeated(const struct anatomy *anatomy, size_t i)
{
  return anatomy->closing[i].rule == BE_CLOSE_EACH_UNDER && anatomy->closing[i].closed.outside == 0;
}

static void say_rule(struct be_doc *doc, const struct closing *closing)
{
  const struct be_closure_rule *rule = &be_closures[closing->rule];
  size_t led = closing->closed.led;
  if (led == 0) be_doc_note(doc, "Closure \"%s\": %s.", rule->name, rule->words);
  else
    be_doc_note(
        doc,
        "Closure \"%s\": %s. On their way out ends pass what is drawn, %zu time%s, at their "
        "own height: another way out may make another knot.",
        rule->name, rule->words, led, led == 1 ? "" : "s");
}

void be_say_closings(struct be_doc *doc, const struct anatomy *anatomy)
{
  static const struct be_column columns[] = {
      {"closure", "closure", BE_COLUMN_TEXT, false},
      {"strand", "strand", BE_COLUMN_TEXT, false},
      {"drawn", "crossings drawn", BE_COLUMN_NUMBER, false},
      {"left", "left by moves", BE_COLUMN_NUMBER, false},
      {"alexander", "Alexander polynomial", BE_COLUMN_TEXT, false},
      {"determinant", "determinant", BE_COLUMN_NUMBER, false},
      {"signature", "signature", BE_COLUMN_NUMBER, false},
      {"linking", "linking", BE_COLUMN_TEXT, false},
      {"linking_integral", "by Gauss's integral", BE_COLUMN_TEXT, false},
      {"consistent_with", "consistent with", BE_COLUMN_TEXT, false},
  };
  if (anatomy->left_out) be_doc_note(doc, "A closure is left out, %s.", anatomy->left_out);
  if (!anatomy->closings) return;
  struct be_table *table =
      be_doc_table(doc, "closures", "Closed, and what that is consistent with", columns, 10);
  be_table_fold(table);
  for (size_t i = 0; i < anatomy->closings; i++) {
    const struct closing *closing = &anatomy->closing[i];
    size_t strands = closing->diagram.strands;
    if (is_repeated(anatomy, i)) continue;
    closing_row(table, anatomy, closing, 0);
    for (size_t at = 0; strands > 1 && at < strands; at++)
      if (!anatomy->tie.hardware[closing->closed.of[at]])
        closing_row(table, anatomy, closing, 1 + at);
  }
  for (size_t i = 0; i < anatomy->closings; i++)
    if (!is_repeated(anatomy, i)) say_rule(doc, &anatomy->closing[i]);
  be_doc_note(doc, "An open line is no knot to topology until its ends are joined, and what it is "
                   "then depends on how. Names are those of the table of primes to ten crossings, "
                   "and of sums of them, that have this Alexander polynomial and signature: it is "
                   "consistent with them, never shown to be one of them.");
}

void be_say_space(struct be_doc *doc, const struct anatomy *anatomy)
{
  static const struct be_column columns[] = {
      {"line", "line", BE_COLUMN_TEXT, false},
      {"writhe", "writhe", BE_COLUMN_NUMBER, false},
      {"twist", "twist", BE_COLUMN_NUMBER, false},
      {"sum", "sum", BE_COLUMN_NUMBER, false},
      {"average_crossings", "average crossings", BE_COLUMN_NUMBER, false},
  };
  struct be_table *table = be_doc_table(doc, "space", "In space", columns, 5);
  be_table_fold(table);
  for (size_t i = 0; i < anatomy->tie.lines.count; i++) {
    const struct line_in_space *space = &anatomy->space[i];
    if (anatomy->tie.hardware[i]) continue;
    be_table_text(table, "%s", be_strand_words(anatomy, i));
    be_table_number(table, space->writhe, 3);
    be_table_number(table, space->twist, 3);
    be_table_number(table, space->sum, 3);
    be_table_number(table, space->average_crossings, 2);
  }
  be_doc_note(doc,
              "Writhe and average crossings are means over all views. Twist is that of a ribbon "
              "that faces the eye in this view; of a closed line it adds up with writhe to a "
              "whole number (Calugareanu).");
}
