/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The rig: can its forces be trusted, and those of each pull. A calibration is worked out from its
 * readings each time; its check weights are charted since it is in force. */
#ifndef BE_APP_RIG_TRUST_H
#define BE_APP_RIG_TRUST_H

#include "app/survey/survey.h"
#include "web/web.h"

/* ---- a calibration worked out (worked.c) ---- */

struct worked {
  const struct be_kept_calibration *kept;
  struct be_calibration_fit fit;
  struct be_force_step *steps; /* rising; in the arena */
  size_t steps_count;
  size_t force_class;             /* the best of those that hold over the most steps; or none */
  struct be_force_range range;    /* verified, in that class; not-a-number without one */
  size_t pulls, outside, overdue; /* under it; loads out of its range; later than it was due */
};
/* One for each calibration of the record, in the arena, with its pulls counted; *unknown are the
 * pulls without. */
enum be_status be_rig_work_out(const struct survey *survey, struct worked **worked, size_t *unknown,
                               struct be_err *err);
/* In force on a bench and day; null: none. */
const struct worked *be_rig_in_force(const struct survey *survey, const struct worked *worked,
                                     int bench, long day);
/* Why there is no verified range, where there is none. */
const char *be_rig_unverified(const struct worked *worked);
bool be_rig_outside(const struct worked *worked, double load_N);
/* What was not told is left out of it. */
struct be_force_budget be_rig_budget(const struct worked *worked, double load_N);
/* "class 0.5", "no class". */
const char *be_rig_class_words(size_t force_class);
long be_rig_today(void);

/* ---- the check weights of a bench (checks.c) ---- */

/* One weight read again and again under one calibration (null: none). Not-a-number forces are left
 * out. */
struct checks {
  const struct worked *worked;
  double weight_N;
  size_t n;
  const struct be_check_weight **list;
  double *forces_N;
  bool charted; /* two readings at least, that are not all the same */
  struct be_chart chart;
  enum be_chart_mark *marks;
};
/* Those of a bench until a day, since a calibration is in force: a weight each, *count of them, in
 * the arena. */
struct weighed {
  int bench;
  long day;
  const struct worked *worked; /* null: before any */
};
enum be_status be_rig_checks(const struct survey *survey, const struct weighed *of,
                             struct checks **checks, size_t *count, struct be_err *err);
/* What a bench showed under a weight, as a force; worked may be null. */
double be_rig_indicated(const struct worked *worked, const struct be_check_weight *weight);

/* ---- parts of the document ---- */

/* figures.c */
struct be_figure *be_figure_of_errors(const struct survey *survey, const struct worked *worked);
struct be_figure *be_figure_of_checks(const struct survey *survey, const struct checks *checks);
struct be_figure *be_figure_of_ranges(const struct survey *survey, const struct checks *checks);

/* tables.c */
void be_say_steps(struct be_doc *doc, const struct survey *survey, const struct worked *worked);
void be_say_readings(struct be_doc *doc, const struct survey *survey, const struct worked *worked);
void be_say_uncertainty(struct be_doc *doc, const struct survey *survey,
                        const struct worked *worked);
/* The readings of a bench; checks: its charts. */
enum be_status be_say_log(struct be_doc *doc, const struct survey *survey,
                          const struct worked *worked, int bench, const struct checks *checks,
                          size_t count, struct be_err *err);
void be_say_calibrations(struct be_doc *doc, const struct survey *survey,
                         const struct worked *worked, size_t unknown);

/* The pulls counted there, each with its page. */
void be_say_doubtful(struct be_doc *doc, const struct survey *survey, const struct worked *worked);

/* ---- the document and its page ---- */

/* Can the rig be trusted on a day. */
enum be_status be_rig_doc(const struct survey *survey, long day, struct be_doc **doc,
                          struct be_err *err);
/* pull.c: what a pull was measured by, on its page; nothing where nothing is known of it. */
enum be_status be_say_calibration(struct be_doc *doc, const struct survey *survey,
                                  const struct be_pull *pull, struct be_err *err);
/* post.c: the form that logs a check weight, with what was sent and refused, and what it sends: a
 * check weight sheet of one row, by the names that it takes. */
extern const char *const be_rig_takes[];
enum be_status be_rig_form(const struct survey *survey, const struct be_request *request,
                           struct be_buf *html, struct be_err *err);
enum be_status be_rig_post(const char *book_path, const struct be_request *request,
                           struct be_err *err);

#endif
