/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The user's saved layouts, of `read` and `enter`. */
#ifndef BE_APP_LAYOUTS_H
#define BE_APP_LAYOUTS_H

#include "app/survey/survey.h"

/* All of them, the caller's to free; none when nothing was saved. */
enum be_status be_layouts_load(struct be_trace_layouts **layouts, struct be_err *err);
/* Saves how a file was read and what was told for it; one of that name is replaced. */
enum be_status be_layouts_keep(const char *name, const struct be_trace_layout *layout,
                               const struct be_trace_options *told, struct be_err *err);
/* Null if there is none of that name. */
const struct be_trace_saved *be_layouts_find(const struct be_trace_layouts *layouts,
                                             const char *name);

#endif
