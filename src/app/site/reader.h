/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How one reader wants figures shown: kept by his browser, in a cookie of this site. */
#ifndef BE_APP_SITE_READER_H
#define BE_APP_SITE_READER_H

#include "units/units.h"
#include "web/web.h"

struct be_reader {
  const struct be_unit *unit; /* of force; null: the book's own */
  bool comma;                 /* before decimals */
};

/* What his browser sent; what cannot be read is as if it were not there. */
struct be_reader be_reader_of(const struct be_request *request);
/* As the value of the cookie, "reader=kg.comma". */
void be_reader_write(const struct be_reader *reader, char *cookie, size_t size);

#endif
