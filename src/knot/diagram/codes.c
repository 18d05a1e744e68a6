/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Codes: text to passes, and back. Numbers of crossings in a text may be any; they are counted anew
 * in the order met. */
#include "knot/diagram/inside.h"
#include "knot/diagram/planar.h"

#include <stdlib.h>
#include <string.h>

/* ---- reading ---- */

struct reading {
  const char *text, *at, *end;
  struct be_arena *arena;
  struct be_err *err;
};

static enum be_status bad(const struct reading *r, const char *what)
{
  be_fail(r->err, BE_BAD_INPUT, "%s", what);
  be_fail_at(r->err, NULL, 1, (size_t)(r->at - r->text) + 1);
  return BE_BAD_INPUT;
}

static void skip(struct reading *r, const char *marks)
{
  while (r->at < r->end && *r->at && strchr(marks, *r->at)) r->at++;
}

/* A whole number with or without a sign; false when there is none. */
static bool read_number(struct reading *r, long *value)
{
  const char *p = r->at;
  bool minus = p < r->end && *p == '-';
  if (p < r->end && (*p == '-' || *p == '+')) p++;
  const char *digits = p;
  *value = 0;
  for (; p < r->end && *p >= '0' && *p <= '9' && p - digits < 7; p++)
    *value = *value * 10 + *p - '0';
  if (p == digits || (p < r->end && *p >= '0' && *p <= '9')) return false;
  if (minus) *value = -*value;
  r->at = p;
  return true;
}

/* Numbers as written, and as counted: a crossing is met twice. */
enum { LABELS_MAX = 10000 };
struct labels {
  unsigned short number[LABELS_MAX];
  size_t count;
};

static enum be_status number_of(const struct reading *r, struct labels *labels, long label,
                                unsigned short *number)
{
  if (label <= 0 || label >= LABELS_MAX) return bad(r, "a crossing has a number from 1 on");
  if (labels->number[label] == 0) {
    if (labels->count >= BE_CROSSINGS_MAX) return bad(r, "there are too many crossings");
    labels->number[label] = (unsigned short)++labels->count;
  }
  *number = (unsigned short)(labels->number[label] - 1);
  return BE_OK;
}

static enum be_status make_room(struct be_diagram *diagram, size_t passes, size_t crossings,
                                const struct reading *r)
{
  *diagram = (struct be_diagram){0};
  diagram->sign = be_arena_alloc(r->arena, crossings + 1);
  struct be_pass *pass = be_arena_alloc(r->arena, (passes + 1) * sizeof *pass);
  if (!diagram->sign || !pass) return be_fail(r->err, BE_NO_MEMORY, "no memory for the code");
  diagram->strand[0].pass = pass;
  return BE_OK;
}

static enum be_status begin_strand(struct be_diagram *diagram, const struct reading *r)
{
  if (diagram->strands == BE_STRANDS_MAX) return bad(r, "there are too many strands");
  size_t s = diagram->strands++;
  if (s > 0) diagram->strand[s].pass = diagram->strand[s - 1].pass + diagram->strand[s - 1].count;
  diagram->strand[s].closed = true;
  return BE_OK;
}

/* ---- Gauss ---- */

/* One pass, "-3" or "U3+"; *told: its sign stands behind it. */
static enum be_status read_pass(struct reading *r, struct labels *labels,
                                struct be_diagram *diagram, bool *told)
{
  long label = 0;
  unsigned short crossing = 0;
  bool letter = *r->at == 'O' || *r->at == 'U', over = *r->at == 'O';
  if (letter) r->at++;
  if (!read_number(r, &label)) return bad(r, "a crossing of the code is no number");
  if (!letter) over = label > 0;
  enum be_status status = number_of(r, labels, labs(label), &crossing);
  if (status != BE_OK) return status;
  *told = r->at < r->end && (*r->at == '+' || *r->at == '-') && letter;
  if (*told) diagram->sign[crossing] = *r->at++ == '+' ? 1 : -1;
  size_t s = diagram->strands - 1;
  diagram->strand[s].pass[diagram->strand[s].count++] = (struct be_pass){crossing, over};
  return BE_OK;
}

enum be_status be_gauss_read(const char *text, size_t size, struct be_arena *arena,
                             struct be_diagram *diagram, struct be_err *err)
{
  struct reading r = {text, text, text + size, arena, err};
  struct labels *labels = be_arena_alloc(arena, sizeof *labels);
  size_t told = 0, passes = 0;
  if (!labels) return be_fail(err, BE_NO_MEMORY, "no memory for the code");
  enum be_status status = make_room(diagram, size, BE_CROSSINGS_MAX, &r);
  if (status == BE_OK) status = begin_strand(diagram, &r);
  for (;;) {
    skip(&r, " \t\r\n,[(");
    if (status != BE_OK || r.at == r.end) break;
    bool signed_ = false, next = *r.at == ';' || *r.at == ']' || *r.at == ')';
    if (next) {
      skip(&r, "]);, \t\r\n[(");
      if (r.at < r.end) status = begin_strand(diagram, &r);
      continue;
    }
    status = read_pass(&r, labels, diagram, &signed_);
    told += signed_;
    passes++;
  }
  if (status != BE_OK) return status;
  diagram->crossings = labels->count;
  if (told != 0 && told != passes) return bad(&r, "some crossings have a sign and some have none");
  struct map map;
  status = be_map_make(diagram, arena, &map, err);
  if (status == BE_OK && told == 0 && diagram->strands > 1)
    return bad(&r, "a code of several strands needs the signs of crossings, as in O1+U2+");
  if (status == BE_OK && told == 0) status = be_signs_find(diagram, arena, err);
  return status == BE_OK ? be_diagram_check(diagram, err) : status;
}

void be_gauss_write(const struct be_diagram *diagram, bool signs, struct be_buf *out)
{
  for (size_t s = 0; s < diagram->strands; s++) {
    if (s > 0) be_buf_text(out, "; ");
    for (size_t k = 0; k < diagram->strand[s].count; k++) {
      struct be_pass pass = diagram->strand[s].pass[k];
      if (signs)
        be_buf_format(out, "%c%d%c", pass.over ? 'O' : 'U', pass.crossing + 1,
                      diagram->sign[pass.crossing] > 0 ? '+' : '-');
      else be_buf_format(out, "%s%s%d", k ? " " : "", pass.over ? "" : "-", pass.crossing + 1);
    }
  }
}

/* ---- Dowker and Thistlethwaite ---- */

enum be_status be_dt_read(const char *text, size_t size, struct be_arena *arena,
                          struct be_diagram *diagram, struct be_err *err)
{
  struct reading r = {text, text, text + size, arena, err};
  size_t n = 0, room = size / 2 + 1;
  long *even = be_arena_alloc(arena, (room + 1) * sizeof *even);
  if (!even) return be_fail(err, BE_NO_MEMORY, "no memory for the code");
  for (;;) {
    skip(&r, " \t\r\n,[]()");
    if (r.at == r.end) break;
    if (!read_number(&r, &even[n]) || even[n] == 0 || even[n] % 2)
      return bad(&r, "a Dowker-Thistlethwaite code is of even numbers");
    n++;
  }
  enum be_status status = make_room(diagram, 2 * n, n, &r);
  if (status == BE_OK) status = begin_strand(diagram, &r);
  if (status != BE_OK) return status;
  diagram->crossings = n;
  diagram->strand[0].count = 2 * n;
  struct be_pass *pass = diagram->strand[0].pass;
  for (size_t i = 0; i < n; i++) pass[2 * i + 1].crossing = 0xFFFF;
  for (size_t i = 0; i < n; i++) {
    size_t at = (size_t)labs(even[i]);
    if (n > BE_CROSSINGS_MAX || at > 2 * n || pass[at - 1].crossing != 0xFFFF)
      return bad(&r, "each even number up to twice their count stands once in such a code");
    /* In an alternating drawing the odd passes are over; a minus tells that this one is not. */
    pass[2 * i] = (struct be_pass){(unsigned short)i, even[i] > 0};
    pass[at - 1] = (struct be_pass){(unsigned short)i, even[i] < 0};
  }
  status = be_signs_find(diagram, arena, err);
  return status == BE_OK ? be_diagram_check(diagram, err) : status;
}

enum be_status be_dt_write(const struct be_diagram *diagram, struct be_buf *out, struct be_err *err)
{
  size_t count = diagram->strand[0].count;
  const struct be_pass *pass = diagram->strand[0].pass;
  if (diagram->strands != 1 || !diagram->strand[0].closed)
    return be_fail(err, BE_WRONG_USE, "a Dowker-Thistlethwaite code is of one closed strand");
  for (size_t i = 0; i < count; i += 2) {
    size_t other = 0;
    while (other == i || pass[other].crossing != pass[i].crossing) other++;
    if (other % 2 == 0)
      return be_fail(err, BE_BAD_INPUT, "no drawing on a plane has crossings in this order");
    be_buf_format(out, "%s%s%zu", i ? " " : "", pass[i].over == pass[0].over ? "" : "-", other + 1);
  }
  return be_buf_status(out, err);
}
