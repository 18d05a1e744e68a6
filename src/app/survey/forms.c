/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Figures as first-order sums of what was measured. The sources are numbered:
 * first the sets of plain pulls (a weight is on the log of their mean), then
 * the cells by their shares, then the cells by their loads (a weight is on the
 * log of the mean). Plain sets of one family share one relative scatter, so
 * their part of a variance is cv^2 times the sum of weight^2 / worth. */
#include "app/survey/survey.h"

#include <math.h>

enum { TERMS_MAX = 1000000 };

/* Both lists rise by source: how long is the list of either. */
static size_t count_either(const struct form *a, const struct form *b)
{
  size_t i = 0, k = 0, count = 0;
  for (; i < a->count && k < b->count; count++) {
    size_t left = a->terms[i].source, right = b->terms[k].source;
    i += left <= right;
    k += right <= left;
  }
  return count + (a->count - i) + (b->count - k);
}

/* Merged from the end, so that it needs no room beside the sum's own. */
enum be_status be_form_add(struct form *sum, const struct form *part, double weight,
                           struct be_err *err)
{
  size_t to = count_either(sum, part), i = sum->count, k = part->count;
  void *block = sum->terms;
  enum be_status status = be_grow(&block, &sum->capacity, sizeof *sum->terms, to, TERMS_MAX, err);
  sum->terms = block;
  if (status != BE_OK) return status;
  sum->count = to;
  while (k > 0) {
    const struct term *theirs = &part->terms[k - 1];
    bool ours = i > 0 && sum->terms[i - 1].source >= theirs->source;
    bool both = ours && sum->terms[i - 1].source == theirs->source;
    struct term term = ours ? sum->terms[i - 1] : (struct term){theirs->source, 0};
    if (!ours || both) term.weight += weight * part->terms[--k].weight;
    if (ours) i--;
    sum->terms[--to] = term;
  }
  sum->value += weight * part->value;
  sum->n += part->n;
  return BE_OK;
}

void be_form_free(struct form *form)
{
  be_free(form->terms);
  *form = (struct form){0};
}

/* Welch and Satterthwaite, gathered part by part. */
struct gathered {
  double variance, squares;
  bool known;
};

static void gather(struct gathered *sum, double variance, double df)
{
  if (variance == 0) return;
  if (isnan(variance) || !(df > 0)) sum->known = false;
  sum->variance += variance;
  sum->squares += variance * variance / df;
}

struct be_estimate be_form_estimate(const struct survey *survey, const struct form *form)
{
  struct gathered sum = {0, 0, true};
  /* What cancels leaves weights of rounding only. */
  const double nothing = 1e-12;
  for (size_t i = 0; i < form->count;) {
    size_t source = form->terms[i].source;
    if (source >= survey->sets_count) {
      size_t cell = source - survey->sets_count;
      bool by_load = cell >= survey->cells_count;
      const struct cell *of = &survey->cells[by_load ? cell - survey->cells_count : cell];
      const struct be_estimate *mean = by_load ? &of->pooled : &of->share;
      double relative = form->terms[i].weight / mean->value;
      if (fabs(form->terms[i].weight) > nothing)
        gather(&sum, relative * relative * mean->variance, mean->df);
      i++;
      continue;
    }
    size_t family = survey->sets[source].family;
    double weights = 0;
    for (; i < form->count && form->terms[i].source < survey->sets_count &&
           survey->sets[form->terms[i].source].family == family;
         i++) {
      const struct plain_set *set = &survey->sets[form->terms[i].source];
      double weight = fabs(form->terms[i].weight) > nothing ? form->terms[i].weight : 0;
      weights += weight * weight / set->worth;
    }
    if (weights > 0)
      gather(&sum, weights * survey->families[family].cv2, survey->families[family].df);
  }
  struct be_estimate estimate = {form->value, NAN, 0, form->n};
  if (sum.known && sum.variance > 0) {
    estimate.variance = sum.variance;
    estimate.df = sum.variance * sum.variance / sum.squares;
  }
  return estimate;
}
