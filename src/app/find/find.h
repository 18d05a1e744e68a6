/* SPDX-License-Identifier: GPL-3.0-or-later */
/* find: what an instrument sends, found out by listening to it, and rigs saved under a name. */
#ifndef BE_APP_FIND_H
#define BE_APP_FIND_H

#include "app/app.h"
#include "rig/rig.h"

/* ---- rigs in a file ---- */

enum { BE_RIGS_MAX = 64 };

/* All rigs of a file; none without the file. BE_BAD_INPUT names the line of one that cannot be
 * read. */
struct be_rigs {
  size_t count;
  struct be_rig_setup setup[BE_RIGS_MAX];
};
enum be_status be_rigs_read(const char *path, struct be_rigs *rigs, struct be_err *err);
/* Puts the rig in the place of the one of its name, or behind the others; calibrations in the file
 * and what people wrote into it stay. BE_WRONG_USE for what can be no name. */
enum be_status be_rigs_keep(const char *path, const struct be_rig_setup *setup, struct be_err *err);

/* Adds settings of its frames, such as "unit=kg". BE_WRONG_USE for one that there is not. */
enum be_status be_rig_setup_add(struct be_rig_setup *setup, const char *more, struct be_err *err);
/* The file that was told, or else the one beside the book: BOOK.rigs. */
enum { BE_RIGS_PATH = 4200 };
void be_rigs_path(const char *book_path, const char *told, char path[BE_RIGS_PATH]);

/* ---- listening ---- */

/* What is listened to. An instrument that streams is not asked: ask is null. */
struct be_seeking {
  char source[16], settings[512];
  char ask[16], ask_settings[256]; /* a kind of frames, by which it is asked; "": nothing is sent */
};

enum be_seek_state { BE_SEEK_NONE, BE_SEEK_LISTENING, BE_SEEK_DONE };

/* Listening takes up to two seconds a speed: it has a thread of its own. */
struct be_seek;
struct be_seek *be_seek_create(struct be_err *err);
void be_seek_free(struct be_seek *seek); /* gives up what it listens to; null does nothing */
/* BE_WRONG_USE while it listens, and for a source that there is not. */
enum be_status be_seek_start(struct be_seek *seek, const struct be_seeking *asked,
                             struct be_err *err);
/* At DONE *found is a copy of what was heard, or *failed tells why nothing could be. */
enum be_seek_state be_seek_look(struct be_seek *seek, struct be_seeking *asked,
                                struct be_rig_found *found, struct be_err *failed);

/* The rig that was found, as it can be saved; the index-th way to read it. BE_WRONG_USE when there
 * is none. */
enum be_status be_seek_setup(const struct be_seeking *asked, const struct be_rig_found *found,
                             size_t index, const char *name, struct be_rig_setup *setup,
                             struct be_err *err);

/* ---- for people ---- */

void be_say_found(struct be_doc *doc, const struct be_seeking *asked,
                  const struct be_rig_found *found);
void be_say_rigs(struct be_doc *doc, const struct be_rigs *rigs);
/* What can be listened to, with the help of each. */
void be_say_sources(struct be_doc *doc);

#endif
