/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The difference looked at after every pull: may one stop now. */
#include "app/versus/versus.h"
#include "app/watch.h"

#include <math.h>

static void say_stop(struct be_doc *doc, const struct survey *survey, const struct pair *pair,
                     const struct watching *watching)
{
  const char *now = be_evidence_words(survey, watching->now.log_e);
  const char *needed = be_evidence_words(survey, watching->needed);
  if (be_pair_divided(pair))
    be_doc_sentence(doc, "Not asked: evidence is of one difference, the same in all combinations, "
                         "and these differ.");
  else if (watching->pairs < 2)
    be_doc_sentence(doc, "Not yet: there is no evidence before two pairs of pulls, and %s.",
                    watching->pairs ? "there is one" : "there is none");
  else if (!watching->reached)
    be_doc_sentence(doc, "Not yet: evidence %s of the %s needed, over %zu pairs of pulls.", now,
                    needed, watching->pairs);
  else
    be_doc_sentence(doc,
                    "You may stop now: that the %s is the stronger had the evidence needed, %s, "
                    "from pair %zu of %zu on (specimen %s); it is %s now.",
                    be_knot_name(survey, watching->a_stronger ? pair->a : pair->b), needed,
                    watching->reached, watching->pairs, watching->at->code, now);
}

static void table_row(struct be_table *table, const char *what, size_t n_a, size_t n_b,
                      double log_ratio, double low, double high)
{
  be_table_text(table, "%s", what);
  be_table_number(table, (double)n_a, 0);
  be_table_number(table, (double)n_b, 0);
  be_table_number(table, 100 * expm1(log_ratio), 1);
  be_table_interval(table, low, high, 1);
}

static void table_of(struct be_doc *doc, const struct pair *pair, const struct watching *watching)
{
  static const struct be_column columns[] = {
      {"holds", "interval that holds", BE_COLUMN_TEXT, false},
      {"n_first", "n first", BE_COLUMN_NUMBER, false},
      {"n_second", "n second", BE_COLUMN_NUMBER, false},
      {"relative_percent", "relative (%)", BE_COLUMN_NUMBER, false},
      {"relative_percent", "interval", BE_COLUMN_INTERVAL, false},
  };
  const struct be_interval *always = &watching->now.interval;
  bool bounded = isfinite(always->low);
  struct be_table *table =
      be_doc_table(doc, "looks", "The usual interval, and one to look at after every pull", columns,
                   sizeof columns / sizeof columns[0]);
  table_row(table, "at one look, settled beforehand", pair->n_a, pair->n_b, pair->log_ratio.value,
            pair->relative.low, pair->relative.high);
  table_row(table, "at every look, in pairs", watching->pairs, watching->pairs, watching->now.value,
            bounded ? 100 * expm1(always->low) : NAN, bounded ? 100 * expm1(always->high) : NAN);
}

enum be_status be_say_looks(struct be_doc *doc, const struct survey *survey,
                            const struct pair *pair, struct be_err *err)
{
  struct watching watching;
  struct facing *facing = be_alloc_array(pair->count + 1, sizeof *facing);
  if (!facing) return be_no_memory(err);
  for (size_t i = 0; i < pair->count; i++)
    facing[i] = (struct facing){pair->list[i].a, pair->list[i].b};
  enum be_status status = be_watch_facing(survey, facing, pair->count, 1, &watching, err);
  be_free(facing);
  if (status != BE_OK) return status;
  be_doc_heading(doc, "Looked at after every pull");
  say_stop(doc, survey, pair, &watching);
  if (watching.pairs >= 2) table_of(doc, pair, &watching);
  be_say_watch_method(doc, watching.waiting);
  be_watch_facts(doc, &watching);
  be_doc_fact(doc, "may_stop", "May stop", "%s",
              watching.reached && !be_pair_divided(pair) ? "yes" : "no");
  return BE_OK;
}
