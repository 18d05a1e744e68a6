/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/site/asking.h"
#include "app/model/model.h"

#include <string.h>

/* ---- what an address asks ---- */

/* A field that was left empty asks nothing. */
static const char *asked_of(const struct be_request *request, const char *name)
{
  const char *value = be_request_query(request, name);
  return value && *value ? value : NULL;
}

static enum be_status take_number(const struct be_request *request, const char *name, double least,
                                  double most, double scale, double *number, struct be_err *err)
{
  const char *value = asked_of(request, name);
  double got = 0;
  if (!value) return BE_OK;
  size_t size = strlen(value);
  if (be_number_scan(value, size, '.', &got) != size || !(got >= least) || !(got <= most))
    return be_fail(err, BE_WRONG_USE, "%s takes a number from %g to %g, not \"%.40s\"", name, least,
                   most, value);
  *number = got / scale;
  return BE_OK;
}

static enum be_status take_count(const struct be_request *request, const char *name, size_t *count,
                                 struct be_err *err)
{
  double number = 0;
  enum be_status status = take_number(request, name, 1, 1000, 1, &number, err);
  *count = (size_t)number;
  if (status != BE_OK || (double)*count == number) return status;
  return be_fail(err, BE_WRONG_USE, "%s takes a whole number, not \"%.40s\"", name,
                 asked_of(request, name));
}

static const struct be_place by_ways[] = {
    {"/", "strength"},
    {"/?by=slips", "slips"},
    {"/?by=low", "low end"},
    {"/?by=held", "when it holds"},
};

static enum be_status take_by(const struct be_request *request, struct be_answering *how,
                              struct be_err *err)
{
  static const char *const words[] = {[BE_BY_STRENGTH] = "strength",
                                      [BE_BY_SLIPS] = "slips",
                                      [BE_BY_LOW] = "low",
                                      [BE_BY_HELD] = "held"};
  const char *by = asked_of(request, "by");
  if (!by) return BE_OK;
  for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
    if (strcmp(by, words[i]) == 0) {
      how->by = (enum be_by)i;
      return BE_OK;
    }
  return be_fail(err, BE_WRONG_USE,
                 "standings go by strength, slips, low or held, not by \"%.40s\"", by);
}

/* /?by=slips, /?since=2026-10-01, /?factor=turns,soak */
static enum be_status take_standings(const struct be_request *request, struct be_answering *how,
                                     struct be_err *err)
{
  const char *factors = asked_of(request, "factor");
  how->since = asked_of(request, "since");
  enum be_status status = take_by(request, how, err);
  return status == BE_OK && factors ? be_factors_read(factors, &how->factors, err) : status;
}

enum be_status be_asking_how(const struct be_request *request, struct be_answering *how,
                             struct be_err *err)
{
  enum be_status status = BE_OK;
  if (strcmp(request->path, "/") == 0) status = take_standings(request, how, err);
  if (strcmp(request->path, "/versus") != 0) return status;
  status = take_number(request, "within", 0.1, 50, 100, &how->within, err);
  return status == BE_OK ? take_number(request, "power", 10, 99.9, 100, &how->power, err) : status;
}

enum be_status be_asking_tying(const struct be_request *request, struct be_tying *tying,
                               struct be_err *err)
{
  *tying = (struct be_tying){.a = asked_of(request, "between"),
                             .b = asked_of(request, "and"),
                             .group = asked_of(request, "group")};
  enum be_status status = take_count(request, "specimens", &tying->specimens, err);
  if (status == BE_OK) status = take_count(request, "top", &tying->top, err);
  if (status == BE_OK)
    status = take_number(request, "minutes", 0.1, 100000, 1, &tying->minutes, err);
  if (status == BE_OK)
    status = take_number(request, "metres", 0.1, 1000, 1, &tying->metres_each, err);
  return status;
}

/* ---- ways and forms ---- */

static struct be_field *copy_fields(const struct survey *survey, const struct be_request *request,
                                    const struct be_field *fields, size_t count)
{
  struct be_field *copy = be_arena_alloc(survey->arena, count * sizeof *copy);
  for (size_t i = 0; copy && i < count; i++) {
    copy[i] = fields[i];
    copy[i].value = be_request_query(request, fields[i].name);
  }
  return copy;
}

/* What can be held fixed in this book, and what is: several come from an address alone. */
static enum be_status factor_choices(const struct survey *survey, const char *asked,
                                     struct be_place list[static BE_FACTORS + 2], size_t *count,
                                     struct be_err *err)
{
  unsigned usable;
  enum be_status status = be_model_usable(survey, &usable, err);
  if (status != BE_OK) return status;
  *count = 0;
  list[(*count)++] = (struct be_place){"", "-"};
  for (int i = 0; i < BE_FACTORS; i++) {
    const char *word = be_factor_words[i];
    if (asked && strcmp(asked, word) == 0) asked = NULL, usable |= 1U << i;
    if (usable >> i & 1) list[(*count)++] = (struct be_place){word, word};
  }
  if (asked) list[(*count)++] = (struct be_place){asked, asked};
  return BE_OK;
}

/* Both go with strength alone. */
enum be_status be_asking_standings(const struct survey *survey, const struct be_request *request,
                                   struct asking *asking, struct be_err *err)
{
  asking->ways = (struct be_ways){"Ranked by", by_ways, sizeof by_ways / sizeof by_ways[0],
                                  by_ways[survey->how.by].address};
  if (survey->how.by != BE_BY_STRENGTH) return BE_OK;
  size_t count;
  struct be_place *factors = be_arena_alloc(survey->arena, (BE_FACTORS + 2) * sizeof *factors);
  if (!factors) return be_no_memory(err);
  enum be_status status = factor_choices(survey, asked_of(request, "factor"), factors, &count, err);
  if (status != BE_OK) return status;
  const struct be_field fields[] = {
      {"since", "what moved since (2026-10-01, or a file)", NULL, NULL, 0},
      {"factor", "held fixed, and what it does", NULL, factors, count},
  };
  asking->form = (struct be_form){.title = "Since another day, or with something held fixed",
                                  .button = "Ask",
                                  .address = "/",
                                  .fields = copy_fields(survey, request, fields, 2),
                                  .count = count > 1 ? 2 : 1,
                                  .folded = true};
  return asking->form.fields ? BE_OK : be_no_memory(err);
}

static struct be_place *knot_choices(const struct survey *survey, size_t *count)
{
  size_t knots = survey->record.knots_count;
  struct be_place *list = be_arena_alloc(survey->arena, (knots + 1) * sizeof *list);
  *count = knots;
  for (size_t i = 0; list && i < knots; i++) {
    const char *index = be_arena_format(survey->arena, "%zu", i);
    if (!index) return NULL;
    list[i] = (struct be_place){index, be_knot_name(survey, (int)i)};
  }
  return list;
}

enum be_status be_asking_versus(const struct survey *survey, const struct be_request *request,
                                struct asking *asking, struct be_err *err)
{
  size_t count;
  const struct be_place *knots = knot_choices(survey, &count);
  const struct be_field fields[] = {
      {"a", "the one", NULL, knots, count},
      {"b", "the other", NULL, knots, count},
      {"within", "too small to matter (pts of the line)", NULL, NULL, 0},
      {"power", "power of the pulls still needed (%)", NULL, NULL, 0},
  };
  size_t size = sizeof fields / sizeof fields[0];
  asking->form = (struct be_form){
      "Two knots", "Compare", "/versus", copy_fields(survey, request, fields, size), size, false};
  return knots && asking->form.fields ? BE_OK : be_no_memory(err);
}

/* Knots by their names, and none of them first. */
static const struct be_place *named_choices(const struct survey *survey, size_t *count)
{
  size_t knots = survey->record.knots_count;
  struct be_place *list = be_arena_alloc(survey->arena, (knots + 1) * sizeof *list);
  *count = knots + 1;
  if (list) list[0] = (struct be_place){"", "-"};
  for (size_t i = 0; list && i < knots; i++)
    list[i + 1] = (struct be_place){be_knot_name(survey, (int)i), be_knot_name(survey, (int)i)};
  return list;
}

enum be_status be_asking_next(const struct survey *survey, const struct be_request *request,
                              struct asking *asking, struct be_err *err)
{
  size_t count;
  const struct be_place *knots = named_choices(survey, &count);
  const struct be_field fields[] = {
      {"specimens", "specimens to tie (12)", NULL, NULL, 0},
      {"minutes", "or minutes at the bench", NULL, NULL, 0},
      {"metres", "metres a specimen", NULL, NULL, 0},
      {"top", "first places asked for (1)", NULL, NULL, 0},
      {"group", "groups with this in their name", NULL, NULL, 0},
      {"between", "or which is the stronger, of", NULL, knots, count},
      {"and", "and", NULL, knots, count},
  };
  size_t size = sizeof fields / sizeof fields[0];
  asking->form = (struct be_form){
      "Ask otherwise", "Ask", "/next", copy_fields(survey, request, fields, size), size, false};
  return knots && asking->form.fields ? BE_OK : be_no_memory(err);
}
