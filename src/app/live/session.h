/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the files of a session share. Everything of struct be_session but the rig and the thread is
 * read and written under its lock. */
#ifndef BE_APP_LIVE_SESSION_H
#define BE_APP_LIVE_SESSION_H

#include "app/live/live.h"

#include <pthread.h>

/* Told lines with the text they point into. */
enum { BE_KEPT_TOLD_MAX = 4000, BE_TOLD_OF_RIG_MAX = 3 }; /* bytes; names that `begin` adds */
struct kept_told {
  struct be_told told;
  char text[BE_KEPT_TOLD_MAX + 2000]; /* with what `begin` adds */
};

struct be_session {
  pthread_mutex_t lock;
  pthread_cond_t wake;
  pthread_t thread, settling; /* when there is a rig */
  bool ending, held;

  char *book_path, *session, *bench;
  char *frames, *frame_settings; /* null without a rig */
  struct be_reckoning reckoning;
  struct be_rig *rig;
  struct be_rig_counts counts;
  struct be_news *news;

  enum be_live_step step;
  uint64_t step_number;
  struct be_live live;
  const struct be_rig_clock *clock;
  int64_t base_ns; /* of the times that `live` is told */
  double rate_N_s, rate_from_s, rate_from_N;
  bool unusable, interrupted, finished, suggested;
  struct be_suggestion suggestion;
  double suggested_N;
  struct kept_told specimen, last;
  struct be_evening evening;
  char last_load[64];                        /* as it was typed; "" when it comes from a trace */
  char pull_frames[64], pull_settings[1024]; /* with which the journal's bytes are read */
  struct be_reckoning pull_reckoning;
  char trouble[400];             /* of what a person did; "" for none */
  char told[BE_SESSION_TROUBLE]; /* all trouble, as those who listen know it */

  char journal_path[4096];
  struct be_kept kept;
  char begun[32];          /* when its guard was down; "" when not known */
  struct be_window window; /* of the pull that is answered */
  size_t gaps;
  bool pulled;          /* of an interrupted one: a load was seen */
  int64_t settled_ns;   /* the journal was settled last, where it is by the ticks */
  bool unsettled;       /* and has got something since */
  struct be_err unsafe; /* why it could not be settled; its status is BE_OK if it could */
  uint64_t lost;        /* runs of bytes that neither disk nor memory took */
  uint64_t lost_before; /* that the rig's thread had lost when this pull began */

  struct be_session_slip slips[BE_SESSION_SLIPS]; /* of this pull, as they were seen */
  size_t slips_count, slips_told, slips_seen;
  enum be_live_phase phase_told;
  double told_s;

  /* Points of the pull, each of `points_each` ticks; halved in number when they are full. */
  struct be_session_point points[BE_SESSION_POINTS];
  size_t points_count, points_each, in_point;
  float low_N, high_N; /* of this tick */
  bool moved;          /* a sample came in this tick */
};

/* ---- steps.c ---- */

void be_step_to(struct be_session *s, enum be_live_step step);
bool be_may_leave(const struct be_session *s);
/* The load has ended the pull, or a person, or the program's end before: asks for the answer. */
void be_pull_over(struct be_session *s, int64_t from_ns, int64_t to_ns);
/* Copies what is told; false when it is too much. */
bool be_told_keep(struct kept_told *kept, const struct be_told *told);
/* A pull that the journal held when the session was opened. */
enum be_status be_session_take_up(struct be_session *s, struct be_err *err);

/* What a person does, as of live.h; and that the load ended the pull. */
enum be_status be_do_choose(struct be_session *s, uint64_t number, const struct be_told *specimen,
                            struct be_err *err);
/* evening null: whether it may be told now. */
enum be_status be_do_evening(struct be_session *s, uint64_t number,
                             const struct be_evening *evening, struct be_err *err);
enum be_status be_do_guard(struct be_session *s, uint64_t number, struct be_err *err);
enum be_status be_do_stop(struct be_session *s, uint64_t number, struct be_err *err);
enum be_status be_do_answer(struct be_session *s, uint64_t number, const struct be_told *answer,
                            struct be_err *err);
enum be_status be_do_leave(struct be_session *s, uint64_t number, struct be_err *err);
enum be_status be_do_again(struct be_session *s, const struct be_told *answer, struct be_err *err);
void be_do_done(struct be_session *s);

/* ---- tell.c ---- */

/* All that is wrong now, in words. */
void be_trouble_words(const struct be_session *s, char words[BE_SESSION_TROUBLE]);

void be_write_step(const struct be_session *s,
                   struct be_buf *data); /* JSON, as of docs/formats.md */
void be_write_load(const struct be_session *s, struct be_buf *data);

#endif
