/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/find/find.h"

#include <stdio.h>
#include <string.h>

enum { RIGS_TEXT_MAX = 256 * 1024 };

static enum be_status read_text(const char *path, struct be_buf *text, struct be_err *err)
{
  be_buf_init(text, RIGS_TEXT_MAX);
  return be_file_exists(path) ? be_file_read(path, text, err) : BE_OK;
}

/* The start of the line behind `at`. */
static const char *line_after(const char *at, const char *end)
{
  const char *stop = memchr(at, '\n', (size_t)(end - at));
  return stop ? stop + 1 : end;
}

/* Whether the section that begins at this line is a rig: a calibration has no source. */
static bool is_rig(const char *at, const char *end)
{
  for (at = line_after(at, end); at < end && *at != '['; at = line_after(at, end)) {
    while (at < end && (*at == ' ' || *at == '\t')) at++;
    if ((size_t)(end - at) > 6 && memcmp(at, "source", 6) == 0) return true;
  }
  return false;
}

/* Counts only sections of rigs: their names are looked up among all. */
enum be_status be_rigs_read(const char *path, struct be_rigs *rigs, struct be_err *err)
{
  struct be_buf text;
  *rigs = (struct be_rigs){0};
  enum be_status status = read_text(path, &text, err);
  const char *end = text.data ? text.data + text.size : text.data;
  size_t section = 0;
  for (const char *at = text.data; status == BE_OK && at < end; at = line_after(at, end)) {
    char name[64];
    if (*at != '[') continue;
    bool named = be_rig_name_at(text.data, text.size, section++, name);
    if (!named || !is_rig(at, end) || rigs->count == BE_RIGS_MAX) continue;
    status = be_rig_setup_parse(text.data, text.size, name, &rigs->setup[rigs->count++], err);
    if (status != BE_OK) be_fail_at(err, path, err ? err->line : 0, 0);
  }
  be_buf_free(&text);
  return status;
}

/* All but the section of a rig of that name. */
static void copy_others(const struct be_buf *text, const char *name, struct be_buf *others)
{
  bool inside = false;
  size_t length = strlen(name);
  const char *at = text->data, *end = at ? at + text->size : at;
  while (at < end) {
    const char *next = line_after(at, end);
    if (*at == '[')
      inside = (size_t)(next - at) > length + 1 && memcmp(at + 1, name, length) == 0 &&
               at[length + 1] == ']' && is_rig(at, end);
    if (!inside) be_buf_add(others, at, (size_t)(next - at));
    at = next;
  }
  if (others->size && others->data[others->size - 1] != '\n') be_buf_char(others, '\n');
}

static enum be_status look_at_name(const char *name, struct be_err *err)
{
  bool good = name[0] && name[0] != ' ' && !strpbrk(name, "[]\r\n") &&
              strlen(name) < sizeof((struct be_rig_setup *)0)->name;
  if (good) return BE_OK;
  be_fail(err, BE_WRONG_USE, "\"%.80s\" cannot be the name of a rig", name);
  be_fail_remedy(err, "use up to 63 letters, without brackets");
  return BE_WRONG_USE;
}

enum be_status be_rigs_keep(const char *path, const struct be_rig_setup *setup, struct be_err *err)
{
  struct be_buf text, others;
  enum be_status status = look_at_name(setup->name, err);
  if (status != BE_OK) return status;
  status = read_text(path, &text, err);
  be_buf_init(&others, RIGS_TEXT_MAX);
  copy_others(&text, setup->name, &others);
  be_rig_setup_write(&others, setup);
  if (status == BE_OK) status = be_buf_status(&others, err);
  if (status == BE_OK) status = be_file_write(path, others.data, others.size, err);
  be_buf_free(&text);
  be_buf_free(&others);
  return status;
}

enum be_status be_rig_setup_add(struct be_rig_setup *setup, const char *more, struct be_err *err)
{
  struct be_frames *frames = NULL;
  size_t used = strlen(setup->frame_settings), room = sizeof setup->frame_settings - used;
  int put = snprintf(setup->frame_settings + used, room, "%s%s", used ? " " : "", more);
  if (put < 0 || (size_t)put >= room)
    return be_fail(err, BE_WRONG_USE, "the settings of the rig are too long");
  enum be_status status = be_frames_create(setup->frames, setup->frame_settings, &frames, err);
  be_frames_free(frames);
  return status;
}

void be_rigs_path(const char *book_path, const char *told, char path[BE_RIGS_PATH])
{
  snprintf(path, BE_RIGS_PATH, "%s%s", told ? told : book_path, told ? "" : ".rigs");
}
