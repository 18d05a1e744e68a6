/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the files of censored share: pulls as a fit sees them, and the ascent of a
 * likelihood in coordinates in which it is concave. */
#ifndef BE_STATS_CENSORED_INSIDE_H
#define BE_STATS_CENSORED_INSIDE_H

#include "stats/censored/censored.h"

/* y is the log of a load (the load itself for the normal) less the highest of them, so
 * that no power of a load overflows and little is lost to cancellation. */
struct be_view {
  enum be_family family;
  const struct be_held *held;
  size_t n;
  double only;  /* above 0: only pulls of so many links, each taken as one */
  bool lengths; /* each pull is one; log of links is what its location may depend on */
  size_t taken, events;
  double top;             /* the highest log load */
  double low, high;       /* of y, over events */
  double mean, deviation; /* of y, over all taken */
  double event_mean;      /* of y, over events */
};

/* Fills in all from `taken` on. */
void be_view_look(struct be_view *view);
bool be_view_takes(const struct be_view *view, size_t i);
double be_view_y(const struct be_view *view, size_t i);
double be_view_links(const struct be_view *view, size_t i);
/* Null when there is something to fit; else what is missing. */
const char *be_view_lacks(const struct be_view *view);

/* z = a y - c - d log(links): a is 1 / sigma, c is mu / sigma with mu less the top. */
enum { BE_LINE_MAX = 3 };
struct be_line {
  double at[BE_LINE_MAX]; /* a, c, d */
};

/* What one pull adds to the log-likelihood by its z, without what does not depend on z. */
struct be_term {
  double value, first, second;
};
struct be_term be_term_of(enum be_family family, bool bound, double links, double z);

/* The whole log-likelihood, every constant in it, on the scale of loads. */
double be_line_log_likelihood(const struct be_view *view, const struct be_line *line);
/* Climbs to the maximum in the first `count` coordinates; covariance (count by count) is of
 * these. False when the steps do not settle. */
bool be_line_climb(const struct be_view *view, struct be_line *line, size_t count,
                   double *covariance, int *steps);

/* The Weibull fit by its own shorter way; fit->family and n are set. */
void be_fit_weibull(const struct be_view *view, struct be_fit *fit);

/* log Gamma(1 + s); infinite or not-a-number where GSL's would end the process. */
double be_log_gamma_1p(double s);
/* The figure itself. */
double be_fit_figure(const struct be_fit *fit, enum be_wanted wanted, double p);
/* Where the signed root of the likelihood ratio is `root`: below 0 an end below the figure. */
double be_profile_end(const struct be_fit *fit, const struct be_held *held, size_t n,
                      enum be_wanted wanted, double p, double root);

/* Interval of a share by the normal log(-log); not-a-number for a share of 0 or 1. */
struct be_interval be_share_interval(double share, double se, double level);

#endif
