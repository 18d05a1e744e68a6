/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the tests of this room ask of an SVG. */
#ifndef BE_TEST_SVG_CHECK_H
#define BE_TEST_SVG_CHECK_H

#include "chart/chart.h"
#include "test.h"

static inline char *drawn(const struct be_figure *figure, bool standalone, bool narrow)
{
  static char text[1 << 22];
  struct be_buf svg;
  be_buf_init(&svg, sizeof text - 1);
  assert_int_equal(be_figure_svg(figure, narrow ? BE_FRAME_COLUMN : BE_FRAME_SCREEN,
                                 standalone ? BE_DRAWN_FILE : BE_DRAWN_INLINE, 7, &svg, NULL),
                   BE_OK);
  memcpy(text, svg.data, svg.size + 1);
  be_buf_free(&svg);
  return text;
}

/* drawn() writes over what it wrote before; this keeps a copy, to be freed. */
static inline char *kept(const char *text)
{
  char *copy = malloc(strlen(text) + 1);
  assert_non_null(copy);
  return strcpy(copy, text);
}

static inline size_t count_of(const char *text, const char *what)
{
  size_t count = 0;
  for (const char *at = text; (at = strstr(at, what)); at += strlen(what)) count++;
  return count;
}

/* Tags are closed in order, attributes are quoted, no bare < or & in texts. */
static inline void assert_well_formed(const char *svg)
{
  size_t depth = 0;
  for (const char *c = svg; *c; c++) {
    if (*c == '&') assert_non_null(strchr(c, ';'));
    if (*c != '<') continue;
    bool closing = c[1] == '/';
    bool quoted = false;
    for (c++; *c && (quoted || *c != '>'); c++) {
      if (*c == '"') quoted = !quoted;
      assert_true(*c != '<');
    }
    assert_true(*c == '>' && !quoted);
    if (closing) {
      assert_true(depth > 0);
      depth--;
    } else if (c[-1] != '/') depth++;
  }
  assert_int_equal(depth, 0);
  assert_null(strstr(svg, " style="));
  assert_null(strstr(svg, "nan"));
  assert_null(strstr(svg, "inf"));
}

/* What stands between > and the next <, without markup. */
static inline void svg_text_at(const char *at, char *text, size_t size)
{
  static const struct {
    const char *markup;
    char plain;
  } escapes[] = {{"&lt;", '<'}, {"&gt;", '>'}, {"&amp;", '&'}, {"&quot;", '"'}, {"&#39;", '\''}};
  size_t used = 0;
  for (at = strchr(at, '>') + 1; *at && *at != '<' && used + 1 < size;) {
    size_t i = 0;
    while (i < 5 && strncmp(at, escapes[i].markup, strlen(escapes[i].markup)) != 0) i++;
    text[used++] = i < 5 ? escapes[i].plain : *at;
    at += i < 5 ? strlen(escapes[i].markup) : 1;
  }
  text[used] = '\0';
}

#endif
