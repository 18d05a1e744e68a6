/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/preview.h"

#include "app/survey/survey.h"

#include <string.h>

void be_preview_tables(struct preview_tables *tables)
{
  static const struct be_column misfits[] = {
      {"file", "file", BE_COLUMN_TEXT, false},
      {"line", "line", BE_COLUMN_NUMBER, false},
      {"column", "column", BE_COLUMN_TEXT, false},
      {"written", "written", BE_COLUMN_TEXT, false},
      {"why", "why it does not fit", BE_COLUMN_TEXT, false},
      {"remedy", "what to do", BE_COLUMN_TEXT, false},
  };
  static const struct be_column columns[] = {
      {"file", "file", BE_COLUMN_TEXT, false},
      {"field", "field", BE_COLUMN_TEXT, false},
      {"taken_from", "taken from", BE_COLUMN_TEXT, false},
      {"unit", "unit", BE_COLUMN_TEXT, false},
      {"told", "rows that tell it", BE_COLUMN_NUMBER, false},
      {"not_recorded", "not recorded", BE_COLUMN_NUMBER, false},
  };
  tables->doc = be_doc_create("tables", "Tables");
  tables->misfits = be_doc_table(tables->doc, "misfits", "Rows that do not fit", misfits, 6);
  tables->columns =
      be_doc_table(tables->doc, "columns", "What each field is taken from", columns, 6);
  tables->misfits_count = 0;
}

static void say_misfits(struct preview_tables *tables, const char *name,
                        const struct be_preview *preview)
{
  size_t kept =
      preview->misfits_count < BE_MISFITS_MAX ? preview->misfits_count : (size_t)BE_MISFITS_MAX;
  for (size_t i = 0; i < kept; i++) {
    const struct be_misfit *misfit = &preview->misfits[i];
    be_table_text(tables->misfits, "%s", name);
    be_table_number(tables->misfits, (double)misfit->line, 0);
    be_table_text(tables->misfits, "%s", misfit->head);
    be_table_text(tables->misfits, "%s", misfit->written);
    be_table_text(tables->misfits, "%s", misfit->what);
    be_table_text(tables->misfits, "%s", misfit->remedy);
  }
}

static void say_columns(struct preview_tables *tables, const char *name,
                        const struct be_preview *preview)
{
  for (size_t i = 0; i < preview->meanings_count; i++) {
    const struct be_meaning *meaning = &preview->meanings[i];
    be_table_text(tables->columns, "%s", name);
    be_table_text(tables->columns, "%s", meaning->field);
    if (meaning->last)
      be_table_text(tables->columns, "columns \"%s\" .. \"%s\"", meaning->column, meaning->last);
    else if (meaning->column) be_table_text(tables->columns, "column \"%s\"", meaning->column);
    else if (!meaning->constant) be_table_text(tables->columns, "titles of blocks");
    else be_table_text(tables->columns, "\"%s\" in every row", meaning->constant);
    be_table_text(tables->columns, "%s", meaning->unit ? meaning->unit : "");
    be_table_number(tables->columns, (double)meaning->told, 0);
    be_table_number(tables->columns, (double)meaning->silent, 0);
  }
}

static const char *listed(struct be_arena *arena, const char *const *names, size_t count)
{
  const char *all = count ? names[0] : "";
  for (size_t i = 1; i < count && all; i++) all = be_arena_format(arena, "%s, %s", all, names[i]);
  return all;
}

void be_preview_say(struct be_doc *doc, struct preview_tables *tables, const char *name,
                    const struct be_preview *preview, struct be_arena *arena)
{
  const struct be_entered *entered = &preview->entered;
  const bool whole = preview->misfits_count && entered->rows && !preview->by_row;
  size_t refused = whole ? entered->rows : preview->misfits_count;
  tables->misfits_count += preview->misfits_count;
  if (entered->already)
    be_doc_sentence(doc, "%s was entered before; nothing would be added.", name);
  else if (!preview->meanings_count) be_doc_sentence(doc, "%s: a %s.", name, entered->kind);
  else if (!entered->rows)
    be_doc_sentence(doc, "%s has the header of a %s and no rows%s: nothing of it would be entered.",
                    name, entered->kind, entered->notes_count ? " that are left" : "");
  else
    be_doc_sentence(doc,
                    "%s: of the %zu rows of this %s %zu would be entered and %zu would be refused: "
                    "pulls %zu, corrections %zu, new lines %zu, new knots %zu, new benches %zu.",
                    name, entered->rows, entered->kind, entered->rows - refused, refused,
                    entered->pulls, entered->corrections, entered->lines, entered->knots,
                    entered->benches);
  if (preview->misfits_count)
    be_doc_sentence(doc,
                    "%s is entered whole or not at all: mend these rows, tell what their words "
                    "mean, or pass them over.",
                    name);
  say_misfits(tables, name, preview);
  say_columns(tables, name, preview);
  for (size_t i = 0; i < entered->notes_count; i++)
    be_doc_note(doc, "%s, %s", name, entered->notes[i]);
  if (entered->notes_dropped)
    be_doc_note(doc, "%s: and %zu more remarks like these.", name, entered->notes_dropped);
  if (preview->misfits_count > BE_MISFITS_MAX)
    be_doc_note(doc, "%s: the first %d of the rows that do not fit are shown.", name,
                (int)BE_MISFITS_MAX);
  const char *silent = listed(arena, preview->silent, preview->silent_count);
  if (silent && *silent)
    be_doc_note(doc, "%s does not tell, so that it stays not recorded: %s.", name, silent);
}
