/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is there of a clip while it is made. Segments lie in FILE.part, pictures in their own
 * folder, each written whole or not at all; a journal beside them tells of which clip they are (of
 * the same scene, form, coder and program, or they are made anew) and what bytes each of them has.
 * 1. An item is told of in the journal before it is written.
 * 2. Only what has the bytes that are told is taken over, replaced or removed. */
#include "app/clips/clip.h"

#include "press/press.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char head[] = "bitterend clip\n";
enum { KEY_BYTES = 400, TEXT_MAX = 64 * 1024 * 1024, ITEMS_MAX = 1 << 20, ITEM_MAX = 1 << 30 };
enum { RECORD_KEY = 1, RECORD_ITEM };

/* Of the journal. */
struct record {
  uint64_t item, size;
  uint32_t bad;
  char sha256[65];
};

/* ---- names ---- */

/* The file that lies there when all pictures are done. */
static void name_done(const struct kept *kept, char path[4200])
{
  snprintf(path, 4200, "%s/frames.txt", kept->folder);
}

static void name_journal(const struct kept *kept, char path[4200])
{
  snprintf(path, 4200, "%s/begun.journal", kept->folder);
}

void be_kept_path(const struct kept *kept, size_t item, char path[4200])
{
  snprintf(path, 4200, "%s/%05zu.%s", kept->folder, item, kept->pictures ? "png" : "segment");
}

bool be_kept_has(const struct kept *kept, size_t item)
{
  return kept->told[item].there;
}

static enum be_status make_key(const struct clip *clip, const char *coder, size_t items,
                               char key[KEY_BYTES], struct be_err *err)
{
  struct be_buf all;
  char mark[64], footage[64] = "", hex[65];
  be_program_mark(mark);
  if (clip->footage_path) be_file_mark(clip->footage_path, footage);
  be_buf_init(&all, TEXT_MAX);
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

/* ---- what is told ---- */

/* What an earlier run told, and of which clip. */
struct earlier {
  struct kept *kept;
  char key[KEY_BYTES];
};

static enum be_status tell(struct kept *kept, const struct record *record, struct be_err *err)
{
  size_t old = kept->capacity, item = (size_t)record->item;
  void *block = kept->told;
  if (record->item >= ITEMS_MAX) return be_fail(err, BE_BAD_INPUT, "the journal is damaged");
  enum be_status status =
      be_grow(&block, &kept->capacity, sizeof *kept->told, item + 1, ITEMS_MAX, err);
  kept->told = block;
  if (status != BE_OK) return status;
  if (kept->capacity > old)
    memset(kept->told + old, 0, (kept->capacity - old) * sizeof *kept->told);
  kept->told[item] =
      (struct kept_item){.told = true, .size = (size_t)record->size, .bad = record->bad};
  memcpy(kept->told[item].sha256, record->sha256, sizeof record->sha256);
  kept->told[item].sha256[sizeof record->sha256 - 1] = '\0';
  if (item + 1 > kept->most) kept->most = item + 1;
  return BE_OK;
}

static enum be_status take_record(void *context, unsigned kind, const char *bytes, size_t size,
                                  struct be_err *err)
{
  struct earlier *earlier = context;
  struct record record;
  if (kind == RECORD_KEY && size < KEY_BYTES) {
    memcpy(earlier->key, bytes, size);
    earlier->key[size] = '\0';
    return BE_OK;
  }
  if (kind != RECORD_ITEM || size != sizeof record)
    return be_fail(err, BE_BAD_INPUT, "this is no journal of a clip");
  memcpy(&record, bytes, sizeof record);
  return tell(earlier->kept, &record, err);
}

/* frames.txt: the key, then sums as programs for checking them read it. BE_NO: it is none of ours.
 */
static enum be_status read_done(struct kept *kept, const char *path, struct be_err *err)
{
  struct be_buf text;
  be_buf_init(&text, TEXT_MAX);
  enum be_status status = be_file_read(path, &text, err);
  if (status == BE_OK) be_buf_add(&text, "", 1);
  if (status == BE_OK) status = be_buf_status(&text, err);
  if (status == BE_OK && strncmp(text.data, head, strlen(head)) != 0) status = BE_NO;
  for (char *at = text.data; status == BE_OK && at && *at;) {
    struct record record = {0};
    unsigned long long item;
    if (sscanf(at, "%64[0-9a-f]  %llu.png", record.sha256, &item) == 2) {
      record.item = item;
      status = tell(kept, &record, err);
    }
    at = strchr(at, '\n');
    if (at) at++;
  }
  be_buf_free(&text);
  return status;
}

static enum be_status write_done(const struct kept *kept, struct be_err *err)
{
  struct be_buf text;
  char path[4200];
  name_done(kept, path);
  be_buf_init(&text, TEXT_MAX);
  be_buf_text(&text, kept->key);
  for (size_t i = 0; i < kept->items; i++)
    be_buf_format(&text, "%s  %05zu.png\n", kept->told[i].sha256, i);
  enum be_status status = be_buf_status(&text, err);
  if (status == BE_OK) status = be_file_write(path, text.data, text.size, err);
  be_buf_free(&text);
  return status;
}

/* ---- what is there ---- */

static enum be_status refuse(const struct kept *kept, const char *path, struct be_err *err)
{
  be_fail(err, BE_WRONG_USE,
          kept->pictures
              ? "the folder holds pictures that are not of this program, or were changed since"
              : "beside the clip lies what is not of this program, or was changed since");
  be_fail_at(err, path, 0, 0);
  be_fail_remedy(err, "give another name with --to, or move it away");
  return BE_WRONG_USE;
}

/* Whether what lies there has the bytes that are told. */
static enum be_status look_at(struct kept *kept, size_t item, struct be_err *err)
{
  static const struct kept_item none = {0};
  char path[4200], part[4210], hex[65] = "";
  const struct kept_item *told = item < kept->most ? &kept->told[item] : &none;
  be_kept_path(kept, item, path);
  snprintf(part, sizeof part, "%s.part", path);
  if (!told->told && be_file_exists(part)) return refuse(kept, part, err);
  if (!be_file_exists(path)) return BE_OK;
  if (!told->told || be_file_is_link(path)) return refuse(kept, path, err);
  struct be_buf bytes;
  be_buf_init(&bytes, ITEM_MAX);
  enum be_status status = be_file_read(path, &bytes, err);
  if (status == BE_OK) be_sha256_hex(bytes.data, bytes.size, hex);
  be_buf_free(&bytes);
  if (status != BE_OK) return status;
  kept->told[item].there = strcmp(hex, told->sha256) == 0;
  return kept->told[item].there ? BE_OK : refuse(kept, path, err);
}

/* Also what one was being written as when a run was killed. */
static enum be_status remove_items(struct kept *kept, struct be_err *err)
{
  enum be_status status = BE_OK;
  char path[4200], part[4210];
  for (size_t i = 0; i < kept->most && status == BE_OK; i++) {
    if (!kept->told[i].told) continue;
    be_kept_path(kept, i, path);
    snprintf(part, sizeof part, "%s.part", path);
    status = be_file_remove(path, err);
    if (status == BE_OK) status = be_file_remove(part, err);
    kept->told[i] = (struct kept_item){0};
  }
  return status;
}

/* A folder without a journal: beside a film it is ours only when it is empty; one of pictures may
 * hold those of a run that was done. */
static enum be_status look_around(struct kept *kept, struct be_err *err)
{
  char inside[4200], done[4200];
  snprintf(inside, sizeof inside, "%s/.", kept->folder);
  name_done(kept, done);
  if (!be_file_exists(kept->folder)) return BE_OK;
  if (!be_file_exists(inside)) {
    be_fail(err, BE_WRONG_USE, "there is a file where a folder is to be");
    be_fail_at(err, kept->folder, 0, 0);
    be_fail_remedy(err, "give another name with --to, or move it away");
    return BE_WRONG_USE;
  }
  if (!kept->pictures)
    return be_dir_remove(kept->folder, NULL) == BE_OK ? BE_OK : refuse(kept, kept->folder, err);
  if (!be_file_exists(done)) return BE_OK;
  enum be_status status = read_done(kept, done, err);
  return status == BE_NO ? refuse(kept, done, err) : status;
}

/* ---- a run ---- */

static enum be_status name_folder(const struct clip *clip, struct kept *kept, struct be_err *err)
{
  size_t length = strlen(clip->path);
  while (kept->pictures && length > 1 && clip->path[length - 1] == '/') length--;
  int size = snprintf(kept->folder, sizeof kept->folder, "%.*s%s", (int)length, clip->path,
                      kept->pictures ? "" : ".part");
  if (size < 0 || (size_t)size >= sizeof kept->folder)
    return be_fail(err, BE_WRONG_USE, "the file name is too long");
  return BE_OK;
}

/* Of another clip than the one that was begun: what is there is made anew. */
static enum be_status begin_anew(struct kept *kept, struct be_err *err)
{
  char done[4200];
  name_done(kept, done);
  enum be_status status = kept->pictures ? be_file_remove(done, err) : BE_OK;
  if (status == BE_OK) status = remove_items(kept, err);
  if (status == BE_OK) status = be_journal_clear(kept->journal, err);
  if (status == BE_OK)
    status = be_journal_add(kept->journal, RECORD_KEY, kept->key, strlen(kept->key), err);
  return status;
}

enum be_status be_kept_open(const struct clip *clip, const char *coder, size_t items,
                            struct kept *kept, struct be_err *err)
{
  char path[4200];
  struct earlier earlier = {.kept = kept};
  *kept = (struct kept){.pictures = clip->form.kind == BE_FILM_PNG, .items = items};
  kept->key = be_alloc(KEY_BYTES);
  if (!kept->key) return be_fail(err, BE_NO_MEMORY, "no memory for the clip");
  enum be_status status = name_folder(clip, kept, err);
  if (status == BE_OK) status = make_key(clip, coder, items, kept->key, err);
  name_journal(kept, path);
  bool begun = be_file_exists(path);
  if (status == BE_OK && begun)
    status = be_journal_open(path, take_record, &earlier, &kept->journal, err);
  else if (status == BE_OK) status = look_around(kept, err);
  for (size_t i = 0; (i <= items || i < kept->most) && status == BE_OK; i++)
    status = look_at(kept, i, err);
  if (status == BE_OK && !begun) status = be_dir_create(kept->folder, err);
  if (status == BE_OK && !begun)
    status = be_journal_open(path, take_record, &earlier, &kept->journal, err);
  if (status == BE_OK && strcmp(earlier.key, kept->key) != 0) status = begin_anew(kept, err);
  /* Room for all of them. */
  void *block = kept->told;
  size_t old = kept->capacity;
  if (status == BE_OK)
    status = be_grow(&block, &kept->capacity, sizeof *kept->told, items, ITEMS_MAX, err);
  kept->told = block;
  if (status == BE_OK && kept->capacity > old)
    memset(kept->told + old, 0, (kept->capacity - old) * sizeof *kept->told);
  return status;
}

enum be_status be_kept_write(struct kept *kept, size_t item, const struct be_buf *bytes, size_t bad,
                             struct be_err *err)
{
  char path[4200];
  struct record record;
  memset(&record, 0, sizeof record);
  record.item = item;
  record.size = bytes->size;
  record.bad = (uint32_t)bad;
  be_sha256_hex(bytes->data, bytes->size, record.sha256);
  while (atomic_flag_test_and_set(&kept->adding)) continue;
  enum be_status status = be_journal_add(kept->journal, RECORD_ITEM, &record, sizeof record, err);
  atomic_flag_clear(&kept->adding);
  if (status != BE_OK) return status;
  struct kept_item *told = &kept->told[item];
  memcpy(told->sha256, record.sha256, sizeof told->sha256);
  told->told = true;
  told->bad = record.bad;
  be_kept_path(kept, item, path);
  return be_file_write(path, bytes->data, bytes->size, err);
}

enum be_status be_kept_end(struct kept *kept, struct be_err *err)
{
  char journal[4200];
  name_journal(kept, journal);
  kept->most = kept->items;
  enum be_status status = kept->pictures ? write_done(kept, err) : remove_items(kept, err);
  if (status == BE_OK) status = be_file_remove(journal, err);
  if (status == BE_OK && !kept->pictures) status = be_dir_remove(kept->folder, err);
  return status;
}

void be_kept_close(struct kept *kept)
{
  be_journal_close(kept->journal);
  be_free(kept->told);
  be_free(kept->key);
}
