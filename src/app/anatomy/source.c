/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is given as a tie, in whatever notation. */
#include "app/anatomy/anatomy.h"
#include "app/survey/survey.h"

#include <string.h>

/* More can be laid out (be_diagram_layout), but what is then worked out may take minutes. */
enum { CODE_CROSSINGS_MAX = 80 };

static const double layout_step = 0.25;

typedef enum be_status code_reader(const char *text, size_t size, struct be_arena *arena,
                                   struct be_diagram *diagram, struct be_err *err);

static const struct code {
  const char *word;
  code_reader *read;
} codes[] = {
    {"gauss", be_gauss_read},
    {"dowker", be_dt_read},
    {"pd", be_pd_read},
};

/* The rest behind a first word, or null. */
static const char *behind(const char *text, size_t size, const char *word)
{
  size_t length = strlen(word);
  if (size <= length || strncmp(text, word, length) != 0) return NULL;
  return strchr(" \t\r\n:", text[length]) ? text + length + 1 : NULL;
}

static void plain_tie(struct be_tie *tie, const char *name)
{
  size_t lines = tie->lines.count;
  tie->name = name;
  tie->also = tie->kind = "";
  tie->view = be_view_top;
  for (size_t i = 0; i < lines; i++) {
    tie->letter[i] = (char)('A' + i);
    tie->loaded[i][0] = !tie->lines.line[i].closed;
    tie->loaded[i][1] = lines == 1 && !tie->lines.line[i].closed;
  }
}

static enum be_status from_code(const struct code *code, const char *text, size_t size,
                                const char *name, struct be_arena *arena, struct be_tie *tie,
                                struct be_err *err)
{
  struct be_diagram diagram;
  enum be_status status = code->read(text, size, arena, &diagram, err);
  if (status == BE_OK && diagram.crossings > CODE_CROSSINGS_MAX)
    return be_fail(err, BE_TOO_LARGE, "a code may have %d crossings, and this has %zu",
                   CODE_CROSSINGS_MAX, diagram.crossings);
  if (status == BE_OK) status = be_diagram_layout(&diagram, layout_step, arena, &tie->lines, err);
  if (status == BE_OK) plain_tie(tie, name ? name : "drawing of this code");
  return status;
}

/* Numbers begin a table of points; so does its head, a remark, or a word of such tables. */
static bool is_points(const char *text, size_t size)
{
  size_t at = 0;
  while (at < size && strchr(" \t\r\n", text[at])) at++;
  bool head = at + 1 < size && (text[at] == 'x' || text[at] == 'X') &&
              strchr(" \t,;", text[at + 1]) != NULL;
  return at < size &&
         (head || strchr("+-.0123456789#", text[at]) != NULL ||
          behind(text + at, size - at, "line") || behind(text + at, size - at, "closed"));
}

static bool is_empty(const char *text, size_t size)
{
  size_t at = 0;
  while (at < size && text[at] && strchr(" \t\r\n", text[at])) at++;
  return at == size;
}

enum be_status be_tie_given(const char *text, size_t size, const char *name, struct be_arena *arena,
                            struct be_tie *tie, struct be_err *err)
{
  *tie = (struct be_tie){0};
  if (is_empty(text, size)) {
    be_fail(err, BE_BAD_INPUT, "there is no tie in it: it is empty");
    be_fail_remedy(err, "give a name such as clinch, lines of the notation, a code or points");
    return BE_BAD_INPUT;
  }
  for (size_t i = 0; i < sizeof codes / sizeof codes[0]; i++) {
    const char *rest = behind(text, size, codes[i].word);
    if (rest)
      return from_code(&codes[i], rest, size - (size_t)(rest - text), name, arena, tie, err);
  }
  if (is_points(text, size)) {
    enum be_status status = be_points_read(text, size, arena, &tie->lines, err);
    if (status == BE_OK) plain_tie(tie, name ? name : "table of points");
    return status;
  }
  const char *words = be_arena_text(arena, text, size);
  if (!words) return be_no_memory(err);
  if (strlen(words) != size) return be_fail(err, BE_BAD_INPUT, "a tie is a text, and this is none");
  return be_tie_named(words, arena, tie, err);
}
