/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What patterns, marks and strokes mean, in lines between title and plot; and the foot. */
#include "chart/inside.h"

#include <string.h>

enum { SAMPLE = 26, SAMPLE_GAP = 7, KEYS_GAP = 20, LINE = 24 };

/* Calls draw for each key with its place, the first at 0, 0; returns the number of lines. */
typedef void draw_key(const struct pen *pen, const struct item *key, double x, double y);

static size_t walk(const struct be_figure *figure, double width, const struct pen *pen,
                   draw_key *draw)
{
  size_t lines = 0;
  double x = 0;
  for (size_t i = 0; i < figure->item_count; i++) {
    const struct item *key = &figure->items[i];
    if (key->kind != ITEM_KEY) continue;
    double own = SAMPLE + SAMPLE_GAP + be_text_width(key->text, SMALL_TEXT);
    if (lines == 0 || x + own > width) {
      lines++;
      x = 0;
    }
    if (draw) draw(pen, key, x, (double)(lines - 1) * LINE);
    x += own + KEYS_GAP;
  }
  return lines;
}

size_t be_key_lines(const struct be_figure *figure, double width)
{
  return walk(figure, width, NULL, NULL);
}

static void draw(const struct pen *pen, const struct item *key, double x, double y)
{
  double left = pen->layout->pad + x, top = pen->layout->heads_bottom + y;
  double middle = top + LINE / 2.0 - 1;
  if (key->shows == ITEM_BOX) {
    const double corner[4] = {left + 1, middle - 8, left + SAMPLE, middle + 8};
    be_svg_pattern(pen->svg, corner, key->pattern, key->tone);
  } else if (key->shows == ITEM_MARK) {
    be_svg_mark_at(pen->svg, key, left + MARK_RADIUS + 4, middle, false);
  } else {
    be_svg_sample(pen->svg, key, left + 1, left + SAMPLE, middle);
  }
  const struct lettering lettering = {SMALL_TEXT, BE_TONE_INK, NULL, false, false};
  be_svg_text(pen, left + SAMPLE + SAMPLE_GAP, middle + 5, &lettering, key->text,
              strlen(key->text));
}

void be_svg_keys(const struct pen *pen)
{
  walk(pen->figure, pen->layout->width - 2 * pen->layout->pad, pen, draw);
}

static void list_letters(const struct be_figure *figure, struct be_buf *words)
{
  size_t count = 0;
  for (size_t i = 0; i < figure->item_count; i++) {
    char letter[8];
    if (figure->items[i].kind != ITEM_LABEL) continue;
    be_label_letter(count++, letter);
    be_buf_format(words, "%s%s: %s",
                  count > 1     ? "; "
                  : words->size ? " "
                                : "",
                  letter, figure->items[i].text);
  }
  if (count) be_buf_char(words, '.');
}

char *be_foot_words(const struct be_figure *figure, const struct layout *layout,
                    struct be_arena *arena)
{
  struct be_buf words;
  be_buf_init(&words, 1 << 20);
  be_buf_text(&words, "");
  for (size_t i = 0; layout->numbered && i < figure->x.names_count; i++)
    be_buf_format(&words, "%s%zu: %s%s", i ? " " : "", i + 1, figure->x.names[i],
                  i + 1 < figure->x.names_count ? ";" : ".");
  if (layout->lettered && words.status == BE_OK) list_letters(figure, &words);
  if (*figure->foot) be_buf_format(&words, "%s%s", words.size ? " " : "", figure->foot);
  char *made = words.status == BE_OK ? be_arena_text(arena, words.data, words.size) : NULL;
  be_buf_free(&words);
  return made;
}
