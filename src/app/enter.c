/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Files from disk into a book. */
#include "app/package/package.h"
#include "app/preview.h"
#include "app/read/layouts.h"

#include <stdio.h>
#include <string.h>

struct beside {
  const char *sheet;
};

/* Traces are looked for beside the sheet that names them. */
static enum be_status fetch_beside(void *context, const char *name, struct be_buf *bytes,
                                   struct be_err *err)
{
  const char *sheet = ((const struct beside *)context)->sheet;
  const char *slash = strrchr(sheet, '/');
  char path[2048];
  bool absolute = name[0] == '/' || !slash;
  int length =
      snprintf(path, sizeof path, "%.*s%s", absolute ? 0 : (int)(slash - sheet + 1), sheet, name);
  if (length < 0 || (size_t)length >= sizeof path)
    return be_fail(err, BE_BAD_INPUT, "the name of the trace is too long");
  return be_file_read(path, bytes, err);
}

/* A sheet of a header alone. */
static bool is_bare(const struct be_entered *entered)
{
  bool sheet = strcmp(entered->kind, "trace") != 0 && strcmp(entered->kind, "picture") != 0;
  return sheet && !entered->rows;
}

static void say_entered(struct be_doc *doc, struct be_table *table, const char *name,
                        const struct be_entered *entered)
{
  if (entered->already) be_doc_sentence(doc, "%s was entered before; nothing was added.", name);
  else if (strcmp(entered->kind, "trace") == 0)
    be_doc_sentence(doc, "%s: a trace, added to its specimen.", name);
  else if (strcmp(entered->kind, "picture") == 0)
    be_doc_sentence(doc, "%s: a picture, of the knot that it is named after.", name);
  else if (is_bare(entered))
    be_doc_sentence(doc, "%s has the header of a %s and no rows: nothing of it was added.", name,
                    entered->kind);
  else if (strcmp(entered->kind, "pull sheet") == 0)
    be_doc_sentence(doc,
                    "%s: pulls %zu, corrections %zu, traces %zu, new lines %zu, new knots %zu, new "
                    "benches %zu.",
                    name, entered->pulls, entered->corrections, entered->traces, entered->lines,
                    entered->knots, entered->benches);
  else if (strcmp(entered->kind, "evidence sheet") == 0)
    be_doc_sentence(doc,
                    "%s: names of photos and clips %zu, pulls told more of %zu, rows known already "
                    "%zu; photos and clips stay where they are.",
                    name, entered->evidence, entered->told, entered->known);
  else if (strcmp(entered->kind, "trial sheet") == 0)
    be_doc_sentence(doc, "%s: specimens planned %zu, new lines %zu, new knots %zu.", name,
                    entered->planned, entered->lines, entered->knots);
  else if (strcmp(entered->kind, "rule sheet") == 0)
    be_doc_sentence(doc, "%s: rules of a trial told %zu, known already %zu.", name, entered->rules,
                    entered->known);
  else if (strcmp(entered->kind, "calibration sheet") == 0)
    be_doc_sentence(doc, "%s: calibrations %zu, readings %zu, new benches %zu.", name,
                    entered->calibrations, entered->rows, entered->benches);
  else if (strcmp(entered->kind, "check weight sheet") == 0)
    be_doc_sentence(doc, "%s: readings of check weights %zu, new benches %zu.", name,
                    entered->weights, entered->benches);
  else
    be_doc_sentence(
        doc,
        "%s: a %s of %zu row%s, new lines %zu, new knots %zu, new benches %zu, known already %zu.",
        name, entered->kind, entered->rows, be_plural(entered->rows), entered->lines,
        entered->knots, entered->benches, entered->known);
  for (size_t i = 0; i < entered->notes_count; i++)
    be_doc_note(doc, "%s, %s", name, entered->notes[i]);
  if (entered->notes_dropped)
    be_doc_note(doc, "%s: and %zu more remarks like these.", name, entered->notes_dropped);
  be_table_text(table, "%s", name);
  be_table_text(table, "%s", entered->kind);
  be_table_text(table, "%s", entered->already ? "yes" : "no");
  be_table_number(table, (double)entered->pulls, 0);
  be_table_number(table, (double)entered->corrections, 0);
  be_table_number(table, (double)entered->traces, 0);
  be_table_number(table, (double)entered->lines, 0);
  be_table_number(table, (double)entered->knots, 0);
  be_table_number(table, (double)entered->benches, 0);
  be_table_number(table, (double)entered->known, 0);
  be_table_number(table, (double)entered->planned, 0);
  be_table_number(table, (double)entered->rules, 0);
  be_table_number(table, (double)entered->evidence, 0);
  be_table_number(table, (double)entered->calibrations, 0);
  be_table_number(table, (double)entered->weights, 0);
  be_table_number(table, (double)entered->told, 0);
}

enum pass {
  PASS_LINES,
  PASS_KNOTS,
  PASS_BENCHES,
  PASS_CALIBRATIONS,
  PASS_WEIGHTS,
  PASS_RULES,
  PASS_TRIALS,
  PASS_PULLS,
  PASS_EVIDENCE,
  PASS_TRACES,
  PASSES
};

struct given {
  struct be_buf bytes;
  enum pass pass;
  enum be_tried tried;
};

struct done {
  struct be_doc *doc;
  struct be_table *table;
  size_t files;
  bool looks; /* nothing is entered: */
  struct preview_tables seen;
};

static enum be_status enter_one(struct be_book *book, const char *path, const struct be_buf *bytes,
                                const struct be_entering *how, struct done *done,
                                struct be_err *err)
{
  struct be_entered entered;
  struct be_preview preview;
  struct be_entering with = *how;
  struct beside beside = {path};
  if (!with.fetch) {
    with.fetch = fetch_beside;
    with.fetch_context = &beside;
  }
  struct be_arena *arena = be_arena_create();
  if (!arena) return be_no_memory(err);
  const char *slash = strrchr(path, '/');
  const char *name = strcmp(path, "-") == 0 ? "standard input" : slash ? slash + 1 : path;
  enum be_status status =
      done->looks
          ? be_book_preview(book, name, bytes->data, bytes->size, &with, arena, &preview, err)
          : be_book_enter(book, name, bytes->data, bytes->size, &with, arena, &entered, err);
  if (status == BE_OK && done->looks) be_preview_say(done->doc, &done->seen, name, &preview, arena);
  else if (status == BE_OK) say_entered(done->doc, done->table, name, &entered);
  done->files += status == BE_OK;
  be_arena_free(arena);
  return status;
}

static enum pass pass_of(const char *kind)
{
  static const char *const kinds[] = {"line sheet",        "knot sheet",         "bench sheet",
                                      "calibration sheet", "check weight sheet", "rule sheet",
                                      "trial sheet",       "pull sheet",         "evidence sheet"};
  for (int i = 0; i < PASS_TRACES; i++)
    if (strcmp(kind, kinds[i]) == 0) return (enum pass)i;
  return PASS_TRACES;
}

/* Standard input and pipes can be read only once, so all bytes are kept until they
 * are entered. */
static enum be_status read_given(struct be_book *book, const char *const *paths, size_t count,
                                 struct be_entering *how, struct given *given, struct be_err *err)
{
  how->rules_bind = how->mapping || how->mapping_of; /* unless they fit one of the files */
  size_t room = BE_BOOK_FILE_MAX;
  bool from_input = false;
  for (size_t i = 0; i < count; i++) {
    bool dash = strcmp(paths[i], "-") == 0;
    given[i].tried = BE_REFUSED;
    if (dash && from_input)
      return be_fail(err, BE_WRONG_USE, "standard input is given twice; it can be read once only");
    from_input = from_input || dash;
    be_buf_init(&given[i].bytes, room);
    enum be_status status = be_file_read(paths[i], &given[i].bytes, err);
    if (status == BE_TOO_LARGE && i > 0)
      be_fail_remedy(err, "all files together may have %d bytes: enter them in several goes",
                     (int)BE_BOOK_FILE_MAX);
    if (status != BE_OK) return status;
    room -= given[i].bytes.size;
    given[i].tried = BE_NOT_TRIED;
    given[i].pass = pass_of(be_book_kind_of(book, given[i].bytes.data, given[i].bytes.size, how));
    if (how->rules_bind)
      how->rules_bind = !be_book_rules_fit(book, given[i].bytes.data, given[i].bytes.size, how);
  }
  return BE_OK;
}

static enum be_status enter_given(struct be_book *book, const char *const *paths, size_t count,
                                  struct given *given, const struct be_entering *how,
                                  struct done *done, struct be_err *err)
{
  size_t entered = 0;
  for (int pass = 0; pass < PASSES; pass++)
    for (size_t i = 0; i < count; i++) {
      if (given[i].pass != (enum pass)pass) continue;
      be_progress_step("entering", "files", count);
      be_progress_at(entered++);
      enum be_status status = enter_one(book, paths[i], &given[i].bytes, how, done, err);
      given[i].tried = status == BE_OK ? BE_ENTERED : BE_REFUSED;
      if (status != BE_OK) return status;
      be_buf_free(&given[i].bytes);
    }
  return BE_OK;
}

static enum be_status enter_all(struct be_book *book, const char *const *paths, size_t count,
                                struct be_entering *how, struct given *given, struct be_doc **out,
                                struct be_err *err)
{
  static const struct be_column columns[] = {
      {"file", "file", BE_COLUMN_TEXT, true},
      {"kind", "kind", BE_COLUMN_TEXT, true},
      {"already", "already", BE_COLUMN_TEXT, true},
      {"pulls", "pulls", BE_COLUMN_NUMBER, true},
      {"corrections", "corrections", BE_COLUMN_NUMBER, true},
      {"traces", "traces", BE_COLUMN_NUMBER, true},
      {"lines", "lines", BE_COLUMN_NUMBER, true},
      {"knots", "knots", BE_COLUMN_NUMBER, true},
      {"benches", "benches", BE_COLUMN_NUMBER, true},
      {"known", "known", BE_COLUMN_NUMBER, true},
      {"planned", "planned", BE_COLUMN_NUMBER, true},
      {"rules", "rules", BE_COLUMN_NUMBER, true},
      {"evidence", "photos and clips", BE_COLUMN_NUMBER, true},
      {"calibrations", "calibrations", BE_COLUMN_NUMBER, true},
      {"check_weights", "check weights", BE_COLUMN_NUMBER, true},
      {"told_more", "told more", BE_COLUMN_NUMBER, true},
  };
  struct done done = {.doc = be_doc_create("enter", "Entered")};
  if (!done.doc) return be_no_memory(err);
  done.table = be_doc_table(done.doc, "files", "Files", columns, 16);
  enum be_status status = read_given(book, paths, count, how, given, err);
  if (status == BE_OK) status = enter_given(book, paths, count, given, how, &done, err);
  if (status == BE_OK || done.files) *out = done.doc;
  else be_doc_free(done.doc);
  return status;
}

/* A package is a whole book: it is entered alone. *is tells whether one was given. */
static enum be_status enter_package(const char *book_path, const char *const *paths, size_t count,
                                    bool looks, enum be_tried *tried, bool *is, struct be_doc **out,
                                    struct be_err *err)
{
  size_t at = 0;
  while (at < count && !be_package_is(paths[at])) at++;
  *is = at < count;
  if (!*is) return BE_OK;
  if (count > 1) {
    be_fail(err, BE_WRONG_USE, "a package makes a whole book, and is entered alone");
    be_fail_at(err, paths[at], 0, 0);
    return be_fail_remedy(err, "enter it into a new book, then the other files");
  }
  if (looks) {
    be_fail(err, BE_WRONG_USE,
            "a package is entered whole or not at all; no row of it is looked at");
    be_fail_at(err, paths[0], 0, 0);
    return be_fail_remedy(err, "leave --preview out");
  }
  enum be_status status = be_package_enter(book_path, paths[0], out, err);
  tried[0] = status == BE_OK ? BE_ENTERED : BE_REFUSED;
  return status;
}

/* Looks at all files, and takes everything back. */
static enum be_status look_at_all(struct be_book *book, const char *const *paths, size_t count,
                                  struct be_entering *how, struct given *given, struct be_doc **out,
                                  struct be_err *err)
{
  struct done done = {.doc = be_doc_create("preview", "As it would be entered"), .looks = true};
  if (!done.doc) return be_no_memory(err);
  be_preview_tables(&done.seen);
  enum be_status status = read_given(book, paths, count, how, given, err);
  if (status == BE_OK) status = be_preview_begin(book, err);
  if (status == BE_OK) {
    status = enter_given(book, paths, count, given, how, &done, err);
    be_preview_end(book);
  }
  be_doc_sentence(done.doc, "Nothing was entered: the book is as it was.");
  be_doc_join(done.doc, done.seen.doc);
  status = be_doc_done(done.doc, status, out);
  if (status != BE_OK || !done.seen.misfits_count) return status;
  be_fail(err, BE_NO, "%zu row%s would be refused", done.seen.misfits_count,
          done.seen.misfits_count == 1 ? "" : "s");
  return BE_NO;
}

static enum be_status with_files(const char *book_path, const char *const *paths, size_t count,
                                 const struct be_entering *how, bool looks, enum be_tried *tried,
                                 struct be_doc **out, struct be_err *err)
{
  struct be_book *book = NULL;
  for (size_t i = 0; i < count; i++) tried[i] = BE_NOT_TRIED;
  bool package = false;
  enum be_status status = enter_package(book_path, paths, count, looks, tried, &package, out, err);
  if (package) return status;
  status = be_book_open(book_path, true, &book, err);
  if (status != BE_OK) return status;
  struct given *given = be_alloc_array(count, sizeof *given);
  struct be_trace_layouts *layouts = NULL;
  struct be_entering entering = *how;
  status = given ? be_layouts_load(&layouts, err) : be_no_memory(err);
  entering.layouts = layouts;
  if (status == BE_OK && looks)
    status = look_at_all(book, paths, count, &entering, given, out, err);
  else if (status == BE_OK) status = enter_all(book, paths, count, &entering, given, out, err);
  for (size_t i = 0; given && i < count; i++) {
    tried[i] = given[i].tried;
    be_buf_free(&given[i].bytes);
  }
  be_free(given);
  be_trace_layouts_free(layouts);
  be_book_close(book);
  return status;
}

enum be_status be_app_enter_each(const char *book_path, const char *const *paths, size_t count,
                                 const struct be_entering *how, enum be_tried *tried,
                                 struct be_doc **doc, struct be_err *err)
{
  return with_files(book_path, paths, count, how, false, tried, doc, err);
}

enum be_status be_app_preview(const char *book_path, const char *const *paths, size_t count,
                              const struct be_entering *how, struct be_doc **doc,
                              struct be_err *err)
{
  enum be_tried *tried = be_alloc_array(count, sizeof *tried);
  if (!tried) return be_no_memory(err);
  enum be_status status = with_files(book_path, paths, count, how, true, tried, doc, err);
  be_free(tried);
  return status;
}

enum be_status be_app_enter(const char *book_path, const char *const *paths, size_t count,
                            const struct be_entering *how, struct be_doc **doc, struct be_err *err)
{
  enum be_tried *tried = be_alloc_array(count, sizeof *tried);
  if (!tried) return be_no_memory(err);
  enum be_status status = be_app_enter_each(book_path, paths, count, how, tried, doc, err);
  be_free(tried);
  return status;
}
