/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Questions of readers, and answers put together from what the record says. */
#ifndef BE_APP_REPORT_QUESTIONS_H
#define BE_APP_REPORT_QUESTIONS_H

#include "app/report/recorded.h"

/* An answer grows statement by statement; text is null when memory is out. */
struct be_answer {
  const struct survey *survey;
  const char *text;
  size_t told, untold; /* statements with something recorded, with something not recorded */
};
/* Adds a statement that k of n say; n 0: there is nothing to say it of. */
void be_answer_add(struct be_answer *answer, size_t k, size_t n, const char *format, ...)
    BE_PRINTF(4, 5);
/* Adds how many tell a field, and what. */
enum be_status be_answer_field(struct be_answer *answer, enum be_telling field, struct be_err *err);

/* Whether there is nothing of it yet, which it then says. */
bool be_answer_is_empty(struct be_answer *answer, size_t of, const char *what);

typedef enum be_status be_answerer(struct be_answer *answer, struct be_err *err);
/* disclosed.c: what is told of lines, knots and trials. */
be_answerer be_answer_new_line, be_answer_handy, be_answer_glue, be_answer_interests;
/* answers.c, answers_lines.c: what takes more than counting a field. */
be_answerer be_answer_how_many, be_answer_divided_by, be_answer_let_go, be_answer_luck,
    be_answer_which_knots, be_answer_lines, be_answer_joints, be_answer_turns, be_answer_shock,
    be_answer_doubled, be_answer_grip, be_answer_identity, be_answer_spools, be_answer_scale,
    be_answer_worst, be_answer_raw, be_answer_diameter;

#endif
