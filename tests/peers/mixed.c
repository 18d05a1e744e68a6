/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a mixed model says of a book: ln load ~ knot + turns, and the terms the book asks for. */
#include "books.h"

#include <stdlib.h>
#include <string.h>

/* The book as the model takes it. */
struct asked {
  struct be_mixed_data data;
  struct be_mixed_term terms[TERMS];
  enum term of[TERMS];
  size_t *start;
  uint32_t *column;
  double *value;
};

static bool ask(const struct book *book, struct asked *asked)
{
  const struct book_plan *plan = book->plan;
  size_t n = plan->pulls, count = 0;
  *asked = (struct asked){.start = calloc(n + 1, sizeof(size_t)),
                          .column = calloc(2 * n, sizeof(uint32_t)),
                          .value = calloc(2 * n, sizeof(double))};
  if (!asked->start || !asked->column || !asked->value) return false;
  for (size_t i = 0; i < n; i++) {
    asked->start[i + 1] = 2 * (i + 1);
    asked->column[2 * i] = book->knot[i];
    asked->value[2 * i] = 1;
    asked->column[2 * i + 1] = (uint32_t)plan->knots;
    asked->value[2 * i + 1] = book->turns[i];
  }
  for (enum term t = LINE; t < TERMS; t++) {
    if (!(plan->deviation[t] > 0)) continue;
    bool slope = t == LINE && plan->slope > 0;
    asked->of[count] = t;
    asked->terms[count++] = (struct be_mixed_term){term_names[t],
                                                   book->level[t],
                                                   book->levels[t],
                                                   slope ? 2 : 1,
                                                   {NULL, slope ? book->turns : NULL, NULL}};
  }
  asked->data = (struct be_mixed_data){n,
                                       book->y,
                                       NULL,
                                       {plan->knots + 1, asked->start, asked->column, asked->value},
                                       asked->terms,
                                       count};
  return true;
}

static void tell_of(const struct peers *peers, const char *figure, const char *term, double at,
                    double value)
{
  char name[80];
  snprintf(name, sizeof name, "mixed %s%s%s", figure, *term ? " of " : "", term);
  tell_at(peers, FITTED, name, at, value);
}

/* The covariance of a term, also relative (theta), and the effects of those of its levels that have
 * pulls. */
static void tell_term(const struct peers *peers, const struct be_mixed *fit,
                      const struct asked *asked, size_t t, const double *theta)
{
  const struct be_mixed_term *term = &asked->terms[t];
  size_t width = term->width;
  double covariance[BE_MIXED_WIDTH_MAX * BE_MIXED_WIDTH_MAX];
  be_mixed_term_covariance(fit, t, covariance);
  for (size_t i = 0; i < width * (width + 1) / 2; i++)
    tell_of(peers, "theta", term->name, (double)i, theta[i]);
  for (size_t e = 0; e < width; e++)
    tell_of(peers, "deviation", term->name, (double)e, sqrt(covariance[e * width + e]));
  if (width == 2) tell_of(peers, "covariance", term->name, 0, covariance[1]);
  bool *has = calloc(term->levels, sizeof *has);
  for (size_t i = 0; has && i < asked->data.n; i++) has[term->level[i]] = true;
  for (size_t l = 0; has && l < term->levels; l++)
    for (size_t e = 0; e < width && has[l]; e++) {
      struct be_estimate mode = be_mixed_mode(fit, t, l, e);
      char name[40];
      snprintf(name, sizeof name, "mode%s of %s", e ? " of turns" : "", term->name);
      tell_of(peers, name, "", (double)l, mode.value);
      snprintf(name, sizeof name, "mode variance%s of %s", e ? " of turns" : "", term->name);
      tell_of(peers, name, "", (double)l, mode.variance);
    }
  free(has);
}

/* Where line and spool are one only what they come to is known. */
static void tell_together(const struct peers *peers, const struct be_mixed *fit,
                          const struct book *book)
{
  const double *theta = be_mixed_summary(fit)->theta;
  double line[BE_MIXED_WIDTH_MAX * BE_MIXED_WIDTH_MAX];
  double spool[BE_MIXED_WIDTH_MAX * BE_MIXED_WIDTH_MAX];
  be_mixed_term_covariance(fit, LINE, line);
  be_mixed_term_covariance(fit, SPOOL, spool);
  tell_of(peers, "theta", "line", 0, hypot(theta[LINE], theta[SPOOL]));
  tell_of(peers, "deviation", "line", 0, sqrt(line[0] + spool[0]));
  for (size_t l = 0; l < book->levels[LINE]; l++)
    tell_of(peers, "mode", "line", (double)l,
            be_mixed_mode(fit, LINE, l, 0).value + be_mixed_mode(fit, SPOOL, l, 0).value);
}

/* The first knot's coefficient, the second less the first, and the mean of all at five turns. */
static void tell_contrasts(const struct peers *peers, const struct be_mixed *fit, size_t knots)
{
  uint32_t *column = calloc(knots + 1, sizeof *column);
  double *weight = calloc(knots + 1, sizeof *weight);
  for (size_t k = 0; column && weight && k <= knots; k++) column[k] = (uint32_t)k;
  for (size_t which = 0; column && weight && which < 3; which++) {
    size_t count = which == 2 ? knots + 1 : which + 1;
    for (size_t k = 0; k < knots; k++) weight[k] = 1 / (double)knots;
    weight[knots] = 5;
    if (which < 2) weight[0] = which ? -1 : 1;
    if (which == 1) weight[1] = 1;
    struct be_mixed_contrast contrast;
    be_mixed_contrast(fit, column, weight, count, 0.95, &contrast);
    tell_of(peers, "contrast", "", (double)which, contrast.value);
    tell_of(peers, "contrast se", "", (double)which, contrast.se);
    tell_at(peers, QUANTILE, "mixed degrees of freedom", (double)which, contrast.df);
    tell_at(peers, CHANCE, "mixed contrast p", (double)which, contrast.p);
    tell_at(peers, QUANTILE, "mixed contrast low", (double)which, contrast.interval.low);
  }
  free(weight);
  free(column);
}

void fitted_book(const struct peers *peers, const struct book *book, enum be_mixed_method method)
{
  struct asked asked;
  struct be_mixed *fit = NULL;
  struct be_err err = {0};
  if (!ask(book, &asked) || be_mixed_fit(&asked.data, method, &fit, &err) != BE_OK) {
    fprintf(stderr, "peers: %s: %s\n", peers->name, err.what);
    exit(1);
  }
  const struct be_mixed_summary *summary = be_mixed_summary(fit);
  tell(peers, FITTED, "mixed converged", summary->converged);
  tell(peers, FITTED, "mixed criterion", summary->criterion);
  tell(peers, MARGIN, "mixed criterion of lme4's function at our theta", summary->criterion);
  tell(peers, MARGIN, "mixed criterion or lower", summary->criterion);
  tell(peers, FITTED, "mixed sigma", summary->sigma);
  for (size_t j = 0; j <= book->plan->knots; j++) {
    tell_of(peers, "coefficient", "", (double)j, be_mixed_beta(fit)[j]);
    tell_of(peers, "se", "", (double)j, sqrt(be_mixed_covariance(fit, j, j)));
  }
  bool one = is_one(book->plan);
  if (one) tell_together(peers, fit, book);
  const double *theta = summary->theta;
  for (size_t t = 0; t < asked.data.term_count; t++) {
    size_t parameters = asked.terms[t].width * (asked.terms[t].width + 1) / 2;
    if (!one || asked.of[t] > SPOOL) tell_term(peers, fit, &asked, t, theta);
    theta += parameters;
  }
  tell_contrasts(peers, fit, book->plan->knots);
  be_mixed_free(fit);
  free(asked.value);
  free(asked.column);
  free(asked.start);
}
