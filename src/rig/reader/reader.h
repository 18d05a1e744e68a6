/* SPDX-License-Identifier: GPL-3.0-or-later */
/* reader: a thread that does nothing but read one rig. It hands on samples, and the
 * bytes as they came, through bounded rings, so that a slow taker never delays it: what finds no
 * room is counted, and flagged on the sample after it.
 *
 *   source -> bytes -+-> chunks  -> be_rig_take_chunk    (to keep)
 *                    +-> frames -> samples -> be_rig_take_samples
 *
 * A line that is lost is opened again, at first soon, then ever later. */
#ifndef BE_RIG_READER_H
#define BE_RIG_READER_H

#include "rig/frame/frame.h"
#include "rig/line/line.h"

/* What is read, and how; texts are copied. */
struct be_rig_options {
  const struct be_rig_source *source;
  const char *source_settings;
  const char *frames, *frame_settings; /* kind, and its settings */
  const struct be_rig_clock *clock;    /* null: the system's */
  size_t samples_room;                 /* samples that can wait; 0: 131072 */
  size_t bytes_room;                   /* bytes of chunks that can wait; 0: 4 MiB */
  bool drop_chunks;                    /* nobody wants them: they are not kept at all */
};

enum be_rig_state {
  BE_RIG_READING,
  BE_RIG_AWAY,  /* not reached yet, or lost; it is tried again and again */
  BE_RIG_ENDED, /* a file or a simulated pull is over */
};

struct be_rig_counts {
  enum be_rig_state state;
  uint64_t openings;    /* 1: never lost */
  uint64_t tries;       /* of opening it again that failed, since it was lost */
  uint64_t requests;    /* sent */
  uint64_t timeouts;    /* without an answer in time */
  uint64_t overruns;    /* samples that found no room */
  uint64_t chunks_lost; /* runs of bytes that found no room */
  int64_t heard_ns;     /* when the last bytes came; 0: none yet */
  struct be_frame_counts frames;
  struct be_err lost; /* why it was lost last; empty: it was not, or nobody knows */
};

struct be_rig;
/* Opens and starts to read. What is wrong with the settings, and a line that cannot be
 * opened now, is told here. */
enum be_status be_rig_start(const struct be_rig_options *options, struct be_rig **rig,
                            struct be_err *err);
/* Ends the thread, as a rule within a tenth of a second; what waits in the rings is gone. Null
 * is fine. */
void be_rig_stop(struct be_rig *rig);

/* Takes what waits; never waits itself. One thread may take samples and one, also
 * another, chunks. */
size_t be_rig_take_samples(struct be_rig *rig, struct be_rig_sample *samples, size_t room);
bool be_rig_take_chunk(struct be_rig *rig, struct be_rig_chunk *chunk,
                       char bytes[BE_CHUNK_BYTES_MAX]);
/* As of some moment not long ago. Once the state is BE_RIG_ENDED nothing changes any more. */
void be_rig_count(struct be_rig *rig, struct be_rig_counts *counts);

/* ---- finding out -------------------------------------------------------- */

struct be_rig_found {
  int baud; /* 0: the source has no speeds */
  struct be_rate_verdict verdict;
  size_t size; /* of the bytes that it rests on, into which previews point */
  char bytes[BE_CHUNK_BYTES_MAX];
};
/* Listens to a source and tells its frames, and its speed where the source has speeds: these
 * are then tried, each until it has brought some 40 lines, for 2 seconds at most. An
 * instrument that must be asked is asked as a kind of frames with its settings would ask;
 * with a null ask_kind nothing is sent. Fails when the source cannot be opened or
 * reached. */
enum be_status be_rig_find(const struct be_rig_source *source, const char *settings,
                           const char *ask_kind, const char *ask_settings,
                           const struct be_rig_clock *clock, struct be_rig_found *found,
                           struct be_err *err);

#endif
