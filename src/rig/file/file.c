/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The file is read whole on opening, and is not longer than FILE_BYTES_MAX. */
#include "rig/file/inside.h"
#include "rig/settings/settings.h"

#include <string.h>

enum { FILE_BYTES_MAX = 256 * 1024 * 1024 };

struct settings {
  struct be_setting_text path;
  double lines_per_s, speed;
};

static const struct be_setting table[] = {
    {"path", BE_SETTING_TEXT, offsetof(struct settings, path)},
    {"lines_per_s", BE_SETTING_NUMBER, offsetof(struct settings, lines_per_s), 1e-3, 1e6},
    {"speed", BE_SETTING_NUMBER, offsetof(struct settings, speed), 0, 1e9},
};

struct replay {
  struct be_buf buf;
  const char *at, *end;
  struct be_rig_pace pace;
  bool capture;
  double lines_per_s;
  uint64_t lines;    /* given so far */
  int64_t first_ns;  /* of the capture */
  const char *bytes; /* of the run that is being given, due then */
  size_t left;
  double due_s;
  bool anew; /* the line had been opened anew before the run */
};

static void file_close(void *state)
{
  struct replay *replay = state;
  if (!replay) return;
  be_buf_free(&replay->buf);
  be_free(replay);
}

static enum be_status damaged(const struct replay *replay, const char *at, struct be_err *err)
{
  be_fail(err, BE_BAD_INPUT, "the capture is damaged or cut short at byte %zu",
          (size_t)(at - replay->buf.data));
  be_fail_remedy(err, "what comes before it was played; copy the file again");
  return BE_BAD_INPUT;
}

static enum be_status start(struct replay *replay, struct be_err *err)
{
  struct be_rig_chunk chunk;
  const char *bytes;
  size_t head = strlen(be_rig_capture_head);
  replay->at = replay->buf.data;
  replay->end = replay->at + replay->buf.size;
  replay->capture = replay->buf.size >= head && memcmp(replay->at, be_rig_capture_head, head) == 0;
  if (!replay->capture) return BE_OK;
  replay->at += head;
  if (replay->at == replay->end) return BE_OK;
  if (!be_capture_next(replay->at, replay->end, &chunk, &bytes))
    return damaged(replay, replay->at, err);
  replay->first_ns = chunk.host_ns;
  return BE_OK;
}

static enum be_status file_open(const char *text, const struct be_rig_clock *clock, void **state,
                                struct be_err *err)
{
  struct settings settings = {.lines_per_s = 10, .speed = 1};
  *state = NULL;
  enum be_status status = be_settings_read(text, table, sizeof table / sizeof table[0], &settings,
                                           be_rig_file.help, err);
  if (status != BE_OK) return status;
  struct replay *replay = be_alloc_array(1, sizeof *replay);
  if (!replay) return be_fail(err, BE_NO_MEMORY, "no memory to play a file");
  be_buf_init(&replay->buf, FILE_BYTES_MAX);
  status = be_file_read(settings.path.bytes, &replay->buf, err);
  if (status == BE_OK) status = start(replay, err);
  replay->lines_per_s = settings.lines_per_s;
  replay->pace = (struct be_rig_pace){clock, settings.speed, clock->now_ns(clock->host)};
  if (status == BE_OK) *state = replay;
  else file_close(replay);
  return status;
}

/* The next run of bytes, and when it is due; none at the end. */
static enum be_status next_run(struct replay *replay, double *due_s, struct be_err *err)
{
  struct be_rig_chunk chunk;
  if (!replay->capture) {
    const char *line_end = memchr(replay->at, '\n', (size_t)(replay->end - replay->at));
    replay->bytes = replay->at;
    replay->at = line_end ? line_end + 1 : replay->end;
    replay->left = (size_t)(replay->at - replay->bytes);
    *due_s = (double)replay->lines++ / replay->lines_per_s;
    return BE_OK;
  }
  const char *next = be_capture_next(replay->at, replay->end, &chunk, &replay->bytes);
  if (!next) return damaged(replay, replay->at, err);
  replay->at = next;
  replay->left = chunk.size;
  replay->anew |= chunk.event == BE_CHUNK_OPENED;
  *due_s = (double)(chunk.host_ns - replay->first_ns) * 1e-9;
  return BE_OK;
}

static enum be_status file_read(void *state, char *bytes, size_t room, int64_t wait_ns,
                                struct be_rig_got *got, struct be_err *err)
{
  struct replay *replay = state;
  const struct be_rig_clock *clock = replay->pace.clock;
  *got = (struct be_rig_got){0};
  while (got->size < room) {
    if (replay->left == 0) {
      got->ended = replay->at == replay->end;
      if (got->ended) break;
      enum be_status status = next_run(replay, &replay->due_s, err);
      if (status != BE_OK) return status;
      if (replay->anew && got->size) break;
      got->anew |= replay->anew;
      replay->anew = false;
    }
    if (!be_rig_pace_due(&replay->pace, replay->due_s, got->size ? 0 : wait_ns)) break;
    size_t size = replay->left < room - got->size ? replay->left : room - got->size;
    memcpy(bytes + got->size, replay->bytes, size);
    replay->bytes += size;
    replay->left -= size;
    got->size += size;
  }
  got->host_ns = clock->now_ns(clock->host);
  return BE_OK;
}

const struct be_rig_source be_rig_file = {
    .name = "file",
    .help = "settings: path=FILE, lines_per_s=10 (of a file that is no capture), "
            "speed=1 (2: twice as fast, 0: at once)",
    .whole = true,
    .open = file_open,
    .read = file_read,
    .close = file_close,
};
