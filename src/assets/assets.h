/* SPDX-License-Identifier: GPL-3.0-or-later */
/* assets: files built into the program. tools/embed.c makes the bodies. */
#ifndef BE_ASSETS_H
#define BE_ASSETS_H

#include <stddef.h>

struct be_asset {
  const char *name; /* its path: "assets/style.css", "demo/knots.csv" */
  const char *text; /* NUL after size bytes */
  size_t size;
};

/* The asset of that name, or null. */
const struct be_asset *be_asset_find(const char *name);

#endif
