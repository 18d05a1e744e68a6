/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The pages of a book as documents; site.c serves them. */
#ifndef BE_APP_PAGES_H
#define BE_APP_PAGES_H

#include "app/asking.h"

/* What an address asks for; *here is the place among the ways that it belongs to. BE_NO: it is not
 * there; BE_WRONG_USE: it cannot be asked. */
enum be_status be_page_find(const char *book_path, const struct survey *survey,
                            const struct be_request *request, struct be_doc **doc,
                            const char **here, struct asking *asking, struct be_err *err);

#endif
