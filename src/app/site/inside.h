/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What serves the pages, and what takes each request. */
#ifndef BE_APP_SITE_INSIDE_H
#define BE_APP_SITE_INSIDE_H

#include "app/find/find.h"
#include "app/site/maker.h"
#include "app/site/site.h"

struct be_site {
  char *book_path;
  struct be_answering how;
  struct be_server *server;
  struct be_live_site *bench;
  struct door door;
  struct be_seek *seek;
  char rigs_path[BE_RIGS_PATH];
  struct be_maker *maker;
};

/* site.c; the context is the site. */
be_handler be_site_answer;
be_page_make be_site_make;

#endif
