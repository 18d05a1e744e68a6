/* SPDX-License-Identifier: GPL-3.0-or-later */
/* maker: who makes pages, when, and what becomes of them.
 *
 *   web's threads --ask--> jobs --> makers (threads) --> kept pages --> web's threads
 *                                     usual pages ^ one thread that yields, after an entering
 *
 *  1. A page is kept under the state that the book had before it was made, and only if it has the
 *     same state after it.
 *  2. At any time at most one job is under way for an address in a state: who asks, waits for it.
 *  3. What cannot be kept (an error, a page during which something was entered) goes to all who
 *     wait for it, or to the first who comes back for it; then it is forgotten.
 *  4. The lock is held for moments: never while a page is made, nor while the book or the file is
 *     read or written. The session at the bench takes none of it. */
#ifndef BE_APP_MAKER_H
#define BE_APP_MAKER_H

#include "app/site/kept.h"
#include "web/web.h"

/* Makes the whole reply, on any thread; the request is a GET. as: a short text without line breaks
 * that says for whom. */
typedef void be_page_make(void *context, const char *as, const struct be_request *request,
                          struct be_reply *reply);

struct be_maker_options {
  const char *book_path; /* the file of kept pages lies beside it, ".pages" behind its name */
  const char *under;     /* what pages depend on besides the book: how they are worked out */
  be_page_make *make;
  void *context;
  const char *const *usual; /* addresses without query, made anew after an entering; may be null */
  size_t usual_count;
  const char *usual_as; /* for whom these are; not copied */
  double patience_s;    /* how long who asks is kept waiting; 0: 1 s */
};

struct be_maker;
/* Texts are copied, usual is not. Without threads it makes pages where they are asked for. */
enum be_status be_maker_open(const struct be_maker_options *options, struct be_maker **maker,
                             struct be_err *err);
void be_maker_close(struct be_maker *maker); /* nobody may ask any more; null does nothing */

/* The page: kept, or made now. False while it is still being made: words then say how far it is,
 * and it is to be asked for again. */
bool be_maker_answer(struct be_maker *maker, const char *as, const struct be_request *request,
                     struct be_reply *reply, char words[BE_PROGRESS_WORDS]);
/* Something may have been entered: makes the usual pages. Never waits. */
void be_maker_entered(struct be_maker *maker);
/* For looking, in tests: how many replies were made so far. Waits until no usual page is due. */
size_t be_maker_made(struct be_maker *maker);
/* The same: how many are kept waiting now. */
size_t be_maker_patient(struct be_maker *maker);

#endif
