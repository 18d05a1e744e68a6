/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Fuzz target: whatever bytes are called a package, its checksums, its list of files or a table of
 * a person's answers, nothing comes of it but an error. Built with clang
 * -fsanitize=fuzzer,address,undefined. */
#include "app/package/inside.h"

#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size);

static enum be_status count_cells(void *context, char *const *cells, size_t line,
                                  struct be_err *err)
{
  size_t *count = context;
  (void)err;
  if (line == 0) abort();
  for (size_t i = 0; i < be_entered_table.count; i++) *count += strlen(cells[i]);
  return BE_OK;
}

static void read_lines(const char *bytes, size_t size)
{
  const char *sha256, *path;
  char *copy = malloc(size + 1);
  if (!copy) abort();
  memcpy(copy, bytes, size);
  copy[size] = '\0';
  for (char *at = copy; be_pack_line(&at, &sha256, &path);)
    if (strlen(sha256) != 64 || (be_pack_path_is_plain(path) && strstr(path, "../"))) abort();
  free(copy);
}

static void unpack(const char *bytes, size_t size)
{
  struct pack *pack = NULL;
  size_t files = 0, all = 0;
  if (be_pack_of_bytes(bytes, size, &pack, NULL) != BE_OK) return;
  (void)be_pack_check(pack, &files, &all, NULL);
  be_pack_close(pack);
}

/* A sound archive with some bytes of it changed: what a fuzzer cannot guess. */
static void unpack_changed(const char *changes, size_t size)
{
  enum { ROOM = 4096 };
  static const char line[] =
      "7fcf38cfb3d7d1c5c4b1ed0b0b9d4f3b8f1a5e1fd9c3d54f0c9d3b7d7cf1a2b3  a.csv\n";
  struct piece pieces[2] = {{.path = "a.csv"}, {.path = BE_PACKAGE_CHECKSUMS}};
  const struct package package = {.pieces = pieces, .count = 2};
  static char archive[ROOM];
  static size_t archive_size;
  if (!archive_size) {
    struct be_buf made;
    be_buf_init(&made, ROOM);
    for (int i = 0; i < 2; i++) be_buf_init(&pieces[i].bytes, ROOM);
    be_buf_text(&pieces[0].bytes, "line,spool\r\nnylon 12 lb,s1\r\n");
    be_buf_text(&pieces[1].bytes, line);
    if (be_zip_make(&package, &made, NULL) != BE_OK) abort();
    memcpy(archive, made.data, made.size);
    archive_size = made.size;
    be_buf_free(&made);
    for (int i = 0; i < 2; i++) be_buf_free(&pieces[i].bytes);
  }
  char copy[ROOM];
  memcpy(copy, archive, archive_size);
  for (size_t i = 0; i + 2 < size && i < 12; i += 3)
    copy[(256 * (size_t)(unsigned char)changes[i] + (unsigned char)changes[i + 1]) % archive_size] =
        changes[i + 2];
  unpack(copy, archive_size);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size)
{
  const char *text = (const char *)bytes;
  size_t count = 0;
  unpack(text, size);
  unpack_changed(text, size);
  read_lines(text, size);
  (void)be_csv_cells(text, size, be_entered_table.count, count_cells, &count, NULL);
  if (count > size) abort();
  return 0;
}
