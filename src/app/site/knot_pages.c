/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/site/site.h"

enum be_status be_knots_page(struct visit *visit, struct be_doc **out, struct be_err *err)
{
  be_buf_text(&visit->html, "<p class=\"note\">How knots run: <a href=\"/ties\">the ties that the "
                            "program knows</a>; <a href=\"/tie\">draw or write another</a>.</p>\n");
  return be_knots_doc(&visit->survey, out, err);
}

/* Knots are told by their place in the record, which stays. */
enum be_status be_knot_page(struct visit *visit, struct be_doc **out, struct be_err *err)
{
  const struct survey *survey = &visit->survey;
  size_t knot = 0, from = 0, all = survey->record.pulls_count;
  bool has_knot, has_from;
  enum be_status status =
      be_query_index(visit->request, "at", survey->record.knots_count, &knot, &has_knot, err);
  if (status == BE_OK)
    status = be_query_index(visit->request, "from", all ? all : 1, &from, &has_from, err);
  if (status != BE_OK) return status;
  if (!has_knot) return be_fail(err, BE_NO, "the address does not name a knot of the book");
  if (survey->record.knots[knot].tie) visit->script = "/knots.js";
  return be_knot_doc(survey, knot, from, out, err);
}

enum be_status be_picture_reply(const char *book_path, const struct be_request *request,
                                struct be_reply *reply, struct be_err *err)
{
  size_t id = 0;
  bool has;
  struct be_book *book = NULL;
  const char *type = NULL;
  enum be_status status = be_query_index(request, "of", SIZE_MAX / 2, &id, &has, err);
  if (status == BE_OK && !has) status = be_fail(err, BE_NO, "the address does not name a picture");
  if (status == BE_OK) status = be_book_open(book_path, false, &book, err);
  if (status == BE_OK) status = be_book_picture(book, (int64_t)id, &reply->body, &type, err);
  be_book_close(book);
  if (status == BE_OK) {
    reply->type = type;
    reply->cacheable = true;
  } else {
    be_buf_free(&reply->body);
  }
  return status;
}
