/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What happened in a trace, said: sentences and tables for people, one row a test
 * for programs. Nothing here owns anything. */
#ifndef BE_APP_FOUND_H
#define BE_APP_FOUND_H

#include "app/app.h"

/* Unit of a role in the file, or of SI where the file names none of its kind. */
const struct be_unit *be_trace_unit(const struct be_trace *trace, enum be_role role,
                                    enum be_dimension dimension);

/* The answer: the file's own number in its own unit, and where it stands. */
void be_say_peak(struct be_doc *doc, const struct be_trace *trace,
                 const struct be_trace_events *events, const char *name);
/* The suggested result, then what was found. */
void be_say_events(struct be_doc *doc, const struct be_trace *trace,
                   const struct be_trace_events *events, const char *name);
void be_say_flags(struct be_doc *doc, const struct be_trace *trace,
                  const struct be_trace_events *events);
/* Of one test, for programs only. */
void be_say_slips(struct be_doc *doc, const struct be_trace *trace,
                  const struct be_trace_events *events);
void be_say_stages(struct be_doc *doc, const struct be_trace *trace,
                   const struct be_trace_events *events);

/* For programs: every test of every file, one row each. */
struct be_table *be_traces_table(struct be_doc *doc);
void be_traces_row(struct be_table *table, const char *file, const struct be_trace *trace,
                   const struct be_trace_events *events);

/* trace_figure.c: a trace with what was found in it. */
struct be_figure *be_figure_of_trace(const struct be_trace *trace,
                                     const struct be_trace_events *events, const char *title,
                                     const struct be_unit *unit);
/* Writes the figure of a test as an SVG file. number: of the test among
 * several, 0 for the only one. BE_WRONG_USE when the file would replace the trace
 * or anything that is no figure. */
enum be_status be_chart_write(const struct be_figure *figure, const char *path, size_t number,
                              const char *trace_path, struct be_err *err);

#endif
