/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The journal as docs/formats.md has it: records of 4 bytes size, 1 kind, 8 of checks, and the
 * bytes. */
#include "live/live.h"

#include <stdlib.h>
#include <string.h>

enum { HEAD = 16, RECORD_HEAD = 13, CHUNK_HEAD = 9, KIND_CHUNK = 2, LINE_MAX_BYTES = 64 };

struct reading {
  const struct bench_rig *rig;
  struct sampled *sampled;
  unsigned char *seen;
  char line[LINE_MAX_BYTES];
  size_t size;
};

static uint64_t number_at(const char *bytes, size_t count)
{
  uint64_t value = 0;
  for (size_t i = 0; i < count; i++) value |= (uint64_t)(unsigned char)bytes[i] << 8 * i;
  return value;
}

static void take_line(struct reading *reading, int64_t host_ns)
{
  reading->line[reading->size] = '\0';
  reading->size = 0;
  size_t number = rig_number(reading->rig, strtod(reading->line, NULL));
  if (number >= reading->rig->count || reading->seen[number]) return;
  reading->seen[number] = 1;
  delays_add(&reading->sampled->delays, host_ns - reading->rig->sent_ns[number]);
}

static void take_chunk(struct reading *reading, const char *bytes, size_t size)
{
  if (size < CHUNK_HEAD || bytes[0] != 0) return;
  int64_t host_ns = (int64_t)number_at(bytes + 1, 8);
  for (size_t i = CHUNK_HEAD; i < size; i++) {
    if (bytes[i] == '\n') take_line(reading, host_ns);
    else if (reading->size < LINE_MAX_BYTES - 1) reading->line[reading->size++] = bytes[i];
  }
}

bool sampled_read(const char *journal, const struct bench_rig *rig, struct sampled *sampled)
{
  struct be_buf file;
  struct reading reading = {.rig = rig, .sampled = sampled, .seen = calloc(rig->count, 1)};
  be_buf_init(&file, 1024 * 1024 * 1024);
  memset(sampled, 0, sizeof *sampled);
  bool fine = reading.seen && be_file_read(journal, &file, NULL) == BE_OK;
  for (size_t at = HEAD; fine && at + RECORD_HEAD <= file.size;) {
    const char *record = file.data + at;
    size_t size = (size_t)number_at(record, 4);
    if (at + RECORD_HEAD + size > file.size) break;
    if (record[4] == KIND_CHUNK) take_chunk(&reading, record + RECORD_HEAD, size);
    at += RECORD_HEAD + size;
  }
  for (size_t i = 0; fine && i < rig->count; i++) sampled->missing += !reading.seen[i];
  free(reading.seen);
  be_buf_free(&file);
  return fine;
}
