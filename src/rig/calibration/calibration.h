/* SPDX-License-Identifier: GPL-3.0-or-later */
/* calibration: what makes forces of readings, how far they can be trusted, and
 * whether they still can. Pure arithmetic on plain arrays; no clock, no disk, and
 * nothing is allocated. What the numbers cannot give is not-a-number.
 *
 *     known loads -> points -> fit -> force of a reading, with its uncertainty
 *                           -> steps -> class, verified range
 *     check weight, again and again -> chart          dates -> due */
#ifndef BE_RIG_CALIBRATION_H
#define BE_RIG_CALIBRATION_H

#include "base/base.h"
#include "units/units.h"

/* ---- points and fit ----------------------------------------------------- */

enum { BE_CALIBRATION_POINTS_MAX = 200 };

/* One reading under one known load. */
struct be_calibration_point {
  double load_N;
  double reading;
  bool falling; /* taken while unloading */
};

enum be_calibration_curve {
  BE_CURVE_STRAIGHT,     /* reading = a + b load */
  BE_CURVE_THROUGH_ZERO, /* reading = b load */
  BE_CURVE_BENT,         /* reading = a + b load + c load^2 */
};
/* "straight", "through zero", "bent" */
const char *be_calibration_curve_word(enum be_calibration_curve curve);
enum { BE_CURVE_TERMS = 3 };

struct be_calibration_fit {
  enum be_calibration_curve curve;
  size_t n;
  size_t loads;                 /* different ones */
  double least_N, most_N;       /* of the loads */
  double power[BE_CURVE_TERMS]; /* reading = power[0] + power[1] load + power[2] load^2 */
  double residual_sd;           /* of a reading; not-a-number without degrees of freedom */
  size_t df;                    /* n less the terms */
  /* Of orthogonal terms in load / scale (Forsythe 1957). */
  double scale, at[BE_CURVE_TERMS], back[BE_CURVE_TERMS], sum[BE_CURVE_TERMS], term[BE_CURVE_TERMS];
};

/* Least squares of reading on load, for the loads are known and the readings scatter.
 * BE_BAD_INPUT with fewer different loads than terms, a number that is none, or a curve
 * that does not rise or fall over all of its loads. */
enum be_status be_calibration_fit_points(const struct be_calibration_point *points, size_t n,
                                         enum be_calibration_curve curve,
                                         struct be_calibration_fit *fit, struct be_err *err);
double be_calibration_reading(const struct be_calibration_fit *fit, double load_N);
/* Not-a-number where no load gives the reading. Outside of the loads that were applied
 * the curve goes on. */
double be_calibration_load(const struct be_calibration_fit *fit, double reading);
/* Reading less curve. */
double be_calibration_residual(const struct be_calibration_fit *fit,
                               const struct be_calibration_point *point);

/* ---- uncertainty -------------------------------------------------------- */

/* Standard uncertainties of one force, in N, and together. */
struct be_force_budget {
  double load_N;
  double fit_N;        /* of the curve and of `readings` readings by it */
  double reference_N;  /* of the known loads */
  double resolution_N; /* of the reading and of its zero */
  double combined_N;
  double df;              /* effective; infinite when the fit adds nothing */
  double coverage_factor; /* for 95.45 % */
  double expanded_N, expanded_percent;
  bool outside; /* of the loads that were applied: then it says too little */
};
/* reference_percent: expanded uncertainty of the known loads, coverage factor 2, of the load.
 * fit may be null: readings are forces already. */
struct be_force_budget be_calibration_budget(const struct be_calibration_fit *fit, double load_N,
                                             size_t readings, double reference_percent,
                                             double resolution_N);

/* ---- classes ------------------------------------------------------------ */

/* Limits in per cent. */
struct be_force_class {
  const char *name;
  double accuracy, repeatability, reversibility, zero, resolution;
};
enum { BE_FORCE_CLASSES = 4, BE_FORCE_NO_CLASS = BE_FORCE_CLASSES };
extern const struct be_force_class be_force_classes[BE_FORCE_CLASSES]; /* best first */

/* The lowest force whose resolution is fine enough for a class. */
double be_force_lowest_N(size_t force_class, double resolution_N);

/* One known load: its readings, as forces. Per cent of the load. */
struct be_force_step {
  double load_N;
  size_t rising, falling;       /* readings */
  double indicated_N;           /* mean of the rising ones */
  double accuracy_percent;      /* q: of that mean */
  double repeatability_percent; /* b: the largest less the smallest; needs two */
  double reversibility_percent; /* v: falling less rising; not-a-number without falling ones */
  double resolution_percent;
  size_t force_class; /* the best whose limits all of these keep; or BE_FORCE_NO_CLASS */
};
/* Sorts readings into steps of equal load, rising; loads of 0 are left to the zero. `steps`
 * has room for n. Returns how many there are. fit as above. */
size_t be_force_steps(const struct be_calibration_point *points, size_t n,
                      const struct be_calibration_fit *fit, double resolution_N,
                      struct be_force_step *steps);

/* The longest run of steps that keep a class. */
struct be_force_range {
  double from_N, to_N; /* not-a-number without any */
  size_t steps;
};
struct be_force_range be_force_verified(const struct be_force_step *steps, size_t count,
                                        size_t force_class);

/* ---- zero --------------------------------------------------------------- */

struct be_zero {
  size_t n;
  double mean, sd; /* sd needs two */
};
/* Of readings without load; those that are not numbers are left out. */
struct be_zero be_zero_of(const double *readings, size_t n);

struct be_zero_change {
  double change;      /* after less before */
  double uncertainty; /* standard; of the two means */
  double percent;     /* of full scale */
  size_t force_class; /* the best whose limit of zero it keeps; or BE_FORCE_NO_CLASS */
};
/* Both in newtons. */
struct be_zero_change be_zero_compare(const struct be_zero *before, const struct be_zero *after,
                                      double full_scale_N);

/* ---- control chart of a check weight ------------------------------------ */

enum be_chart_mark {
  BE_CHART_FINE,
  BE_CHART_BEYOND, /* outside of the limits */
  BE_CHART_RUN,    /* the eighth or later on one side of the centre */
  BE_CHART_JUMP,   /* too far from the one before */
};
const char *be_chart_mark_words(enum be_chart_mark mark);

struct be_chart {
  size_t n, base;       /* base: how many the limits come from */
  double centre, range; /* mean, and mean of the moving range */
  double sd;            /* range / 1.128 */
  double lower, upper;  /* centre -+ 3 sd, that is -+ 2.66 range */
  double range_upper;   /* 3.267 range */
  size_t marked;        /* of the n */
};
/* Individual values and moving ranges of two. The first `base` values set the limits (0:
 * all of them); `marks` has room for n. BE_BAD_INPUT with fewer than two, or a value that is
 * no number. */
enum be_status be_chart_of(const double *values, size_t n, size_t base, struct be_chart *chart,
                           enum be_chart_mark *marks, struct be_err *err);

/* ---- dates -------------------------------------------------------------- */

/* "2026-03-01" as days since 1970-01-01, in the calendar of today throughout. */
enum be_status be_date_read(const char *text, size_t size, long *day, struct be_err *err);
void be_date_write(long day, char text[16]);
/* The same day of the month so many months later, or the last of a month that is too short. */
long be_date_months_later(long day, int months);

/* ---- a calibration, as it is kept --------------------------------------- */

struct be_calibration {
  char name[64];
  char certificate[64];
  bool dated;
  long day;                               /* when it was done, if dated */
  int months;                             /* until it is due; 0: not told */
  char unit[24];                          /* of the readings; empty: bare numbers */
  double reference_percent, resolution_N; /* not-a-number: not told */
  enum be_calibration_curve curve;
  size_t points_count; /* 0: readings are forces already */
  struct be_calibration_point points[BE_CALIBRATION_POINTS_MAX];
};

/* Days left until it is due on a day; negative when overdue. False when it does not say. */
bool be_calibration_due(const struct be_calibration *calibration, long today, long *days_left);

/* As text, a section "[name]" that be_calibration_parse reads; docs/formats.md. */
void be_calibration_write(struct be_buf *text, const struct be_calibration *calibration);
/* The section of that name in a text, the first when name is null. BE_BAD_INPUT names the
 * line. */
enum be_status be_calibration_parse(const char *text, size_t size, const char *name,
                                    struct be_calibration *calibration, struct be_err *err);

#endif
