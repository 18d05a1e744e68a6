/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A check weight logged on the page of the rig: a check weight sheet of one row, entered as
 * anybody's would be. */
#include "app/rig/trust.h"
#include "app/typed.h"

#include <stdio.h>
#include <string.h>

enum { SHEET_MAX = 16 * 1024 };

/* Of the form, then what it says unseen and the forms beside it. */
const char *const be_rig_takes[] = {"bench", "date", "weight", "reading", "session",
                                    "note",  "do",   "rig",    NULL};
static const struct be_field fields[] = {
    {.name = "bench", .label = "bench"},
    {.name = "date", .label = "when, as 2026-03-01 or 2026-03-01T18:30"},
    {.name = "weight", .label = "the check weight, with its unit, as 5 kg"},
    {.name = "reading", .label = "what the rig shows, with its unit"},
    {.name = "session", .label = "session"},
    {.name = "note", .label = "note"},
};
enum { FIELDS = sizeof fields / sizeof fields[0] };

/* ---- the form ---- */

enum be_status be_rig_form(const struct survey *survey, const struct be_request *request,
                           struct be_buf *html, struct be_err *err)
{
  const struct be_record *record = &survey->record;
  struct be_place *benches =
      be_arena_alloc(survey->arena, (record->benches_count + 1) * sizeof *benches);
  struct be_field filled[FIELDS];
  char now[32];
  if (!benches) return be_no_memory(err);
  for (size_t i = 0; i < record->benches_count; i++)
    benches[i] = (struct be_place){record->benches[i].name, ""};
  be_now(now);
  now[16] = '\0'; /* to the minute */
  for (size_t i = 0; i < FIELDS; i++) {
    filled[i] = fields[i];
    filled[i].value = be_request_form(request, fields[i].name);
  }
  filled[0].choices = benches;
  filled[0].choices_count = record->benches_count;
  filled[0].proposed = true;
  if (!filled[0].value && record->benches_count > 0) filled[0].value = benches[0].address;
  if (!filled[1].value) filled[1].value = now;
  const struct be_form form = {.title = "Log a check weight",
                               .button = "Log it",
                               .fields = filled,
                               .count = FIELDS,
                               .does = "log"};
  be_form_html(html, &form, NULL);
  return BE_OK;
}

/* ---- what it sends ---- */

enum be_status be_rig_post(const char *book_path, const struct be_request *request,
                           struct be_err *err)
{
  struct be_buf sheet;
  char name[64];
  const char *date = be_request_form(request, "date"), *bench = be_request_form(request, "bench");
  /* A row of nothing would pass for an empty sheet. */
  if (!bench || !bench[strspn(bench, " \t")])
    return be_fail(err, BE_BAD_INPUT, "the bench has no name");
  be_buf_init(&sheet, SHEET_MAX);
  for (size_t i = 0; i < FIELDS; i++)
    be_typed_cell(&sheet, fields[i].name, i + 1 == FIELDS ? "\n" : ",");
  for (size_t i = 0; i < FIELDS; i++)
    be_typed_cell(&sheet, be_request_form(request, fields[i].name), i + 1 == FIELDS ? "\n" : ",");
  snprintf(name, sizeof name, "check weight %.20s.csv", date ? date : "");
  bool already = false;
  enum be_status status = be_typed_enter(book_path, name, &sheet, NULL, &already, err);
  be_buf_free(&sheet);
  if (status == BE_OK && already) {
    status = be_fail(err, BE_BAD_INPUT, "this very reading was logged before");
    be_fail_remedy(err, "if it is another one, tell its time too");
  }
  return status;
}
