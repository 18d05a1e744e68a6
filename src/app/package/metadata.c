/* SPDX-License-Identifier: GPL-3.0-or-later */
/* datapackage.json: Frictionless Data Package 1 with Table Schema
 * (specs.frictionlessdata.io/data-package, /tabular-data-resource, /table-schema). Keys are lists,
 * as version 2 wants them and 1 allows; its "type" of a resource stands beside the profile of 1. */
#include "app/package/inside.h"

#include <jansson.h>
#include <string.h>

static json_t *words_of(const struct be_table_column *column)
{
  char words[BE_TABLE_WORDS] = "";
  column->words(words, sizeof words);
  json_t *list = json_array();
  for (const char *at = words; *at;) {
    const char *end = strstr(at, ", ");
    size_t size = end ? (size_t)(end - at) : strlen(at);
    json_array_append_new(list, json_stringn(at, size));
    at += size + (end ? 2 : 0);
  }
  return list;
}

static json_t *field_of(const struct package *package, const struct be_table_column *column)
{
  const char *unit = be_package_unit(package, column);
  json_t *field = json_pack("{s:s, s:s, s:s}", "name", column->name, "type",
                            column->number ? "number" : "string", "description", column->means);
  json_t *limits = json_object();
  if (*unit) json_object_set_new(field, "unit", json_string(unit));
  if (column->required) json_object_set_new(limits, "required", json_true());
  if (column->once) json_object_set_new(limits, "unique", json_true());
  if (column->words) json_object_set_new(limits, "enum", words_of(column));
  if (json_object_size(limits)) json_object_set(field, "constraints", limits);
  json_decref(limits);
  return field;
}

/* A column of numbers or names that stand once is the key. */
static const char *key_of(const struct be_book_table *table)
{
  for (size_t i = 0; i < table->count; i++)
    if (table->columns[i].once) return table->columns[i].name;
  return NULL;
}

static json_t *refers_of(const struct be_book_table *table)
{
  json_t *list = json_array();
  for (int i = 0; i < BE_TABLE_REFERS && table->refers[i].table; i++) {
    const struct be_table_refers *refers = &table->refers[i];
    bool two = refers->columns[1] != BE_NO_INDEX;
    const char *first = table->columns[refers->columns[0]].name;
    const char *resource = strcmp(refers->table, table->name) == 0 ? "" : refers->table;
    json_array_append_new(
        list, two ? json_pack("{s:[s,s], s:{s:s, s:[s,s]}}", "fields", first,
                              table->columns[refers->columns[1]].name, "reference", "resource",
                              resource, "fields", refers->fields[0], refers->fields[1])
                  : json_pack("{s:[s], s:{s:s, s:[s]}}", "fields", first, "reference", "resource",
                              resource, "fields", refers->fields[0]));
  }
  return list;
}

static json_t *schema_of(const struct package *package, const struct be_book_table *table)
{
  json_t *schema = json_object(), *fields = json_array();
  for (size_t i = 0; i < table->count; i++)
    json_array_append_new(fields, field_of(package, &table->columns[i]));
  json_object_set_new(schema, "fields", fields);
  json_object_set_new(schema, "missingValues", json_pack("[s]", ""));
  if (key_of(table)) json_object_set_new(schema, "primaryKey", json_pack("[s]", key_of(table)));
  json_t *refers = refers_of(table);
  if (json_array_size(refers)) json_object_set(schema, "foreignKeys", refers);
  json_decref(refers);
  return schema;
}

/* Names of resources are small letters, digits, ".", "_" and "-" alone. */
static json_t *resource_of(const struct package *package, const struct piece *piece)
{
  const struct be_book_table *table = piece->table;
  const char *worked = piece->worked ? be_package_worked_by(package) : NULL;
  const char *name =
      be_arena_format(package->arena, "%s%s", piece->worked ? "worked-" : "", table->name);
  const char *hash = be_arena_format(package->arena, "sha256:%s", piece->sha256);
  json_t *resource = json_pack(
      "{s:s, s:s, s:s, s:s, s:s, s:s, s:s, s:s, s:I, s:s}", "name", name, "path", piece->path,
      "title", piece->title, "profile", "tabular-data-resource", "type", "table", "format", "csv",
      "mediatype", "text/csv", "encoding", "utf-8", "bytes", (json_int_t)piece->size, "hash", hash);
  if (!resource) return NULL;
  if (worked) json_object_set_new(resource, "description", json_string(worked));
  json_object_set_new(resource, "dialect",
                      json_pack("{s:s, s:s, s:s, s:b, s:b, s:b}", "delimiter", ",",
                                "lineTerminator", "\r\n", "quoteChar", "\"", "doubleQuote", true,
                                "skipInitialSpace", false, "header", true));
  json_object_set_new(resource, "schema", schema_of(package, table));
  return resource;
}

static json_t *authors_of(const struct package *package)
{
  json_t *list = json_array();
  const char *name = NULL;
  for (size_t i = 0; (name = be_package_author(package, i)) != NULL; i++)
    json_array_append_new(list, json_pack("{s:s, s:s}", "title", name, "role", "author"));
  return list;
}

static json_t *package_of(const struct package *package)
{
  json_t *root = json_pack(
      "{s:s, s:s, s:s, s:s, s:[{s:s, s:s, s:s}]}", "profile", "tabular-data-package", "name",
      "break-tests-of-knots", "title", BE_PACKAGE_TITLE, "created",
      package->held[package->held_count - 1].entered_at, "licenses", "name", package->licence.name,
      "title", package->licence.title, "path", package->licence.address);
  json_t *resources = json_array();
  if (be_package_author(package, 0)) json_object_set_new(root, "contributors", authors_of(package));
  for (size_t i = 0; i < package->count; i++)
    if (package->pieces[i].table)
      json_array_append_new(resources, resource_of(package, &package->pieces[i]));
  json_object_set_new(root, "resources", resources);
  return root;
}

enum be_status be_package_metadata(struct package *package, struct be_err *err)
{
  be_package_json_begin();
  return be_package_json_add(package, "datapackage.json", "The tables, for programs",
                             package_of(package), err);
}
