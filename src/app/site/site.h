/* SPDX-License-Identifier: GPL-3.0-or-later */
/* site: the pages of a book as documents, and what serves them.
 *
 *   serve.c      opens and closes it all
 *   site.c       takes each request: asset, news, or a page
 *   maker.h      keeps pages, and makes slow ones while their readers are told how far it is
 *   door.c       who asks, and what he may; devices_page.c: how he is let in, and put out
 *   pages.c      the table of pages
 *   knot_pages.c, line_pages.c, plan_pages.c, pull_page.c, reader.c, rig_pages.c, tie_pages.c:
 *                one or two each; correct.c: the form of a pull
 *   api.c        the same for programs; record.c and trace.c are theirs alone
 *   asking.c     what an address asks, and the form that asks otherwise; asking_pulls.c: of pulls
 */
#ifndef BE_APP_SITE_H
#define BE_APP_SITE_H

#include "app/devices/devices.h"
#include "app/live/live.h"
#include "app/site/asking.h"
#include "app/site/reader.h"

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
  struct be_arena *arena; /* of what the visit needs; the survey's too */
  struct be_answering how;
  struct asking asking;
  char unit[32];      /* "unit=kg" if the address asks for one; "" */
  bool takes_posts;   /* the owner asks: what is no pull may be sent too */
  struct be_buf html; /* what the page has besides its document, such as a form that is posted */
  const char *script; /* address of its script; null: none */
  unsigned again_s;   /* the browser is to ask again so soon; 0: not */
  struct be_seek *seek;
  const char *rigs_path; /* the file of rigs, which need not be there */
  bool api;              /* a program asks (api.h): no page, but JSON */
  const struct door *door;
  struct visitor visitor;
  struct be_reader reader;
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

/* Writes the JSON of what is no page. */
typedef enum be_status be_page_writer(struct visit *visit, struct be_err *err);

enum {
  BE_ROUTE_BARE = 1,  /* needs no record: visit->survey is not read */
  BE_ROUTE_OWNER = 2, /* the owner's alone to look at */
  BE_ROUTE_OPEN = 4,  /* looked at by who is not paired, too */
  BE_ROUTE_ALONE = 8, /* of one browser alone: it has no twin for programs */
};

/* Every page has its twin at /api/1/NAME, unless it is of one browser. Fields from `may_post` on
 * may be left out. */
struct be_route {
  const char *path; /* with a slash behind it: all below */
  const char *here; /* the place among the ways that it belongs to */
  be_page_maker *make;
  be_page_poster *post;         /* null: nothing can be sent to it */
  enum be_device_role may_post; /* the least role */
  unsigned kind;
  bool fresh; /* made for each request, and never kept: it shows more than the book, the address and
                 the reader tell, such as the day, another file, or the session */
  const char *name;         /* for programs; null: its path without the slash */
  be_page_writer *json;     /* for programs alone; make is then null */
  const char *const *takes; /* names of all that its form sends, then null: JSON with others is
                               refused; null: not looked at */
};
size_t be_routes(const struct be_route **routes);
/* Null for an address that no page has. */
const struct be_route *be_route_find(const char *path);
bool be_is_page(const char *path); /* the bench too */
/* All of them, in turn; null after the last. */
const struct be_route *be_route_at(size_t i);
/* The path of the one that has a name of its own; else null. */
const char *be_route_path(const char *name);

/* Digits alone, below `end`. */
bool be_index_read(const char *text, size_t end, size_t *index);

/* The number that a query has under this name; `end` or more is not there. *has: whether it was
 * asked. */
enum be_status be_query_index(const struct be_request *request, const char *name, size_t end,
                              size_t *value, bool *has, struct be_err *err);

be_page_maker be_knots_page, be_knot_page, be_labels_page, be_line_page, be_lines_page,
    be_listen_page, be_plan_page, be_reader_page, be_rig_page, be_tie_page, be_ties_page;
be_page_poster be_line_post, be_listen_post, be_plan_post, be_reader_post, be_rig_log, be_tie_post;
/* What their forms send, for be_route.takes. */
extern const char *const be_line_takes[], *const be_listen_takes[], *const be_plan_takes[],
                                                                        *const be_tie_takes[];

/* The bytes of a picture: /picture?of=N. */
enum be_status be_picture_reply(const char *book_path, const struct be_request *request,
                                struct be_reply *reply, struct be_err *err);

/* tie_pages.c: the lines of a tie in space, and its picture, /tie.svg?tie=TEXT. */
be_page_writer be_tie_lines_json;
enum be_status be_tie_picture(struct visit *visit, struct be_err *err);

/* Why what was posted was refused, if it was: the first thing a page says. */
void be_say_wrong(struct be_doc *doc, const struct visit *visit);

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

/* pull_page.c; the pull that the address names, or null. correct.c: the form below it. */
be_page_maker be_pull_page;
const struct be_pull *be_pull_at(const struct visit *visit);
be_page_poster be_pull_correct;
extern const char *const be_correct_takes[];
void be_correct_form(struct visit *visit, const struct be_pull *pull);

/* handle.c: how it was tied and pulled, told later or anew; whether that form was sent. */
void be_handle_form(struct visit *visit, const struct be_pull *pull);
bool be_pull_handles(const struct visit *visit);
enum be_status be_pull_handle(struct visit *visit, const struct be_pull *pull, struct be_err *err);
/* What was told anew, as a table; nothing where nothing was. */
enum be_status be_say_retold(struct be_doc *doc, const struct survey *survey, struct be_book *book,
                             const struct be_pull *pull, struct be_err *err);

#endif
