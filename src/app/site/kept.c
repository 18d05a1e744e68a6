/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/site/kept.h"

#include <stdio.h>
#include <string.h>
#include <zlib.h>
#include <zstd.h>

/* Of a page in the file: sizes of its address, of its text, of the page if that is packed (else 0),
 * and the CRC-32 of these and both. */
enum { HEAD_SIZE = 16, PACKING_LEVEL = 1 };

static const char mark[] = "bitterend pages 1\n";

void be_pages_init(struct be_kept_pages *kept, size_t bytes_max)
{
  memset(kept, 0, sizeof *kept);
  kept->bytes_max = bytes_max;
}

static size_t cost(const struct be_kept_page *page)
{
  return sizeof *page + page->address_size + page->size;
}

static void page_free(struct be_kept_page *page)
{
  if (!page) return;
  be_free(page->address);
  be_free(page->text);
  be_free(page);
}

static void remove_page(struct be_kept_pages *kept, struct be_kept_page *page)
{
  struct be_kept_page **at = &kept->first;
  while (*at != page) at = &(*at)->next;
  *at = page->next;
  kept->count--;
  kept->bytes -= cost(page);
  page_free(page);
}

void be_pages_clear(struct be_kept_pages *kept)
{
  while (kept->first) remove_page(kept, kept->first);
}

void be_pages_turn(struct be_kept_pages *kept, const char *state)
{
  if (strcmp(kept->state, state) == 0) return;
  be_pages_clear(kept);
  snprintf(kept->state, sizeof kept->state, "%s", state);
}

static struct be_kept_page **place_of(struct be_kept_pages *kept, const char *address, size_t size)
{
  struct be_kept_page **at = &kept->first;
  while (*at && ((*at)->address_size != size || memcmp((*at)->address, address, size) != 0))
    at = &(*at)->next;
  return at;
}

static void put_first(struct be_kept_pages *kept, struct be_kept_page *page)
{
  page->next = kept->first;
  kept->first = page;
}

const struct be_kept_page *be_pages_find(struct be_kept_pages *kept, const char *address,
                                         size_t size)
{
  struct be_kept_page **at = place_of(kept, address, size), *page = *at;
  if (!page) return NULL;
  *at = page->next;
  put_first(kept, page);
  page->again = true;
  return page;
}

/* The last in the list of those asked for once, or again; null when there is none but the first. */
static struct be_kept_page *oldest(const struct be_kept_pages *kept, bool again)
{
  struct be_kept_page *found = NULL;
  for (struct be_kept_page *page = kept->first->next; page; page = page->next)
    if (page->again == again) found = page;
  return found;
}

static void make_room(struct be_kept_pages *kept)
{
  while (kept->count > 1 && (kept->bytes > kept->bytes_max || kept->count > BE_KEPT_PAGES_MAX)) {
    size_t bytes = 0, pages = 0;
    for (const struct be_kept_page *page = kept->first; page; page = page->next)
      if (!page->again) bytes += cost(page), pages++;
    bool flood = bytes > kept->bytes_max / 4 || pages > BE_KEPT_PAGES_MAX / 4;
    struct be_kept_page *out = oldest(kept, !flood);
    remove_page(kept, out ? out : oldest(kept, flood));
  }
}

bool be_pages_add(struct be_kept_pages *kept, const char *address, size_t address_size,
                  struct be_buf *text, size_t whole, bool slow)
{
  if (address_size > BE_KEPT_ADDRESS_MAX || *place_of(kept, address, address_size)) return false;
  struct be_kept_page *page = be_alloc_array(1, sizeof *page);
  char *copy = page ? be_alloc(address_size + 1) : NULL;
  if (!copy) {
    be_free(page);
    return false;
  }
  memcpy(copy, address, address_size);
  *page = (struct be_kept_page){.address = copy,
                                .address_size = address_size,
                                .text = text->data,
                                .size = text->size,
                                .whole = whole,
                                .slow = slow};
  be_buf_init(text, text->ceiling);
  put_first(kept, page);
  kept->count++;
  kept->bytes += cost(page);
  make_room(kept);
  return true;
}

/* ---- packed ---- */

size_t be_page_pack(struct be_buf *text)
{
  size_t whole = text->size, most = ZSTD_compressBound(whole);
  if (whole <= BE_KEPT_WHOLE_MAX) return 0;
  char *packed = be_alloc(most);
  size_t size = packed ? ZSTD_compress(packed, most, text->data, whole, PACKING_LEVEL) : 0;
  char *fit = packed && !ZSTD_isError(size) ? be_resize(packed, size) : NULL;
  if (!fit) {
    be_free(packed);
    return 0;
  }
  be_free(text->data);
  text->data = fit;
  text->size = text->capacity = size;
  return whole;
}

void be_page_unpack(const char *text, size_t size, size_t whole, struct be_buf *out)
{
  if (!whole) {
    be_buf_add(out, text, size);
    return;
  }
  char *page = whole <= out->ceiling ? be_alloc(whole) : NULL;
  size_t got = page ? ZSTD_decompress(page, whole, text, size) : 0;
  if (page && got == whole) be_buf_add(out, page, whole);
  else out->status = BE_NO_MEMORY;
  be_free(page);
}

/* ---- as a file ---- */

static void put_number(char *at, unsigned long number)
{
  for (int i = 0; i < 4; i++) at[i] = (char)(unsigned char)(number >> 8 * i & 0xFF);
}

static unsigned long get_number(const char *at)
{
  unsigned long number = 0;
  for (int i = 0; i < 4; i++) number |= (unsigned long)(unsigned char)at[i] << 8 * i;
  return number;
}

/* Of the numbers before it in the head, the address and the text. */
static unsigned long sum_of(const char *head, const char *address, size_t address_size,
                            const char *text, size_t size)
{
  uLong sum = crc32_z(0, (const Bytef *)head, HEAD_SIZE - 4);
  sum = crc32_z(sum, (const Bytef *)address, address_size);
  return crc32_z(sum, (const Bytef *)text, size);
}

void be_pages_write(const struct be_kept_pages *kept, struct be_buf *bytes)
{
  be_buf_text(bytes, mark);
  be_buf_format(bytes, "%s\n", kept->state);
  for (const struct be_kept_page *page = kept->first; page; page = page->next) {
    char head[HEAD_SIZE];
    if (!page->slow || page->size > bytes->ceiling ||
        bytes->size + HEAD_SIZE + page->address_size + page->size > bytes->ceiling)
      continue;
    put_number(head, page->address_size);
    put_number(head + 4, page->size);
    put_number(head + 8, page->whole);
    put_number(head + 12, sum_of(head, page->address, page->address_size, page->text, page->size));
    be_buf_add(bytes, head, sizeof head);
    be_buf_add(bytes, page->address, page->address_size);
    be_buf_add(bytes, page->text, page->size);
  }
}

bool be_pages_are(const char *bytes, size_t size)
{
  static const char start[] = "bitterend pages ";
  return size >= sizeof start - 1 && memcmp(bytes, start, sizeof start - 1) == 0;
}

/* The first line of bytes is this text; *used grows behind it. */
static bool line_is(const char *bytes, size_t size, size_t *used, const char *text)
{
  size_t length = strlen(text);
  if (size - *used <= length || memcmp(bytes + *used, text, length) != 0) return false;
  *used += length;
  return true;
}

/* The page at *used, kept; false at the end and at what is torn. */
static bool read_page(struct be_kept_pages *kept, const char *bytes, size_t size, size_t *used)
{
  if (size - *used < HEAD_SIZE) return false;
  const char *head = bytes + *used, *address = head + HEAD_SIZE;
  size_t address_size = get_number(head), text_size = get_number(head + 4);
  size_t left = size - *used - HEAD_SIZE;
  if (address_size > BE_KEPT_ADDRESS_MAX || address_size > left || text_size > left - address_size)
    return false;
  const char *bytes_of_text = address + address_size;
  if (sum_of(head, address, address_size, bytes_of_text, text_size) != get_number(head + 12))
    return false;
  struct be_buf text;
  be_buf_init(&text, BE_KEPT_FILE_MAX);
  be_buf_add(&text, bytes_of_text, text_size);
  bool added = text.status == BE_OK &&
               be_pages_add(kept, address, address_size, &text, get_number(head + 8), true);
  be_buf_free(&text);
  *used += HEAD_SIZE + address_size + text_size;
  return added;
}

size_t be_pages_read(struct be_kept_pages *kept, const char *bytes, size_t size)
{
  size_t used = 0, count = 0;
  if (!line_is(bytes, size, &used, mark) || !line_is(bytes, size, &used, kept->state) ||
      !line_is(bytes, size, &used, "\n"))
    return 0;
  while (read_page(kept, bytes, size, &used)) count++;
  return count;
}
