/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A tie on its way from text to lines:
 *
 *   words.c     text -> words, with their places
 *   numbers.c   expressions, names and settings
 *   read.c      blocks and points -> a sketch: dots, legs between them, letters
 *   statements.c  the others: what it is called, settings, lines, loaded ends
 *   shapes.c    coils, rings, lines made from other lines
 *   heights.c   crossings of the sketch, who runs over, heights
 *   build.c     the sketch with heights -> smooth lines
 *   seat.c      strands pushed apart until they touch
 *
 *   read -> statements -> shapes, numbers -> words        build -> seat */
#ifndef BE_KNOT_TIE_INSIDE_H
#define BE_KNOT_TIE_INSIDE_H

#include "knot/curve/vector.h"
#include "knot/tie/tie.h"

#include <string.h>

/* ---- words ---- */

struct place {
  unsigned line, column;
};

struct word {
  const char *at;
  size_t length;
  struct place place;
  bool first; /* of its line */
};

struct words {
  struct word *list; /* ends with one of length 0 */
  size_t count;
};
/* Blanks part words, but not inside brackets; "#" begins a remark. */
enum be_status be_tie_words(const char *text, size_t size, struct be_arena *arena,
                            struct words *words, struct be_err *err);
bool be_word_is(const struct word *word, const char *text);

/* ---- names and numbers ---- */

struct name {
  const char *at;
  size_t length;
  bool number;
  double value;
  struct word word; /* of a choice */
};

enum { NAMES_MAX = 64 };
struct names {
  struct name list[NAMES_MAX];
  size_t count;
};

const struct name *be_names_look(const struct names *names, const char *at, size_t length);
/* Whether a word may be a name. */
enum be_status be_name_check(const struct word *word, struct be_err *err);
/* Gives a value to a name; the newest counts. */
enum be_status be_names_put(struct names *names, const struct word *word, double value,
                            struct be_err *err);
/* A number from a word, or a part of it up to a comma; *end is where it stopped. */
enum be_status be_tie_number(const struct names *names, const struct word *word, const char **at,
                             double *value, struct be_err *err);
/* The settings that the caller asks for: those of them that were used are marked. */
struct asked {
  const char *name, *value;
  size_t name_length, value_length;
  bool used;
};
struct settings {
  struct asked asked[BE_TIE_SETTINGS_MAX];
  size_t count;
};
enum be_status be_tie_settings_read(const char *text, struct settings *settings,
                                    struct be_err *err);

/* ---- the sketch ---- */

struct dot {
  struct be_point at;
  bool given;           /* its height is; else it is found from the crossings */
  struct be_point side; /* where a companion lies; of a coil: along its axis; else 0 */
  struct place place;
};

/* A straight piece, with the letters that stand on it. */
struct leg {
  size_t from, to, letter, letters;
  struct place place;
};

struct letter {
  char says; /* o, u or . */
  struct place place;
};

/* The line runs over a leg, there or back, and to a side of it. */
struct step {
  size_t leg;
  bool back;
  signed char side;
};

struct list {
  void *items;
  size_t count, capacity;
};

/* One line of the sketch. */
struct sketch {
  char letter;
  bool hardware, closed;
  double diameter;
  struct list dots, legs, letters, steps;
  int beside, side; /* the line that it lies beside (-1: none), and on which side of it */
  struct place place;
};

struct sketches {
  struct sketch line[BE_LINES_MAX];
  size_t count;
  bool mirror;
  bool loaded[BE_LINES_MAX][2];
  struct be_view view;
};

struct reading {
  struct words words;
  size_t at;                 /* the next word */
  size_t done;               /* words read so far, repeats too */
  int depth;                 /* of blocks */
  size_t pulled, pulled_end; /* the words that say which ends are */
  struct names names;
  struct settings asked;
  struct sketches sketches;
  struct sketch *line; /* that is being drawn; null: none */
  size_t here;         /* its dot that the next leg begins at; NONE: no dot yet */
  struct be_tie *tie;
  struct be_arena *arena; /* of the caller */
  struct be_arena *scratch;
  struct be_err *err;
};
enum { NONE = -1, ITEMS_MAX = 20000, WORDS_MOST = 200000 };

static inline struct dot *dots_of(const struct sketch *line)
{
  return line->dots.items;
}
static inline struct leg *legs_of(const struct sketch *line)
{
  return line->legs.items;
}
static inline struct letter *letters_of(const struct sketch *line)
{
  return line->letters.items;
}
static inline struct step *steps_of(const struct sketch *line)
{
  return line->steps.items;
}

/* Fails at a place of the text. */
enum be_status be_tie_wrong(struct be_err *err, struct place place, const char *format, ...)
    BE_PRINTF(3, 4);
enum be_status be_tie_no_memory(struct be_err *err);
/* Room for one more; null when memory is out or there are too many. */
void *be_list_add(struct list *list, size_t size, struct be_arena *arena);
enum be_status be_list_failed(const struct list *list, struct be_err *err); /* why that was null */

/* A dot, and the leg and step that lead to it. */
enum be_status be_sketch_dot(struct reading *r, const struct dot *dot);
/* x,y or x,y,z of the next word. */
enum be_status be_read_point(struct reading *r, struct be_point *point, bool *given);
enum be_status be_read_number(struct reading *r, double *value);
const struct word *be_read_word(struct reading *r);
/* Reads the word if it is next. */
bool be_read_is(struct reading *r, const char *text);

/* What stands behind the words coil, ring, and the letter of a line to be copied. */
enum be_status be_shape_coil(struct reading *r);
enum be_status be_shape_ring(struct reading *r, struct sketch *line);
enum be_status be_shape_copy(struct reading *r, const struct sketch *from, struct sketch *line);

/* ---- heights ---- */

/* A crossing of the sketch. */
struct meeting {
  size_t line[2], leg[2];
  double at[2]; /* along the leg, 0 to 1 */
  double x, y;
  int over; /* 0 or 1; -1: not told yet */
  double height[2];
};

struct meetings {
  struct meeting *list;
  size_t count;
  /* Passes of all legs: by line, leg and place on it. */
  struct pass {
    size_t meeting, line, leg;
    int which;
    double at;
  } * passes;
};

enum be_status be_tie_heights(struct sketches *sketches, struct be_arena *scratch,
                              struct meetings *meetings, struct be_err *err);
/* Where the passes of a leg begin in the list, and how many there are. */
size_t be_passes_of(const struct meetings *meetings, size_t line, size_t leg, size_t *first);

/* ---- lines ---- */

enum be_status be_tie_build(const struct sketches *sketches, const struct meetings *meetings,
                            struct be_arena *scratch, struct be_arena *arena, struct be_tie *tie,
                            struct be_err *err);
/* Pushes strands apart; points keep their number. */
enum be_status be_tie_seat(struct be_lines *lines, const bool *hardware, struct be_arena *scratch,
                           struct be_err *err);

#endif
