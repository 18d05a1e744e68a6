/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Fuzz target: whatever bytes are called a sheet, its cells and header are read
 * and it is entered without harm. Built with clang -fsanitize=fuzzer,address,undefined. */
#include "book/inside.h"

#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size);

static const char plan[] = "trial,specimen,order,knot,line,spool\nw,A,9,uni,nylon,S1\n";

/* One book for many inputs: what they left in it is met by those that follow. */
static struct be_book *book_for_a_while(void)
{
  enum { INPUTS = 200 };
  static struct be_book *book;
  static int used;
  static const struct be_entering how;
  struct be_entered entered;
  if (book && used++ < INPUTS) return book;
  be_book_close(book);
  struct be_arena *arena = be_arena_create();
  if (!arena || be_book_in_memory(&book, NULL) != BE_OK) abort();
  if (be_book_enter(book, "plan", plan, sizeof plan - 1, &how, arena, &entered, NULL) != BE_OK)
    abort();
  be_arena_free(arena);
  used = 0;
  return book;
}

/* What was entered can be read. */
static void enter_and_read(const char *text, size_t size, const char *rules)
{
  const struct be_entering how = {.mapping = rules};
  struct be_book *book = book_for_a_while();
  struct be_arena *arena = be_arena_create();
  struct be_entered entered;
  struct be_record record;
  if (!arena) abort();
  if (be_book_enter(book, "fuzz", text, size, &how, arena, &entered, NULL) == BE_OK &&
      be_book_read(book, arena, &record, NULL) != BE_OK)
    abort();
  be_arena_free(arena);
}

/* Rows of any kind below a header that rules know: blocks, several loads a row, days. */
static void enter_below(const char *text, size_t size)
{
  static const char rules[] = "titles = line A\nknot = k\nload (lb) = a .. c\nas above = k\n"
                              "session (d/m/y) = d\nload: - = not recorded\npass over: k = x\n";
  struct be_buf sheet;
  be_buf_init(&sheet, size + 64);
  be_buf_text(&sheet, "nylon 3,,,,\nk,a,b,c,d\nuni,7,-,8,3/4/25\n,,,9,\n");
  be_buf_add(&sheet, text, size);
  if (sheet.status == BE_OK) enter_and_read(sheet.data, sheet.size, rules);
  be_buf_free(&sheet);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size)
{
  const char *text = (const char *)bytes;
  be_book_kind(text, size, NULL);
  be_book_kind(text, size, "knot = a\nload (lb) = b\nignore = c\ndesign := single knot\n");
  enter_and_read(text, size, NULL);
  enter_below(text, size);
  return 0;
}
