/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/cards/lay.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

const struct frame_size be_card_sizes[] = {{"wide", 1920, 1080, 36},
                                           {"tall", 1080, 1920, 48},
                                           {"square", 1080, 1080, 36},
                                           {NULL, 0, 0, 0}};

static const double margin = 0.05, line_high = 1.28;
/* The value that the card is about, at least, in smallest texts. */
static const double value_least = 2.2;
/* Above what a frame is this many smallest texts wide, an item stands on one line. */
static const double one_line = 34;
enum { LINES_MAX = 4, LINE_BYTES = 400 };

void be_card_head(struct card *card, double size, enum be_tone tone, const char *text)
{
  if (!text || !*text || card->heads == CARD_HEAD_MAX) return;
  card->head[card->heads++] =
      (struct piece){.kind = PIECE_TEXT, .text = text, .size = size, .tone = tone};
}

void be_card_foot(struct card *card, const char *text)
{
  if (!text || !*text || card->feet == CARD_FOOT_MAX) return;
  card->foot[card->feet++] =
      (struct piece){.kind = PIECE_TEXT, .text = text, .size = 1, .tone = BE_TONE_MUTED};
}

/* Where pieces go. Without a drawing they are only measured. */
struct sheet {
  bool single; /* one item has the card to itself, and a larger bar */
  struct be_drawing *drawing;
  double x, width;
  double unit; /* px of the smallest text */
  double grow; /* 1, or less where there is much */
  double told; /* of values and notes beside bars, in smallest texts: bars end alike */
};

/* ---- texts ---- */

/* Bytes of the line that fit with three dots behind them. */
static size_t cut(const char *text, size_t length, double size, double width)
{
  char line[LINE_BYTES + 4];
  if (length > LINE_BYTES) length = LINE_BYTES;
  for (; length > 0; length--) {
    if (((unsigned char)text[length] & 0xC0) == 0x80) continue;
    memcpy(line, text, length);
    memcpy(line + length, "...", 4);
    if (be_text_width(line, size) <= width) break;
  }
  return length;
}

static void write_line(const struct sheet *sheet, double x, double y, double size, const char *text,
                       size_t length, bool dots, enum be_anchor anchor, enum be_tone tone)
{
  char line[LINE_BYTES + 4];
  if (length > LINE_BYTES) length = LINE_BYTES;
  memcpy(line, text, length);
  memcpy(line + length, dots ? "..." : "", dots ? 4 : 1);
  be_drawing_text(sheet->drawing, x, y + 0.93 * size, size, line, anchor, tone, false);
}

static size_t lines_of(const char *text, double size, double width)
{
  size_t lines = 0, skip;
  for (; *text; text += skip, lines++) be_text_line(text, size, width, &skip);
  return lines;
}

/* Returns how high it is. */
static double write_text(const struct sheet *sheet, double x, double y, double width, double size,
                         const char *text, enum be_tone tone)
{
  double top = y;
  size_t skip;
  for (size_t line = 0; *text && line < LINES_MAX; line++, text += skip, y += line_high * size) {
    size_t length = be_text_line(text, size, width, &skip);
    bool dots = line + 1 == LINES_MAX && text[skip];
    if (dots) length = cut(text, length, size, width);
    write_line(sheet, x, y, size, text, length, dots, BE_ANCHOR_START, tone);
  }
  return y - top;
}

static double text_size(const struct sheet *sheet, const struct piece *piece)
{
  bool value = piece->size >= 3;
  double size = fmax(value ? value_least : 1, piece->size * sheet->grow) * sheet->unit;
  size_t most = value ? 1 : 2;
  while (size > sheet->unit && lines_of(piece->text, size, sheet->width) > most)
    size = fmax(sheet->unit, 0.92 * size);
  return size;
}

/* ---- bars ---- */

static void level(const struct sheet *sheet, double x, double to, double y, double width,
                  enum be_tone tone)
{
  const double xs[] = {x, to}, ys[] = {y, y};
  be_drawing_stroke(sheet->drawing, xs, ys, 2, width, tone, false);
}

static void upright(const struct sheet *sheet, double x, double y, double to, double width,
                    enum be_tone tone)
{
  const double xs[] = {x, x}, ys[] = {y, to};
  be_drawing_stroke(sheet->drawing, xs, ys, 2, width, tone, false);
}

static double bar_unit(const struct sheet *sheet)
{
  return (sheet->single ? 2 : 1.25) * sheet->unit;
}

bool be_bar_goes_on(const struct bar *bar)
{
  return bar->kind == BAR_LOADS && !isnan(bar->low) && bar->high > bar->end;
}

static void draw_loads(const struct sheet *sheet, const struct bar *bar, double x, double y,
                       double width)
{
  double u = bar_unit(sheet), px = width / bar->end, fine = fmax(2, 0.1 * sheet->unit);
  level(sheet, x, x + width, y + 0.8 * u, fmax(1, 0.03 * u), BE_TONE_HAIRLINE);
  upright(sheet, x, y + 0.05 * u, y + 0.95 * u, fmax(1, 0.03 * u), BE_TONE_HAIRLINE);
  if (bar->whole > 0 && bar->whole <= bar->end)
    upright(sheet, x + bar->whole * px, y, y + u, fmax(1, 0.05 * u), BE_TONE_MUTED);
  for (size_t i = 0; i < bar->events_count; i++)
    upright(sheet, x + bar->events[i] * px, y + 0.15 * u, y + 0.5 * u, fine, bar->tone);
  for (size_t i = 0; i < bar->held_count; i++) {
    const double xs[] = {x + bar->held[i] * px, x + bar->held[i] * px + 0.3 * sheet->unit};
    const double ys[] = {y + 0.33 * u, y + 0.33 * u};
    upright(sheet, xs[0], y + 0.15 * u, y + 0.5 * u, fine, bar->tone);
    be_drawing_stroke(sheet->drawing, xs, ys, 2, 0.06 * sheet->unit, bar->tone, true);
  }
  if (!isnan(bar->low) && !isnan(bar->high)) {
    /* A head stands before the shaft, five times as long as that is wide. */
    double thick = 0.12 * sheet->unit, head = be_bar_goes_on(bar) ? 5 * thick : 0;
    const double xs[] = {x + fmax(0, bar->low) * px, x + fmin(bar->high, bar->end) * px - head};
    const double ys[] = {y + 0.8 * u, y + 0.8 * u};
    be_drawing_stroke(sheet->drawing, xs, ys, 2, thick, BE_TONE_INK, head > 0);
  }
  if (!isnan(bar->value))
    upright(sheet, x + bar->value * px, y + 0.6 * u, y + u, 0.2 * sheet->unit, BE_TONE_INK);
}

static void draw_rank(const struct sheet *sheet, const struct bar *bar, double x, double y,
                      double width)
{
  double u = bar_unit(sheet), step = width / bar->end;
  for (double k = 0; k < bar->end; k++)
    upright(sheet, x + (k + 0.5) * step, y + 0.4 * u, y + 0.6 * u, fmax(1, 0.03 * u),
            BE_TONE_HAIRLINE);
  level(sheet, x + (bar->low - 1 + 0.1) * step, x + (bar->high - 0.1) * step, y + 0.5 * u, 0.22 * u,
        bar->tone);
  upright(sheet, x + (bar->value - 0.5) * step, y + 0.1 * u, y + 0.9 * u, 0.16 * u, BE_TONE_INK);
}

static void draw_bar(const struct sheet *sheet, const struct bar *bar, double x, double y,
                     double width)
{
  if (!sheet->drawing || !(bar->end > 0)) return;
  if (bar->kind == BAR_LOADS) draw_loads(sheet, bar, x, y, width);
  if (bar->kind == BAR_RANK) draw_rank(sheet, bar, x, y, width);
}

/* ---- items ---- */

static double value_width(const struct piece *item, double size)
{
  double value = be_text_width(item->value, size);
  return fmax(value, item->note ? be_text_width(item->note, size) : 0);
}

/* Name, bar and value side by side; the note under the value. */
static double item_beside(const struct sheet *sheet, const struct piece *item, double y)
{
  double u = sheet->unit, size = u * fmax(1, 1.15 * sheet->grow), gap = 0.8 * u;
  double right = fmin(sheet->told * size, 0.4 * sheet->width), name = 0.36 * sheet->width;
  double bar = sheet->width - name - right - 2 * gap;
  double x = sheet->x + sheet->width - right;
  double high = write_text(sheet, sheet->x, y, name, size, item->text, BE_TONE_INK);
  double told = write_text(sheet, x, y, right, size, item->value, BE_TONE_INK);
  if (item->note) told += write_text(sheet, x, y + told, right, size, item->note, BE_TONE_MUTED);
  if (item->bar.kind != BAR_NONE && bar > 4 * u)
    draw_bar(sheet, &item->bar, sheet->x + name + gap, y + 0.1 * u, bar);
  return fmax(fmax(high, told), bar_unit(sheet)) + 0.45 * u * fmax(0.5, sheet->grow);
}

/* Name with the value on its line, where both fit, then the bar, then the note. */
static double item_below(const struct sheet *sheet, const struct piece *item, double y)
{
  double u = sheet->unit, size = u, top = y, width = sheet->width;
  double value = be_text_width(item->value, size);
  bool together = be_text_width(item->text, size) + value + u <= width;
  if (together)
    write_line(sheet, sheet->x + width, y, size, item->value, strlen(item->value), false,
               BE_ANCHOR_END, BE_TONE_INK);
  y += write_text(sheet, sheet->x, y, width, size, item->text, BE_TONE_INK);
  if (item->bar.kind != BAR_NONE) {
    draw_bar(sheet, &item->bar, sheet->x, y + 0.05 * u, width);
    y += bar_unit(sheet) + 0.15 * u;
  }
  if (!together) y += write_text(sheet, sheet->x, y, width, size, item->value, BE_TONE_INK);
  if (item->note) y += write_text(sheet, sheet->x, y, width, size, item->note, BE_TONE_MUTED);
  return y - top + 0.5 * u * fmax(0.5, sheet->grow);
}

static double lay_piece(const struct sheet *sheet, const struct piece *piece, double y)
{
  if (piece->kind == PIECE_TEXT) {
    double size = text_size(sheet, piece);
    return write_text(sheet, sheet->x, y, sheet->width, size, piece->text, piece->tone) +
           0.15 * size;
  }
  return sheet->width >= one_line * sheet->unit ? item_beside(sheet, piece, y)
                                                : item_below(sheet, piece, y);
}

static double lay_all(const struct sheet *sheet, const struct piece *pieces, size_t count, double y)
{
  double top = y;
  for (size_t i = 0; i < count; i++) y += lay_piece(sheet, &pieces[i], y);
  return y - top;
}

/* ---- the picture ---- */

/* Letters of a tie's picture have 16 px, so it is drawn so small that they are large enough. */
static enum be_status draw_tie(const struct card *card, double width, double height, double unit,
                               struct be_drawing **picture, double *scale, struct be_err *err)
{
  const struct be_tie *tie = &card->tie->tie;
  struct be_anatomy_asked asked = {.title = "",
                                   .loaded = tie->loaded,
                                   .hardware = tie->hardware,
                                   .letter = tie->letter,
                                   .material = card->has_material ? card->material : NULL};
  *scale = unit / 16;
  for (int pass = 0; pass < 3; pass++) {
    asked.width = fmax(200, floor(width / *scale));
    enum be_status status =
        be_anatomy_drawing(&tie->lines, &card->tie->seen.view, &asked, picture, err);
    if (status != BE_OK) return status;
    double high = be_drawing_height(*picture) * *scale;
    if (high <= height && be_drawing_width(*picture) * *scale <= width + 1) return BE_OK;
    be_drawing_free(*picture);
    *picture = NULL;
    if (asked.width <= 200) return BE_OK; /* no room: the card does without */
    width = fmin(width, 0.98 * asked.width * *scale * height / fmax(high, 1));
  }
  return BE_OK;
}

/* ---- the card ---- */

struct plan {
  struct sheet sheet;
  double full_width, top, bottom; /* inside the margin */
  struct be_drawing *picture;
  double scale, picture_width, picture_height; /* px; 0 without one */
  bool beside;
  size_t first_foot, count;
  double height;
};

static double heights(const struct card *card, const struct plan *plan, size_t from)
{
  double all = lay_all(&plan->sheet, card->head, card->heads, 0) + 0.3 * plan->sheet.unit;
  all += lay_all(&plan->sheet, card->items + from, plan->count, 0);
  if (!plan->beside && plan->picture) all += plan->picture_height + 0.4 * plan->sheet.unit;
  all += lay_all(&plan->sheet, card->foot + plan->first_foot, card->feet - plan->first_foot, 0);
  return plan->beside ? fmax(all, plan->picture_height) : all;
}

static bool fits(const struct card *card, size_t from, struct plan *plan)
{
  plan->height = heights(card, plan, from);
  return plan->height <= plan->bottom - plan->top;
}

/* First somewhat smaller, then fewer items, then as small as may be, then no picture, then without
 * the foot, whose last lines matter most. */
static void settle(const struct card *card, size_t from, struct plan *plan)
{
  static const double readable = 0.65, smallest = 0.25;
  plan->first_foot = 0;
  plan->count = card->items_count - from;
  for (plan->sheet.grow = 1; plan->sheet.grow > readable; plan->sheet.grow *= 0.9)
    if (fits(card, from, plan)) return;
  while (plan->count > 1 && !fits(card, from, plan)) plan->count--;
  for (; plan->sheet.grow > smallest; plan->sheet.grow *= 0.9)
    if (fits(card, from, plan)) return;
  if (plan->picture) {
    be_drawing_free(plan->picture);
    plan->picture = NULL;
    plan->picture_height = 0;
    plan->sheet.width = plan->full_width;
    settle(card, from, plan);
    return;
  }
  while (!fits(card, from, plan) && plan->first_foot < card->feet) plan->first_foot++;
}

static void draw_panel(const struct frame_size *size, const struct plan *plan, double y)
{
  double side = 0.5 * margin * size->width, edge = 0.6 * plan->sheet.unit;
  double left = side, right = size->width - side;
  double top = fmax(0.5 * margin * size->height, y - edge);
  double bottom = fmin((1 - 0.5 * margin) * size->height, y + plan->height + edge);
  const double xs[] = {left, right}, ys[] = {(top + bottom) / 2, (top + bottom) / 2};
  be_drawing_rub_out(plan->sheet.drawing, xs, ys, 2, bottom - top);
  const double round_x[] = {left, right, right, left, left, right};
  const double round_y[] = {top, top, bottom, bottom, top, top};
  be_drawing_stroke(plan->sheet.drawing, round_x, round_y, 6, 2, BE_TONE_HAIRLINE, false);
}

static void draw_plan(const struct card *card, const struct frame_size *size, size_t from,
                      struct plan *plan)
{
  struct sheet *sheet = &plan->sheet;
  double y = fmax(plan->top, (size->height - plan->height) / 2);
  draw_panel(size, plan, y);
  if (plan->picture && plan->beside)
    be_drawing_put(sheet->drawing, plan->picture, sheet->x + plan->full_width - plan->picture_width,
                   y + (plan->height - plan->picture_height) / 2, plan->scale);
  y += lay_all(sheet, card->head, card->heads, y) + 0.3 * sheet->unit;
  if (plan->picture && !plan->beside) {
    be_drawing_put(sheet->drawing, plan->picture,
                   sheet->x + (plan->full_width - plan->picture_width) / 2, y, plan->scale);
    y += plan->picture_height + 0.4 * sheet->unit;
  }
  y += lay_all(sheet, card->items + from, plan->count, y);
  lay_all(sheet, card->foot + plan->first_foot, card->feet - plan->first_foot, y);
}

static void write_rows(char *text, size_t size, size_t from, size_t to, size_t of)
{
  if (from == to) snprintf(text, size, "Row %zu of %zu.", from, of);
  else snprintf(text, size, "Rows %zu to %zu of %zu.", from, to, of);
}

enum be_status be_card_draw(const struct card *card, const struct frame_size *size, size_t from,
                            size_t *count, struct be_drawing **drawing, struct be_err *err)
{
  struct plan plan = {.sheet = {.x = margin * size->width,
                                .unit = size->least,
                                .grow = 1,
                                .single = card->items_count == 1},
                      .full_width = (1 - 2 * margin) * size->width,
                      .top = margin * size->height,
                      .bottom = (1 - margin) * size->height,
                      .beside = size->width > size->height};
  enum be_status status = BE_OK;
  plan.sheet.width = plan.full_width;
  for (size_t i = 0; i < card->items_count; i++)
    plan.sheet.told = fmax(plan.sheet.told, value_width(&card->items[i], 1));
  if (card->tie) {
    double wide = plan.beside ? 0.36 * plan.full_width : plan.full_width;
    double high = (plan.bottom - plan.top) * (plan.beside ? 0.9 : 0.36);
    status = draw_tie(card, wide, high, plan.sheet.unit, &plan.picture, &plan.scale, err);
  }
  if (status != BE_OK) return status;
  if (plan.picture) {
    plan.picture_width = be_drawing_width(plan.picture) * plan.scale;
    plan.picture_height = be_drawing_height(plan.picture) * plan.scale;
    if (plan.beside) plan.sheet.width -= plan.picture_width + plan.sheet.unit;
  }
  settle(card, from, &plan);
  /* Of more items than have room it is told which these are. */
  char rows[80];
  struct card part = *card;
  if (plan.count < card->items_count) {
    write_rows(rows, sizeof rows, card->items_count - 1, card->items_count, card->items_count);
    be_card_foot(&part, rows);
    settle(&part, from, &plan);
    write_rows(rows, sizeof rows, from + 1, from + plan.count, card->items_count);
  }
  *count = plan.count;
  *drawing = plan.sheet.drawing =
      be_drawing_create(card->heads ? card->head[0].text : "", NULL, size->width, size->height);
  draw_plan(&part, size, from, &plan);
  be_drawing_free(plan.picture);
  return *drawing ? BE_OK : be_fail(err, BE_NO_MEMORY, "no memory for a card");
}

void be_card_text(const struct card *card, struct be_buf *text)
{
  be_buf_format(text, "Card: %s\n\n", card->kind);
  for (size_t i = 0; i < card->heads; i++) be_buf_format(text, "%s\n", card->head[i].text);
  be_buf_text(text, "\n");
  for (size_t i = 0; i < card->items_count; i++) {
    const struct piece *item = &card->items[i];
    be_buf_format(text, "%s: %s%s%s\n", item->text, item->value, item->note ? "; " : "",
                  item->note ? item->note : "");
  }
  be_buf_text(text, card->items_count ? "\n" : "");
  for (size_t i = 0; i < card->feet; i++) be_buf_format(text, "%s\n", card->foot[i].text);
  be_buf_format(text, "\n%s\n", be_notice);
}
