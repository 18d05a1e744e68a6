/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the files of this folder share and nobody else needs. */
#ifndef BE_STATS_SAMPLE_INSIDE_H
#define BE_STATS_SAMPLE_INSIDE_H

#include "stats/sample/sample.h"

/* Fills in boot from the figures of all resamplings, which it sorts. value and
 * acceleration stand in boot already; acceleration may be not-a-number. */
void be_boot_finish(double *figures, size_t times, double level, struct be_boot *boot);

/* The interval between order statistics r and count + 1 - r, counted from 1, that a
 * test of ranks gives: the greatest r >= 1 for which 2 P(D <= r - 1) is no more than
 * 1 - level, mass[d] = P(D = d). Sets *reached to what it covers, which is less than
 * level where r = 1 does not do. */
size_t be_order_interval(const double *mass, size_t count, double level, double *reached);
/* The same by the normal distribution of D, with the correction for continuity; never
 * below 1. */
size_t be_order_interval_normal(double mean, double sd, double level);

#endif
