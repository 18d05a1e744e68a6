/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Two ties: are they the same? */
#include "app/anatomy/anatomy.h"
#include "app/survey/survey.h"

#include <string.h>

enum { CERTIFICATE_MAX = 1 << 20 };

static void say_verdict(struct be_doc *doc, const char *a, const char *b,
                        const struct be_compared *compared)
{
  const struct be_same *held = &compared->held, *closed = &compared->closed;
  const char *how = be_closures[compared->closure].words;
  if (held->verdict == BE_SAME && !compared->other_ends)
    be_doc_sentence(doc, "The %s and the %s are the same: %s, with every end held.", a, b,
                    held->words);
  else if (held->verdict == BE_SAME)
    be_doc_sentence(doc,
                    "The %s and the %s are drawn the same, but other ends are pulled: under load "
                    "they are two knots (%s, with every end held).",
                    a, b, held->words);
  else if (held->verdict == BE_MIRROR)
    be_doc_sentence(doc, "The %s is the %s in a mirror: %s, with every end held.", a, b,
                    held->words);
  else if (closed->verdict == BE_APART)
    be_doc_sentence(doc, "The %s and the %s are two knots: %s (%s).", a, b, closed->words, how);
  else if (closed->verdict == BE_SAME && !compared->other_ends)
    be_doc_sentence(doc, "The %s and the %s are the same, closed: %s (%s).", a, b, closed->words,
                    how);
  else if (closed->verdict == BE_SAME)
    be_doc_sentence(doc,
                    "The %s and the %s are the same, closed, but other ends are pulled: under load "
                    "they are two knots (%s; %s).",
                    a, b, closed->words, how);
  else if (closed->verdict == BE_MIRROR)
    be_doc_sentence(doc, "The %s, closed, is the %s in a mirror: %s (%s).", a, b, closed->words,
                    how);
  else
    be_doc_sentence(doc, "Whether the %s and the %s are the same is not decided: %s (%s).", a, b,
                    closed->words, how);
}

static const char *verdict_word(enum be_verdict verdict)
{
  static const char *const words[] = {[BE_SAME] = "same",
                                      [BE_MIRROR] = "mirror image",
                                      [BE_APART] = "apart",
                                      [BE_NOT_DECIDED] = "not decided"};
  return words[verdict];
}

static void say_ways(struct be_doc *doc, const struct be_compared *compared)
{
  static const struct be_column columns[] = {
      {"ends", "ends", BE_COLUMN_TEXT, false},
      {"verdict", "verdict", BE_COLUMN_TEXT, false},
      {"why", "because", BE_COLUMN_TEXT, false},
      {"crossings_a", "crossings left, first", BE_COLUMN_NUMBER, false},
      {"crossings_b", "second", BE_COLUMN_NUMBER, false},
  };
  const struct be_same *ways[] = {&compared->held, &compared->closed};
  const char *ends[] = {"held where they are", be_closures[compared->closure].words};
  struct be_table *table = be_doc_table(doc, "ways", "Compared in two ways", columns, 5);
  for (int i = 0; i < 2; i++) {
    be_table_text(table, "%s", ends[i]);
    be_table_text(table, "%s", verdict_word(ways[i]->verdict));
    be_table_text(table, "%s", ways[i]->words);
    be_table_number(table, (double)ways[i]->crossings[0], 0);
    be_table_number(table, (double)ways[i]->crossings[1], 0);
  }
}

static void say_counts(struct be_doc *doc, const char *const names[2],
                       const struct be_compared *compared)
{
  static const struct be_column columns[] = {
      {"tie", "tie", BE_COLUMN_TEXT, false},
      {"crossings", "crossings N", BE_COLUMN_NUMBER, false},
      {"signs", "sum of signs", BE_COLUMN_NUMBER, false},
      {"twist_fluctuation", "twist fluctuation", BE_COLUMN_NUMBER, false},
      {"circulation", "circulation", BE_COLUMN_NUMBER, false},
  };
  if (!compared->counted[0] && !compared->counted[1]) return;
  struct be_table *table =
      be_doc_table(doc, "bend", "Counts for a bend, as each is usually drawn", columns, 5);
  for (int i = 0; i < 2; i++) {
    const struct be_bend_counts *counts = &compared->counts[i];
    if (!compared->counted[i]) continue;
    be_table_text(table, "%s", names[i]);
    be_table_number(table, (double)counts->crossings, 0);
    be_table_number(table, counts->sum, 0);
    be_table_number(table, counts->tau, 3);
    be_table_number(table, counts->gamma, 3);
  }
  be_doc_note(doc, "%s", be_bend_counts_note);
}

/* The moves, a row each. */
static void say_certificate(struct be_doc *doc, const struct be_buf *certificate)
{
  static const struct be_column columns[] = {{"move", "move", BE_COLUMN_TEXT, false}};
  if (!certificate->size) return;
  struct be_table *table = be_doc_table(doc, "certificate", "The moves, in order", columns, 1);
  for (const char *at = certificate->data; *at;) {
    size_t length = strcspn(at, "\n");
    if (length) be_table_text(table, "%.*s", (int)length, at);
    at += length + (at[length] == '\n');
  }
  be_table_fold(table);
}

enum be_status be_anatomies_compare(const struct be_tie *a, const struct be_tie *b,
                                    struct be_arena *arena, struct be_doc **out, struct be_err *err)
{
  const struct be_tie *ties[] = {a, b};
  const char *names[] = {be_tie_full(a, arena), be_tie_full(b, arena)};
  struct be_ends ends[2];
  struct be_tied drawn[2];
  struct be_compared compared;
  struct be_buf certificate;
  if (!names[0] || !names[1]) return be_no_memory(err);
  for (int i = 0; i < 2; i++) {
    memcpy(ends[i].loaded, ties[i]->loaded, sizeof ends[i].loaded);
    memcpy(ends[i].hardware, ties[i]->hardware, sizeof ends[i].hardware);
    drawn[i] = (struct be_tied){&ties[i]->lines, &ends[i], &ties[i]->view};
  }
  be_buf_init(&certificate, CERTIFICATE_MAX);
  enum be_status status = be_anatomy_check(a, err);
  if (status == BE_OK) status = be_anatomy_check(b, err);
  if (status == BE_OK)
    status =
        be_ties_compare(&drawn[0], &drawn[1], BE_CLOSE_EACH, arena, &certificate, &compared, err);
  struct be_doc *doc =
      status == BE_OK
          ? be_doc_create("compare", be_arena_format(arena, "%s and %s", names[0], names[1]))
          : NULL;
  if (doc) {
    say_verdict(doc, names[0], names[1], &compared);
    say_ways(doc, &compared);
    say_counts(doc, names, &compared);
    say_certificate(doc, &certificate);
    be_doc_note(doc, "Moves show that two are the same; what no move changes shows that they are "
                     "not. Where neither is found, nothing is said.");
  } else if (status == BE_OK) {
    status = be_no_memory(err);
  }
  be_buf_free(&certificate);
  if (status == BE_OK && be_arena_ran_out(arena)) status = be_no_memory(err);
  return be_doc_done(doc, status, out);
}
