/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Labels on pages of their own, 24 on each, in the grid that sheets of labels to peel off have
 * too: three beside one another, 63.5 mm by 33.9 mm (common practice; no source). They are as
 * large as that only if the page is printed at its own size. */
#include "press/pdf/page.h"

#include <string.h>

enum { ACROSS = 3, DOWN = 8, LARGE_TEXT_MAX = 12, SMALL_LINES = 4 };
#define MM (72 / 25.4)
static const double wide = 63.5 * MM, high = 33.9 * MM, apart = 2.5 * MM;
static const double left = 7.25 * MM, top = 12.9 * MM; /* what is left of A4, on either side */
static const double pad_x = 3 * MM, pad_y = 2 * MM;
static const double square = 15 * MM, bars = 6 * MM;
static const double code_text = 16, small_text = 6, text = 7.5, text_high = 1.2 * 7.5;

/* ---- symbols ---- */

/* With the light edge that is part of it. */
static void draw_symbol(cairo_t *cairo, const struct be_symbol *symbol, double x, double y,
                        double width, double height)
{
  struct be_symbol_edge edge = be_symbol_edge(symbol);
  double px = width / (double)(symbol->width + 2 * edge.beside);
  double py = height / (double)(symbol->rows + 2 * edge.above);
  for (size_t row = 0; row < symbol->rows; row++)
    for (size_t i = 0, run; i < symbol->width; i += run) {
      const unsigned char *dark = &symbol->dark[row * symbol->width + i];
      for (run = 1; i + run < symbol->width && dark[run] == *dark;) run++;
      if (!*dark) continue;
      cairo_rectangle(cairo, x + px * (double)(i + edge.beside),
                      y + py * (double)(row + edge.above), px * (double)run, py);
    }
  cairo_set_source_rgb(cairo, 0, 0, 0);
  cairo_fill(cairo);
}

/* ---- one label ---- */

/* Large, or broken over lines below one another. Returns how high it is. */
static double show_code(struct pdf *pdf, const char *code, double x, double y, double width)
{
  bool large = be_text_columns(code, strlen(code)) <= LARGE_TEXT_MAX;
  double size = code_text;
  while (large && size > text && be_words_width(pdf, code, size) * 1.15 > width) size -= 0.5;
  if (!large) size = small_text;
  struct words words = be_words(pdf, code, size, true, width);
  int lines = words.lines < SMALL_LINES ? words.lines : SMALL_LINES;
  be_tag(pdf, "P");
  be_words_show(pdf, &words, 0, lines, x, y, false, BE_TONE_INK);
  be_tag_end(pdf, "P");
  double height = lines * words.leading;
  be_words_free(&words);
  return height < 1.2 * code_text ? 1.2 * code_text : height;
}

static void show_line(struct pdf *pdf, const char *head, const char *told, double x, double y,
                      double width)
{
  char line[CELL_ROOM + 100];
  snprintf(line, sizeof line, "%.90s%s%.790s", head, *head ? ": " : "", told);
  struct words words = be_words_cut(pdf, line, text, width);
  be_tag(pdf, "P");
  be_words_show(pdf, &words, 0, 1, x, y, false, BE_TONE_INK);
  be_tag_end(pdf, "P");
  be_words_free(&words);
}

/* What two have in common is drawn once. */
static void frame(cairo_t *cairo, double x, double y, bool first)
{
  const double dashes[] = {2, 2};
  cairo_save(cairo);
  cairo_set_line_width(cairo, 0.4);
  cairo_set_dash(cairo, dashes, 2, 0);
  cairo_move_to(cairo, x, y);
  cairo_rel_line_to(cairo, 0, high);
  cairo_rel_line_to(cairo, wide, 0);
  cairo_rel_line_to(cairo, 0, -high);
  if (first) cairo_rel_line_to(cairo, -wide, 0);
  cairo_stroke(cairo);
  cairo_restore(cairo);
}

/* The square beside the first three rows, the bars below them, then what is ticked. */
static void show_label(struct pdf *pdf, const struct be_table *table, size_t row, double x,
                       double y)
{
  enum { BESIDE_SQUARE = 3 };
  char room[CELL_ROOM];
  const struct drawn *drawn[2] = {NULL, NULL};
  double inner = wide - 2 * pad_x, beside = inner - square - 1 * MM, from = y + pad_y;
  size_t shown = 0;
  for (size_t i = 0; i < table->column_count; i++)
    for (const struct drawn *one = be_table_cell(table, row, i)->drawn; one; one = one->before)
      drawn[one->symbol.kind == BE_SYMBOL_BARS] = one;
  be_page_tone(pdf, BE_TONE_MUTED);
  frame(pdf->cairo, x, y, row % (ACROSS * DOWN) < ACROSS);
  x += pad_x;
  if (drawn[0])
    draw_symbol(pdf->cairo, &drawn[0]->symbol, x + inner - square, from, square, square);
  double now = from;
  for (size_t i = 0; i < table->column_count; i++) {
    if (table->columns[i].program_only) continue;
    const char *told = be_cell_text(be_table_cell(table, row, i), room);
    double width = shown < BESIDE_SQUARE ? beside : inner;
    if (shown == 0) now += show_code(pdf, told, x, now, width);
    else {
      show_line(pdf, table->columns[i].head, told, x, now, width);
      now += text_high;
    }
    if (++shown != BESIDE_SQUARE) continue;
    if (now < from + square) now = from + square;
    if (drawn[1]) draw_symbol(pdf->cairo, &drawn[1]->symbol, x, now + 1, inner, bars);
    now += bars + 3.5;
  }
}

void be_pdf_labels(struct pdf *pdf, const struct be_table *table)
{
  for (size_t row = 0; row < be_table_rows(table); row++) {
    size_t at = row % (ACROSS * DOWN);
    if (at == 0) be_page_bare(pdf);
    if (!pdf->dry)
      show_label(pdf, table, row, left + (double)(at % ACROSS) * (wide + apart),
                 top + (double)(at / ACROSS) * high);
  }
}
