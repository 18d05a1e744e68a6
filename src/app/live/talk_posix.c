/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A session in words: the same steps as on the page of the bench, asked line by line. */
#define _POSIX_C_SOURCE 200809L
#include "app/live/live.h"
#include "app/survey/survey.h"

#include <math.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

enum { ANSWER_MAX = 200, SAID_MAX = 1200 };

struct pulling {
  const struct be_talk *talk;
  const struct be_unit *unit;
  struct be_session *session;
  struct be_session_view view;
  bool over;    /* no answer comes any more */
  bool refused; /* the answer given last */
  bool evening_asked;
  const char *book_path;
  struct be_evening evening, before; /* of this evening; and as the pulls before had it */
  char trouble[BE_SESSION_TROUBLE];  /* as it was said last */
};

static void say(const struct pulling *p, const char *format, ...) BE_PRINTF(2, 3);
static void say(const struct pulling *p, const char *format, ...)
{
  char line[SAID_MAX];
  va_list list;
  va_start(list, format);
  vsnprintf(line, sizeof line, format, list);
  va_end(list);
  p->talk->say(p->talk->context, line);
}

/* False when the session is to end. */
static bool ask(struct pulling *p, const char *question, char answer[ANSWER_MAX])
{
  bool got = !p->over && p->talk->ask(p->talk->context, question, answer, ANSWER_MAX);
  if (!got || strcmp(answer, "q") == 0) p->over = true;
  return !p->over;
}

static void say_error(const struct pulling *p, const struct be_err *err)
{
  say(p, "Not done: %s%s%s.", err->what, *err->remedy ? "; " : "", err->remedy);
}

/* Trouble is said when it comes, and when it is over. */
static void say_trouble(struct pulling *p)
{
  if (strcmp(p->trouble, p->view.trouble) == 0) return;
  if (*p->view.trouble) say(p, "Trouble: %s.", p->view.trouble);
  else say(p, "The trouble is over.");
  memcpy(p->trouble, p->view.trouble, sizeof p->trouble);
}

static double shown(const struct pulling *p, double force_N)
{
  return force_N / p->unit->factor;
}

/* ---- steps ---- */

/* The first planned specimen that waits, empty when none does; and the unit of the book. */
static enum be_status look_at_book(struct pulling *p, const struct be_answering *how,
                                   char code[ANSWER_MAX], struct be_err *err)
{
  struct be_arena *arena = be_arena_create();
  struct survey survey;
  if (!arena) return be_no_memory(err);
  code[0] = '\0';
  enum be_status status = be_survey_read(p->book_path, how, arena, &survey, err);
  for (size_t t = 0; status == BE_OK && t < survey.record.trials_count; t++)
    for (size_t i = 0; i < survey.record.trials[t].planned_count && !*code; i++)
      if (survey.record.trials[t].planned[i].pull == BE_NO_INDEX)
        snprintf(code, ANSWER_MAX, "%s", survey.record.trials[t].planned[i].code);
  if (status == BE_OK) p->unit = survey.how.unit;
  if (status == BE_OK && !p->evening_asked) {
    char now[32];
    be_now(now);
    now[10] = '\0';
    be_evening_last(&survey, now, &p->before);
  }
  be_arena_free(arena);
  return status;
}

/* ---- what is the same for an evening ---- */

/* False when the others are not to be asked. Enter: as it stands there. */
static bool ask_of_evening(struct pulling *p, struct be_evening *evening, int i)
{
  char question[SAID_MAX], answer[ANSWER_MAX];
  char *value = evening->value[i];
  for (;;) {
    struct be_evening one = {.today = false};
    struct be_err err = {0};
    snprintf(question, sizeof question, "  %s%s%s%s: ", be_evening_label(i), *value ? " [" : "",
             value, *value ? "]" : "");
    if (!ask(p, question, answer) || strcmp(answer, ".") == 0) return false;
    if (!*answer) return true;
    if (strcmp(answer, "-") == 0) *answer = '\0';
    if (strlen(answer) >= BE_EVENING_TEXT) {
      say(p, "Not done: it takes %d bytes at most.", BE_EVENING_TEXT - 1);
      continue;
    }
    snprintf(one.value[i], BE_EVENING_TEXT, "%s", answer);
    if (be_evening_check(p->book_path, &one, &err) == BE_OK) {
      snprintf(value, BE_EVENING_TEXT, "%s", answer);
      return true;
    }
    say_error(p, &err);
  }
}

static void tell_evening(struct pulling *p, const struct be_evening *evening)
{
  char words[BE_EVENING_WORDS];
  struct be_err err = {0};
  be_session_look(p->session, &p->view);
  if (be_session_evening(p->session, p->view.step_number, evening, &err) != BE_OK) {
    say_error(p, &err);
    return;
  }
  p->evening = *evening;
  be_evening_words(evening, words);
  if (*words) say(p, "Told of every pull: %s. (e at \"Specimen\" changes it.)", words);
}

static void ask_evening(struct pulling *p, bool air_alone)
{
  struct be_evening evening = p->evening;
  if (!air_alone)
    say(p, "Every pull has these, where its plan does not say otherwise. Enter: as in brackets, or "
           "not recorded; -: not recorded; .: no more questions.");
  for (int i = 0; i < BE_EVENINGS; i++)
    if ((be_evening_of_air(i) || !air_alone) && !ask_of_evening(p, &evening, i)) break;
  if (!p->over) tell_evening(p, &evening);
}

/* Once a session: nothing where pulls of today have told it. */
static void begin_evening(struct pulling *p)
{
  char words[BE_EVENING_WORDS], answer[ANSWER_MAX];
  p->evening_asked = true;
  p->evening = p->before;
  if (p->before.today && be_evening_told(&p->before)) {
    tell_evening(p, &p->before);
    return;
  }
  if (!be_evening_told(&p->before)) {
    ask_evening(p, false);
    return;
  }
  be_evening_words(&p->before, words);
  say(p, "On %s it was %s.", p->before.day, words);
  if (!ask(p, "Is it so today? (Enter: yes, all but the air; n: go through it) ", answer)) return;
  ask_evening(p, strcmp(answer, "n") != 0);
}

static void choose(struct pulling *p, const char *suggested)
{
  char question[SAID_MAX], code[ANSWER_MAX], knot[ANSWER_MAX], line[ANSWER_MAX];
  struct be_told told = {0};
  struct be_err err = {0};
  snprintf(question, sizeof question, "Specimen%s%s%s: ", *suggested ? " [" : "", suggested,
           *suggested ? "]" : "");
  if (!ask(p, question, code)) return;
  if (strcmp(code, "e") == 0) {
    ask_evening(p, false);
    return;
  }
  bool planned = !*code && *suggested;
  be_told_set(&told, "specimen", planned ? suggested : code, NULL);
  if (!planned) { /* a planned one may be typed as well: then these stay empty */
    if (!ask(p, "Knot (none: a plain line; empty: as planned): ", knot)) return;
    if (*knot && !ask(p, "Line: ", line)) return;
    if (*knot) be_told_set(&told, "knot", knot, NULL);
    if (*knot && *line) be_told_set(&told, "line A", line, NULL);
  }
  if (be_session_choose(p->session, p->view.step_number, &told, &err) != BE_OK) say_error(p, &err);
}

static void guard(struct pulling *p)
{
  char answer[ANSWER_MAX];
  struct be_err err = {0};
  say(p, "CAUTION  A stretched line stores energy and whips back. Hands off until the load reads "
         "zero.");
  if (!ask(p, "Guard down, eyes covered, everybody clear? (y) ", answer)) return;
  if (strcmp(answer, "y") != 0) return;
  if (be_session_guard(p->session, p->view.step_number, &err) != BE_OK) say_error(p, &err);
}

/* Until the load ends it; a lost line is told, and waited for until the talk is to end. */
static void watch(struct pulling *p)
{
  const char *phase = "";
  do {
    const struct timespec tick = {.tv_nsec = 33000000};
    char words[SAID_MAX];
    nanosleep(&tick, NULL);
    be_session_look(p->session, &p->view);
    if (p->view.step != BE_STEP_PULL) break;
    say_trouble(p);
    const char *seen = be_phase_words(p->view.rig, p->view.unusable, p->view.phase);
    bool zeroed = p->view.phase == BE_LIVE_READY && isfinite(p->view.zero_N);
    if (seen != phase && zeroed)
      say(p, "%s, zero taken at %.2f %s", seen, shown(p, p->view.zero_N), p->unit->name);
    else if (seen != phase) say(p, "%s", seen);
    phase = seen;
    snprintf(words, sizeof words, "%10.2f %s", shown(p, p->view.load_N), p->unit->name);
    if (p->talk->show && isfinite(p->view.load_N)) p->talk->show(p->talk->context, words);
    p->over = p->over || (p->talk->ended && p->talk->ended(p->talk->context));
  } while (!p->over);
}

static void take(struct be_told *told, const char *name, const char *answer)
{
  if (*answer) be_told_set(told, name, answer, NULL);
}

static void answer(struct pulling *p)
{
  static char load[ANSWER_MAX], code[ANSWER_MAX], what[ANSWER_MAX], where[ANSWER_MAX],
      which[ANSWER_MAX], note[ANSWER_MAX];
  const struct be_session_view *view = &p->view;
  const char *word = view->suggested ? be_let_go_word(view->suggestion.what) : "";
  char question[SAID_MAX];
  struct be_told told = {0};
  struct be_err err = {0};
  load[0] = '\0';
  if (view->interrupted && view->may_leave) {
    if (!ask(p, "The program ended before a load was seen. Was it pulled? (y, n) ", load)) return;
    if (strcmp(load, "n") == 0) {
      if (be_session_leave(p->session, view->step_number, &err) != BE_OK) say_error(p, &err);
      return;
    }
    load[0] = '\0';
  } else if (view->interrupted) {
    say(p, view->finished ? "The program ended when this pull was over, before it was answered."
                          : "The program ended during this pull; what came until then is kept.");
  }
  if (view->gaps > 0)
    say(p, "The rig was away or lost samples, %zu %s during this pull: its peak may be higher.",
        view->gaps, view->gaps == 1 ? "time" : "times");
  code[0] = '\0';
  if (p->refused && !ask(p, "Code of the specimen (empty: as before): ", code)) return;
  if (view->suggested)
    say(p, "The trace suggests: %s, %s, %.2f %s (%s).", be_suggested_word(view->suggestion.result),
        word, shown(p, view->suggested_N), p->unit->name, view->suggestion.evidence);
  else if (!ask(p, "Load, with its unit: ", load)) return;
  snprintf(question, sizeof question, "What let go%s%s%s: ", *word ? " [" : "", word,
           *word ? "]" : "");
  if (!ask(p, question, what) || !ask(p, "Where: ", where) || !ask(p, "Which: ", which) ||
      !ask(p, "Note (\"void: why\" makes it void): ", note))
    return;
  take(&told, "load", load);
  take(&told, "what", *what ? what : word);
  take(&told, "where", where);
  take(&told, "which", which);
  if (strncmp(note, "void:", 5) == 0) {
    take(&told, "result", "void");
    take(&told, "reason", note + 5 + strspn(note + 5, " "));
  } else {
    take(&told, "note", note);
  }
  take(&told, "specimen", code);
  if (!*code) snprintf(code, sizeof code, "%s", view->specimen);
  p->refused = be_session_answer(p->session, view->step_number, &told, &err) != BE_OK;
  if (p->refused) say_error(p, &err);
  else say(p, "Kept: %s.", code);
}

static void say_unread(const struct pulling *p, const struct be_err *err)
{
  say(p,
      "The book cannot be read now: %s%s%s. Pulls are kept, and can be answered when it is there.",
      err->what, *err->remedy ? "; " : "", err->remedy);
}

/* Once it goes on, a book that cannot be read ends it no more. */
static void talk_on(struct pulling *p, const char *specimen, const struct be_answering *how)
{
  char suggested[ANSWER_MAX], words[BE_SESSION_TROUBLE];
  struct be_err unread = {0};
  be_session_look(p->session, &p->view);
  if (*p->view.last) say(p, "Kept: %s, which was answered before the program ended.", p->view.last);
  while (!p->over) {
    be_session_look(p->session, &p->view);
    say_trouble(p);
    if (p->view.step != BE_STEP_CHOOSE) say(p, "Specimen %s", p->view.specimen);
    switch (p->view.step) {
    case BE_STEP_CHOOSE:
      if (look_at_book(p, how, suggested, &unread) != BE_OK) say_unread(p, &unread);
      if (specimen) snprintf(suggested, sizeof suggested, "%s", specimen);
      specimen = NULL;
      if (!p->evening_asked) begin_evening(p);
      be_session_look(p->session, &p->view);
      if (!p->over) choose(p, suggested);
      break;
    case BE_STEP_GUARD: guard(p); break;
    case BE_STEP_PULL: watch(p); break;
    case BE_STEP_ANSWER: answer(p); break;
    }
  }
  if (be_session_waits(p->session, words)) say(p, "%s", words);
}

enum be_status be_app_pull(const char *book_path, const char *specimen,
                           const struct be_serving *serving, const struct be_answering *how,
                           const struct be_talk *talk, struct be_err *err)
{
  struct be_live_rig its;
  struct be_rig_options rig;
  char now[32];
  be_now(now);
  now[10] = '\0';
  struct be_session_options options = {.book_path = book_path, .session = now};
  enum be_status status = BE_OK;
  if (serving->rig_path) {
    status = be_live_setup(book_path, serving, &its, err);
    rig = be_rig_setup_options(&its.setup);
    options.rig = &rig;
    options.reckoning = &its.reckoning;
    options.bench = *its.bench ? its.bench : NULL;
  }
  struct pulling *p = status == BE_OK ? be_alloc_array(1, sizeof *p) : NULL;
  if (status == BE_OK && !p) status = be_no_memory(err);
  if (status != BE_OK) return status;
  *p = (struct pulling){
      .talk = talk,
      .book_path = book_path,
  };
  status = be_session_open(&options, NULL, &p->session, err);
  char unused[ANSWER_MAX];
  if (status == BE_OK) status = look_at_book(p, how, unused, err);
  if (status == BE_OK && options.reckoning && options.reckoning->known)
    say(p, "Loads are by the calibration %s.", options.reckoning->by.name);
  if (status == BE_OK) talk_on(p, specimen, how);
  be_session_close(p->session);
  be_free(p);
  return status;
}
