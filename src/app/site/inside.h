/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What serves the pages, and what takes each request. */
#ifndef BE_APP_SITE_INSIDE_H
#define BE_APP_SITE_INSIDE_H

#include "app/find/find.h"
#include "app/site/site.h"

struct be_site {
  char *book_path;
  struct be_answering how;
  struct be_server *server;
  struct be_live_site *bench;
  struct door door;
  struct be_seek *seek;
  char rigs_path[BE_RIGS_PATH];
};

be_handler be_site_answer; /* site.c; the context is the site */

#endif
