/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The tables as files: CSV and Markdown of each combination, and of all; README.md says of which
 * record they are, and lists them with their checksums. Whatever stands in the way is looked for
 * before the first is written. Of what an earlier README lists and is not written any more, only
 * files that are still as they were written are removed, last of all. */
#include "app/report/report.h"
#include "app/written.h"

#include <stdio.h>

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

#define README "README.md"
static const struct be_ours ours_readme = {
    .what = "list of tables", .begins = "# Tables of strengths\n", .option = "--tables"};
enum { HASH = 64, LIST_MAX = 4 * 1024 * 1024 };

struct folder {
  const struct survey *survey;
  const char *path;
  const char **names;    /* of the combinations, without an ending */
  size_t count;          /* of files */
  const char *made_of;   /* program, record and seed, in words */
  struct be_buf earlier; /* README.md as it was; empty if there was none */
  struct be_buf list;    /* "HASH  NAME" of each file, a line each */
};

/* ---- names ---- */

/* "all" is the name of the table of them all. */
static enum be_status name_all(struct folder *folder, struct be_err *err)
{
  const struct survey *survey = folder->survey;
  struct be_file_names taken = {.arena = survey->arena};
  folder->names = be_arena_alloc(survey->arena, survey->combinations_count * sizeof *folder->names);
  if (!folder->names || !be_file_name(&taken, "all") || !be_file_name(&taken, "readme"))
    return be_no_memory(err);
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
    if (strcmp(kinds[k].ending, "md") == 0) be_buf_format(&bytes, "\n%s\n", folder->made_of);
    if (status == BE_OK) status = be_write_ours(path, &kinds[k].ours, &bytes, err);
    if (status == BE_OK) {
      char hash[HASH + 1];
      be_sha256_hex(bytes.data, bytes.size, hash);
      be_buf_format(&folder->list, "%s  %s.%s\n", hash, name, kinds[k].ending);
    }
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

/* ---- what they are of, and what was there before ---- */

static enum be_status say_made_of(struct folder *folder, struct be_err *err)
{
  const struct survey *survey = folder->survey;
  const char *moment = survey->record.last.entered_at;
  folder->made_of = be_arena_format(
      survey->arena,
      "Made by bitterend %s; the record as of %s, with %zu pull%s; intervals at %g %%; seed %llu, "
      "resamples %zu.",
      be_version, moment ? moment : "no moment: nothing was entered", survey->record.pulls_count,
      be_plural(survey->record.pulls_count), 100 * survey->how.level,
      (unsigned long long)survey->how.seed, survey->how.resamples);
  return folder->made_of ? BE_OK : be_no_memory(err);
}

static enum be_status read_earlier(struct folder *folder, struct be_err *err)
{
  const char *path = be_arena_format(folder->survey->arena, "%s/" README, folder->path);
  if (!path) return be_no_memory(err);
  enum be_status status = be_may_write(path, &ours_readme, err);
  if (status != BE_OK || !be_file_exists(path)) return status;
  return be_file_read(path, &folder->earlier, err);
}

static enum be_status write_readme(struct folder *folder, struct be_err *err)
{
  struct be_buf bytes;
  be_buf_init(&bytes, LIST_MAX);
  const char *path = be_arena_format(folder->survey->arena, "%s/" README, folder->path);
  be_buf_format(&bytes,
                "%s\n%s\n\nThe same tables as CSV and as Markdown, one of each combination and "
                "`all` of all of them. SHA-256 of each file as it was written:\n\n```text\n%s```\n",
                ours_readme.begins, folder->made_of, folder->list.data);
  enum be_status status = be_buf_status(&folder->list, err);
  if (status == BE_OK)
    status = path ? be_write_ours(path, &ours_readme, &bytes, err) : be_no_memory(err);
  folder->count += status == BE_OK;
  be_buf_free(&bytes);
  return status;
}

static bool is_written(const struct folder *folder, const char *name)
{
  size_t size = strlen(name);
  for (const char *at = folder->list.data; (at = strstr(at, name)); at += size)
    if (at[-1] == ' ' && at[size] == '\n') return true;
  return false;
}

/* A line of ours names a file of this folder, and no other. */
static bool is_line(const char *line, size_t size)
{
  if (size < HASH + 2 + 4 || strspn(line, "0123456789abcdef") != HASH) return false;
  const char *name = line + HASH + 2, *end = line + size;
  if (strncmp(line + HASH, "  ", 2) != 0 || *name == '.') return false;
  for (const char *at = name; at < end; at++)
    if (*at == '/' || *at == '\\' || *at == ' ') return false;
  return strncmp(end - 4, ".csv", 4) == 0 || strncmp(end - 3, ".md", 3) == 0;
}

static enum be_status remove_stale(const struct folder *folder, const char *hash, const char *name,
                                   struct be_err *err)
{
  const char *path = be_arena_format(folder->survey->arena, "%s/%s", folder->path, name);
  if (!path) return be_no_memory(err);
  if (!be_file_exists(path) || be_file_is_link(path)) return BE_OK;
  char is[HASH + 1];
  struct be_buf bytes;
  be_buf_init(&bytes, FILE_MAX);
  enum be_status status = be_file_read(path, &bytes, err);
  if (status == BE_OK) be_sha256_hex(bytes.data, bytes.size, is);
  if (status == BE_OK && strncmp(is, hash, HASH) == 0) status = be_file_remove(path, err);
  be_buf_free(&bytes);
  return status == BE_NO_MEMORY ? status : BE_OK;
}

static enum be_status remove_all_stale(const struct folder *folder, struct be_err *err)
{
  enum be_status status = BE_OK;
  const char *line = folder->earlier.size ? folder->earlier.data : "";
  for (const char *end; status == BE_OK && (end = strchr(line, '\n')); line = end + 1) {
    if (!is_line(line, (size_t)(end - line))) continue;
    const char *name =
        be_arena_text(folder->survey->arena, line + HASH + 2, (size_t)(end - line) - HASH - 2);
    if (!name) status = be_no_memory(err);
    else if (!is_written(folder, name)) status = remove_stale(folder, line, name, err);
  }
  return status;
}

enum be_status be_tables_write(const struct survey *survey, const char *path, size_t *count,
                               struct be_err *err)
{
  struct folder folder = {.survey = survey, .path = path};
  be_buf_init(&folder.earlier, LIST_MAX);
  be_buf_init(&folder.list, LIST_MAX);
  enum be_status status = name_all(&folder, err);
  if (status == BE_OK) status = say_made_of(&folder, err);
  if (status == BE_OK) status = be_dir_create(path, err);
  for (size_t i = 0; i < survey->combinations_count && status == BE_OK; i++)
    status = look(&folder, folder.names[i], err);
  if (status == BE_OK) status = look(&folder, "all", err);
  if (status == BE_OK) status = read_earlier(&folder, err);
  if (status == BE_OK) status = write_each(&folder, err);
  if (status == BE_OK) status = write_readme(&folder, err);
  if (status == BE_OK) status = remove_all_stale(&folder, err);
  *count = folder.count;
  be_buf_free(&folder.earlier);
  be_buf_free(&folder.list);
  return status;
}
