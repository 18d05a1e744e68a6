/* SPDX-License-Identifier: GPL-3.0-or-later */
/* strength: the sections of the strength document, in the order in which they stand. Each
 * says what the pulls of the book support about one thing, cell by cell, and adds
 * nothing where they support nothing. */
#ifndef BE_APP_STRENGTH_H
#define BE_APP_STRENGTH_H

#include "app/survey/survey.h"

/* A table under a heading: a row for each cell that has what the section is about. */
struct section {
  const char *heading;
  const char *name; /* of the table, for programs */
  const char *title;
  const struct be_column *columns; /* SECTION_COLUMNS first */
  size_t columns_count;
  bool (*has)(const struct cell *cell);
  /* All columns but the first two. */
  enum be_status (*row)(struct be_table *table, const struct survey *survey,
                        const struct cell *cell, const void *context, struct be_err *err);
  const void *context; /* of the rows; or null */
};
/* *any: whether there was a row. */
enum be_status be_say_section(struct be_doc *doc, const struct survey *survey,
                              const struct section *section, bool *any, struct be_err *err);
#define SECTION_COLUMNS                                                                            \
  {"combination", "combination", BE_COLUMN_TEXT, false},                                           \
  {                                                                                                \
    "knot", "knot", BE_COLUMN_TEXT, false                                                          \
  }

enum be_status be_say_beside(struct be_doc *doc, const struct survey *survey, struct be_err *err);
enum be_status be_say_many(struct be_doc *doc, const struct survey *survey, struct be_err *err);
/* Letters of the cells of a combination: two share one where they cannot be separated, as
 * the standings judge it. texts has cells_count places; "" for none. */
enum be_status be_letters_of(const struct survey *survey, const struct combination *where,
                             const char **texts, struct be_err *err);
enum be_status be_say_gain(struct be_doc *doc, const struct survey *survey, struct be_err *err);
enum be_status be_say_low(struct be_doc *doc, const struct survey *survey, struct be_err *err);
enum be_status be_say_families(struct be_doc *doc, const struct survey *survey, struct be_err *err);
enum be_status be_say_chains(struct be_doc *doc, const struct survey *survey, struct be_err *err);
enum be_status be_say_causes(struct be_doc *doc, const struct survey *survey, struct be_err *err);
enum be_status be_say_spread(struct be_doc *doc, const struct survey *survey, struct be_err *err);
enum be_status be_say_alarms(struct be_doc *doc, const struct survey *survey, struct be_err *err);
enum be_status be_say_benches(struct be_doc *doc, const struct survey *survey, struct be_err *err);
enum be_status be_say_budget(struct be_doc *doc, const struct survey *survey, struct be_err *err);
/* Lower bounds, voids, and what was not recorded. */
enum be_status be_say_records(struct be_doc *doc, const struct survey *survey, struct be_err *err);
/* Every pull of a kind, under a heading; nothing where there is none. */
void be_say_pulls_of_kind(struct be_doc *doc, const struct survey *survey, enum be_kind kind,
                          const char *name, const char *title);
/* The step in which loads were typed, in the unit shown, and between what they lie; not-a-number
 * for fewer than ten of that unit. */
double be_reading_step(const struct survey *survey, double *low, double *high);

/* The smaller label of the lines of a cell, not-a-number when one is not known. */
double be_label_of(const struct survey *survey, const struct cell *cell);
/* Loads of a cell's events, rising; in the survey's arena, null without memory. */
double *be_sorted_loads(const struct survey *survey, const struct cell *cell);
/* Events, then lower bounds; count is n + lower_count. */
struct be_held *be_held_of(const struct survey *survey, const struct cell *cell);
void be_sort_held(struct be_held *held, size_t count); /* rising, events before bounds */
void be_sort_by_order(const struct be_pull **pulls, size_t count); /* by session and order */
/* How well the events of a cell fit each family, by Anderson and Darling, who take complete
 * sets: with lower bounds nothing is known. Below BE_DOUBTFUL they do not look so. */
struct fitness {
  double normal, lognormal, weibull;
};
#define BE_DOUBTFUL 0.05
/* Loads are those of specimens, and the fit is of one link of `links` of them: the weakest is
 * Weibull too, its mu lower by sigma log(links). */
enum be_status be_find_fitness(const struct survey *survey, const struct cell *cell,
                               const struct be_fit *weibull, double links, struct fitness *fitness,
                               struct be_err *err);
/* A probability plot with the fitted line; null without memory. Three events or more. */
struct be_figure *be_figure_of_shape(const struct survey *survey, const struct cell *cell,
                                     enum be_family family);
struct be_interval be_interval_percent(
    const struct be_ratio *ratio); /* unknown ends unless a piece */
/* The load that one pull in ten does not reach, by a Weibull fitted to what was held. */
struct be_measure be_tenth_of(const struct survey *survey, const struct be_fit *weibull,
                              const struct be_held *held, size_t count);
/* Notes that the figures of a combination are not to be shown without: what 100 % is, and what is
 * to be doubted in them. */
void be_say_beneath(struct be_doc *doc, const struct survey *survey,
                    const struct combination *where);
/* A force in the unit shown, with an interval of forces. */
void be_table_measure(struct be_table *table, const struct survey *survey,
                      const struct be_measure *measure, int decimals);

#endif
