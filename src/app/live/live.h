/* SPDX-License-Identifier: GPL-3.0-or-later */
/* live: a session at the bench: pulls taken one after the other, from the rig or typed.
 *
 *   rig's thread -> rings -> session's thread -+-> journal   (bytes as they came, at once; on the
 *                                              |              disk by a thread that waits for it)
 *                                              +-> the pull as it happens -> news, 60 a second
 *   journal -> trace (capture.c) -> a pull sheet of one row (record.c) -> book
 *
 * Where the rig has a calibration, forces are made of readings by it (reckon.c) on both ways.
 *
 * The trace of a pull is always made from the journal, so that a pull which the program did not
 * outlive is read by the same way as any other. */
#ifndef BE_APP_LIVE_H
#define BE_APP_LIVE_H

#include "app/app.h"
#include "rig/rig.h"
#include "web/web.h"

/* ---- what makes forces of readings (reckon.c) ---- */

struct be_reckoning {
  bool known; /* false: readings in a unit of force are the force */
  struct be_calibration by;
  struct be_calibration_fit fit; /* where it has points */
};
/* BE_BAD_INPUT for a calibration that gives no curve. */
enum be_status be_reckoning_set(struct be_reckoning *reckoning,
                                const struct be_calibration *calibration, struct be_err *err);
void be_reckon(const struct be_reckoning *reckoning, struct be_rig_sample *samples, size_t count);

/* A rig of a file, its calibration, and what the book calls its bench. */
struct be_live_rig {
  struct be_rig_setup setup;
  struct be_reckoning reckoning;
  char bench[64]; /* empty: the book has no bench of the rig's name */
};
/* The calibration is looked up in the book, then in the text of the file. BE_BAD_INPUT where
 * neither has it, and where it is of another bench than the rig. */
enum be_status be_live_reckon(const char *book_path, const char *text, size_t size,
                              struct be_live_rig *rig, struct be_err *err);

/* ---- the journal of a pull (capture.c) ---- */

/* Kinds of its records, in this order; emptied when the pull is in the book. */
enum be_live_record {
  BE_LIVE_BEGIN = 1,  /* lines of "name=value": frames, frame settings, and what is known of the
                         specimen, by columns of a pull sheet */
  BE_LIVE_CHUNK,      /* 1 byte of be_chunk_event, 8 of host_ns, lowest first, then the bytes */
  BE_LIVE_WINDOW,     /* 8 and 8 bytes: from and to which host_ns it lasted */
  BE_LIVE_ANSWER,     /* lines as of BEGIN: what a person said of it */
  BE_LIVE_CALIBRATION /* after BEGIN: the rig's, as be_calibration_write writes it */
};

/* One line of "name=value" after another. */
enum { BE_TOLD_MAX = 64 };
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

/* ---- what is the same for an evening (evening.c) ---- */

enum { BE_EVENINGS = 13, BE_EVENING_TEXT = 64, BE_EVENING_WORDS = 2048 };
/* Values of the columns below, as a pull sheet takes them; "" not told. */
struct be_evening {
  char value[BE_EVENINGS][BE_EVENING_TEXT];
  char day[16]; /* when it was told; "" for never */
  bool today;   /* and that was the day it was read */
};
const char *be_evening_field(int i); /* a column of a pull sheet */
const char *be_evening_label(int i);
bool be_evening_of_air(int i);                          /* which is another every day */
bool be_evening_told(const struct be_evening *evening); /* anything of it */
bool be_evening_tells(const struct be_evening *evening, const char *field);
void be_evening_words(const struct be_evening *evening, char words[BE_EVENING_WORDS]);
/* As the pulls of the last day were; the air only if that is today, "2026-03-01". */
struct survey;
void be_evening_last(const struct survey *survey, const char *today, struct be_evening *evening);
/* BE_BAD_INPUT for what no pull sheet would take. */
enum be_status be_evening_check(const char *book_path, const struct be_evening *evening,
                                struct be_err *err);
/* Adds it to what is told of a specimen, which must not outlive it, under marked names, but not the
 * air of another day; finds one of these by its column, or null; tells them from others. */
enum be_status be_evening_add(const struct be_evening *evening, struct be_told *specimen,
                              struct be_err *err);
const char *be_evening_value(const struct be_told *told, const char *field);
bool be_evening_marks(const char *name);
/* Takes the marked ones out, and tells each that nothing else tells: not the pull, nor its plan. */
enum be_status be_evening_settle(const char *book_path, struct be_told *all, struct be_err *err);

/* The text of the trace: time, load, the reading where the load is made of it by a calibration, the
 * rig's own time where it has one, and each frame as it came. reckoning may be null. The time is
 * the rig's own where every frame has it; else that of arrival, made even: a line fitted through
 * arrival by number, anew after every loss, because bytes arrive in bursts. BE_BAD_INPUT when no
 * sample has a force. */
struct be_captured {
  size_t rows, unusable; /* unusable: frames without a load */
  size_t over;           /* of these, past the rig's range */
  size_t gaps;           /* times the line was away, or samples were lost */
  bool pulled;           /* a pull was seen, or it cannot be told that there was none */
};
/* Where the chunks of a pull stand: in the journal, and those that it did not take because the disk
 * failed, in memory, in the same order. */
struct be_kept {
  struct be_journal *journal;
  struct be_buf spare;  /* records of chunks, each behind its size as a uint32_t */
  struct be_err failed; /* why the journal did not take them; its status is BE_OK if it did */
};
/* Fails only when neither takes it: then what came is lost. */
enum be_status be_chunk_keep(struct be_kept *kept, const struct be_rig_chunk *chunk,
                             const char *bytes, struct be_err *err);
/* Tries again to bring into the journal what waits in memory, as far as it takes it. */
void be_kept_retry(struct be_kept *kept);
struct be_window {
  int64_t from_ns, to_ns;
};
enum be_status be_capture_text(struct be_kept *kept, const struct be_window *window,
                               const char *frames, const char *frame_settings,
                               const struct be_reckoning *reckoning, struct be_buf *text,
                               struct be_captured *captured, struct be_err *err);

/* ---- into the book (record.c) ---- */

/* Whether the book has a result of that specimen; false too when the book cannot be read now. */
bool be_live_pulled(const char *book_path, const char *code);

/* Enters one pull: what was told of the specimen and of the result, by columns of a pull sheet, and
 * its trace (may be null). `begun`, such as a time, tells its trace from that of another pull; may
 * be null. On BE_OK it is durable; it may be there from before. */
enum be_status be_live_enter(const char *book_path, const struct be_told *specimen,
                             const struct be_told *answer, const struct be_buf *trace,
                             const char *begun, struct be_err *err);

/* Enters a correction, told as above with "correction", of that result alone: BE_WRONG_USE when
 * another holds by now. */
enum be_status be_live_correct(const char *book_path, const struct be_told *told, int64_t result,
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
  const struct be_reckoning *reckoning; /* of the rig; null: none. Copied */
  const char *bench;                    /* whose rig it is; null: not recorded */
  const struct be_evening *evening;     /* what is told of it already; null: nothing. Copied */
  uint64_t after; /* step number of the session whose pages go on with this one; 0: none */
  bool held;      /* without a thread of its own: whoever opened it calls be_session_tick */
};

enum {
  BE_SESSION_POINTS = 2048,
  BE_SESSION_SLIPS = 64,
  BE_SESSION_TEXT = 200,
  BE_SESSION_TROUBLE = BE_WORD_MAX
};

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
  char told[4096];                /* all that was told of it: for be_told_read */
  bool interrupted;               /* the program ended before this pull was answered */
  bool finished;                  /* and it was over by then */
  bool may_leave;                 /* and it saw no load: another specimen may be taken instead */
  size_t gaps;                    /* of the pull that is answered: times the line was away */
  bool suggested;                 /* the two after it are known */
  struct be_suggestion suggestion;
  double suggested_N;
  struct be_evening evening;
  char calibration[64];       /* that makes forces of the rig's readings; "" for none */
  char last[BE_SESSION_TEXT]; /* the specimen kept last; "" for none */
  /* Of the disk or the line: what, and what to do; "" for none. */
  char trouble[BE_SESSION_TROUBLE];
  size_t points_count;
  struct be_session_point points[BE_SESSION_POINTS]; /* of this pull */
};

/* What is seen of the load. */
const char *be_phase_words(bool rig, bool unusable, enum be_live_phase phase);

struct be_session;
/* Takes up the pull that a journal still holds. news may be null; "step" is said when the step
 * changes, "load" 60 times a second while samples come, and once a second while none does.
 * BE_FAILED when another program has the journal. */
enum be_status be_session_open(const struct be_session_options *options, struct be_news *news,
                               struct be_session **session, struct be_err *err);
void be_session_close(struct be_session *session); /* a running pull stays in the journal */
/* Takes what the rig has brought: what the session's thread does sixty times a second. */
void be_session_tick(struct be_session *session);
void be_session_look(struct be_session *session, struct be_session_view *view);
/* What a page that begins to listen is told first: two events. */
void be_session_tell(struct be_session *session, struct be_buf *events);

/* In a sentence, that a pull is not in the book yet and how it comes there; false when none is. */
bool be_session_waits(struct be_session *session, char words[BE_SESSION_TROUBLE]);

/* What a person does. `step_number` is that of the view he saw: BE_WRONG_USE when the session has
 * gone on since, and for what is not of this step. Texts are copied. */
enum be_status be_session_choose(struct be_session *session, uint64_t step_number,
                                 const struct be_told *specimen, struct be_err *err);
/* What is the same for all pulls from now on; between two of them. */
enum be_status be_session_evening(struct be_session *session, uint64_t step_number,
                                  const struct be_evening *evening, struct be_err *err);
/* Guard down, eyes covered, everybody clear. */
enum be_status be_session_guard(struct be_session *session, uint64_t step_number,
                                struct be_err *err);
/* It was let down, or the line to the rig is lost: no more of this pull comes. */
enum be_status be_session_stop(struct be_session *session, uint64_t step_number,
                               struct be_err *err);
/* Keeps the pull: on BE_OK it is in the book, durable. After an error it can be told again, also
 * under another code ("specimen"). */
enum be_status be_session_answer(struct be_session *session, uint64_t step_number,
                                 const struct be_told *answer, struct be_err *err);
/* Another specimen instead, while nothing was pulled; at ANSWER only where the view says so. */
enum be_status be_session_leave(struct be_session *session, uint64_t step_number,
                                struct be_err *err);
/* Whether it may be closed for one with another rig: BE_WRONG_USE unless it is at CHOOSE.
 * *step_number and *evening are for the other's options. */
enum be_status be_session_rests(struct be_session *session, uint64_t *step_number,
                                struct be_evening *evening, struct be_err *err);
/* Answers the last pull again: the answer is a correction, and the old one stays on record. */
enum be_status be_session_again(struct be_session *session, const struct be_told *answer,
                                struct be_err *err);

/* ---- the page (page.c, post.c) ---- */

/* How the page of the bench is asked for. */
struct be_bench_asked {
  const struct be_answering *how;
  const struct be_err *wrong;    /* what was refused just now, or null */
  const struct be_request *sent; /* and the form that asked it */
  const struct be_err *unread;   /* why the book cannot be read now, or null */
  struct be_arena *arena;
};
/* What stands on it, in its order: sentences in *doc, then `html`, the part that changes while one
 * looks. */
enum be_status be_live_page(const struct survey *survey, const struct be_session_view *view,
                            const struct be_bench_asked *asked, struct be_doc **doc,
                            struct be_buf *html, struct be_err *err);
/* forms.c: what can be done now. sent: a form that was refused, whose fields stand in it again; or
 * null. */
void be_write_forms(struct be_buf *html, const struct survey *survey,
                    const struct be_session_view *view, const struct be_request *sent);
/* subject.c: what is known of the specimen at the bench, from its plan and from what was told. Rows
 * of the record, or BE_NO_INDEX. */
struct be_subject {
  const struct be_trial *trial; /* null: it is in no plan */
  const struct be_planned *planned;
  int knot, line_a, line_b;
  enum be_soak soak;
  const char *hardware, *tyer; /* or null */
  double length_m;             /* free length; not-a-number: not told */
};
enum be_status be_subject_of(const struct survey *survey, const struct be_session_view *view,
                             struct be_subject *subject, struct be_err *err);
/* The same of a planned specimen. */
struct be_subject be_subject_planned(const struct survey *survey, const char *code);
/* Its lines, its place in the plan, who tied it, and what is left of its evening. */
void be_say_subject(struct be_doc *doc, const struct survey *survey,
                    const struct be_subject *subject, bool lines);
/* What is stored in the line when it lets go, so far as it can be told. */
void be_say_energy(struct be_doc *doc, const struct survey *survey,
                   const struct be_subject *subject);
/* Which knot it is, with its picture, folded away; nothing where it is not known. */
void be_write_which_knot(struct be_buf *html, const struct survey *survey,
                         const struct be_subject *subject);
/* Energy of a line that stretches by `stretch` of its free length, evenly, up to its load; and how
 * fast `mass_kg` would leave with all of it. */
double be_stored_J(double load_N, double stretch, double length_m);
double be_speed_m_s(double energy_J, double mass_kg);

/* typed.c, for who types it all. Fields of a specimen that is in no plan, filled in as the one kept
 * last was, for the next is mostly tied and pulled like it; last: its code, or "". */
typedef void be_field_writer(struct be_buf *html, const struct be_request *sent, const char *name,
                             const char *label, const char *list, const char *value);
void be_write_alike(struct be_buf *html, const struct survey *survey, const struct be_request *sent,
                    const struct be_session_view *view, be_field_writer *field);
/* How it was handled. */
void be_write_handling(struct be_buf *html, const struct be_request *sent, be_field_writer *field);
/* In which unit a load is taken that is typed without one: that of the page, if the book has
 * loads; else each load needs its own. */
void be_write_unit(struct be_buf *html, const struct survey *survey);
/* The load of a form with that unit behind it, in room; or as it was typed. */
const char *be_load_with_unit(const char *load, const char *unit, char room[64]);

/* Does what a posted form of that page asks. */
enum be_status be_live_post(struct be_session *session, const struct be_request *request,
                            struct be_err *err);

/* The same of JSON, which is strict: names a member that is not one of that form, and wants the
 * step. BE_BAD_INPUT. */
enum be_status be_live_check(const struct be_request *request, struct be_err *err);

/* The specimens of all trials that wait to be pulled, in their order; how many (view.c). */
enum { BE_LIVE_WAITING = 40 };
size_t be_live_waiting(const struct survey *survey,
                       const struct be_planned *waiting[static BE_LIVE_WAITING]);
/* What the page shows, as JSON. */
void be_live_view(const struct survey *survey, const struct be_session_view *view,
                  struct be_buf *out);

/* ---- the bench of a site (serve_posix.c) ---- */

/* A session that begins when the bench is first looked at, or at once when there is a rig or a pull
 * that was not answered; where it cannot begin, each look tries again, and the other pages are
 * served all the same. */
/* The rig that is asked for, from its file, which must be given. */
enum be_status be_live_setup(const char *book_path, const struct be_serving *serving,
                             struct be_live_rig *rig, struct be_err *err);
struct be_live_site;
/* rig: null for typed loads; copied. On BE_OK *site is to be closed in two steps, round
 * be_server_close. */
enum be_status be_live_site_open(const char *book_path, const struct be_live_rig *rig,
                                 struct be_live_site **site, struct be_err *err);
void be_live_site_end(struct be_live_site *site);
void be_live_site_close(struct be_live_site *site);
/* From now on loads come from that rig, or are typed (null), on all pages that are open.
 * BE_WRONG_USE while a specimen is at the bench. After an error all is as before. */
enum be_status be_live_site_use(struct be_live_site *site, const struct be_live_rig *rig,
                                struct be_err *err);
/* The name of the rig; "" where loads are typed. */
void be_live_site_rig(struct be_live_site *site, char name[64]);
/* The page. With asked->unread the survey is filled in here, as of an empty book. */
enum be_status be_live_site_page(struct be_live_site *site, struct survey *survey,
                                 const struct be_bench_asked *asked, struct be_doc **doc,
                                 struct be_buf *html, struct be_err *err);
/* What somebody at the terminal ought to know of the bench now: that a pull waits for its answer,
 * or why the bench cannot be used. False when there is nothing. */
bool be_live_site_word(struct be_live_site *site, char words[BE_SESSION_TROUBLE]);
/* Does what a form of it asks. */
enum be_status be_live_site_post(struct be_live_site *site, const struct be_request *request,
                                 struct be_err *err);
/* The same for programs: does what JSON asked, and then, of a record that has it, the view. Where
 * either is not BE_OK, the status of the reply may be set. */
enum be_status be_live_site_do(struct be_live_site *site, const struct be_request *request,
                               struct be_reply *reply, struct be_err *err);
enum be_status be_live_site_view(struct be_live_site *site, const struct survey *survey,
                                 struct be_reply *reply, struct be_err *err);
/* The news of the session, from now on, for `who`; and no more of them for him. */
void be_live_site_news(struct be_live_site *site, const char *who, struct be_reply *reply);
void be_live_site_send_away(struct be_live_site *site, const char *who);

#endif
