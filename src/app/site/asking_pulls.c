/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What an address asks of the book's pulls, and the form that asks otherwise. */
#include "app/site/asking.h"

#include <string.h>

/* None of them first, then each once. */
struct choices {
  struct be_place *list;
  size_t count, room;
};

static bool begin(struct choices *choices, const struct survey *survey, size_t most)
{
  choices->list = be_arena_alloc(survey->arena, (most + 1) * sizeof *choices->list);
  choices->count = 0;
  choices->room = most + 1;
  if (choices->list) choices->list[choices->count++] = (struct be_place){"", "-"};
  return choices->list != NULL;
}

static void add(struct choices *choices, const char *address, const char *name)
{
  if (!name || !*name || choices->count == choices->room) return;
  for (size_t i = 0; i < choices->count; i++)
    if (be_text_same(choices->list[i].address, address)) return;
  choices->list[choices->count++] = (struct be_place){address, name};
}

static enum be_status choose_words(const struct survey *survey, enum be_pulls_by by,
                                   struct choices *choices, struct be_err *err)
{
  int count = 0;
  while (be_pulls_by_word(by, count)) count++;
  if (!begin(choices, survey, (size_t)count)) return be_no_memory(err);
  for (int i = 0; i < count; i++) add(choices, be_pulls_by_word(by, i), be_pulls_by_word(by, i));
  return BE_OK;
}

static enum be_status choose_knots(const struct survey *survey, struct choices *choices,
                                   struct be_err *err)
{
  if (!begin(choices, survey, survey->record.knots_count)) return be_no_memory(err);
  for (size_t i = 0; i < survey->record.knots_count; i++) {
    const char *index = be_arena_format(survey->arena, "%zu", i);
    if (!index) return be_no_memory(err);
    add(choices, index, be_knot_name(survey, (int)i));
  }
  return BE_OK;
}

static enum be_status choose_named(const struct survey *survey, enum be_pulls_by by,
                                   struct choices *choices, struct be_err *err)
{
  const struct be_record *record = &survey->record;
  size_t most = by == BE_PULLS_LINE    ? 2 * record->lines_count
                : by == BE_PULLS_TRIAL ? record->trials_count
                                       : record->benches_count;
  if (!begin(choices, survey, most)) return be_no_memory(err);
  for (size_t i = 0; by == BE_PULLS_LINE && i < record->lines_count; i++)
    add(choices, record->lines[i].name, record->lines[i].name);
  for (size_t i = 0; by == BE_PULLS_LINE && i < record->lines_count; i++) {
    const char *spool = record->lines[i].spool;
    const char *name = spool ? be_arena_format(survey->arena, "spool %s", spool) : NULL;
    if (spool && !name) return be_no_memory(err);
    add(choices, spool ? spool : "", name);
  }
  for (size_t i = 0; by == BE_PULLS_TRIAL && i < record->trials_count; i++)
    add(choices, record->trials[i].name, record->trials[i].name);
  for (size_t i = 0; by == BE_PULLS_BENCH && i < record->benches_count; i++)
    add(choices, record->benches[i].name, record->benches[i].name);
  return BE_OK;
}

static enum be_status choose(const struct survey *survey, enum be_pulls_by by,
                             struct be_field *field, struct be_err *err)
{
  struct choices choices = {0};
  enum be_status status = BE_OK;
  if (be_pulls_by_word(by, 0)) status = choose_words(survey, by, &choices, err);
  else if (by == BE_PULLS_KNOT) status = choose_knots(survey, &choices, err);
  else if (by == BE_PULLS_LINE || by == BE_PULLS_TRIAL || by == BE_PULLS_BENCH)
    status = choose_named(survey, by, &choices, err);
  field->choices = choices.list;
  field->choices_count = choices.count;
  return status;
}

/* A knot may be asked for by its name: the form has it by its place. */
static const char *place_of(const struct survey *survey, const char *name)
{
  if (!name || !name[strspn(name, "0123456789")]) return name;
  int knot = be_knot_find(survey, name, NULL);
  return knot < 0 ? name : be_arena_format(survey->arena, "%d", knot);
}

enum be_status be_asking_pulls(const struct survey *survey, const struct be_request *request,
                               struct be_pulls_asked *asked, struct asking *asking,
                               struct be_err *err)
{
  struct be_field *fields = be_arena_alloc(survey->arena, BE_PULLS_BY * sizeof *fields);
  enum be_status status = fields ? BE_OK : be_no_memory(err);
  for (int by = 0; by < BE_PULLS_BY && status == BE_OK; by++) {
    const char *name = be_pulls_by_name((enum be_pulls_by)by);
    const char *value = be_request_query(request, name);
    asked->text[by] = value;
    fields[by] = (struct be_field){.name = name,
                                   .label = be_pulls_by_label((enum be_pulls_by)by),
                                   .value = by == BE_PULLS_KNOT ? place_of(survey, value) : value};
    status = choose(survey, (enum be_pulls_by)by, &fields[by], err);
  }
  if (status != BE_OK) return status;
  asking->form = (struct be_form){.title = "Only some of the pulls",
                                  .button = "Show these",
                                  .address = "/pulls",
                                  .fields = fields,
                                  .count = BE_PULLS_BY,
                                  .folded = true};
  return BE_OK;
}
