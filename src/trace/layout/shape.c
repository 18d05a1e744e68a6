/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The first rows of a block as numbers, and how each column behaves. */
#include "trace/layout/layout.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { SAMPLE_ROWS = 2048 };

static void fill_row(const struct be_cells *cells, const struct be_block *block,
                     struct be_clock_run *runs, struct be_sample *sample)
{
  double *row = sample->value + sample->rows * sample->columns;
  for (size_t c = 0; c < sample->columns; c++) {
    double value = 0;
    enum be_cell_kind kind =
        c < cells->count ? be_cell_read(cells->cell[c], block->decimal, &value) : BE_CELL_EMPTY;
    bool number = kind == BE_CELL_NUMBER || kind == BE_CELL_CLOCK;
    if (kind == BE_CELL_CLOCK) value = be_clock_go_on(&runs[c], value);
    row[c] = number ? value : NAN;
    struct be_clock clock;
    sample->clocks[c] += kind == BE_CELL_CLOCK;
    if (kind == BE_CELL_CLOCK && be_clock_read(cells->cell[c], &clock))
      sample->bare_clocks[c] += clock.bare;
  }
}

static bool holds_number(const struct be_sample *sample, size_t row)
{
  for (size_t c = 0; c < sample->columns; c++)
    if (!isnan(sample->value[row * sample->columns + c])) return true;
  return false;
}

/* ---- plain rows of the sample, a run at a time ---- */

struct fast {
  size_t room; /* rows */
  struct be_plain plain;
  struct be_run run;
  double *numbers;
};

/* A row has a byte a column at the least. */
static size_t sample_room(const struct be_block *block)
{
  size_t room = (size_t)(block->rows.end - block->rows.at) / block->columns_count + 1;
  return room < SAMPLE_ROWS ? room : SAMPLE_ROWS;
}

static enum be_status set_up_fast(const struct be_block *block, struct fast *fast,
                                  struct be_err *err)
{
  size_t columns = block->columns_count;
  *fast = (struct fast){.room = sample_room(block),
                        .plain = {.delimiter = block->delimiter,
                                  .decimal = block->decimal,
                                  .eol = block->rows.eol,
                                  .off = columns > BE_SLOTS_MAX,
                                  .columns = columns}};
  if (fast->plain.off) return BE_OK;
  fast->plain.forms = be_alloc_array(columns, sizeof *fast->plain.forms);
  fast->numbers = be_alloc(columns * fast->room * sizeof(double));
  if (!fast->plain.forms || !fast->numbers)
    return be_fail(err, BE_NO_MEMORY, "no memory to look at the first rows");
  for (size_t c = 0; c < columns; c++) {
    fast->plain.slot[c] = (unsigned char)c;
    fast->plain.may_be_empty[c] = true;
    fast->run.column[c] = fast->numbers + c * fast->room;
  }
  return BE_OK;
}

static void free_fast(struct fast *fast)
{
  be_free(fast->plain.forms);
  be_free(fast->numbers);
}

/* Adds plain rows; false when one without a number ends the block. */
static bool fill_run(struct fast *fast, struct be_lines *lines, struct be_sample *sample)
{
  fast->run.room = fast->room - sample->rows;
  be_plain_read(&fast->plain, &lines->at, lines->end, &fast->run);
  lines->number += fast->run.n;
  for (size_t i = 0; i < fast->run.n; i++) {
    double *row = sample->value + sample->rows * sample->columns;
    for (size_t c = 0; c < sample->columns; c++) row[c] = fast->run.column[c][i];
    if (!holds_number(sample, sample->rows)) return false;
    sample->rows++;
  }
  return true;
}

enum be_status be_sample_take(const struct be_block *block, struct be_sample *sample,
                              struct be_err *err)
{
  struct be_lines lines = block->rows;
  struct be_span line;
  struct be_clock_run runs[BE_TRACE_COLUMNS_MAX] = {{0}};
  struct fast fast;
  *sample = (struct be_sample){.columns = block->columns_count};
  enum be_status status = set_up_fast(block, &fast, err);
  sample->value = be_alloc(fast.room * sample->columns * sizeof(double));
  if (status == BE_OK && !sample->value)
    status = be_fail(err, BE_NO_MEMORY, "no memory to look at the first rows");
  while (status == BE_OK && fill_run(&fast, &lines, sample) && sample->rows < fast.room &&
         be_lines_next(&lines, &line)) {
    struct be_cells cells;
    if (be_span_trim(line).size == 0) continue;
    be_cells_split(line, block->delimiter, &cells);
    fill_row(&cells, block, runs, sample);
    if (!holds_number(sample, sample->rows)) break; /* the block has ended */
    sample->rows++;
  }
  free_fast(&fast);
  if (status != BE_OK) be_sample_free(sample);
  return status;
}

void be_sample_free(struct be_sample *sample)
{
  be_free(sample->value);
  *sample = (struct be_sample){0};
}

/* ---- shapes ---- */

/* Steps are even when nine in ten lie within a half of their median: written
 * times of 30 readings a second step by 0.03 and 0.04. */
static bool steps_even(const double *steps, size_t n, double median)
{
  size_t near = 0;
  for (size_t i = 0; i < n; i++) near += fabs(steps[i] - median) <= median / 2;
  return near * 10 >= n * 9;
}

enum be_status be_shape_of(const struct be_sample *sample, size_t column, struct be_shape *shape,
                           struct be_err *err)
{
  double *steps = be_alloc_array(sample->rows + 1, sizeof *steps);
  double before = NAN, direction = 0;
  size_t n = 0, ones = 0;
  *shape = (struct be_shape){.whole = true, .least = INFINITY, .most = -INFINITY};
  if (!steps) return be_fail(err, BE_NO_MEMORY, "no memory to look at column %zu", column + 1);
  for (size_t r = 0; r < sample->rows; r++) {
    double value = sample->value[r * sample->columns + column];
    if (isnan(value)) continue;
    if (floor(value) < value) shape->whole = false;
    if (shape->numbers++ == 0) shape->first = value;
    shape->last = value;
    shape->least = fmin(shape->least, value);
    shape->most = fmax(shape->most, value);
    double step = value - before;
    before = value;
    if (isnan(step)) continue;
    shape->rises += step > 0;
    shape->falls += step < 0;
    shape->level += !(step > 0) && !(step < 0);
    ones += step >= 1 && step <= 1;
    if (step * direction < 0) shape->turns++;
    if (step > 0 || step < 0) {
      direction = step;
      steps[n++] = step;
    }
  }
  size_t all = shape->rises + shape->falls + shape->level;
  shape->step = be_median(steps, n);
  /* A counter may start again. */
  shape->counts =
      shape->whole && all > 1 && ones == shape->rises && ones * 10 >= all * 9 && shape->level == 0;
  shape->constant = all > 0 && shape->level == all;
  shape->steady = all > 1 && shape->falls * 100 <= all && shape->rises * 5 >= all;
  shape->even = all > 1 && shape->falls == 0 && shape->rises * 20 >= all * 19 &&
                steps_even(steps, n, shape->step);
  be_free(steps);
  return BE_OK;
}

void be_sample_words(const struct be_sample *sample, size_t column, char *text, size_t size)
{
  enum { SHOWN = 3 };
  size_t shown = 0, used = 0;
  double most = -INFINITY;
  for (size_t r = 0; r < sample->rows; r++) {
    double value = sample->value[r * sample->columns + column];
    if (isnan(value)) continue;
    most = fmax(most, value);
    if (shown++ < SHOWN && used < size)
      used += (size_t)snprintf(text + used, size - used, "%s%.7g", shown > 1 ? ", " : "", value);
  }
  if (shown > SHOWN && used < size) snprintf(text + used, size - used, " ... up to %.7g", most);
}
