/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Invariants:
 *   `frames`, `state`, `now` and what is marked so belong to the thread alone.
 *   The thread takes no lock that it would have to wait for: `shown` is brought up to
 *   date when nobody is looking at it, and once more at the end.
 *   A chunk and its bytes are put into their ring at once, so that one is never
 *   found there without the other. */
#define _POSIX_C_SOURCE 200809L
#include "rig/reader/reader.h"
#include "rig/reader/ring.h"

#include <pthread.h>
#include <string.h>

static const int64_t slice_ns = 50 * 1000000;
static const int64_t first_pause_ns = 100 * 1000000, longest_pause_ns = INT64_C(5000) * 1000000;
enum { SAMPLES_ROOM = 131072, BYTES_ROOM = 4 * 1024 * 1024, SETTINGS_MAX = 1024 };

struct be_rig {
  const struct be_rig_source *source;
  const struct be_rig_clock *clock;
  char settings[SETTINGS_MAX];
  struct be_ring samples, chunks;
  bool drop_chunks;
  atomic_bool stop;
  pthread_t thread;
  bool running;

  pthread_mutex_t mutex; /* of `shown` */
  struct be_rig_counts shown;

  /* The thread's own. */
  struct be_frames *frames;
  void *state; /* null: not open */
  struct be_rig_counts counts;
  int64_t pause_ns;           /* before the next try to open it */
  int64_t due_ns, give_up_ns; /* the next question; the answer to the last */
  bool asked;                 /* an answer is awaited */
  bool looked;                /* the line was looked at since it was opened */
  bool up;                    /* and it stands */
};

static int64_t now_of(const struct be_rig *rig)
{
  return rig->clock->now_ns(rig->clock->host);
}

/* ---- what the thread hands on ---- */

static void put_chunk(struct be_rig *rig, enum be_chunk_event event, int64_t host_ns,
                      const char *bytes, size_t size)
{
  struct be_rig_chunk chunk = {event, host_ns, be_frames_counted(rig->frames).bytes,
                               (uint32_t)size};
  char both[sizeof chunk + BE_CHUNK_BYTES_MAX];
  if (rig->drop_chunks) return;
  memcpy(both, &chunk, sizeof chunk);
  if (size) memcpy(both + sizeof chunk, bytes, size);
  rig->counts.chunks_lost += !be_ring_put(&rig->chunks, both, sizeof chunk + size);
}

static void put_sample(void *rig_, const struct be_rig_sample *sample)
{
  struct be_rig *rig = rig_;
  rig->asked = false;
  if (be_ring_put(&rig->samples, sample, 1)) return;
  rig->counts.overruns++;
  be_frames_mark(rig->frames, BE_SAMPLE_AFTER_LOSS);
}

static void show(struct be_rig *rig, bool wait)
{
  if (wait) pthread_mutex_lock(&rig->mutex);
  else if (pthread_mutex_trylock(&rig->mutex) != 0) return;
  rig->counts.frames = be_frames_counted(rig->frames);
  rig->shown = rig->counts;
  pthread_mutex_unlock(&rig->mutex);
}

/* ---- the line ---- */

static void close_line(struct be_rig *rig, const struct be_err *why)
{
  rig->source->close(rig->state);
  rig->state = NULL;
  rig->asked = rig->looked = false;
  rig->counts.lost = *why;
}

/* It could not be had this time: the next comes later. */
static void miss(struct be_rig *rig, const struct be_err *why)
{
  rig->counts.tries++;
  rig->counts.lost = *why;
  rig->pause_ns = 2 * rig->pause_ns < longest_pause_ns ? 2 * rig->pause_ns : longest_pause_ns;
}

static void come_up(struct be_rig *rig)
{
  rig->up = true;
  rig->due_ns = 0;
  rig->counts.openings++;
  rig->counts.tries = 0;
  rig->counts.state = BE_RIG_READING;
  be_frames_restart(rig->frames, rig->source->whole);
  put_chunk(rig, BE_CHUNK_OPENED, now_of(rig), NULL, 0);
}

/* It ended, was lost, or did not even come up. */
static void lose(struct be_rig *rig, struct be_err *why)
{
  if (why->status == BE_OK && rig->source->comes_back)
    be_fail(why, BE_FAILED, "the other side closed the line");
  close_line(rig, why);
  if (!rig->up) {
    miss(rig, why);
    return;
  }
  rig->up = false;
  rig->pause_ns = first_pause_ns;
  rig->counts.state = rig->source->comes_back ? BE_RIG_AWAY : BE_RIG_ENDED;
  be_frames_restart(rig->frames, rig->source->whole);
  put_chunk(rig, BE_CHUNK_CLOSED, now_of(rig), NULL, 0);
}

/* Waits in slices, so that a stop is seen. */
static void pause_for(const struct be_rig *rig, int64_t ns)
{
  const int64_t until = now_of(rig) + ns;
  for (int64_t now = now_of(rig); now < until && !atomic_load(&rig->stop); now = now_of(rig))
    rig->clock->sleep_until(rig->clock->host, until - now > slice_ns ? now + slice_ns : until);
}

static void open_again(struct be_rig *rig)
{
  struct be_err err = {0};
  show(rig, false);
  pause_for(rig, rig->pause_ns);
  if (atomic_load(&rig->stop)) return;
  if (rig->source->open(rig->settings, rig->clock, &rig->state, &err) != BE_OK) miss(rig, &err);
}

/* ---- asking ---- */

/* Asks when it is time to; returns how long the line may be waited for. */
static int64_t ask(struct be_rig *rig, struct be_err *err)
{
  char request[BE_FRAME_REQUEST_MAX];
  const int64_t now = now_of(rig);
  if (!rig->up) return rig->looked ? slice_ns : 0;
  if (rig->asked && now >= rig->give_up_ns) {
    rig->asked = false;
    rig->counts.timeouts++;
    be_frames_mark(rig->frames, BE_SAMPLE_AFTER_LOSS);
  }
  int64_t left = (rig->asked ? rig->give_up_ns : rig->due_ns) - now;
  if (left > 0) return left < slice_ns ? left : slice_ns;
  size_t size = rig->source->write ? be_frames_request(rig->frames, request) : 0;
  if (size == 0) return slice_ns;
  if (rig->source->write(rig->state, request, size, err) != BE_OK) return 0;
  rig->asked = true;
  rig->due_ns = now + (int64_t)(be_frames_every_s(rig->frames) * 1e9);
  rig->give_up_ns = now + (int64_t)(be_frames_timeout_s(rig->frames) * 1e9);
  rig->counts.requests++;
  return slice_ns;
}

/* ---- the thread ---- */

static void read_some(struct be_rig *rig)
{
  char bytes[BE_CHUNK_BYTES_MAX];
  struct be_rig_got got = {0};
  struct be_err err = {0};
  int64_t wait_ns = ask(rig, &err);
  enum be_status status = err.status;
  if (status == BE_OK)
    status = rig->source->read(rig->state, bytes, sizeof bytes, wait_ns, &got, &err);
  rig->looked = true;
  if (!rig->up && !got.connecting) come_up(rig);
  if (got.anew) be_frames_restart(rig->frames, false);
  if (got.size) {
    rig->counts.heard_ns = got.host_ns;
    put_chunk(rig, BE_CHUNK_BYTES, got.host_ns, bytes, got.size);
    be_frames_feed(rig->frames, bytes, got.size, got.host_ns, put_sample, rig);
  }
  if (status != BE_OK || got.ended) lose(rig, &err);
}

static void *run(void *rig_)
{
  struct be_rig *rig = rig_;
  while (!atomic_load(&rig->stop) && rig->counts.state != BE_RIG_ENDED) {
    if (rig->state) read_some(rig);
    else open_again(rig);
    show(rig, false);
  }
  show(rig, true);
  return NULL;
}

/* ---- life ---- */

static enum be_status start_thread(struct be_rig *rig, struct be_err *err)
{
  rig->counts.state = BE_RIG_AWAY;
  rig->pause_ns = first_pause_ns;
  show(rig, true);
  if (pthread_create(&rig->thread, NULL, run, rig) != 0) {
    be_fail(err, BE_FAILED, "no thread can be started to read the rig");
    be_fail_remedy(err, "end some programs and try again");
    return BE_FAILED;
  }
  rig->running = true;
  return BE_OK;
}

static enum be_status set_up(struct be_rig *rig, const struct be_rig_options *options,
                             struct be_err *err)
{
  size_t samples = options->samples_room ? options->samples_room : SAMPLES_ROOM;
  size_t bytes = options->drop_chunks ? 1 : options->bytes_room ? options->bytes_room : BYTES_ROOM;
  size_t length = strlen(options->source_settings);
  if (length >= sizeof rig->settings)
    return be_fail(err, BE_WRONG_USE, "the settings of the rig are too long");
  memcpy(rig->settings, options->source_settings, length + 1);
  enum be_status status = be_ring_init(&rig->samples, sizeof(struct be_rig_sample), samples, err);
  if (status == BE_OK) status = be_ring_init(&rig->chunks, 1, bytes, err);
  if (status == BE_OK)
    status = be_frames_create(options->frames, options->frame_settings, &rig->frames, err);
  if (status == BE_OK) status = rig->source->open(rig->settings, rig->clock, &rig->state, err);
  return status == BE_OK ? start_thread(rig, err) : status;
}

enum be_status be_rig_start(const struct be_rig_options *options, struct be_rig **out,
                            struct be_err *err)
{
  *out = NULL;
  struct be_rig *rig = be_alloc_array(1, sizeof *rig);
  if (!rig) return be_fail(err, BE_NO_MEMORY, "no memory to read the rig");
  rig->source = options->source;
  rig->clock = options->clock ? options->clock : &be_rig_clock_system;
  rig->drop_chunks = options->drop_chunks;
  atomic_init(&rig->stop, false);
  pthread_mutex_init(&rig->mutex, NULL);
  enum be_status status = set_up(rig, options, err);
  if (status == BE_OK) *out = rig;
  else be_rig_stop(rig);
  return status;
}

void be_rig_stop(struct be_rig *rig)
{
  if (!rig) return;
  atomic_store(&rig->stop, true);
  if (rig->running) pthread_join(rig->thread, NULL);
  if (rig->state) rig->source->close(rig->state);
  be_frames_free(rig->frames);
  be_ring_free(&rig->samples);
  be_ring_free(&rig->chunks);
  pthread_mutex_destroy(&rig->mutex);
  be_free(rig);
}

/* ---- taking ---- */

size_t be_rig_take_samples(struct be_rig *rig, struct be_rig_sample *samples, size_t room)
{
  return be_ring_take(&rig->samples, samples, room);
}

bool be_rig_take_chunk(struct be_rig *rig, struct be_rig_chunk *chunk,
                       char bytes[BE_CHUNK_BYTES_MAX])
{
  if (be_ring_take(&rig->chunks, chunk, sizeof *chunk) == 0) return false;
  be_ring_take(&rig->chunks, bytes, chunk->size);
  return true;
}

void be_rig_count(struct be_rig *rig, struct be_rig_counts *counts)
{
  pthread_mutex_lock(&rig->mutex);
  *counts = rig->shown;
  pthread_mutex_unlock(&rig->mutex);
}
