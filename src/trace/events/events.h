/* SPDX-License-Identifier: GPL-3.0-or-later */
/* events: what happened in one pull. events.c asks the others in turn: smooth.c for the
 * noise, zero.c, peak.c, ending.c, slips.c, stages.c, slopes.c, trust.c, flags.c, suggest.c. */
#ifndef BE_TRACE_EVENTS_H
#define BE_TRACE_EVENTS_H

#include "trace/text/text.h"

/* ---- smooth.c ---- */

/* Running median of three; out may not alias x. */
void be_smooth(const double *restrict x, size_t n, double *restrict out);
/* Deviation of one reading from its neighbours, free of the slope, from at most
 * BE_NOISE_ROWS places spread over the trace; scratch has room for so many.
 * *step: what the readings step by; 0 when they show no step. */
enum { BE_NOISE_ROWS = 4096 };
double be_noise(const double *x, size_t n, double *scratch, double *step);
/* The same from readings in threes, each three following one another. */
double be_noise_of_triples(const double *x, size_t triples, double *scratch, double *step);

/* ---- what happened ---- */

struct be_pull {
  const struct be_trace *trace;
  const struct be_trace_known *known;
  const double *smooth; /* n long */
  double *scratch;      /* n long */
  double zero_N;        /* 0 when it is not known */
  double noise_N;       /* deviation of a kept row; of a thinned trace, more than of a reading */
  size_t ties;          /* rows as high as the peak */
};

static inline struct be_rows be_no_rows(void)
{
  return (struct be_rows){1, 0};
}

void be_zero_find(const struct be_pull *pull, struct be_trace_events *events);
void be_zero_after_find(const struct be_pull *pull, struct be_trace_events *events);
void be_plateau_find(const struct be_pull *pull, struct be_trace_events *events);
void be_slips_find(const struct be_pull *pull, struct be_trace_events *events);
void be_stages_find(const struct be_pull *pull, struct be_trace_events *events);
void be_ending_find(const struct be_pull *pull, struct be_trace_events *events);
void be_slopes_find(const struct be_pull *pull, struct be_trace_events *events);
/* What the rig may have lost of the peak, and how fine it reads. */
void be_trust_find(const struct be_pull *pull, double step, struct be_trace_events *events);
void be_flags_find(const struct be_pull *pull, struct be_trace_events *events);
void be_suggest(const struct be_pull *pull, struct be_trace_events *events);
/* What stands on 1 in the file's unit of a role: N, m or s. */
double be_unit_factor(const struct be_trace *trace, enum be_role role);
/* The deviations that noise passes in any of so many pairs with this chance at
 * most: see the slip rule. */
double be_noise_reach(double pairs, double chance);
/* Least-squares change of x over its n values. */
double be_rise_over(const double *x, size_t n);
double be_mean(const double *x, size_t n);

#endif
