/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is summed up row by row of a test too long to keep: its energy, the
 * rows beside both extremes, and readings in threes for the noise. The same
 * rows give the same sums however they are cut. */
#include "trace/rows/rows.h"

#include <math.h>
#include <string.h>

static void note_neighbours(struct be_extreme *extreme, const struct be_batch *rows, size_t at)
{
  size_t before = at < BE_BESIDE ? at : BE_BESIDE;
  size_t after = rows->n - 1 - at < BE_AFTER ? rows->n - 1 - at : BE_AFTER;
  extreme->at = before;
  extreme->n = before + 1 + after;
  for (size_t k = 0; k < extreme->n; k++) {
    extreme->force[k] = rows->column[BE_ROLE_FORCE][at - before + k];
    extreme->time[k] =
        rows->column[BE_ROLE_TIME] ? rows->column[BE_ROLE_TIME][at - before + k] : NAN;
  }
}

/* Looks for new extremes; marks are set to their rows here, n where there are
 * none. */
static void note_extremes(struct be_whole *whole, const struct be_batch *rows, size_t lead,
                          size_t marks[2])
{
  const double *force = rows->column[BE_ROLE_FORCE], *x = rows->column[BE_ROLE_EXTENSION];
  size_t best[2] = {lead, lead}, n = rows->n;
  for (size_t i = lead + 1; i < n; i++) {
    if (force[i] > force[best[0]]) best[0] = i;
    if (force[i] < force[best[1]]) best[1] = i;
  }
  for (int side = 0; side < 2; side++) {
    struct be_extreme *extreme = &whole->side[side];
    double sign = side == 0 ? 1 : -1;
    marks[side] = n;
    if (whole->rows == 0 || sign * force[best[side]] > sign * extreme->value) {
      extreme->value = force[best[side]];
      extreme->row = whole->rows + best[side] - lead;
      extreme->extension = x ? x[best[side]] : NAN;
      note_neighbours(extreme, rows, best[side]);
      marks[side] = best[side];
    } else if (extreme->row + BE_AFTER >= whole->rows) {
      /* More rows after it are there now. */
      note_neighbours(extreme, rows, lead - (whole->rows - extreme->row));
    }
  }
}

static double add_areas(double sum, const double *force, const double *x, size_t from, size_t to)
{
  for (size_t i = from; i < to; i++) sum += (force[i] + force[i - 1]) * (x[i] - x[i - 1]);
  return sum;
}

static void add_energy(struct be_whole *whole, const struct be_batch *rows, size_t lead,
                       const size_t marks[2])
{
  const double *force = rows->column[BE_ROLE_FORCE], *x = rows->column[BE_ROLE_EXTENSION];
  size_t first = marks[0] < marks[1] ? 0 : 1, i = lead;
  if (!x) return;
  if (i == 0) whole->first_extension = x[i++];
  for (size_t k = 0; k < 3; k++) {
    size_t side = k == 0 ? first : 1 - first, to = k < 2 ? marks[side] : rows->n;
    if (k < 2 && to == rows->n) continue;
    size_t past = k < 2 ? to + 1 : to;
    if (past > i) {
      whole->twice_energy = add_areas(whole->twice_energy, force, x, i, past);
      i = past;
    }
    if (k < 2) whole->side[side].twice_energy = whole->twice_energy;
  }
}

static void halve_triples(struct be_whole *whole)
{
  whole->triples /= 2;
  for (size_t k = 0; k < whole->triples; k++)
    memcpy(whole->triple[k], whole->triple[2 * k + 1], sizeof whole->triple[k]);
  whole->stride *= 2;
}

/* A triple ends at every row whose number (from 1) is a multiple of the stride. */
static void add_triples(struct be_whole *whole, const struct be_batch *rows, size_t lead)
{
  size_t past = whole->rows % whole->stride; /* rows since the last multiple */
  for (size_t i = lead + whole->stride - 1 - past; i < rows->n; i += whole->stride) {
    if (i < 2) continue;
    if (whole->triples == whole->triples_room) {
      halve_triples(whole);
      if ((whole->rows + i - lead + 1) % whole->stride) {
        i -= whole->stride / 2;
        continue;
      }
    }
    memcpy(whole->triple[whole->triples++], rows->column[BE_ROLE_FORCE] + i - 2,
           sizeof whole->triple[0]);
  }
}

/* So that all the tests of a file have bounded room. */
static size_t room_due(size_t n)
{
  return n < BE_TRIPLES_LEAST ? BE_TRIPLES_LEAST : n;
}

void be_whole_fit(struct be_whole *whole, size_t n)
{
  while (whole->triples_room > room_due(n)) {
    halve_triples(whole);
    whole->triples_room /= 2;
  }
  void *less = be_resize(whole->triple, whole->triples_room * sizeof *whole->triple);
  if (less) whole->triple = less;
}

void be_whole_add(struct be_whole *whole, const struct be_batch *rows, size_t lead)
{
  if (rows->n == lead) return;
  size_t marks[2];
  note_extremes(whole, rows, lead, marks);
  add_energy(whole, rows, lead, marks);
  add_triples(whole, rows, lead);
  whole->rows += rows->n - lead;
}

static void swap_sides(struct be_whole *whole)
{
  struct be_extreme kept = whole->side[0];
  whole->side[0] = whole->side[1];
  whole->side[1] = kept;
}

void be_whole_scale(struct be_whole *whole, const struct be_roles *roles)
{
  double factor = roles->scale[BE_ROLE_FORCE], zero = roles->force_zero;
  double stretch = roles->scale[BE_ROLE_EXTENSION];
  for (int side = 0; side < 2; side++) {
    struct be_extreme *extreme = &whole->side[side];
    double under = 2 * zero * (extreme->extension - whole->first_extension);
    extreme->twice_energy = factor * stretch * (extreme->twice_energy - under);
    extreme->value = factor * (extreme->value - zero);
    for (size_t k = 0; k < extreme->n; k++) {
      extreme->force[k] = factor * (extreme->force[k] - zero);
      extreme->time[k] *= roles->scale[BE_ROLE_TIME];
    }
  }
  for (size_t k = 0; k < whole->triples; k++)
    for (int i = 0; i < 3; i++) whole->triple[k][i] = factor * (whole->triple[k][i] - zero);
  if (factor < 0) swap_sides(whole);
}

void be_whole_turn(struct be_whole *whole)
{
  for (int side = 0; side < 2; side++) {
    struct be_extreme *extreme = &whole->side[side];
    extreme->value = 0 - extreme->value;
    extreme->twice_energy = 0 - extreme->twice_energy;
    for (size_t k = 0; k < extreme->n; k++) extreme->force[k] = 0 - extreme->force[k];
  }
  for (size_t k = 0; k < whole->triples; k++)
    for (int i = 0; i < 3; i++) whole->triple[k][i] = 0 - whole->triple[k][i];
  swap_sides(whole);
}

void be_whole_free(struct be_whole *whole)
{
  if (whole) be_free(whole->hopper);
  if (whole) be_free(whole->triple);
  be_free(whole);
}

struct be_whole *be_whole_create(const struct be_trace *trace)
{
  struct be_whole *whole = be_alloc_array(1, sizeof *whole);
  if (!whole) return NULL;
  whole->stride = 1;
  whole->triples_room = BE_TRIPLES;
  while (whole->triples_room > room_due(trace->n)) whole->triples_room /= 2;
  whole->triple = be_alloc_array(whole->triples_room, sizeof *whole->triple);
  if (!whole->triple) {
    be_free(whole);
    return NULL;
  }
  struct be_batch rows = {.n = trace->n,
                          .column = {[BE_ROLE_TIME] = trace->time_s,
                                     [BE_ROLE_FORCE] = trace->force_N,
                                     [BE_ROLE_EXTENSION] = trace->extension_m}};
  be_whole_add(whole, &rows, 0);
  struct be_tail *tail = &whole->tail;
  tail->n = trace->n < BE_LEAD ? trace->n : BE_LEAD;
  for (int role = BE_ROLE_TIME; role < BE_ROLES; role++)
    for (size_t k = 0; rows.column[role] && k < tail->n; k++)
      tail->column[role][k] = rows.column[role][trace->n - tail->n + k];
  return whole;
}
