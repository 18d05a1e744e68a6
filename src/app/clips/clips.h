/* SPDX-License-Identifier: GPL-3.0-or-later */
/* clips: moving pictures of one survey. */
#ifndef BE_APP_CLIPS_H
#define BE_APP_CLIPS_H

#include "app/survey/survey.h"

/* BE_WRONG_USE for options of a clip that do not go together. */
enum be_status be_clips_check(const struct be_publishing *asked, struct be_err *err);
/* Makes what is asked for and says in doc what it is; the file is named in the table `files` (its
 * columns: what, file). BE_WRONG_USE for a path that holds the book, or what is no clip of ours. */
enum be_status be_clips_write(const struct survey *survey, const struct be_publishing *asked,
                              struct be_doc *doc, struct be_table *files, struct be_err *err);

/* sync.c: the moment of the snap in the sound of footage, from its first frame; not-a-number when
 * it cannot be told. overlay: whose break it is. */
struct overlay;
struct be_film;
struct snap_found {
  double at_s;
  double confidence; /* 0 to 1 */
  char others[120];  /* where it may be as well, likeliest first: "3.10 s (0.25), 16.30 s (0.24)" */
};
enum be_status be_snap_in_footage(const struct be_film *film, const char *footage_path,
                                  const struct overlay *overlay, struct snap_found *found,
                                  struct be_err *err);

#endif
