/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/site/site.h"

#include "app/lines/lines.h"

#include <stdio.h>

enum be_status be_lines_page(struct visit *visit, struct be_doc **out, struct be_err *err)
{
  return be_lines_doc(&visit->survey, out, err);
}

/* Lines are told by their place in the record, which stays. */
static enum be_status find_line(const struct visit *visit, size_t *line, struct be_err *err)
{
  bool has;
  enum be_status status =
      be_query_index(visit->request, "at", visit->survey.record.lines_count, line, &has, err);
  if (status != BE_OK || has) return status;
  return be_fail(err, BE_NO, "the address does not name a line of the book");
}

const char *const be_line_takes[] = {"do", "on-hand", "counted", NULL};

static void write_count(struct visit *visit)
{
  char now[32];
  const char *on_hand = be_request_form(visit->request, "on-hand");
  const char *counted = be_request_form(visit->request, "counted");
  be_now(now);
  now[10] = '\0'; /* the day alone */
  const struct be_field fields[] = {
      {"on-hand", "how much there is, in metres (41.5)", on_hand, NULL, 0},
      {"counted", "when it was counted", counted ? counted : now, NULL, 0},
  };
  const struct be_form form = {
      .title = "Count what is on hand",
      .button = "Enter this count",
      .fields = fields,
      .count = 2,
      .does = "count",
      .note = "A count is added to those before it, and the last one holds; what is pulled from "
              "then on is taken off."};
  be_form_html(&visit->html, &form, NULL);
}

static void say_counted(const struct visit *visit, struct be_doc *doc)
{
  size_t place = be_doc_place(doc);
  if (visit->wrong.status != BE_OK)
    be_doc_sentence(doc, "Nothing was entered: %s%s%s.", visit->wrong.what,
                    *visit->wrong.remedy ? "; " : "", visit->wrong.remedy);
  else if (be_request_query(visit->request, "counted") ||
           be_request_form(visit->request, "on-hand"))
    be_doc_sentence(doc, "The count is in the book.");
  else return;
  be_doc_first(doc, place);
}

enum be_status be_line_page(struct visit *visit, struct be_doc **out, struct be_err *err)
{
  size_t line = 0, from = 0, all = visit->survey.record.pulls_count;
  bool has;
  enum be_status status = find_line(visit, &line, err);
  if (status == BE_OK)
    status = be_query_index(visit->request, "from", all ? all : 1, &from, &has, err);
  if (status == BE_OK) status = be_line_doc(&visit->survey, line, from, out, err);
  if (status != BE_OK) return status;
  say_counted(visit, *out);
  if (visit->takes_posts) write_count(visit);
  return BE_OK;
}

enum be_status be_line_post(struct visit *visit, struct be_err *err)
{
  size_t line = 0;
  enum be_status status = find_line(visit, &line, err);
  if (status == BE_OK)
    status = be_line_count(visit->book_path, &visit->survey.record.lines[line],
                           be_request_form(visit->request, "on-hand"),
                           be_request_form(visit->request, "counted"), err);
  if (status == BE_OK)
    snprintf(visit->reply->location, sizeof visit->reply->location, "/line?at=%zu&counted=1%s%s",
             line, *visit->unit ? "&" : "", visit->unit);
  return status;
}
