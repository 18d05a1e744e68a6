/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What an address asks of a page, and the form that asks otherwise. */
#ifndef BE_APP_ASKING_H
#define BE_APP_ASKING_H

#include "app/pulls/pulls.h"
#include "web/web.h"

/* Ways and a form of a page; in the survey's arena. */
struct asking {
  struct be_ways ways; /* count 0: none */
  struct be_form form; /* count 0: none */
};

/* How the answers of a page are worked out: by=slips of the standings; within= and power= of
 * versus, in per cent. BE_WRONG_USE for what cannot be asked. */
enum be_status be_asking_how(const struct be_request *request, struct be_answering *how,
                             struct be_err *err);
/* specimens, minutes, metres, top, between, and, group; empty is not asked. */
enum be_status be_asking_tying(const struct be_request *request, struct be_tying *tying,
                               struct be_err *err);

enum be_status be_asking_standings(const struct survey *survey, const struct be_request *request,
                                   struct asking *asking, struct be_err *err);
enum be_status be_asking_versus(const struct survey *survey, const struct be_request *request,
                                struct asking *asking, struct be_err *err);
enum be_status be_asking_next(const struct survey *survey, const struct be_request *request,
                              struct asking *asking, struct be_err *err);
/* asking_pulls.c: by the names of be_pulls_by_name; empty is not asked. */
enum be_status be_asking_pulls(const struct survey *survey, const struct be_request *request,
                               struct be_pulls_asked *asked, struct asking *asking,
                               struct be_err *err);

#endif
