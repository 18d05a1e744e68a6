/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A package taken back into a book. */
#include "app/package/inside.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Columns of entered.csv, in its order. */
enum {
  AT_FILE,
  AT_KIND,
  AT_NAME,
  AT_PATH,
  AT_SHA256,
  AT_ENTERED,
  AT_ALONE,
  AT_MAPPING,
  AT_SAVED,
  AT_DECIMAL,
  AT_SPECIMEN,
  AT_LAYOUT,
  AT_MADE_BY
};

struct taking {
  struct be_arena *arena;
  struct pack *pack;
  struct be_held_file *held;
  const char **paths;
  size_t count, held_capacity, paths_capacity;
};

/* ---- entered.csv ---- */

static enum be_status refuse(size_t line, const char *what, struct be_err *err)
{
  be_fail(err, BE_BAD_INPUT, "%s", what);
  be_fail_at(err, "entered.csv", line, 0);
  return be_fail_remedy(err, "take the package as it was written");
}

/* Seconds since 1970 of a moment as the book writes it; -1 where there is none such. */
static int64_t moment_of(const char *text)
{
  int year, month, day, hour, minute, second, used = 0;
  char again[32];
  if (sscanf(text, "%4d-%2d-%2dT%2d:%2d:%2dZ%n", &year, &month, &day, &hour, &minute, &second,
             &used) != 6 ||
      text[used] || year < 1970)
    return -1;
  /* Days by the count that starts a year in March (E. G. Richards, Calendrical algorithms). */
  int64_t shifted = year - (month < 3), age = shifted / 400, of = shifted - age * 400;
  int64_t days = age * 146097 + of * 365 + of / 4 - of / 100 +
                 (153 * (month + (month > 2 ? -3 : 9)) + 2) / 5 + day - 1 - 719468;
  int64_t moment = ((days * 24 + hour) * 60 + minute) * 60 + second;
  be_time_text(moment, again);
  return strcmp(again, text) == 0 ? moment : -1;
}

/* What is wrong with a row; null: nothing. */
static const char *find_fault(const struct taking *in, char *const *cells)
{
  char digits[24];
  snprintf(digits, sizeof digits, "%zu", in->count + 1);
  if (strcmp(cells[AT_FILE], digits) != 0) return "files are numbered from 1 in the order entered";
  if (!*cells[AT_KIND] || !*cells[AT_NAME]) return "the file has no kind or no name";
  if (!be_pack_path_is_plain(cells[AT_PATH])) return "the path leads out of the package";
  if (strlen(cells[AT_SHA256]) != 64) return "the hash is none of SHA-256";
  if (moment_of(cells[AT_ENTERED]) < 0)
    return "the moment is none, or not written as 2026-03-01T09:30:00Z";
  if (strcmp(cells[AT_ALONE], "yes") != 0 && strcmp(cells[AT_ALONE], "no") != 0)
    return "alone is yes or no";
  if (strlen(cells[AT_DECIMAL]) > 1 || (*cells[AT_DECIMAL] && !strchr(".,", *cells[AT_DECIMAL])))
    return "the decimal mark is a point or a comma";
  return NULL;
}

static const char *kept(struct taking *in, const char *text)
{
  return *text ? be_arena_text(in->arena, text, strlen(text)) : NULL;
}

static enum be_status make_room(struct taking *in, struct be_err *err)
{
  void *held = in->held, *paths = in->paths;
  enum be_status status = be_grow(&held, &in->held_capacity, sizeof *in->held, in->count + 1,
                                  BE_PACKAGE_FILES_MAX, err);
  in->held = held;
  if (status == BE_OK)
    status = be_grow(&paths, &in->paths_capacity, sizeof *in->paths, in->count + 1,
                     BE_PACKAGE_FILES_MAX, err);
  in->paths = paths;
  return status;
}

static enum be_status take_row(void *context, char *const *cells, size_t line, struct be_err *err)
{
  struct taking *in = context;
  if (line == 1) {
    for (size_t i = 0; i < be_entered_table.count; i++)
      if (strcmp(cells[i], be_entered_table.columns[i].name) != 0)
        return refuse(line, "the head is not the one that this version reads", err);
    return BE_OK;
  }
  const char *fault = find_fault(in, cells);
  if (fault) return refuse(line, fault, err);
  enum be_status status = make_room(in, err);
  if (status != BE_OK) return status;
  in->held[in->count] = (struct be_held_file){.id = (int64_t)in->count + 1,
                                              .kind = kept(in, cells[AT_KIND]),
                                              .name = kept(in, cells[AT_NAME]),
                                              .sha256 = kept(in, cells[AT_SHA256]),
                                              .entered_at = kept(in, cells[AT_ENTERED]),
                                              .alone = cells[AT_ALONE][0] == 'y',
                                              .mapping = kept(in, cells[AT_MAPPING]),
                                              .save_as = kept(in, cells[AT_SAVED]),
                                              .decimal = kept(in, cells[AT_DECIMAL]),
                                              .specimen = kept(in, cells[AT_SPECIMEN]),
                                              .layout = kept(in, cells[AT_LAYOUT]),
                                              .made_by = kept(in, cells[AT_MADE_BY])};
  in->paths[in->count++] = kept(in, cells[AT_PATH]);
  return be_arena_ran_out(in->arena) ? be_no_memory(err) : BE_OK;
}

static enum be_status read_entered(struct taking *in, struct be_err *err)
{
  struct be_buf bytes;
  be_buf_init(&bytes, BE_PACKAGE_LIST_MAX);
  enum be_status status = be_pack_read(in->pack, "entered.csv", &bytes, err);
  if (status == BE_OK)
    status = be_csv_cells(bytes.data, bytes.size, be_entered_table.count, take_row, in, err);
  if (status == BE_BAD_INPUT && err && !err->file[0]) be_fail_at(err, "entered.csv", err->line, 0);
  be_buf_free(&bytes);
  if (status == BE_OK && !in->count)
    return refuse(0, "the package has no file that was entered", err);
  return status;
}

/* ---- into the book ---- */

static enum be_status bytes_at(void *context, size_t at, struct be_buf *bytes, struct be_err *err)
{
  struct taking *in = context;
  char hex[65];
  enum be_status status = be_pack_read(in->pack, in->paths[at], bytes, err);
  if (status != BE_OK) return status;
  be_sha256_hex(bytes->data, bytes->size, hex);
  if (strcmp(hex, in->held[at].sha256) == 0) return BE_OK;
  return refuse(at + 2, "the hash is not that of the file", err);
}

static size_t first_other(const struct be_buf *a, const struct be_buf *b)
{
  size_t line = 1;
  for (size_t i = 0; i < a->size && i < b->size && a->data[i] == b->data[i]; i++)
    line += a->data[i] == '\n';
  return line;
}

/* The tables of the record are told twice, by themselves and by the files that were entered: one
 * must not say what the other does not. */
static enum be_status compare_table(struct taking *in, struct be_book *book,
                                    const struct be_book_table *table, size_t *rows,
                                    struct be_err *err)
{
  char path[80];
  struct be_buf made, told;
  snprintf(path, sizeof path, "record/%s.csv", table->name);
  be_buf_init(&made, BE_BOOK_FILE_MAX);
  be_buf_init(&told, BE_BOOK_FILE_MAX);
  enum be_status status =
      be_package_table(book, table, in->held, in->paths, in->count, &made, rows, err);
  if (status == BE_OK) status = be_pack_read(in->pack, path, &told, err);
  if (status == BE_OK && (made.size != told.size || memcmp(made.data, told.data, made.size) != 0)) {
    be_fail(err, BE_BAD_INPUT, "the table is not what the files of the package give");
    be_fail_at(err, path, first_other(&made, &told), 0);
    status = be_fail_remedy(err, "what is to be mended is mended in the book, by a correction; "
                                 "sheets of your own are entered by their names");
  }
  be_buf_free(&made);
  be_buf_free(&told);
  return status;
}

static bool same_text(const char *a, const char *b)
{
  return a && b ? strcmp(a, b) == 0 : a == b;
}

static bool same_file(const struct be_held_file *a, const struct be_held_file *b)
{
  return a->id == b->id && a->alone == b->alone && same_text(a->name, b->name) &&
         same_text(a->mapping, b->mapping) && same_text(a->save_as, b->save_as) &&
         same_text(a->decimal, b->decimal) && same_text(a->specimen, b->specimen) &&
         same_text(a->layout, b->layout) && same_text(a->made_by, b->made_by);
}

/* The list of files is told by the book too, now. */
static enum be_status compare_entered(struct taking *in, struct be_book *book, struct be_err *err)
{
  struct be_held_file *made = NULL;
  size_t count = 0;
  enum be_status status = be_book_files(book, in->arena, &made, &count, err);
  for (size_t i = 0; i < count && i < in->count && status == BE_OK; i++)
    if (!same_file(&made[i], &in->held[i]))
      status = refuse(i + 2, "the file was not entered as the list says", err);
  return status;
}

/* Clocks are set back, and run ahead: what a moment cannot have been is said, and kept. */
static void look_at_moments(const struct taking *in, struct be_doc *doc)
{
  size_t back = 0, ahead = 0, first_back = 0, first_ahead = 0;
  int64_t before = 0, now = be_time_s();
  char text[32];
  for (size_t i = 0; i < in->count; i++) {
    int64_t moment = moment_of(in->held[i].entered_at);
    if (moment < before && !back++) first_back = i;
    if (moment > now && !ahead++) first_ahead = i;
    before = moment;
  }
  if (back)
    be_doc_note(doc,
                "entered.csv tells moments that lie before that of the file before: %zu, the first "
                "of \"%s\" at %s. A clock was set back there, or the list was changed by hand.",
                back, in->held[first_back].name, in->held[first_back].entered_at);
  be_time_text(now, text);
  if (ahead)
    be_doc_note(
        doc,
        "entered.csv tells moments still to come: %zu, the first of \"%s\" at %s; now it is "
        "%s. A clock runs wrong there or here, or the list was changed by hand.",
        ahead, in->held[first_ahead].name, in->held[first_ahead].entered_at, text);
}

static enum be_status fill(struct taking *in, struct be_book *book, size_t rows[BE_BOOK_TABLES],
                           struct be_doc *doc, struct be_err *err)
{
  enum be_status status = be_book_begin(book, err);
  if (status != BE_OK) return status;
  status = be_book_take(book, in->held, in->count, bytes_at, in, err);
  if (status == BE_OK) status = compare_entered(in, book, err);
  for (int i = 0; i < BE_BOOK_TABLES && status == BE_OK; i++)
    status = compare_table(in, book, &be_book_tables[i], &rows[i], err);
  if (status == BE_OK) status = be_package_compare(in->pack, book, doc, err);
  look_at_moments(in, doc);
  return be_book_end(book, status, err);
}

static void say(const struct taking *in, size_t files, size_t bytes,
                const size_t rows[BE_BOOK_TABLES], struct be_doc *doc)
{
  static const struct be_column columns[] = {{"table", "table", BE_COLUMN_TEXT, false},
                                             {"rows", "rows", BE_COLUMN_NUMBER, false}};
  size_t first = be_doc_place(doc);
  const size_t pulls = rows[be_book_table("pulls") - be_book_tables],
               corrections = rows[be_book_table("corrections") - be_book_tables];
  be_doc_sentence(
      doc,
      "The book is that of the package: files %zu, entered in the order they had; pulls "
      "%zu, corrections %zu.",
      in->count, pulls, corrections);
  be_doc_sentence(doc, "All %zu files of the package, %.1f MB, are as their checksums say.", files,
                  (double)bytes / 1e6);
  be_doc_first(doc, first);
  struct be_table *table = be_doc_table(doc, "tables", "What the book holds now", columns, 2);
  for (int i = 0; i < BE_BOOK_TABLES; i++) {
    be_table_text(table, "%s", be_book_tables[i].name);
    be_table_number(table, (double)rows[i], 0);
  }
}

static enum be_status enter(const char *book_path, struct taking *in, struct be_doc **out,
                            struct be_err *err)
{
  size_t rows[BE_BOOK_TABLES] = {0}, files = 0, bytes = 0;
  struct be_book *book = NULL;
  struct be_doc *doc = be_doc_create("enter", "Entered");
  if (!doc) return be_no_memory(err);
  enum be_status status = be_book_open(book_path, true, &book, err);
  if (status == BE_OK) in->arena = be_arena_create();
  if (status == BE_OK && !in->arena) status = be_no_memory(err);
  if (status == BE_OK) status = be_pack_check(in->pack, &files, &bytes, err);
  if (status == BE_OK) status = read_entered(in, err);
  if (status == BE_OK) status = fill(in, book, rows, doc, err);
  if (status == BE_OK) say(in, files, bytes, rows, doc);
  be_book_close(book);
  be_arena_free(in->arena);
  be_free(in->held);
  be_free(in->paths);
  return be_doc_done(doc, status, out);
}

enum be_status be_package_enter(const char *book_path, const char *path, struct be_doc **doc,
                                struct be_err *err)
{
  struct taking taking = {0};
  enum be_status status = be_pack_open(path, &taking.pack, err);
  if (status == BE_OK) status = enter(book_path, &taking, doc, err);
  else if (err && !err->file[0]) be_fail_at(err, path, 0, 0);
  be_pack_close(taking.pack);
  return status;
}

enum be_status be_package_enter_bytes(const char *book_path, const char *bytes, size_t size,
                                      struct be_doc **doc, struct be_err *err)
{
  struct taking taking = {0};
  enum be_status status = be_pack_of_bytes(bytes, size, &taking.pack, err);
  if (status == BE_OK) status = enter(book_path, &taking, doc, err);
  be_pack_close(taking.pack);
  return status;
}
