/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Steps of a verification and the classes of ISO 7500-1:2018. The limits are from
 * memory of the standard: have it at hand before they are quoted. Those of the
 * lowest force follow from that of the resolution: 400, 200, 100 and 67 steps. */
#include "rig/calibration/inside.h"

#include <math.h>

const struct be_force_class be_force_classes[BE_FORCE_CLASSES] = {
    /*       q    b    v     f0    a    */
    {"0.5", 0.5, 0.5, 0.75, 0.05, 0.25},
    {"1", 1.0, 1.0, 1.5, 0.1, 0.5},
    {"2", 2.0, 2.0, 3.0, 0.2, 1.0},
    {"3", 3.0, 3.0, 4.5, 0.3, 1.5},
};

double be_force_lowest_N(size_t force_class, double resolution_N)
{
  return force_class < BE_FORCE_CLASSES
             ? 100 * resolution_N / be_force_classes[force_class].resolution
             : NAN;
}

static bool same_load(double a, double b)
{
  return !(a < b || a > b);
}

/* The step of a load, put in its place when it is new. */
static struct be_force_step *step_of(struct be_force_step *steps, size_t *count, double load_N)
{
  size_t at = 0;
  while (at < *count && steps[at].load_N < load_N) at++;
  if (at < *count && same_load(steps[at].load_N, load_N)) return &steps[at];
  for (size_t i = *count; i > at; i--) steps[i] = steps[i - 1];
  steps[at] = (struct be_force_step){.load_N = load_N};
  ++*count;
  return &steps[at];
}

/* The means of the readings of one load, and the span of the rising ones. */
static void read_step(const struct be_calibration_point *points, size_t n,
                      const struct be_calibration_fit *fit, struct be_force_step *step)
{
  double rising = 0, falling = 0, least = INFINITY, most = -INFINITY;
  for (size_t i = 0; i < n; i++) {
    if (!same_load(points[i].load_N, step->load_N)) continue;
    double force = be_calibration_force(fit, points[i].reading);
    if (points[i].falling) {
      falling += force;
      continue;
    }
    rising += force;
    least = fmin(least, force);
    most = fmax(most, force);
  }
  double percent = 100 / fabs(step->load_N);
  step->indicated_N = step->rising ? rising / (double)step->rising : NAN;
  step->accuracy_percent = percent * (step->indicated_N - step->load_N);
  step->repeatability_percent = step->rising > 1 ? percent * (most - least) : NAN;
  step->reversibility_percent =
      step->falling ? percent * (falling / (double)step->falling - step->indicated_N) : NAN;
}

/* What was not tried does not speak against a class, except that no reading was taken. */
static bool keeps(const struct be_force_step *step, const struct be_force_class *limits)
{
  return fabs(step->accuracy_percent) <= limits->accuracy &&
         !(step->repeatability_percent > limits->repeatability) &&
         !(fabs(step->reversibility_percent) > limits->reversibility) &&
         !(step->resolution_percent > limits->resolution);
}

size_t be_force_steps(const struct be_calibration_point *points, size_t n,
                      const struct be_calibration_fit *fit, double resolution_N,
                      struct be_force_step *steps)
{
  size_t count = 0;
  for (size_t i = 0; i < n; i++) {
    if (!(fabs(points[i].load_N) > 0)) continue;
    struct be_force_step *step = step_of(steps, &count, points[i].load_N);
    if (points[i].falling) step->falling++;
    else step->rising++;
  }
  for (size_t i = 0; i < count; i++) {
    read_step(points, n, fit, &steps[i]);
    steps[i].resolution_percent = 100 * resolution_N / fabs(steps[i].load_N);
    size_t class = 0;
    while (class < BE_FORCE_CLASSES && !keeps(&steps[i], &be_force_classes[class])) class ++;
    steps[i].force_class = class;
  }
  return count;
}

struct be_force_range be_force_verified(const struct be_force_step *steps, size_t count,
                                        size_t force_class)
{
  struct be_force_range best = {NAN, NAN, 0}, run = best;
  for (size_t i = 0; i < count; i++) {
    if (steps[i].force_class > force_class) {
      run.steps = 0;
      continue;
    }
    if (run.steps++ == 0) run.from_N = steps[i].load_N;
    run.to_N = steps[i].load_N;
    if (run.steps >= best.steps) best = run;
  }
  return best;
}
