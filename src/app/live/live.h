/* SPDX-License-Identifier: GPL-3.0-or-later */
/* live: a session at the bench: pulls taken one after the other, from the rig or typed.
 *
 *   rig's thread -> rings -> session's thread -+-> journal   (bytes as they came, at once; on the
 * disk by |              a thread that waits for it)
 *                                              +-> the pull as it happens -> news, 60 a second
 *   journal -> trace (capture.c) -> a pull sheet of one row (record.c) -> book
 *
 * The trace of a pull is always made from the journal, so that a pull which the program did not
 * outlive is read by the same way as any other. */
#ifndef BE_APP_LIVE_H
#define BE_APP_LIVE_H

#include "app/app.h"
#include "rig/rig.h"
#include "web/web.h"

/* ---- the journal of a pull (capture.c) ---- */

/* Kinds of its records, in this order; emptied when the pull is in the book. */
enum be_live_record {
  BE_LIVE_BEGIN = 1, /* lines of "name=value": frames, frame settings, and what is known of the
                        specimen, by columns of a pull sheet */
  BE_LIVE_CHUNK,     /* 1 byte of be_chunk_event, 8 of host_ns, lowest first, then the bytes */
  BE_LIVE_WINDOW,    /* 8 and 8 bytes: from and to which host_ns it lasted */
  BE_LIVE_ANSWER     /* lines as of BEGIN: what a person said of it */
};

/* One line of "name=value" after another. */
enum { BE_TOLD_MAX = 32 };
struct be_told {
  const char *name[BE_TOLD_MAX], *value[BE_TOLD_MAX];
  size_t count;
};
/* Splits text in place; false when it has a line without "=", or too many. */
bool be_told_read(char *text, struct be_told *told);
/* Null when it was not told. */
const char *be_told_value(const struct be_told *told, const char *name);
/* BE_BAD_INPUT for a value that holds a line break, or too many names. Replaces what was told. */
enum be_status be_told_set(struct be_told *told, const char *name, const char *value,
                           struct be_err *err);
void be_told_write(const struct be_told *told, struct be_buf *text);

/* The text of the trace: time, load, the rig's own time where it has one, and each frame as it
 * came. The time is the rig's own where every frame has it; else that of arrival, made even: a
 * line fitted through arrival by number, anew after every loss, because bytes arrive in bursts.
 * BE_BAD_INPUT when no sample has a force. */
struct be_captured {
  size_t rows, unusable; /* unusable: frames without a load */
  size_t over;           /* of these, past the rig's range */
  size_t gaps;           /* times the line was away, or samples were lost */
};
/* Where the chunks of a pull stand: in the journal, and those that it did not take because the disk
 * failed, in memory, in the same order. */
struct be_kept {
  struct be_journal *journal;
  struct be_buf spare;  /* records of chunks, each behind its size as a uint32_t */
  struct be_err failed; /* why the journal did not take them; its status is BE_OK if it did */
};
/* Fails only when neither takes it. */
enum be_status be_chunk_keep(struct be_kept *kept, const struct be_rig_chunk *chunk,
                             const char *bytes, struct be_err *err);
enum be_status be_capture_text(struct be_kept *kept, int64_t from_ns, int64_t to_ns,
                               const char *frames, const char *frame_settings, struct be_buf *text,
                               struct be_captured *captured, struct be_err *err);

/* ---- into the book (record.c) ---- */

/* Enters one pull: what was told of the specimen and of the result, by columns of a pull sheet, and
 * its trace (may be null). On BE_OK it is durable. */
enum be_status be_live_enter(const char *book_path, const struct be_told *specimen,
                             const struct be_told *answer, const struct be_buf *trace,
                             struct be_err *err);

/* ---- the session (session_posix.c, steps.c) ---- */

/* Where a session stands. Every step is left by a person, but PULL, which the load ends. */
#define BE_STEP_LIST(X)                                                                            \
  X(BE_STEP_CHOOSE, "choose")                                                                      \
  X(BE_STEP_GUARD, "guard")                                                                        \
  X(BE_STEP_PULL, "pull")                                                                          \
  X(BE_STEP_ANSWER, "answer")
enum be_live_step {
#define X(code, word) code,
  BE_STEP_LIST(X)
#undef X
};
const char *be_live_step_word(enum be_live_step step);

struct be_session_options {
  const char *book_path;            /* the journal lies beside it, ".live" behind its name */
  const struct be_rig_options *rig; /* null: loads are typed; texts are copied */
  struct be_live_settings live;
  const char *session; /* name in the record, such as the date; null: not recorded */
};

enum { BE_SESSION_POINTS = 2048, BE_SESSION_SLIPS = 64, BE_SESSION_TEXT = 200 };

/* Lowest and highest load of a stretch of time, which ends at time_s. */
struct be_session_point {
  double time_s;
  float low_N, high_N;
};

/* From where it fell, to be taken up again. */
struct be_session_slip {
  double time_s, load_N;
};

/* All that a page shows; a copy. Loads have their zero taken off. */
struct be_session_view {
  enum be_live_step step;
  uint64_t step_number; /* grows with every change of step: a page that has another is old */
  bool rig;
  enum be_rig_state rig_state;
  enum be_live_phase phase;
  double load_N, peak_N, zero_N, rate_N_s; /* not-a-number when not known */
  bool over;
  size_t silences, touches;
  bool unusable;                  /* samples come, but without a unit of force */
  char specimen[BE_SESSION_TEXT]; /* its code; "" at CHOOSE */
  bool interrupted;               /* the program ended during this pull */
  bool suggested;                 /* the two after it are known */
  struct be_suggestion suggestion;
  double suggested_N;
  char last[BE_SESSION_TEXT]; /* the specimen kept last; "" for none */
  char trouble[400];          /* of the disk or the line, in words; "" for none */
  size_t points_count;
  struct be_session_point points[BE_SESSION_POINTS]; /* of this pull */
};

struct be_session;
/* Takes up the pull that a journal still holds. news may be null; "step" is said when the step
 * changes, "load" 60 times a second while samples come, and once a second while none does.
 * BE_FAILED when another program has the journal. */
enum be_status be_session_open(const struct be_session_options *options, struct be_news *news,
                               struct be_session **session, struct be_err *err);
void be_session_close(struct be_session *session); /* a running pull stays in the journal */
void be_session_look(struct be_session *session, struct be_session_view *view);
/* What a page that begins to listen is told first: two events. */
void be_session_tell(struct be_session *session, struct be_buf *events);

/* What a person does. `step_number` is that of the view he saw: BE_WRONG_USE when the session has
 * gone on since, and for what is not of this step. Texts are copied. */
enum be_status be_session_choose(struct be_session *session, uint64_t step_number,
                                 const struct be_told *specimen, struct be_err *err);
/* Guard down, eyes covered, everybody clear. */
enum be_status be_session_guard(struct be_session *session, uint64_t step_number,
                                struct be_err *err);
/* It was let down, or the line to the rig is lost: no more of this pull comes. */
enum be_status be_session_stop(struct be_session *session, uint64_t step_number,
                               struct be_err *err);
/* Keeps the pull: on BE_OK it is in the book, durable. After an error it can be told again. */
enum be_status be_session_answer(struct be_session *session, uint64_t step_number,
                                 const struct be_told *answer, struct be_err *err);
/* Another specimen instead, while nothing was pulled. */
enum be_status be_session_leave(struct be_session *session, uint64_t step_number,
                                struct be_err *err);
/* Answers the last pull again: the answer is a correction, and the old one stays on record. */
enum be_status be_session_again(struct be_session *session, const struct be_told *answer,
                                struct be_err *err);

/* ---- the page (page.c, post.c) ---- */

/* What stands on the page of the bench, in its order: sentences in *doc, then `html`, the part that
 * changes while one looks. `wrong` is what was refused just now, or null. */
struct survey;
enum be_status be_live_page(const struct survey *survey, const struct be_session_view *view,
                            const struct be_err *wrong, struct be_doc **doc, struct be_buf *html,
                            struct be_err *err);
/* Does what a posted form of that page asks. */
enum be_status be_live_post(struct be_session *session, const struct be_request *request,
                            struct be_err *err);

/* ---- the bench of a site (serve_posix.c) ---- */

/* A session that begins when the bench is first looked at, or at once when there is a rig or a pull
 * that was not answered. */
/* The rig that is asked for, from its file, which must be given. */
enum be_status be_live_setup(const struct be_serving *serving, struct be_rig_setup *setup,
                             struct be_err *err);
struct be_live_site;
/* rig: null for typed loads; copied. allowed: the bench may be used from here; else its page says
 * why not. On BE_OK *site is to be closed in two steps, round be_server_close. */
enum be_status be_live_site_open(const char *book_path, const struct be_rig_setup *rig,
                                 bool allowed, struct be_live_site **site, struct be_err *err);
void be_live_site_end(struct be_live_site *site);
void be_live_site_close(struct be_live_site *site);
/* The page, or what a form of it asked: sets the status and location of the reply, and *doc and
 * html unless the reply is complete without. */
enum be_status be_live_site_answer(struct be_live_site *site, const struct survey *survey,
                                   const struct be_request *request, struct be_reply *reply,
                                   struct be_doc **doc, struct be_buf *html, struct be_err *err);
/* The news of the session, from now on. */
void be_live_site_news(struct be_live_site *site, struct be_reply *reply);

#endif
