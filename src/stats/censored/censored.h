/* SPDX-License-Identifier: GPL-3.0-or-later */
/* censored: pulls of which some only held at least their load, and pulls that may
 * let go in more than one way.
 *
 * A pull is an event at its load or a lower bound. A specimen may be a chain of
 * alike links (two knots of one kind; a line of twice the length): it lets go at its
 * weakest, so with `links` = w its survival is S(x)^w and its density w f(x) S(x)^(w-1).
 * Every fit here is of one link. */
#ifndef BE_STATS_CENSORED_H
#define BE_STATS_CENSORED_H

#include "stats/sample/sample.h"

struct be_held {
  double load;  /* > 0, but any number for BE_FAMILY_NORMAL */
  bool bound;   /* it held at least this */
  double links; /* > 0; 1 for one knot or the reference length */
};

/* mu and sigma are of the log load (of the load itself for the normal): Weibull has
 * eta = exp(mu), beta = 1 / sigma. se and covariance from the observed information. */
struct be_fit {
  enum be_family family;
  size_t n, events;
  bool converged;  /* false: the data do not bound it; why says so, figures not-a-number */
  const char *why; /* null when converged; else a sentence part: "fewer than 2 different events" */
  double mu, sigma;
  double se_mu, se_sigma, covariance;
  double log_likelihood;
  int steps;
};

/* Maximum likelihood by safeguarded Newton's steps, never more than 100. Never fails on good
 * input: what the data cannot give is told in the fit. Wanted are at least two events at
 * different loads. The log-likelihood holds all constants and is that of the loads, not of
 * their logs. No heap. n >= 1. */
void be_fit_censored(enum be_family family, const struct be_held *held, size_t n,
                     struct be_fit *fit);

/* The load that a share p of links do not reach. p in (0, 1). */
double be_fit_quantile(const struct be_fit *fit, double p);
/* Mean and deviation of the fitted distribution. */
double be_fit_mean(const struct be_fit *fit);
double be_fit_deviation(const struct be_fit *fit);
/* P(load > x) of one link. */
double be_fit_survival(const struct be_fit *fit, double x);

/* What an interval is wanted of. */
enum be_wanted { BE_WANTED_SHAPE, BE_WANTED_SCALE, BE_WANTED_MEAN, BE_WANTED_QUANTILE };
/* fit is be_fit_censored's of the same pulls; where that did not converge all is
 * not-a-number. The figure with its profile-likelihood interval (chi-square of one degree of
 * freedom, two sides each (1 - level) / 2); p only for a quantile. For Weibull shape is beta, scale
 * eta; else sigma and exp(mu) (mu for the normal). An end that the likelihood does not bound is 0
 * or infinity. */
void be_fit_profile(const struct be_fit *fit, const struct be_held *held, size_t n,
                    enum be_wanted wanted, double p, double level, struct be_measure *measure);
/* The same for a Weibull, conditional on the ancillaries (Lawless, Statistical Models and
 * Methods for Lifetime Data, 1982, section 4.1.2): exact for complete samples of any size,
 * close where some are bounds. The mean is by a generalised pivot: close, not exact. */
void be_fit_conditional(const struct be_fit *fit, const struct be_held *held, size_t n,
                        enum be_wanted wanted, double p, double level, struct be_measure *measure);
/* One-sided lower bound of the load that a share `above` reach, with the confidence: Weibull
 * conditional; lognormal and normal by the noncentral t without bounds, by profile with. */
double be_fit_lower(const struct be_fit *fit, const struct be_held *held, size_t n, double above,
                    double confidence);

/* ---- without a family (survival.c) ----------------------------------------- */

/* Product-limit estimate (Kaplan and Meier 1958) at each load where something let go. */
struct be_step {
  double load;
  size_t at_risk, events;
  double survival, se;         /* Greenwood */
  struct be_interval interval; /* by log(-log), the level given */
};
/* Of specimens as they are: links are not looked at. At a survival of 0 the interval is
 * not-a-number. held rises by load, bounds after events of the same load; steps has n places. */
size_t be_kaplan_meier(const struct be_held *held, size_t n, double level, struct be_step *steps);
/* Lowest load at which survival is 1 - p or less, with its interval (Brookmeyer and
 * Crowley 1982); not-a-number where the estimate does not come down so far, an upper end that
 * its interval does not come down to infinite. */
void be_kaplan_meier_quantile(const struct be_step *steps, size_t count, double p,
                              struct be_measure *load);
/* The mean of loads, those above `limit` counted as the limit: the area under the steps up to
 * it. Variance for large samples: df is infinite. */
struct be_estimate be_kaplan_meier_mean(const struct be_step *steps, size_t count, double limit);
/* Log-rank comparison of two sets: chi-square of one degree of freedom, and its p. Both as
 * for be_kaplan_meier. */
void be_log_rank(const struct be_held *a, size_t a_n, const struct be_held *b, size_t b_n,
                 double *chi2, double *p);

/* ---- what let go first (causes.c) -------------------------------------------- */

enum { BE_CAUSES_MAX = 8, BE_CAUSE_NONE = -1 };
struct be_caused {
  double load;
  int cause; /* 0 to BE_CAUSES_MAX - 1; BE_CAUSE_NONE: a lower bound */
};
/* Cumulative incidence (Aalen and Johansen 1978) of each cause up to and at `load`, with
 * variance by the delta method; rows rise by load, bounds after events of the same load. The
 * incidences and *intact sum to 1. Interval by log(-log); not-a-number for 0 and 1. */
void be_incidence(const struct be_caused *rows, size_t n, double load, size_t causes, double level,
                  struct be_measure *incidence, double *intact);
/* One knot's own strength where the other let go first: events of `cause`, all else bounds. */
void be_only_cause(const struct be_caused *rows, size_t n, int cause, struct be_held *held);

/* ---- length (length.c) -------------------------------------------------------- */

/* Weakest link: does strength fall with length as eta(L) = eta(1) L^(-1/beta)? Three fits to
 * sets at several lengths: strict, log-linear in log length, and each length by itself. */
struct be_length_fit {
  bool converged;     /* false: figures that could not be had are not-a-number */
  const char *why;    /* null when converged */
  double beta, scale; /* strict: of one unit of length */
  double se_beta, se_scale;
  double slope, slope_se, sigma; /* log-linear: of log scale on log length; theory: -sigma */
  double scale_linear;           /* its scale at length 1 */
  double log_likelihood[3];      /* strict, log-linear, separate */
  double p_strict;               /* likelihood ratio of strict against log-linear, 1 df */
};
/* links are lengths in units of the reference; lengths that are equal belong together. */
void be_length_of(const struct be_held *held, size_t n, struct be_length_fit *fit);

#endif
