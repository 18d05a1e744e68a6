/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Memory fails at each point of what a clip shows, and of its pictures: all of it stands or an
 * error, and nothing leaks. */
#include "app/clips/overlay.h"
#include "app/clips/reveal.h"
#include "clips_test.h"
#include "fault/failing.h"

enum { WIDE = 160, HIGH = 90, FRAMES = 3 };

struct trial {
  const struct survey *survey;
  bool reveal;
  char folder[520];
  struct be_buf told, *whole; /* whole: what is told when memory is plenty; null: this is it */
};

static void remove_all(const char *folder)
{
  static const char *const names[] = {"00000.png", "00001.png", "00002.png", "frames.txt",
                                      "begun.journal"};
  char path[600];
  for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
    snprintf(path, sizeof path, "%s%s", folder, names[i]);
    assert_int_equal(be_file_remove(path, NULL), BE_OK);
  }
}

static enum be_status make(struct trial *trial, const struct survey *survey, struct be_doc *doc,
                           struct be_err *err)
{
  struct overlay overlay;
  struct reveal reveal;
  struct clip_made made;
  struct clip clip = {.form = {BE_FILM_PNG, WIDE, HIGH, {25, 1}, FRAMES},
                      .path = trial->folder,
                      .note = "bitterend: test",
                      .told = &trial->told};
  enum be_status status = trial->reveal
                              ? be_reveal_make(survey, "standings", WIDE, HIGH, doc, &reveal, err)
                              : be_overlay_make(survey, "Q7", WIDE, HIGH, doc, &overlay, err);
  if (status != BE_OK) return status;
  if (trial->reveal) be_reveal_tell(&reveal, &trial->told);
  else be_overlay_tell(&overlay, &trial->told);
  clip.kind = trial->reveal ? &be_reveal_kind : &be_overlay_kind;
  clip.scene = trial->reveal ? (const void *)&reveal : (const void *)&overlay;
  return be_clip_make(&clip, NULL, &made, err);
}

static enum be_status attempt(void *context, struct be_err *err)
{
  struct trial *trial = context;
  struct survey survey = *trial->survey;
  be_buf_init(&trial->told, 1 << 20);
  remove_all(trial->folder);
  survey.arena = be_arena_create();
  struct be_doc *doc = be_doc_create("clip", "Clip");
  enum be_status status = survey.arena && doc ? BE_OK : be_no_memory(err);
  if (status == BE_OK) status = make(trial, &survey, doc, err);
  if (status == BE_OK && be_arena_ran_out(survey.arena)) status = be_no_memory(err);
  if (status == BE_OK && trial->whole && strcmp(trial->told.data, trial->whole->data) != 0)
    status = be_fail(err, BE_BAD_INPUT, "a clip that is not whole");
  be_doc_free(doc);
  be_arena_free(survey.arena);
  if (trial->whole) be_buf_free(&trial->told);
  return status;
}

static void try_clip(bool reveal)
{
  struct survey survey;
  struct be_err err = {0};
  struct be_arena *arena = be_arena_create();
  const struct be_answering how = {.resamples = 20};
  clips_book(book, "clips-memory.book");
  assert_int_equal(be_survey_read(book, &how, arena, &survey, &err), BE_OK);
  struct trial plenty = {.survey = &survey, .reveal = reveal};
  test_path(plenty.folder, "memory-pictures/");
  assert_int_equal(be_font_ready(&err), BE_OK);
  if (attempt(&plenty, &err) != BE_OK) fail_msg("%s", err.what);
  struct trial trial = plenty;
  trial.whole = &plenty.told;
  be_fail_loop_bearing(attempt, &trial, 10);
  be_buf_free(&plenty.told);
  be_arena_free(arena);
}

static void an_overlay_bears_it(void **state)
{
  (void)state;
  try_clip(false);
}

static void a_reveal_bears_it(void **state)
{
  (void)state;
  try_clip(true);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(an_overlay_bears_it),
      cmocka_unit_test(a_reveal_bears_it),
  };
  return be_tests("app: clips without memory", tests);
}
