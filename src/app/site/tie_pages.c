/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The ties that the program knows, and one tie: looked at, drawn, and kept as that of a knot. */
#include "app/anatomy/anatomy.h"
#include "app/site/site.h"

#include <stdio.h>
#include <string.h>

const char *const be_tie_takes[] = {"do", "knot", "version", "turns", "tie", NULL};

enum be_status be_ties_page(struct visit *visit, struct be_doc **out, struct be_err *err)
{
  be_buf_text(&visit->html, "<p class=\"note\"><a href=\"/tie\">Draw or write another</a>.</p>\n");
  return be_ties_doc(visit->arena, out, err);
}

/* As it was sent, so that nothing typed is lost; else as it was asked. */
static const char *told(const struct visit *visit, const char *name)
{
  const char *sent = be_request_form(visit->request, name);
  return sent ? sent : be_request_query(visit->request, name);
}

/* Browsers send a text with a carriage return in each line end. Null where none is told. */
static const char *told_tie(const struct visit *visit)
{
  const char *text = told(visit, "tie");
  char *kept = text ? be_arena_text(visit->arena, text, strlen(text)) : NULL, *to = kept;
  for (const char *from = kept; from && *from; from++)
    if (*from != '\r') *to++ = *from;
  if (to) *to = '\0';
  return kept;
}

/* ---- the form ---- */

static void attribute(struct be_buf *html, const char *before, const char *text, const char *after)
{
  be_buf_text(html, before);
  be_markup_text(html, text);
  be_buf_text(html, after);
}

static void input(const struct visit *visit, struct be_buf *html, const char *name,
                  const char *label)
{
  const char *value = told(visit, name);
  be_buf_format(html, "<div><label for=\"tie-%s\">%s</label> <input id=\"tie-%s\" name=\"%s\"",
                name, label, name, name);
  attribute(html, " value=\"", value ? value : "", "\"></div>\n");
}

/* Looking asks the page by its address, which can be kept and sent on; keeping is posted. */
static void write_form(struct visit *visit)
{
  struct be_buf *html = &visit->html;
  const char *text = told_tie(visit);
  be_buf_text(html,
              "<h2 id=\"draw\">Draw it, or write how it runs</h2>\n"
              "<form method=\"post\">\n<div class=\"pad\" data-text=\"tie-text\" "
              "data-name=\"drawn knot\"></div>\n"
              "<div class=\"written\"><label for=\"tie-text\">The tie as text: a name with its "
              "settings, lines of the notation, a code or a table of points</label>\n");
  attribute(html, "<textarea id=\"tie-text\" name=\"tie\" rows=\"12\" spellcheck=\"false\">\n",
            text ? text : "", "</textarea></div>\n");
  be_buf_text(html, "<p><button formmethod=\"get\">Look at it</button></p>\n");
  if (visit->takes_posts) {
    input(visit, html, "knot", "The knot that is tied so");
    input(visit, html, "version", "Its version (may be empty)");
    input(visit, html, "turns", "Its turns (may be empty)");
    be_buf_text(html, "<p><button name=\"do\" value=\"keep\">Keep it in the book</button></p>\n");
  }
  be_buf_text(html, "</form>\n");
  visit->script = "/knots.js";
}

/* ---- the page ---- */

static bool cannot_be_read(enum be_status status)
{
  return status == BE_BAD_INPUT || status == BE_NO || status == BE_TOO_LARGE;
}

/* A tie that cannot be read is the fault of who asks. */
static enum be_status asked_wrongly(struct visit *visit, enum be_status status)
{
  if (cannot_be_read(status)) visit->reply->status = status == BE_NO ? 404 : 400;
  return status;
}

static enum be_status say_unread(struct be_doc **out, const struct be_err *why, struct be_err *err)
{
  struct be_doc *doc = be_doc_create("anatomy", "A tie");
  if (!doc) return be_no_memory(err);
  if (why->line)
    be_doc_sentence(doc, "This tie cannot be read, line %zu, column %zu: %s%s%s.", why->line,
                    why->column, why->what, *why->remedy ? "; " : "", why->remedy);
  else
    be_doc_sentence(doc, "This tie cannot be read: %s%s%s.", why->what, *why->remedy ? "; " : "",
                    why->remedy);
  return be_doc_done(doc, BE_OK, out);
}

static enum be_status say_nothing_yet(struct be_doc **out, struct be_err *err)
{
  struct be_doc *doc = be_doc_create("anatomy", "A tie");
  if (!doc) return be_no_memory(err);
  be_doc_sentence(doc, "Draw how a knot runs, or write it, to see where it crosses itself, what "
                       "lies on what, and what it is consistent with.");
  return be_doc_done(doc, BE_OK, out);
}

enum be_status be_tie_page(struct visit *visit, struct be_doc **out, struct be_err *err)
{
  const char *text = told_tie(visit);
  struct be_err why = {0};
  enum be_status status =
      !text || !*text ? say_nothing_yet(out, err) : be_tie_doc(text, visit->arena, out, &why);
  if (cannot_be_read(status) && !visit->api) status = say_unread(out, &why, err);
  else if (status != BE_OK && why.status != BE_OK && err) *err = why;
  if (status != BE_OK) return asked_wrongly(visit, status);
  if (visit->wrong.status != BE_OK) {
    size_t place = be_doc_place(*out);
    be_say_wrong(*out, visit);
    be_doc_first(*out, place);
  }
  write_form(visit);
  return BE_OK;
}

enum be_status be_tie_post(struct visit *visit, struct be_err *err)
{
  const struct be_request *request = visit->request;
  const char *does = be_request_form(request, "do"), *text = be_request_form(request, "tie");
  const struct be_tie_kept kept = {.knot = be_request_form(request, "knot"),
                                   .version = be_request_form(request, "version"),
                                   .turns = be_request_form(request, "turns"),
                                   .text = text ? text : ""};
  if (does && strcmp(does, "keep") != 0)
    return be_fail(err, BE_BAD_INPUT, "a tie is kept; there is no \"%.40s\" to do", does);
  enum be_status status = be_tie_keep(visit->book_path, &kept, err);
  if (status == BE_OK)
    snprintf(visit->reply->location, sizeof visit->reply->location, "/knots%s%s",
             *visit->unit ? "?" : "", visit->unit);
  return status;
}

/* ---- for the script ---- */

enum be_status be_tie_lines_json(struct visit *visit, struct be_err *err)
{
  const char *text = be_request_query(visit->request, "tie");
  visit->reply->type = "application/json";
  enum be_status status = text
                              ? be_tie_lines(text, visit->arena, &visit->reply->body, err)
                              : be_fail(err, BE_NO, "the address does not tell a tie: ?tie=clinch");
  return asked_wrongly(visit, status);
}

enum be_status be_tie_picture(struct visit *visit, struct be_err *err)
{
  const char *text = be_request_query(visit->request, "tie");
  if (!text) return be_fail(err, BE_NO, "the address does not tell a tie");
  enum be_status status = be_tie_svg(text, visit->arena, &visit->reply->body, err);
  if (status != BE_OK) return asked_wrongly(visit, status);
  visit->reply->type = "image/svg+xml";
  visit->reply->cacheable = true;
  return BE_OK;
}
