/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Who takes large replies slowly, over many connections, would have them all held in memory: so
 * many bytes of them may be on their way together. */
#include "web/inside.h"

#include <microhttpd.h>

enum { LARGE = 1024 * 1024 }; /* pages of a book are smaller, and always sent */

struct sending {
  struct be_unsent *unsent; /* null: not counted */
  char *data;
  size_t size;
};

static void on_sent(void *sending)
{
  struct sending *s = sending;
  if (s->unsent) atomic_fetch_sub(&s->unsent->bytes, s->size);
  be_free(s->data);
  be_free(s);
}

/* One that is alone is sent whatever its size. */
static bool take_place(struct be_unsent *unsent, size_t size)
{
  size_t before = atomic_fetch_add(&unsent->bytes, size);
  if (before == 0 || before + size <= unsent->most) return true;
  atomic_fetch_sub(&unsent->bytes, size);
  return false;
}

struct MHD_Response *be_unsent_response(struct be_unsent *unsent, struct be_buf *body, bool *full)
{
  bool large = body->size > LARGE;
  struct sending *s = be_alloc_array(1, sizeof *s);
  *full = s && large && !take_place(unsent, body->size);
  if (!s || *full) {
    be_buf_free(body);
    be_free(s);
    return NULL;
  }
  *s = (struct sending){large ? unsent : NULL, body->data, body->size};
  struct MHD_Response *response =
      MHD_create_response_from_buffer_with_free_callback_cls(s->size, s->data, on_sent, s);
  if (!response) on_sent(s);
  return response;
}
