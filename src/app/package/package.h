/* SPDX-License-Identifier: GPL-3.0-or-later */
/* package: the whole record as open data, in a folder or a .zip, readable without this program, and
 * taken back by it. docs/package.md tells of each file. */
#ifndef BE_APP_PACKAGE_H
#define BE_APP_PACKAGE_H

#include "app/survey/survey.h"

enum {
  BE_PACKAGE_FILES_MAX = 200000,          /* files of a package */
  BE_PACKAGE_BYTES_MAX = 1 << 30,         /* of all of them, unpacked */
  BE_PACKAGE_LIST_MAX = 64 * 1024 * 1024, /* of its checksums, and of its list of files entered */
  BE_PACKAGE_PATH_MAX = 240               /* bytes of a path in it */
};

/* Writes the package of the book that a survey was read from; a path that ends in .zip is packed.
 * Only a package is replaced, and of a folder only its own files. Says it in the document, a row of
 * `files`. BE_WRONG_USE for an unknown licence, and for what stands in the way. */
enum be_status be_package_write(const struct survey *survey, const struct be_publishing *asked,
                                struct be_doc *doc, struct be_table *files, struct be_err *err);

/* Whether a path is one: a folder, or a file that begins as a zip does. */
bool be_package_is(const char *path);
/* Enters it into a book that holds nothing, all or nothing: checksums first, then each file as it
 * was entered, then the tables of the record are held against those of the package. BE_BAD_INPUT,
 * with the name of the file, for what is not as it was written; BE_TOO_LARGE past a limit above. */
enum be_status be_package_enter(const char *book_path, const char *path, struct be_doc **doc,
                                struct be_err *err);
/* The same of the bytes of a zip. */
enum be_status be_package_enter_bytes(const char *book_path, const char *bytes, size_t size,
                                      struct be_doc **doc, struct be_err *err);

#endif
