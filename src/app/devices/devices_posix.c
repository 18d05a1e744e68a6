/* SPDX-License-Identifier: GPL-3.0-or-later */
/* 1. What is in memory decides who is let in. It is never more than the file held when it was last
 *    read or written, but may be less: one that was forgotten while the disk failed.
 * 2. Every change starts from the file as it stands, since another program may serve the same book.
 * 3. Nothing is said with the lock held: a screen may stand still. */
#define _POSIX_C_SOURCE 200809L
#include "app/devices/devices.h"

#include <pthread.h>
#include <stdio.h>
#include <string.h>

enum { FILE_MAX = 64 * 1024, SEEN_KEPT_S = 3600 };

struct be_devices {
  pthread_mutex_t lock;
  char path[4096];
  int64_t (*now)(void);
  void (*say)(void *context, const char *line);
  void *context;
  struct be_device list[BE_DEVICES_MAX];
  size_t count;
  struct be_pairing pairing;
  bool fresh;            /* the code was not said yet */
  int64_t seen_kept_s;   /* when the file was last told who was seen */
  struct be_err trouble; /* of the file */
  /* Forgotten while the file could not be written: it may still hold them. */
  char shut_out[BE_DEVICES_MAX][BE_DEVICE_ID];
  size_t shut_count;
};

/* A list of devices, as it is to be. */
struct draft {
  struct be_device list[BE_DEVICES_MAX];
  size_t count;
};

/* ---- the file ---- */

static enum be_status read_file(const struct be_devices *devices, struct draft *draft,
                                struct be_err *err)
{
  struct be_buf text;
  draft->count = 0;
  if (!be_file_exists(devices->path)) return BE_OK;
  be_buf_init(&text, FILE_MAX);
  enum be_status status = be_file_read(devices->path, &text, err);
  if (status == BE_OK) {
    status = be_devices_parse(text.data, text.size, draft->list, &draft->count, err);
    if (status != BE_OK && err) be_fail_at(err, devices->path, err->line, 0);
  }
  be_buf_free(&text);
  return status;
}

/* On BE_OK the draft is what memory and file hold. */
static enum be_status keep(struct be_devices *devices, const struct draft *draft,
                           struct be_err *err)
{
  struct be_buf text;
  be_buf_init(&text, FILE_MAX);
  be_devices_write(draft->list, draft->count, &text);
  enum be_status status = be_buf_status(&text, err);
  if (status == BE_OK) status = be_file_write_private(devices->path, text.data, text.size, err);
  be_buf_free(&text);
  if (status != BE_OK) return status;
  memcpy(devices->list, draft->list, sizeof devices->list);
  devices->count = draft->count;
  devices->trouble = (struct be_err){0};
  devices->shut_count = 0;
  return BE_OK;
}

static size_t find(const struct be_device *list, size_t count, const char *hash, size_t digits)
{
  size_t found = count;
  for (size_t i = 0; i < count; i++)
    if (be_secret_same(list[i].hash, hash, digits)) found = i;
  return found;
}

static void take_out(struct be_device *list, size_t *count, size_t at)
{
  memmove(&list[at], &list[at + 1], (*count - at - 1) * sizeof *list);
  --*count;
}

/* The file as it stands, with what memory knows of when each was seen, and without those not seen
 * for too long. */
static enum be_status begin(const struct be_devices *devices, struct draft *draft,
                            struct be_err *err)
{
  enum be_status status = read_file(devices, draft, err);
  for (size_t i = draft->count; status == BE_OK && i-- > 0;) {
    struct be_device *device = &draft->list[i];
    size_t known = find(devices->list, devices->count, device->hash, 64);
    if (known < devices->count) device->seen_s = devices->list[known].seen_s;
    bool out = be_device_is_over(device, devices->now());
    for (size_t k = 0; k < devices->shut_count; k++)
      out = out || memcmp(device->hash, devices->shut_out[k], BE_DEVICE_ID) == 0;
    if (out) take_out(draft->list, &draft->count, i);
  }
  return status;
}

bool be_device_is_over(const struct be_device *device, int64_t now_s)
{
  return now_s - device->seen_s > (int64_t)BE_DEVICE_UNSEEN_DAYS * 24 * 3600;
}

/* ---- life ---- */

enum be_status be_devices_open(const struct be_devices_options *options, struct be_devices **out,
                               struct be_err *err)
{
  struct be_devices *devices = be_alloc_array(1, sizeof *devices);
  if (!devices) return be_fail(err, BE_NO_MEMORY, "no memory for the devices");
  devices->now = options->now ? options->now : be_time_s;
  devices->say = options->say;
  devices->context = options->context;
  struct draft draft;
  enum be_status status = BE_OK;
  if (snprintf(devices->path, sizeof devices->path, "%s.devices", options->book_path) >=
      (int)sizeof devices->path)
    status = be_fail(err, BE_WRONG_USE, "the name of the book is too long");
  struct be_err why = {0};
  if (status == BE_OK && (status = read_file(devices, &draft, &why)) != BE_OK && err) *err = why;
  if (status != BE_OK) {
    be_free(devices);
    return status;
  }
  memcpy(devices->list, draft.list, draft.count * sizeof draft.list[0]);
  devices->count = draft.count;
  pthread_mutex_init(&devices->lock, NULL);
  *out = devices;
  return BE_OK;
}

void be_devices_close(struct be_devices *devices)
{
  if (!devices) return;
  pthread_mutex_destroy(&devices->lock);
  be_free(devices);
}

/* Ends what was begun with the lock held: says a code that nobody was told yet. */
static void leave(struct be_devices *devices)
{
  struct be_pairing pairing = devices->pairing;
  bool fresh = devices->fresh && pairing.code[0];
  char line[200];
  devices->fresh = false;
  pthread_mutex_unlock(&devices->lock);
  if (!fresh || !devices->say) return;
  snprintf(line, sizeof line,
           "To pair a device, open the pages on it and type %.4s-%.4s (role %s; once, within %d "
           "minutes)",
           pairing.code, pairing.code + 4, be_device_role_word(pairing.role), BE_CODE_MINUTES);
  devices->say(devices->context, line);
}

static enum be_status renew(struct be_devices *devices, enum be_device_role role,
                            struct be_err *err)
{
  enum be_status status = be_pairing_renew(&devices->pairing, role, devices->now(), err);
  devices->fresh = status == BE_OK;
  return status;
}

/* ---- codes ---- */

static enum be_status standing_code(struct be_devices *devices, struct be_err *err)
{
  return be_pairing_is_over(&devices->pairing, devices->now())
             ? renew(devices, BE_DEVICE_BENCH, err)
             : BE_OK;
}

enum be_status be_devices_code(struct be_devices *devices, struct be_pairing *pairing,
                               struct be_err *err)
{
  pthread_mutex_lock(&devices->lock);
  enum be_status status = standing_code(devices, err);
  *pairing = devices->pairing;
  leave(devices);
  return status;
}

enum be_status be_devices_new_code(struct be_devices *devices, enum be_device_role role,
                                   struct be_err *err)
{
  pthread_mutex_lock(&devices->lock);
  enum be_status status = renew(devices, role, err);
  leave(devices);
  return status;
}

/* ---- devices ---- */

/* With the lock held. */
static enum be_status let_in(struct be_devices *devices, const char *name, const char *old,
                             char token[BE_TOKEN + 1], struct be_err *err)
{
  unsigned char bytes[BE_TOKEN / 2];
  struct draft draft;
  enum be_status status = begin(devices, &draft, err);
  if (status == BE_OK) status = be_secret(bytes, sizeof bytes, err);
  if (status != BE_OK) return status;
  size_t was = *old ? find(draft.list, draft.count, old, 64) : draft.count;
  if (was < draft.count) take_out(draft.list, &draft.count, was);
  if (draft.count == BE_DEVICES_MAX) {
    be_fail(err, BE_WRONG_USE, "%d devices are paired already", BE_DEVICES_MAX);
    be_fail_remedy(err, "forget one on the page Devices");
    return BE_WRONG_USE;
  }
  for (size_t i = 0; i < sizeof bytes; i++) snprintf(token + 2 * i, 3, "%02x", bytes[i]);
  struct be_device *device = &draft.list[draft.count++];
  int64_t now_s = devices->now();
  *device = (struct be_device){.role = devices->pairing.role, .paired_s = now_s, .seen_s = now_s};
  be_sha256_hex(token, BE_TOKEN, device->hash);
  snprintf(device->name, sizeof device->name, "%s", name);
  return keep(devices, &draft, err);
}

enum be_status be_devices_pair(struct be_devices *devices, const char *code, const char *name,
                               const char *old, char token[BE_TOKEN + 1], struct be_err *err)
{
  if (!be_device_name_fits(name)) {
    be_fail(err, BE_BAD_INPUT, "the device needs a name of 1 to %d bytes, on one line",
            BE_DEVICE_NAME_MAX);
    be_fail_remedy(err, "say what it is and where, such as: tablet by the guard");
    return BE_BAD_INPUT;
  }
  pthread_mutex_lock(&devices->lock);
  enum be_status status = standing_code(devices, err);
  if (status == BE_OK) status = be_pairing_try(&devices->pairing, code, devices->now(), err);
  if (status == BE_OK) {
    status = let_in(devices, name, old, token, err);
    if (status == BE_OK) devices->pairing.code[0] = '\0';
  }
  /* Used up, or thrown away: the next stands at once, or none. */
  standing_code(devices, NULL);
  leave(devices);
  return status;
}

/* With the lock held: now and then, so that who comes regularly is not taken for gone. */
static void keep_seen(struct be_devices *devices)
{
  int64_t now_s = devices->now();
  struct draft draft;
  if (now_s >= devices->seen_kept_s && now_s - devices->seen_kept_s < SEEN_KEPT_S) return;
  devices->seen_kept_s = now_s;
  struct be_err err = {0};
  enum be_status status = begin(devices, &draft, &err);
  if (status == BE_OK) status = keep(devices, &draft, &err);
  if (status != BE_OK) devices->trouble = err;
}

bool be_devices_know(struct be_devices *devices, const char *token, struct be_device *device)
{
  char hash[65];
  if (strlen(token) != BE_TOKEN) return false;
  be_sha256_hex(token, BE_TOKEN, hash);
  pthread_mutex_lock(&devices->lock);
  size_t at = find(devices->list, devices->count, hash, 64);
  bool known = at < devices->count && !be_device_is_over(&devices->list[at], devices->now());
  if (known) {
    devices->list[at].seen_s = devices->now();
    *device = devices->list[at];
    keep_seen(devices);
  }
  pthread_mutex_unlock(&devices->lock);
  return known;
}

enum be_status be_devices_forget(struct be_devices *devices, const char *id, struct be_err *err)
{
  struct draft draft;
  if (strlen(id) != BE_DEVICE_ID) return be_fail(err, BE_NO, "there is no such device");
  pthread_mutex_lock(&devices->lock);
  size_t at = find(devices->list, devices->count, id, BE_DEVICE_ID);
  bool known = at < devices->count;
  if (known) take_out(devices->list, &devices->count, at);
  enum be_status status = begin(devices, &draft, err);
  if (status == BE_OK) {
    at = find(draft.list, draft.count, id, BE_DEVICE_ID);
    if (at < draft.count) take_out(draft.list, &draft.count, at);
    else if (!known) status = be_fail(err, BE_NO, "there is no such device");
  }
  if (status == BE_OK) status = keep(devices, &draft, err);
  if (status != BE_OK && status != BE_NO && known) {
    if (devices->shut_count < BE_DEVICES_MAX)
      memcpy(devices->shut_out[devices->shut_count++], id, BE_DEVICE_ID);
    be_fail_remedy(err, "it is shut out until the program ends; make the file writable and forget "
                        "it again, or remove the file, so that it stays out");
  }
  pthread_mutex_unlock(&devices->lock);
  return status;
}

size_t be_devices_list(struct be_devices *devices, struct be_device *list, struct be_err *trouble)
{
  pthread_mutex_lock(&devices->lock);
  size_t count = devices->count;
  memcpy(list, devices->list, count * sizeof *list);
  *trouble = devices->trouble;
  pthread_mutex_unlock(&devices->lock);
  return count;
}
