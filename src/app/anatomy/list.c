/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The ties that the program knows. */
#include "app/anatomy/anatomy.h"
#include "app/survey/survey.h"

enum be_status be_ties_doc(struct be_arena *arena, struct be_doc **out, struct be_err *err)
{
  static const struct be_column columns[] = {
      {"name", "tie", BE_COLUMN_TEXT, false},
      {"also", "also called", BE_COLUMN_TEXT, false},
      {"kind", "kind", BE_COLUMN_TEXT, false},
  };
  size_t count;
  const struct be_tie_entry *ties = be_tie_library(&count);
  struct be_doc *doc = be_doc_create("ties", "Ties");
  if (!doc) return be_no_memory(err);
  be_doc_sentence(doc, "The program knows how to tie %zu knots; others can be drawn or written.",
                  count);
  struct be_table *table = be_doc_table(doc, "ties", "Ties", columns, 3);
  for (size_t i = 0; i < count; i++) {
    be_table_text(table, "%s", ties[i].name);
    const char *address = be_tie_address(arena, "/tie", ties[i].name);
    if (address) be_table_link(table, "%s", address);
    be_table_text(table, "%s", ties[i].also ? ties[i].also : "");
    be_table_text(table, "%s", ties[i].kind);
  }
  return be_doc_done(doc, BE_OK, out);
}
