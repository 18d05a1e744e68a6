/* SPDX-License-Identifier: GPL-3.0-or-later */
/* kept: pages that were made, of one state of the book. A page is a pure function of that state,
 * its address and the program, so that a kept one is the one that would be made. Knows no thread
 * and no disk: maker_posix.c holds the lock and the file. */
#ifndef BE_APP_KEPT_H
#define BE_APP_KEPT_H

#include "base/base.h"

enum {
  BE_KEPT_BYTES_MAX = 12 * 1024 * 1024,      /* of all pages with their addresses */
  BE_KEPT_PAGES_MAX = 1024,                  /* of them */
  BE_KEPT_WHOLE_MAX = BE_KEPT_BYTES_MAX / 2, /* bytes of a page: larger ones are packed */
  BE_KEPT_ADDRESS_MAX = 1024,                /* bytes of an address: longer ones are made anew */
  BE_KEPT_STATE_MAX = 512,                   /* a text */
  BE_KEPT_FILE_MAX = BE_KEPT_BYTES_MAX + 64 * 1024 /* bytes of the file */
};

struct be_kept_page {
  struct be_kept_page *next;
  char *address;
  size_t address_size;
  char *text;
  size_t size;
  size_t whole; /* bytes of the page when text is packed; 0: it is not */
  bool again;   /* asked for since it was made */
  bool slow;    /* took long to make: worth a place in the file */
};

/* Zero it first. */
struct be_kept_pages {
  char state[BE_KEPT_STATE_MAX];
  struct be_kept_page *first; /* the one used last */
  size_t count, bytes, bytes_max;
};
void be_pages_init(struct be_kept_pages *kept, size_t bytes_max);
void be_pages_clear(struct be_kept_pages *kept);

/* From now on pages are those of this state: what is there of another goes. */
void be_pages_turn(struct be_kept_pages *kept, const char *state);
/* Null when it is not there. Valid until the next call that adds or clears. */
const struct be_kept_page *be_pages_find(struct be_kept_pages *kept, const char *address,
                                         size_t size);
/* Packs a page that is large (Zstandard): returns how many bytes it had, or 0 for one left alone.
 */
size_t be_page_pack(struct be_buf *text);
/* Adds the page to out; a failure is that of out. */
void be_page_unpack(const char *text, size_t size, size_t whole, struct be_buf *out);
/* Takes over the text, as be_page_pack left it; false when it is not kept, and then still the
 * caller's. Others go, those used longest ago first; of a flood of addresses that are each
 * asked for once, the flood: they displace what was asked for again only while they have less than
 * a quarter of the room. The page added last always stays until the next one. */
bool be_pages_add(struct be_kept_pages *kept, const char *address, size_t address_size,
                  struct be_buf *text, size_t whole, bool slow);

/* The slow pages as bytes for a file: "bitterend pages 1", the state, then each page (formats.md).
 */
void be_pages_write(const struct be_kept_pages *kept, struct be_buf *bytes);
/* Whether a file that starts with these bytes is one of pages, of whatever state or version. */
bool be_pages_are(const char *bytes, size_t size);
/* Takes pages of the present state out of such bytes; what is torn or of another state is passed
 * over. Returns how many. */
size_t be_pages_read(struct be_kept_pages *kept, const char *bytes, size_t size);

#endif
