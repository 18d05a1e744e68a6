/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The user's saved layouts: one text file among the user's settings. */
#include "app/read/layouts.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { PATH_SIZE = 1000, TEXT_MAX = 4 * 1024 * 1024 };

/* The folder of settings by the XDG base directory specification; then ours in it. */
static enum be_status find_path(char *path, bool make, struct be_err *err)
{
  const char *config = getenv("XDG_CONFIG_HOME"), *home = getenv("HOME");
  int put = -1;
  if (config && config[0] == '/') put = snprintf(path, PATH_SIZE - 32, "%s", config);
  else if (home && home[0] == '/') put = snprintf(path, PATH_SIZE - 32, "%s/.config", home);
  if (put < 0 || put >= PATH_SIZE - 32) {
    be_fail(err, BE_FAILED, "there is no folder for saved layouts");
    be_fail_remedy(err, "set HOME to your folder");
    return BE_FAILED;
  }
  enum be_status status = make ? be_dir_create(path, err) : BE_OK;
  strcat(path, "/bitterend");
  if (status == BE_OK && make) status = be_dir_create(path, err);
  strcat(path, "/layouts");
  return status;
}

/* The text of the file; empty without one. */
static enum be_status read_text(struct be_buf *text, char *path, struct be_err *err)
{
  be_buf_init(text, TEXT_MAX);
  struct be_err none = {0};
  if (find_path(path, false, &none) != BE_OK || !be_file_exists(path)) return BE_OK;
  return be_file_read(path, text, err);
}

enum be_status be_layouts_load(struct be_trace_layouts **layouts, struct be_err *err)
{
  char path[PATH_SIZE] = "";
  struct be_buf text;
  *layouts = NULL;
  enum be_status status = read_text(&text, path, err);
  if (status == BE_OK)
    status = be_trace_layouts_parse(text.data ? text.data : "", text.size, layouts, err);
  if (status != BE_OK) be_fail_at(err, path, 0, 0);
  be_buf_free(&text);
  return status;
}

static enum be_status check_name(const char *name, struct be_err *err)
{
  bool good = name[0] && strlen(name) < sizeof((struct be_trace_saved *)0)->name &&
              !strpbrk(name, "[]\r\n") && name[0] != ' ';
  if (good) return BE_OK;
  be_fail(err, BE_WRONG_USE, "\"%.80s\" cannot be the name of a layout", name);
  be_fail_remedy(err, "use up to 63 letters, without brackets");
  return BE_WRONG_USE;
}

/* Copies the text without the section of that name; true if there was one. */
static bool copy_others(const struct be_buf *text, const char *name, struct be_buf *others)
{
  bool inside = false, found = false;
  const char *at = text->data, *end = at ? at + text->size : at;
  size_t length = strlen(name);
  while (at < end) {
    const char *stop = memchr(at, '\n', (size_t)(end - at));
    size_t size = stop ? (size_t)(stop - at) + 1 : (size_t)(end - at);
    if (*at == '[')
      inside = size > length + 1 && memcmp(at + 1, name, length) == 0 && at[length + 1] == ']';
    found = found || inside;
    if (!inside) be_buf_add(others, at, size);
    at += size;
  }
  return found;
}

/* Puts *saved in the place of the one of that name; null only forgets it. */
static enum be_status replace(const char *name, const struct be_trace_saved *saved,
                              struct be_err *err)
{
  char path[PATH_SIZE] = "";
  struct be_buf text, others;
  enum be_status status = read_text(&text, path, err);
  be_buf_init(&others, TEXT_MAX);
  bool found = copy_others(&text, name, &others);
  if (saved) be_trace_saved_write(&others, saved);
  if (status == BE_OK) status = be_buf_status(&others, err);
  if (status == BE_OK && !saved && !found) {
    status = be_fail(err, BE_WRONG_USE, "there is no saved layout \"%s\"", name);
    be_fail_remedy(err, "read --layouts lists them");
  }
  if (status == BE_OK) status = find_path(path, true, err);
  if (status == BE_OK)
    status = be_file_write(path, others.data ? others.data : "", others.size, err);
  be_buf_free(&text);
  be_buf_free(&others);
  return status;
}

enum be_status be_layouts_keep(const char *name, const struct be_trace_layout *layout,
                               const struct be_trace_options *told, struct be_err *err)
{
  enum be_status status = check_name(name, err);
  if (status == BE_OK && !be_trace_told(told)) {
    status = be_fail(err, BE_WRONG_USE, "nothing was told of this file that could be saved");
    be_fail_remedy(err, "say what it holds, such as --columns force=2 --unit kg");
  }
  struct be_trace_saved *saved = status == BE_OK ? be_alloc(sizeof *saved) : NULL;
  if (status != BE_OK) return status;
  if (!saved) return be_no_memory(err);
  be_trace_saved_set(saved, name, layout, told);
  status = replace(name, saved, err);
  be_free(saved);
  return status;
}

const struct be_trace_saved *be_layouts_find(const struct be_trace_layouts *layouts,
                                             const char *name)
{
  for (size_t k = 0; layouts && k < layouts->count; k++)
    if (strcmp(layouts->saved[k].name, name) == 0) return &layouts->saved[k];
  return NULL;
}

/* ---- for people ---- */

static void say_told(struct be_table *table, const struct be_trace_options *told)
{
  static const char *const roles[] = {"force", "time", "extension"};
  const size_t columns[] = {told->force_column, told->time_column, told->extension_column};
  const struct be_unit *const units[] = {told->force_unit, told->time_unit, told->extension_unit};
  char text[300] = "";
  size_t used = 0;
  for (int i = 0; i < 3; i++) {
    if (columns[i])
      used += (size_t)snprintf(text + used, sizeof text - used, "%s%s in column %zu",
                               used ? ", " : "", roles[i], columns[i]);
    if (units[i])
      used += (size_t)snprintf(text + used, sizeof text - used, "%s%s in %s", used ? ", " : "",
                               roles[i], units[i]->name);
  }
  if (told->sign)
    used += (size_t)snprintf(text + used, sizeof text - used, "%spulling is %s", used ? ", " : "",
                             told->sign > 0 ? "positive" : "negative");
  if (told->rate_Hz > 0)
    used += (size_t)snprintf(text + used, sizeof text - used, "%s%g rows a second",
                             used ? ", " : "", told->rate_Hz);
  if (told->force_scale_N < 0 || told->force_scale_N > 0)
    snprintf(text + used, sizeof text - used, "%s%g N a volt from %g V", used ? ", " : "",
             told->force_scale_N, told->force_zero);
  be_table_text(table, "%s", text);
}

enum be_status be_app_layouts(const char *forget, struct be_doc **out, struct be_err *err)
{
  static const struct be_column columns[] = {
      {"name", "layout", BE_COLUMN_TEXT, false},
      {"columns", "recognised by its columns", BE_COLUMN_TEXT, false},
      {"told", "what was told", BE_COLUMN_TEXT, false},
  };
  struct be_trace_layouts *layouts = NULL;
  enum be_status status = forget ? replace(forget, NULL, err) : BE_OK;
  if (status == BE_OK) status = be_layouts_load(&layouts, err);
  if (status != BE_OK) return status;
  struct be_doc *doc = be_doc_create("layouts", "Saved layouts");
  if (!doc) {
    be_trace_layouts_free(layouts);
    return be_no_memory(err);
  }
  be_doc_sentence(doc, "%zu saved layout%s.", layouts->count, layouts->count == 1 ? "" : "s");
  struct be_table *table = be_doc_table(doc, "layouts", "Layouts", columns, 3);
  for (size_t k = 0; k < layouts->count; k++) {
    const struct be_trace_saved *saved = &layouts->saved[k];
    char names[600] = "";
    size_t used = 0;
    for (size_t c = 0; c < saved->columns_count && used + 100 < sizeof names; c++)
      used += (size_t)snprintf(names + used, sizeof names - used, "%s%s", c ? " | " : "",
                               saved->columns[c][0] ? saved->columns[c] : "no name");
    be_table_text(table, "%s", saved->name);
    be_table_text(table, "%s", names);
    say_told(table, &saved->told);
  }
  be_trace_layouts_free(layouts);
  return be_doc_done(doc, BE_OK, out);
}
