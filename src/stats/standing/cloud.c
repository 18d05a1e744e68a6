/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/standing/inside.h"

#include <math.h>
#include <string.h>

/* What a covariance may be wrong by, of its variances: those of a fitted model are good to
 * about 1e-10, and a true fault is far greater. */
static const double TOLERANCE = 1e-9;
/* By which what is left of a covariance may differ from 0 where a variance of TOLERANCE is taken
 * as 0: the geometric mean of that and 1. */
static const double LEFT_OVER = 3.2e-5;

static bool known(const struct be_standing *standing, size_t i)
{
  return !isnan(standing->value[i]) && !isnan(standing->covariance[i * standing->count + i]);
}

/* Pairs are counted from 1 in what is said. */
static enum be_status check_pair(const struct be_cloud *cloud, size_t i, size_t j, double ij,
                                 double ji, struct be_err *err)
{
  size_t a = cloud->knot[j] + 1, b = cloud->knot[i] + 1;
  double scale =
      sqrt(cloud->variance[i * cloud->count + i]) * sqrt(cloud->variance[j * cloud->count + j]);
  if (!isfinite(ij) || !isfinite(ji))
    return be_fail(err, BE_BAD_INPUT, "the covariance of knots %zu and %zu is no number", a, b);
  if (fabs(ij - ji) > TOLERANCE * scale)
    return be_fail(err, BE_BAD_INPUT,
                   "the covariance of knots %zu and %zu is %g one way and %g the other", a, b, ji,
                   ij);
  if (fabs(ij) > scale * (1 + TOLERANCE))
    return be_fail(err, BE_BAD_INPUT,
                   "the covariance of knots %zu and %zu is %g, more than their deviations allow "
                   "(%g)",
                   a, b, ij, scale);
  return BE_OK;
}

static enum be_status fill(const struct be_standing *standing, struct be_cloud *cloud,
                           struct be_err *err)
{
  size_t n = cloud->count, all = standing->count;
  for (size_t i = 0; i < n; i++) {
    size_t a = cloud->knot[i];
    double own = standing->covariance[a * all + a];
    cloud->value[i] = standing->value[a];
    if (!isfinite(cloud->value[i]))
      return be_fail(err, BE_BAD_INPUT, "the value of knot %zu is infinite", a + 1);
    if (!(own >= 0 && isfinite(own)))
      return be_fail(err, BE_BAD_INPUT, "the variance of knot %zu is %g", a + 1, own);
    cloud->variance[i * n + i] = own;
    for (size_t j = 0; j < i; j++) {
      size_t b = cloud->knot[j];
      double ij = standing->covariance[a * all + b], ji = standing->covariance[b * all + a];
      enum be_status status = check_pair(cloud, i, j, ij, ji, err);
      if (status != BE_OK) return status;
      cloud->variance[i * n + j] = cloud->variance[j * n + i] = ij / 2 + ji / 2;
    }
  }
  return BE_OK;
}

/* The one of the knots before i that i hangs together with most: to name a pair. */
static size_t partner(const struct be_cloud *cloud, size_t i)
{
  size_t n = cloud->count, most = 0;
  double greatest = -1;
  for (size_t j = 0; j < i; j++) {
    double size = fabs(cloud->variance[i * n + j]) / sqrt(cloud->variance[j * n + j]);
    if (size > greatest) greatest = size, most = j;
  }
  return most;
}

/* Cholesky's factor, a pivot within TOLERANCE of 0 being 0 with all its column, which for a
 * positive semi-definite matrix it must be. Own code because GSL's calls its error handler for
 * such a matrix. */
static enum be_status factor(struct be_cloud *cloud, struct be_err *err)
{
  size_t n = cloud->count;
  double *root = cloud->root;
  memset(root, 0, n * n * sizeof *root);
  for (size_t i = 0; i < n; i++) {
    double *row = root + i * n, own = cloud->variance[i * n + i];
    double left = own;
    for (size_t j = 0; j < i; j++) {
      const double *other = root + j * n;
      double sum = cloud->variance[i * n + j];
      for (size_t k = 0; k < j; k++) sum -= row[k] * other[k];
      double scale = sqrt(own) * sqrt(cloud->variance[j * n + j]);
      if (other[j] > 0) row[j] = sum / other[j];
      else if (fabs(sum) > LEFT_OVER * scale) {
        be_fail(err, BE_BAD_INPUT,
                "the covariance of knots %zu and %zu cannot be, with those before them",
                cloud->knot[j] + 1, cloud->knot[i] + 1);
        return be_fail_remedy(err, "it must be positive semi-definite");
      }
      left -= row[j] * row[j];
    }
    if (left < -LEFT_OVER * own) {
      be_fail(err, BE_BAD_INPUT,
              "the covariance of knots %zu and %zu cannot be, with those before them",
              cloud->knot[partner(cloud, i)] + 1, cloud->knot[i] + 1);
      return be_fail_remedy(err, "it must be positive semi-definite");
    }
    if (left > TOLERANCE * own) row[i] = sqrt(left);
  }
  return BE_OK;
}

enum be_status be_cloud_make(const struct be_standing *standing, struct be_cloud *cloud,
                             struct be_err *err)
{
  *cloud = (struct be_cloud){.df = standing->df};
  if (standing->count > BE_KNOTS_MAX)
    return be_fail(err, BE_TOO_LARGE, "at most %d knots can stand side by side", BE_KNOTS_MAX);
  if (!(standing->df > 0))
    return be_fail(err, BE_BAD_INPUT, "%g degrees of freedom are none", standing->df);
  size_t count = standing->count, most = count ? count : 1;
  cloud->knot = be_alloc_array(most, sizeof *cloud->knot);
  if (!cloud->knot) return be_fail(err, BE_NO_MEMORY, "no memory for %zu knots", count);
  for (size_t i = 0; i < count; i++)
    if (known(standing, i)) cloud->knot[cloud->count++] = i;
  size_t n = cloud->count ? cloud->count : 1;
  cloud->value = be_alloc_array(n, sizeof *cloud->value);
  cloud->variance = be_alloc_array(n * n, sizeof *cloud->variance);
  cloud->root = be_alloc_array(n * n, sizeof *cloud->root);
  if (!cloud->value || !cloud->variance || !cloud->root)
    return be_fail(err, BE_NO_MEMORY, "no memory for %zu knots", count);
  enum be_status status = fill(standing, cloud, err);
  return status == BE_OK ? factor(cloud, err) : status;
}

void be_cloud_free(struct be_cloud *cloud)
{
  be_free(cloud->root);
  be_free(cloud->variance);
  be_free(cloud->value);
  be_free(cloud->knot);
}

enum be_status be_standing_check(const struct be_standing *standing, struct be_err *err)
{
  struct be_cloud cloud;
  enum be_status status = be_cloud_make(standing, &cloud, err);
  be_cloud_free(&cloud);
  return status;
}

enum be_status be_cloud_bear(const struct be_cloud *cloud, const struct be_resampling *by,
                             struct be_err *err)
{
  if (by->times == 0) return be_fail(err, BE_WRONG_USE, "no drawing says nothing");
  if (by->times > BE_STANDING_DRAWS_MAX / (cloud->count ? cloud->count : 1))
    return be_fail(err, BE_TOO_LARGE, "%zu drawings of %zu knots are more than %d numbers",
                   by->times, cloud->count, BE_STANDING_DRAWS_MAX);
  return BE_OK;
}

/* G. Marsaglia and W. W. Tsang, ACM TOMS 26 (2000): a shape below 1 by the power of a unit. */
static double gamma_draw(struct be_random *random, double shape)
{
  double boost = 1;
  if (shape < 1) {
    boost = pow(1 - be_random_unit(random), 1 / shape);
    shape += 1;
  }
  double d = shape - 1.0 / 3, c = 1 / sqrt(9 * d);
  for (;;) {
    double x = be_random_normal(random), v = 1 + c * x;
    if (v <= 0) continue;
    v = v * v * v;
    double u = 1 - be_random_unit(random);
    if (log(u) < x * x / 2 + d - d * v + d * log(v)) return boost * d * v;
  }
}

/* The scale is drawn first. Above 1e9 degrees of freedom it moves nothing that shows. */
void be_cloud_draw(const struct be_cloud *cloud, uint64_t seed, uint64_t stream, double *drawn)
{
  struct be_random random;
  be_random_init(&random, seed, stream);
  size_t n = cloud->count;
  double scale = 1;
  if (cloud->df < 1e9) {
    double half = gamma_draw(&random, cloud->df / 2);
    /* A scale of 0 is one that fell below the smallest double. */
    scale = sqrt(cloud->df / 2 / fmax(half, 1e-280));
  }
  for (size_t i = 0; i < n; i++) drawn[i] = scale * be_random_normal(&random);
  for (size_t i = n; i-- > 0;) {
    const double *row = cloud->root + i * n;
    double sum = 0;
    for (size_t j = 0; j <= i; j++) sum += row[j] * drawn[j];
    drawn[i] = sum;
  }
}
