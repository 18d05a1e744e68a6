/* SPDX-License-Identifier: GPL-3.0-or-later */
/* ro-crate-metadata.json: RO-Crate 1.1 (w3id.org/ro/crate/1.1), the files of the package as things
 * of schema.org. */
#include "app/package/inside.h"

#include <jansson.h>
#include <stdio.h>
#include <string.h>

/* A relative address: what is not a letter, a digit or one of "-._~/" in hexadecimal. */
static const char *address_of(const struct package *package, const char *path)
{
  char *text = be_arena_alloc(package->arena, 3 * strlen(path) + 1), *out = text;
  for (const unsigned char *at = (const unsigned char *)path; text && *at; at++) {
    bool plain = (*at >= 'a' && *at <= 'z') || (*at >= 'A' && *at <= 'Z') ||
                 (*at >= '0' && *at <= '9') || strchr("-._~/", *at);
    if (plain) *out++ = (char)*at;
    else out += snprintf(out, 4, "%%%02X", *at);
  }
  return text;
}

static json_t *file_of(const struct package *package, const struct piece *piece)
{
  const char *size = be_arena_format(package->arena, "%zu", piece->size);
  json_t *file =
      json_pack("{s:s, s:s, s:s, s:s, s:s, s:s}", "@id", address_of(package, piece->path), "@type",
                "File", "name", piece->title, "encodingFormat", piece->type, "contentSize", size,
                "sha256", piece->sha256);
  if (file && piece->worked)
    json_object_set_new(file, "description", json_string(be_package_worked_by(package)));
  return file;
}

static const char *author_id(const struct package *package, size_t at)
{
  return be_arena_format(package->arena, "#author-%zu", at + 1);
}

static json_t *root_of(const struct package *package)
{
  const struct be_record *record = &package->survey->record;
  const char *words = be_arena_format(
      package->arena,
      "%zu pulls of %zu knots on %zu spools of fishing line, each to its break, with "
      "corrections, calibrations and traces",
      record->pulls_count, record->knots_count, record->lines_count);
  json_t *parts = json_array();
  for (size_t i = 0; i < package->count; i++)
    json_array_append_new(parts,
                          json_pack("{s:s}", "@id", address_of(package, package->pieces[i].path)));
  json_t *root =
      json_pack("{s:s, s:s, s:s, s:s, s:s, s:{s:s}, s:o}", "@id", "./", "@type", "Dataset", "name",
                BE_PACKAGE_TITLE, "description", words, "datePublished", package->date, "license",
                "@id", package->licence.address, "hasPart", parts);
  json_t *authors = json_array();
  for (size_t i = 0; be_package_author(package, i); i++)
    json_array_append_new(authors, json_pack("{s:s}", "@id", author_id(package, i)));
  if (json_array_size(authors)) json_object_set(root, "author", authors);
  json_decref(authors);
  return root;
}

static json_t *graph_of(const struct package *package)
{
  const char *author = NULL;
  json_t *graph = json_array();
  json_array_append_new(graph,
                        json_pack("{s:s, s:s, s:{s:s}, s:{s:s}}", "@id", "ro-crate-metadata.json",
                                  "@type", "CreativeWork", "conformsTo", "@id",
                                  "https://w3id.org/ro/crate/1.1", "about", "@id", "./"));
  json_array_append_new(graph, root_of(package));
  json_array_append_new(graph, json_pack("{s:s, s:s, s:s, s:s}", "@id", package->licence.address,
                                         "@type", "CreativeWork", "name", package->licence.title,
                                         "identifier", package->licence.name));
  for (size_t i = 0; (author = be_package_author(package, i)) != NULL; i++)
    json_array_append_new(graph, json_pack("{s:s, s:s, s:s}", "@id", author_id(package, i), "@type",
                                           "Person", "name", author));
  for (size_t i = 0; i < package->count; i++)
    json_array_append_new(graph, file_of(package, &package->pieces[i]));
  return graph;
}

enum be_status be_package_crate(struct package *package, struct be_err *err)
{
  be_package_json_begin();
  /* The context of 1.1 is older than the word for the hash. */
  json_t *root =
      json_pack("{s:[s, {s:s}], s:o}", "@context", "https://w3id.org/ro/crate/1.1/context",
                "sha256", "http://schema.org/sha256", "@graph", graph_of(package));
  return be_package_json_add(package, "ro-crate-metadata.json", "The files, for programs", root,
                             err);
}
