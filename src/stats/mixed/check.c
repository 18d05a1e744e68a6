/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/mixed/inside.h"

#include <assert.h>
#include <math.h>

static enum be_status check_sizes(const struct be_mixed_data *data, struct be_err *err)
{
  if (data->n > INT32_MAX / 2)
    return be_fail(err, BE_TOO_LARGE, "a mixed model takes at most %d pulls", INT32_MAX / 2);
  if (data->term_count > BE_MIXED_TERMS_MAX)
    return be_fail(err, BE_TOO_LARGE, "a mixed model takes at most %d random terms",
                   BE_MIXED_TERMS_MAX);
  if (data->fixed.columns > BE_MIXED_FIXED_MAX)
    return be_fail(err, BE_TOO_LARGE, "a mixed model takes at most %d fixed columns",
                   BE_MIXED_FIXED_MAX);
  if (data->fixed.columns == 0)
    return be_fail(err, BE_BAD_INPUT, "a mixed model needs at least one fixed column");
  return BE_OK;
}

static enum be_status check_rows(const struct be_mixed_data *data, struct be_err *err)
{
  const struct be_mixed_design *fixed = &data->fixed;
  size_t events = 0;
  for (size_t i = 0; i < data->n; i++) {
    if (!isfinite(data->y[i]))
      return be_fail(err, BE_BAD_INPUT, "row %zu: the value is not a finite number", i + 1);
    events += !(data->bound && data->bound[i]);
    assert(fixed->start[i] <= fixed->start[i + 1]);
    for (size_t k = fixed->start[i]; k < fixed->start[i + 1]; k++) {
      assert(fixed->column[k] < fixed->columns);
      assert(k == fixed->start[i] || fixed->column[k - 1] < fixed->column[k]);
      if (fixed->value && !isfinite(fixed->value[k]))
        return be_fail(err, BE_BAD_INPUT, "row %zu: fixed column %u is not a finite number", i + 1,
                       (unsigned)fixed->column[k] + 1);
    }
  }
  if (events < 2)
    return be_fail(err, BE_BAD_INPUT, "%zu of %zu rows are no lower bounds; 2 are the fewest",
                   events, data->n);
  return BE_OK;
}

/* A column that stands in lower bounds alone has no highest likelihood. */
static enum be_status check_bounds(const struct be_mixed_data *data, struct be_err *err)
{
  const struct be_mixed_design *fixed = &data->fixed;
  enum { NEVER, BOUNDS, EVENTS };
  unsigned char *seen = be_alloc_array(fixed->columns, 1);
  if (!seen) return be_fail(err, BE_NO_MEMORY, "no memory for %zu fixed columns", fixed->columns);
  for (size_t i = 0; i < data->n; i++)
    for (size_t k = fixed->start[i]; k < fixed->start[i + 1]; k++) {
      if (fixed->value && fixed->value[k] == 0) continue;
      unsigned char now = data->bound[i] ? BOUNDS : EVENTS, *was = &seen[fixed->column[k]];
      if (now > *was) *was = now;
    }
  enum be_status status = BE_OK;
  for (size_t j = 0; j < fixed->columns && status == BE_OK; j++) {
    if (seen[j] != BOUNDS) continue;
    status = be_fail(err, BE_BAD_INPUT, "all pulls of fixed column %zu are lower bounds", j + 1);
    be_fail_remedy(err, "leave these pulls out: how strong they are is open above");
  }
  be_free(seen);
  return status;
}

static enum be_status check_levels(const struct be_mixed_data *data, size_t t, const char *name,
                                   struct be_err *err)
{
  const struct be_mixed_term *term = &data->terms[t];
  bool *seen = be_alloc_array(term->levels, sizeof *seen);
  if (!seen) return be_fail(err, BE_NO_MEMORY, "no memory for the levels of %s", name);
  size_t used = 0;
  for (size_t i = 0; i < data->n; i++) {
    assert(term->level[i] < term->levels);
    used += !seen[term->level[i]];
    seen[term->level[i]] = true;
  }
  be_free(seen);
  if (used < 2) {
    be_fail(err, BE_BAD_INPUT, "the random term %s has one level, which cannot scatter", name);
    return be_fail_remedy(err, "leave %s out of the model", name);
  }
  if (used >= data->n && term->width == 1 && !term->z[0]) {
    be_fail(err, BE_BAD_INPUT, "the random term %s has a level for each of the %zu rows", name,
            data->n);
    return be_fail_remedy(err, "leave %s out: it cannot be told from what is left over", name);
  }
  return BE_OK;
}

static enum be_status check_term(const struct be_mixed_data *data, size_t t, struct be_err *err)
{
  const struct be_mixed_term *term = &data->terms[t];
  const char number[2] = {(char)(0x31 + t), 0};
  assert(term->width >= 1 && term->width <= BE_MIXED_WIDTH_MAX && term->levels > 0);
  const char *name = term->name ? term->name : number;
  if (term->levels > INT32_MAX / 8)
    return be_fail(err, BE_TOO_LARGE, "the random term %s has %zu levels; %d are the most", name,
                   term->levels, INT32_MAX / 8);
  for (size_t c = 0; c < term->width; c++)
    for (size_t i = 0; term->z[c] && i < data->n; i++)
      if (!isfinite(term->z[c][i]))
        return be_fail(err, BE_BAD_INPUT, "row %zu: a number of the random term %s is not finite",
                       i + 1, name);
  return check_levels(data, t, name, err);
}

enum be_status be_mixed_check(const struct be_mixed_data *data, struct be_err *err)
{
  enum be_status status = check_sizes(data, err);
  if (status == BE_OK) status = check_rows(data, err);
  if (status == BE_OK && data->bound) status = check_bounds(data, err);
  for (size_t t = 0; t < data->term_count && status == BE_OK; t++)
    status = check_term(data, t, err);
  return status;
}
