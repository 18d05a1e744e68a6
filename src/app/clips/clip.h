/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A clip of any scene: frames drawn and coded side by side, in segments that are kept until all
 * of them are there, so that a run that was ended goes on where it was. */
#ifndef BE_APP_CLIP_H
#define BE_APP_CLIP_H

#include "app/written.h"
#include "film/film.h"

#include <cairo.h>

/* What one thread draws with. What stays is drawn once on the ground, which grows; every frame is
 * a copy of it, and what is of that moment alone. */
struct easel {
  cairo_surface_t *frame_surface, *ground_surface;
  cairo_t *frame, *ground;
  size_t drawn; /* the scene's own: how far the ground has grown; 0 at its start */
};

/* How a scene is drawn; moments are seconds from its start. */
struct scene_kind {
  void (*start)(const void *scene, struct easel *easel);             /* the empty ground */
  void (*grow)(const void *scene, struct easel *easel, double at_s); /* up to the moment */
  void (*show)(const void *scene, struct easel *easel, double at_s); /* on the frame */
};

struct clip {
  struct be_film_form form;
  const char *path; /* a file, or a folder for pictures */
  const char *note; /* what it shows: kept in the file */
  const struct scene_kind *kind;
  const void *scene;
  /* Over footage, else null: its frames, and where the scene starts in it. */
  const char *footage_path;
  const struct be_footage_about *over;
  double starts_s, lasts_s;
  const struct be_buf *told; /* all that is drawn, in words: another text is another clip */
};
struct clip_made {
  size_t kept; /* frames that an earlier run had made */
  /* Of footage: frames that could not be read whole, and between which moments they lie. */
  size_t bad;
  double bad_from_s, bad_to_s;
};

/* Which kind the name asks for, by its ending ("x.mov", "folder/") and a word for the coding, which
 * may be null; over footage a .mov is for every screen too. BE_WRONG_USE for an ending or a word
 * that is none, or both that do not agree. */
enum be_status be_clip_kind(const char *path, const char *coding, bool over,
                            enum be_film_kind *kind, struct be_err *err);
/* BE_WRONG_USE when it would replace what is not ours, or one of the two spared files (may be
 * null). film: null for pictures. */
enum be_status be_clip_may_write(const char *path, enum be_film_kind kind,
                                 const struct be_film *film, const char *const spared[2],
                                 struct be_err *err);
/* form.frames is filled in. film: null for pictures over nothing. The same clip gives the same
 * bytes, whether it was ended and begun again or not. */
enum be_status be_clip_make(const struct clip *clip, const struct be_film *film,
                            struct clip_made *made, struct be_err *err);

/* kept.c: what is there of a clip while it is made. BE_WRONG_USE where something lies in the way
 * that is not as this program wrote it. */
struct kept_item {
  bool told, there; /* told of in the journal; and there with the bytes it tells of */
  size_t size, bad; /* bad: frames of footage in it that are not whole */
  char sha256[65];
};
struct kept {
  char folder[4096];
  bool pictures;
  size_t items;
  char *key;              /* of which clip */
  struct kept_item *told; /* by number; `most` of them are told of, or fewer */
  size_t most, capacity;
  struct be_journal *journal;
  atomic_flag adding;
};
enum be_status be_kept_open(const struct clip *clip, const char *coder, size_t items,
                            struct kept *kept, struct be_err *err);
void be_kept_path(const struct kept *kept, size_t item, char path[4200]);
bool be_kept_has(const struct kept *kept, size_t item);
/* By several threads, each another item. */
enum be_status be_kept_write(struct kept *kept, size_t item, const struct be_buf *bytes, size_t bad,
                             struct be_err *err);
/* Of a clip that is done only pictures are left, with a list of them. */
enum be_status be_kept_end(struct kept *kept, struct be_err *err);
void be_kept_close(struct kept *kept); /* also after be_kept_open failed */

#endif
