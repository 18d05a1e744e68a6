/* SPDX-License-Identifier: GPL-3.0-or-later */
/* All files of a package, in memory, then onto the disk. */
#include "app/package/inside.h"

#include <string.h>

struct piece *be_piece_add(struct package *package, const char *path, const char *title,
                           const char *type, struct be_err *err)
{
  void *block = package->pieces;
  if (be_grow(&block, &package->capacity, sizeof *package->pieces, package->count + 1,
              BE_PACKAGE_FILES_MAX, err) != BE_OK)
    return NULL;
  package->pieces = block;
  struct piece *piece = &package->pieces[package->count++];
  *piece = (struct piece){.path = path, .title = title, .type = type};
  be_buf_init(&piece->bytes, BE_BOOK_FILE_MAX);
  return piece;
}

enum be_status be_piece_close(struct package *package, struct piece *piece, struct be_err *err)
{
  enum be_status status = be_buf_status(&piece->bytes, err);
  if (status != BE_OK) return status;
  piece->size = piece->bytes.size;
  package->bytes += piece->size;
  be_sha256_hex(piece->bytes.data ? piece->bytes.data : "", piece->bytes.size, piece->sha256);
  if (package->bytes <= BE_PACKAGE_BYTES_MAX) return BE_OK;
  be_fail(err, BE_TOO_LARGE, "the package would have more than %d bytes", BE_PACKAGE_BYTES_MAX);
  return be_fail_remedy(err, "keep long traces packed with gzip or Zstandard, as they are entered");
}

static enum be_status add_checksums(struct package *package, struct be_err *err)
{
  size_t count = package->count;
  struct piece *piece = be_piece_add(package, BE_PACKAGE_CHECKSUMS, "Checksums", "text/plain", err);
  if (!piece) return be_no_memory(err);
  for (size_t i = 0; i < count; i++)
    be_buf_format(&piece->bytes, "%s  %s\n", package->pieces[i].sha256, package->pieces[i].path);
  return be_piece_close(package, piece, err);
}

static enum be_status refuse_empty(const char *path, struct be_err *err)
{
  be_fail(err, BE_BAD_INPUT, "the book holds nothing yet");
  be_fail_at(err, path, 0, 0);
  return be_fail_remedy(err, "enter something first");
}

/* All tables are UTF-8; a name that came from a system that writes another is read as Latin-1. */
static const char *as_utf8(struct package *package, const char *name)
{
  size_t size = strlen(name), used = 0;
  if (be_utf8_valid(name, size)) return name;
  char *text = be_arena_alloc(package->arena, 2 * size + 1);
  for (size_t i = 0; text && i < size; i++) {
    unsigned char c = (unsigned char)name[i];
    if (c >= 0x80) text[used++] = (char)(0xC0 | c >> 6);
    text[used++] = (char)(c >= 0x80 ? 0x80 | (c & 0x3F) : c);
  }
  if (text) text[used] = '\0';
  return text ? text : name;
}

static enum be_status read_held(struct package *package, struct be_book *book, struct be_err *err)
{
  enum be_status status =
      be_book_files(book, package->arena, &package->held, &package->held_count, err);
  if (status != BE_OK) return status;
  if (!package->held_count) return refuse_empty(package->survey->book_path, err);
  for (size_t i = 0; i < package->held_count; i++)
    package->held[i].name = as_utf8(package, package->held[i].name);
  const char *last = package->held[package->held_count - 1].entered_at;
  package->date = be_arena_text(package->arena, last, strlen(last) < 10 ? strlen(last) : 10);
  return package->date ? be_package_name_files(package, err) : be_no_memory(err);
}

enum be_status be_package_make(struct package *package, struct be_book *book, struct be_err *err)
{
  enum be_status status = read_held(package, book, err);
  if (status == BE_OK) status = be_package_readme(package, err);
  if (status == BE_OK) status = be_package_entered(package, err);
  if (status == BE_OK) status = be_package_record(package, book, err);
  if (status == BE_OK) status = be_package_worked(package, err);
  if (status == BE_OK) status = be_package_words(package, err);
  if (status == BE_OK) status = be_package_files(package, book, err);
  if (status == BE_OK) status = be_package_metadata(package, err);
  if (status == BE_OK) status = be_package_crate(package, err);
  return status == BE_OK && be_arena_ran_out(package->arena) ? be_no_memory(err) : status;
}

void be_package_drop(struct package *package)
{
  for (size_t i = 0; i < package->count; i++) be_buf_free(&package->pieces[i].bytes);
  be_free(package->pieces);
  package->pieces = NULL;
  package->count = 0;
}

/* The survey was read before: it must be of the same state. */
static enum be_status same_state(const struct survey *survey, struct be_book *book,
                                 const char *before, struct be_err *err)
{
  char after[BE_BOOK_STATE_MAX];
  size_t held = 0;
  enum be_status status = be_book_state(book, after, err);
  struct be_record now;
  struct be_arena *arena = be_arena_create();
  if (!arena) return be_no_memory(err);
  if (status == BE_OK) status = be_book_read(book, arena, &now, err);
  for (size_t i = 0; status == BE_OK && i < now.pulls_count && i < survey->record.pulls_count; i++)
    held += now.pulls[i].result == survey->record.pulls[i].result;
  bool same = status != BE_OK || (strcmp(before, after) == 0 && held == now.pulls_count &&
                                  held == survey->record.pulls_count);
  be_arena_free(arena);
  if (same) return status;
  be_fail(err, BE_FAILED, "the book was written to meanwhile");
  be_fail_at(err, survey->book_path, 0, 0);
  return be_fail_remedy(err, "publish it again");
}

static enum be_status make_of_book(struct package *package, struct be_err *err)
{
  struct be_book *book = NULL;
  char state[BE_BOOK_STATE_MAX];
  enum be_status status = be_book_open(package->survey->book_path, false, &book, err);
  if (status != BE_OK) return status;
  status = be_book_state(book, state, err);
  if (status == BE_OK) status = be_package_make(package, book, err);
  if (status == BE_OK) status = add_checksums(package, err);
  if (status == BE_OK) status = same_state(package->survey, book, state, err);
  be_book_close(book);
  return status;
}

static void say(const struct package *package, struct be_doc *doc, struct be_table *files)
{
  const char *path = package->asked->package_path;
  be_table_text(files, "package of %zu files", package->count);
  be_table_text(files, "%s", path);
  if (!package->asked->licence)
    be_doc_note(doc, "No licence was told: the package says %s. --licence gives another.",
                package->licence.name);
  if (!package->asked->authors)
    be_doc_note(doc, "No author was told: the citation has none. --author gives the names.");
}

static bool is_zip(const char *path)
{
  const char *dot = strrchr(path, '.');
  return dot && be_text_same(dot, ".zip");
}

enum be_status be_package_write(const struct survey *survey, const struct be_publishing *asked,
                                struct be_doc *doc, struct be_table *files, struct be_err *err)
{
  struct package package = {.arena = be_arena_create(), .survey = survey, .asked = asked};
  bool authors_are_text = !asked->authors || be_utf8_valid(asked->authors, strlen(asked->authors));
  if (!package.arena) return be_no_memory(err);
  enum be_status status = be_package_licence(asked->licence, &package.licence, err);
  if (status == BE_OK && !authors_are_text) {
    be_fail(err, BE_WRONG_USE, "the names of the authors are not UTF-8");
    status = be_fail_remedy(err, "write them so");
  }
  if (status == BE_OK) status = make_of_book(&package, err);
  if (status == BE_OK)
    status = is_zip(asked->package_path)
                 ? be_package_put_zip(&package, asked->package_path, err)
                 : be_package_put_folder(&package, asked->package_path, err);
  if (status == BE_OK) say(&package, doc, files);
  be_package_drop(&package);
  be_arena_free(package.arena);
  return status;
}
