/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The text of a source in UTF-8, however long it is, through one window.
 *
 *   source -> raw (only where the coding is not UTF-8) -> data[at, size)
 *
 * Invariants: data[0, at) has been used; `line` lines end before data[at]; the
 * BE_PAD bytes after data[size] are 0; when `ended` is false, more follows. */
#include "trace/rows/rows.h"

#include <assert.h>
#include <string.h>

enum { GROWTH = 3 };

/* ---- filling ---- */

static enum be_status make_room(struct be_feed *feed, size_t more, struct be_err *err)
{
  if (feed->at > 0) {
    memmove(feed->data, feed->data + feed->at, feed->size - feed->at);
    feed->size -= feed->at;
    feed->looked_at = feed->looked_at > feed->at ? feed->looked_at - feed->at : 0;
    feed->at = 0;
  }
  void *data = feed->data;
  enum be_status status =
      be_grow(&data, &feed->capacity, 1, feed->size + more + BE_PAD, SIZE_MAX / 2, err);
  feed->data = data;
  return status;
}

static void pad(struct be_feed *feed)
{
  memset(feed->data + feed->size, 0, BE_PAD);
}

/* Bytes that are no character of the coding become U+FFFD. */
static size_t recode(struct be_feed *feed, const char *raw, size_t size, bool last)
{
  static const char replacement[] = "\xEF\xBF\xBD";
  size_t used = 0;
  while (used < size) {
    size_t made = 0, room = feed->capacity - BE_PAD - feed->size;
    used += be_recode(feed->recoder, raw + used, size - used, feed->data + feed->size, room, &made);
    feed->size += made;
    bool cut_off = size - used < 4 && !last;
    if (used == size || cut_off) break;
    memcpy(feed->data + feed->size, replacement, 3);
    feed->size += 3;
    used += feed->unit_size < size - used ? feed->unit_size : size - used;
  }
  return used;
}

static enum be_status fill_recoded(struct be_feed *feed, struct be_err *err)
{
  size_t got = 0;
  enum be_status status = be_source_read(feed->source, feed->raw + feed->raw_size,
                                         BE_RAW_SIZE - feed->raw_size, &got, err);
  if (status == BE_OK) status = make_room(feed, (BE_RAW_SIZE + 1) * GROWTH, err);
  if (status != BE_OK) return status;
  bool last = got < BE_RAW_SIZE - feed->raw_size;
  feed->raw_size += got;
  size_t used = recode(feed, feed->raw, feed->raw_size, last);
  memmove(feed->raw, feed->raw + used, feed->raw_size - used);
  feed->raw_size -= used;
  feed->ended = last;
  return BE_OK;
}

/* A little at first, and then as much again each time, so that a short source
 * takes little room. */
static enum be_status fill_plain(struct be_feed *feed, size_t want, struct be_err *err)
{
  enum be_status status = BE_OK;
  while (status == BE_OK && !feed->ended && feed->size - feed->at < want) {
    size_t have = feed->size - feed->at, more = want - have, got = 0;
    if (more > have + BE_RAW_SIZE) more = have + BE_RAW_SIZE;
    status = make_room(feed, more, err);
    if (status == BE_OK)
      status = be_source_read(feed->source, feed->data + feed->size, more, &got, err);
    feed->ended = status == BE_OK && got < more;
    feed->size += got;
  }
  return status;
}

/* ---- coding ---- */

/* Length of the front of bytes that is ASCII without NUL, eight at a time. */
static size_t plain_front(const char *bytes, size_t size)
{
  const uint64_t ones = UINT64_C(0x0101010101010101), highs = UINT64_C(0x8080808080808080);
  size_t i = 0;
  for (; size - i >= 8; i += 8) {
    uint64_t word;
    memcpy(&word, bytes + i, 8);
    if ((word | (word - ones)) & highs) break;
  }
  while (i < size && bytes[i] > 0) i++;
  return i;
}

/* A character cut off by the end of the window is no fault. */
static bool is_utf8(const char *bytes, size_t size, bool ended)
{
  for (size_t i = 0; i < size;) {
    uint32_t code;
    i += plain_front(bytes + i, size - i);
    if (i == size) break;
    size_t length = be_utf8_next(bytes + i, size - i, &code);
    if (length == 0) return !ended && size - i < 4;
    i += length;
  }
  return true;
}

/* Turns the unread window and what follows from another coding. */
static enum be_status turn_to(struct be_feed *feed, enum be_text_coding coding, struct be_err *err)
{
  size_t size = feed->size - feed->at;
  char *kept = be_alloc(size + 1);
  feed->coding = coding;
  feed->recoder = be_recoder_create(be_coding_name(coding));
  feed->unit_size = coding == BE_UTF16_LE || coding == BE_UTF16_BE ? 2 : 1;
  if (!feed->raw) feed->raw = be_alloc(BE_RAW_SIZE);
  enum be_status status = BE_OK;
  if (!kept || !feed->raw || !feed->recoder)
    status =
        be_fail(err, BE_NO_MEMORY, "no memory to read text in %s", be_text_coding_word(coding));
  if (status == BE_OK) status = make_room(feed, (size + 1) * GROWTH, err);
  if (status == BE_OK) {
    memcpy(kept, feed->data, size);
    feed->size = 0;
    size_t used = recode(feed, kept, size, feed->ended);
    feed->raw_size = size - used;
    memcpy(feed->raw, kept + used, feed->raw_size);
    feed->looked_at = feed->size;
    pad(feed);
  }
  be_free(kept);
  return status;
}

/* Text without a mark that turns out not to be UTF-8 is in an older coding. Looks
 * no farther than was asked for: how much more is there depends on the threads. */
static enum be_status look_at_coding(struct be_feed *feed, size_t want, struct be_err *err)
{
  if (feed->coding != BE_UTF8 && feed->coding != BE_UTF8_BOM) return BE_OK;
  size_t from = feed->looked_at > feed->at ? feed->looked_at : feed->at;
  size_t to = feed->size - feed->at > want ? feed->at + want : feed->size;
  if (from > to) return BE_OK;
  bool fits = is_utf8(feed->data + from, to - from, feed->ended && to == feed->size);
  /* Look again at the last few bytes: a character may have been cut off. */
  feed->looked_at = to - from > 4 ? to - 4 : from;
  while (feed->looked_at > from && (feed->data[feed->looked_at] & 0xC0) == 0x80) feed->looked_at--;
  if (fits) return BE_OK;
  return turn_to(feed, be_coding_guess(feed->data + feed->at, to - feed->at), err);
}

/* ---- use ---- */

enum be_status be_feed_fill(struct be_feed *feed, size_t want, struct be_err *err)
{
  while (!feed->ended && feed->size - feed->at < want) {
    enum be_status status = feed->recoder ? fill_recoded(feed, err) : fill_plain(feed, want, err);
    if (status != BE_OK) return status;
    pad(feed);
  }
  return look_at_coding(feed, want, err);
}

enum be_status be_feed_refuse_zeros(const struct be_feed *feed, size_t want, struct be_err *err)
{
  const char *text = feed->data + feed->at;
  size_t size = feed->size - feed->at < want ? feed->size - feed->at : want;
  const char *nul = size ? memchr(text, '\0', size) : NULL;
  if (!nul) return BE_OK;
  size_t at = 1, line = feed->line + 1;
  for (const char *p = text; p < nul; p++) at = *p == feed->eol ? line++, 1 : at + 1;
  be_fail(err, BE_BAD_INPUT, "this is not a text file: byte %zu of line %zu is 0", at, line);
  be_fail_at(err, NULL, line, at);
  be_fail_remedy(err, feed->line ? "the file was not written to its end: cut off what is no text"
                                 : "export the trace as text (CSV)");
  return BE_BAD_INPUT;
}

enum be_status be_feed_start(struct be_feed *feed, struct be_source *source, struct be_err *err)
{
  *feed = (struct be_feed){.source = source, .eol = '\n', .coding = BE_UTF8};
  size_t mark = 0;
  enum be_status status = fill_plain(feed, BE_WINDOW, err);
  if (status != BE_OK) return status;
  pad(feed);
  enum be_text_coding coding = be_coding_of_front(feed->data, feed->size, &mark);
  feed->at = mark;
  if (coding == BE_UTF16_LE || coding == BE_UTF16_BE) status = turn_to(feed, coding, err);
  feed->coding = coding;
  if (status == BE_OK) status = look_at_coding(feed, BE_WINDOW, err);
  if (status == BE_OK) status = be_feed_refuse_zeros(feed, BE_WINDOW, err);
  const char *text = feed->data + feed->at;
  size_t size = feed->size - feed->at;
  if (size && !memchr(text, '\n', size) && memchr(text, '\r', size)) feed->eol = '\r';
  return status;
}

void be_feed_end(struct be_feed *feed)
{
  be_recoder_free(feed->recoder);
  be_free(feed->data);
  be_free(feed->raw);
  *feed = (struct be_feed){.eol = '\n'};
}

/* Size of the whole lines at the front of the unread text. */
static size_t whole_lines(const struct be_feed *feed)
{
  size_t size = feed->size - feed->at;
  const char *text = feed->data + feed->at;
  if (feed->ended) return size;
  while (size > 0 && text[size - 1] != feed->eol) size--;
  return size;
}

struct be_lines be_feed_lines(const struct be_feed *feed)
{
  const char *text = feed->data + feed->at;
  return (struct be_lines){text, text + whole_lines(feed), feed->line, feed->eol};
}

void be_feed_use(struct be_feed *feed, const struct be_lines *lines)
{
  assert(lines->at >= feed->data && lines->at <= feed->data + feed->size);
  feed->at = (size_t)(lines->at - feed->data);
  feed->line = lines->number;
}

enum be_status be_feed_too_long(const struct be_feed *feed, struct be_err *err)
{
  be_fail(err, BE_BAD_INPUT, "this line is longer than %d bytes: not a row of a load trace",
          BE_WINDOW);
  be_fail_at(err, NULL, feed->line + 1, BE_WINDOW + 1);
  be_fail_remedy(err, "a trace has one row a reading: look at how the file was exported");
  return BE_BAD_INPUT;
}

enum be_status be_feed_need_line(struct be_feed *feed, struct be_err *err)
{
  enum be_status status = BE_OK;
  if (whole_lines(feed) == 0) status = be_feed_fill(feed, BE_WINDOW, err);
  if (status != BE_OK || feed->size - feed->at < BE_WINDOW) return status;
  bool fits = memchr(feed->data + feed->at, feed->eol, BE_WINDOW);
  return fits ? BE_OK : be_feed_too_long(feed, err);
}

enum be_status be_feed_take(struct be_feed *feed, char *text, size_t *size, struct be_err *err)
{
  size_t have = feed->size - feed->at;
  enum be_status status = BE_OK;
  *size = 0;
  if (feed->recoder || have >= BE_WINDOW) {
    status = be_feed_need_line(feed, err);
    struct be_lines lines = be_feed_lines(feed);
    size_t whole = (size_t)(lines.end - lines.at);
    while (whole > BE_WINDOW) {
      whole = BE_WINDOW;
      while (whole > 0 && lines.at[whole - 1] != feed->eol) whole--;
      if (whole == 0) return be_feed_too_long(feed, err);
    }
    *size = whole;
    memcpy(text, lines.at, whole);
    feed->at += whole;
  } else {
    size_t got = 0;
    memcpy(text, feed->data + feed->at, have);
    if (!feed->ended)
      status = be_source_read(feed->source, text + have, BE_WINDOW - have, &got, err);
    if (status != BE_OK) return status;
    feed->ended = feed->ended || got < BE_WINDOW - have;
    size_t all = have + got, whole = all;
    while (!feed->ended && whole > 0 && text[whole - 1] != feed->eol) whole--;
    feed->at = feed->size = feed->looked_at = 0;
    status = make_room(feed, all - whole, err);
    if (status != BE_OK) return status;
    memcpy(feed->data, text + whole, all - whole);
    feed->size = all - whole;
    pad(feed);
    if (whole == 0 && all > 0) return be_feed_too_long(feed, err);
    *size = whole;
  }
  memset(text + *size, 0, BE_PAD);
  return status;
}

enum be_status be_feed_give_back(struct be_feed *feed, const char *text, size_t size,
                                 struct be_err *err)
{
  enum be_status status = make_room(feed, size, err);
  if (status != BE_OK) return status;
  memmove(feed->data + size, feed->data, feed->size);
  memcpy(feed->data, text, size);
  feed->size += size;
  feed->looked_at = 0;
  pad(feed);
  return BE_OK;
}
