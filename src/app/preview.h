/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What would become of a file, said before it is entered. */
#ifndef BE_APP_PREVIEW_H
#define BE_APP_PREVIEW_H

#include "app/app.h"

/* What all files of one look share. */
struct preview_tables {
  struct be_doc *doc; /* goes behind what is said of each file */
  struct be_table *columns, *misfits;
  size_t misfits_count; /* of all files */
};
void be_preview_tables(struct preview_tables *tables);
void be_preview_say(struct be_doc *doc, struct preview_tables *tables, const char *name,
                    const struct be_preview *preview, struct be_arena *arena);

#endif
