/* SPDX-License-Identifier: GPL-3.0-or-later */
/* findings: what the pulls of a book support, in plain sentences, and what they do not. Each
 * kind of finding asks its questions of a survey (one file a kind), the document (findings.c)
 * answers all of them together: what is asked of the same pulls many times is found by chance
 * sooner or later, unless all that was asked counts. */
#ifndef BE_APP_FINDINGS_H
#define BE_APP_FINDINGS_H

#include "app/survey/survey.h"

/* What a question can come to. */
enum verdict { FINDING_SUPPORTED, FINDING_NOT_APART, FINDING_TOO_FEW };

/* One question with its answer. Texts are in the survey's arena; null where it ran out. */
struct finding {
  struct finding *next;
  const char *kind;
  const char *says;   /* a sentence without its figures and stop: what holds if supported */
  const char *asks;   /* "whether ..." */
  const char *more;   /* further figures; or null */
  const char *place;  /* of the pulls behind */
  const char *settle; /* what would settle it; null: more such pulls */
  const char *units;  /* of which there may be too few to show anything: "pulls", "knots" */
  double value;       /* in the unit */
  const char *unit;   /* "% relative", "pts", "%" */
  int decimals;
  struct be_interval interval; /* of this one by itself */
  double p;                    /* not-a-number: nothing could be tested */
  double least_p;              /* the smallest that so few pulls allow; 0 by default */
  double adjusted;             /* p for all that is asked */
  double effect; /* in deviations of a pull, between halves of the pulls: for the number needed */
  double needed; /* pulls in all that would show as much */
  size_t fewest; /* pulls on the side that has fewer, where two are compared; else 0 */
  bool *behind;  /* a place for each pull of the record */
  size_t n;      /* of the pulls behind */
  enum verdict verdict;
};

/* What the lines of a combination are made of; null: not recorded, or no such line. */
struct made_of {
  const char *a, *b;
  const char *both; /* "braid to nylon", "nylon to ring": the same pointer for the same words */
};

struct findings {
  const struct survey *survey;
  const struct made_of *made;   /* of each combination */
  const char *kind;             /* of what is found now */
  const struct build **of_ties; /* of each knot, once it was worked out; or null */
  struct finding *first, *last;
  size_t count;
};

/* ---- what the kinds put them together with (finding.c) ---- */

enum be_status be_findings_begin(struct findings *findings, const struct survey *survey,
                                 struct be_err *err);
/* A new one at the end; null when memory is out, and err says so. */
struct finding *be_finding_add(struct findings *findings, struct be_err *err);
void be_finding_pull(struct finding *finding, const struct survey *survey,
                     const struct be_pull *pull);
/* All pulls of a cell that are in its means. */
void be_finding_cell(struct finding *finding, const struct survey *survey, const struct cell *cell);
/* The log of a ratio as relative per cent; its pulls are told before. */
void be_finding_ratio(struct finding *finding, const struct survey *survey,
                      const struct be_estimate *log_ratio);
/* How many pulls each side of a comparison has. */
void be_finding_sides(struct finding *finding, size_t first, size_t second);
/* How often chance alone does as much: "every time", "67 times in 100", "1 time in 360"; in the
 * survey's arena, null when memory is out. */
const char *be_chance_words(const struct survey *survey, double p);
/* "by chance alone they would stand in an order as clear as this 67 times in 100 (rho 0.50, exact
 * p 0.67)"; likewise. */
const char *be_order_words(const struct survey *survey, const struct be_rank_order *order);
/* Two rates in strata, as points. */
void be_finding_rates(struct finding *finding, const struct be_two_rates *list, size_t count,
                      const struct be_strata *strata);
const struct made_of *be_made_of(const struct findings *findings, const struct combination *where);
bool be_same_words(const char *a, const char *b); /* either may be null */

/* ---- pulls in strata of what must be the same (sample.c) ---- */

/* Events in strata: of one knot in one combination and kind and, if asked for, of one session.
 * Pulls of one stratum stand together. Arrays are in the survey's arena. What slipped out is left
 * out but where it is asked for: it says little of strength, and would hide what does. */
struct sample {
  size_t n;
  const struct be_pull **pull;
  size_t *stratum;
  double *x, *y; /* y: log of load; x is the caller's */
};
enum sampled {
  SAMPLE_PLAIN = 1,    /* plain lines too */
  SAMPLE_SLIPS = 2,    /* what slipped out too */
  SAMPLE_SESSIONS = 4, /* strata by session, only pulls that tell it and their order */
  SAMPLE_DAYS = 8      /* strata by session, those that do not tell it together */
};
enum be_status be_sample_gather(const struct survey *survey, unsigned which, struct sample *sample,
                                struct be_err *err);
/* Who tied them, in the order met; in the survey's arena. */
enum be_status be_sample_tyers(const struct survey *survey, const struct sample *sample,
                               const char ***tyers, size_t *count, struct be_err *err);
/* The slope of y on x as relative per cent, with the pulls behind it. Returns the strata compared,
 * 0: nothing to compare. */
size_t be_finding_within(struct finding *finding, const struct survey *survey,
                         const struct sample *sample);

/* ---- how a knot is built (build.c) ---- */

/* Not-a-number: not told. Overlap in mm as recorded, in diameters of a tie: never the two mixed. */
struct build {
  double crossings_a, crossings_b, overlap, turns;
  double wraps; /* turns of wrap of all lines, which only a tie tells */
};
struct build be_build_recorded(const struct be_knot *knot);
/* Nothing is told where no tie is recorded, or one that cannot be read. */
enum be_status be_build_of_tie(struct findings *findings, size_t knot, struct build *build,
                               struct be_err *err);

/* ---- the kinds ---- */

typedef enum be_status finder(struct findings *findings, struct be_err *err);
finder be_find_sides, be_find_turns, be_find_versions, be_find_hitches, be_find_soak, be_find_tyers,
    be_find_order, be_find_slips, be_find_structure;
/* slips.c: whether one of two knots slips out more often, over the combinations of both; nothing
 * is asked where neither slipped. */
enum be_status be_find_slips_between(struct findings *findings, int a, int b, struct be_err *err);
/* A table of the knots that were never seen to slip out, with the limit of each. */
void be_say_never_slipped(struct be_doc *doc, const struct survey *survey);

#endif
