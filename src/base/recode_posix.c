/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text in other codings, by the system's iconv. */
#define _POSIX_C_SOURCE 200809L
#include "base/base.h"

#include <errno.h>
#include <iconv.h>
#include <string.h>

struct be_recoder {
  iconv_t iconv;
};

struct be_recoder *be_recoder_create(const char *coding)
{
  struct be_recoder *recoder = be_alloc(sizeof *recoder);
  if (!recoder) return NULL;
  recoder->iconv = iconv_open("UTF-8", coding);
  if (recoder->iconv != (iconv_t)-1) return recoder;
  be_free(recoder);
  return NULL;
}

void be_recoder_free(struct be_recoder *recoder)
{
  if (!recoder) return;
  iconv_close(recoder->iconv);
  be_free(recoder);
}

size_t be_recode(struct be_recoder *recoder, const char *in, size_t in_size, char *out,
                 size_t out_size, size_t *made)
{
  /* iconv takes a pointer to char, but does not write through it. */
  union {
    const char *given;
    char *taken;
  } from = {in};
  char *to = out;
  size_t left = in_size, room = out_size;
  iconv(recoder->iconv, &from.taken, &left, &to, &room);
  *made = out_size - room;
  return in_size - left;
}
