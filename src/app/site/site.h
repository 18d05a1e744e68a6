/* SPDX-License-Identifier: GPL-3.0-or-later */
/* site: the pages of a book as documents, and what serves them.
 *
 *   site.c       takes each request: asset, news, or a page
 *   door.c       who asks, and what he may; devices_page.c: how he is let in, and put out
 *   pages.c      the table of pages; pull_page.c is one of them
 *   asking.c     what an address asks, and the form that asks otherwise */
#ifndef BE_APP_SITE_H
#define BE_APP_SITE_H

#include "app/devices/devices.h"
#include "app/live/live.h"
#include "app/site/asking.h"

/* Who asks. */
struct visitor {
  enum be_device_role role;
  bool here;               /* at this machine itself, which is its owner's */
  struct be_device device; /* where it was paired; else its hash is "" */
};

/* What decides who may ask. devices is null where only this machine is served. */
struct door {
  struct be_devices *devices;
  bool (*is_here)(const char *peer); /* null: loopback, and this machine's own end */
  char cookie[48];                   /* its name */
  bool plain;                        /* no TLS */
};

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
  const struct door *door;
  struct visitor visitor;
  const char *who; /* who does it: the name of a device, "" for this machine; not yet kept */
  struct be_live_site *bench;
  struct be_err
      wrong; /* why what was posted was refused: to be said on the page; BE_OK: it was not */
};

/* The document that an address asks for. BE_NO: it is not there; BE_WRONG_USE: it cannot be asked.
 */
typedef enum be_status be_page_maker(struct visit *visit, struct be_doc **doc, struct be_err *err);

/* Does what a posted form asks. On BE_OK the browser is sent to the page again, unless
 * reply->location says where else; after an error the page is made, with `wrong` told. */
typedef enum be_status be_page_poster(struct visit *visit, struct be_err *err);

enum {
  BE_ROUTE_BARE = 1,  /* needs no record: visit->survey is not read */
  BE_ROUTE_OWNER = 2, /* the owner's alone to look at */
  BE_ROUTE_OPEN = 4,  /* looked at by who is not paired, too */
};

struct be_route {
  const char *path; /* with a slash behind it: all below */
  const char *here; /* the place among the ways that it belongs to */
  be_page_maker *make;
  be_page_poster *post;         /* null: nothing can be sent to it */
  enum be_device_role may_post; /* the least role */
  unsigned kind;
};
size_t be_routes(const struct be_route **routes);
/* Null for an address that no page has. */
const struct be_route *be_route_find(const char *path);

/* Digits alone, below `end`. */
bool be_index_read(const char *text, size_t end, size_t *index);

be_page_maker be_pull_page;

/* ---- door.c ---- */

void be_door_look(const struct door *door, const struct be_request *request,
                  struct visitor *visitor);
/* Whether the visitor may, else *why says why not and what to do. route is null for what is no
 * page: the news. */
bool be_door_opens(const struct visitor *visitor, const struct be_route *route, bool posts,
                   struct be_err *why);

/* ---- devices_page.c ---- */

be_page_maker be_devices_page, be_pair_page;
be_page_poster be_devices_post, be_pair_post;

#endif
