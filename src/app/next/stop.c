/* SPDX-License-Identifier: GPL-3.0-or-later */
/* May one stop: the question asked of the record so far, as if it had been looked at after every
 * pull. Which are the first m of k knots? A knot is out of it once m others were found stronger.
 * Of a true first one at most m - 1 are stronger, so that one of the m was found wrongly: one of
 * m (k - m) + m (m - 1) / 2 pairs, of a true first one with a weaker one, whichever they are. So
 * each pair needs evidence of that number over alpha (Ville 1939; Bonferroni), k - 1 over alpha for
 * the first place, however many pairs there are. */
#include "app/next/next.h"

#include <math.h>

enum { NAMED_MAX = 8 };

static size_t top_of(const struct plan *plan)
{
  return plan->question.kind == BE_QUESTION_PAIR ? 1 : plan->question.top;
}

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

/* a stands before b: the pair of a first one and another that is furthest from being found. */
static void keep_least(struct plan *plan, size_t a, size_t b, const struct watching *watching)
{
  struct stop *stop = &plan->stop;
  if (watching->reached || (stop->stronger >= 0 && stop->least.most <= watching->most)) return;
  stop->least = *watching;
  stop->stronger = plan->block.knot[a];
  stop->weaker = plan->block.knot[b];
}

static void conclude(struct plan *plan, const size_t *beaten)
{
  struct stop *stop = &plan->stop;
  size_t knots = plan->block.knots, top = top_of(plan);
  for (size_t i = 0; i < knots; i++) {
    bool out = beaten[plan->order[i]] >= top;
    stop->out[plan->order[i]] = out;
    stop->left += !out;
    stop->turned |= out && i < top;
  }
  stop->settled = stop->left == top && !stop->turned;
}

enum be_status be_stop_look(const struct survey *survey, struct plan *plan, struct be_err *err)
{
  size_t knots = plan->block.knots, top = top_of(plan);
  plan->stop = (struct stop){.asked = top * (knots - top) + top * (top - 1) / 2,
                             .out = be_arena_alloc(survey->arena, knots),
                             .stronger = -1,
                             .weaker = -1};
  struct facing *facing = be_alloc_array(plan->block.combinations + 1, sizeof *facing);
  size_t *beaten = be_alloc_array(knots, sizeof *beaten);
  enum be_status status = facing && beaten && plan->stop.out ? BE_OK : be_no_memory(err);
  for (size_t k = 0; k < knots && status == BE_OK; k++) beaten[k] = 0;
  for (size_t i = 0; i < knots && status == BE_OK; i++)
    for (size_t j = i + 1; j < knots && status == BE_OK; j++) {
      struct watching watching;
      size_t a = plan->order[i], b = plan->order[j];
      status = look_at_pair(survey, plan, a, b, facing, &watching, err);
      if (status != BE_OK) break;
      if (watching.reached) beaten[watching.a_stronger ? b : a]++;
      if (i < top && j >= top) keep_least(plan, a, b, &watching);
    }
  if (status == BE_OK) conclude(plan, beaten);
  be_free(beaten);
  be_free(facing);
  return status;
}

/* ---- saying it ---- */

static const char *question_words(const struct survey *survey, const struct plan *plan)
{
  if (plan->question.kind == BE_QUESTION_PAIR) return "which is the stronger";
  if (plan->question.top == 1) return "who is first";
  const char *words = be_arena_format(survey->arena, "which are the first %zu", plan->question.top);
  return words ? words : "";
}

/* Those still in it, the strongest first. */
static const char *left_words(const struct survey *survey, const struct plan *plan)
{
  const char *words = "";
  size_t named = 0, left = plan->stop.left;
  for (size_t i = 0; i < plan->block.knots && words && named < NAMED_MAX; i++) {
    size_t k = plan->order[i];
    if (plan->stop.out[k]) continue;
    const char *joint = named == 0 ? "" : named + 1 == left ? " and " : ", ";
    words = be_arena_format(survey->arena, "%s%sthe %s", words, joint,
                            be_knot_name(survey, plan->block.knot[k]));
    named++;
  }
  if (named < left && words)
    words = be_arena_format(survey->arena, "%s and %zu more", words, left - named);
  return words ? words : "";
}

static void say_evidence(struct be_doc *doc, const struct survey *survey, const struct stop *stop)
{
  const char *stronger = be_knot_name(survey, stop->stronger),
             *weaker = be_knot_name(survey, stop->weaker);
  if (stop->least.pairs < 2)
    be_doc_sentence(doc,
                    "Not settled: before two pairs of pulls there is no evidence that the %s is "
                    "stronger than the %s.",
                    stronger, weaker);
  else
    be_doc_sentence(doc,
                    "Not settled: looked at after every pull, that the %s is stronger than the %s "
                    "has evidence %s of the %s needed, over %zu pairs of pulls.",
                    stronger, weaker, be_evidence_words(survey, stop->least.now.log_e),
                    be_evidence_words(survey, stop->least.needed), stop->least.pairs);
}

void be_say_settled(struct be_doc *doc, const struct survey *survey, const struct plan *plan)
{
  be_doc_sentence(doc,
                  "Tie nothing more for this: %s is settled at %g %%, however often one looked.",
                  question_words(survey, plan), 100 * survey->how.level);
}

void be_say_stop(struct be_doc *doc, const struct survey *survey, const struct plan *plan)
{
  const struct stop *stop = &plan->stop;
  if (stop->settled) return;
  if (stop->turned || stop->stronger < 0)
    be_doc_sentence(doc,
                    "Not settled: looked at after every pull, other knots were once found stronger "
                    "than some that stand first now.");
  else say_evidence(doc, survey, stop);
  if (stop->left > top_of(plan) && stop->left < plan->block.knots)
    be_doc_sentence(doc, "Still in it are %s: to settle it soonest, pull these in turn.",
                    left_words(survey, plan));
}

void be_say_stop_method(struct be_doc *doc, const struct survey *survey, const struct plan *plan)
{
  double alpha = 1 - survey->how.level;
  be_doc_note(doc,
              "To stop as soon as the chance of a wrong answer looks small is to stop on luck now "
              "and then. To stop when it is settled is not: a knot is out of it when as many "
              "others as there are first places were found stronger, each with evidence of %s, "
              "which keeps a wrong answer to %.3g %%, over all looks together. Settled takes more "
              "pulls than a small chance does, and pulls in turn.",
              be_evidence_words(survey, log((double)plan->stop.asked / alpha)), 100 * alpha);
  be_say_watch_method(doc, plan->stop.least.waiting);
}

void be_stop_facts(struct be_doc *doc, const struct survey *survey, const struct plan *plan)
{
  const struct stop *stop = &plan->stop;
  be_doc_fact(doc, "settled", "Settled", "%s", stop->settled ? "yes" : "no");
  be_doc_fact(doc, "still_in", "Knots still in it", "%zu", stop->left);
  if (stop->stronger < 0) return;
  be_doc_fact(doc, "least_stronger", "Least evidence: stronger", "%s",
              be_knot_name(survey, stop->stronger));
  be_doc_fact(doc, "least_weaker", "Least evidence: weaker", "%s",
              be_knot_name(survey, stop->weaker));
  be_watch_facts(doc, &stop->least);
}
