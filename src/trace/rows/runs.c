/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows become tests here: a lane is one signal of a block with its axes, and
 * each of its tests ends where the time starts again. */
#include "trace/rows/rows.h"

#include <math.h>
#include <string.h>

/* ---- tests ---- */

void be_reader_fail(struct be_reader *r, enum be_status status)
{
  if (status == BE_OK || r->status != BE_OK) return;
  r->status = status;
  r->ended = true;
}

void be_lane_open(struct be_reader *r, struct be_lane *lane)
{
  lane->n = lane->skipped = lane->over = lane->gap_line = lane->tail_gap_line = 0;
  lane->tail_gaps = 0;
  lane->axis_first = lane->axis_last = NAN;
  be_reader_fail(r, be_keep_open(r->keep, lane->roles, &lane->test, r->err));
  if (r->status == BE_OK) r->keep->file->tests[lane->test].lane = (size_t)(lane - r->lane);
}

/* A force that is missing at the end has stopped, if in so many rows and so large
 * a part of all that no slack end explains it. */
enum { STOPPED_ROWS = 10, STOPPED_SHARE = 10 };

static enum be_status check_gaps(const struct be_lane *lane, size_t line, struct be_err *err)
{
  size_t column = lane->roles->column[BE_ROLE_FORCE];
  if (lane->n == 0 && lane->skipped == 0) {
    be_fail(err, BE_BAD_INPUT, "no row has a number in column %zu", column + 1);
    be_fail_at(err, NULL, line, column + 1);
    be_fail_remedy(err, "name the column of the force with --columns force=2");
    return BE_BAD_INPUT;
  }
  size_t rows = lane->skipped + lane->n;
  if (lane->tail_gaps >= STOPPED_ROWS && lane->tail_gaps > rows / STOPPED_SHARE) {
    be_fail(err, BE_BAD_INPUT, "the force in column %zu stops: the last %zu of %zu rows have none",
            column + 1, lane->tail_gaps, rows);
    be_fail_at(err, NULL, lane->tail_gap_line, column + 1);
    be_fail_remedy(err, "cut the file there if the pull was over, or name another column with "
                        "--columns force=2");
    return BE_BAD_INPUT;
  }
  if (lane->skipped <= lane->n) return BE_OK;
  be_fail(err, BE_BAD_INPUT, "%zu of %zu rows have no force in column %zu", lane->skipped,
          lane->skipped + lane->n, column + 1);
  be_fail_at(err, NULL, lane->tail_gap_line ? lane->tail_gap_line : lane->gap_line, column + 1);
  be_fail_remedy(err, "the record of the force may have stopped there: cut the file, or name "
                      "another column with --columns force=2");
  return BE_BAD_INPUT;
}

void be_lane_close(struct be_reader *r, struct be_lane *lane)
{
  struct be_trace *trace = &r->keep->file->tests[lane->test];
  trace->skipped_rows = lane->skipped;
  trace->over_rows = lane->over;
  be_reader_fail(r, be_keep_close(r->keep, lane->test, r->err));
  if (r->status == BE_OK) be_reader_fail(r, check_gaps(lane, r->line, r->err));
}

static void start_again(struct be_reader *r, struct be_lane *lane)
{
  be_lane_close(r, lane);
  if (r->status == BE_OK) be_lane_open(r, lane);
  if (r->status == BE_OK) r->keep->file->tests[lane->test].continues = true;
}

/* ---- keeping ---- */

/* Empty cells tell nothing of where the axis begins and ends. */
static void note_axis(struct be_lane *lane, const double *axis, size_t n)
{
  for (size_t i = 0; i < n && isnan(lane->axis_first); i++) lane->axis_first = axis[i];
  while (n > 0 && isnan(axis[n - 1])) n--;
  if (n > 0) lane->axis_last = axis[n - 1];
}

static void append(struct be_reader *r, struct be_lane *lane, const struct be_batch *rows)
{
  if (rows->n == 0 || r->status != BE_OK) return;
  const double *axis = rows->column[lane->axis];
  if (axis) note_axis(lane, axis, rows->n);
  lane->n += rows->n;
  lane->blanks = 0;
  lane->tail_gap_line = lane->tail_gaps = 0;
  be_reader_fail(r, be_keep_rows(r->keep, lane->test, rows, r->err));
}

static void append_one(struct be_reader *r, struct be_lane *lane, const double value[BE_ROLES],
                       size_t line)
{
  struct be_batch rows = {.n = 1, .line = line};
  for (int role = BE_ROLE_TIME; role < BE_ROLES; role++)
    rows.column[role] = lane->slot[role] == BE_NO_SLOT ? NULL : &value[role];
  append(r, lane, &rows);
}

void be_lane_release(struct be_reader *r, struct be_lane *lane)
{
  if (!lane->held.is) return;
  lane->held.is = false;
  append_one(r, lane, lane->held.value, lane->held.line);
}

/* Keeps one row, which starts another test where the time falls back to its
 * beginning and the next row goes on from there. */
void be_lane_keep_row(struct be_reader *r, struct be_lane *lane, const double value[BE_ROLES],
                      size_t line)
{
  double now = value[lane->axis], span = lane->axis_last - lane->axis_first;
  bool none = lane->axis == BE_ROLE_NONE;
  if (lane->held.is) {
    double held = lane->held.value[lane->axis];
    if (now >= held && now < lane->axis_last) start_again(r, lane);
    be_lane_release(r, lane);
    span = lane->axis_last - lane->axis_first;
  }
  if (lane->n > 0 && none && lane->blanks > 1) start_again(r, lane);
  bool back = !none && lane->n > 0 && span > 0 && now < lane->axis_last &&
              now <= lane->axis_first + span / 10;
  if (back && lane->blanks > 0) {
    start_again(r, lane);
  } else if (back && lane->axis == BE_ROLE_TIME && lane->n >= 10) {
    lane->held = (struct be_held){.is = true, .line = line};
    memcpy(lane->held.value, value, sizeof lane->held.value);
    return;
  }
  append_one(r, lane, value, line);
}

/* The first row of [from, n) whose time falls back, or is beside an empty one;
 * n if there is none. */
static size_t first_back(const double *time, size_t from, size_t n, double before)
{
  if (from < n && !(time[from] >= before)) return from;
  for (size_t i = from + 1; i < n; i++)
    if (!(time[i] >= time[i - 1])) return i;
  return n;
}

static void keep_rows(struct be_reader *r, struct be_lane *lane, const struct be_batch *rows)
{
  for (size_t i = 0; i < rows->n && r->status == BE_OK;) {
    bool alone = lane->held.is || lane->n == 0 || lane->blanks > 0;
    size_t to = alone ? i
                : lane->axis == BE_ROLE_TIME
                    ? first_back(rows->column[BE_ROLE_TIME], i, rows->n, lane->axis_last)
                    : rows->n;
    struct be_batch part = {.n = to - i, .line = rows->line + i};
    for (int role = BE_ROLE_TIME; role < BE_ROLES; role++)
      part.column[role] = rows->column[role] ? rows->column[role] + i : NULL;
    append(r, lane, &part);
    i = to;
    if (i == rows->n) break;
    double value[BE_ROLES] = {0};
    for (int role = BE_ROLE_TIME; role < BE_ROLES; role++)
      value[role] = rows->column[role] ? rows->column[role][i] : NAN;
    be_lane_keep_row(r, lane, value, rows->line + i);
    i++;
  }
}

void be_lane_pass_gap(struct be_lane *lane, size_t line, bool over)
{
  lane->skipped++;
  lane->over += over;
  lane->tail_gaps += !over;
  if (!lane->gap_line) lane->gap_line = line;
  if (!lane->tail_gap_line) lane->tail_gap_line = line;
}

/* A row that holds no force of this lane but another lane's: a gap if its axis
 * goes on, as the judge has it. */
static void pass_row(struct be_reader *r, struct be_lane *lane, const struct be_run *run, size_t i)
{
  bool goes_on = lane->axis == BE_ROLE_NONE;
  be_lane_release(r, lane);
  for (int role = BE_ROLE_TIME; role < BE_ROLES; role++)
    if (role != BE_ROLE_FORCE && lane->slot[role] != BE_NO_SLOT)
      goes_on |= !isnan(run->column[lane->slot[role]][i]);
  if (goes_on) be_lane_pass_gap(lane, r->line + 1 + i, false);
}

/* Rows [from, end) of a run in one lane. */
static void keep_lane(struct be_reader *r, struct be_lane *lane, const struct be_run *run,
                      size_t from, size_t end)
{
  struct be_batch rows = {.n = 0};
  const double *force = run->column[lane->slot[BE_ROLE_FORCE]];
  for (size_t i = from; i < end && r->status == BE_OK;) {
    size_t to = r->lane_count == 1 ? end : i;
    while (to < end && !isnan(force[to])) to++;
    for (int role = BE_ROLE_TIME; role < BE_ROLES; role++)
      rows.column[role] = lane->slot[role] == BE_NO_SLOT ? NULL : run->column[lane->slot[role]] + i;
    rows.line = r->line + 1 + i;
    rows.n = to - i;
    keep_rows(r, lane, &rows);
    for (i = to; i < end && isnan(force[i]); i++) pass_row(r, lane, run, i);
  }
}

static void note_decimals(struct be_lane *lane, const struct be_run *run)
{
  for (int role = BE_ROLE_TIME; role < BE_ROLES; role++)
    if (lane->slot[role] != BE_NO_SLOT && run->decimals[lane->slot[role]] > lane->decimals[role])
      lane->decimals[role] = run->decimals[lane->slot[role]];
}

/* Lane by lane is faster; which rows are thinned depends on the order only when
 * they are about to be full. */
void be_reader_keep_run(struct be_reader *r, const struct be_run *run)
{
  bool by_lane = r->lane_count == 1 || be_keep_has_room(r->keep, r->lane_count, run->n);
  size_t step = by_lane && run->n ? run->n : 1;
  for (size_t i = 0; i < run->n; i += step)
    for (size_t k = 0; k < r->lane_count; k++) keep_lane(r, &r->lane[k], run, i, i + step);
  for (size_t k = 0; k < r->lane_count && run->n > 0; k++) note_decimals(&r->lane[k], run);
  r->line += run->n;
}
