/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "arena.h"
#include "knot/invariant/invariant.h"
#include "test.h"

#include <string.h>

enum { PRIMES = 249 };

/* |Alexander polynomial| at -1 and, without factors of 2, at -2: as tabulated by
 * Tubiana and others (Eur. Phys. J. E 41, 72, 2018), in the table's order. It alone has the
 * numbers of 10_83 and 10_86 the other way round; here they are as in the other two sources. */
/* clang-format off */
static const struct {
  unsigned at_minus_1, at_minus_2;
} published[PRIMES] = {
    {3, 7}, {5, 11}, {5, 31}, {7, 1}, {9, 5}, {11, 59}, {13, 67}, {7, 127}, {11, 25}, {13, 19},
    {15, 17}, {17, 47}, {19, 95}, {21, 103}, {13, 29}, {17, 251}, {17, 19}, {19, 13}, {21, 287},
    {23, 61}, {23, 307}, {25, 65}, {25, 323}, {27, 343}, {27, 35}, {29, 139}, {29, 37}, {31, 79},
    {33, 175}, {35, 433}, {37, 449}, {45, 539}, {3, 91}, {9, 49}, {15, 77}, {9, 511}, {15, 17},
    {19, 79}, {21, 121}, {23, 13}, {27, 203}, {29, 157}, {31, 79}, {31, 221}, {33, 23}, {33, 431},
    {35, 11}, {37, 101}, {37, 23}, {39, 97}, {39, 133}, {39, 487}, {41, 55}, {41, 101}, {41, 503},
    {43, 53}, {43, 523}, {45, 119}, {45, 539}, {47, 239}, {47, 559}, {49, 575}, {51, 595},
    {51, 595}, {53, 611}, {55, 631}, {59, 685}, {61, 701}, {69, 773}, {27, 61}, {37, 467},
    {45, 55}, {57, 301}, {55, 275}, {75, 847}, {49, 247}, {7, 41}, {13, 215}, {17, 85}, {23, 113},
    {9, 5}, {27, 361}, {27, 131}, {25, 139}, {17, 19}, {23, 1019}, {25, 7}, {27, 149}, {33, 1267},
    {37, 265}, {43, 221}, {29, 55}, {39, 1379}, {45, 229}, {43, 115}, {47, 311}, {53, 1},
    {57, 373}, {43, 293}, {47, 31}, {41, 1411}, {55, 71}, {51, 169}, {35, 185}, {45, 155},
    {49, 319}, {59, 187}, {55, 71}, {65, 409}, {61, 191}, {71, 437}, {53, 137}, {63, 739},
    {67, 169}, {57, 73}, {69, 427}, {65, 41}, {37, 193}, {49, 119}, {51, 257}, {53, 137},
    {59, 151}, {61, 391}, {75, 455}, {71, 811}, {81, 899}, {73, 827}, {79, 883}, {89, 971},
    {31, 1199}, {41, 1447}, {49, 1591}, {59, 811}, {53, 173}, {67, 205}, {59, 187}, {73, 191},
    {47, 311}, {61, 319}, {65, 409}, {79, 473}, {65, 319}, {75, 847}, {85, 935}, {33, 119},
    {45, 1519}, {57, 301}, {51, 1631}, {63, 49}, {75, 973}, {63, 5}, {57, 73}, {87, 955},
    {67, 775}, {77, 863}, {73, 227}, {83, 919}, {63, 5}, {81, 899}, {57, 91}, {63, 49}, {69, 791},
    {61, 1843}, {71, 937}, {85, 953}, {63, 2009}, {83, 125}, {87, 259}, {57, 1897}, {85, 127},
    {81, 245}, {101, 1097}, {99, 1081}, {77, 463}, {73, 2221}, {89, 535}, {67, 419}, {71, 2189},
    {91, 67}, {93, 1007}, {87, 437}, {81, 245}, {81, 2401}, {65, 2077}, {85, 445}, {73, 445},
    {75, 455}, {77, 2293}, {91, 1009}, {75, 2261}, {93, 1025}, {63, 401}, {85, 2473}, {83, 937},
    {77, 59}, {87, 2639}, {111, 161}, {93, 553}, {109, 1187}, {95, 2819}, {103, 599}, {97, 2851},
    {101, 589}, {105, 17}, {115, 331}, {105, 77}, {121, 3481}, {1, 331}, {11, 181}, {19, 253},
    {29, 377}, {11, 61}, {25, 65}, {17, 47}, {31, 79}, {5, 31}, {19, 95}, {23, 185}, {37, 193},
    {15, 77}, {25, 121}, {35, 451}, {3, 259}, {9, 49}, {21, 287}, {15, 35}, {27, 343}, {39, 203},
    {3, 5}, {33, 83}, {27, 35}, {31, 379}, {41, 503}, {29, 377}, {43, 505}, {11, 79}, {1, 55},
    {13, 71}, {25, 323}, {35, 433}, {49, 593}, {45, 521}, {39, 469}, {21, 305}, {5, 1}, {35, 185},
    {51, 595}, {45, 229}, {39, 97},
};
/* clang-format on */

/* From the project's sheet of checks, which knows them from braids and colourings. */
static const struct {
  const char *name, *alexander;
  int determinant, signature;
} sheet[] = {
    {"3_1", "1 -1 1", 3, 2},
    {"4_1", "-1 3 -1", 5, 0},
    {"5_1", "1 -1 1 -1 1", 5, 4},
    {"5_2", "2 -3 2", 7, 2},
    {"6_1", "-2 5 -2", 9, 0},
    {"6_2", "-1 3 -3 3 -1", 11, 2},
    {"6_3", "1 -3 5 -3 1", 13, 0},
    {"7_1", "1 -1 1 -1 1 -1 1", 7, 6},
    {"7_2", "3 -5 3", 11, 2},
    {"7_3", "2 -3 3 -3 2", 13, 4},
    {"7_4", "4 -7 4", 15, 2},
    {"8_1", "-3 7 -3", 13, 0},
    {"8_2", "-1 3 -3 3 -3 3 -1", 17, 4},
    {"8_3", "-4 9 -4", 17, 0},
    {"8_4", "-2 5 -5 5 -2", 19, 2},
    {"8_5", "-1 3 -4 5 -4 3 -1", 21, 4},
    {"8_7", "1 -3 5 -5 5 -3 1", 23, 2},
    {"8_10", "1 -3 6 -7 6 -3 1", 27, 2},
    {"8_11", "-2 7 -9 7 -2", 27, 2},
    {"8_12", "1 -7 13 -7 1", 29, 0},
    {"8_13", "2 -7 11 -7 2", 29, 0},
    {"8_18", "-1 5 -10 13 -10 5 -1", 45, 0},
    {"8_19", "1 -1 0 1 0 -1 1", 3, 6},
};

static struct be_diagram drawn_of(const struct be_prime *prime)
{
  struct be_diagram diagram;
  assert_int_equal(be_dt_read(prime->dt, strlen(prime->dt), arena, &diagram, NULL), BE_OK);
  return diagram;
}

static struct be_polynomial alexander_of(const struct be_diagram *diagram)
{
  struct be_polynomial polynomial;
  assert_int_equal(be_alexander(diagram, arena, &polynomial, NULL), BE_OK);
  return polynomial;
}

static int signature_of(const struct be_diagram *diagram)
{
  int signature;
  assert_int_equal(be_signature(diagram, arena, &signature, NULL), BE_OK);
  return signature;
}

static struct be_polynomial polynomial(const char *text)
{
  struct be_polynomial made = {0};
  for (char *next; *text; text = next) {
    made.coefficient[made.count] = strtol(text, &next, 10);
    if (next == text) fail_msg("%s is no list of numbers", text);
    made.count++;
  }
  return made;
}

static unsigned size_at(const struct be_polynomial *polynomial, int64_t t)
{
  int64_t value = 0;
  for (size_t i = polynomial->count; i-- > 0;) value = value * t + polynomial->coefficient[i];
  return (unsigned)llabs(value);
}

/* Codes by KnotInfo; what the table says of them comes of Gittings's braids. */
static void every_code_has_its_numbers(void **state)
{
  (void)state;
  size_t primes;
  const struct be_prime *prime = be_primes(&primes);
  assert_int_equal(primes, PRIMES);
  for (size_t i = 0; i < primes; i++) {
    struct be_diagram diagram = drawn_of(&prime[i]);
    struct be_polynomial found = alexander_of(&diagram);
    uint64_t determinant;
    assert_int_equal(diagram.crossings, prime[i].crossings);
    assert_int_equal(found.count % 2, 1);
    size_t middle = found.count / 2;
    for (size_t k = 0; k < sizeof prime[i].half; k++) {
      int want = prime[i].half[k];
      assert_int_equal(k > middle ? 0 : found.coefficient[middle + k], want);
      assert_int_equal(k > middle ? 0 : found.coefficient[middle - k], want);
    }
    int64_t at_1 = 0;
    for (size_t k = 0; k < found.count; k++) at_1 += found.coefficient[k];
    assert_int_equal(at_1, 1);
    assert_int_equal(be_determinant(&diagram, arena, &determinant, NULL), BE_OK);
    assert_int_equal(determinant, prime[i].determinant);
    assert_int_equal(determinant, size_at(&found, -1));
    assert_int_equal(abs(signature_of(&diagram)), prime[i].signature);
    unsigned at_2 = size_at(&found, -2);
    while (at_2 % 2 == 0) at_2 /= 2;
    assert_int_equal(determinant, published[i].at_minus_1);
    assert_int_equal(at_2, published[i].at_minus_2);
  }
}

/* Rolfsen's numbers, less Perko's. */
static void names_are_in_order(void **state)
{
  (void)state;
  static const int of_crossings[] = {0, 0, 0, 1, 1, 2, 3, 7, 21, 49, 165};
  size_t primes, i = 0;
  const struct be_prime *prime = be_primes(&primes);
  for (int n = 3; n <= 10; n++)
    for (int k = 1; k <= of_crossings[n]; k++, i++) {
      char name[16];
      snprintf(name, sizeof name, "%d_%d", n, k);
      assert_string_equal(prime[i].name, name);
    }
  assert_int_equal(i, primes);
}

static size_t find(const char *alexander, int signature, struct be_named names[BE_NAMED_MAX])
{
  struct be_polynomial wanted = polynomial(alexander);
  size_t count = 99;
  be_names_find(&wanted, signature, names, &count);
  return count;
}

static void the_sheet_agrees(void **state)
{
  (void)state;
  for (size_t i = 0; i < sizeof sheet / sizeof sheet[0]; i++) {
    struct be_named names[BE_NAMED_MAX];
    struct be_polynomial known = polynomial(sheet[i].alexander);
    assert_int_equal(size_at(&known, -1), sheet[i].determinant);
    assert_true(find(sheet[i].alexander, sheet[i].signature, names) > 0);
    assert_string_equal(names[0].name, sheet[i].name);
    assert_true(find(sheet[i].alexander, -sheet[i].signature, names) > 0);
    assert_string_equal(names[0].name, sheet[i].name);
    assert_int_equal(find(sheet[i].alexander, sheet[i].signature + 8, names), 0);
  }
}

static void sums_are_named(void **state)
{
  (void)state;
  struct be_named names[BE_NAMED_MAX];
  const char *two_trefoils = "1 -2 3 -2 1";
  assert_int_equal(find(two_trefoils, 0, names), 3);
  assert_string_equal(names[0].name, "3_1 # mirror 3_1");
  assert_string_equal(names[0].words, "reef");
  assert_int_equal(names[0].crossings, 6);
  assert_int_equal(names[0].parts, 2);
  assert_string_equal(names[1].name, "8_20");
  assert_null(names[1].words);
  assert_int_equal(names[1].crossings, 8);
  assert_int_equal(names[1].parts, 1);
  assert_string_equal(names[2].name, "10_140");
  assert_int_equal(find(two_trefoils, -4, names), 1);
  assert_string_equal(names[0].name, "3_1 # 3_1");
  assert_string_equal(names[0].words, "granny");
  assert_int_equal(find(two_trefoils, 2, names), 0);
  /* (1 - t + t^2)^3 and (1 - t + t^2)^2 (-1 + 3t - t^2), by hand */
  assert_int_equal(find("1 -3 6 -7 6 -3 1", 6, names), 1);
  assert_string_equal(names[0].name, "3_1 # 3_1 # 3_1");
  assert_int_equal(names[0].parts, 3);
  assert_true(find("-1 5 -10 13 -10 5 -1", 0, names) > 1);
  assert_string_equal(names[0].name, "8_18");
  assert_string_equal(names[0].words, "carrick mat");
  assert_string_equal(names[2].name, "3_1 # mirror 3_1 # 4_1");
  assert_int_equal(names[2].crossings, 10);
}

/* As drawn: a granny, and a reef, with their ends joined. */
static void drawings_of_sums(void **state)
{
  (void)state;
  static const struct {
    const char *code, *name;
  } drawings[] = {{"O1+U2+O3+U1+O2+U3+O4+U5+O6+U4+O5+U6+", "3_1 # 3_1"},
                  {"O1+U2+O3+U1+O2+U3+U4-O5-U6-O4-U5-O6-", "3_1 # mirror 3_1"}};
  for (size_t i = 0; i < 2; i++) {
    struct be_diagram diagram;
    struct be_named names[BE_NAMED_MAX];
    size_t count;
    assert_int_equal(
        be_gauss_read(drawings[i].code, strlen(drawings[i].code), arena, &diagram, NULL), BE_OK);
    struct be_polynomial found = alexander_of(&diagram);
    be_names_find(&found, signature_of(&diagram), names, &count);
    assert_true(count > 0);
    assert_string_equal(names[0].name, drawings[i].name);
  }
}

static void the_unknot_is_not_said_lightly(void **state)
{
  (void)state;
  struct be_named names[BE_NAMED_MAX];
  assert_int_equal(find("1", 0, names), 1);
  assert_string_equal(names[0].name, "0_1");
  assert_non_null(strstr(names[0].words, "or one of those that share"));
  assert_int_equal(names[0].crossings, 0);
  assert_int_equal(names[0].parts, 0);
  assert_int_equal(find("1", 8, names), 0);
  assert_int_equal(find("2", 0, names), 0);
  assert_int_equal(find("", 0, names), 0);          /* a link that falls apart */
  assert_int_equal(find("-2 4 -4 2", 3, names), 0); /* a link */
  assert_int_equal(find("50 -99 50", 0, names), 0); /* a knot of more crossings */
}

/* None is left out for want of room; fewest crossings first. */
static void every_prime_finds_itself(void **state)
{
  (void)state;
  size_t primes, most = 0;
  const struct be_prime *prime = be_primes(&primes);
  for (size_t i = 0; i < primes; i++) {
    struct be_diagram diagram = drawn_of(&prime[i]);
    struct be_polynomial found = alexander_of(&diagram);
    struct be_named names[BE_NAMED_MAX];
    size_t count, itself = 0;
    be_names_find(&found, signature_of(&diagram), names, &count);
    for (size_t k = 0; k < count; k++) {
      itself += strcmp(names[k].name, prime[i].name) == 0;
      if (k > 0) assert_true(names[k].crossings >= names[k - 1].crossings);
    }
    assert_int_equal(itself, 1);
    if (count > most) most = count;
  }
  assert_true(most > 1 && most < BE_NAMED_MAX);
}

/* Moves change nothing; fewer crossings than the fewest would be a wonder. How many come back to
 * the fewest is told, not demanded. */
static void tangled_primes_are_simplified(void **state)
{
  (void)state;
  size_t primes, again = 0;
  const struct be_prime *prime = be_primes(&primes);
  for (size_t i = 0; i < primes; i++) {
    struct be_diagram diagram = drawn_of(&prime[i]);
    struct be_polynomial before = alexander_of(&diagram);
    int signature = signature_of(&diagram);
    struct be_random random;
    size_t moves;
    be_random_init(&random, 20261126, i);
    for (int m = 0; m < 100; m++) {
      enum be_status status =
          be_diagram_move(&diagram, &random, diagram.crossings < 30, arena, NULL);
      assert_true(status == BE_OK || status == BE_NO);
    }
    assert_int_equal(be_diagram_simplify(&diagram, arena, NULL, &moves, NULL), BE_OK);
    struct be_polynomial after = alexander_of(&diagram);
    assert_int_equal(after.count, before.count);
    assert_memory_equal(after.coefficient, before.coefficient,
                        before.count * sizeof before.coefficient[0]);
    assert_int_equal(signature_of(&diagram), signature);
    assert_true(diagram.crossings >= prime[i].crossings);
    again += diagram.crossings == prime[i].crossings;
  }
  print_message("%zu of %zu come back to their fewest crossings\n", again, primes);
}

int main(void)
{
#define drawn(test) cmocka_unit_test_setup_teardown(test, start, end)
  const struct CMUnitTest tests[] = {
      drawn(every_code_has_its_numbers), drawn(names_are_in_order),
      drawn(the_sheet_agrees),           drawn(sums_are_named),
      drawn(drawings_of_sums),           drawn(the_unknot_is_not_said_lightly),
      drawn(every_prime_finds_itself),   drawn(tangled_primes_are_simplified),
  };
  return be_tests("knot: names", tests);
}
