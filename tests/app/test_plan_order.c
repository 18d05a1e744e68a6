/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Planning: codes looked through one by one, and orders of many seeds. */
#include "app/plan/plan.h"
#include "test.h"

/* ---- codes ---- */

static void code_of(int number, char code[CODE_LENGTH + 1])
{
  for (int i = 0; i < CODE_LENGTH; i++, number /= CODE_VALUES)
    code[i] = be_code_alphabet[number % CODE_VALUES];
  code[CODE_LENGTH] = '\0';
}

/* All 17^4 texts of the alphabet; of the codes among them, every wrong character and every swap. */
static void no_slip_of_one_character_or_two_goes_unnoticed(void **state)
{
  (void)state;
  size_t codes = 0, digits = 0;
  bool seen[CODE_NUMBERS] = {false};
  for (int number = 0; number < CODE_NUMBERS * CODE_VALUES; number++) {
    char code[CODE_LENGTH + 1], slip[CODE_LENGTH + 1];
    code_of(number, code);
    int own = be_code_number(code);
    if (own < 0) continue;
    codes++;
    assert_true(own < CODE_NUMBERS && !seen[own]);
    seen[own] = true;
    digits += strspn(code, "23456789") == CODE_LENGTH;
    for (int i = 0; i < CODE_LENGTH; i++)
      for (int k = 0; k < CODE_VALUES; k++) {
        strcpy(slip, code);
        slip[i] = be_code_alphabet[k];
        if (slip[i] != code[i]) assert_int_equal(be_code_number(slip), -1);
      }
    for (int i = 0; i < CODE_LENGTH; i++)
      for (int k = i + 1; k < CODE_LENGTH; k++) {
        strcpy(slip, code);
        slip[i] = code[k];
        slip[k] = code[i];
        if (code[i] != code[k]) assert_int_equal(be_code_number(slip), -1);
      }
  }
  assert_true(digits == 0);
  /* One in 17 of all texts, less those of digits alone: 8^4 of 17^4 of them, give or take. */
  assert_true(codes > 4600 && codes < CODE_NUMBERS);
}

static void codes_are_easy_to_tell_apart(void **state)
{
  (void)state;
  assert_int_equal(strlen(be_code_alphabet), CODE_VALUES);
  for (int i = 0; i < CODE_VALUES; i++) {
    assert_null(strchr("01AEIOULYQDSZBG", be_code_alphabet[i]));
    assert_null(strchr(be_code_alphabet + i + 1, be_code_alphabet[i]));
  }
  char code[CODE_LENGTH + 1], small[CODE_LENGTH + 1];
  struct be_random random;
  be_random_init(&random, 77, 3);
  for (int n = 0; n < 500; n++) {
    be_code_draw(&random, code);
    for (int i = 0; i <= CODE_LENGTH; i++)
      small[i] = code[i] >= 'A' ? (char)(code[i] - 'A' + 'a') : code[i];
    assert_true(be_code_number(code) >= 0);
    assert_int_equal(be_code_number(small), be_code_number(code));
  }
  assert_int_equal(be_code_number(""), -1);
  assert_int_equal(be_code_number("2345678"), -1);
  assert_int_equal(be_code_number("K0MT"), -1);
  assert_int_equal(be_code_number("2222"), -1); /* the sum is 0, but it is a number */
}

/* ---- order ---- */

/* A grid of some cells with n of each. */
static struct plan_grid grid_of(struct plan_cell *cells, const size_t *n, size_t count)
{
  struct plan_grid grid = {.cells = cells, .count = count};
  for (size_t i = 0; i < count; i++) {
    cells[i] = (struct plan_cell){.n = n[i]};
    grid.knotted += n[i];
  }
  return grid;
}

static size_t count_in(const struct plan_order *order, size_t cell, size_t block, size_t tyer)
{
  size_t count = 0;
  for (size_t i = 0; i < order->total; i++)
    count += (cell == SIZE_MAX || order->cell[i] == cell) && order->block[i] == block &&
             (tyer == SIZE_MAX || order->tyer[i] == tyer);
  return count;
}

/* Over all blocks the counts differ by one at most. */
static void assert_even(const struct plan_order *order, size_t cell, size_t tyer)
{
  size_t least = SIZE_MAX, most = 0;
  for (size_t b = 0; b < order->blocks; b++) {
    size_t count = count_in(order, cell, b, tyer);
    if (count < least) least = count;
    if (count > most) most = count;
  }
  if (most - least > 1) fail_msg("from %zu to %zu in a block", least, most);
}

static void every_block_holds_every_cell_as_equally_as_can_be(void **state)
{
  (void)state;
  static const size_t n[] = {4, 4, 4, 7, 5, 1, 9, 13};
  struct plan_cell cells[8];
  struct plan_grid grid = grid_of(cells, n, 8);
  for (uint64_t seed = 1; seed <= 300; seed++) {
    struct be_arena *arena = be_arena_create();
    struct plan_order order;
    size_t blocks = 1 + seed % 9, tyers = 1 + seed % 3, cell_n[8] = {0};
    assert_int_equal(be_plan_order(&grid, blocks, tyers, seed, arena, &order, NULL), BE_OK);
    assert_true(order.total == 47);
    for (size_t i = 0; i < order.total; i++) {
      cell_n[order.cell[i]]++;
      assert_true(order.tyer[i] < tyers);
      if (i) assert_true(order.block[i] >= order.block[i - 1]);
    }
    assert_even(&order, SIZE_MAX, SIZE_MAX);
    for (size_t c = 0; c < 8; c++) {
      assert_true(cell_n[c] == n[c]);
      assert_even(&order, c, SIZE_MAX);
      size_t least = SIZE_MAX, most = 0;
      for (size_t t = 0; t < tyers; t++) {
        size_t tied = 0;
        assert_even(&order, c, t);
        for (size_t b = 0; b < blocks; b++) tied += count_in(&order, c, b, t);
        if (tied < least) least = tied;
        if (tied > most) most = tied;
      }
      assert_true(most - least <= 1);
    }
    be_arena_free(arena);
  }
}

/* In a complete block each cell is as likely to be first: 600 seeds, six cells, so 100 each give or
 * take 9; 4.5 deviations are not left. */
static void any_cell_may_come_first(void **state)
{
  (void)state;
  static const size_t n[] = {3, 3, 3, 3, 3, 3};
  struct plan_cell cells[6];
  struct plan_grid grid = grid_of(cells, n, 6);
  int first[6] = {0}, alike = 0;
  for (uint64_t seed = 1; seed <= 600; seed++) {
    struct be_arena *arena = be_arena_create();
    struct plan_order order, again;
    assert_int_equal(be_plan_order(&grid, 3, 1, seed, arena, &order, NULL), BE_OK);
    assert_int_equal(be_plan_order(&grid, 3, 1, seed, arena, &again, NULL), BE_OK);
    assert_memory_equal(order.cell, again.cell, order.total * sizeof *order.cell);
    first[order.cell[0]]++;
    alike += memcmp(order.cell, order.cell + 6, 6 * sizeof *order.cell) == 0;
    be_arena_free(arena);
  }
  for (int c = 0; c < 6; c++) assert_true(first[c] > 60 && first[c] < 140);
  assert_true(alike < 10); /* one in 720 by chance */
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(no_slip_of_one_character_or_two_goes_unnoticed),
      cmocka_unit_test(codes_are_easy_to_tell_apart),
      cmocka_unit_test(every_block_holds_every_cell_as_equally_as_can_be),
      cmocka_unit_test(any_cell_may_come_first),
  };
  return be_tests("app: codes and order", tests);
}
