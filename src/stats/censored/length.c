/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/censored/inside.h"
#include "stats/number/number.h"

#include <assert.h>
#include <math.h>

/* The next greater length than `length`; infinite when there is none. */
static double next_length(const struct be_held *held, size_t n, double length)
{
  double next = INFINITY;
  for (size_t i = 0; i < n; i++)
    if (held[i].links > length) next = fmin(next, held[i].links);
  return next;
}

/* With events at one length only, bounds at others may let the slope run off. */
static bool events_differ(const struct be_held *held, size_t n)
{
  double first = 0;
  for (size_t i = 0; i < n; i++) {
    if (held[i].bound) continue;
    if (first == 0) first = held[i].links;
    if (held[i].links != first) return true;
  }
  return false;
}

/* Each length by itself: the sum of their log-likelihoods; not-a-number when one of them
 * gives no fit. */
static double fit_separate(const struct be_held *held, size_t n)
{
  double sum = 0;
  for (double length = next_length(held, n, 0); isfinite(length);
       length = next_length(held, n, length)) {
    struct be_view view = {.held = held, .n = n, .only = length};
    struct be_fit fit = {0};
    be_view_look(&view);
    if (be_view_lacks(&view)) return NAN;
    be_fit_weibull(&view, &fit);
    sum += fit.log_likelihood;
  }
  return sum;
}

/* z = a y - c - d log(length): the slope of log scale is d / a, log scale at length 1 c / a. */
static bool fit_linear(const struct be_held *held, size_t n, struct be_length_fit *fit)
{
  struct be_view view = {.held = held, .n = n, .lengths = true};
  be_view_look(&view);
  double a = fit->beta, v[9];
  struct be_line line = {{a, a * (log(fit->scale) - view.top), -1}};
  int steps;
  if (!be_line_climb(&view, &line, 3, v, &steps)) return false;
  a = line.at[0];
  fit->sigma = 1 / a;
  fit->slope = line.at[2] / a;
  fit->scale_linear = exp(line.at[1] / a + view.top);
  fit->slope_se = sqrt(v[8] - 2 * fit->slope * v[2] + fit->slope * fit->slope * v[0]) / a;
  fit->log_likelihood[1] = be_line_log_likelihood(&view, &line);
  return true;
}

/* Strict is a fit of chains: a length L of links has survival S^L, whose Weibull scale is
 * eta L^(-1/beta) (Weibull 1939). Log-linear frees the slope of log scale on log length, which
 * the theory has at -1/beta (Padgett, Durham and Mason, J. Compos. Mater. 29, 1995); the
 * first lies inside the second and the second inside separate fits of each length. */
void be_length_of(const struct be_held *held, size_t n, struct be_length_fit *fit)
{
  const double unknown = NAN;
  struct be_fit strict;
  *fit = (struct be_length_fit){.beta = unknown,
                                .scale = unknown,
                                .se_beta = unknown,
                                .se_scale = unknown,
                                .slope = unknown,
                                .slope_se = unknown,
                                .sigma = unknown,
                                .scale_linear = unknown,
                                .log_likelihood = {unknown, unknown, unknown},
                                .p_strict = unknown};
  be_fit_censored(BE_FAMILY_WEIBULL, held, n, &strict);
  fit->why = strict.why;
  if (!strict.converged) return;
  fit->beta = 1 / strict.sigma;
  fit->scale = exp(strict.mu);
  fit->se_beta = strict.se_sigma / (strict.sigma * strict.sigma);
  fit->se_scale = fit->scale * strict.se_mu;
  fit->log_likelihood[0] = strict.log_likelihood;
  fit->log_likelihood[2] = fit_separate(held, n);
  fit->why = "events at only one length";
  if (!events_differ(held, n)) return;
  /* Such as one event at each of two lengths: a line through all of them. */
  fit->why = "too few events to bound the slope";
  if (!fit_linear(held, n, fit)) return;
  fit->why = NULL;
  fit->converged = true;
  fit->p_strict = be_chi2_upper(fmax(2 * (fit->log_likelihood[1] - fit->log_likelihood[0]), 0), 1);
}
