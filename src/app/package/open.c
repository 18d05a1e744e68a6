/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A package that is read, from a folder or a zip. Only what its checksums list is looked at. */
#include "app/package/inside.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct sum {
  const char *path, *sha256;
};

struct pack {
  const char *folder; /* null: */
  struct zip_pack *zip;
  struct be_buf bytes; /* of the zip, when it was read from a file */
  struct be_buf text;  /* of the checksums */
  struct sum *sums;    /* by path */
  size_t count, capacity;
};

bool be_pack_path_is_plain(const char *path)
{
  if (!*path || strlen(path) > BE_PACKAGE_PATH_MAX || !be_utf8_valid(path, strlen(path)))
    return false;
  for (const char *at = path; *at; at++)
    if ((unsigned char)*at < 0x20 || *at == 0x7F || strchr("\\:*?\"<>|", *at)) return false;
  for (const char *at = path;;) {
    size_t length = strcspn(at, "/");
    bool dots = length <= 2 && strspn(at, ".") >= length; /* nothing, one or two dots */
    if (dots || at[length - 1] == ' ' || at[length - 1] == '.') return false;
    if (!at[length]) return true;
    at += length + 1;
  }
}

bool be_pack_line(char **at, const char **sha256, const char **path)
{
  char *line = *at, *end = strchr(line, '\n');
  if (!end || end - line < 67 || strspn(line, "0123456789abcdef") != 64) return false;
  if (line[64] != ' ' || line[65] != ' ') return false;
  *end = line[64] = '\0';
  *sha256 = line;
  *path = line + 66;
  *at = end + 1;
  return true;
}

static int by_path(const void *a, const void *b)
{
  return strcmp(((const struct sum *)a)->path, ((const struct sum *)b)->path);
}

static enum be_status bad_sums(size_t line, const char *what, struct be_err *err)
{
  be_fail(err, BE_BAD_INPUT, "%s", what);
  be_fail_at(err, BE_PACKAGE_CHECKSUMS, line, 0);
  return be_fail_remedy(err, "take the package as it was written");
}

static enum be_status read_sums(struct pack *pack, struct be_err *err)
{
  char *at = pack->text.data;
  if (strlen(at) != pack->text.size) return bad_sums(0, "the checksums hold a zero byte", err);
  if (strchr(at, '\r')) {
    bad_sums(1, "the ends of lines were changed on the way: those of the package are LF here", err);
    return be_fail_remedy(err, "send it as a zip, which nothing rewrites");
  }
  while (*at) {
    struct sum sum;
    if (!be_pack_line(&at, &sum.sha256, &sum.path))
      return bad_sums(pack->count + 1, "this is no line of checksums: a hash, two spaces, a path",
                      err);
    if (!be_pack_path_is_plain(sum.path))
      return bad_sums(pack->count + 1, "the path leads out of the package", err);
    if (pack->count == BE_PACKAGE_FILES_MAX) {
      be_fail(err, BE_TOO_LARGE, "the package lists more than %d files", BE_PACKAGE_FILES_MAX);
      return be_fail_remedy(err, "take the package as it was written");
    }
    void *block = pack->sums;
    enum be_status status = be_grow(&block, &pack->capacity, sizeof *pack->sums, pack->count + 1,
                                    BE_PACKAGE_FILES_MAX, err);
    pack->sums = block;
    if (status != BE_OK) return status;
    pack->sums[pack->count++] = sum;
  }
  if (pack->count) qsort(pack->sums, pack->count, sizeof *pack->sums, by_path);
  for (size_t i = 1; i < pack->count; i++)
    if (strcmp(pack->sums[i - 1].path, pack->sums[i].path) == 0)
      return bad_sums(0, "the checksums list a file twice", err);
  return BE_OK;
}

static const struct sum *find_sum(const struct pack *pack, const char *path)
{
  const struct sum key = {path, NULL};
  return pack->count ? bsearch(&key, pack->sums, pack->count, sizeof key, by_path) : NULL;
}

enum be_status be_pack_read_plain(const char *folder, const char *path, struct be_buf *bytes,
                                  struct be_err *err)
{
  char whole[4096 + BE_PACKAGE_PATH_MAX];
  int length = snprintf(whole, sizeof whole, "%s/%s", folder, path);
  if (length < 0 || (size_t)length >= sizeof whole)
    return be_fail(err, BE_WRONG_USE, "the name of the folder is too long");
  bool link = be_file_is_link(whole);
  for (char *at = strchr(whole + strlen(folder) + 1, '/'); at && !link; at = strchr(at + 1, '/')) {
    *at = '\0';
    link = be_file_is_link(whole);
    *at = '/';
  }
  if (link) {
    be_fail(err, BE_BAD_INPUT, "a package has no links: \"%.150s\"", path);
    return be_fail_remedy(err, "put the file itself there");
  }
  if (!be_file_exists(whole)) return be_fail(err, BE_NO, "the package has no file \"%s\"", path);
  char start[1];
  size_t got = 0;
  enum be_status status = be_file_start(whole, start, 1, &got, err);
  return status == BE_OK ? be_file_read(whole, bytes, err) : status;
}

static enum be_status read_bytes(struct pack *pack, const char *path, struct be_buf *bytes,
                                 struct be_err *err)
{
  return pack->folder ? be_pack_read_plain(pack->folder, path, bytes, err)
                      : be_zip_read(pack->zip, path, bytes, err);
}

enum be_status be_pack_read(struct pack *pack, const char *path, struct be_buf *bytes,
                            struct be_err *err)
{
  const struct sum *sum = find_sum(pack, path);
  char hex[65];
  if (!sum) {
    be_fail(err, BE_BAD_INPUT, "the checksums do not list \"%.150s\"", path);
    be_fail_at(err, BE_PACKAGE_CHECKSUMS, 0, 0);
    return be_fail_remedy(err, "take the package as it was written");
  }
  enum be_status status = read_bytes(pack, path, bytes, err);
  if (status == BE_NO) {
    be_fail(err, BE_BAD_INPUT, "the file is missing in the package");
    be_fail_at(err, path, 0, 0);
    return be_fail_remedy(err, "fetch the package again: this one is not whole");
  }
  if (status != BE_OK) return status;
  be_sha256_hex(bytes->data, bytes->size, hex);
  if (strcmp(hex, sum->sha256) == 0) return BE_OK;
  be_fail(err, BE_BAD_INPUT, "the file is not the one that was packed: its bytes were changed");
  be_fail_at(err, path, 0, 0);
  return be_fail_remedy(err, "fetch the package again; what is to be mended is mended in the book");
}

enum be_status be_pack_check(struct pack *pack, size_t *files, size_t *bytes, struct be_err *err)
{
  enum be_status status = BE_OK;
  *bytes = 0;
  *files = pack->count;
  be_progress_step("checking", "files", pack->count);
  for (size_t i = 0; i < pack->count && status == BE_OK; i++) {
    struct be_buf buf;
    be_progress_at(i);
    be_buf_init(&buf, BE_BOOK_FILE_MAX);
    status = be_pack_read(pack, pack->sums[i].path, &buf, err);
    *bytes += buf.size;
    be_buf_free(&buf);
    if (status != BE_OK || *bytes <= BE_PACKAGE_BYTES_MAX) continue;
    be_fail(err, BE_TOO_LARGE, "the files of the package have more than %d bytes",
            BE_PACKAGE_BYTES_MAX);
    status = be_fail_remedy(err, "take the package as it was written");
  }
  return status;
}

const char *be_pack_sum(const struct pack *pack, const char *path)
{
  const struct sum *sum = find_sum(pack, path);
  return sum ? sum->sha256 : NULL;
}

const char *be_pack_path(const struct pack *pack, size_t at)
{
  return at < pack->count ? pack->sums[at].path : NULL;
}

struct strangers {
  const struct pack *pack;
  size_t count;
  char *one;
};

static bool is_listed(const struct pack *pack, const char *path)
{
  return strcmp(path, BE_PACKAGE_CHECKSUMS) == 0 || find_sum(pack, path);
}

static void count_stranger(struct strangers *met, const char *path)
{
  if (!met->count++) snprintf(met->one, BE_PACKAGE_PATH_MAX + 1, "%s", path);
}

static void meet(void *context, const char *path)
{
  struct strangers *met = context;
  if (!is_listed(met->pack, path)) count_stranger(met, path);
}

size_t be_pack_strangers(const struct pack *pack, char one[BE_PACKAGE_PATH_MAX + 1])
{
  struct strangers met = {pack, 0, one};
  const char *name = NULL;
  bool inside = true;
  *one = '\0';
  if (pack->folder) be_folder_files(pack->folder, meet, &met);
  for (size_t i = 0; pack->zip && (name = be_zip_name(pack->zip, i, &inside)) != NULL; i++)
    if (!inside || !is_listed(pack, name)) count_stranger(&met, name);
  return met.count;
}

/* What people take for a package: the files of spreadsheet programs are zips too. */
static bool is_workbook(struct pack *pack)
{
  static const char *const marks[] = {"[Content_Types].xml", "mimetype"};
  bool is = false;
  for (size_t i = 0; i < 2 && pack->zip && !is; i++) {
    struct be_buf bytes;
    be_buf_init(&bytes, BE_PACKAGE_LIST_MAX);
    is = be_zip_read(pack->zip, marks[i], &bytes, NULL) == BE_OK;
    be_buf_free(&bytes);
  }
  return is;
}

static enum be_status open_sums(struct pack *pack, struct be_err *err)
{
  enum be_status status = read_bytes(pack, BE_PACKAGE_CHECKSUMS, &pack->text, err);
  if (status == BE_NO && is_workbook(pack)) {
    be_fail(err, BE_BAD_INPUT, "this is a workbook of a spreadsheet program, not a sheet as text");
    be_fail_remedy(err, "save its sheet as CSV there, and enter that");
    return BE_BAD_INPUT;
  }
  if (status == BE_NO) {
    be_fail(err, BE_BAD_INPUT, "this is no package: it has no " BE_PACKAGE_CHECKSUMS);
    return be_fail_remedy(err, "name what `bitterend publish --package` wrote; sheets and traces "
                               "are entered by their own names");
  }
  return status == BE_OK ? read_sums(pack, err) : status;
}

static enum be_status begin(struct pack **pack, struct be_err *err)
{
  *pack = be_alloc_array(1, sizeof **pack);
  if (!*pack) return be_no_memory(err);
  be_buf_init(&(*pack)->bytes, BE_PACKAGE_BYTES_MAX);
  be_buf_init(&(*pack)->text, BE_PACKAGE_LIST_MAX);
  return BE_OK;
}

static enum be_status done(struct pack *made, enum be_status status, struct pack **pack)
{
  if (status == BE_OK) *pack = made;
  else be_pack_close(made);
  return status;
}

static bool is_folder(const char *path)
{
  char inside[4096];
  int length = snprintf(inside, sizeof inside, "%s/.", path);
  return length > 0 && (size_t)length < sizeof inside && be_file_exists(inside);
}

enum be_status be_pack_open(const char *path, struct pack **pack, struct be_err *err)
{
  struct pack *made = NULL;
  enum be_status status = begin(&made, err);
  if (status != BE_OK) return status;
  if (is_folder(path)) made->folder = path;
  else status = be_file_read(path, &made->bytes, err);
  if (status == BE_OK && !made->folder)
    status = be_zip_open(made->bytes.data, made->bytes.size, &made->zip, err);
  if (status == BE_OK) status = open_sums(made, err);
  return done(made, status, pack);
}

enum be_status be_pack_of_bytes(const char *bytes, size_t size, struct pack **pack,
                                struct be_err *err)
{
  struct pack *made = NULL;
  enum be_status status = begin(&made, err);
  if (status != BE_OK) return status;
  status = be_zip_open(bytes, size, &made->zip, err);
  if (status == BE_OK) status = open_sums(made, err);
  return done(made, status, pack);
}

void be_pack_close(struct pack *pack)
{
  if (!pack) return;
  be_zip_close(pack->zip);
  be_buf_free(&pack->bytes);
  be_buf_free(&pack->text);
  be_free(pack->sums);
  be_free(pack);
}

bool be_package_is(const char *path)
{
  char start[4];
  size_t got = 0;
  if (strcmp(path, "-") == 0) return false;
  if (is_folder(path)) return true;
  return be_file_exists(path) && be_file_start(path, start, sizeof start, &got, NULL) == BE_OK &&
         got == sizeof start && memcmp(start, "PK\3\4", sizeof start) == 0;
}
