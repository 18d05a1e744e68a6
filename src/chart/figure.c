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

const char *be_figure_copy(struct be_figure *figure, const char *text)
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
  figure->title = be_figure_copy(figure, title);
  figure->subtitle = be_figure_copy(figure, subtitle);
  figure->means = figure->foot = figure->words = figure->x.label = figure->y.label = "";
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

void be_figure_retitle(struct be_figure *figure, const char *title)
{
  if (figure) figure->title = be_figure_copy(figure, title);
}

/* `before`, if any, with a space behind it, stands in front. */
BE_PRINTF(3, 0)
static const char *format_words(struct be_figure *figure, const char *before, const char *format,
                                va_list list)
{
  const char *made = "";
  struct be_buf words;
  be_buf_init(&words, 1 << 20);
  if (before && *before) be_buf_format(&words, "%s ", before);
  be_buf_format_list(&words, format, list);
  if (words.status != BE_OK) fail(figure, words.status);
  else made = be_figure_copy(figure, words.data);
  be_buf_free(&words);
  return made;
}

void be_figure_twin(struct be_figure *figure, const char *format, ...)
{
  if (!figure) return;
  va_list list;
  va_start(list, format);
  figure->words = format_words(figure, NULL, format, list);
  va_end(list);
}

void be_figure_foot(struct be_figure *figure, const char *format, ...)
{
  if (!figure) return;
  va_list list;
  va_start(list, format);
  figure->foot = format_words(figure, figure->foot, format, list);
  va_end(list);
}

void be_figure_aside(struct be_figure *figure, double px)
{
  if (figure) figure->aside = px;
}

void be_figure_means(struct be_figure *figure, const char *format, ...)
{
  if (!figure) return;
  figure->means = NULL;
  if (!format) return;
  va_list list;
  va_start(list, format);
  figure->means = format_words(figure, NULL, format, list);
  va_end(list);
}

void be_figure_x(struct be_figure *figure, const char *label, double low, double high,
                 bool integers)
{
  if (!figure) return;
  assert(isfinite(low) && isfinite(high) && low <= high);
  figure->x = (struct axis){
      .label = be_figure_copy(figure, label), .low = low, .high = high, .integers = integers};
}

void be_figure_y(struct be_figure *figure, const char *label, double low, double high)
{
  if (!figure) return;
  assert(isfinite(low) && isfinite(high) && low <= high);
  figure->y = (struct axis){.label = be_figure_copy(figure, label), .low = low, .high = high};
}

void be_figure_scaling(struct be_figure *figure, enum be_scaling x, enum be_scaling y)
{
  if (!figure) return;
  figure->x.scaling = x;
  figure->y.scaling = y;
}

void be_figure_names_x(struct be_figure *figure, const char *const *names, size_t count)
{
  if (!figure) return;
  const char **copies = be_arena_alloc(figure->arena, (count + 1) * sizeof *copies);
  if (!copies) {
    fail(figure, BE_NO_MEMORY);
    return;
  }
  for (size_t i = 0; i < count; i++) copies[i] = be_figure_copy(figure, names[i]);
  figure->x.names = copies;
  figure->x.names_count = count;
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
  figure->rows[figure->row_count] =
      (struct row){be_figure_copy(figure, name), be_figure_copy(figure, note)};
  return (double)figure->row_count++;
}

void be_figure_add(struct be_figure *figure, struct item item)
{
  void *items = figure->items;
  enum be_status status = be_grow(&items, &figure->item_capacity, sizeof *figure->items,
                                  figure->item_count + 1, FIGURE_ITEMS_MAX, NULL);
  figure->items = items;
  if (status != BE_OK) fail(figure, status);
  else {
    item.means = figure->means;
    item.told = be_figure_told(figure);
    item.told_count = figure->told_count;
    item.aside = figure->aside;
    figure->items[figure->item_count++] = item;
  }
}

void be_figure_mark(struct be_figure *figure, double x, double y, enum be_shape shape,
                    enum be_fill fill, enum be_tone tone)
{
  if (!figure || !isfinite(x) || !isfinite(y)) return;
  be_figure_add(
      figure,
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
  be_figure_add(
      figure, (struct item){
                  .kind = ITEM_LINE, .points = points, .count = n, .tone = tone, .stroke = stroke});
}

void be_figure_bar(struct be_figure *figure, double x, double y, enum be_tone tone)
{
  if (!figure || !isfinite(x) || !isfinite(y)) return;
  be_figure_add(figure, (struct item){.kind = ITEM_BAR, .x = x, .y = y, .tone = tone});
}

void be_figure_span(struct be_figure *figure, double low, double high, double y, bool thick,
                    enum be_tone tone)
{
  if (!figure || isnan(low) || isnan(high) || !isfinite(y)) return;
  be_figure_add(
      figure,
      (struct item){.kind = ITEM_SPAN, .x = low, .x2 = high, .y = y, .thick = thick, .tone = tone});
}

void be_figure_rule_x(struct be_figure *figure, double x, const char *name)
{
  if (!figure || !isfinite(x)) return;
  be_figure_add(figure,
                (struct item){.kind = ITEM_RULE_X, .x = x, .text = be_figure_copy(figure, name)});
}

void be_figure_rule_y(struct be_figure *figure, double y, const char *name)
{
  if (!figure || !isfinite(y)) return;
  be_figure_add(figure, (struct item){.kind = ITEM_RULE_Y,
                                      .y = y,
                                      .text = be_figure_copy(figure, name),
                                      .tone = BE_TONE_MUTED});
}

void be_figure_bracket(struct be_figure *figure, double first_row, double last_row)
{
  if (!figure || !isfinite(first_row) || !isfinite(last_row)) return;
  be_figure_add(figure, (struct item){.kind = ITEM_BRACKET, .y = first_row, .y2 = last_row});
}

void be_figure_note(struct be_figure *figure, double x, double y, const char *text,
                    enum be_anchor anchor, enum be_tone tone)
{
  if (!figure || !isfinite(x) || !isfinite(y)) return;
  be_figure_add(figure, (struct item){.kind = ITEM_NOTE,
                                      .x = x,
                                      .y = y,
                                      .text = be_figure_copy(figure, text),
                                      .anchor = anchor,
                                      .tone = tone});
}

void be_figure_box(struct be_figure *figure, double x, double y, double x2, double y2,
                   enum be_pattern pattern, enum be_tone tone, const char *word)
{
  if (!figure || !isfinite(x) || !isfinite(y) || !isfinite(x2) || !isfinite(y2)) return;
  be_figure_add(figure, (struct item){.kind = ITEM_BOX,
                                      .x = x,
                                      .y = y,
                                      .x2 = x2,
                                      .y2 = y2,
                                      .pattern = pattern,
                                      .tone = tone,
                                      .text = be_figure_copy(figure, word)});
}

void be_figure_key_box(struct be_figure *figure, enum be_pattern pattern, enum be_tone tone,
                       const char *words)
{
  if (!figure) return;
  be_figure_add(figure, (struct item){.kind = ITEM_KEY,
                                      .shows = ITEM_BOX,
                                      .pattern = pattern,
                                      .tone = tone,
                                      .text = be_figure_copy(figure, words)});
}

void be_figure_key_mark(struct be_figure *figure, enum be_shape shape, enum be_fill fill,
                        enum be_tone tone, const char *words)
{
  if (!figure) return;
  be_figure_add(figure, (struct item){.kind = ITEM_KEY,
                                      .shows = ITEM_MARK,
                                      .shape = shape,
                                      .fill = fill,
                                      .tone = tone,
                                      .text = be_figure_copy(figure, words)});
}

void be_figure_key_line(struct be_figure *figure, enum be_stroke stroke, enum be_tone tone,
                        const char *words)
{
  if (!figure) return;
  be_figure_add(figure, (struct item){.kind = ITEM_KEY,
                                      .shows = ITEM_LINE,
                                      .stroke = stroke,
                                      .tone = tone,
                                      .text = be_figure_copy(figure, words)});
}

void be_figure_label(struct be_figure *figure, double x, double y, const char *text,
                     enum be_tone tone)
{
  if (!figure || !isfinite(x) || !isfinite(y)) return;
  be_figure_add(
      figure,
      (struct item){
          .kind = ITEM_LABEL, .x = x, .y = y, .tone = tone, .text = be_figure_copy(figure, text)});
}

size_t be_figure_rows(const struct be_figure *figure)
{
  size_t lines = 0;
  if (!figure || figure->row_count) return figure ? figure->row_count : 0;
  for (size_t i = 0; i < figure->item_count; i++) lines += figure->items[i].kind == ITEM_LABEL;
  return lines;
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
