/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Randomised blocks. All specimens lie in one row, cell after cell in random order, and of a cell
 * tyer after tyer; they are dealt out to the blocks in turn. What lies side by side in the row
 * (a cell, a tyer's share of it, everything) so falls on the blocks as equally as can be. Blocks
 * are then named by chance, and each is shuffled. */
#include "app/plan/plan.h"

/* A random stream for each purpose, so that none depends on how much another took. */
enum { STREAM_ORDER = 2101 };

static void shuffle(size_t *list, size_t count, struct be_random *random)
{
  for (size_t i = count; i > 1; i--) {
    size_t k = (size_t)be_random_below(random, i), other = list[k];
    list[k] = list[i - 1];
    list[i - 1] = other;
  }
}

static void count_up(size_t *list, size_t count)
{
  for (size_t i = 0; i < count; i++) list[i] = i;
}

/* The row, and the place in the row of each specimen of a block. */
struct deal {
  size_t *cells, *names; /* order of cells; what the blocks are called */
  size_t *row_cell, *row_tyer;
  size_t *places;
};

static void lay_row(const struct plan_grid *grid, size_t tyers, struct deal *deal,
                    struct be_random *random)
{
  size_t at = 0;
  count_up(deal->cells, grid->count);
  shuffle(deal->cells, grid->count, random);
  for (size_t c = 0; c < grid->count; c++) {
    size_t n = grid->cells[deal->cells[c]].n, first = (size_t)be_random_below(random, tyers);
    for (size_t i = 0; i < n; i++, at++) {
      deal->row_cell[at] = deal->cells[c];
      deal->row_tyer[at] = (first + i * tyers / n) % tyers;
    }
  }
}

static void deal_out(const struct deal *deal, struct plan_order *order, struct be_random *random)
{
  size_t at = 0;
  count_up(deal->names, order->blocks);
  shuffle(deal->names, order->blocks, random);
  for (size_t b = 0; b < order->blocks; b++) {
    size_t count = 0;
    for (size_t i = deal->names[b]; i < order->total; i += order->blocks) deal->places[count++] = i;
    shuffle(deal->places, count, random);
    for (size_t i = 0; i < count; i++, at++) {
      order->cell[at] = deal->row_cell[deal->places[i]];
      order->tyer[at] = deal->row_tyer[deal->places[i]];
      order->block[at] = b;
    }
  }
}

enum be_status be_plan_order(const struct plan_grid *grid, size_t blocks, size_t tyers,
                             uint64_t seed, struct be_arena *arena, struct plan_order *order,
                             struct be_err *err)
{
  size_t total = grid->knotted + grid->plain;
  *order = (struct plan_order){.total = total, .blocks = blocks};
  size_t *list = be_arena_alloc(arena, (6 * total + grid->count + blocks + 1) * sizeof *list);
  if (!list) return be_no_memory(err);
  order->cell = list;
  order->block = list + total;
  order->tyer = list + 2 * total;
  struct deal deal = {.row_cell = list + 3 * total,
                      .row_tyer = list + 4 * total,
                      .places = list + 5 * total,
                      .cells = list + 6 * total,
                      .names = list + 6 * total + grid->count};
  struct be_random random;
  be_random_init(&random, seed, STREAM_ORDER);
  lay_row(grid, tyers, &deal, &random);
  deal_out(&deal, order, &random);
  return BE_OK;
}
