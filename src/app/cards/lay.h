/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How all cards are laid out: pieces one under the other on paper, inside a margin of 5 %, with the
 * picture of a tie beside or above them. The smallest text is as in
 * figures of that frame (chart.h): 1/30 of the height, tall 1/40. What is larger
 * shrinks down to that when there is too much, then texts break, then items go on to another
 * card; what still has no room is cut, and stands in the text. */
#ifndef BE_APP_CARDS_LAY_H
#define BE_APP_CARDS_LAY_H

#include "app/anatomy/anatomy.h"

struct frame_size {
  const char *word;
  double width, height, least; /* px; least: of texts */
};
extern const struct frame_size be_card_sizes[]; /* ends with a null word */

enum bar_kind { BAR_NONE, BAR_LOADS, BAR_RANK };
/* Loads or shares from 0 on: each event, each lower bound, their mean and its interval; or, from 1
 * on, a rank and its range. Not-a-number is not drawn; an interval that goes on past the end has an
 * arrow there. */
struct bar {
  enum bar_kind kind;
  double end; /* of the axis */
  const double *events, *held;
  size_t events_count, held_count;
  double value, low, high;
  double whole; /* "the line itself" stands here */
  enum be_tone tone;
};

bool be_bar_goes_on(const struct bar *bar);

enum piece_kind { PIECE_TEXT, PIECE_ITEM };
struct piece {
  enum piece_kind kind;
  const char *text;  /* of an item: its name */
  const char *value; /* of an item */
  const char *note;  /* of an item; or null */
  double size;       /* of a text, in smallest texts: 1 to 5 */
  enum be_tone tone;
  struct bar bar; /* of an item */
};

enum { CARD_HEAD_MAX = 6, CARD_FOOT_MAX = 7 };
struct card {
  const char *kind, *name; /* of its files: "result", "palomar-nylon-12-lb-dry" */
  struct piece head[CARD_HEAD_MAX];
  size_t heads;
  struct piece *items;
  size_t items_count;
  struct piece foot[CARD_FOOT_MAX];
  size_t feet;
  const struct anatomy *tie; /* or null */
  enum be_tone material[BE_LINES_MAX];
  bool has_material;
};

/* Null text is passed over, so that what had no memory is only lost: the survey's arena knows. */
void be_card_head(struct card *card, double size, enum be_tone tone, const char *text);
void be_card_foot(struct card *card, const char *text);

/* A drawing of the items from one on, as many as have room: *count, 1 or more, or 0 when there are
 * none. */
enum be_status be_card_draw(const struct card *card, const struct frame_size *size, size_t from,
                            size_t *count, struct be_drawing **drawing, struct be_err *err);
/* All it says, without cutting. */
void be_card_text(const struct card *card, struct be_buf *text);

#endif
