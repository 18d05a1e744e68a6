/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a person reads first, the licence, how it is cited, and what every column means. */
#include "app/package/inside.h"

#include <string.h>

/* Names of the SPDX list (spdx.org/licenses), titles and addresses of those who wrote them. */
static const struct licence licences[] = {
    {"CC-BY-4.0", "Creative Commons Attribution 4.0 International",
     "https://creativecommons.org/licenses/by/4.0/"},
    {"CC0-1.0", "CC0 1.0 Universal", "https://creativecommons.org/publicdomain/zero/1.0/"},
    {"CC-BY-SA-4.0", "Creative Commons Attribution-ShareAlike 4.0 International",
     "https://creativecommons.org/licenses/by-sa/4.0/"},
    {"ODbL-1.0", "Open Data Commons Open Database License 1.0",
     "https://opendatacommons.org/licenses/odbl/1-0/"},
    {"ODC-By-1.0", "Open Data Commons Attribution License 1.0",
     "https://opendatacommons.org/licenses/by/1-0/"},
    {"PDDL-1.0", "Open Data Commons Public Domain Dedication and License 1.0",
     "https://opendatacommons.org/licenses/pddl/1-0/"},
};
enum { LICENCES = sizeof licences / sizeof licences[0] };

enum be_status be_package_licence(const char *name, struct licence *licence, struct be_err *err)
{
  if (!name) name = licences[0].name;
  for (int i = 0; i < LICENCES; i++)
    if (be_text_same(name, licences[i].name)) {
      *licence = licences[i];
      return BE_OK;
    }
  char known[200] = "";
  for (int i = 0; i < LICENCES; i++) {
    strcat(known, i ? ", " : "");
    strcat(known, licences[i].name);
  }
  be_fail(err, BE_WRONG_USE, "\"%.80s\" is not a licence for data that is known here", name);
  return be_fail_remedy(err, "give --licence one of: %s", known);
}

const char *be_package_unit(const struct package *package, const struct be_table_column *column)
{
  const char *open = strrchr(column->name, '(');
  if (!open || open[strlen(open) - 1] != ')' || strcmp(open, "(1)") == 0) return "";
  const char *unit = be_arena_text(package->arena, open + 1, strlen(open) - 2);
  return unit ? unit : "";
}

/* ---- README.txt ---- */

static void say_files(struct package *package, struct be_buf *out)
{
  be_buf_text(out, "What lies here\n\n");
  for (int i = 0; i < BE_BOOK_TABLES; i++)
    be_buf_format(out, "  record/%s.csv%*s%s\n", be_book_tables[i].name,
                  (int)(20 - strlen(be_book_tables[i].name)), "", be_book_tables[i].title);
  be_buf_format(
      out,
      "  worked/*.csv                   worked out from the record: loads, strength, standings\n"
      "  dictionary.csv                 every column: meaning, unit, words allowed\n"
      "  entered.csv                    files in the order entered, how each was read, its hash\n"
      "  sheets/, traces/, pictures/    those files, byte for byte\n"
      "  datapackage.json               the tables for programs (Frictionless Data Package 1)\n"
      "  ro-crate-metadata.json         the files for programs (RO-Crate 1.1)\n"
      "  CITATION.cff, LICENCE.txt      how to cite it, and what may be done with it\n"
      "  %s               SHA-256 of every other file; `sha256sum -c %s`\n\n",
      BE_PACKAGE_CHECKSUMS, BE_PACKAGE_CHECKSUMS);
  be_buf_format(out, "%s.\n\n", be_package_worked_by(package));
}

enum be_status be_package_readme(struct package *package, struct be_err *err)
{
  struct piece *piece = be_piece_add(package, "README.txt", "Read this first", "text/plain", err);
  if (!piece) return be_no_memory(err);
  struct be_buf *out = &piece->bytes;
  const struct be_record *record = &package->survey->record;
  be_buf_format(out,
                BE_PACKAGE_BEGINS
                " %s.\n\n" BE_PACKAGE_TITLE
                ": %zu pulls of %zu knots on %zu spools of line, last entered on %s.\n"
                "Licence: %s (%s).\n\n",
                be_version, record->pulls_count, record->knots_count, record->lines_count,
                package->date, package->licence.name, package->licence.address);
  say_files(package, out);
  be_buf_text(
      out,
      "How to read it\n\n"
      "Tables are CSV (RFC 4180) in UTF-8, a point before decimals; units stand in the head of\n"
      "their column. An empty cell is \"not recorded\"; the word \"none\" is none. A pull has one\n"
      "row in record/pulls.csv, with its first result; record/corrections.csv has what replaced\n"
      "it later, in order: the last one holds. record/results.csv has all results in one table.\n"
      "An event let go at its load; a lower bound held at least that much and is no event; a void\n"
      "does not count, for its reason. Where no load was typed it is that of the trace:\n"
      "worked/loads.csv has it. What let go has three columns: what, where, which.\n"
      "Names join the tables: specimen is the code of a pull in all of them; line and spool lead "
      "to\n"
      "record/lines.csv, knot and version to record/knots.csv, bench to record/benches.csv. A "
      "knot\n"
      "\"none\" is plain line: what a knot's strength is divided by. Efficiency is the mean load "
      "of\n"
      "a knot over that of the plain line of the weaker line that it is tied in. dictionary.csv "
      "has\n"
      "every other word.\n\n"
      "With the program: `bitterend new BOOK`, then `bitterend enter BOOK THIS`, gives the book\n"
      "again, with the same standings. By hand: the sheets of record/ can be entered one by one.\n"
      "Names of people stand here as they were written into the record.\n\n");
  be_buf_text(out, be_notice);
  be_buf_char(out, '\n');
  return be_piece_close(package, piece, err);
}

const char *be_package_author(const struct package *package, size_t at)
{
  const char *from = package->asked->authors;
  from = from ? from + strspn(from, "; ") : "";
  for (; *from; at--) {
    size_t length = strcspn(from, ";"), used = length;
    while (used && from[used - 1] == ' ') used--;
    if (at == 0) return be_arena_text(package->arena, from, used);
    from += length;
    from += strspn(from, "; ");
  }
  return NULL;
}

/* ---- LICENCE.txt, CITATION.cff ---- */

static enum be_status write_licence(struct package *package, struct be_err *err)
{
  struct piece *piece = be_piece_add(package, "LICENCE.txt", "Licence", "text/plain", err);
  if (!piece) return be_no_memory(err);
  be_buf_format(&piece->bytes,
                "%s\n%s\n%s\n\nThe data may be used as that licence says. Its text stands at the "
                "address.\n",
                package->licence.name, package->licence.title, package->licence.address);
  return be_piece_close(package, piece, err);
}

/* In quotes as JSON has them, which YAML reads alike. */
static enum be_status write_citation(struct package *package, struct be_err *err)
{
  struct piece *piece = be_piece_add(package, "CITATION.cff", "How to cite it", "text/yaml", err);
  if (!piece) return be_no_memory(err);
  struct be_buf *out = &piece->bytes;
  be_buf_text(out, "cff-version: 1.2.0\n"
                   "message: \"If you use these data, please cite them as below.\"\n"
                   "type: dataset\n"
                   "title: \"" BE_PACKAGE_TITLE "\"\n"
                   "authors:\n");
  const char *name = be_package_author(package, 0);
  if (!name) be_buf_text(out, "  - name: \"not told\"\n");
  for (size_t i = 0; (name = be_package_author(package, i)) != NULL; i++) {
    be_buf_text(out, "  - name: ");
    be_json_string(out, name);
    be_buf_char(out, '\n');
  }
  be_buf_format(out, "date-released: %s\nlicense: %s\nlicense-url: \"%s\"\n", package->date,
                package->licence.name, package->licence.address);
  return be_piece_close(package, piece, err);
}

/* ---- dictionary.csv ---- */

static const struct be_table_column dictionary[] = {
    {"table", "path of the table", false, true, false, BE_TABLE_PLAIN, NULL},
    {"column", "as its head has it", false, true, false, BE_TABLE_PLAIN, NULL},
    {"type", "number or text", false, true, false, BE_TABLE_PLAIN, NULL},
    {"unit", "of its numbers", false, false, false, BE_TABLE_PLAIN, NULL},
    {"means", "what it means", false, true, false, BE_TABLE_PLAIN, NULL},
    {"words", "those allowed, with commas between; empty: any", false, false, false, BE_TABLE_PLAIN,
     NULL},
    {"empty", "what an empty cell means", false, true, false, BE_TABLE_PLAIN, NULL},
};
static const struct be_book_table dictionary_table = {
    "dictionary", "Every column of every table",
    dictionary,   sizeof dictionary / sizeof dictionary[0],
    {{{0}}},      false,
    NULL,
};

static void explain(const struct package *package, struct be_buf *out, const char *path,
                    const struct be_table_column *column)
{
  char words[BE_TABLE_WORDS] = "";
  if (column->words) column->words(words, sizeof words);
  const char *const cells[] = {path,
                               column->name,
                               column->number ? "number" : "text",
                               be_package_unit(package, column),
                               column->means,
                               words,
                               column->required ? "never empty" : "not recorded"};
  for (size_t i = 0; i < sizeof cells / sizeof cells[0]; i++) {
    if (i) be_buf_char(out, ',');
    be_csv_text(out, cells[i]);
  }
  be_buf_text(out, "\r\n");
}

static enum be_status write_dictionary(struct package *package, struct be_err *err)
{
  struct piece *piece =
      be_piece_add(package, "dictionary.csv", dictionary_table.title, "text/csv", err);
  if (!piece) return be_no_memory(err);
  piece->table = &dictionary_table;
  struct be_buf *out = &piece->bytes;
  for (size_t i = 0; i < dictionary_table.count; i++) {
    if (i) be_buf_char(out, ',');
    be_csv_text(out, dictionary[i].name);
  }
  be_buf_text(out, "\r\n");
  for (size_t i = 0; i < package->count; i++) {
    const struct be_book_table *table = package->pieces[i].table;
    for (size_t k = 0; table && k < table->count; k++)
      explain(package, out, package->pieces[i].path, &table->columns[k]);
  }
  return be_piece_close(package, piece, err);
}

enum be_status be_package_words(struct package *package, struct be_err *err)
{
  enum be_status status = write_licence(package, err);
  if (status == BE_OK) status = write_citation(package, err);
  return status == BE_OK ? write_dictionary(package, err) : status;
}
