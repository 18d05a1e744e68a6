/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Makes the books. */
#include "books.h"

#include <stdlib.h>
#include <string.h>

const char *const term_names[TERMS] = {"line", "spool", "cell", "day", "tyer"};

static const struct book_plan plans[] = {
    {40, 4, 6, 1, 1, 2, 0, 0.1, {0.2, 0, 0.07}, 0, 0.06, false},
    {60, 5, 5, 1, 1, 3, 0, 0.2, {0.25, 0.06}, 0, 0.08, false},
    {95, 6, 8, 12, 1, 1, 0, 0.3, {0.3, 0, 0.06, 0.03}, 0, 0.07, false},
    {140, 6, 7, 1, 5, 2, 0, 0.15, {0.2, 0.05, 0, 0, 0.03}, 0, 0.09, true},
    {230, 9, 9, 1, 1, 1, 3, 0.25, {0.25, 0.07, 0.06}, 0, 0.08, false},
    {300, 8, 10, 25, 4, 3, 0, 0.2, {0.3, 0.06, 0.07, 0.03, 0.02}, 0, 0.08, false},
    {420, 6, 14, 1, 1, 2, 0, 0.2, {0.2, 0, 0.06}, 0.03, 0.07, false},
    {700, 12, 12, 40, 5, 3, 0, 0.3, {0.3, 0.06, 0.07, 0.04, 0.02}, 0, 0.8, false},
    {2000, 20, 25, 90, 6, 4, 0, 0.4, {0.3, 0.05, 0.08, 0.03, 0.03}, 0, 0.09, false},
    {5000, 40, 40, 1, 8, 5, 0, 0.5, {0.3, 0.05, 0.08, 0, 0.02}, 0, 0.1, false},
    {170, 7, 8, 1, 1, 1, 0, 0.2, {0.2, 0.1, 0.06}, 0, 0.08, false},
};

static void *take(size_t count, size_t size)
{
  void *block = calloc(count ? count : 1, size);
  if (!block) exit(4);
  return block;
}

/* The first of a kind have most pulls. */
static uint32_t seldom(struct be_random *random, size_t count)
{
  return (uint32_t)((double)count * pow(be_random_unit(random), 1.5));
}

static double *effects(struct be_random *random, size_t count, double deviation)
{
  double *effect = take(count, sizeof *effect);
  for (size_t i = 0; i < count; i++) effect[i] = deviation * be_random_normal(random);
  return effect;
}

/* Where each pull belongs. Every knot keeps a line at least. */
static void lay_out(struct book *book, struct be_random *random)
{
  const struct book_plan *plan = book->plan;
  bool *gap = take(plan->knots * plan->lines, sizeof *gap);
  size_t *first_spool = take(plan->lines + 1, sizeof *first_spool);
  for (size_t c = 0; c < plan->knots * plan->lines; c++)
    gap[c] =
        c % plan->lines != c / plan->lines % plan->lines && be_random_unit(random) < plan->gaps;
  for (size_t l = 0; l < plan->lines; l++) {
    size_t spools = 1 + (size_t)be_random_below(random, plan->spools);
    if (plan->second && l % plan->second == 0) spools = 2;
    first_spool[l + 1] = first_spool[l] + spools;
  }
  book->levels[LINE] = plan->lines;
  book->levels[SPOOL] = first_spool[plan->lines];
  book->levels[CELL] = plan->knots * plan->lines;
  book->levels[DAY] = plan->days;
  book->levels[TYER] = plan->tyers;
  for (size_t i = 0; i < plan->pulls; i++) {
    /* Once all knots in turn, so that none is without pulls. */
    uint32_t knot, line;
    do {
      knot = i < plan->knots ? (uint32_t)i : seldom(random, plan->knots);
      line = seldom(random, plan->lines);
    } while (gap[knot * plan->lines + line]);
    book->knot[i] = knot;
    book->level[LINE][i] = line;
    book->level[SPOOL][i] =
        (uint32_t)(first_spool[line] + seldom(random, first_spool[line + 1] - first_spool[line]));
    book->level[CELL][i] = (uint32_t)(knot * plan->lines + line);
    book->level[DAY][i] = seldom(random, plan->days);
    book->level[TYER][i] = seldom(random, plan->tyers);
    book->turns[i] = 3 + (double)be_random_below(random, 5);
  }
  free(first_spool);
  free(gap);
}

static void take_means_away(double *scatter, const uint32_t *level, size_t levels, size_t n)
{
  double *sum = take(levels, sizeof *sum), *count = take(levels, sizeof *count);
  for (size_t i = 0; i < n; i++) {
    sum[level[i]] += scatter[i];
    count[level[i]]++;
  }
  for (size_t i = 0; i < n; i++) scatter[i] -= sum[level[i]] / count[level[i]];
  free(count);
  free(sum);
}

static void load(struct book *book, struct be_random *random)
{
  const struct book_plan *plan = book->plan;
  double *knot = effects(random, plan->knots, 0.15);
  double *scatter = effects(random, plan->pulls, plan->scatter);
  double *slope = effects(random, plan->lines, plan->slope);
  if (plan->same_tyers) take_means_away(scatter, book->level[TYER], plan->tyers, plan->pulls);
  for (size_t i = 0; i < plan->pulls; i++)
    book->y[i] = 4.6 + knot[book->knot[i]] +
                 (0.017 + slope[book->level[LINE][i]]) * book->turns[i] + scatter[i];
  for (enum term t = LINE; t < TERMS; t++) {
    double *effect =
        effects(random, book->levels[t], plan->same_tyers && t == TYER ? 0 : plan->deviation[t]);
    for (size_t i = 0; i < plan->pulls; i++) book->y[i] += effect[book->level[t][i]];
    free(effect);
  }
  free(slope);
  free(scatter);
  free(knot);
}

bool is_one(const struct book_plan *plan)
{
  return plan->deviation[SPOOL] > 0 && plan->spools == 1 && !plan->second;
}

static void write_book(const struct peers *peers, const struct book *book, size_t number)
{
  const struct book_plan *plan = book->plan;
  char asked[100] = "";
  for (enum term t = LINE; t < TERMS; t++)
    if (plan->deviation[t] > 0 && !(t == SPOOL && is_one(plan))) {
      size_t at = strlen(asked);
      snprintf(asked + at, sizeof asked - at, "%s%s%s%s", at ? " " : "",
               t == LINE && plan->slope > 0 ? "turns|" : "", term_names[t],
               t == LINE && is_one(plan) ? "+spool" : "");
    }
  for (size_t i = 0; i < plan->pulls; i++)
    fprintf(peers->books, "book %zu,%s,%.17g,%u,%.17g,%u,%u,%u,%u,%u\n", number, asked, book->y[i],
            (unsigned)book->knot[i], book->turns[i], (unsigned)book->level[LINE][i],
            (unsigned)book->level[SPOOL][i], (unsigned)book->level[CELL][i],
            (unsigned)book->level[DAY][i], (unsigned)book->level[TYER][i]);
}

void each_book(struct peers *peers)
{
  for (size_t number = 0; number < sizeof plans / sizeof *plans; number++) {
    static const char *const methods[] = {"REML", "ML"};
    struct book book = {.plan = &plans[number]};
    size_t n = book.plan->pulls;
    struct be_random random;
    be_random_init(&random, 2027, 7000 + number);
    book.knot = take(n, sizeof *book.knot);
    book.turns = take(n, sizeof *book.turns);
    book.y = take(n, sizeof *book.y);
    for (enum term t = LINE; t < TERMS; t++) book.level[t] = take(n, sizeof *book.level[t]);
    lay_out(&book, &random);
    load(&book, &random);
    write_book(peers, &book, number);
    for (enum be_mixed_method method = BE_MIXED_REML; method <= BE_MIXED_ML; method++) {
      char name[40];
      snprintf(name, sizeof name, "book %zu %s", number, methods[method]);
      peers->name = name;
      fitted_book(peers, &book, method);
    }
    for (enum term t = LINE; t < TERMS; t++) free(book.level[t]);
    free(book.y);
    free(book.turns);
    free(book.knot);
  }
}
