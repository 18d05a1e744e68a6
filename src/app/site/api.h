/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The pages for programs, under /api/1/: the same routes, answered in JSON, and what only programs
 * want. docs/formats.md has its section; assets/openapi.json describes every answer. */
#ifndef BE_APP_API_H
#define BE_APP_API_H

#include "app/site/site.h"

/* Whether a program asks. Then *page is the same request of the page: /api/1/pull/7 of /pull/7. */
bool be_api_asks(const struct be_request *request, struct be_request *page);

/* Takes what was posted as JSON for the form of the page. names: what that takes, ended by null;
 * null: it looks itself. Sets the status of the reply where it is refused. */
enum be_status be_api_take(struct visit *visit, const char *const *names, struct be_err *err);

/* The answer: the document with the notice, as the commands print it; or why there is none, with
 * the status of the reply, or 404, 400 or 500 where that is still 200. */
enum be_status be_api_say(struct be_doc *doc, struct be_reply *reply, struct be_err *err);
void be_api_say_error(enum be_status status, const struct be_err *err, struct be_reply *reply);
/* A reply that was refused in plain words, as such an error. */
void be_api_say_refused(struct be_reply *reply);

/* What there is; the description; the record, a part of a list at a time; one trace. */
be_page_writer be_api_list, be_api_description, be_api_record, be_api_trace;

/* ---- pieces (record.c) ---- */

/* ,"key":"text", null for null; and so on. A key that comes first has no comma. */
void be_api_text(struct be_buf *out, const char *key, const char *text);
void be_api_number(struct be_buf *out, const char *key, double value);
void be_api_count(struct be_buf *out, const char *key, size_t count);

#endif
