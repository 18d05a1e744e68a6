/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Makes the demonstration book the way a tester makes theirs: files from the
 * bench, then `enter`. A stamp beside the files tells which recipe they are of. */
#include "app/app.h"
#include "app/demo.h"

#include "assets/assets.h"

#include <stdio.h>
#include <string.h>

/* FNV-1a over the recipe and the program's version: enough to notice a change. */
static void recipe_stamp(char stamp[64])
{
  static const char *const parts[] = {"demo/lines.csv",       "demo/knots.csv",
                                      "demo/trial.csv",       "demo/troubles.csv",
                                      "demo/truth-lines.csv", "demo/truth-knots.csv"};
  uint64_t hash = UINT64_C(14695981039346656037);
  for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++) {
    const struct be_asset *asset = be_asset_find(parts[i]);
    for (size_t k = 0; asset && k < asset->size; k++)
      hash = (hash ^ (unsigned char)asset->text[k]) * UINT64_C(1099511628211);
  }
  snprintf(stamp, 64, "bitterend %s recipe %016llx\n", be_version, (unsigned long long)hash);
}

static bool stamped(const char *path, const char *stamp)
{
  struct be_buf found;
  be_buf_init(&found, 4096);
  bool same = be_file_exists(path) && be_file_read(path, &found, NULL) == BE_OK &&
              strcmp(found.data, stamp) == 0;
  be_buf_free(&found);
  return same;
}

static enum be_status enter_all(const char *book_path, char paths[SHEETS_MAX][256], size_t sheets,
                                struct be_err *err)
{
  const char *list[SHEETS_MAX];
  for (size_t i = 0; i < sheets; i++) list[i] = paths[i];
  struct be_entering how = {0};
  struct be_doc *doc = NULL;
  enum be_status status = be_app_enter(book_path, list, sheets, &how, &doc, err);
  be_doc_free(doc);
  return status;
}

static enum be_status make(const char *book_path, const char *bench_path, struct be_err *err)
{
  struct made_pull *pulls = NULL;
  size_t count = 0, sheets = 0;
  char paths[SHEETS_MAX][256];
  struct recipe *recipe = be_alloc_array(1, sizeof *recipe);
  if (!recipe) return be_fail(err, BE_NO_MEMORY, "no memory for the demonstration");
  enum be_status status = be_recipe_read(recipe, err);
  if (status == BE_OK) status = be_bench_draw(recipe, &pulls, &count, err);
  if (status == BE_OK) status = be_bench_write(bench_path, pulls, count, paths, &sheets, err);
  if (status == BE_OK) status = be_book_create(book_path, err);
  if (status == BE_OK) status = enter_all(book_path, paths, sheets, err);
  be_free(pulls);
  be_free(recipe);
  return status;
}

enum be_status be_app_demo(const char *book_path, const char *bench_path, bool *made,
                           struct be_err *err)
{
  char stamp[64], stamp_path[300];
  recipe_stamp(stamp);
  snprintf(stamp_path, sizeof stamp_path, "%.250s/recipe.txt", bench_path);
  *made = false;
  bool ours = be_file_exists(stamp_path);
  if (be_file_exists(book_path)) {
    if (stamped(stamp_path, stamp)) return BE_OK;
    if (!ours) {
      be_fail(err, BE_WRONG_USE, "the file exists, and it is not the demonstration's to replace");
      be_fail_at(err, book_path, 0, 0);
      return be_fail_remedy(err, "give another name");
    }
  }
  /* A stamp of no recipe: what is made from here on is ours to replace. */
  static const char begun[] = "being made\n";
  enum be_status status = be_dir_create(bench_path, err);
  if (status == BE_OK) status = be_file_write(stamp_path, begun, strlen(begun), err);
  if (status == BE_OK) status = be_file_remove(book_path, err);
  if (status == BE_OK) status = make(book_path, bench_path, err);
  if (status == BE_OK) status = be_file_write(stamp_path, stamp, strlen(stamp), err);
  *made = status == BE_OK;
  return status;
}
