/* SPDX-License-Identifier: GPL-3.0-or-later */
/* site: the pages of a book as documents, and what serves them.
 *
 *   site.c       takes each request: asset, bench, or a page
 *   maker.h      keeps pages, and makes slow ones while their readers are told how far it is
 *   pages.c      the table of pages; pull_page.c is one of them
 *   asking.c     what an address asks, and the form that asks otherwise */
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
  /* Made for each request, and never kept: it shows more than the book and the address tell, such
   * as the day, another file, or who asks. */
  bool fresh;
};
/* Null for an address that no page has. */
const struct be_route *be_route_find(const char *path);

/* Digits alone, below `end`. */
bool be_index_read(const char *text, size_t end, size_t *index);

be_page_maker be_pull_page;

#endif
