/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Drawings told by their codes. */
#ifndef BE_TEST_KNOT_CODES_H
#define BE_TEST_KNOT_CODES_H

#include "arena.h"
#include "knot/diagram/diagram.h"

static inline struct be_diagram dt(const char *code)
{
  struct be_diagram diagram;
  assert_int_equal(be_dt_read(code, strlen(code), arena, &diagram, NULL), BE_OK);
  return diagram;
}

static inline struct be_diagram gauss(const char *code)
{
  struct be_diagram diagram;
  assert_int_equal(be_gauss_read(code, strlen(code), arena, &diagram, NULL), BE_OK);
  return diagram;
}

#endif
