/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Makes the demonstration book the way a tester makes theirs: files from the
 * bench, then `enter`. The stamp, recipe.txt among the bench's files, lists what
 * the bench wrote; a book is ours to replace only if it holds nothing else.
 *
 *   recipe.txt       "being made"               said before X.part is begun
 *                    "RECIPE SHA256 NAME"       one line a file entered
 *   X.part           made, listed in recipe.txt beside what was listed before,
 *   X                then renamed to X; then the old lines are dropped.
 *
 * So whenever it is killed, X is the old book or the new, and is listed. */
#include "app/demo/demo.h"
#include "app/survey/survey.h"

#include "assets/assets.h"

#include <stdio.h>
#include <string.h>

enum { STAMP_MAX = 4 * 1024 * 1024 };

static const char begun[] = "being made\n";

struct demo {
  struct be_arena *arena;
  const char *book_path, *bench_path;
  const char *part_path, *stamp_path;
  char recipe[64];
  struct be_buf stamp; /* as found */
};

/* FNV-1a over the recipe, beside the program's version: enough to notice a change. */
static void name_recipe(char name[64])
{
  static const char *const parts[] = {
      "demo/lines.csv",    "demo/knots.csv",        "demo/trial.csv",
      "demo/troubles.csv", "demo/truth-lines.csv",  "demo/truth-knots.csv",
      "demo/benches.csv",  "demo/series.csv",       "demo/truth-benches.csv",
      "demo/planned.csv",  "demo/calibrations.csv", "demo/check-weights.csv"};
  uint64_t hash = UINT64_C(14695981039346656037);
  for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++) {
    const struct be_asset *asset = be_asset_find(parts[i]);
    for (size_t k = 0; asset && k < asset->size; k++)
      hash = (hash ^ (unsigned char)asset->text[k]) * UINT64_C(1099511628211);
  }
  snprintf(name, 64, "%s-%016llx", be_version, (unsigned long long)hash);
}

/* ---- whose book is it ---- */

/* Takes a line of the stamp apart: "RECIPE SHA256 NAME". */
static bool is_line_of(const char *line, size_t length, const char *recipe,
                       const struct be_held_file *file)
{
  const char *sha256 = memchr(line, ' ', length);
  if (!sha256) return false;
  size_t first = (size_t)(sha256 - line), rest = length - first;
  if (recipe && (strlen(recipe) != first || memcmp(line, recipe, first) != 0)) return false;
  size_t name = strlen(file->name);
  return strlen(file->sha256) == 64 && rest == 1 + 64 + 1 + name &&
         memcmp(sha256 + 1, file->sha256, 64) == 0 &&
         memcmp(sha256 + 1 + 64 + 1, file->name, name) == 0;
}

static bool is_listed(const struct be_buf *stamp, const char *recipe,
                      const struct be_held_file *file)
{
  const char *line = stamp->data, *end = stamp->data + stamp->size;
  while (line < end) {
    const char *stop = memchr(line, '\n', (size_t)(end - line));
    if (!stop) stop = end;
    if (is_line_of(line, (size_t)(stop - line), recipe, file)) return true;
    line = stop < end ? stop + 1 : end;
  }
  return false;
}

static size_t lines_of(const struct be_buf *stamp, const char *recipe)
{
  size_t count = 0, length = strlen(recipe);
  for (const char *at = stamp->data; (at = strstr(at, recipe)) != NULL; at += length)
    count += at == stamp->data || at[-1] == '\n';
  return count;
}

static enum be_status list_files(struct demo *demo, const char *path, struct be_held_file **files,
                                 size_t *count, struct be_err *err)
{
  struct be_book *book = NULL;
  enum be_status status = be_book_open(path, false, &book, err);
  /* Of an older schema, perhaps: opened for writing it is brought up to date. */
  if (status == BE_BAD_INPUT) status = be_book_open(path, true, &book, err);
  if (status == BE_OK) status = be_book_files(book, demo->arena, files, count, err);
  be_book_close(book);
  return status;
}

static enum be_status refuse(const char *path, const char *why, struct be_err *err)
{
  be_fail(err, BE_WRONG_USE, "%s, so the demonstration does not replace it", why);
  be_fail_at(err, path, 0, 0);
  be_fail_remedy(err, "give another name for the demonstration");
  return BE_WRONG_USE;
}

/* Says whether what stands at the book's place is the demonstration of this very
 * recipe; refuses what is not the demonstration's at all. */
static enum be_status look_at_book(struct demo *demo, bool *same, struct be_err *err)
{
  struct be_held_file *files = NULL;
  size_t count = 0;
  *same = false;
  if (!be_file_exists(demo->book_path)) return BE_OK;
  enum be_status status = list_files(demo, demo->book_path, &files, &count, err);
  if (status == BE_BAD_INPUT)
    return refuse(demo->book_path, "the file exists, and it is no book that can be read", err);
  if (status != BE_OK) return status;
  if (count == 0) return refuse(demo->book_path, "this is a book of your own, still empty", err);
  *same = lines_of(&demo->stamp, demo->recipe) == count;
  for (size_t i = 0; i < count; i++) {
    if (!is_listed(&demo->stamp, NULL, &files[i]))
      return refuse(demo->book_path, "the book holds pulls of your own", err);
    *same = *same && is_listed(&demo->stamp, demo->recipe, &files[i]);
  }
  return BE_OK;
}

/* ---- making it ---- */

static enum be_status make_part(struct demo *demo, struct be_err *err)
{
  struct made_pull *pulls = NULL;
  size_t count = 0, sheets = 0;
  const char *paths[SHEETS_MAX];
  struct be_entering how = {0};
  struct be_doc *doc = NULL;
  struct recipe *recipe = be_arena_alloc(demo->arena, sizeof *recipe);
  if (!recipe) return be_no_memory(err);
  enum be_status status = be_recipe_read(recipe, err);
  if (status == BE_OK) status = be_bench_draw(recipe, &pulls, &count, err);
  if (status == BE_OK)
    status = be_bench_write(demo->bench_path, pulls, count, demo->arena, paths, &sheets, err);
  if (status == BE_OK) status = be_book_create(demo->part_path, err);
  if (status == BE_OK) status = be_app_enter(demo->part_path, paths, sheets, &how, &doc, err);
  if (status == BE_OK)
    status = be_demo_trial(recipe, demo->part_path, demo->bench_path, demo->arena, err);
  be_doc_free(doc);
  be_free(pulls);
  return status;
}

static enum be_status write_stamp(const struct demo *demo, const struct be_buf *before,
                                  const struct be_held_file *files, size_t count,
                                  struct be_err *err)
{
  struct be_buf text;
  be_buf_init(&text, STAMP_MAX);
  if (before) {
    be_buf_text(&text, begun);
    be_buf_add(&text, before->data, before->size);
  }
  for (size_t i = 0; i < count; i++)
    be_buf_format(&text, "%s %s %s\n", demo->recipe, files[i].sha256, files[i].name);
  enum be_status status = be_buf_status(&text, err);
  if (status == BE_OK) status = be_file_write(demo->stamp_path, text.data, text.size, err);
  be_buf_free(&text);
  return status;
}

static enum be_status remove_journal(struct demo *demo, const char *path, struct be_err *err)
{
  const char *journal = be_arena_format(demo->arena, "%s-journal", path);
  return journal ? be_file_remove(journal, err) : be_no_memory(err);
}

static enum be_status make_anew(struct demo *demo, struct be_err *err)
{
  struct be_held_file *files = NULL;
  size_t count = 0;
  enum be_status status = be_dir_create(demo->bench_path, err);
  if (status == BE_OK) status = write_stamp(demo, &demo->stamp, NULL, 0, err);
  if (status == BE_OK) status = remove_journal(demo, demo->part_path, err);
  if (status == BE_OK) status = be_file_remove(demo->part_path, err);
  if (status == BE_OK) status = make_part(demo, err);
  if (status == BE_OK) status = list_files(demo, demo->part_path, &files, &count, err);
  if (status == BE_OK) status = write_stamp(demo, &demo->stamp, files, count, err);
  /* A journal of a book that is gone would be played back into the new one. */
  if (status == BE_OK) status = remove_journal(demo, demo->book_path, err);
  if (status == BE_OK) status = be_file_rename(demo->part_path, demo->book_path, err);
  if (status == BE_OK) status = write_stamp(demo, NULL, files, count, err);
  return status;
}

/* The stamp without its mark; *begun_before tells whether it had one. */
static enum be_status read_stamp(struct demo *demo, bool *begun_before, struct be_err *err)
{
  *begun_before = false;
  be_buf_text(&demo->stamp, "");
  if (demo->stamp.status != BE_OK) return be_buf_status(&demo->stamp, err);
  if (!be_file_exists(demo->stamp_path)) return BE_OK;
  enum be_status status = be_file_read(demo->stamp_path, &demo->stamp, err);
  if (status != BE_OK || strncmp(demo->stamp.data, begun, strlen(begun)) != 0) return status;
  *begun_before = true;
  demo->stamp.size -= strlen(begun);
  memmove(demo->stamp.data, demo->stamp.data + strlen(begun), demo->stamp.size + 1);
  return BE_OK;
}

/* Names that the demonstration would write over without having made them. */
static enum be_status look_beside(struct demo *demo, bool begun_before, struct be_err *err)
{
  if (!begun_before && be_file_exists(demo->part_path))
    return refuse(demo->part_path, "the file exists, and it is needed on the way", err);
  if (!be_file_exists(demo->stamp_path) && (be_bench_is_there(demo->bench_path, demo->arena) ||
                                            be_demo_trial_is_there(demo->bench_path, demo->arena)))
    return refuse(demo->bench_path, "the folder holds files of your own", err);
  return BE_OK;
}

enum be_status be_app_demo(const char *book_path, const char *bench_path, bool *made,
                           struct be_err *err)
{
  struct demo demo = {.arena = be_arena_create(), .book_path = book_path, .bench_path = bench_path};
  *made = false;
  if (!demo.arena) return be_no_memory(err);
  be_buf_init(&demo.stamp, STAMP_MAX);
  name_recipe(demo.recipe);
  demo.part_path = be_arena_format(demo.arena, "%s.part", book_path);
  demo.stamp_path = be_arena_format(demo.arena, "%s/recipe.txt", bench_path);
  bool same = false, begun_before = false;
  enum be_status status = demo.part_path && demo.stamp_path ? BE_OK : be_no_memory(err);
  if (status == BE_OK) status = read_stamp(&demo, &begun_before, err);
  if (status == BE_OK) status = look_at_book(&demo, &same, err);
  if (status == BE_OK && !same) status = look_beside(&demo, begun_before, err);
  if (status == BE_OK && !same) status = make_anew(&demo, err);
  *made = status == BE_OK && !same;
  be_buf_free(&demo.stamp);
  be_arena_free(demo.arena);
  return status;
}
