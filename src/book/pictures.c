/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pictures of knots: files named as their knot. A row of `file` of kind "picture" belongs to the
 * knot whose full name, name or alias is its name without the ending, letter case and all but
 * letters and digits aside; the last one holds. PNG and JPEG are taken, and SVG, which is text and
 * may hold what runs: such a one is refused, and pages show all of them in <img> alone, where
 * nothing runs and nothing is fetched. */
#include "book/inside.h"

#include <stdio.h>
#include <string.h>

/* ---- what is a picture ---- */

static bool starts(const char *bytes, size_t size, const char *with, size_t length)
{
  return size >= length && memcmp(bytes, with, length) == 0;
}
#define STARTS(bytes, size, with) starts(bytes, size, with, sizeof(with) - 1)

/* Past blanks, the declaration, remarks and the document type of an XML text. */
static size_t root_of(const char *bytes, size_t size)
{
  size_t at = STARTS(bytes, size, "\xEF\xBB\xBF") ? 3 : 0;
  while (at < size) {
    const char *now = bytes + at, *end = NULL;
    size_t left = size - at;
    if (strchr(" \t\r\n", *now) && *now) {
      at++;
      continue;
    }
    const char *closing = STARTS(now, left, "<!--")        ? "-->"
                          : STARTS(now, left, "<?")        ? "?>"
                          : STARTS(now, left, "<!DOCTYPE") ? ">"
                                                           : NULL;
    if (!closing) return at;
    size_t length = strlen(closing);
    for (size_t i = 2; i + length <= left && !end; i++)
      if (memcmp(now + i, closing, length) == 0) end = now + i + length;
    if (!end) return size;
    at = (size_t)(end - bytes);
  }
  return size;
}

static bool is_svg(const char *bytes, size_t size)
{
  size_t at = root_of(bytes, size);
  if (!STARTS(bytes + at, size - at, "<svg") || at + 4 >= size) return false;
  return strchr(" \t\r\n>/", bytes[at + 4]) && bytes[at + 4];
}

enum picture be_picture_kind(const char *bytes, size_t size)
{
  if (size == 0) return PICTURE_NONE;
  if (STARTS(bytes, size, "\x89PNG\r\n\x1A\n")) return PICTURE_PNG;
  if (STARTS(bytes, size, "\xFF\xD8\xFF")) return PICTURE_JPEG;
  if (STARTS(bytes, size, "GIF87a") || STARTS(bytes, size, "GIF89a")) return PICTURE_OTHER;
  if (size >= 12 && STARTS(bytes, size, "RIFF") && memcmp(bytes + 8, "WEBP", 4) == 0)
    return PICTURE_OTHER;
  return is_svg(bytes, size) ? PICTURE_SVG : PICTURE_NONE;
}

/* ---- whether it may be shown ---- */

enum { SIDE_MAX = 10000 }; /* pixels */

static size_t four_bytes(const char *bytes)
{
  const unsigned char *b = (const unsigned char *)bytes;
  return (size_t)b[0] << 24 | (size_t)b[1] << 16 | (size_t)b[2] << 8 | b[3];
}

static enum be_status check_png(const char *bytes, size_t size, struct be_err *err)
{
  if (size < 33 || four_bytes(bytes + 8) != 13 || memcmp(bytes + 12, "IHDR", 4) != 0)
    return be_fail(err, BE_BAD_INPUT, "the picture is cut off: it has no whole PNG head");
  size_t width = four_bytes(bytes + 16), height = four_bytes(bytes + 20);
  if (width == 0 || height == 0 || width > SIDE_MAX || height > SIDE_MAX)
    return be_fail(err, BE_BAD_INPUT, "a picture has from 1 to %d pixels a side, not %zu by %zu",
                   SIDE_MAX, width, height);
  return BE_OK;
}

static bool name_part(char c)
{
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-' ||
         c == '_' || c == '.' || c == '!';
}

/* An element, or a declaration, that a drawing does without. */
static enum be_status check_svg(const char *bytes, size_t size, struct be_err *err)
{
  static const char *const refused[] = {"script", "foreignObject", "!ENTITY"};
  for (size_t at = 0; at < size; at++) {
    char name[16] = "";
    size_t length = 0;
    if (bytes[at] != '<') continue;
    for (size_t i = at + 1; i < size && (name_part(bytes[i]) || bytes[i] == ':'); i++) {
      if (bytes[i] == ':') length = 0; /* what stands before it names a space */
      else if (length + 1 < sizeof name) name[length++] = bytes[i];
      name[length] = '\0';
    }
    for (size_t i = 0; i < sizeof refused / sizeof refused[0]; i++)
      if (be_text_same(name, refused[i])) {
        be_fail(err, BE_BAD_INPUT, "this SVG has a part \"%s\", which a drawing does without",
                refused[i]);
        return be_fail_remedy(err, "save it as plain SVG, or as PNG");
      }
  }
  return BE_OK;
}

static enum be_status check(const char *bytes, size_t size, struct be_err *err)
{
  enum picture kind = be_picture_kind(bytes, size);
  if (kind == PICTURE_NONE || kind == PICTURE_OTHER) {
    be_fail(err, BE_BAD_INPUT, "a picture is PNG, JPEG or SVG, and this is none of them");
    return be_fail_remedy(err, "save the picture anew in one of these");
  }
  if (size > BE_PICTURE_MAX) {
    be_fail(err, BE_BAD_INPUT, "a picture of %zu bytes is larger than the %d that are kept", size,
            BE_PICTURE_MAX);
    return be_fail_remedy(err, "save it with fewer pixels");
  }
  if (kind == PICTURE_PNG) return check_png(bytes, size, err);
  return kind == PICTURE_SVG ? check_svg(bytes, size, err) : BE_OK;
}

/* ---- whose it is ---- */

/* Small letters and digits, a space for all else between them, no apostrophe. */
static char *plain_of(struct be_arena *arena, const char *text, size_t length)
{
  char *to = be_arena_text(arena, text, length);
  size_t used = 0;
  for (size_t i = 0; to && i < length; i++) {
    char c = text[i];
    if (c == '\'') continue;
    bool kept = (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (unsigned char)c >= 0x80;
    if (c >= 'A' && c <= 'Z') c = (char)(c - 'A' + 'a'), kept = true;
    if (kept) to[used++] = c;
    else if (used && to[used - 1] != ' ') to[used++] = ' ';
  }
  if (!to) return NULL;
  while (used && to[used - 1] == ' ') used--;
  to[used] = '\0';
  return to;
}

/* The names of a knot: all of it, its name with the version alone, and its name and aliases, a
 * line each. */
struct names {
  const char *full, *version, *any;
};

static bool names_of(const struct be_knot *knot, struct be_arena *arena, struct names *names)
{
  const char *full = knot->full ? knot->full : be_knot_full(knot, arena);
  const char *version =
      be_arena_format(arena, "%s %s", knot->name, knot->version ? knot->version : "");
  if (!full || !version) return false;
  names->full = plain_of(arena, full, strlen(full));
  names->version = plain_of(arena, version, strlen(version));
  const char *name = plain_of(arena, knot->name, strlen(knot->name));
  const char *any = name ? be_arena_format(arena, "\n%s\n", name) : NULL;
  for (const char *at = knot->aliases; any && at && *at;) {
    size_t length = strcspn(at, ",");
    const char *alias = plain_of(arena, at, length);
    any = alias ? be_arena_format(arena, "%s%s\n", any, alias) : NULL;
    at += length + (at[length] == ',');
  }
  names->any = any;
  return names->full && names->version && any;
}

/* How well the picture's name fits: 0 not at all, 3 in full. */
static int fits(const struct names *names, const char *plain, const char *on_a_line)
{
  if (!*plain) return 0;
  if (strcmp(names->full, plain) == 0) return 3;
  if (strcmp(names->version, plain) == 0) return 2;
  return strstr(names->any, on_a_line) ? 1 : 0;
}

/* The name of a file without its ending, as above, and on a line by itself. */
static bool stem_of(const char *name, struct be_arena *arena, const char **plain,
                    const char **on_a_line)
{
  const char *dot = strrchr(name, '.');
  *plain = plain_of(arena, name, dot ? (size_t)(dot - name) : strlen(name));
  *on_a_line = *plain ? be_arena_format(arena, "\n%s\n", *plain) : NULL;
  return *on_a_line;
}

/* ---- read ---- */

static enum be_status no_room(struct be_err *err)
{
  return be_fail(err, BE_NO_MEMORY, "no memory for the pictures");
}

static enum be_status give_out(struct rows *rows, struct be_record *record,
                               const struct names *names, int *best, struct be_err *err)
{
  enum be_status status = BE_OK;
  while (be_next_row(rows, 0, 1, &status, err)) {
    const char *name = be_column_text(rows, 1), *plain, *on_a_line;
    if (!name || !stem_of(name, rows->arena, &plain, &on_a_line)) return no_room(err);
    for (size_t i = 0; i < record->knots_count; i++) {
      int fit = fits(&names[i], plain, on_a_line);
      if (fit == 0 || fit < best[i]) continue;
      best[i] = fit;
      record->knots[i].picture = sqlite3_column_int64(rows->s, 0);
    }
  }
  return status;
}

enum be_status be_read_pictures(struct be_book *book, int64_t until, struct be_arena *arena,
                                struct be_record *record, struct be_err *err)
{
  size_t count = 0, knots = record->knots_count;
  enum be_status status = be_count_rows(
      book, "SELECT count(*) FROM file WHERE kind = 'picture' AND id < ?1", until, &count, err);
  if (status != BE_OK || count == 0) return status;
  struct names *names = be_arena_alloc(arena, (knots + 1) * sizeof *names);
  int *best = be_arena_alloc(arena, (knots + 1) * sizeof *best);
  if (!names || !best) return no_room(err);
  for (size_t i = 0; i < knots; i++) {
    best[i] = 0;
    if (!names_of(&record->knots[i], arena, &names[i])) return no_room(err);
  }
  struct rows rows = {.arena = arena};
  status = be_sql_prepare(
      book->db, "SELECT id, name FROM file WHERE kind = 'picture' AND id < ?1 ORDER BY id", &rows.s,
      err);
  if (status != BE_OK) return status;
  sqlite3_bind_int64(rows.s, 1, until);
  status = give_out(&rows, record, names, best, err);
  sqlite3_finalize(rows.s);
  return status;
}

enum be_status be_book_picture(struct be_book *book, int64_t id, struct be_buf *bytes,
                               const char **type, struct be_err *err)
{
  static const char *const types[] = {
      [PICTURE_PNG] = "image/png", [PICTURE_JPEG] = "image/jpeg", [PICTURE_SVG] = "image/svg+xml"};
  sqlite3_stmt *s = NULL;
  bool row = false;
  enum be_status status = be_sql_prepare(
      book->db, "SELECT bytes FROM file WHERE id = ?1 AND kind = 'picture'", &s, err);
  if (status != BE_OK) return status;
  sqlite3_bind_int64(s, 1, id);
  status = be_sql_step(s, &row, err);
  const char *kept = status == BE_OK && row ? sqlite3_column_blob(s, 0) : NULL;
  size_t size = kept ? (size_t)sqlite3_column_bytes(s, 0) : 0;
  if (status == BE_OK && row && !kept) status = no_room(err);
  else if (status == BE_OK && (!kept || check(kept, size, NULL) != BE_OK))
    status = be_fail(err, BE_NO, "the book has no such picture");
  if (status == BE_OK) {
    *type = types[be_picture_kind(kept, size)];
    be_buf_add(bytes, kept, size);
    status = be_buf_status(bytes, err);
  }
  sqlite3_finalize(s);
  return status;
}

/* ---- entered by itself ---- */

static enum be_status find_knot(struct entering *in, bool *found, struct be_err *err)
{
  const char *plain, *on_a_line;
  struct rows rows = {.arena = in->arena};
  *found = false;
  if (!stem_of(in->name, in->arena, &plain, &on_a_line)) return no_room(err);
  enum be_status status = be_sql_prepare(
      in->book->db, "SELECT name, version, turns, aliases FROM knot ORDER BY id", &rows.s, err);
  while (!*found && be_next_row(&rows, 0, 1, &status, err)) {
    struct names names;
    struct be_knot knot = {.name = be_column_text(&rows, 0),
                           .version = be_column_text(&rows, 1),
                           .turns = be_column_number(rows.s, 2),
                           .aliases = be_column_text(&rows, 3)};
    if (rows.lost || !knot.name || !names_of(&knot, in->arena, &names)) status = no_room(err);
    else *found = fits(&names, plain, on_a_line) > 0;
    if (status != BE_OK) break;
  }
  sqlite3_finalize(rows.s);
  return status;
}

enum be_status be_picture_enter(struct entering *in, const char *bytes, size_t size,
                                struct be_err *err)
{
  bool found = false, already = false;
  in->entered->kind = "picture";
  enum be_status status = check(bytes, size, err);
  if (status == BE_OK) status = find_knot(in, &found, err);
  if (status != BE_OK) return status;
  if (!found) {
    be_fail(err, BE_BAD_INPUT, "no knot of the book is called as this picture is");
    return be_fail_remedy(err, "name the file as its knot, such as palomar.png, or enter the sheet "
                               "that has the knot first");
  }
  return be_file_add(in->book, in->name, "picture", bytes, size, &in->file, &already, err);
}

/* ---- named in a knot sheet ---- */

/* What it is kept as: the knot's name and the ending told. */
static const char *kept_name(struct entering *in, const struct knot_named *named, const char *told)
{
  const struct be_knot knot = {
      .name = named->name, .version = named->version, .turns = named->turns};
  const char *full = be_knot_full(&knot, in->arena), *dot = strrchr(told, '.');
  bool ending = dot && !strpbrk(dot, "/\\ ");
  return full ? be_arena_format(in->arena, "%s%s", full, ending ? dot : ".picture") : NULL;
}

/* The same bytes under one name are one picture; under another they would be lost. */
static enum be_status keep(struct entering *in, const char *name, const struct be_buf *bytes,
                           struct be_err *err)
{
  bool already = false;
  int64_t id = 0;
  size_t same = 0;
  enum be_status status =
      be_file_add(in->book, name, "picture", bytes->data, bytes->size, &id, &already, err);
  if (status != BE_OK || !already) return status;
  sqlite3_stmt *s = NULL;
  status = be_sql_prepare(
      in->book->db, "SELECT count(*) FROM file WHERE id = ?1 AND kind = 'picture' AND name = ?2",
      &s, err);
  if (status != BE_OK) return status;
  bool row = false;
  sqlite3_bind_int64(s, 1, id);
  be_bind_text(s, 2, name);
  status = be_sql_step(s, &row, err);
  if (status == BE_OK && row) same = (size_t)sqlite3_column_int64(s, 0);
  sqlite3_finalize(s);
  if (status != BE_OK || same) return status;
  be_fail(err, BE_BAD_INPUT, "these bytes are in the book already, under another name");
  return be_fail_remedy(err, "leave the cell empty: a picture named as the knot alone, such as "
                             "uni.png, serves all its turns and versions");
}

enum be_status be_picture_of_row(struct entering *in, const struct knot_named *knot,
                                 struct be_err *err)
{
  const char *told = be_field_text(&in->sheet, &in->fields, in->row, FIELD_PICTURE);
  if (!told || be_text_same(told, "none")) return BE_OK;
  const char *name = kept_name(in, knot, told);
  if (!name) return no_room(err);
  if (!in->how->fetch) {
    be_fail(err, BE_BAD_INPUT, "the sheet names a picture, and there is no folder to look in");
    be_fail_remedy(err, "enter the sheet as a file that lies beside its pictures");
    return be_fail_here(in, FIELD_PICTURE, err);
  }
  struct be_buf bytes;
  be_buf_init(&bytes, BE_BOOK_FILE_MAX);
  /* Of a book that is entered again the files have the names that they were kept by. */
  enum be_status status =
      in->how->fetch(in->how->fetch_context, in->how->like ? name : told, &bytes, err);
  if (status == BE_OK) status = check(bytes.data ? bytes.data : "", bytes.size, err);
  if (status == BE_OK) status = keep(in, name, &bytes, err);
  be_buf_free(&bytes);
  if (status == BE_OK) return BE_OK;
  return status == BE_NO_MEMORY ? status : be_fail_here(in, FIELD_PICTURE, err);
}
