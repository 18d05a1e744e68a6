/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/site/reader.h"
#include "app/site/site.h"

#include <stdio.h>
#include <string.h>

static const char comma_word[] = ".comma";

struct be_reader be_reader_of(const struct be_request *request)
{
  struct be_reader reader = {0};
  const char *value = be_request_cookie(request, "reader");
  if (!value) return reader;
  size_t length = strcspn(value, ".");
  reader.unit = be_unit_find_in(BE_FORCE, value, length);
  reader.comma = strcmp(value + length, comma_word) == 0;
  return reader;
}

void be_reader_write(const struct be_reader *reader, char *cookie, size_t size)
{
  snprintf(cookie, size, "reader=%s%s", reader->unit ? reader->unit->name : "",
           reader->comma ? comma_word : "");
}

/* ---- the page ---- */

static const struct be_place units[] = {{"", "of the book"}, {"N", "N"}, {"kN", "kN"}, {"kg", "kg"},
                                        {"lb", "lb"},        {"g", "g"}, {"oz", "oz"}};
static const struct be_place marks[] = {{"point", "12.5"}, {"comma", "12,5"}};

enum be_status be_reader_page(struct visit *visit, struct be_doc **out, struct be_err *err)
{
  struct be_reader reader = be_reader_of(visit->request);
  struct be_doc *doc = be_doc_create("reader", "How figures are shown");
  if (!doc) return be_no_memory(err);
  be_say_wrong(doc, visit);
  be_doc_sentence(doc, "Loads are shown to you in %s%s, decimals behind a %s.",
                  reader.unit ? reader.unit->name : visit->survey.how.unit->name,
                  reader.unit ? "" : ", the unit most loads of the book were typed in",
                  reader.comma ? "comma" : "point");
  be_doc_note(doc, "This browser keeps it; the book and other readers are not concerned.");
  const struct be_field fields[] = {
      {"unit", "loads in", reader.unit ? reader.unit->name : "", units,
       sizeof units / sizeof units[0]},
      {"mark", "decimals", reader.comma ? "comma" : "point", marks, 2},
  };
  const struct be_form form = {
      .title = "Show otherwise", .button = "Show so", .fields = fields, .count = 2, .does = "show"};
  be_form_html(&visit->html, &form, NULL);
  return be_doc_done(doc, BE_OK, out);
}

/* Back to the page that led here, if it is one of ours. */
static const char *way_back(const struct visit *visit)
{
  const char *back = be_request_query(visit->request, "back");
  return back && be_is_page(back) ? back : "/";
}

enum be_status be_reader_post(struct visit *visit, struct be_err *err)
{
  const char *unit = be_request_form(visit->request, "unit");
  const char *mark = be_request_form(visit->request, "mark");
  struct be_reader reader = {.comma = mark && strcmp(mark, "comma") == 0};
  if (unit && *unit) reader.unit = be_unit_find_in(BE_FORCE, unit, strlen(unit));
  if (unit && *unit && !reader.unit)
    return be_fail(err, BE_BAD_INPUT, "\"%.40s\" is not a unit of force such as lb, kg or N", unit);
  struct be_reply *reply = visit->reply;
  be_reader_write(&reader, reply->cookie, sizeof reply->cookie);
  snprintf(reply->location, sizeof reply->location, "%.200s", way_back(visit));
  return BE_OK;
}
