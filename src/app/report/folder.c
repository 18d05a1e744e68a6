/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The tables as files: CSV and Markdown of each combination, and of all. Whatever stands in the
 * way is looked for before the first is written. */
#include "app/report/report.h"
#include "app/written.h"

#include <string.h>

enum { FILE_MAX = 64 * 1024 * 1024 };

typedef enum be_status edition(const struct be_doc *doc, struct be_buf *out, struct be_err *err);

static const struct table_kind {
  const char *ending;
  edition *print;
  struct be_ours ours;
} kinds[] = {
    {"csv", be_doc_csv, {.what = "table", .begins = "combination,knot,n,", .option = "--tables"}},
    {"md", be_doc_markdown, {.what = "table", .begins = "# Strengths: ", .option = "--tables"}}};
enum { KINDS = sizeof kinds / sizeof kinds[0] };

struct folder {
  const struct survey *survey;
  const char *path;
  const char **names; /* of the combinations, without an ending */
  size_t count;       /* of files */
};

/* ---- names ---- */

/* "all" is the name of the table of them all. */
static enum be_status name_all(struct folder *folder, struct be_err *err)
{
  const struct survey *survey = folder->survey;
  struct be_file_names taken = {.arena = survey->arena};
  folder->names = be_arena_alloc(survey->arena, survey->combinations_count * sizeof *folder->names);
  if (!folder->names || !be_file_name(&taken, "all")) return be_no_memory(err);
  for (size_t i = 0; i < survey->combinations_count; i++) {
    folder->names[i] = be_file_name(&taken, survey->combinations[i].name);
    if (!folder->names[i]) return be_no_memory(err);
  }
  return BE_OK;
}

static const char *path_of(const struct folder *folder, const char *name,
                           const struct table_kind *kind)
{
  return be_arena_format(folder->survey->arena, "%s/%s.%s", folder->path, name, kind->ending);
}

/* ---- files ---- */

static enum be_status look(struct folder *folder, const char *name, struct be_err *err)
{
  enum be_status status = BE_OK;
  for (size_t k = 0; k < KINDS && status == BE_OK; k++) {
    const char *path = path_of(folder, name, &kinds[k]);
    status = path ? be_may_write(path, &kinds[k].ours, err) : be_no_memory(err);
  }
  return status;
}

static enum be_status write(struct folder *folder, const char *name, const struct be_doc *doc,
                            struct be_err *err)
{
  enum be_status status = BE_OK;
  for (size_t k = 0; k < KINDS && status == BE_OK; k++) {
    const char *path = path_of(folder, name, &kinds[k]);
    struct be_buf bytes;
    be_buf_init(&bytes, FILE_MAX);
    status = path ? kinds[k].print(doc, &bytes, err) : be_no_memory(err);
    if (status == BE_OK) status = be_write_ours(path, &kinds[k].ours, &bytes, err);
    be_buf_free(&bytes);
    folder->count += status == BE_OK;
  }
  return status;
}

static enum be_status write_each(struct folder *folder, struct be_err *err)
{
  const struct survey *survey = folder->survey;
  struct be_doc *doc = NULL;
  enum be_status status = BE_OK;
  for (size_t i = 0; i < survey->combinations_count && status == BE_OK; i++) {
    status = be_combination_doc(survey, &survey->combinations[i], &doc, err);
    if (status == BE_OK) status = write(folder, folder->names[i], doc, err);
    be_doc_free(doc);
    doc = NULL;
  }
  if (status == BE_OK) status = be_all_strengths_doc(survey, &doc, err);
  if (status == BE_OK) status = write(folder, "all", doc, err);
  be_doc_free(doc);
  return status;
}

enum be_status be_tables_write(const struct survey *survey, const char *path, size_t *count,
                               struct be_err *err)
{
  struct folder folder = {.survey = survey, .path = path};
  enum be_status status = name_all(&folder, err);
  if (status == BE_OK) status = be_dir_create(path, err);
  for (size_t i = 0; i < survey->combinations_count && status == BE_OK; i++)
    status = look(&folder, folder.names[i], err);
  if (status == BE_OK) status = look(&folder, "all", err);
  if (status == BE_OK) status = write_each(&folder, err);
  *count = folder.count;
  return status;
}
