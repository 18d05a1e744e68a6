/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the files of the package share. */
#ifndef BE_APP_PACKAGE_INSIDE_H
#define BE_APP_PACKAGE_INSIDE_H

#include "app/package/package.h"
#include "app/sheet.h"

#define BE_PACKAGE_BEGINS "An open data package, written by bitterend"
#define BE_PACKAGE_TITLE "Break tests of knots in fishing line"
#define BE_PACKAGE_CHECKSUMS "checksums.sha256"

/* A file of the package. */
struct piece {
  const char *path, *title;
  const char *type; /* "text/csv" */
  const struct be_book_table *table;
  bool worked; /* worked out from the rest */
  struct be_buf bytes;
  size_t size; /* of its bytes, also when they are no longer held */
  char sha256[65];
};

struct licence {
  const char *name, *title, *address;
};

struct package {
  struct be_arena *arena;
  const struct survey *survey;
  const struct be_publishing *asked;
  struct licence licence;
  const char *date; /* of the last file entered */
  bool thin;        /* the bytes of files entered are not held */
  struct be_held_file *held;
  size_t held_count;
  const char **paths; /* of each held file, in the package */
  struct piece *pieces;
  size_t count, capacity, bytes;
};

/* A new file; null when memory is out. Close it when its bytes are written. */
struct piece *be_piece_add(struct package *package, const char *path, const char *title,
                           const char *type, struct be_err *err);
enum be_status be_piece_close(struct package *package, struct piece *piece, struct be_err *err);

/* make.c: all of it but the checksums, from a book that is open. */
enum be_status be_package_make(struct package *package, struct be_book *book, struct be_err *err);
void be_package_drop(struct package *package); /* its pieces; the arena stays */

/* record.c: where files lie, what was entered, the tables of the record. */
extern const struct be_book_table be_entered_table;
enum be_status be_package_name_files(struct package *package, struct be_err *err);
enum be_status be_package_entered(struct package *package, struct be_err *err);
enum be_status be_package_record(struct package *package, struct be_book *book, struct be_err *err);
enum be_status be_package_files(struct package *package, struct be_book *book, struct be_err *err);
/* One table, as it stands in a package: paths[i] is where the file held[i] lies. */
enum be_status be_package_table(struct be_book *book, const struct be_book_table *table,
                                const struct be_held_file *held, const char *const *paths,
                                size_t count, struct be_buf *out, size_t *rows, struct be_err *err);

/* worked.c: strength, standings and loads, worked out. */
enum be_status be_package_worked(struct package *package, struct be_err *err);
/* "Worked out by bitterend 0.9 with seed 1 ...", in the arena; null when memory is out. */
const char *be_package_worked_by(const struct package *package);

/* words.c: what a person reads first; the dictionary. */
enum be_status be_package_licence(const char *name, struct licence *licence, struct be_err *err);
enum be_status be_package_readme(struct package *package, struct be_err *err);
enum be_status be_package_words(struct package *package, struct be_err *err);
/* An author, from 0 on, in the arena; null past the last. */
const char *be_package_author(const struct package *package, size_t at);
/* The unit of a column, "m"; "" without one. In the arena. */
const char *be_package_unit(const struct package *package, const struct be_table_column *column);

/* metadata.c, crate.c */
enum be_status be_package_metadata(struct package *package, struct be_err *err);
enum be_status be_package_crate(struct package *package, struct be_err *err);

/* json.c: call the first before anything is made; the second writes what was made, a json_t, and
 * takes it over. */
void be_package_json_begin(void);
bool be_package_json_lost(void); /* memory was out since then */
enum be_status be_package_json_add(struct package *package, const char *path, const char *title,
                                   void *made, struct be_err *err);

/* put.c, zip.c: onto the disk. */
enum be_status be_package_put_folder(struct package *package, const char *path, struct be_err *err);
enum be_status be_package_put_zip(struct package *package, const char *path, struct be_err *err);
enum be_status be_zip_make(const struct package *package, struct be_buf *out, struct be_err *err);

/* open.c: a package that is read. */
struct pack;
enum be_status be_pack_open(const char *path, struct pack **pack, struct be_err *err);
enum be_status be_pack_of_bytes(const char *bytes, size_t size, struct pack **pack,
                                struct be_err *err);
void be_pack_close(struct pack *pack);
/* A file of it, named without tricks; held against the checksums, but for them. BE_NO when there
 * is none. */
enum be_status be_pack_read(struct pack *pack, const char *path, struct be_buf *bytes,
                            struct be_err *err);
/* Reads every file that the checksums list and holds it against them. */
enum be_status be_pack_check(struct pack *pack, size_t *files, size_t *bytes, struct be_err *err);
/* What the checksums say of a file; null where they do not list it. */
const char *be_pack_sum(const struct pack *pack, const char *path);
/* The files that the checksums list, by path; null past the last. */
const char *be_pack_path(const struct pack *pack, size_t at);
/* How many files lie beside those that the checksums list, and one of them, cut. */
size_t be_pack_strangers(const struct pack *pack, char one[BE_PACKAGE_PATH_MAX + 1]);
/* Whether a path names a file inside: relative, no "..", nothing that another system reads
 * otherwise. */
bool be_pack_path_is_plain(const char *path);
/* A file of a folder; no part of the path may be a link, which could lead anywhere. BE_NO where
 * there is none. */
enum be_status be_pack_read_plain(const char *folder, const char *path, struct be_buf *bytes,
                                  struct be_err *err);
/* One line of the checksums, the end of line made a NUL; false for anything else. */
bool be_pack_line(char **at, const char **sha256, const char **path);
/* lying_posix.c: calls seen with the path, from the folder on, of each file that lies in it. */
typedef void be_file_seen(void *context, const char *path);
void be_folder_files(const char *folder, be_file_seen *seen, void *context);
/* zip_read.c */
struct zip_pack;
enum be_status be_zip_open(const char *bytes, size_t size, struct zip_pack **zip,
                           struct be_err *err);
void be_zip_close(struct zip_pack *zip);
/* Null past the last file; *inside: it lies where the package does, not beside its folder. */
const char *be_zip_name(const struct zip_pack *zip, size_t at, bool *inside);
enum be_status be_zip_read(struct zip_pack *zip, const char *path, struct be_buf *bytes,
                           struct be_err *err);

/* compare.c: a package held against the book that it became; says it in the document. The book is
 * in a transaction. */
enum be_status be_package_compare(struct pack *pack, struct be_book *book, struct be_doc *doc,
                                  struct be_err *err);

#endif
