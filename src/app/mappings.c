/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The rules of sheets of one's own shape that a book keeps. */
#include "app/survey/survey.h"

#include <string.h>

static void say_rules(struct be_table *table, const struct be_mapping *mapping)
{
  for (const char *at = mapping->rules; *at;) {
    size_t size = strcspn(at, "\n");
    int shown = (int)(size && at[size - 1] == '\r' ? size - 1 : size);
    if (shown) {
      be_table_text(table, "%s", mapping->name);
      be_table_text(table, "%.*s", shown, at);
    }
    at += size + (at[size] == '\n');
  }
}

static enum be_status say(const struct be_mapping *list, size_t count, const char *forgot,
                          struct be_doc **out, struct be_err *err)
{
  static const struct be_column columns[] = {{"name", "mapping", BE_COLUMN_TEXT, false},
                                             {"rule", "rule", BE_COLUMN_TEXT, false}};
  struct be_doc *doc = be_doc_create("mappings", "Saved mappings");
  if (!doc) return be_no_memory(err);
  if (forgot)
    be_doc_sentence(doc, "\"%s\" is forgotten; what was entered by it stays as it is.", forgot);
  be_doc_sentence(doc, "%zu saved mapping%s.", count, count == 1 ? "" : "s");
  if (!count) be_doc_note(doc, "--save-mapping keeps the rules of a sheet that is entered.");
  struct be_table *table = count ? be_doc_table(doc, "mappings", "Their rules", columns, 2) : NULL;
  for (size_t i = 0; i < count; i++) say_rules(table, &list[i]);
  return be_doc_done(doc, BE_OK, out);
}

enum be_status be_app_mappings(const char *book_path, const char *forget, struct be_doc **doc,
                               struct be_err *err)
{
  struct be_book *book = NULL;
  struct be_mapping *list = NULL;
  size_t count = 0;
  struct be_arena *arena = be_arena_create();
  if (!arena) return be_no_memory(err);
  enum be_status status = be_book_open(book_path, forget != NULL, &book, err);
  if (status == BE_OK && forget) status = be_book_mapping_forget(book, forget, err);
  if (status == BE_OK) status = be_book_mappings(book, arena, &list, &count, err);
  if (status == BE_OK) status = say(list, count, forget, doc, err);
  be_book_close(book);
  be_arena_free(arena);
  return status;
}
