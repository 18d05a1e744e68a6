/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pulls are paired within a combination, first with first, in the order entered, on the same
 * spools and pulled alike, or, where each was divided by a plain line of its own, as they come. The
 * difference of the logs of a pair is normal with a deviation of its own, however unlike
 * the knots scatter, and under no difference has mean 0 in every combination: so all pairs make
 * one series for the paired test of stats/standing/watch.c, a martingale as long as it is
 * not half a pair that decides whether the other half is pulled. */
#include "app/watch.h"

#include <math.h>
#include <stdlib.h>

/* One deviation of a pull is 1 / sqrt 2 of the difference of two. */
static const double effect_of_pairs = 0.70710678118654752440;
/* Logs of loads are off by 1e-16 of some units; no gauge reads to 1e-9 of a load. */
static const double no_scatter = 1e-12;

struct couple {
  const struct be_pull *done; /* the later of the two */
  double difference;
};

static double log_of(const struct cell *cell, size_t i, bool by_share)
{
  return log(by_share ? cell->shares[i] : cell->loads[i]);
}

/* Adds the pairs of one combination; taken: cells b->n of false. */
static size_t couple_cells(const struct facing *facing, bool *taken, struct couple *couples)
{
  const struct cell *a = facing->a, *b = facing->b;
  bool by_share = a->shares && b->shares, alike = be_same_mix(a, b) || !by_share;
  size_t count = 0, from = 0;
  for (size_t i = 0; i < a->n; i++) {
    while (from < b->n && taken[from]) from++;
    size_t k = from;
    while (k < b->n && (taken[k] || (alike && !be_tied_alike(a->events[i], b->events[k])))) k++;
    if (k == b->n) continue;
    taken[k] = true;
    couples[count++] = (struct couple){a->events[i] > b->events[k] ? a->events[i] : b->events[k],
                                       log_of(a, i, by_share) - log_of(b, k, by_share)};
  }
  return count;
}

/* Pulls stand in the record in the order entered. */
static int by_entry(const void *a_, const void *b_)
{
  const struct couple *a = a_, *b = b_;
  return a->done < b->done ? -1 : a->done > b->done;
}

static void look(const struct couple *couples, size_t count, struct watching *watching)
{
  const struct be_watch watch = {effect_of_pairs, -expm1(-watching->needed)};
  double mean = 0, squares = 0;
  for (size_t i = 0; i < count; i++) {
    double n = (double)i + 1, off = couples[i].difference - mean;
    mean += off / n;
    squares += off * (couples[i].difference - mean);
    double sd = i ? sqrt(squares / (n - 1)) : NAN;
    struct be_summary summary = {i + 1, mean, sd < no_scatter ? 0 : sd, NAN, NAN};
    be_watch_paired(&summary, &watch, &watching->now);
    watching->most = fmax(watching->most, watching->now.log_e);
    if (watching->reached || !watching->now.apart) continue;
    watching->reached = i + 1;
    watching->at = couples[i].done;
    watching->a_stronger = mean > 0;
  }
}

enum be_status be_watch_facing(const struct survey *survey, const struct facing *facing,
                               size_t count, size_t asked, struct watching *watching,
                               struct be_err *err)
{
  double alpha = (1 - survey->how.level) / (double)asked;
  *watching = (struct watching){.now = {0, NAN, {-INFINITY, INFINITY, 1 - alpha}, false},
                                .needed = -log(alpha)};
  size_t events = 0, most = 0;
  for (size_t c = 0; c < count; c++) {
    events += facing[c].a->n + facing[c].b->n;
    if (facing[c].b->n > most) most = facing[c].b->n;
  }
  if (events == 0) return BE_OK;
  struct couple *couples = be_alloc_array(events, sizeof *couples);
  bool *taken = be_alloc_array(most + 1, sizeof *taken);
  if (couples && taken) {
    for (size_t c = 0; c < count; c++) {
      for (size_t k = 0; k < facing[c].b->n; k++) taken[k] = false;
      watching->pairs += couple_cells(&facing[c], taken, couples + watching->pairs);
    }
    watching->waiting = events - 2 * watching->pairs;
    qsort(couples, watching->pairs, sizeof *couples, by_entry);
    look(couples, watching->pairs, watching);
  }
  bool had = couples && taken;
  be_free(taken);
  be_free(couples);
  return had ? BE_OK : be_no_memory(err);
}

const char *be_evidence_words(const struct survey *survey, double log_e)
{
  double e = exp(log_e);
  const char *words = e >= 1e6     ? "over a million"
                      : e >= 9.95  ? be_arena_format(survey->arena, "%.0f", e)
                      : e >= 0.095 ? be_arena_format(survey->arena, "%.2g", e)
                                   : "less than 0.1";
  return words ? words : "?";
}

void be_say_watch_method(struct be_doc *doc, size_t waiting)
{
  be_doc_note(doc, "Evidence is gathered from pairs of pulls: in each combination the first of the "
                   "one knot with the first of the other, in the order entered, on the same spools "
                   "and pulled alike (or each over its own plain line). So each knot may scatter "
                   "in its own way; the difference is taken to be one and the same in all "
                   "combinations, and the logs of loads normal. Looked for is a difference of "
                   "about one deviation of a pull: that sets how soon one is found, never how "
                   "often wrongly. Lower bounds are left out.");
  if (waiting)
    be_doc_note(doc, "Pulls that wait for a partner: %zu. Pulled in turn, none would.", waiting);
  be_doc_note(doc, "Not covered: a record entered in another order than pulled, above all in the "
                   "order of the loads; pulls left out for what they held; the second of a pair "
                   "pulled or not for what the first held; asking about pair after pair of knots "
                   "until one is found. To stop for want of line or time harms nothing, but "
                   "settles nothing.");
}

void be_watch_facts(struct be_doc *doc, const struct watching *watching)
{
  /* Beyond, a number of programs would be infinity. */
  const double most = 700;
  be_doc_fact(doc, "evidence", "Evidence now", "%.4g", exp(fmin(watching->now.log_e, most)));
  be_doc_fact(doc, "evidence_most", "Most evidence at any look", "%.4g",
              exp(fmin(watching->most, most)));
  be_doc_fact(doc, "evidence_needed", "Evidence needed", "%.4g", exp(watching->needed));
  be_doc_fact(doc, "evidence_pairs", "Pairs of pulls looked at", "%zu", watching->pairs);
}
