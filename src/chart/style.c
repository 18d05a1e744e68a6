/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The one table of tones. Each rule is written twice: plainly, for renderers
 * that know no custom properties, and then with its property, which wins where
 * it is known. Contrast of every text tone on its paper is at least 4.5 : 1
 * (WCAG 2 formula; tests/chart computes it). */
#include "chart/inside.h"

#include <assert.h>
#include <stdlib.h>

/* name, light, dark, print */
#define TONES(X)                                                                                   \
  X("paper", "#F6F4EE", "#15181B", "#FFFFFF")                                                      \
  X("ink", "#1D2226", "#ECE8DF", "#000000")                                                        \
  X("muted", "#5B6166", "#A6A79F", "#4A4F53")                                                      \
  X("hairline", "#C9C4B6", "#3B4146", "#BBBBBB")                                                   \
  X("nylon", "#2273A8", "#5FA9DB", "#2273A8")                                                      \
  X("braid", "#8A5A00", "#D79B3B", "#8A5A00")                                                      \
  X("fluorocarbon", "#46184F", "#EBD3F7", "#46184F")                                               \
  X("act", "#0F5B4F", "#86D6C0", "#0F5B4F")                                                        \
  X("stop", "#A3220E", "#FF9A85", "#A3220E")

#define LIGHT(name, light, dark, print) "--" name ":" light ";"
#define DARK(name, light, dark, print) "--" name ":" dark ";"
#define PRINT(name, light, dark, print) "--" name ":" print ";"
#define RULES(name, light, dark, print)                                                            \
  ".figure .fill-" name "{fill:" light ";fill:var(--" name ")}\n"                                  \
  ".figure .stroke-" name "{stroke:" light ";stroke:var(--" name ")}\n"

const char *be_figure_style(void)
{
  return ":root{color-scheme:light dark;" TONES(
      LIGHT) "}\n"
             "@media (prefers-color-scheme:dark){:root{" TONES(DARK) "}}\n"
                                                                     "@media print{:root{" TONES(
                                                                         PRINT) "}}\n" TONES(RULES);
}

#define PLAIN(name, colour)                                                                        \
  ".figure .fill-" name "{fill:" colour "}\n.figure .stroke-" name "{stroke:" colour "}\n"
#define PLAIN_LIGHT(name, light, dark, print) PLAIN(name, light)
#define PLAIN_DARK(name, light, dark, print) PLAIN(name, dark)
#define PLAIN_PRINT(name, light, dark, print) PLAIN(name, print)

const char *be_plain_style(enum be_drawn how)
{
  switch (how) {
  case BE_DRAWN_LIGHT: return TONES(PLAIN_LIGHT);
  case BE_DRAWN_DARK: return TONES(PLAIN_DARK);
  case BE_DRAWN_PRINT: return TONES(PLAIN_PRINT);
  case BE_DRAWN_CLEAR:
    return TONES(PLAIN_DARK) ".figure text{stroke:#15181B;stroke-width:4px;stroke-linejoin:round;"
                             "paint-order:stroke}\n";
  case BE_DRAWN_INLINE:
  case BE_DRAWN_FILE: break;
  }
  return be_figure_style();
}

unsigned be_tone_colour(enum be_tone tone, enum be_drawn how)
{
#define COLOURS(name, light, dark, print) {light, dark, print},
  static const char *const colours[][3] = {TONES(COLOURS)};
  const char *const *of = colours[(size_t)tone + 1]; /* behind the paper */
  const char *text = how == BE_DRAWN_DARK ? of[1] : how == BE_DRAWN_PRINT ? of[2] : of[0];
  return (unsigned)strtoul(text + 1, NULL, 16);
}

void be_svg_style(struct be_buf *svg, enum be_drawn how)
{
  be_buf_format(
      svg,
      "<style>\n%s.figure{font-family:system-ui,\"Segoe UI\",Roboto,\"Helvetica "
      "Neue\",Arial,sans-serif;font-variant-numeric:tabular-nums slashed-zero}\n</style>\n",
      be_plain_style(how));
}

void be_svg_ground(struct be_buf *svg, enum be_drawn how)
{
  be_svg_style(svg, how);
  if (how != BE_DRAWN_CLEAR)
    be_buf_text(svg, "<rect width=\"100%\" height=\"100%\" class=\"fill-paper\"/>\n");
}

const char *be_tone_name(enum be_tone tone)
{
  static const char *const names[] = {"ink",   "muted",        "hairline", "nylon",
                                      "braid", "fluorocarbon", "act",      "stop"};
  assert((size_t)tone < sizeof names / sizeof names[0]);
  return names[tone];
}
