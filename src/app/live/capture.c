/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/live/live.h"

#include <math.h>
#include <string.h>

enum { CHUNK_HEAD = 9, SEGMENTS_MAX = 10000, AS_RECEIVED_MAX = 4096 };

/* ---- chunks as records ---- */

enum be_status be_chunk_keep(struct be_kept *kept, const struct be_rig_chunk *chunk,
                             const char *bytes, struct be_err *err)
{
  char record[CHUNK_HEAD + BE_CHUNK_BYTES_MAX];
  size_t size = chunk->event == BE_CHUNK_BYTES ? chunk->size : 0;
  record[0] = (char)chunk->event;
  for (int i = 0; i < 8; i++) record[1 + i] = (char)((uint64_t)chunk->host_ns >> 8 * i & 0xFF);
  memcpy(record + CHUNK_HEAD, bytes, size);
  size += CHUNK_HEAD;
  if (kept->failed.status == BE_OK &&
      be_journal_add(kept->journal, BE_LIVE_CHUNK, record, size, &kept->failed) == BE_OK)
    return BE_OK;
  /* Once it failed all go to memory, for their order must stay. */
  uint32_t length = (uint32_t)size;
  be_buf_add(&kept->spare, &length, sizeof length);
  be_buf_add(&kept->spare, record, size);
  return be_buf_status(&kept->spare, err);
}

void be_kept_retry(struct be_kept *kept)
{
  struct be_buf *spare = &kept->spare;
  size_t at = 0;
  if (kept->failed.status == BE_OK) return;
  kept->failed = (struct be_err){0};
  while (at < spare->size && kept->failed.status == BE_OK) {
    uint32_t length;
    memcpy(&length, spare->data + at, sizeof length);
    if (be_journal_add(kept->journal, BE_LIVE_CHUNK, spare->data + at + sizeof length, length,
                       &kept->failed) == BE_OK)
      at += sizeof length + length;
  }
  if (at > 0) memmove(spare->data, spare->data + at, spare->size - at);
  spare->size -= at;
}

static int64_t read_ns(const char *bytes)
{
  uint64_t value = 0;
  for (int i = 0; i < 8; i++) value |= (uint64_t)(unsigned char)bytes[i] << 8 * i;
  return (int64_t)value;
}

/* ---- two passes: when samples were taken, then their rows ---- */

/* Samples that came one after the other without a loss; arrival by number is a line. */
struct segment {
  uint64_t first; /* sequence of its first sample */
  double n, mean_x, mean_y, sxx, sxy;
};

struct capture {
  struct be_frames *frames;
  int64_t from_ns, to_ns;
  const struct be_reckoning *reckoning; /* null where readings are forces already */
  struct be_buf *text;                  /* null in the first pass */
  struct be_captured *captured;
  struct segment *segments;
  size_t count, capacity, at;
  bool first_told; /* a row stands already */
  bool by_rig;     /* every sample has the rig's own time, and it rises */
  double rig_s, start_s;
  struct be_live live; /* sees whether there was a pull */
  /* The bytes that samples point into. */
  struct be_buf tail;
  uint64_t tail_at;      /* offset of its first byte */
  uint64_t last_offset;  /* of the frame written last */
  enum be_status status; /* of what happens while bytes are fed */
};

static double seconds(const struct capture *c, int64_t host_ns)
{
  return (double)(host_ns - c->from_ns) * 1e-9;
}

static bool starts_anew(const struct be_rig_sample *sample)
{
  return (sample->flags & (BE_SAMPLE_AFTER_GAP | BE_SAMPLE_AFTER_LOSS)) != 0;
}

/* Two-pass would need all samples; these are the updating formulas of Welford (1962), centred. */
static void learn(struct capture *c, const struct be_rig_sample *sample)
{
  if (c->count == 0 || (starts_anew(sample) && c->count < SEGMENTS_MAX)) {
    void *segments = c->segments;
    if (be_grow(&segments, &c->capacity, sizeof *c->segments, c->count + 1, SEGMENTS_MAX, NULL) !=
        BE_OK) {
      c->status = BE_NO_MEMORY;
      return;
    }
    c->segments = segments;
    c->segments[c->count++] = (struct segment){.first = sample->sequence};
  }
  c->by_rig = c->by_rig && sample->rig_time_s > c->rig_s;
  c->rig_s = sample->rig_time_s;
  be_live_take(&c->live, seconds(c, sample->host_ns),
               sample->flags & BE_SAMPLE_OVER ? INFINITY : sample->force_N);
  struct segment *s = &c->segments[c->count - 1];
  double x = (double)(sample->sequence - s->first), y = seconds(c, sample->host_ns);
  double dx = x - s->mean_x, dy = y - s->mean_y;
  s->n++;
  s->mean_x += dx / s->n;
  s->mean_y += dy / s->n;
  s->sxx += dx * (x - s->mean_x);
  s->sxy += dx * (y - s->mean_y);
}

static double time_of(const struct capture *c, const struct be_rig_sample *sample)
{
  const struct segment *s = &c->segments[c->at];
  if (c->by_rig) return sample->rig_time_s;
  if (s->sxx <= 0) return seconds(c, sample->host_ns);
  return s->mean_y + s->sxy / s->sxx * ((double)(sample->sequence - s->first) - s->mean_x);
}

/* Each frame once: a block of numbers stands beside the first of them. */
static void write_as_received(struct capture *c, const struct be_rig_sample *sample)
{
  bool again = c->first_told && sample->offset == c->last_offset;
  c->last_offset = sample->offset;
  if (again || sample->offset < c->tail_at || sample->length > AS_RECEIVED_MAX) return;
  const unsigned char *bytes =
      (const unsigned char *)c->tail.data + (size_t)(sample->offset - c->tail_at);
  be_buf_char(c->text, '"');
  for (size_t i = 0; i < sample->length; i++) {
    if (bytes[i] == '"') be_buf_text(c->text, "\"\"");
    else if (bytes[i] >= ' ' && bytes[i] < 0x7F && bytes[i] != '\\')
      be_buf_char(c->text, (char)bytes[i]);
    else be_buf_format(c->text, "\\x%02X", bytes[i]);
  }
  be_buf_char(c->text, '"');
}

static void write_row(struct capture *c, const struct be_rig_sample *sample)
{
  bool usable = isfinite(sample->force_N);
  c->captured->rows += usable;
  c->captured->unusable += !usable;
  c->captured->over += (sample->flags & BE_SAMPLE_OVER) != 0;
  c->captured->gaps += c->first_told && starts_anew(sample);
  double time_s = time_of(c, sample);
  if (!c->first_told) c->start_s = time_s;
  be_buf_format(c->text, "%.6f,", time_s - c->start_s);
  if (usable) be_buf_format(c->text, "%.9g", sample->force_N);
  be_buf_char(c->text, ',');
  if (c->reckoning && isfinite(sample->value))
    be_buf_format(c->text, "%.9g%s%s", sample->value, sample->unit ? " " : "",
                  sample->unit ? sample->unit->name : "");
  if (c->reckoning) be_buf_char(c->text, ',');
  if (isfinite(sample->rig_time_s)) be_buf_format(c->text, "%.9g", sample->rig_time_s);
  be_buf_char(c->text, ',');
  write_as_received(c, sample);
  be_buf_char(c->text, '\n');
  c->first_told = true;
}

static void on_sample(void *capture, const struct be_rig_sample *sample)
{
  struct capture *c = capture;
  if (c->status != BE_OK || sample->host_ns < c->from_ns || sample->host_ns > c->to_ns) return;
  if (!c->text) {
    learn(c, sample);
    return;
  }
  while (c->at + 1 < c->count && sample->sequence >= c->segments[c->at + 1].first) c->at++;
  struct be_rig_sample reckoned = *sample;
  if (c->reckoning) be_reckon(c->reckoning, &reckoned, 1);
  write_row(c, &reckoned);
}

/* What no sample to come can point at any more is let go. */
static void keep_tail(struct capture *c, const char *bytes, size_t size)
{
  if (c->tail.size > 4 * BE_FRAME_BLOCK_MAX) {
    size_t drop = c->tail.size - 2 * BE_FRAME_BLOCK_MAX;
    memmove(c->tail.data, c->tail.data + drop, c->tail.size - drop);
    c->tail.size -= drop;
    c->tail_at += drop;
  }
  be_buf_add(&c->tail, bytes, size);
  if (c->tail.status != BE_OK) c->status = c->tail.status;
}

static enum be_status on_record(void *capture, unsigned kind, const char *bytes, size_t size,
                                struct be_err *err)
{
  struct capture *c = capture;
  if (kind != BE_LIVE_CHUNK || size < CHUNK_HEAD) return BE_OK;
  if (bytes[0] == BE_CHUNK_OPENED) be_frames_restart(c->frames, false);
  if (bytes[0] == BE_CHUNK_BYTES) {
    keep_tail(c, bytes + CHUNK_HEAD, size - CHUNK_HEAD);
    if (c->status == BE_OK)
      be_frames_feed(c->frames, bytes + CHUNK_HEAD, size - CHUNK_HEAD, read_ns(bytes + 1),
                     on_sample, c);
  }
  return c->status == BE_OK ? BE_OK : be_fail(err, c->status, "no memory for the pull");
}

static enum be_status read_spare(struct capture *c, const struct be_buf *spare, struct be_err *err)
{
  enum be_status status = BE_OK;
  for (size_t at = 0; at < spare->size && status == BE_OK;) {
    uint32_t length;
    memcpy(&length, spare->data + at, sizeof length);
    at += sizeof length;
    status = on_record(c, BE_LIVE_CHUNK, spare->data + at, length, err);
    at += length;
  }
  return status;
}

static enum be_status pass(struct capture *c, struct be_kept *kept, const char *frames,
                           const char *settings, struct be_err *err)
{
  enum be_status status = be_frames_create(frames, settings, &c->frames, err);
  if (status != BE_OK) return status;
  be_frames_restart(c->frames, false);
  status = be_journal_read(kept->journal, on_record, c, err);
  if (status == BE_OK) status = read_spare(c, &kept->spare, err);
  be_frames_free(c->frames);
  c->tail.size = 0;
  c->tail_at = 0;
  return status;
}

enum be_status be_capture_text(struct be_kept *kept, const struct be_window *window,
                               const char *frames, const char *frame_settings,
                               const struct be_reckoning *reckoning, struct be_buf *text,
                               struct be_captured *captured, struct be_err *err)
{
  struct capture c = {.from_ns = window->from_ns,
                      .to_ns = window->to_ns,
                      .reckoning = reckoning && reckoning->known ? reckoning : NULL,
                      .captured = captured,
                      .by_rig = true,
                      .rig_s = -INFINITY};
  *captured = (struct be_captured){0};
  be_buf_init(&c.tail, 8 * BE_FRAME_BLOCK_MAX);
  be_live_start(&c.live, NULL);
  enum be_status status = pass(&c, kept, frames, frame_settings, err);
  bool calm = c.live.phase == BE_LIVE_READY && isnan(c.live.peak_N) && c.live.touches == 0;
  captured->pulled = c.count > 0 && !calm;
  if (status == BE_OK && c.count == 0)
    status = be_fail(err, BE_BAD_INPUT, "nothing came from the rig during the pull");
  if (status == BE_OK) {
    be_buf_format(text, "time (s),load (N),%srig time (s),as received\n",
                  c.reckoning ? "reading," : "");
    c.text = text;
    status = pass(&c, kept, frames, frame_settings, err);
  }
  if (status == BE_OK) status = be_buf_status(text, err);
  if (status == BE_OK && captured->rows == 0)
    status = be_fail(err, BE_BAD_INPUT, "no frame of the pull had a load with a unit of force");
  be_buf_free(&c.tail);
  be_free(c.segments);
  return status;
}
