/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What pages show of a tie that is told by words or text: the answer with its picture, which turns
 * where a script can, and the lines for that script. */
#include "app/anatomy/anatomy.h"
#include "app/survey/survey.h"
#include "web/web.h"

#include <string.h>

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

enum be_status be_tie_told(const char *text, struct be_arena *arena, struct be_tie *tie,
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
  enum be_status status = be_tie_told(text, arena, &tie, err);
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
  enum be_status status = be_tie_told(text, arena, &tie, err);
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
  enum be_status status = be_tie_told(text, arena, &tie, err);
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
