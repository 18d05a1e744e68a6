/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The command: reads what is given, writes the files that are wanted, answers. */
#include "app/anatomy/anatomy.h"
#include "app/survey/survey.h"

#include <string.h>

enum { TIE_FILE_MAX = 16 * 1024 * 1024 };

/* Words and their settings as one text. */
static const char *joined(const struct be_anatomy *asked, struct be_arena *arena)
{
  const char *text = asked->words[0];
  for (size_t i = 1; i < asked->count && text; i++)
    text = be_arena_format(arena, "%s %s", text, asked->words[i]);
  return text;
}

static const char *file_name(const char *path)
{
  const char *slash = strrchr(path, '/');
  return slash ? slash + 1 : path;
}

/* A tie that is not known is no answer of "no" to a command: it was asked for wrongly. */
static enum be_status asked_wrongly(enum be_status status, enum be_status as, struct be_err *err)
{
  if (status != BE_NO) return status;
  if (err) err->status = as;
  return as;
}

/* A word that is the path of a file means what is in it. */
static enum be_status read_word(const char *text, bool alone, const char *path,
                                struct be_arena *arena, struct be_tie *tie, struct be_err *err)
{
  struct be_buf file;
  enum be_status status;
  if (!alone || !be_file_exists(path))
    return asked_wrongly(be_tie_given(text, strlen(text), NULL, arena, tie, err), BE_WRONG_USE,
                         err);
  be_buf_init(&file, TIE_FILE_MAX);
  status = be_file_read(path, &file, err);
  if (status == BE_OK) {
    status = be_tie_given(file.data ? file.data : "", file.size, file_name(path), arena, tie, err);
    status = asked_wrongly(status, BE_BAD_INPUT, err);
    if (status != BE_OK) be_fail_at(err, path, 0, 0);
  }
  be_buf_free(&file);
  return status;
}

static enum be_status compare(const struct be_anatomy *asked, struct be_arena *arena,
                              struct be_doc **doc, struct be_err *err)
{
  struct be_tie ties[2];
  enum be_status status = BE_OK;
  for (int i = 0; i < 2 && status == BE_OK; i++)
    status = read_word(asked->words[i], true, asked->words[i], arena, &ties[i], err);
  return status == BE_OK ? be_anatomies_compare(&ties[0], &ties[1], arena, doc, err) : status;
}

static enum be_status answer(const struct be_anatomy *asked, struct be_arena *arena,
                             struct be_doc **doc, struct be_err *err)
{
  struct be_tie tie;
  struct anatomy *anatomy = be_arena_alloc(arena, sizeof *anatomy);
  const char *text = joined(asked, arena);
  enum be_looked looked = asked->fewest   ? BE_LOOKED_FEWEST
                          : asked->turned ? BE_LOOKED_TURNED
                                          : BE_LOOKED_USUAL;
  if (!anatomy || !text) return be_no_memory(err);
  enum be_status status = read_word(text, asked->count == 1, asked->words[0], arena, &tie, err);
  if (status == BE_OK)
    status = be_anatomy_work(&tie, looked, asked->turn_deg, asked->tilt_deg, arena, anatomy, err);
  if (status == BE_OK) status = be_anatomy_files(anatomy, asked, err);
  return status == BE_OK ? be_anatomy_doc(anatomy, doc, err) : status;
}

enum be_status be_app_anatomy(const struct be_anatomy *asked, struct be_doc **doc,
                              struct be_err *err)
{
  struct be_arena *arena = be_arena_create();
  if (!arena) return be_no_memory(err);
  enum be_status status = !asked->count     ? be_ties_doc(arena, doc, err)
                          : asked->compares ? compare(asked, arena, doc, err)
                                            : answer(asked, arena, doc, err);
  be_arena_free(arena);
  return status;
}
