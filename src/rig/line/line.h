/* SPDX-License-Identifier: GPL-3.0-or-later */
/* line: where bytes come from. Each source is a const table of functions with its
 * help, in a folder of its own; all of them wait for no longer than they are told. */
#ifndef BE_RIG_LINE_H
#define BE_RIG_LINE_H

#include "base/base.h"

/* ---- the clock ---------------------------------------------------------- */

/* Monotonic; tests bring their own. */
struct be_rig_clock {
  int64_t (*now_ns)(void *host);
  void (*sleep_until)(void *host, int64_t ns);
  void *host;
};
extern const struct be_rig_clock be_rig_clock_system;

/* ---- sources ------------------------------------------------------------ */

struct be_rig_got {
  size_t size;
  int64_t host_ns; /* when the bytes came */
  bool connecting; /* the line does not stand yet: nothing can be sent */
  bool anew;       /* before them the line had been away (a replay tells it) */
  bool ended;      /* nothing more comes of this opening: the end of the file, or unplugged */
};

struct be_rig_source {
  const char *name;
  const char *help;  /* its settings */
  bool comes_back;   /* after its end it may be opened again */
  bool whole;        /* the first byte is the first of a frame */
  const int *speeds; /* that may be tried as "baud=N", the likely ones first, 0 behind the last;
                        null: it has none */
  /* Opens by settings ("name=value" words). What cannot be had yet, such as a server
   * that does not answer, may show only as the end of the first read. */
  enum be_status (*open)(const char *settings, const struct be_rig_clock *clock, void **state,
                         struct be_err *err);
  /* Waits at most wait_ns for bytes; got->size is 0 when none came. A failure ends
   * the line as got->ended does, and says why. */
  enum be_status (*read)(void *state, char *bytes, size_t room, int64_t wait_ns,
                         struct be_rig_got *got, struct be_err *err);
  /* Sends all of the bytes. Null when it takes none. */
  enum be_status (*write)(void *state, const char *bytes, size_t size, struct be_err *err);
  void (*close)(void *state);
};

/* ---- what came over a line ----------------------------------------------- */

/* One run of bytes, or what happened to the line. */
enum be_chunk_event { BE_CHUNK_BYTES, BE_CHUNK_OPENED, BE_CHUNK_CLOSED };

struct be_rig_chunk {
  enum be_chunk_event event;
  int64_t host_ns;
  uint64_t offset; /* of its first byte among all of the line */
  uint32_t size;
};
enum { BE_CHUNK_BYTES_MAX = 4096 };

/* ---- what sources that play by the clock share -------------------------- */

struct be_rig_pace {
  const struct be_rig_clock *clock;
  double speed; /* 1: as it was; 0: at once */
  int64_t start_ns;
};
/* Whether what is due `due_s` after the start is due now; waits for it, at most wait_ns. */
bool be_rig_pace_due(const struct be_rig_pace *pace, double due_s, int64_t wait_ns);

/* ---- what sources over a descriptor share ------------------------------- */

enum be_status be_line_read(int fd, const struct be_rig_clock *clock, char *bytes, size_t room,
                            int64_t wait_ns, struct be_rig_got *got, struct be_err *err);
enum be_status be_line_write(int fd, bool socket, const char *bytes, size_t size,
                             struct be_err *err);

#endif
