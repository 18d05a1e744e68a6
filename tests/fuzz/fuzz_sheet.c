/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Fuzz target: whatever bytes are called a sheet, its cells and header are
 * read without harm. Built with clang -fsanitize=fuzzer,address,undefined. */
#include "book/book.h"

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size)
{
  const char *text = (const char *)bytes;
  be_book_kind(text, size, NULL);
  be_book_kind(text, size, "knot = a\nload (lb) = b\nignore = c\ndesign := single knot\n");
  return 0;
}
