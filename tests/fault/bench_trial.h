/* SPDX-License-Identifier: GPL-3.0-or-later */
/* bench_trial: one pull at the bench in a process of its own, which may be ended at any moment, and
 * the judgement of what is there afterwards. */
#ifndef BE_BENCH_TRIAL_H
#define BE_BENCH_TRIAL_H

#include "fault/failing_calls.h"
#include "fault/told_rig.h"

#include "app/live/live.h"

/* How far the process says it has come, in memory that outlives it. */
struct said {
  size_t runs;          /* handed over, and taken by the session */
  bool began, kept;     /* it was told so */
  bool ended;           /* it came to its end by itself */
  size_t calls, failed; /* of the layer below, when it ended by itself */
};

struct bench_trial {
  char folder[64], book[96], journal[112];
  struct be_buf empty_book, whole; /* whole: the trace of a pull that nothing befell */
  struct told_pull pull;
  struct said *said; /* shared with the process */
  size_t die_after;  /* samples; 0: none */
  size_t tries;      /* judged so far */
  size_t boast;      /* a bug planted: it says that it took so many runs more than it did */
  /* How the answer is given: as it should be, or with a bug planted. */
  enum be_status (*answer)(struct bench_trial *trial, struct be_session *session);
};

void bench_start(struct bench_trial *trial, uint64_t seed);
void bench_stop(struct bench_trial *trial);
/* An empty book, no journal, nothing said. */
void bench_restore(struct bench_trial *trial);

struct be_session *bench_open(struct bench_trial *trial, bool rig, struct be_err *err);
void bench_close(struct be_session *session);
/* As a person would: what fails is tried once more. BE_OK when the pull is kept. */
enum be_status bench_pull(struct bench_trial *trial);
enum be_status bench_answer(struct bench_trial *trial, struct be_session *session);

/* Runs bench_pull in a process of its own, with the layer below as *calls says. Returns true when
 * it ended by itself. */
bool bench_run(struct bench_trial *trial, const struct failing_calls *calls);
/* Opens the session in a process of its own, which may be ended at a call; true as above: then what
 * was answered is kept. */
bool bench_run_again(struct bench_trial *trial, const struct failing_calls *calls);

/* What the journal holds now. */
struct held {
  size_t runs;
  bool begun, over, answered, right; /* right: the runs are the first ones, byte for byte */
};
void bench_held(struct bench_trial *trial, struct held *held);
/* What went wrong, judged when it has ended: opens the session anew, answers what it asks. Null:
 * nothing. */
const char *bench_judge(struct bench_trial *trial);

#endif
