/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "rig/file/inside.h"

#include <string.h>

const char be_rig_capture_head[] = "bitterend capture 1\n";

static const char *const words[] = {"bytes", "opened", "closed"};

void be_capture_start(struct be_buf *out)
{
  be_buf_text(out, be_rig_capture_head);
}

void be_capture_add(struct be_buf *out, const struct be_rig_chunk *chunk, const char *bytes)
{
  size_t size = chunk->event == BE_CHUNK_BYTES ? chunk->size : 0;
  be_buf_format(out, "%lld %s %zu\n", (long long)chunk->host_ns, words[chunk->event], size);
  be_buf_add(out, bytes, size);
  be_buf_char(out, '\n');
}

/* Digits up to a mark; returns what follows it, null when it is not so. */
static const char *number(const char *at, const char *end, char mark, int64_t *value)
{
  const char *start = at;
  for (*value = 0; at < end && *at >= '0' && *at <= '9' && *value < INT64_MAX / 20; at++)
    *value = *value * 10 + (*at - '0');
  return at > start && at < end && *at == mark ? at + 1 : NULL;
}

const char *be_capture_next(const char *at, const char *end, struct be_rig_chunk *chunk,
                            const char **bytes)
{
  int64_t size = 0;
  at = number(at, end, ' ', &chunk->host_ns);
  for (int i = 0; at && i < 3; i++) {
    size_t length = strlen(words[i]);
    if ((size_t)(end - at) <= length || memcmp(at, words[i], length) != 0 || at[length] != ' ')
      continue;
    chunk->event = (enum be_chunk_event)i;
    at = number(at + length + 1, end, '\n', &size);
    bool fits = at && size <= BE_CHUNK_BYTES_MAX && end - at > size && at[size] == '\n';
    if (!fits) return NULL;
    *bytes = at;
    chunk->size = (uint32_t)size;
    return at + size + 1;
  }
  return NULL;
}
