/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Packages of the odd book, and what hands may do to them. */
#ifndef BE_PACKAGE_TEST_H
#define BE_PACKAGE_TEST_H

#include "app/package/inside.h"
#include "odd_book.h"

static inline void remove_package(const char *folder)
{
  char sums[512], path[512];
  struct be_buf text;
  const char *sha256, *name;
  odd_path(sums, folder, BE_PACKAGE_CHECKSUMS);
  if (!be_file_exists(sums)) return;
  read_whole(sums, &text);
  for (char *at = text.data; be_pack_line(&at, &sha256, &name);) {
    odd_path(path, folder, name);
    be_file_remove(path, NULL);
  }
  be_file_remove(sums, NULL);
  be_buf_free(&text);
}

/* Changes a file of a package and its checksum with it. */
static inline void forge(const char *folder, const char *name, const char *from, const char *to)
{
  char path[512], hex[65], was[65];
  struct be_buf bytes, sums, made;
  odd_path(path, folder, name);
  read_whole(path, &bytes);
  char *at = strstr(bytes.data, from);
  assert_non_null(at);
  be_sha256_hex(bytes.data, bytes.size, was);
  be_buf_init(&made, 1 << 24);
  be_buf_add(&made, bytes.data, (size_t)(at - bytes.data));
  be_buf_text(&made, to);
  be_buf_text(&made, at + strlen(from));
  assert_int_equal(be_file_write(path, made.data, made.size, NULL), BE_OK);
  be_sha256_hex(made.data, made.size, hex);
  odd_path(path, folder, BE_PACKAGE_CHECKSUMS);
  read_whole(path, &sums);
  at = strstr(sums.data, was);
  assert_non_null(at);
  memcpy(at, hex, 64);
  assert_int_equal(be_file_write(path, sums.data, sums.size, NULL), BE_OK);
  be_buf_free(&bytes);
  be_buf_free(&made);
  be_buf_free(&sums);
}

#endif
