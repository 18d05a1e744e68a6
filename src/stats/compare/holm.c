/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/number.h"
#include "stats/compare/compare.h"

#include <math.h>

/* p_(i) becomes max over j <= i of min(1, (m - j + 1) p_(j)) (Holm 1979). */
enum be_status be_holm(const double *p, size_t count, double *adjusted, struct be_err *err)
{
  size_t tested = 0;
  for (size_t i = 0; i < count; i++) {
    if (isnan(p[i])) continue;
    if (!(p[i] >= 0 && p[i] <= 1)) {
      be_fail(err, BE_BAD_INPUT, "p-value %zu of %zu is %g", i + 1, count, p[i]);
      return be_fail_remedy(err, "a p-value lies between 0 and 1");
    }
    tested++;
  }
  if (tested == 0) {
    for (size_t i = 0; i < count; i++) adjusted[i] = NAN;
    return BE_OK;
  }
  double *key = be_alloc_array(tested, sizeof *key);
  size_t *place = be_alloc_array(tested, sizeof *place);
  size_t *order = be_alloc_array(tested, sizeof *order);
  enum be_status status = BE_OK;
  if (!key || !place || !order) {
    status = be_fail(err, BE_NO_MEMORY, "no memory to adjust %zu p-values", tested);
    goto done;
  }
  size_t kept = 0;
  for (size_t i = 0; i < count; i++) {
    adjusted[i] = p[i];
    if (isnan(p[i])) continue;
    key[kept] = p[i];
    place[kept++] = i;
  }
  be_order(key, tested, order);
  double largest = 0;
  for (size_t j = 0; j < tested; j++) {
    largest = fmax(largest, fmin(1, (double)(tested - j) * key[order[j]]));
    adjusted[place[order[j]]] = largest;
  }
done:
  be_free(order);
  be_free(place);
  be_free(key);
  return status;
}
