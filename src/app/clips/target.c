/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where a clip goes, and what it may replace there. */
#include "app/clips/clip.h"

#include <stdio.h>
#include <string.h>

static bool ends_with(const char *path, const char *ending)
{
  size_t length = strlen(path), size = strlen(ending);
  return length > size && be_text_same(path + length - size, ending);
}

/* H.264 may also go into a .mov, which holds any sound. */
static bool agree(enum be_film_kind kind, const char *path)
{
  return ends_with(path, be_film_about[kind].ending) ||
         (kind == BE_FILM_H264 && ends_with(path, ".mov"));
}

/* What is transparent is not kept over footage, and the sound must find its place. */
static enum be_status kind_over(const char *path, const char *coding, enum be_film_kind *kind,
                                struct be_err *err)
{
  *kind = BE_FILM_H264;
  if (!coding && agree(*kind, path)) return BE_OK;
  enum be_status status = be_clip_kind(path, coding, false, kind, err);
  if (coding && status != BE_OK) return status;
  if (status == BE_OK && *kind != BE_FILM_VP9) return status;
  if (err) err->remedy[0] = '\0';
  return be_fail(err, BE_WRONG_USE,
                 "over footage a clip ends in .mp4 or .mov, which hold its sound, or is a FOLDER/ "
                 "of pictures, not \"%.200s\"",
                 path);
}

enum be_status be_clip_kind(const char *path, const char *coding, bool over,
                            enum be_film_kind *kind, struct be_err *err)
{
  bool known = false;
  if (over) return kind_over(path, coding, kind, err);
  for (int i = 0; i < BE_FILM_KINDS; i++) {
    enum be_film_kind one = (enum be_film_kind)i;
    if (coding && strcmp(coding, be_film_about[i].word) != 0) continue;
    known = true;
    *kind = one;
    if (agree(one, path)) return BE_OK;
  }
  if (!known)
    return be_fail(err, BE_WRONG_USE,
                   "--codec takes qtrle, vp9, prores, h264 or png, not \"%.40s\"", coding);
  if (coding)
    return be_fail(err, BE_WRONG_USE, "%s goes into %s%s%s, not into \"%.200s\"",
                   be_film_about[*kind].name,
                   *kind == BE_FILM_PNG ? "a folder, FOLDER" : "a file that ends in ",
                   be_film_about[*kind].ending, *kind == BE_FILM_H264 ? " or .mov" : "", path);
  be_fail(err, BE_WRONG_USE, "what a clip is to be cannot be told from \"%.200s\"", path);
  be_fail_remedy(err, "give --to a name that ends in .mov (lossless, transparent), .webm (small, "
                      "transparent), .mp4 (for every screen) or / (a folder of pictures)");
  return BE_WRONG_USE;
}

static enum be_status refuse(const char *path, struct be_err *err)
{
  be_fail_at(err, path, 0, 0);
  be_fail_remedy(err, "give another name with --to, or move the file away");
  return BE_WRONG_USE;
}

enum be_status be_clip_may_write(const char *path, enum be_film_kind kind,
                                 const struct be_film *film, const char *const spared[2],
                                 struct be_err *err)
{
  char comment[64] = "";
  for (size_t i = 0; i < 2; i++)
    if (spared[i] && be_file_same(spared[i], path)) {
      be_fail(err, BE_WRONG_USE, "the clip would be written over the %s", i ? "footage" : "book");
      return refuse(path, err);
    }
  if (kind == BE_FILM_PNG) return BE_OK; /* each of them is looked at by be_kept_open */
  char inside[4200];
  snprintf(inside, sizeof inside, "%.4090s/.", path);
  if (be_file_exists(inside)) {
    be_fail(err, BE_WRONG_USE, "there is a folder of this name");
    be_fail_at(err, path, 0, 0);
    be_fail_remedy(err, "give another name with --to, or end it with / for pictures in the folder");
    return BE_WRONG_USE;
  }
  if (!be_file_exists(path)) return BE_OK;
  if (be_file_size(path) > 0 && film) film->comment(path, comment, sizeof comment);
  if (strncmp(comment, "bitterend", 9) == 0) return BE_OK;
  be_fail(err, BE_WRONG_USE, "the file exists, and it is no clip of this program");
  return refuse(path, err);
}
