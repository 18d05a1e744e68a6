/* SPDX-License-Identifier: GPL-3.0-or-later */
/* site: the pages of a book as documents, and what serves them.
 *
 *   site.c       takes each request: asset, bench, or a page
 *   pages.c      the table of pages; pull_page.c is one of them, with the form of correct.c
 *   asking.c     what an address asks, and the form that asks otherwise; asking_pulls.c: of pulls
 */
#ifndef BE_APP_SITE_H
#define BE_APP_SITE_H

#include "app/site/asking.h"

/* One request's own. */
struct visit {
  const char *book_path;
  const struct be_request *request;
  struct be_reply *reply;
  struct survey survey;
  struct be_answering how;
  struct asking asking;
  char unit[32];      /* "unit=kg" if the address asks for one; "" */
  bool takes_posts;   /* something may be sent to its pages */
  struct be_buf html; /* what the page has besides its document, such as a form that is posted */
  const char *script; /* address of its script; null: none */
  struct be_err
      wrong; /* why what was posted was refused: to be said on the page; BE_OK: it was not */
};

/* The document that an address asks for. BE_NO: it is not there; BE_WRONG_USE: it cannot be asked.
 */
typedef enum be_status be_page_maker(struct visit *visit, struct be_doc **doc, struct be_err *err);

/* Does what a posted form asks. On BE_OK the browser is sent to the page again, unless
 * reply->location says where else; after an error the page is made, with `wrong` told. */
typedef enum be_status be_page_poster(struct visit *visit, struct be_err *err);

struct be_route {
  const char *path; /* with a slash behind it: all below */
  const char *here; /* the place among the ways that it belongs to */
  be_page_maker *make;
  be_page_poster *post; /* null: nothing can be sent to it */
};
/* Null for an address that no page has. */
const struct be_route *be_route_find(const char *path);

/* Digits alone, below `end`. */
bool be_index_read(const char *text, size_t end, size_t *index);

/* pull_page.c; the pull that the address names, or null. correct.c: the form below it. */
be_page_maker be_pull_page;
const struct be_pull *be_pull_at(const struct visit *visit);
be_page_poster be_pull_correct;
void be_correct_form(struct visit *visit, const struct be_pull *pull);

#endif
