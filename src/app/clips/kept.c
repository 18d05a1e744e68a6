/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is there of a clip while it is made. Segments lie in FILE.part, pictures in their own
 * folder; a file beside them tells of which clip they are: of the same scene, form, coder and
 * program, or they are made anew. Each is written whole or not at all. */
#include "app/clips/clip.h"

#include "press/press.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char head[] = "bitterend clip\n";
enum { KEY_BYTES = 400 };

/* Also the name of the file that lies there when all pictures are done. */
static void name_done(const struct kept *kept, char path[4200])
{
  snprintf(path, 4200, "%s/frames.txt", kept->folder);
}

static enum be_status make_key(const struct clip *clip, const char *coder, size_t items,
                               char key[KEY_BYTES], struct be_err *err)
{
  struct be_buf all;
  char mark[64], footage[64] = "", hex[65];
  be_program_mark(mark);
  if (clip->footage_path) be_file_mark(clip->footage_path, footage);
  be_buf_init(&all, 64 * 1024 * 1024);
  be_buf_format(&all, "%s\n%s\n%s\n%d %d %d %lld/%lld %zu\n%s %.17g %.17g\n%s\n", be_version, mark,
                coder, clip->form.kind, clip->form.width, clip->form.height,
                (long long)clip->form.rate.num, (long long)clip->form.rate.den, clip->form.frames,
                footage, clip->starts_s, clip->lasts_s, clip->note);
  be_buf_add(&all, clip->told->data, clip->told->size);
  enum be_status status = be_buf_status(clip->told, err);
  if (status == BE_OK) status = be_buf_status(&all, err);
  if (status == BE_OK) {
    be_sha256_hex(all.data, all.size, hex);
    snprintf(key, KEY_BYTES, "%s%zu\n%s\n%.200s\n", head, items, hex, clip->note);
  }
  be_buf_free(&all);
  return status;
}

void be_kept_path(const struct kept *kept, size_t item, char path[4200])
{
  snprintf(path, 4200, "%s/%05zu.%s", kept->folder, item, kept->pictures ? "png" : "segment");
}

bool be_kept_has(const struct kept *kept, size_t item)
{
  char path[4200];
  be_kept_path(kept, item, path);
  return be_file_size(path) > 0;
}

/* How many items the clip had that a file of ours tells of; 0 for any other file. */
static size_t items_of(const char *path, char text[KEY_BYTES])
{
  size_t got = 0;
  text[0] = '\0';
  if (!be_file_exists(path) || be_file_start(path, text, KEY_BYTES - 1, &got, NULL) != BE_OK)
    return 0;
  text[got] = '\0';
  return strncmp(text, head, strlen(head)) == 0 ? strtoul(text + strlen(head), NULL, 10) : 0;
}

/* Also what one was being written as when a run was killed. */
static enum be_status remove_items(const struct kept *kept, size_t items, struct be_err *err)
{
  enum be_status status = BE_OK;
  char path[4200], part[4210];
  for (size_t i = 0; i < items && status == BE_OK; i++) {
    be_kept_path(kept, i, path);
    snprintf(part, sizeof part, "%s.part", path);
    status = be_file_remove(path, err);
    if (status == BE_OK) status = be_file_remove(part, err);
  }
  return status;
}

enum be_status be_kept_open(const struct clip *clip, const char *coder, size_t items,
                            struct kept *kept, struct be_err *err)
{
  char key[KEY_BYTES], was[KEY_BYTES], done[4200];
  bool pictures = clip->form.kind == BE_FILM_PNG;
  *kept = (struct kept){.pictures = pictures, .items = items};
  size_t length = strlen(clip->path);
  while (pictures && length > 1 && clip->path[length - 1] == '/') length--;
  int size = snprintf(kept->folder, sizeof kept->folder, "%.*s%s", (int)length, clip->path,
                      pictures ? "" : ".part");
  if (size < 0 || (size_t)size >= sizeof kept->folder)
    return be_fail(err, BE_WRONG_USE, "the file name is too long");
  snprintf(kept->begun, sizeof kept->begun, "%s/begun.txt", kept->folder);
  enum be_status status = make_key(clip, coder, items, key, err);
  if (status == BE_OK) status = be_dir_create(kept->folder, err);
  if (status != BE_OK) return status;
  size_t old = items_of(kept->begun, was);
  if (old && strcmp(was, key) == 0) return BE_OK;
  if (old) status = remove_items(kept, old, err);
  name_done(kept, done);
  if (status == BE_OK && pictures && (old = items_of(done, was)) > 0) {
    status = be_file_remove(done, err);
    if (status == BE_OK) status = remove_items(kept, old, err);
  }
  return status == BE_OK ? be_file_write(kept->begun, key, strlen(key), err) : status;
}

enum be_status be_kept_end(const struct clip *clip, const struct kept *kept, struct be_err *err)
{
  char done[4200];
  (void)clip;
  name_done(kept, done);
  if (kept->pictures) return be_file_rename(kept->begun, done, err);
  enum be_status status = remove_items(kept, kept->items, err);
  if (status == BE_OK) status = be_file_remove(kept->begun, err);
  return status == BE_OK ? be_dir_remove(kept->folder, err) : status;
}
