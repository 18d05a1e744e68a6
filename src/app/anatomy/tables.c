/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The tables of what is counted on a tie. Lengths are in diameters of its first line. */
#include "app/anatomy/anatomy.h"
#include "app/survey/survey.h"

#include <math.h>

const char *be_strand_words(const struct anatomy *anatomy, size_t line)
{
  const struct be_tie *tie = &anatomy->tie;
  const char *words = be_arena_format(anatomy->arena, "%s%c",
                                      tie->hardware[line] ? "hardware " : "", tie->letter[line]);
  return words ? words : "?";
}

static const char *ends_words(const struct be_tie *tie, size_t line)
{
  if (tie->hardware[line]) return "holds the knot";
  if (tie->lines.line[line].closed) return "closed";
  if (tie->loaded[line][0] && tie->loaded[line][1]) return "both ends pulled";
  if (tie->loaded[line][0]) return "first end pulled";
  return tie->loaded[line][1] ? "last end pulled" : "not pulled";
}

void be_say_lines(struct be_doc *doc, const struct anatomy *anatomy)
{
  static const struct be_column columns[] = {
      {"line", "line", BE_COLUMN_TEXT, false},
      {"ends", "ends", BE_COLUMN_TEXT, false},
      {"diameter", "diameter (d)", BE_COLUMN_NUMBER, false},
      {"length", "length drawn (d)", BE_COLUMN_NUMBER, false},
      {"in_knot", "in the knot (d)", BE_COLUMN_NUMBER, false},
      {"turned_degrees", "turned there (degrees)", BE_COLUMN_NUMBER, false},
      {"own_crossings", "crossings with itself", BE_COLUMN_NUMBER, false},
      {"own_crossings_fewest", "fewest view", BE_COLUMN_NUMBER, false},
  };
  const struct be_lines *lines = &anatomy->tie.lines;
  struct be_table *table = be_doc_table(doc, "lines", "The lines", columns, 8);
  for (size_t i = 0; i < lines->count; i++) {
    const struct be_load_path *path = &anatomy->load.line[i];
    bool hardware = anatomy->tie.hardware[i];
    be_table_text(table, "%s", be_strand_words(anatomy, i));
    be_table_text(table, "%s", ends_words(&anatomy->tie, i));
    be_table_number(table, lines->diameter[i], 2);
    be_table_number(table, anatomy->space[i].length, 1);
    be_table_number(table, path->touches && !hardware ? path->to - path->from : NAN, 1);
    be_table_number(table, path->touches && !hardware ? path->turned_deg : NAN, 0);
    be_table_number(table, (double)anatomy->seen.counts.own[i], 0);
    be_table_number(table, (double)anatomy->fewest.counts.own[i], 0);
  }
}

/* ---- counts in two views ---- */

static void count_row(struct be_table *table, const struct anatomy *anatomy,
                      const struct seen *seen, size_t a, size_t b)
{
  size_t over[2] = {0};
  for (size_t i = 0; i < seen->count; i++) {
    const struct be_crossing *at = &seen->crossings[i];
    over[0] += at->line[BE_OVER] == a && at->line[BE_UNDER] == b;
    over[1] += a != b && at->line[BE_OVER] == b && at->line[BE_UNDER] == a;
  }
  be_table_text(table, "%s", seen->words);
  be_table_text(table, "%s", be_strand_words(anatomy, a));
  be_table_text(table, "%s", a == b ? "itself" : be_strand_words(anatomy, b));
  be_table_number(table, (double)(over[0] + over[1]), 0);
  be_table_number(table, a == b ? NAN : (double)over[0], 0);
  be_table_number(table, a == b ? NAN : (double)over[1], 0);
  be_table_number(table, a == b ? seen->counts.own_sign[a] : seen->counts.between_sign[a][b], 0);
}

void be_say_counts(struct be_doc *doc, const struct anatomy *anatomy)
{
  static const struct be_column columns[] = {
      {"view", "view", BE_COLUMN_TEXT, false},
      {"line", "line", BE_COLUMN_TEXT, false},
      {"other", "with", BE_COLUMN_TEXT, false},
      {"crossings", "crossings", BE_COLUMN_NUMBER, false},
      {"over", "line over", BE_COLUMN_NUMBER, false},
      {"under", "line under", BE_COLUMN_NUMBER, false},
      {"signs", "sum of signs", BE_COLUMN_NUMBER, false},
  };
  const struct seen *views[] = {&anatomy->seen, &anatomy->fewest};
  size_t lines = anatomy->tie.lines.count;
  bool one = anatomy->seen.words == anatomy->fewest.words;
  struct be_table *table = be_doc_table(doc, "counts", "Crossings by view", columns, 7);
  for (size_t v = 0; v < (one ? 1u : 2u); v++)
    for (size_t a = 0; a < lines; a++)
      for (size_t b = a; b < lines; b++) count_row(table, anatomy, views[v], a, b);
  be_doc_note(doc, "A count belongs to a drawing: another view of the same knot has another. Signs "
                   "are +1 where the strand under passes from right to left of the one over, for "
                   "lines that run from their first point to their last.");
}

void be_say_crossings(struct be_doc *doc, const struct anatomy *anatomy)
{
  static const char *const places[] = {
      [BE_IN_KNOT] = "in the knot", [BE_STANDING] = "standing part", [BE_TAG] = "tag"};
  static const struct be_column columns[] = {
      {"number", "crossing", BE_COLUMN_NUMBER, false},
      {"over", "over", BE_COLUMN_TEXT, false},
      {"over_along", "at (d)", BE_COLUMN_NUMBER, false},
      {"under", "under", BE_COLUMN_TEXT, false},
      {"under_along", "at (d)", BE_COLUMN_NUMBER, false},
      {"sign", "sign", BE_COLUMN_TEXT, false},
      {"angle_degrees", "angle (degrees)", BE_COLUMN_NUMBER, false},
      {"over_place", "over lies", BE_COLUMN_TEXT, false},
      {"under_place", "under lies", BE_COLUMN_TEXT, false},
  };
  const struct seen *seen = &anatomy->seen;
  if (!seen->count) return;
  struct be_table *table =
      be_doc_table(doc, "crossings",
                   be_arena_format(anatomy->arena, "Each crossing, %s", seen->words), columns, 9);
  for (size_t i = 0; i < seen->count; i++) {
    const struct be_crossing *at = &seen->crossings[i];
    be_table_number(table, (double)(i + 1), 0);
    for (int strand = 0; strand < 2; strand++) {
      be_table_text(table, "%s", be_strand_words(anatomy, at->line[strand]));
      be_table_number(table, at->along[strand], 1);
    }
    be_table_text(table, "%s", at->sign > 0 ? "+" : "-");
    be_table_number(table, at->angle, 0);
    for (int strand = 0; strand < 2; strand++)
      be_table_text(table, "%s", anatomy->pulled ? places[anatomy->parts[i][strand]] : "no load");
  }
  be_table_fold(table);
}

/* ---- overlap and wraps ---- */

static const char *stretches_words(struct be_arena *arena, const struct be_stretches *of)
{
  enum { SAID_MAX = 6 };
  const char *words = "";
  for (size_t i = 0; i < of->count && i < SAID_MAX && words; i++)
    words = be_arena_format(arena, "%s%s%.1f to %.1f", words, *words ? ", " : "", of->list[i].from,
                            of->list[i].to);
  if (words && of->count > SAID_MAX)
    words = be_arena_format(arena, "%s and %zu more", words, of->count - SAID_MAX);
  return words ? words : "?";
}

void be_say_overlaps(struct be_doc *doc, const struct anatomy *anatomy)
{
  static const struct be_column columns[] = {
      {"line", "line", BE_COLUMN_TEXT, false},
      {"other", "with", BE_COLUMN_TEXT, false},
      {"touching", "touching (d)", BE_COLUMN_NUMBER, false},
      {"on", "lies on it", BE_COLUMN_NUMBER, false},
      {"beneath", "under it", BE_COLUMN_NUMBER, false},
      {"covers", "drawn over it", BE_COLUMN_NUMBER, false},
      {"covered", "drawn under it", BE_COLUMN_NUMBER, false},
      {"where", "touching from, to (d)", BE_COLUMN_TEXT, false},
  };
  size_t lines = anatomy->tie.lines.count;
  struct be_table *table = be_doc_table(
      doc, "overlap", be_arena_format(anatomy->arena, "What lies on what, %s", anatomy->seen.words),
      columns, 8);
  for (size_t a = 0; a < lines; a++)
    for (size_t b = 0; b < lines; b++) {
      const struct be_overlap *of = &anatomy->overlaps[a * lines + b];
      if (anatomy->tie.hardware[a] || !(of->touching.length + of->over.length + of->under.length))
        continue;
      be_table_text(table, "%s", be_strand_words(anatomy, a));
      be_table_text(table, "%s", a == b ? "itself" : be_strand_words(anatomy, b));
      be_table_number(table, of->touching.length, 1);
      be_table_number(table, of->on.length, 1);
      be_table_number(table, of->beneath.length, 1);
      be_table_number(table, of->over.length, 1);
      be_table_number(table, of->under.length, 1);
      be_table_text(table, "%s", stretches_words(anatomy->arena, &of->touching));
    }
  be_doc_note(doc,
              "Touching: centre-lines nearer than the mean diameter and %.0f %% of it, for what is "
              "drawn is not drawn tight; in space, whatever the view. Drawn over or under: the "
              "outlines cover one another in this view.",
              100 * be_touch_tolerance);
}

void be_say_wraps(struct be_doc *doc, const struct anatomy *anatomy)
{
  static const struct be_column columns[] = {
      {"line", "line", BE_COLUMN_TEXT, false},
      {"round", "round", BE_COLUMN_TEXT, false},
      {"turns", "turns", BE_COLUMN_NUMBER, false},
      {"hand", "hand", BE_COLUMN_TEXT, false},
      {"from", "from (d)", BE_COLUMN_NUMBER, false},
      {"to", "to (d)", BE_COLUMN_NUMBER, false},
      {"round_from", "round its part from (d)", BE_COLUMN_NUMBER, false},
      {"round_to", "to (d)", BE_COLUMN_NUMBER, false},
  };
  if (!anatomy->wraps_count) return;
  struct be_table *table = be_doc_table(doc, "wraps", "Turns of wrap", columns, 8);
  for (size_t i = 0; i < anatomy->wraps_count; i++) {
    const struct be_wrap *wrap = &anatomy->wraps[i];
    be_table_text(table, "%s", be_strand_words(anatomy, wrap->line));
    be_table_text(table, "%s",
                  wrap->line == wrap->other ? "itself" : be_strand_words(anatomy, wrap->other));
    be_table_number(table, fabs(wrap->turns), 1);
    be_table_text(table, "%s", wrap->turns > 0 ? "right" : "left");
    be_table_number(table, wrap->from, 1);
    be_table_number(table, wrap->to, 1);
    be_table_number(table, wrap->other_from, 1);
    be_table_number(table, wrap->other_to, 1);
  }
  be_table_fold_long(table);
}

void be_say_bend(struct be_doc *doc, const struct anatomy *anatomy)
{
  static const struct be_column columns[] = {
      {"view", "view", BE_COLUMN_TEXT, false},
      {"crossings", "crossings N", BE_COLUMN_NUMBER, false},
      {"signs", "sum of signs", BE_COLUMN_NUMBER, false},
      {"twist_fluctuation", "twist fluctuation", BE_COLUMN_NUMBER, false},
      {"circulation", "circulation", BE_COLUMN_NUMBER, false},
      {"faces", "faces", BE_COLUMN_NUMBER, false},
  };
  const struct be_bend_counts *bend = &anatomy->bend;
  if (!anatomy->bend_counted || anatomy->tie.lines.count < 2) return;
  struct be_table *table =
      be_doc_table(doc, "bend", "Counts for a bend with these ends pulled", columns, 6);
  be_table_text(table, "%s", anatomy->seen.words);
  be_table_number(table, (double)bend->crossings, 0);
  be_table_number(table, bend->sum, 0);
  be_table_number(table, bend->tau, 3);
  be_table_number(table, bend->gamma, 3);
  be_table_number(table, (double)bend->faces, 0);
  be_doc_note(doc, "%s", be_bend_counts_note);
}

void be_say_settings(struct be_doc *doc, const struct anatomy *anatomy)
{
  static const struct be_column columns[] = {
      {"setting", "setting", BE_COLUMN_TEXT, false},
      {"value", "value", BE_COLUMN_TEXT, false},
      {"usual", "usual", BE_COLUMN_TEXT, false},
      {"may_be", "may be", BE_COLUMN_TEXT, false},
  };
  const struct be_tie *tie = &anatomy->tie;
  if (!tie->settings) return;
  struct be_table *table = be_doc_table(doc, "settings", "What may be set", columns, 4);
  be_table_fold(table);
  for (size_t i = 0; i < tie->settings; i++) {
    const struct be_tie_setting *setting = &tie->setting[i];
    be_table_text(table, "%s", setting->name);
    be_table_text(table, "%s", setting->value);
    be_table_text(table, "%s", setting->usual);
    if (setting->number) be_table_text(table, "%g to %g", setting->least, setting->most);
    else be_table_text(table, "%s", setting->choices);
  }
}
