/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "chart/inside.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static void fail(struct be_figure *figure, enum be_status status)
{
  if (figure->status == BE_OK) figure->status = status;
}

static const char *copy(struct be_figure *figure, const char *text)
{
  if (!text) return "";
  const char *made = be_arena_text(figure->arena, text, strlen(text));
  if (!made) fail(figure, BE_NO_MEMORY);
  return made ? made : "";
}

struct be_figure *be_figure_create(const char *title, const char *subtitle, double width,
                                   double height)
{
  assert(title && width > 0);
  struct be_figure *figure = be_alloc_array(1, sizeof *figure);
  if (!figure) return NULL;
  figure->arena = be_arena_create();
  if (!figure->arena) {
    be_free(figure);
    return NULL;
  }
  figure->title = copy(figure, title);
  figure->subtitle = copy(figure, subtitle);
  figure->words = figure->x.label = figure->y.label = "";
  figure->width = width;
  figure->height = height;
  figure->x.high = figure->y.high = 1;
  if (figure->status == BE_OK) return figure;
  be_figure_free(figure);
  return NULL;
}

void be_figure_free(struct be_figure *figure)
{
  if (!figure) return;
  be_free(figure->rows);
  be_free(figure->items);
  be_arena_free(figure->arena);
  be_free(figure);
}

void be_figure_twin(struct be_figure *figure, const char *format, ...)
{
  if (!figure) return;
  struct be_buf words;
  be_buf_init(&words, 1 << 20);
  va_list list;
  va_start(list, format);
  be_buf_format_list(&words, format, list);
  va_end(list);
  if (words.status != BE_OK) fail(figure, words.status);
  else figure->words = copy(figure, words.data);
  be_buf_free(&words);
}

void be_figure_x(struct be_figure *figure, const char *label, double low, double high,
                 bool integers)
{
  if (!figure) return;
  assert(isfinite(low) && isfinite(high) && low <= high);
  figure->x = (struct axis){copy(figure, label), low, high, integers};
}

void be_figure_y(struct be_figure *figure, const char *label, double low, double high)
{
  if (!figure) return;
  assert(isfinite(low) && isfinite(high) && low <= high);
  figure->y = (struct axis){copy(figure, label), low, high, false};
}

double be_figure_row(struct be_figure *figure, const char *name, const char *note)
{
  if (!figure) return 0;
  void *rows = figure->rows;
  enum be_status status = be_grow(&rows, &figure->row_capacity, sizeof *figure->rows,
                                  figure->row_count + 1, FIGURE_ROWS_MAX, NULL);
  figure->rows = rows;
  if (status != BE_OK) {
    fail(figure, status);
    return (double)figure->row_count;
  }
  figure->rows[figure->row_count] = (struct row){copy(figure, name), copy(figure, note)};
  return (double)figure->row_count++;
}

static void add(struct be_figure *figure, struct item item)
{
  void *items = figure->items;
  enum be_status status = be_grow(&items, &figure->item_capacity, sizeof *figure->items,
                                  figure->item_count + 1, FIGURE_ITEMS_MAX, NULL);
  figure->items = items;
  if (status != BE_OK) fail(figure, status);
  else figure->items[figure->item_count++] = item;
}

void be_figure_mark(struct be_figure *figure, double x, double y, enum be_shape shape,
                    enum be_fill fill, enum be_tone tone)
{
  if (!figure || !isfinite(x) || !isfinite(y)) return;
  add(figure,
      (struct item){.kind = ITEM_MARK, .x = x, .y = y, .shape = shape, .fill = fill, .tone = tone});
}

void be_figure_line(struct be_figure *figure, const double *x, const double *y, size_t n,
                    enum be_tone tone, enum be_stroke stroke)
{
  if (!figure || n == 0) return;
  if (n > FIGURE_POINTS_MAX - figure->points) {
    fail(figure, BE_TOO_LARGE);
    return;
  }
  double *points = be_arena_alloc(figure->arena, 2 * n * sizeof *points);
  if (!points) {
    fail(figure, BE_NO_MEMORY);
    return;
  }
  memcpy(points, x, n * sizeof *points);
  memcpy(points + n, y, n * sizeof *points);
  figure->points += n;
  add(figure, (struct item){
                  .kind = ITEM_LINE, .points = points, .count = n, .tone = tone, .stroke = stroke});
}

void be_figure_bar(struct be_figure *figure, double x, double y, enum be_tone tone)
{
  if (!figure || !isfinite(x) || !isfinite(y)) return;
  add(figure, (struct item){.kind = ITEM_BAR, .x = x, .y = y, .tone = tone});
}

void be_figure_span(struct be_figure *figure, double low, double high, double y, bool thick,
                    enum be_tone tone)
{
  if (!figure || isnan(low) || isnan(high) || !isfinite(y)) return;
  add(figure,
      (struct item){.kind = ITEM_SPAN, .x = low, .x2 = high, .y = y, .thick = thick, .tone = tone});
}

void be_figure_rule_x(struct be_figure *figure, double x, const char *name)
{
  if (!figure || !isfinite(x)) return;
  add(figure, (struct item){.kind = ITEM_RULE_X, .x = x, .text = copy(figure, name)});
}

void be_figure_rule_y(struct be_figure *figure, double y, const char *name)
{
  if (!figure || !isfinite(y)) return;
  add(figure, (struct item){
                  .kind = ITEM_RULE_Y, .y = y, .text = copy(figure, name), .tone = BE_TONE_MUTED});
}

void be_figure_bracket(struct be_figure *figure, double first_row, double last_row)
{
  if (!figure || !isfinite(first_row) || !isfinite(last_row)) return;
  add(figure, (struct item){.kind = ITEM_BRACKET, .y = first_row, .y2 = last_row});
}

void be_figure_note(struct be_figure *figure, double x, double y, const char *text,
                    enum be_anchor anchor, enum be_tone tone)
{
  if (!figure || !isfinite(x) || !isfinite(y)) return;
  add(figure, (struct item){.kind = ITEM_NOTE,
                            .x = x,
                            .y = y,
                            .text = copy(figure, text),
                            .anchor = anchor,
                            .tone = tone});
}

enum be_status be_figure_status(const struct be_figure *figure)
{
  return figure ? figure->status : BE_NO_MEMORY;
}

const char *be_figure_title(const struct be_figure *figure)
{
  return figure ? figure->title : "";
}

const char *be_figure_subtitle(const struct be_figure *figure)
{
  return figure ? figure->subtitle : "";
}

const char *be_figure_words(const struct be_figure *figure)
{
  return figure ? figure->words : "";
}
