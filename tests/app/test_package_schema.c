/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A package held against what is published of its formats, told here as facts:
 *  - Frictionless Data Package 1.0: the profiles data-package.json and tabular-data-resource.json
 *    (specs.frictionlessdata.io/schemas), Table Schema 1.0 and CSV Dialect 1.2;
 *  - RO-Crate 1.1 (w3id.org/ro/crate/1.1), the root data entity and its descriptor;
 *  - Citation File Format 1.2.0 (github.com/citation-file-format), its required keys. */
#define _POSIX_C_SOURCE 200809L
#include "app/package/inside.h"
#include "odd_book.h"

#include <jansson.h>

static char folder[512];

static json_t *read_json(const char *name)
{
  char path[512];
  json_error_t why;
  odd_path(path, folder, name);
  json_t *root = json_load_file(path, JSON_REJECT_DUPLICATES, &why);
  if (!root) fail_msg("%s line %d: %s", path, why.line, why.text);
  return root;
}

static const char *text_at(const json_t *object, const char *key)
{
  const char *text = json_string_value(json_object_get(object, key));
  if (!text) fail_msg("no text \"%s\"", key);
  return text;
}

static bool made_of(const char *text, const char *marks)
{
  return *text && strspn(text, marks) == strlen(text);
}

static bool among(const char *text, const char *const *list)
{
  while (*list && strcmp(*list, text) != 0) list++;
  return *list != NULL;
}

#define SMALL "abcdefghijklmnopqrstuvwxyz0123456789-._/"
#define CAPITAL "ABCDEFGHIJKLMNOPQRSTUVWXYZ"

/* ---- the data package ---- */

/* types of a field; what may limit a string, a number. */
static const char *const types[] = {
    "string",  "number", "integer",  "date",    "time",  "datetime", "year", "yearmonth",
    "boolean", "object", "geopoint", "geojson", "array", "duration", "any",  NULL};
static const char *const limits[] = {"required", "unique", "enum", NULL};
static const char *const dialect[] = {"delimiter",    "doubleQuote",   "lineTerminator",
                                      "quoteChar",    "escapeChar",    "skipInitialSpace",
                                      "header",       "commentChar",   "caseSensitiveHeader",
                                      "nullSequence", "csvddfVersion", NULL};

static void check_field(const json_t *field)
{
  const char *key;
  json_t *value;
  assert_true(*text_at(field, "name"));
  assert_true(among(text_at(field, "type"), types));
  assert_true(*text_at(field, "description"));
  json_t *constraints = json_object_get(field, "constraints");
  json_object_foreach(constraints, key, value) assert_true(among(key, limits));
  json_t *words = json_object_get(constraints, "enum");
  if (words) assert_true(json_array_size(words) >= 1);
}

static bool has_field(const json_t *schema, const char *name)
{
  size_t i;
  json_t *field;
  json_array_foreach(json_object_get(schema, "fields"), i,
                     field) if (strcmp(text_at(field, "name"), name) == 0) return true;
  return false;
}

static const json_t *resource_of(const json_t *package, const char *name)
{
  size_t i;
  json_t *resource;
  json_array_foreach(json_object_get(package, "resources"), i,
                     resource) if (strcmp(text_at(resource, "name"), name) == 0) return resource;
  fail_msg("no resource %s", name);
  return NULL;
}

static const json_t *referred(const json_t *package, const json_t *own, const json_t *key)
{
  const char *name = text_at(json_object_get(key, "reference"), "resource");
  return *name ? resource_of(package, name) : own;
}

static void check_names(const json_t *schema, const json_t *names)
{
  size_t i;
  json_t *name;
  if (json_is_string(names)) assert_true(has_field(schema, json_string_value(names)));
  else json_array_foreach(names, i, name) assert_true(has_field(schema, json_string_value(name)));
}

static void check_schema(const json_t *package, const json_t *resource)
{
  size_t i, k;
  json_t *field, *key;
  const json_t *schema = json_object_get(resource, "schema");
  const json_t *fields = json_object_get(schema, "fields");
  assert_true(json_array_size(fields) >= 1);
  json_array_foreach(fields, i, field)
  {
    check_field(field);
    for (k = 0; k < i; k++)
      assert_string_not_equal(text_at(field, "name"), text_at(json_array_get(fields, k), "name"));
  }
  assert_string_equal(
      json_string_value(json_array_get(json_object_get(schema, "missingValues"), 0)), "");
  const json_t *primary = json_object_get(schema, "primaryKey");
  if (primary) {
    assert_true(json_is_array(primary)); /* a list in version 2; a list or a text in 1 */
    check_names(schema, primary);
  }
  json_array_foreach(json_object_get(schema, "foreignKeys"), i, key)
  {
    const json_t *reference = json_object_get(key, "reference");
    const json_t *other = referred(package, resource, key);
    check_names(schema, json_object_get(key, "fields"));
    check_names(json_object_get(other, "schema"), json_object_get(reference, "fields"));
    assert_int_equal(json_array_size(json_object_get(key, "fields")),
                     json_array_size(json_object_get(reference, "fields")));
  }
}

static void check_resource(const json_t *package, const json_t *resource)
{
  char path[512], hex[65];
  struct be_buf bytes;
  const char *key, *hash = text_at(resource, "hash");
  json_t *value;
  assert_true(made_of(text_at(resource, "name"), SMALL));
  assert_string_equal(text_at(resource, "profile"), "tabular-data-resource");
  assert_null(strstr(text_at(resource, "path"), ".."));
  assert_null(strchr("./~", text_at(resource, "path")[0]));
  assert_string_equal(text_at(resource, "encoding"), "utf-8");
  json_object_foreach(json_object_get(resource, "dialect"), key, value)
      assert_true(among(key, dialect));
  odd_path(path, folder, text_at(resource, "path"));
  read_whole(path, &bytes);
  assert_true(be_utf8_valid(bytes.data, bytes.size)); /* as its encoding says */
  be_sha256_hex(bytes.data, bytes.size, hex);
  assert_true(json_integer_value(json_object_get(resource, "bytes")) == (json_int_t)bytes.size);
  assert_int_equal(strncmp(hash, "sha256:", 7), 0);
  assert_string_equal(hash + 7, hex);
  be_buf_free(&bytes);
  check_schema(package, resource);
}

static void the_data_package_is_as_its_profiles_say(void **state)
{
  (void)state;
  size_t i;
  json_t *resource, *package = read_json("datapackage.json"), *one;
  assert_string_equal(text_at(package, "profile"), "tabular-data-package");
  assert_true(made_of(text_at(package, "name"), SMALL));
  assert_int_equal(strlen(text_at(package, "created")), strlen("2026-03-01T09:30:00Z"));
  json_array_foreach(json_object_get(package, "licenses"), i, one)
  {
    assert_true(made_of(text_at(one, "name"), SMALL CAPITAL));
    assert_int_equal(strncmp(text_at(one, "path"), "https://", 8), 0);
  }
  assert_int_equal(i, 1);
  json_array_foreach(json_object_get(package, "contributors"), i, one)
      assert_true(*text_at(one, "title"));
  assert_int_equal(i, 2);
  json_array_foreach(json_object_get(package, "resources"), i, resource)
      check_resource(package, resource);
  assert_int_equal(i, BE_BOOK_TABLES + 5); /* loads, strength, standings, dictionary, entered */
  json_decref(package);
}

/* ---- the rows ---- */

enum { ROWS_MOST = 4000, COLUMNS_MOST = 40 };
struct rows {
  char *cells[ROWS_MOST];
  size_t columns, count;
};

static enum be_status keep_row(void *context, char *const *cells, size_t line, struct be_err *err)
{
  struct rows *rows = context;
  (void)line;
  (void)err;
  for (size_t i = 0; i < rows->columns; i++) {
    assert_true(rows->count < ROWS_MOST);
    rows->cells[rows->count++] = strdup(cells[i]);
  }
  return BE_OK;
}

static struct rows *read_rows(const json_t *resource)
{
  char path[512];
  struct be_buf bytes;
  struct rows *rows = calloc(1, sizeof *rows);
  struct be_err err = {0};
  rows->columns = json_array_size(json_object_get(json_object_get(resource, "schema"), "fields"));
  odd_path(path, folder, text_at(resource, "path"));
  read_whole(path, &bytes);
  if (be_csv_cells(bytes.data, bytes.size, rows->columns, keep_row, rows, &err) != BE_OK)
    fail_msg("%s line %zu: %s", path, err.line, err.what);
  be_buf_free(&bytes);
  return rows;
}

static void free_rows(struct rows *rows)
{
  for (size_t i = 0; i < rows->count; i++) free(rows->cells[i]);
  free(rows);
}

static bool listed(const json_t *words, const char *text)
{
  size_t i;
  json_t *word;
  json_array_foreach(words, i, word) if (strcmp(json_string_value(word), text) == 0) return true;
  return false;
}

static void check_cell(const json_t *field, const struct rows *rows, size_t at)
{
  const json_t *constraints = json_object_get(field, "constraints");
  const char *text = rows->cells[at];
  const char *name = text_at(field, "name");
  if (!*text) {
    if (json_is_true(json_object_get(constraints, "required"))) fail_msg("%s is empty", name);
    return;
  }
  char *end = NULL;
  if (strcmp(text_at(field, "type"), "number") == 0 && (strtod(text, &end) >= INFINITY || *end))
    fail_msg("%s is no number: %s", name, text);
  const json_t *words = json_object_get(constraints, "enum");
  if (words && !listed(words, text)) fail_msg("%s is \"%s\"", name, text);
  if (!json_is_true(json_object_get(constraints, "unique"))) return;
  for (size_t before = at % rows->columns + rows->columns; before < at; before += rows->columns)
    if (strcmp(rows->cells[before], text) == 0) fail_msg("%s twice: %s", name, text);
}

static size_t column_of(const struct rows *rows, const char *name)
{
  for (size_t i = 0; i < rows->columns; i++)
    if (strcmp(rows->cells[i], name) == 0) return i;
  fail_msg("no column %s", name);
  return 0;
}

/* A key of nothing refers to nothing. */
static void check_key(const json_t *package, const json_t *resource, const json_t *key,
                      const struct rows *rows)
{
  const json_t *fields = json_object_get(key, "fields"),
               *there = json_object_get(json_object_get(key, "reference"), "fields");
  struct rows *others = read_rows(referred(package, resource, key));
  size_t parts = json_is_string(fields) ? 1 : json_array_size(fields);
  for (size_t row = rows->columns; row < rows->count; row += rows->columns) {
    bool found = false, empty = true;
    for (size_t other = others->columns; other < others->count && !found;
         other += others->columns) {
      found = true;
      for (size_t i = 0; i < parts; i++) {
        const json_t *own =
            parts == 1 && json_is_string(fields) ? fields : json_array_get(fields, i);
        const json_t *its = parts == 1 && json_is_string(there) ? there : json_array_get(there, i);
        const char *a = rows->cells[row + column_of(rows, json_string_value(own))],
                   *b = others->cells[other + column_of(others, json_string_value(its))];
        found = found && strcmp(a, b) == 0;
        empty = empty && !*a;
      }
    }
    if (!found && !empty) fail_msg("%s: a row refers to none", text_at(resource, "name"));
  }
  free_rows(others);
}

static void every_row_is_as_the_schema_says(void **state)
{
  (void)state;
  size_t i, k;
  json_t *resource, *key, *package = read_json("datapackage.json");
  size_t all = 0;
  json_array_foreach(json_object_get(package, "resources"), i, resource)
  {
    struct rows *rows = read_rows(resource);
    const json_t *schema = json_object_get(resource, "schema");
    const json_t *fields = json_object_get(schema, "fields");
    for (k = 0; k < rows->columns; k++)
      assert_string_equal(rows->cells[k], text_at(json_array_get(fields, k), "name"));
    for (k = rows->columns; k < rows->count; k++)
      check_cell(json_array_get(fields, k % rows->columns), rows, k);
    all += rows->count / rows->columns - 1;
    json_array_foreach(json_object_get(schema, "foreignKeys"), k, key)
        check_key(package, resource, key, rows);
    free_rows(rows);
  }
  assert_true(all > 150);
  json_decref(package);
}

/* ---- the crate ---- */

static const json_t *entity(const json_t *graph, const char *id)
{
  size_t i;
  json_t *one;
  json_array_foreach(graph, i, one) if (strcmp(text_at(one, "@id"), id) == 0) return one;
  fail_msg("no entity %s", id);
  return NULL;
}

/* What stands for "%20" in an address. */
static void undo_address(const char *address, char path[512])
{
  size_t used = 0;
  for (; *address && used < 511; address++) {
    unsigned code = 0;
    if (*address == '%' && sscanf(address + 1, "%2x", &code) == 1) address += 2;
    path[used++] = code ? (char)code : *address;
  }
  path[used] = '\0';
}

static void check_file(const json_t *graph, const json_t *part)
{
  char name[512], path[512], hex[65];
  struct be_buf bytes;
  const json_t *file = entity(graph, text_at(part, "@id"));
  assert_string_equal(text_at(file, "@type"), "File");
  assert_true(*text_at(file, "name"));
  assert_non_null(strchr(text_at(file, "encodingFormat"), '/'));
  undo_address(text_at(file, "@id"), name);
  odd_path(path, folder, name);
  read_whole(path, &bytes);
  be_sha256_hex(bytes.data, bytes.size, hex);
  assert_string_equal(text_at(file, "sha256"), hex);
  assert_int_equal(strtoul(text_at(file, "contentSize"), NULL, 10), bytes.size);
  be_buf_free(&bytes);
}

static void the_crate_has_what_it_must(void **state)
{
  (void)state;
  size_t i, k;
  json_t *one, *crate = read_json("ro-crate-metadata.json");
  const json_t *graph = json_object_get(crate, "@graph");
  const json_t *context = json_object_get(crate, "@context");
  assert_string_equal(json_string_value(json_array_get(context, 0)),
                      "https://w3id.org/ro/crate/1.1/context");
  assert_string_equal(text_at(json_array_get(context, 1), "sha256"), "http://schema.org/sha256");
  json_array_foreach(graph, i, one)
  {
    assert_true(*text_at(one, "@type"));
    for (k = 0; k < i; k++)
      assert_string_not_equal(text_at(one, "@id"), text_at(json_array_get(graph, k), "@id"));
  }
  const json_t *descriptor = entity(graph, "ro-crate-metadata.json");
  assert_string_equal(text_at(descriptor, "@type"), "CreativeWork");
  assert_string_equal(text_at(json_object_get(descriptor, "about"), "@id"), "./");
  assert_string_equal(text_at(json_object_get(descriptor, "conformsTo"), "@id"),
                      "https://w3id.org/ro/crate/1.1");
  const json_t *root = entity(graph, "./");
  assert_string_equal(text_at(root, "@type"), "Dataset");
  assert_true(*text_at(root, "name") && *text_at(root, "description"));
  assert_int_equal(strlen(text_at(root, "datePublished")), 10);
  entity(graph, text_at(json_object_get(root, "license"), "@id"));
  json_array_foreach(json_object_get(root, "author"), i, one)
      assert_string_equal(text_at(entity(graph, text_at(one, "@id")), "@type"), "Person");
  assert_int_equal(i, 2);
  json_array_foreach(json_object_get(root, "hasPart"), i, one) check_file(graph, one);
  assert_true(i > 35);
  json_decref(crate);
}

/* ---- what people read ---- */

static void it_says_how_to_cite_and_what_is_worked_out(void **state)
{
  (void)state;
  static const char *const lines[] = {
      "cff-version: 1.2.0\n",
      "message: ",
      "title: ",
      "type: dataset\n",
      "authors:\n  - name: \"A. N. Other\"\n  - name: \"\\\"Quoted\\\" O\"\n",
      "license: CC-BY-4.0\n"};
  char path[512];
  struct be_buf text;
  odd_path(path, folder, "CITATION.cff");
  read_whole(path, &text);
  for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++)
    if (!strstr(text.data, lines[i])) fail_msg("no %s", lines[i]);
  be_buf_free(&text);
  odd_path(path, folder, "README.txt");
  read_whole(path, &text);
  assert_int_equal(strncmp(text.data, BE_PACKAGE_BEGINS, strlen(BE_PACKAGE_BEGINS)), 0);
  assert_non_null(strstr(text.data, "with seed 1 and 50 resamples, intervals at 95 %"));
  assert_non_null(strstr(text.data, be_notice));
  be_buf_free(&text);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_data_package_is_as_its_profiles_say),
      cmocka_unit_test(every_row_is_as_the_schema_says),
      cmocka_unit_test(the_crate_has_what_it_must),
      cmocka_unit_test(it_says_how_to_cite_and_what_is_worked_out),
  };
  char book[512];
  odd_book(book, "odd-schema.book");
  test_path(folder, "odd-schema");
  pack(book, folder);
  return be_tests("app: a package by the published rules", tests);
}
