/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the use cases share: the record sorted into cells of knot by
 * combination, with the figures of each. */
#ifndef BE_APP_SURVEY_H
#define BE_APP_SURVEY_H

#include "app/app.h"
#include "stats/stats.h"

/* Lines tested together in one way; pulls of different combinations are never
 * averaged. */
struct combination {
  int line_a, line_b; /* ids of line names, or -1 */
  const char *hardware;
  enum be_soak soak;
  enum be_design design;
  const char *name;  /* "braid 20 lb to fluorocarbon 15 lb, dry" */
  const char *group; /* "braid to fluorocarbon, dry" */
  size_t first_cell, cells_count;
};

/* Plain-line strength behind an efficiency, and how well it is matched. */
enum match { MATCH_NONE, MATCH_ALL, MATCH_SPOOL, MATCH_LINE };
struct denominator {
  enum match match; /* the worst step that was needed */
  struct be_estimate estimate;
  size_t bounds; /* plain pulls that only gave a lower bound */
  int line;      /* id of the line name */
  int line_row;  /* a line of that name in the record */
};

/* One knot in one combination. */
struct cell {
  size_t combination;
  int knot;
  const struct be_pull **pulls; /* all, in the order entered */
  size_t count;
  double *loads; /* of events, in the same order */
  const struct be_pull **events;
  size_t n, bounds, voids;
  size_t slips; /* events in which it slipped out */
  struct be_summary summary;
  struct be_summary held; /* of the events that did not slip out */
  struct be_estimate estimate;
  struct denominator plain;
  bool weaker_uncertain; /* either line could be the weaker one */
  bool other_missing;    /* one of two lines was never pulled plain */
  struct be_ratio efficiency, fieller;
  struct be_alarm alarm;
};

struct survey {
  struct be_arena *arena;
  struct be_record record;
  struct be_answering how; /* with the usual values filled in */
  const char **line_names; /* distinct, in the order met */
  size_t line_names_count;
  int *name_of_line; /* index into line_names for each line of the record */
  struct combination *combinations;
  size_t combinations_count;
  struct cell *cells; /* by combination, then by knot */
  size_t cells_count;
  const struct be_pull **plain; /* events of plain lines */
  size_t plain_count;
  const struct be_pull **plain_bounds;
  size_t plain_bounds_count;
};

/* Reads and sorts a book. The arena holds everything. */
enum be_status be_survey_read(const char *book_path, const struct be_answering *how,
                              struct be_arena *arena, struct survey *survey, struct be_err *err);

enum be_status be_cells_work_out(struct survey *survey, struct be_err *err); /* cells.c */

const char *be_knot_name(const struct survey *survey, int knot); /* "plain line" for -1 */
const char *be_match_words(enum match match);
/* A force in the unit shown, and the decimals for loads like this one. */
double be_shown(const struct survey *survey, double force_N);
int be_load_decimals(const struct survey *survey);
/* Efficiency in %: whole unless the interval is within a point either way. */
int be_percent_decimals(const struct be_ratio *ratio);
bool be_is_plain(const struct combination *combination);

enum be_status be_no_memory(struct be_err *err);

/* figures.c */
struct be_figure *be_figure_of_pulls(const struct survey *survey, const struct combination *where);
struct rank_row {
  int knot;
  size_t n;
  struct be_rank rank;
  size_t tied_first, tied_last; /* rows it cannot be separated from, unbroken */
};
struct be_figure *be_figure_of_ranks(const struct survey *survey, const char *title,
                                     const char *subtitle, const struct rank_row *rows,
                                     size_t count);
struct be_figure *be_figure_of_trace(const struct be_trace *trace,
                                     const struct be_trace_events *events, const char *title,
                                     const struct be_unit *unit);

/* Documents made from a survey that was read already. */
enum be_status be_strength_doc(const struct survey *survey, struct be_doc **doc,
                               struct be_err *err);
enum be_status be_standings_doc(const struct survey *survey, struct be_doc **doc,
                                struct be_err *err);
enum be_status be_versus_doc(const struct survey *survey, int a, int b, struct be_doc **doc,
                             struct be_err *err);
int be_knot_find(const struct survey *survey, const char *name, struct be_err *err);

/* Takes a document whose writing is done: hands it over, or frees it. */
enum be_status be_doc_done(struct be_doc *doc, enum be_status status, struct be_doc **out);

#endif
