/* SPDX-License-Identifier: GPL-3.0-or-later */
/* film: moving pictures and their sound. Frames go in, a file comes out; the sound and the frames
 * of a file are read. It knows nothing of what is shown.
 *
 * Videos are coded by the FFmpeg libraries. To be linked with them would cost every start of the
 * program 30 ms, so they are behind a module (film/av), a table of functions that is opened only
 * when it is needed. A handle belongs to the module: what it gave is freed by it. */
#ifndef BE_FILM_H
#define BE_FILM_H

#include "base/base.h"

/* ---- kinds -------------------------------------------------------------- */

enum be_film_kind {
  BE_FILM_QTRLE,  /* QuickTime animation: lossless, transparent */
  BE_FILM_VP9,    /* transparent, small */
  BE_FILM_PRORES, /* ProRes 4444: transparent, for editing */
  BE_FILM_H264,   /* for every screen; nothing is transparent */
  BE_FILM_PNG,    /* a folder of pictures: needs no module */
  BE_FILM_KINDS
};
struct be_film_about {
  const char *word, *ending; /* "qtrle", ".mov" */
  const char *name;          /* for people */
  bool transparent;
};
extern const struct be_film_about be_film_about[BE_FILM_KINDS];

/* Frames a second, or a stretch of time in seconds, as a whole number over another. */
struct be_fraction {
  int64_t num, den;
};
/* "30", "29.97", "30000/1001": 24, 25, 30, 48, 50, 60, 100, 120 and these by 1000/1001.
 * BE_WRONG_USE for another. */
enum be_status be_film_rate(const char *words, struct be_fraction *rate, struct be_err *err);

struct be_film_form {
  enum be_film_kind kind;
  int width, height;       /* even for all but pictures; at most BE_FILM_SIDE_MAX */
  struct be_fraction rate; /* frames a second */
  size_t frames;           /* of the whole film: join_end wants so many */
};
enum { BE_FILM_SIDE_MAX = 8192 };

/* ---- what the module reads and writes ----------------------------------- */

/* The sound of a file as one channel, -1 to 1. Sample i is heard start_s + i / rate_Hz after the
 * first moment of the file, which is that of its first frame as a player shows it. */
struct be_sound {
  float *samples;
  size_t count;
  double rate_Hz;
  double start_s;
};

/* What a clip of somebody else is. Frames stand in the order they are shown. */
struct be_footage_about {
  int width, height;       /* as it is shown: turned upright */
  struct be_fraction rate; /* mean frames a second */
  struct be_fraction unit; /* of the times, in seconds */
  size_t frames;
  const int64_t *time; /* when each is shown, from 0, and as the last of frames + 1 the end */
  unsigned pictures, sounds; /* tracks in the file; of each kind one is taken */
  const char *range;         /* "HLG", "PQ": of high dynamic range, and shown in the usual one */
  /* What the file says of itself: more than can be read of a file that is cut off or damaged. */
  size_t read, claimed; /* frames, with those that are not shown; claimed 0: it does not say */
  double claimed_s;     /* until its frames end, from the first; 0: it does not say */
};

/* Coded frames are handed over piece by piece. Not BE_OK ends the coding. */
typedef enum be_status be_film_take(void *context, const void *bytes, size_t size);

struct be_coder;
struct be_joiner;
struct be_footage;

/* Every function that can fail fills in err. All may be called by several threads, for one handle
 * by one at a time. */
struct be_film {
  unsigned version;  /* BE_FILM_VERSION of the header that it was built with */
  const char *coder; /* which libraries, of what versions: other ones code other bytes */

  /* A segment: frames coded on their own, so that segments can be made side by side, in any order,
   * and kept. The same frames give the same bytes. Pixels are cairo's: 4 bytes of blue, green, red
   * and alpha, these multiplied by alpha. */
  enum be_status (*code_begin)(const struct be_film_form *form, be_film_take *take, void *context,
                               struct be_coder **coder, struct be_err *err);
  enum be_status (*code_frame)(struct be_coder *coder, const unsigned char *pixels, size_t stride,
                               struct be_err *err);
  enum be_status (*code_end)(struct be_coder *coder, struct be_err *err);
  void (*code_drop)(struct be_coder *coder); /* also after code_end; null is fine */

  /* Segments in their order become a file, without being coded again. over: footage whose times and
   * sound it takes, or null. note: kept in the file as its comment. */
  enum be_status (*join_begin)(const char *path, const struct be_film_form *form,
                               struct be_footage *over, const char *note, struct be_joiner **joiner,
                               struct be_err *err);
  enum be_status (*join_segment)(struct be_joiner *joiner, const char *bytes, size_t size,
                                 struct be_err *err);
  enum be_status (*join_end)(struct be_joiner *joiner, struct be_err *err);
  void (*join_drop)(struct be_joiner *joiner); /* also after join_end; null is fine */

  /* The comment of a file, cut to size; "" without one, for what is no film, and for a film that
   * another program has written since. */
  void (*comment)(const char *path, char *text, size_t size);

  /* At most `most_s` seconds of it, in `rate_Hz` samples a second, or as many as the file has where
   * these are fewer, but 8,000 at least. BE_NO: the file has no sound. BE_BAD_INPUT: it cannot be read.
   * The samples are the module's. */
  enum be_status (*sound_read)(const char *path, double rate_Hz, double most_s,
                               struct be_sound *sound, struct be_err *err);
  void (*sound_free)(struct be_sound *sound);

  /* BE_BAD_INPUT for what is no film. */
  enum be_status (*footage_open)(const char *path, struct be_footage **footage,
                                 const struct be_footage_about **about, struct be_err *err);
  /* Frames from the one at `at` on, counted from 0, then each in turn. In place of one that cannot
   * be decoded stands the one before it: then, and where parts of it were made up, it is not
   * whole. */
  enum be_status (*footage_seek)(struct be_footage *footage, size_t at, struct be_err *err);
  enum be_status (*footage_next)(struct be_footage *footage, unsigned char *pixels, size_t stride,
                                 bool *whole, struct be_err *err);
  void (*footage_close)(struct be_footage *footage); /* null is fine */
};
enum { BE_FILM_VERSION = 3 };

/* Opens the module, once for the whole program; it stays open. BE_FAILED, and what to install, when
 * it cannot be had. It is looked for beside the program, then where it is installed. */
enum be_status be_film_open(const struct be_film **film, struct be_err *err);
/* Looks for it in this folder instead; null: as usual. For tests. Not thread safe. */
void be_film_look_in(const char *folder);

/* ---- pictures ----------------------------------------------------------- */

/* A frame as PNG with transparency, 8 bits a channel. */
enum be_status be_film_png(const unsigned char *pixels, size_t stride, int width, int height,
                           struct be_buf *png, struct be_err *err);

#endif
