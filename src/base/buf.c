/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/base.h"

#include <stdio.h>
#include <string.h>

void be_buf_init(struct be_buf *buf, size_t ceiling)
{
  *buf = (struct be_buf){.ceiling = ceiling};
}

void be_buf_free(struct be_buf *buf)
{
  be_free(buf->data);
  be_buf_init(buf, buf->ceiling);
}

/* Makes room for size more bytes and the NUL; false once the buffer failed. */
static bool make_room(struct be_buf *buf, size_t size)
{
  if (buf->status != BE_OK) return false;
  if (size > buf->ceiling - buf->size) {
    buf->status = BE_TOO_LARGE;
    return false;
  }
  void *block = buf->data;
  buf->status = be_grow(&block, &buf->capacity, 1, buf->size + size + 1, buf->ceiling + 1, NULL);
  buf->data = block;
  return buf->status == BE_OK;
}

void be_buf_add(struct be_buf *buf, const void *bytes, size_t size)
{
  if (!make_room(buf, size)) return;
  if (size) memcpy(buf->data + buf->size, bytes, size);
  buf->size += size;
  buf->data[buf->size] = '\0';
}

void be_buf_text(struct be_buf *buf, const char *text)
{
  be_buf_add(buf, text, strlen(text));
}

void be_buf_char(struct be_buf *buf, char c)
{
  be_buf_add(buf, &c, 1);
}

void be_buf_format_list(struct be_buf *buf, const char *format, va_list list)
{
  va_list again;
  va_copy(again, list);
  int length = vsnprintf(NULL, 0, format, again);
  va_end(again);
  if (length < 0 || !make_room(buf, (size_t)length)) return;
  vsnprintf(buf->data + buf->size, (size_t)length + 1, format, list);
  buf->size += (size_t)length;
}

void be_buf_format(struct be_buf *buf, const char *format, ...)
{
  va_list list;
  va_start(list, format);
  be_buf_format_list(buf, format, list);
  va_end(list);
}

enum be_status be_buf_status(const struct be_buf *buf, struct be_err *err)
{
  if (buf->status == BE_OK) return BE_OK;
  if (buf->status == BE_TOO_LARGE)
    return be_fail(err, BE_TOO_LARGE, "more than the limit of %zu bytes", buf->ceiling);
  return be_fail(err, buf->status, "no memory for a buffer of %zu bytes", buf->size);
}
