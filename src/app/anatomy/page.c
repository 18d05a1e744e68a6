/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What pages show of a tie that is told by words or text: the answer with its picture, which turns
 * where a script can; the lines for that script; and how a tie comes into the book. */
#include "app/anatomy/anatomy.h"
#include "app/survey/survey.h"
#include "web/web.h"

#include <stdio.h>
#include <string.h>

enum { SHEET_MAX = 256 * 1024, NAME_MAX_BYTES = 60 };

/* Three bytes for each at most. */
static char *put(char *to, const char *key, const char *text)
{
  static const char digits[] = "0123456789ABCDEF";
  while (*key) *to++ = *key++;
  for (; text && *text; text++) {
    unsigned char c = (unsigned char)*text;
    bool plain = (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
    if (plain || strchr("-._,", c)) {
      *to++ = (char)c;
      continue;
    }
    *to++ = '%';
    *to++ = digits[c >> 4];
    *to++ = digits[c & 15];
  }
  return to;
}

const char *be_tie_address(struct be_arena *arena, const char *path, const char *text)
{
  return be_tie_address_of(arena, path, &(struct be_tie_kept){.text = text});
}

const char *be_tie_address_of(struct be_arena *arena, const char *path,
                              const struct be_tie_kept *of)
{
  const char *const keys[] = {"?tie=", "&knot=", "&version=", "&turns="};
  const char *const texts[] = {of->text, of->knot, of->version, of->turns};
  size_t size = strlen(path) + 1;
  for (size_t i = 0; i < 4; i++)
    if (texts[i]) size += strlen(keys[i]) + 3 * strlen(texts[i]);
  char *address = be_arena_alloc(arena, size);
  char *at = address ? put(address, path, NULL) : NULL;
  for (size_t i = 0; i < 4 && at; i++)
    if (texts[i]) at = put(at, keys[i], texts[i]);
  return at && at - address >= BE_ADDRESS_MAX ? "" : address;
}

/* What is told of a tie on a page keeps others waiting: so it is as short as notation is. */
static enum be_status read_told(const char *text, struct be_arena *arena, struct be_tie *tie,
                                struct be_err *err)
{
  size_t size = strlen(text);
  if (size > BE_TIE_TEXT_MAX)
    return be_fail(err, BE_TOO_LARGE, "a tie is a text of at most %d bytes, and this has %zu",
                   BE_TIE_TEXT_MAX, size);
  return be_tie_given(text, size, NULL, arena, tie, err);
}

enum be_status be_tie_doc(const char *text, struct be_arena *arena, struct be_doc **doc,
                          struct be_err *err)
{
  struct be_tie tie;
  struct anatomy *anatomy = be_arena_alloc(arena, sizeof *anatomy);
  if (!anatomy) return be_no_memory(err);
  enum be_status status = read_told(text, arena, &tie, err);
  if (status == BE_OK) status = be_anatomy_work(&tie, BE_LOOKED_USUAL, 0, 0, arena, anatomy, err);
  if (status != BE_OK) return status;
  anatomy->picture = be_tie_address(arena, "/tie.svg", text);
  anatomy->shape = be_tie_address(arena, "/api/1/tie/lines", text);
  if (!anatomy->picture || !anatomy->shape) return be_no_memory(err);
  return be_anatomy_doc(anatomy, doc, err);
}

enum be_status be_tie_svg(const char *text, struct be_arena *arena, struct be_buf *svg,
                          struct be_err *err)
{
  struct be_tie tie;
  struct anatomy *anatomy = be_arena_alloc(arena, sizeof *anatomy);
  const struct looks looks = {.numbered = true, .width = 800, .how = BE_DRAWN_FILE, .number = 1};
  if (!anatomy) return be_no_memory(err);
  enum be_status status = read_told(text, arena, &tie, err);
  if (status == BE_OK) status = be_anatomy_look(&tie, BE_LOOKED_USUAL, 0, 0, arena, anatomy, err);
  return status == BE_OK ? be_anatomy_picture(anatomy, &looks, svg, err) : status;
}

/* ---- for the script ---- */

static void numbers(struct be_buf *out, const double *values, size_t count)
{
  for (size_t i = 0; i < count; i++) {
    be_buf_char(out, i ? ',' : '[');
    be_json_number(out, values[i]);
  }
  be_buf_char(out, ']');
}

static void line_json(struct be_buf *out, const struct be_tie *tie, size_t line)
{
  static const char *const tones[] = {"nylon", "braid", "fluorocarbon"};
  const struct be_curve *curve = &tie->lines.line[line];
  const char name[] = {tie->letter[line], '\0'};
  be_buf_text(out, "{\"name\":");
  be_json_string(out, name);
  be_buf_format(out,
                ",\"tone\":\"%s\",\"diameter\":", tie->hardware[line] ? "muted" : tones[line % 3]);
  be_json_number(out, tie->lines.diameter[line]);
  be_buf_format(out, ",\"closed\":%s,\"hardware\":%s,\"loaded\":[%s,%s],\n\"points\":[",
                curve->closed ? "true" : "false", tie->hardware[line] ? "true" : "false",
                tie->loaded[line][0] ? "true" : "false", tie->loaded[line][1] ? "true" : "false");
  for (size_t i = 0; i < curve->count; i++) {
    const struct be_point *at = &curve->points[i];
    be_buf_format(out, "%s[%.4f,%.4f,%.4f]", i ? "," : "", at->x, at->y, at->z);
  }
  be_buf_text(out, "]}");
}

enum be_status be_tie_lines(const char *text, struct be_arena *arena, struct be_buf *out,
                            struct be_err *err)
{
  struct be_tie tie;
  enum be_status status = read_told(text, arena, &tie, err);
  if (status != BE_OK) return status;
  be_buf_format(out, "{\"format\":%d,\"name\":", BE_JSON_FORMAT);
  be_json_string(out, tie.name);
  be_buf_text(out, ",\n\"view\":{\"right\":");
  numbers(out, tie.view.right, 3);
  be_buf_text(out, ",\"up\":");
  numbers(out, tie.view.up, 3);
  be_buf_text(out, ",\"eye\":");
  numbers(out, tie.view.eye, 3);
  be_buf_text(out, "},\n\"lines\":[");
  for (size_t i = 0; i < tie.lines.count; i++) {
    if (i) be_buf_text(out, ",\n");
    line_json(out, &tie, i);
  }
  be_buf_text(out, "]}\n");
  return be_buf_status(out, err);
}

/* ---- into the book ---- */

static void cell(struct be_buf *sheet, const char *text, const char *after)
{
  be_buf_char(sheet, '"');
  for (; text && *text; text++) {
    if (*text == '"') be_buf_char(sheet, '"');
    if (*text != '\r') be_buf_char(sheet, *text);
  }
  be_buf_format(sheet, "\"%s", after);
}

static enum be_status check_name(const char *what, const char *text, struct be_err *err)
{
  if (text && strlen(text) > NAME_MAX_BYTES)
    return be_fail(err, BE_BAD_INPUT, "%s takes %d bytes at most", what, NAME_MAX_BYTES);
  for (; text && *text; text++)
    if ((unsigned char)*text < ' ')
      return be_fail(err, BE_BAD_INPUT, "%s is on one line, without tabs", what);
  return BE_OK;
}

static enum be_status enter(const char *book_path, const char *name, const struct be_buf *sheet,
                            struct be_err *err)
{
  struct be_book *book = NULL;
  struct be_entered entered;
  const struct be_entering how = {0};
  enum be_status status = be_book_open(book_path, true, &book, err);
  if (status != BE_OK) return status;
  struct be_arena *arena = be_arena_create();
  if (!arena) status = be_no_memory(err);
  else status = be_book_enter(book, name, sheet->data, sheet->size, &how, arena, &entered, err);
  be_arena_free(arena);
  be_book_close(book);
  return status;
}

enum be_status be_tie_keep(const char *book_path, const struct be_tie_kept *kept,
                           struct be_err *err)
{
  struct be_tie tie;
  struct be_buf sheet;
  char name[NAME_MAX_BYTES + 16], now[32];
  if (!kept->knot || !*kept->knot) {
    be_fail(err, BE_BAD_INPUT, "the form does not say whose tie it is");
    be_fail_remedy(err, "type the name of the knot");
    return BE_BAD_INPUT;
  }
  if (be_text_same(kept->knot, "none"))
    return be_fail(err, BE_BAD_INPUT, "\"none\" is a line without a knot, which runs straight");
  enum be_status status = check_name("the knot", kept->knot, err);
  if (status == BE_OK) status = check_name("its version", kept->version, err);
  if (status == BE_OK) status = check_name("its turns", kept->turns, err);
  if (status != BE_OK) return status;
  struct be_arena *arena = be_arena_create();
  if (!arena) return be_no_memory(err);
  status = read_told(kept->text, arena, &tie, err);
  be_arena_free(arena);
  if (status != BE_OK) return status;
  be_now(now);
  be_buf_init(&sheet, SHEET_MAX);
  be_buf_format(&sheet, "# kept on the page, %s\nknot,version,turns,tie\n", now);
  cell(&sheet, kept->knot, ",");
  cell(&sheet, kept->version, ",");
  cell(&sheet, kept->turns, ",");
  cell(&sheet, kept->text, "\n");
  snprintf(name, sizeof name, "%.60s-tie.csv", kept->knot);
  status = be_buf_status(&sheet, err);
  if (status == BE_OK) status = enter(book_path, name, &sheet, err);
  be_buf_free(&sheet);
  return status;
}
