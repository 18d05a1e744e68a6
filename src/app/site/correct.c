/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The form that corrects the result of a pull, and what it sends: a pull sheet of one row, which is
 * entered as anybody's. It names the result that was seen, so that a newer one is not passed over.
 */
#include "app/site/site.h"

#include "app/live/live.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define COLUMN(code, column, key, dimension) column,
/* What is done, to which result and why, then columns of a pull sheet. */
const char *const be_correct_takes[] = {"do",
                                        "corrects",
                                        "correction",
                                        "load",
                                        "what",
                                        "where",
                                        "which",
                                        "result",
                                        "reason",
                                        "judged by",
                                        "note",
                                        "seen",
                                        BE_HANDLING_LIST(COLUMN) "soak",
                                        "speed",
                                        "free length",
                                        "tyer",
                                        "lubricant",
                                        NULL};
static const char *const result_fields[] = {"load",   "what",   "where",     "which",
                                            "result", "reason", "judged by", "note"};

/* ---- the form ---- */

/* What was sent and refused stands there again; else what the book has. */
static const char *value_of(const struct visit *visit, const char *name, const char *kept)
{
  const char *sent = be_request_form(visit->request, name);
  if (sent && visit->wrong.status != BE_OK && !be_pull_handles(visit)) return sent;
  return kept ? kept : "";
}

static const char *what_word(int at)
{
  return be_what_word((enum be_what)at);
}

static const char *where_word(int at)
{
  return be_where_word((enum be_where)at);
}

static const char *which_word(int at)
{
  return be_which_word((enum be_which)at);
}

static const char *kind_word(int at)
{
  return be_kind_word((enum be_kind)at);
}

/* The words of a field that are chosen from; the first is sent as nothing. */
struct list {
  struct be_place places[1 + BE_WHERE_NOT_SEEN + BE_WHAT_NOTHING];
  size_t count;
};

static struct list list_of(const char *none, const char *(*word)(int at), int last)
{
  struct list list = {.places = {{"", none}}, .count = 1};
  for (int i = 1; i <= last; i++) list.places[list.count++] = (struct be_place){word(i), word(i)};
  return list;
}

static struct be_field chosen(const struct visit *visit, const char *name, const char *label,
                              const struct list *list, int kept)
{
  return (struct be_field){.name = name,
                           .label = label,
                           .value = value_of(visit, name, list->places[kept].address),
                           .choices = list->places,
                           .choices_count = list->count};
}

static struct be_field typed(const struct visit *visit, const char *name, const char *label,
                             const char *kept)
{
  return (struct be_field){.name = name, .label = label, .value = value_of(visit, name, kept)};
}

/* The load as a sheet takes it: with a point and its unit, however it was typed. */
static void load_words(const struct be_pull *pull, char words[64])
{
  const char *name = pull->load_unit;
  const struct be_unit *unit = name ? be_unit_find_in(BE_FORCE, name, strlen(name)) : NULL;
  words[0] = '\0';
  if (pull->load_text && unit && !isnan(pull->load_N))
    snprintf(words, 64, "%.12g %s", pull->load_N / unit->factor, unit->name);
}

void be_correct_form(struct visit *visit, const struct be_pull *pull)
{
  const struct list what = list_of("not recorded", what_word, BE_WHAT_NOTHING),
                    where = list_of("not recorded", where_word, BE_WHERE_NOT_SEEN),
                    which = list_of("not recorded", which_word,
                                    pull->knot_b < 0 ? BE_WHICH_NONE : BE_WHICH_KNOT_B),
                    result = list_of("by the rules", kind_word, BE_KIND_VOID);
  bool is_void = pull->kind == BE_KIND_VOID;
  char load[64], corrects[24];
  if (!visit->takes_posts) return;
  load_words(pull, load);
  snprintf(corrects, sizeof corrects, "%lld", (long long)pull->result);
  const struct be_field fields[] = {
      {.name = "corrects", .value = corrects},
      {.name = "correction",
       .label = "why it is corrected",
       .value = value_of(visit, "correction", NULL),
       .required = true},
      typed(visit, "load",
            pull->trace ? "load, with its unit; empty: that of the trace" : "load, with its unit",
            load),
      chosen(visit, "what", "what let go", &what, (int)pull->what),
      chosen(visit, "where", "where", &where, (int)pull->where),
      chosen(visit, "which", "which", &which, (int)pull->which),
      chosen(visit, "result", "it counts as", &result, is_void ? (int)BE_KIND_VOID : 0),
      typed(visit, "reason", "why it is void, if so", is_void ? pull->reason : NULL),
      {.name = "judged by",
       .label = "judged by (a name or initials of who corrects it)",
       .value = value_of(visit, "judged by", NULL),
       .required = true},
      typed(visit, "note", "note", pull->note),
  };
  const struct be_form form = {.title = "Correct the result",
                               .button = "Keep the correction",
                               .fields = fields,
                               .count = sizeof fields / sizeof fields[0],
                               .does = "correct",
                               .note = "What is here now stays on record, and this goes before it. "
                                       "Which knot and lines it was cannot be "
                                       "corrected: such a pull is made void, and entered under a "
                                       "new code."};
  be_form_html(&visit->html, &form, NULL);
}

/* ---- what it sends ---- */

static enum be_status take(const struct be_request *request, const struct be_pull *pull,
                           struct be_told *told, struct be_err *err)
{
  const char *why = be_request_form(request, "correction");
  if (!why || !why[strspn(why, " \t")])
    return be_fail(err, BE_BAD_INPUT, "a correction needs its reason: say why it is corrected");
  told->count = 0;
  enum be_status status = be_told_set(told, "specimen", pull->code, err);
  if (status == BE_OK) status = be_told_set(told, "correction", why, err);
  for (size_t i = 0; i < sizeof result_fields / sizeof *result_fields && status == BE_OK; i++) {
    const char *value = be_request_form(request, result_fields[i]);
    if (value && *value) status = be_told_set(told, result_fields[i], value, err);
  }
  return status;
}

enum be_status be_pull_correct(struct visit *visit, struct be_err *err)
{
  const char *seen = be_request_form(visit->request, "corrects");
  const struct be_pull *pull = be_pull_at(visit);
  struct be_told told;
  size_t result = 0;
  if (pull && be_pull_handles(visit)) return be_pull_handle(visit, pull, err);
  if (!pull) return be_fail(err, BE_NO, "there is no such pull");
  if (!seen || !be_index_read(seen, SIZE_MAX, &result) || result == 0)
    return be_fail(err, BE_WRONG_USE, "the form does not say which result it corrects");
  enum be_status status = take(visit->request, pull, &told, err);
  return status == BE_OK ? be_live_correct(visit->book_path, &told, (int64_t)result, err) : status;
}
