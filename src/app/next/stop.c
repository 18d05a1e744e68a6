/* SPDX-License-Identifier: GPL-3.0-or-later */
/* May one stop: the question asked of the record so far, as if it had been looked at after every
 * pull. An answer names the first m of k knots. It is wrong only where one of the true first m
 * stands below one of the others, which is one of m (k - m) pairs, whichever they are: so each pair
 * that the answer tells apart needs evidence of m (k - m) / alpha (by Ville's inequality and
 * Bonferroni's), and not of all pairs there are. */
#include "app/next/next.h"

static enum be_status look_at_pair(const struct survey *survey, const struct plan *plan, size_t a,
                                   size_t b, struct facing *facing, struct watching *watching,
                                   struct be_err *err)
{
  const struct grid *block = &plan->block;
  size_t count = 0;
  for (size_t c = 0; c < block->combinations; c++) {
    struct facing both = {be_grid_cell(block, a, c), be_grid_cell(block, b, c)};
    if (be_fair(both.a, both.b)) facing[count++] = both;
  }
  return be_watch_facing(survey, facing, count, plan->stop.asked, watching, err);
}

static bool is_found(const struct watching *watching)
{
  return watching->reached && watching->a_stronger;
}

/* What was found the other way round is further off than what was not found. */
static bool is_less(const struct watching *a, const struct watching *b)
{
  if (is_found(a) != is_found(b)) return is_found(b);
  bool against_a = a->reached && !a->a_stronger, against_b = b->reached && !b->a_stronger;
  return against_a != against_b ? against_a : a->most < b->most;
}

enum be_status be_stop_look(const struct survey *survey, struct plan *plan, struct be_err *err)
{
  size_t knots = plan->block.knots;
  size_t top = plan->question.kind == BE_QUESTION_PAIR ? 1 : plan->question.top;
  struct facing *facing = be_alloc_array(plan->block.combinations + 1, sizeof *facing);
  if (!facing) return be_no_memory(err);
  enum be_status status = BE_OK;
  plan->stop = (struct stop){.asked = top * (knots - top), .settled = true};
  for (size_t i = 0; i < top; i++)
    for (size_t j = top; j < knots && status == BE_OK; j++) {
      size_t a = plan->order[i], b = plan->order[j];
      struct watching watching;
      status = look_at_pair(survey, plan, a, b, facing, &watching, err);
      if (status != BE_OK) break;
      plan->stop.settled &= is_found(&watching);
      if ((i || j > top) && !is_less(&watching, &plan->stop.least)) continue;
      plan->stop.least = watching;
      plan->stop.stronger = plan->block.knot[a];
      plan->stop.weaker = plan->block.knot[b];
    }
  be_free(facing);
  return status;
}

static const char *question_words(const struct survey *survey, const struct plan *plan)
{
  if (plan->question.kind == BE_QUESTION_PAIR) return "which is the stronger";
  if (plan->question.top == 1) return "who is first";
  const char *words = be_arena_format(survey->arena, "which are the first %zu", plan->question.top);
  return words ? words : "";
}

void be_say_stop(struct be_doc *doc, const struct survey *survey, const struct plan *plan)
{
  const struct stop *stop = &plan->stop;
  const char *needed = be_evidence_words(survey, stop->least.needed);
  const char *stronger = be_knot_name(survey, stop->stronger),
             *weaker = be_knot_name(survey, stop->weaker);
  const char *most = be_evidence_words(survey, stop->least.most);
  if (stop->settled)
    be_doc_sentence(doc,
                    "Settled: tying more would not change %s at %g %%, however often one looks; "
                    "evidence of %s is needed, and the least reached is %s (%s before %s).",
                    question_words(survey, plan), 100 * survey->how.level, needed, most, stronger,
                    weaker);
  else if (stop->least.pairs < 2)
    be_doc_sentence(doc,
                    "Not settled: before two pairs of pulls there is no evidence that the %s is "
                    "stronger than the %s.",
                    stronger, weaker);
  else if (stop->least.reached && !stop->least.a_stronger)
    be_doc_sentence(doc,
                    "Not settled: looked at after every pull, the %s once had the evidence needed, "
                    "%s, to be stronger than the %s, which now stands before it.",
                    weaker, needed, stronger);
  else
    be_doc_sentence(doc,
                    "Not settled: looked at after every pull, that the %s is stronger than the %s "
                    "has evidence %s of the %s needed, over %zu pair%s of pulls.",
                    stronger, weaker, be_evidence_words(survey, stop->least.now.log_e), needed,
                    stop->least.pairs, stop->least.pairs == 1 ? "" : "s");
}

void be_say_stop_method(struct be_doc *doc, const struct survey *survey, const struct plan *plan)
{
  const struct stop *stop = &plan->stop;
  be_doc_note(
      doc,
      "To stop as soon as the chance of a wrong answer looks small is to stop on luck now "
      "and then. To stop when it says settled is not: evidence of %s for each of %zu pair%s "
      "of knots keeps a wrong answer to %.3g %%, over all looks together.",
      be_evidence_words(survey, stop->least.needed), stop->asked, stop->asked == 1 ? "" : "s",
      100 * (1 - survey->how.level));
  be_say_watch_method(doc, stop->least.waiting);
}

void be_stop_facts(struct be_doc *doc, const struct plan *plan)
{
  be_doc_fact(doc, "settled", "Settled", "%s", plan->stop.settled ? "yes" : "no");
  be_watch_facts(doc, &plan->stop.least);
}
