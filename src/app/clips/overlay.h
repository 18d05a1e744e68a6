/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The load of one specimen as it was pulled, to be laid over footage: the number, the trace as it
 * grows, and after it let go the peak, what let go and where. */
#ifndef BE_APP_OVERLAY_H
#define BE_APP_OVERLAY_H

#include "app/clips/clip.h"
#include "app/survey/survey.h"

/* A point of the trace as it is drawn: seconds from the start of the scene, newton. */
struct dot {
  double at_s, force_N;
};
/* Where things stand, in px. */
struct box {
  double x, y, wide, high;
};
struct overlay_shape {
  double unit;          /* of type: the smallest size, 1/30 of the height */
  struct box plates[2]; /* in a tall frame two, so that the middle stays free */
  size_t plates_count;
  double left, wide;                                          /* of texts */
  double knot_y, lines_y, code_y, label_y, number_y, below_y; /* base lines */
  size_t knot_lines, lines_lines, below_lines;
  bool code_apart; /* the code is too long to stand beside the label: it has lines of its own */
  size_t code_lines;
  double code_wide;                       /* room for it */
  double number, number_wide, below_wide; /* size of the number */
  struct box plot;
};

struct overlay {
  int width, height;
  struct overlay_shape shape;
  const char *code, *knot, *lines; /* "SPEC-7", "palomar", "braid 20 lb to ring, dry" */
  const char *let_go;              /* "broke, in the knot, line A"; of a void, why */
  bool held;                       /* nothing let go */
  enum be_tone tone;               /* of the material of the line that is weaker by its label */
  const char *peak_word;           /* "peak", "recorded peak", "at least", "void, trace peak" */
  double trace_peak_N;             /* where it is not the recorded load; else not-a-number */
  const struct be_unit *unit;
  int decimals;
  double peak_N;            /* the recorded load, or that of the trace */
  double low_N, high_N;     /* of the trace as drawn */
  double rises_s, breaks_s; /* in the scene */
  double lasts_s;
  const double *at_s, *force_N; /* every row, less the zero; at_s never falls */
  size_t rows;
  struct dot *dots; /* decimated: four for a column of pixels at most */
  size_t dots_count;
};

extern const struct scene_kind be_overlay_kind;

/* Everything is in the survey's arena. BE_WRONG_USE for a specimen that is not there, BE_BAD_INPUT
 * for one whose trace cannot be timed. doc: gets what has to be said of it. */
enum be_status be_overlay_make(const struct survey *survey, const char *code, int width, int height,
                               struct be_doc *doc, struct overlay *overlay, struct be_err *err);
/* All that is drawn, in words. */
void be_overlay_tell(const struct overlay *overlay, struct be_buf *told);
/* The load at a moment, between rows; not-a-number outside. */
double be_overlay_load(const struct overlay *overlay, double at_s);
/* overlay_shape.c: of its texts and its size. */
enum be_status be_overlay_lay_out(struct overlay *overlay, struct be_err *err);
/* footage.c: when a frame of footage is shown, and what there is to be said of it under a clip. */
double be_footage_s(const struct be_footage_about *about, size_t frame);
void be_footage_say(const struct clip *clip, const struct clip_made *made,
                    const struct overlay *overlay, struct be_doc *doc);
#define BE_OVERLAY_LOAD "load" /* what the number is, until it lets go */
/* "29.9 lb" */
enum { LOAD_BYTES = 64 };
void be_overlay_words(const struct overlay *overlay, double force_N, char words[LOAD_BYTES]);
/* Ticks 1, 2 or 5 times a power of ten apart, at most so many up to `high`. */
double be_tick_step(double high, double most);

#endif
