/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What every test program includes: cmocka and a few comparisons. A test's
 * main is `return be_tests("room: topic", tests)`, which prints TAP. */
#ifndef BE_TEST_H
#define BE_TEST_H

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define be_tests(name, tests)                                                                      \
  (cmocka_set_message_output(CM_OUTPUT_TAP),                                                       \
   _cmocka_run_group_tests(name, tests, sizeof tests / sizeof tests[0], NULL, NULL))

/* |got - want| <= tolerance; both not-a-number is equal. */
#define assert_near(got, want, tolerance)                                                          \
  be_assert_near((got), (want), (tolerance), #got, __FILE__, __LINE__)

static inline void be_assert_near(double got, double want, double tolerance, const char *what,
                                  const char *file, int line)
{
  if (isnan(got) && isnan(want)) return;
  if (fabs(got - want) <= tolerance) return;
  print_error("%s: got %.15g, want %.15g within %.3g\n", what, got, want, tolerance);
  _fail(file, line);
}

#endif
