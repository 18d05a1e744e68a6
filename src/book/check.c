/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Is every byte, rule and derived figure in the book still right. */
#include "book/inside.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char damaged[] = "the file is damaged";

/* The look at the file's structure tells of a page that memory had no room for in
 * a row, like a page that is damaged: only the number in its words is another. */
static bool tells_of_memory(const char *fault)
{
  const char *code = strstr(fault, "unable to get the page. error code=");
  int number = code ? atoi(strchr(code, '=') + 1) : 0;
  return number == SQLITE_NOMEM || number == SQLITE_IOERR_NOMEM;
}

/* The first row of a query is a fault; its first column says which. */
static enum be_status expect_none(struct be_book *book, const char *sql, const char *fault,
                                  struct be_err *err)
{
  sqlite3_stmt *s = NULL;
  enum be_status status = be_sql_prepare(book->db, sql, &s, err);
  bool row = false;
  if (status == BE_OK) status = be_sql_step(s, &row, err);
  if (status == BE_OK && row) {
    const char *which = (const char *)sqlite3_column_text(s, 0);
    if (which && fault == damaged && tells_of_memory(which))
      status = be_fail(err, BE_NO_MEMORY, "no memory for the check");
    else status = be_fail(err, BE_NO, "%s: %s", fault, which ? which : "?");
  }
  sqlite3_finalize(s);
  return status;
}

static enum be_status check_figures(struct be_book *book, sqlite3_stmt *s, const char *name,
                                    struct be_err *err)
{
  struct derived now;
  enum be_status status = be_derive_file(book, sqlite3_column_int64(s, 12), &now, err);
  if (status != BE_OK) return status;
  if (be_same_number(s, 3, now.peak_N) && be_same_number(s, 4, now.zero_N) &&
      be_same_number(s, 5, now.rise_N) && be_same_number(s, 6, now.first_slip_N) &&
      be_same_number(s, 7, now.time_to_peak_s) && be_same_number(s, 8, now.bound) &&
      be_same_text(s, 9, now.ending) && be_same_text(s, 10, now.flags) &&
      be_same_number(s, 13, now.missed_N) && be_same_number(s, 14, now.drift_N))
    return BE_OK;
  be_fail(err, BE_NO, "the figures kept for trace \"%s\" are not what its bytes give", name);
  if (!be_same_text(s, 11, BE_FIGURES_BY))
    return be_fail_remedy(err,
                          "another version of the program made them; they are made again when "
                          "the book is next opened for writing, such as with `bitterend enter`");
  return be_fail_remedy(err,
                        "throw them away (in SQL: DELETE FROM derived WHERE trace = %lld); they "
                        "are made again when the book is next opened for writing",
                        (long long)sqlite3_column_int64(s, 12));
}

static enum be_status check_file(struct be_book *book, sqlite3_stmt *s,
                                 struct be_book_check *checked, struct be_err *err)
{
  const char *name = (const char *)sqlite3_column_text(s, 0);
  const char *stored = (const char *)sqlite3_column_text(s, 1);
  const char *bytes = sqlite3_column_blob(s, 2);
  size_t size = (size_t)sqlite3_column_bytes(s, 2);
  char hex[65];
  be_sha256_hex(bytes ? bytes : "", size, hex);
  checked->files++;
  if (!stored || strcmp(stored, hex) != 0)
    return be_fail(err, BE_NO, "the bytes of file \"%s\" are not those that were entered",
                   name ? name : "?");
  if (sqlite3_column_type(s, 3) == SQLITE_NULL) return BE_OK;
  checked->derived++;
  return check_figures(book, s, name ? name : "?", err);
}

static enum be_status check_files(struct be_book *book, struct be_book_check *checked,
                                  struct be_err *err)
{
  sqlite3_stmt *s = NULL;
  enum be_status status =
      be_sql_prepare(book->db,
                     "SELECT name, sha256, bytes, peak_N, zero_N, rise_N, first_slip_N,"
                     " time_to_peak_s, bound, ending, flags, made_by, trace, missed_N, drift_N "
                     "FROM file LEFT JOIN derived ON "
                     "derived.trace = file.id ORDER BY file.id",
                     &s, err);
  bool row = true;
  while (status == BE_OK) {
    status = be_sql_step(s, &row, err);
    if (status != BE_OK || !row) break;
    status = check_file(book, s, checked, err);
  }
  sqlite3_finalize(s);
  return status;
}

/* Whether the load is one that the text typed can mean. How the rest of its
 * sheet wrote numbers is not kept, so either decimal mark will do. */
static bool load_fits(const char *typed, const char *unit_name, double load_N)
{
  const struct be_unit *unit = be_unit_find_in(BE_FORCE, unit_name, strlen(unit_name));
  struct be_quantity quantity;
  for (const char *usual = ".,"; *usual; usual++) {
    if (be_quantity_parse(typed, strlen(typed), BE_FORCE, unit, *usual, &quantity, NULL) == BE_OK &&
        quantity.value == load_N)
      return true;
    char plain[128];
    size_t used = 0;
    for (const char *at = typed; *at && used + 1 < sizeof plain; at++)
      if (*at == *usual || (*at != '.' && *at != ',')) plain[used++] = *at;
    if (be_quantity_parse(plain, used, BE_FORCE, unit, *usual, &quantity, NULL) == BE_OK &&
        quantity.value == load_N)
      return true;
  }
  return false;
}

static enum be_status check_loads(struct be_book *book, struct be_err *err)
{
  sqlite3_stmt *s = NULL;
  bool row = true;
  enum be_status status = be_sql_prepare(
      book->db, "SELECT id, load_N, ifnull(load_text, ''), ifnull(load_unit, '') FROM result", &s,
      err);
  while (status == BE_OK) {
    status = be_sql_step(s, &row, err);
    if (status != BE_OK || !row) break;
    double load_N = be_column_number(s, 1);
    const char *typed = (const char *)sqlite3_column_text(s, 2);
    const char *unit = (const char *)sqlite3_column_text(s, 3);
    if (!typed || !unit) status = be_fail(err, BE_NO_MEMORY, "no memory for the check");
    else if (isnan(load_N) ? *typed != '\0' : !load_fits(typed, unit, load_N))
      status = be_fail(err, BE_NO, "the load of result %lld is not the \"%s\" that was typed",
                       (long long)sqlite3_column_int64(s, 0), typed);
  }
  sqlite3_finalize(s);
  return status;
}

enum be_status be_book_check(struct be_book *book, struct be_book_check *checked,
                             struct be_err *err)
{
  memset(checked, 0, sizeof *checked);
  static const struct {
    const char *sql, *fault;
  } rules[] = {
      {"SELECT integrity_check FROM pragma_integrity_check WHERE integrity_check <> 'ok'", damaged},
      {"SELECT \"table\" FROM pragma_foreign_key_check", "a row points at nothing, in table"},
      {"SELECT specimen.code FROM pull JOIN specimen ON specimen.id = pull.specimen WHERE"
       " (SELECT count(*) FROM result WHERE result.pull = pull.id AND NOT EXISTS"
       " (SELECT 1 FROM result AS later WHERE later.corrects = result.id)) <> 1",
       "not exactly one standing result for specimen"},
      {"SELECT result.id FROM result WHERE kind <> 'void' AND load_N IS NULL AND NOT EXISTS"
       " (SELECT 1 FROM pull WHERE pull.id = result.pull AND trace IS NOT NULL)",
       "no load for result"},
      {"SELECT code FROM specimen WHERE (design = 'plain line') <> (knot IS NULL)",
       "plain line and knot disagree for specimen"},
      {"SELECT code FROM specimen WHERE knot_b IS NOT NULL AND (design IS NULL OR design IN"
       " ('plain line', 'single knot') OR design = 'two same' AND knot_b <> knot OR"
       " design = 'two different' AND knot_b = knot)",
       "design and knot B disagree for specimen"},
      {"SELECT code FROM result JOIN pull ON pull.id = pull JOIN specimen ON specimen.id = specimen"
       " WHERE which = 'knot B' AND knot_b IS NULL AND"
       " ifnull(design, '') NOT IN ('two same', 'two different')",
       "what let go was knot B, but there is none in specimen"},
  };
  enum be_status status = be_sql_run(book->db, "BEGIN", err);
  for (size_t i = 0; i < sizeof rules / sizeof rules[0] && status == BE_OK; i++)
    status = expect_none(book, rules[i].sql, rules[i].fault, err);
  if (status == BE_OK) status = check_loads(book, err);
  if (status == BE_OK) status = check_files(book, checked, err);
  if (status == BE_OK)
    status = be_count_rows(book, "SELECT count(*) FROM pull", 0, &checked->pulls, err);
  if (status == BE_OK) status = be_check_again(book, err);
  be_sql_rollback(book);
  if (status != BE_OK) be_fail_at(err, book->path, 0, 0);
  return status;
}
