/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The command: what is the same is settled, then each table comes in as a sheet, all or nothing. */
#include "app/merge/merge.h"

#include <stdio.h>
#include <string.h>

static const char same_usual[] = "same.csv";

/* ---- what comes in ---- */

struct came {
  size_t rows[TABLES], pictures;
};

struct sources {
  struct merging *in;
  struct be_book *other;
};

/* Rows ask for their traces in the order that they were written in. */
static enum be_status fetch_next(void *context, const char *name, struct be_buf *bytes,
                                 struct be_err *err)
{
  struct sources *from = context;
  struct merging *in = from->in;
  if (in->traces_at == in->traces_count || strcmp(in->traces[in->traces_at]->name, name) != 0)
    return be_fail(err, BE_BAD_INPUT, "the other book does not have it");
  return be_book_file(from->other, in->traces[in->traces_at++]->id, bytes, err);
}

static enum be_status enter_bytes(struct sources *from, struct be_book *book, const char *name,
                                  const struct be_buf *bytes, struct be_err *err)
{
  const struct be_entering how = {.like = from->other, .fetch = fetch_next, .fetch_context = from};
  struct be_entered entered;
  struct be_arena *arena = be_arena_create();
  if (!arena) return be_no_memory(err);
  enum be_status status =
      be_book_enter(book, name, bytes->data, bytes->size, &how, arena, &entered, err);
  be_arena_free(arena);
  return status;
}

static enum be_status enter_table(struct sources *from, struct be_book *book, size_t table,
                                  size_t *rows, struct be_err *err)
{
  struct merging *in = from->in;
  struct be_buf sheet;
  const char *name =
      be_arena_format(in->arena, "merged-%s-%s.csv", in->tag, be_book_tables[table].name);
  be_buf_init(&sheet, BE_BOOK_FILE_MAX);
  be_buf_format(&sheet, "# merged from %s.book, SHA-256 of its file %s\r\n", in->tag, in->sha256);
  enum be_status status = name ? be_rows_write(in, table, &sheet, rows, err) : be_no_memory(err);
  if (status == BE_OK && *rows) status = enter_bytes(from, book, name, &sheet, err);
  be_buf_free(&sheet);
  return status;
}

/* A picture comes in named as its knot is here, where that has none. */
static enum be_status enter_picture(struct sources *from, struct be_book *book,
                                    const struct be_knot *knot, const struct be_held_file *file,
                                    struct be_err *err)
{
  struct merging *in = from->in;
  const char *version = knot->version ? knot->version : "";
  const struct item *item = be_item_find(in, ITEM_KNOT, knot->name, version);
  const char *dot = strrchr(file->name, '.');
  struct be_buf bytes;
  if (!item) return BE_OK;
  const char *name = be_arena_format(in->arena, "%s%s%s%s", item->new_name, *version ? " " : "",
                                     item->new_part, dot ? dot : ".picture");
  be_buf_init(&bytes, BE_PICTURE_MAX);
  enum be_status status =
      name ? be_book_file(from->other, file->id, &bytes, err) : be_no_memory(err);
  if (status == BE_OK) status = enter_bytes(from, book, name, &bytes, err);
  be_buf_free(&bytes);
  return status;
}

static bool has_picture(const struct be_record *here, const struct item *item)
{
  for (size_t i = 0; i < here->knots_count; i++) {
    const char *version = here->knots[i].version;
    if (be_text_same(here->knots[i].name, item->new_name) &&
        be_text_same(version ? version : "", item->new_part) && here->knots[i].picture)
      return true;
  }
  return false;
}

static bool held_here(const struct merging *in, const char *sha256)
{
  for (size_t i = 0; i < in->here.files_count; i++)
    if (strcmp(in->here.files[i].sha256, sha256) == 0) return true;
  return false;
}

static enum be_status enter_pictures(struct sources *from, struct be_book *book,
                                     const struct be_record *here, size_t *count,
                                     struct be_err *err)
{
  struct merging *in = from->in;
  struct be_record there;
  int64_t last = 0;
  enum be_status status = be_book_read(from->other, in->arena, &there, err);
  for (size_t i = 0; status == BE_OK && i < there.knots_count; i++) {
    const struct be_knot *knot = &there.knots[i];
    const struct item *item =
        be_item_find(in, ITEM_KNOT, knot->name, knot->version ? knot->version : "");
    if (!knot->picture || knot->picture == last || !item || has_picture(here, item)) continue;
    last = knot->picture;
    const struct be_held_file *file = &in->there.files[knot->picture - 1];
    for (size_t k = 0; k < in->there.files_count; k++)
      if (in->there.files[k].id == knot->picture) file = &in->there.files[k];
    if (held_here(in, file->sha256)) continue;
    status = enter_picture(from, book, knot, file, err);
    *count += status == BE_OK;
  }
  return status;
}

static enum be_status enter_all(struct merging *in, struct be_book *book, struct be_book *other,
                                const struct be_record *here, struct came *came, struct be_err *err)
{
  struct sources from = {in, other};
  enum be_status status = BE_OK;
  be_progress_step("merging", "tables", TABLES);
  for (size_t i = 0; i < TABLES && status == BE_OK; i++) {
    be_progress_at(i);
    if (be_book_tables[i].sheet) status = enter_table(&from, book, i, &came->rows[i], err);
  }
  return status == BE_OK ? enter_pictures(&from, book, here, &came->pictures, err) : status;
}

/* ---- what is said ---- */

static size_t came_in(const struct came *came, const char *table)
{
  return came->rows[be_book_table(table) - be_book_tables];
}

static void say_names(struct merging *in)
{
  static const struct be_column columns[] = {{"kind", "kind", BE_COLUMN_TEXT, false},
                                             {"there", "there", BE_COLUMN_TEXT, false},
                                             {"here", "here", BE_COLUMN_TEXT, false},
                                             {"how", "how", BE_COLUMN_TEXT, false}};
  struct be_table *table = be_doc_table(in->doc, "names", "What things are called", columns, 4);
  size_t pulls = 0, same = 0;
  for (size_t i = 0; i < in->items_count; i++) {
    const struct item *item = &in->items[i];
    bool specimen = item->kind == ITEM_SPECIMEN;
    pulls += specimen;
    same += specimen && item->left_out;
    if (specimen && !item->told_apart) continue;
    be_table_text(table, "%s", be_item_words[item->kind]);
    be_table_text(table, "%s", be_item_called(in, item->kind, item->name, item->part));
    be_table_text(table, "%s", be_item_called(in, item->kind, item->new_name, item->new_part));
    be_table_text(table, "%s",
                  item->told_apart             ? "new, told apart"
                  : item->answer == ANSWER_YES ? "the same, as confirmed"
                                               : "new");
  }
  if (same)
    be_doc_note(in->doc, "Specimens there: %zu; of these in this book already: %zu.", pulls, same);
}

static void say_rows(struct merging *in, const struct came *came)
{
  static const struct be_column columns[] = {{"table", "table", BE_COLUMN_TEXT, false},
                                             {"there", "rows there", BE_COLUMN_NUMBER, false},
                                             {"came_in", "came in", BE_COLUMN_NUMBER, false}};
  struct be_table *table = be_doc_table(in->doc, "merged", "What came in", columns, 3);
  for (size_t i = 0; i < TABLES; i++) {
    if (!be_book_tables[i].sheet) continue;
    be_table_text(table, "%s", be_book_tables[i].name);
    be_table_number(table, (double)in->there.tables[i].rows, 0);
    be_table_number(table, (double)came->rows[i], 0);
  }
}

static void say_merged(struct merging *in, const struct came *came)
{
  size_t first = be_doc_place(in->doc);
  be_doc_sentence(in->doc,
                  "From %s came in: pulls %zu, corrections %zu, spools of line %zu, knots %zu, "
                  "benches %zu, specimens planned %zu, pictures %zu.",
                  in->tag, came_in(came, "pulls"), came_in(came, "corrections"),
                  came_in(came, "lines"), came_in(came, "knots"), came_in(came, "benches"),
                  came_in(came, "trials"), came->pictures);
  be_doc_sentence(in->doc, "Contradictions: %zu. Nothing was overwritten.", in->conflicts_count);
  be_doc_first(in->doc, first);
  say_rows(in, came);
  say_names(in);
  be_doc_note(in->doc,
              "What came in was entered as files named merged-%s-*.csv, whose first line tells the "
              "hash of the other book.",
              in->tag);
  be_doc_fact(in->doc, "other_sha256", "SHA-256 of the other book", "%s", in->sha256);
}

static void say_open(struct merging *in)
{
  static const struct be_column columns[] = {{"kind", "kind", BE_COLUMN_TEXT, false},
                                             {"here", "here", BE_COLUMN_TEXT, false},
                                             {"there", "there", BE_COLUMN_TEXT, false},
                                             {"same", "same", BE_COLUMN_TEXT, false},
                                             {"why", "why", BE_COLUMN_TEXT, false}};
  static const char *const answers[] = {"", "yes", "no"};
  size_t first = be_doc_place(in->doc);
  if (in->open)
    be_doc_sentence(in->doc,
                    "Nothing was merged: look through %s, answer its open rows (%zu) with yes or "
                    "no in the column \"same\", then give it with --same.",
                    in->same_path, in->open);
  else
    be_doc_sentence(in->doc,
                    "Nothing was merged: nothing here is like what is there, so no row of %s is "
                    "open. Look through it, then give it with --same.",
                    in->same_path);
  be_doc_first(in->doc, first);
  struct be_table *table = be_doc_table(in->doc, "same", "What may be the same", columns, 5);
  for (size_t i = 0; i < in->matches_count; i++) {
    const struct same_row *match = &in->matches[i];
    be_table_text(table, "%s", be_item_words[match->kind]);
    be_table_text(table, "%s", match->here);
    be_table_text(table, "%s", match->there);
    be_table_text(table, "%s", answers[match->answer]);
    be_table_text(table, "%s", match->why);
  }
}

/* ---- the command ---- */

static enum be_status wait_for_answers(struct merging *in, struct be_err *err)
{
  enum be_status status = be_same_write(in, err);
  if (status != BE_OK) return status;
  say_open(in);
  be_fail(err, BE_NO, "nothing was merged: open questions: %zu", in->open);
  be_fail_at(err, in->same_path, 0, 0);
  be_fail_remedy(err, "write yes or no in the column \"same\", then give it with --same");
  return BE_NO;
}

static enum be_status settle(struct merging *in, struct be_err *err)
{
  enum be_status status = be_items_gather(in, err);
  if (status == BE_OK) status = be_same_check(in, err);
  if (status == BE_OK) status = be_matches_settle(in, err);
  if (status == BE_OK && !in->open) status = be_specimens_settle(in, err);
  return status;
}

/* Answers count only for the books that they were given for: so a table is read where it is named,
 * and one that lies there already is not written over. */
static enum be_status read_answers(struct merging *in, const char *path, struct be_err *err)
{
  in->same_path = path ? path : same_usual;
  if (strcmp(in->same_path, "-") == 0 || !*in->same_path) {
    be_fail(err, BE_WRONG_USE, "the table of what is the same is read and written: it is a file");
    be_fail_remedy(err, "give its name with --same");
    return BE_WRONG_USE;
  }
  if (path || !be_file_exists(same_usual)) return be_same_read(in, err);
  be_fail(err, BE_WRONG_USE, "there is a table of what is the same already");
  be_fail_at(err, same_usual, 0, 0);
  be_fail_remedy(err, "if it is that of these two books give it with --same, else another name");
  return BE_WRONG_USE;
}

/* Once is enough: the very same book. */
static enum be_status expect_new(struct merging *in, struct be_book *book, struct be_err *err)
{
  enum { START = 400 };
  enum be_status status = BE_OK;
  for (size_t i = 0; i < in->here.files_count && status == BE_OK; i++) {
    const struct be_held_file *file = &in->here.files[i];
    if (strncmp(file->name, "merged-", 7) != 0) continue;
    struct be_buf bytes;
    be_buf_init(&bytes, BE_BOOK_FILE_MAX);
    status = be_book_file(book, file->id, &bytes, err);
    if (bytes.size > START) bytes.data[START] = '\0';
    const char *line = status == BE_OK && bytes.size ? strstr(bytes.data, in->sha256) : NULL;
    be_buf_free(&bytes);
    if (!line) continue;
    be_fail(err, BE_WRONG_USE, "this very book came in before, on %.10s, as \"%.100s\"",
            file->entered_at, file->name);
    status = be_fail_remedy(err, "there is nothing new in it");
  }
  return status;
}

/* The book is held for writing from the first look at it to the end. */
static enum be_status merge(struct merging *in, struct be_book *book, struct be_book *other,
                            struct be_err *err)
{
  struct came came = {{0}, 0};
  struct be_record here;
  enum be_status status = be_side_load(other, in->arena, &in->there, err);
  if (status == BE_OK) status = be_book_read(book, in->arena, &here, err);
  if (status != BE_OK) return status;
  status = be_book_begin(book, err);
  if (status != BE_OK) return status;
  status = be_side_load(book, in->arena, &in->here, err);
  if (status == BE_OK) status = expect_new(in, book, err);
  if (status == BE_OK) status = settle(in, err);
  if (status == BE_OK && (in->open || !in->answered)) status = wait_for_answers(in, err);
  else if (status == BE_OK) status = enter_all(in, book, other, &here, &came, err);
  status = be_book_end(book, status, err);
  if (status == BE_OK) say_merged(in, &came);
  return status;
}

/* The name stands in the first line of sheets and in names of files. */
static enum be_status name_other(struct merging *in, const char *path, struct be_err *err)
{
  struct be_buf bytes;
  const char *slash = strrchr(path, '/'), *name = slash ? slash + 1 : path;
  const char *dot = strrchr(name, '.');
  char *tag =
      be_arena_text(in->arena, name, dot && dot > name ? (size_t)(dot - name) : strlen(name));
  if (!tag) return be_no_memory(err);
  for (char *at = tag; *at; at++)
    if ((unsigned char)*at < ' ' || *at == '"' || *at == '\\') *at = '-';
  in->tag = tag;
  be_buf_init(&bytes, SIZE_MAX / 2);
  enum be_status status = be_file_read(path, &bytes, err);
  if (status == BE_OK) be_sha256_hex(bytes.data, bytes.size, in->sha256);
  be_buf_free(&bytes);
  return status;
}

static enum be_status begin(struct merging *in, struct be_err *err)
{
  in->arena = be_arena_create();
  in->doc = be_doc_create("merge", "Merged");
  return in->arena && in->doc ? BE_OK : be_no_memory(err);
}

static enum be_status open_both(const char *book_path, const char *other_path,
                                struct be_book **book, struct be_book **other, struct be_err *err)
{
  if (be_file_same(book_path, other_path)) {
    be_fail(err, BE_WRONG_USE, "a book cannot be merged with itself");
    be_fail_at(err, other_path, 0, 0);
    return be_fail_remedy(err, "name another book");
  }
  enum be_status status = be_book_open(other_path, false, other, err);
  return status == BE_OK ? be_book_open(book_path, true, book, err) : status;
}

enum be_status be_app_merge(const char *book_path, const char *other_path, const char *same_path,
                            struct be_doc **doc, struct be_err *err)
{
  struct merging in = {.open = 0};
  struct be_book *book = NULL, *other = NULL;
  enum be_status status = begin(&in, err);
  if (status == BE_OK) status = read_answers(&in, same_path, err);
  if (status == BE_OK) status = open_both(book_path, other_path, &book, &other, err);
  if (status == BE_OK) status = name_other(&in, other_path, err);
  if (status == BE_OK) status = merge(&in, book, other, err);
  be_book_close(book);
  be_book_close(other);
  if (status == BE_OK || status == BE_NO) *doc = in.doc;
  else be_doc_free(in.doc);
  be_side_free(&in.here);
  be_side_free(&in.there);
  be_free(in.items);
  be_free(in.matches);
  be_free(in.traces);
  be_arena_free(in.arena);
  return status;
}
