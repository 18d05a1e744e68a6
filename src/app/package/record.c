/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Files as they were entered, where they lie in the package, and the tables of the record. */
#include "app/package/inside.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define TEXT(name, means)                                                                          \
  {                                                                                                \
    name, means, false, false, false, BE_TABLE_PLAIN, NULL                                         \
  }
#define NEEDED(name, means, once)                                                                  \
  {                                                                                                \
    name, means, false, true, once, BE_TABLE_PLAIN, NULL                                           \
  }

static void file_kinds(char *list, size_t size)
{
  snprintf(list, size,
           "pull sheet, line sheet, knot sheet, bench sheet, trial sheet, rule sheet, calibration "
           "sheet, check weight sheet, evidence sheet, trace, picture");
}

static void yes_or_no(char *list, size_t size)
{
  snprintf(list, size, "yes, no");
}

static const struct be_table_column entered[] = {
    {"file", "number of the file, in the order entered", true, true, true, BE_TABLE_PLAIN, NULL},
    {"kind", "what it is", false, true, false, BE_TABLE_PLAIN, file_kinds},
    NEEDED("name", "its name as it was entered", false),
    NEEDED("path", "where it lies in this package, byte for byte", true),
    NEEDED("sha256", "SHA-256 of its bytes", true),
    NEEDED("entered at", "when, UTC", false),
    {"alone", "yes: entered by itself; no: named by the sheet before", false, true, false,
     BE_TABLE_PLAIN, yes_or_no},
    TEXT("mapping", "rules by which columns of another shape were read"),
    TEXT("saved as", "the name that the rules were kept under"),
    TEXT("decimal mark", "as answered when it was asked"),
    TEXT("specimen", "the specimen that a trace was said to belong to"),
    TEXT("layout", "saved layout by which a trace was read"),
    TEXT("made by", "version of the program that read it"),
};
const struct be_book_table be_entered_table = {
    "entered", "Files in the order entered, and how each was read",
    entered,   sizeof entered / sizeof entered[0],
    {{{0}}},   false,
    NULL,
};

/* ---- where files lie ---- */

static const char *folder_of(const struct be_held_file *file)
{
  if (strcmp(file->kind, "trace") == 0) return "traces";
  return strcmp(file->kind, "picture") == 0 ? "pictures" : "sheets";
}

/* What stands behind the last slash, cut, of characters that every system takes. */
static void plain_name(const char *name, char out[121])
{
  enum { MOST = 120 };
  const char *slash = strrchr(name, '/');
  const char *at = slash ? slash + 1 : name;
  size_t used = 0, size = strlen(at), left = size;
  if (size > MOST) at += size - MOST, left = MOST; /* the ending says what it is */
  uint32_t code = 0;
  while (left) {
    size_t length = be_utf8_next(at, left, &code);
    bool odd =
        !length || code < 0x20 || code == 0x7F || (code < 0x80 && strchr("\\:*?\"<>|", (int)code));
    if (!length) length = 1;
    if (odd) out[used++] = '_';
    else memcpy(out + used, at, length), used += length;
    at += length;
    left -= length;
  }
  while (used && (out[used - 1] == ' ' || out[used - 1] == '.')) used--;
  out[used] = '\0';
  if (out[0] == '.' || out[0] == ' ') out[0] = '_';
}

struct placed {
  const char *folder;
  char name[121];
  size_t at;
};

static int by_name(const void *a, const void *b)
{
  const struct placed *x = a, *y = b;
  int order = strcmp(x->folder, y->folder);
  for (size_t i = 0; !order; i++) {
    int c = x->name[i], d = y->name[i];
    if (c >= 'A' && c <= 'Z') c += 'a' - 'A';
    if (d >= 'A' && d <= 'Z') d += 'a' - 'A';
    order = c - d;
    if (!c) break;
  }
  return order ? order : x->at < y->at ? -1 : x->at > y->at;
}

static bool same_place(const struct placed *a, const struct placed *b)
{
  return strcmp(a->folder, b->folder) == 0 && be_text_same(a->name, b->name);
}

/* A name that another file has, or that could be taken for one with a number before, gets its
 * number. */
enum be_status be_package_name_files(struct package *package, struct be_err *err)
{
  size_t n = package->held_count;
  struct placed *placed = be_alloc_array(n + 1, sizeof *placed);
  package->paths = be_arena_alloc(package->arena, (n + 1) * sizeof *package->paths);
  if (!placed || !package->paths) {
    be_free(placed);
    return be_no_memory(err);
  }
  for (size_t i = 0; i < n; i++) {
    placed[i].folder = folder_of(&package->held[i]);
    placed[i].at = i;
    plain_name(package->held[i].name, placed[i].name);
  }
  qsort(placed, n, sizeof *placed, by_name);
  bool lost = false;
  for (size_t i = 0; i < n; i++) {
    const struct placed *is = &placed[i];
    bool first = (i == 0 || !same_place(is, &placed[i - 1])) &&
                 (i + 1 == n || !same_place(is, &placed[i + 1]));
    size_t digits = strspn(is->name, "0123456789");
    bool plain = first && is->name[0] && !(digits && is->name[digits] == '-');
    package->paths[is->at] = plain ? be_arena_format(package->arena, "%s/%s", is->folder, is->name)
                                   : be_arena_format(package->arena, "%s/%lld-%s", is->folder,
                                                     (long long)package->held[is->at].id, is->name);
    lost = lost || !package->paths[is->at];
  }
  be_free(placed);
  return lost ? be_no_memory(err) : BE_OK;
}

/* ---- what was entered ---- */

enum be_status be_package_entered(struct package *package, struct be_err *err)
{
  struct piece *piece =
      be_piece_add(package, "entered.csv", be_entered_table.title, "text/csv", err);
  if (!piece) return BE_NO_MEMORY;
  piece->table = &be_entered_table;
  struct be_buf *out = &piece->bytes;
  for (size_t i = 0; i < be_entered_table.count; i++) {
    if (i) be_buf_char(out, ',');
    be_csv_text(out, entered[i].name);
  }
  be_buf_text(out, "\r\n");
  for (size_t i = 0; i < package->held_count; i++) {
    const struct be_held_file *file = &package->held[i];
    const char *const cells[] = {file->kind,     file->name,       package->paths[i],
                                 file->sha256,   file->entered_at, file->alone ? "yes" : "no",
                                 file->mapping,  file->save_as,    file->decimal,
                                 file->specimen, file->layout,     file->made_by};
    be_buf_format(out, "%lld", (long long)file->id);
    for (size_t k = 0; k < sizeof cells / sizeof cells[0]; k++) {
      be_buf_char(out, ',');
      be_csv_text(out, cells[k]);
    }
    be_buf_text(out, "\r\n");
  }
  return be_piece_close(package, piece, err);
}

/* ---- the tables of the record ---- */

struct tracing {
  const struct be_held_file *held;
  const char *const *paths;
  size_t count;
  char path[BE_PACKAGE_PATH_MAX + 8];
};

/* A trace is named as it lies from the sheet on. */
static enum be_status name_trace(void *context, const struct be_book_table *table,
                                 struct be_table_cell *cells, bool *kept, struct be_err *err)
{
  struct tracing *in = context;
  (void)kept;
  for (size_t i = 0; i < table->count; i++) {
    if (table->columns[i].role != BE_TABLE_TRACE || isnan(cells[i].number)) continue;
    int64_t id = (int64_t)cells[i].number;
    size_t low = 0, high = in->count;
    while (low < high) {
      size_t middle = (low + high) / 2;
      if (in->held[middle].id < id) low = middle + 1;
      else high = middle;
    }
    if (low == in->count || in->held[low].id != id)
      return be_fail(err, BE_FAILED, "the trace of a pull is not in the book");
    snprintf(in->path, sizeof in->path, "../%s", in->paths[low]);
    cells[i] = (struct be_table_cell){in->path, NAN};
  }
  return BE_OK;
}

enum be_status be_package_table(struct be_book *book, const struct be_book_table *table,
                                const struct be_held_file *held, const char *const *paths,
                                size_t count, struct be_buf *out, size_t *rows, struct be_err *err)
{
  struct tracing tracing = {.held = held, .paths = paths, .count = count};
  return be_csv_write(book, table, name_trace, &tracing, out, rows, err);
}

enum be_status be_package_record(struct package *package, struct be_book *book, struct be_err *err)
{
  enum be_status status = BE_OK;
  for (int i = 0; i < BE_BOOK_TABLES && status == BE_OK; i++) {
    const struct be_book_table *table = &be_book_tables[i];
    const char *path = be_arena_format(package->arena, "record/%s.csv", table->name);
    struct piece *piece = path ? be_piece_add(package, path, table->title, "text/csv", err) : NULL;
    if (!piece) return be_no_memory(err);
    piece->table = table;
    size_t rows = 0;
    status = be_package_table(book, table, package->held, package->paths, package->held_count,
                              &piece->bytes, &rows, err);
    if (status == BE_OK) status = be_piece_close(package, piece, err);
  }
  return status;
}

static const char *type_of(const struct be_held_file *file)
{
  const char *dot = strrchr(file->name, '.');
  static const char *const types[][2] = {{".png", "image/png"},       {".jpg", "image/jpeg"},
                                         {".jpeg", "image/jpeg"},     {".svg", "image/svg+xml"},
                                         {".gz", "application/gzip"}, {".zst", "application/zstd"}};
  for (size_t i = 0; dot && i < sizeof types / sizeof types[0]; i++)
    if (be_text_same(dot, types[i][0])) return types[i][1];
  if (strcmp(file->kind, "picture") == 0) return "application/octet-stream";
  return dot && be_text_same(dot, ".csv") ? "text/csv" : "text/plain";
}

enum be_status be_package_files(struct package *package, struct be_book *book, struct be_err *err)
{
  be_progress_step("packing", "files", package->held_count);
  for (size_t i = 0; i < package->held_count; i++) {
    const struct be_held_file *file = &package->held[i];
    be_progress_at(i);
    const char *title =
        be_arena_format(package->arena, "%s, as it came: %s", file->kind, file->name);
    struct piece *piece =
        title ? be_piece_add(package, package->paths[i], title, type_of(file), err) : NULL;
    if (!piece) return be_no_memory(err);
    enum be_status status = be_book_file(book, file->id, &piece->bytes, err);
    if (status == BE_OK) status = be_piece_close(package, piece, err);
    if (status != BE_OK) return status;
    if (package->thin) be_buf_free(&piece->bytes);
    if (strcmp(piece->sha256, file->sha256) == 0) continue;
    be_fail(err, BE_BAD_INPUT, "the bytes of file \"%.100s\" are not those that were entered",
            file->name);
    return be_fail_remedy(err, "`bitterend check` tells more; go back to a copy from before");
  }
  return BE_OK;
}
