/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Two knots looked at after every pull: their pulls in pairs, and what evidence these hold. */
#ifndef BE_APP_WATCH_H
#define BE_APP_WATCH_H

#include "app/survey.h"

/* Two cells of one combination, where the two are compared fairly. */
struct facing {
  const struct cell *a, *b;
};

struct watching {
  size_t pairs, waiting;    /* pulls of both in pairs; events that have no partner yet */
  struct be_watched now;    /* of the differences of logs, a less b */
  double most;              /* greatest log evidence of all looks */
  double needed;            /* log of the evidence asked for */
  size_t reached;           /* pairs when it was first enough; 0: never */
  const struct be_pull *at; /* the pull that made it so */
  bool a_stronger;          /* what was found then */
};

/* The evidence that is needed: 1 / (1 - level), times the number of pairs of knots asked about at
 * once. Takes heap. */
enum be_status be_watch_facing(const struct survey *survey, const struct facing *facing,
                               size_t count, size_t asked, struct watching *watching,
                               struct be_err *err);
/* "3.2", "1,500": for sentences. */
const char *be_evidence_words(const struct survey *survey, double log_e);

/* How it is done and what it does not cover; and its figures. */
void be_say_watch_method(struct be_doc *doc, size_t waiting);
void be_watch_facts(struct be_doc *doc, const struct watching *watching);

#endif
