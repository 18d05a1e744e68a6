/* SPDX-License-Identifier: GPL-3.0-or-later */
/* devices: which browsers beyond this machine may see a book and send to it. One is let in by a
 * code that stands at the bench (code.c), and known from then on by a token, of which only the hash
 * is kept, in a file beside the book (file.c, docs/formats.md): never in the book, which is
 * published. devices_posix.c holds both behind a lock. */
#ifndef BE_APP_DEVICES_H
#define BE_APP_DEVICES_H

#include "base/base.h"

/* Each may do what those after it may. */
enum be_device_role {
  BE_DEVICE_OWNER, /* everything */
  BE_DEVICE_BENCH, /* look, and take pulls */
  BE_DEVICE_LOOK,
  BE_DEVICE_NOBODY /* not paired */
};
const char *be_device_role_word(enum be_device_role role);
bool be_device_role_read(const char *word, enum be_device_role *role); /* not for nobody */

enum {
  BE_DEVICES_MAX = 64,
  BE_DEVICE_NAME_MAX = 60, /* bytes */
  BE_DEVICE_UNSEEN_DAYS = 90,
  BE_DEVICE_ID = 16, /* digits of the hash that name a device */
  BE_TOKEN = 64,     /* hexadecimal digits: 256 bits */
  BE_CODE = 8,
  BE_CODE_MINUTES = 10
};

struct be_device {
  char hash[65]; /* SHA-256 of the token's digits, in small hexadecimal digits */
  enum be_device_role role;
  int64_t paired_s, seen_s; /* as be_time_s */
  char name[BE_DEVICE_NAME_MAX + 1];
};

/* ---- the file (file.c) ---- */

/* BE_BAD_INPUT names the line. list has BE_DEVICES_MAX places. */
enum be_status be_devices_parse(const char *text, size_t size, struct be_device *list,
                                size_t *count, struct be_err *err);
void be_devices_write(const struct be_device *list, size_t count, struct be_buf *text);
/* One line of UTF-8 without control characters, not empty, not too long. */
bool be_device_name_fits(const char *name);

/* ---- the code (code.c) ---- */

/* Start from zeroes: no code, which nothing matches. */
struct be_pairing {
  char code[BE_CODE + 1];
  enum be_device_role role;
  int64_t made_s;
  unsigned wrong;     /* tries of this code */
  int64_t minute_s;   /* when the present minute of tries began */
  unsigned in_minute; /* wrong tries in it, of whatever code */
};
/* Another code. After a failure there is none. */
enum be_status be_pairing_renew(struct be_pairing *pairing, enum be_device_role role, int64_t now_s,
                                struct be_err *err);
bool be_pairing_is_over(const struct be_pairing *pairing, int64_t now_s);
/* BE_OK: it is the code. BE_NO: it is not. BE_TOO_LARGE: too many tries, this one was not looked
 * at. The fifth wrong try throws the code away. */
enum be_status be_pairing_try(struct be_pairing *pairing, const char *typed, int64_t now_s,
                              struct be_err *err);

/* ---- all devices of a book (devices_posix.c) ---- */

struct be_devices_options {
  const char *book_path; /* ".devices" behind it is the file; copied */
  int64_t (*now)(void);  /* null: be_time_s */
  /* Told of every new code: a line for the screen at the bench. May be null; any thread. */
  void (*say)(void *context, const char *line);
  void *context;
};

struct be_devices;
/* BE_BAD_INPUT when the file is there and cannot be understood: nobody is let in by half of it. */
enum be_status be_devices_open(const struct be_devices_options *options,
                               struct be_devices **devices, struct be_err *err);
void be_devices_close(struct be_devices *devices); /* null does nothing */

/* Whose token it is, which counts as seen; false for nobody's. */
bool be_devices_know(struct be_devices *devices, const char *token, struct be_device *device);
/* The code that stands now, another when the last is over. */
enum be_status be_devices_code(struct be_devices *devices, struct be_pairing *pairing,
                               struct be_err *err);
enum be_status be_devices_new_code(struct be_devices *devices, enum be_device_role role,
                                   struct be_err *err);
/* Lets one in, instead of `old`, a device's hash or "". On BE_OK it is in the file, token is the
 * browser's to keep, and the code is used up. BE_BAD_INPUT for a name that does not fit, BE_NO and
 * BE_TOO_LARGE as be_pairing_try, BE_WRONG_USE when there are too many. */
enum be_status be_devices_pair(struct be_devices *devices, const char *code, const char *name,
                               const char *old, char token[BE_TOKEN + 1], struct be_err *err);
/* Takes one away, by the first BE_DEVICE_ID digits of its hash: at once, also when the file cannot
 * be written, which is then the error. BE_NO: there is no such. */
enum be_status be_devices_forget(struct be_devices *devices, const char *id, struct be_err *err);
/* list has BE_DEVICES_MAX places; returns how many there are. trouble: why the file could not be
 * written lately; its status is BE_OK if it could. */
size_t be_devices_list(struct be_devices *devices, struct be_device *list, struct be_err *trouble);
/* Whether one has not been seen for too long. */
bool be_device_is_over(const struct be_device *device, int64_t now_s);

#endif
