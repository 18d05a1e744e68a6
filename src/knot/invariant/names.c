/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Of a sum of knots the polynomials multiply and the signatures add, each with the sign of the
 * mirror image that is taken (Rolfsen 1976, chapters 7 and 8; Murasugi 1965). */
#include "knot/invariant/inside.h"

#include <stdlib.h>
#include <string.h>

enum { CROSSINGS_LEAST = 3, CROSSINGS_MOST = 10, PARTS_MOST = 3 };

struct search {
  const struct be_polynomial *alexander;
  int signature;
  struct be_named *names;
  size_t count;
  size_t parts;
  const struct be_prime *part[PARTS_MOST];
};

static struct be_polynomial polynomial_of(const struct be_prime *prime)
{
  struct be_polynomial whole = {0};
  size_t degree = sizeof prime->half - 1;
  while (degree > 0 && prime->half[degree] == 0) degree--;
  whole.count = 2 * degree + 1;
  for (size_t i = 0; i < whole.count; i++)
    whole.coefficient[i] = prime->half[i < degree ? degree - i : i - degree];
  return whole;
}

static bool same(const struct be_polynomial *a, const struct be_polynomial *b)
{
  return a->count == b->count &&
         memcmp(a->coefficient, b->coefficient, a->count * sizeof a->coefficient[0]) == 0;
}

/* Bit k of the mask: the last part but k is mirrored. */
static bool mirrored(unsigned mask, size_t parts, size_t k)
{
  return mask >> (parts - 1 - k) & 1;
}

/* The first choice of mirror images, the last parts first, that has the signature. */
static bool choose_mirrors(const struct search *search, unsigned *mask)
{
  for (*mask = 0; *mask < 1U << (search->parts - 1); ++*mask) {
    int sum = 0;
    bool in_vain = false;
    for (size_t k = 0; k < search->parts; k++) {
      bool turned = mirrored(*mask, search->parts, k);
      sum += turned ? -search->part[k]->signature : search->part[k]->signature;
      in_vain = in_vain || (turned && search->part[k]->signature == 0);
    }
    if (!in_vain && abs(sum) == search->signature) return true;
  }
  return false;
}

static void name_it(struct search *search, unsigned mask)
{
  if (search->count == BE_NAMED_MAX) return;
  struct be_named *named = &search->names[search->count++];
  *named = (struct be_named){.parts = (int)search->parts};
  for (size_t k = 0; k < search->parts; k++) {
    if (k > 0) strcat(named->name, " # ");
    if (mirrored(mask, search->parts, k)) strcat(named->name, "mirror ");
    strcat(named->name, search->part[k]->name);
    named->crossings += search->part[k]->crossings;
  }
  if (search->parts == 1) named->words = search->part[0]->words;
  else if (strcmp(named->name, "3_1 # 3_1") == 0) named->words = "granny";
  else if (strcmp(named->name, "3_1 # mirror 3_1") == 0) named->words = "reef";
}

static void compare(struct search *search)
{
  struct be_polynomial product = polynomial_of(search->part[0]);
  for (size_t k = 1; k < search->parts; k++) {
    struct be_polynomial factor = polynomial_of(search->part[k]), made = {0};
    made.count = product.count + factor.count - 1;
    for (size_t i = 0; i < product.count; i++)
      for (size_t j = 0; j < factor.count; j++)
        made.coefficient[i + j] += product.coefficient[i] * factor.coefficient[j];
    product = made;
  }
  unsigned mask;
  if (same(&product, search->alexander) && choose_mirrors(search, &mask)) name_it(search, mask);
}

/* All sums of `more` further parts, none before `from`, that use up the crossings left. */
static void extend(struct search *search, size_t more, size_t from, int left)
{
  size_t primes;
  const struct be_prime *prime = be_primes(&primes);
  for (size_t i = from; i < primes && prime[i].crossings * (int)more <= left; i++) {
    if (more == 1 && prime[i].crossings < left) continue;
    search->part[search->parts++] = &prime[i];
    if (more == 1) compare(search);
    else extend(search, more - 1, i, left - prime[i].crossings);
    search->parts--;
  }
}

void be_names_find(const struct be_polynomial *alexander, int signature,
                   struct be_named names[BE_NAMED_MAX], size_t *count)
{
  struct search search = {.alexander = alexander, .signature = abs(signature), .names = names};
  if (alexander->count == 1 && alexander->coefficient[0] == 1 && signature == 0)
    names[search.count++] = (struct be_named){
        .name = "0_1", .words = "the unknot, or one of those that share its numbers"};
  for (int crossings = CROSSINGS_LEAST; crossings <= CROSSINGS_MOST; crossings++)
    for (size_t parts = 1; parts <= PARTS_MOST; parts++) extend(&search, parts, 0, crossings);
  *count = search.count;
}
