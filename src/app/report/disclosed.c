/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Answers from what is told of lines, knots and trials beside the pulls. */
#include "app/report/questions.h"

enum be_status be_answer_new_line(struct be_answer *answer, struct be_err *err)
{
  enum be_status status = be_answer_spools(answer, err);
  return status == BE_OK ? be_answer_field(answer, BE_TELLS_OPENED, err) : status;
}

enum be_status be_answer_handy(struct be_answer *answer, struct be_err *err)
{
  if (!answer->survey->record.knots_count)
    be_answer_add(answer, 0, 1, "The book holds no knots yet.");
  enum be_status status = be_answer_field(answer, BE_TELLS_TIE_TIME, err);
  return status == BE_OK ? be_answer_field(answer, BE_TELLS_GUIDES, err) : status;
}

enum be_status be_answer_glue(struct be_answer *answer, struct be_err *err)
{
  (void)err;
  const struct be_record *record = &answer->survey->record;
  size_t glued = 0, without = 0;
  for (size_t i = 0; i < record->pulls_count; i++) {
    const char *glue = record->pulls[i].handling[BE_HANDLED_GLUE].text;
    if (!glue || record->pulls[i].design == BE_DESIGN_PLAIN) continue;
    if (be_text_same(glue, "none")) without++;
    else glued++;
  }
  if (!glued && without)
    be_answer_add(answer, 0, 1, "None was glued, so whether glue would help was not tried.");
  if (glued)
    be_answer_add(answer, 1, 1,
                  "Pulls of knots with glue: %zu, told to be without: %zu. Tables tell knots apart "
                  "by name, turns and version: a glued one is compared where it is a version of "
                  "its own.",
                  glued, without);
  return BE_OK;
}

enum be_status be_answer_interests(struct be_answer *answer, struct be_err *err)
{
  const struct be_record *record = &answer->survey->record;
  size_t told = 0;
  for (size_t i = 0; i < record->trials_count; i++) {
    const struct be_trial *trial = &record->trials[i];
    if (!trial->rule[BE_RULE_INTERESTS]) continue;
    told++;
    be_answer_add(answer, 1, 1, "Trial %s, of who paid and other interests: %s.", trial->name,
                  trial->rule[BE_RULE_INTERESTS]);
  }
  if (!told)
    be_answer_add(answer, 0, 1,
                  "No trial says who paid or what other interests there are (rule \"interests\").");
  else if (told < record->trials_count)
    be_answer_add(answer, 0, 1, "%zu of %zu trials say nothing of it.", record->trials_count - told,
                  record->trials_count);
  return be_answer_field(answer, BE_TELLS_SOURCE, err);
}
