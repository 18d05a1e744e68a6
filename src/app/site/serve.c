/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Opening and closing of the site: its bench, its door, its server. */
#include "app/site/inside.h"

#include <stdio.h>
#include <string.h>

enum {
  FORM_BYTES_MAX = 64 * 1024,
  PEM_BYTES_MAX = 256 * 1024,
  EACH_BEYOND = 64 /* connections from one address: a browser has six, and one that listens */
};

/* Addresses of this machine alone. */
static bool is_loopback(const char *address)
{
  return !address || strncmp(address, "127.", 4) == 0 || strcmp(address, "::1") == 0;
}

bool be_app_serve_is_beyond(const struct be_serving *serving)
{
  return serving->is_here || !is_loopback(serving->address);
}

/* A text of PEM with a block of that kind. */
static enum be_status read_pem(const char *path, const char *kind, struct be_buf *text,
                               struct be_err *err)
{
  enum be_status status = be_file_read(path, text, err);
  if (status != BE_OK) return status;
  const char *begin = strstr(text->data, "-----BEGIN ");
  const char *end = begin ? strstr(begin, "-----END ") : NULL;
  const char *block = begin ? strstr(begin, kind) : NULL;
  if (end && block && block < end && strlen(text->data) == text->size) return BE_OK;
  be_fail(err, BE_BAD_INPUT, "there is no %s in this file", kind);
  be_fail_at(err, path, 0, 0);
  be_fail_remedy(err, "name a file of PEM, with the line -----BEGIN %s-----", kind);
  return BE_BAD_INPUT;
}

static enum be_status open_server(struct be_site *site, const struct be_serving *serving,
                                  struct be_err *err)
{
  struct be_buf certificate, key;
  enum be_status status = BE_OK;
  be_buf_init(&certificate, PEM_BYTES_MAX);
  be_buf_init(&key, PEM_BYTES_MAX);
  if (!site->door.plain) {
    status = read_pem(serving->certificate_path, "CERTIFICATE", &certificate, err);
    if (status == BE_OK) status = read_pem(serving->key_path, "PRIVATE KEY", &key, err);
  }
  const struct be_server_options options = {
      .address = serving->address,
      .port = serving->port,
      .body_most = FORM_BYTES_MAX,
      .certificate = certificate.size ? certificate.data : NULL,
      .key = key.size ? key.data : NULL,
      .names = serving->names,
      .names_count = serving->names_count,
      .each = is_loopback(serving->address) ? 0 : EACH_BEYOND};
  if (status == BE_OK) {
    status = be_server_open(&options, be_site_answer, site, &site->server, err);
    if (status == BE_BAD_INPUT) be_fail_at(err, serving->certificate_path, 0, 0);
  }
  if (key.size) memset(key.data, 0, key.size);
  be_buf_free(&certificate);
  be_buf_free(&key);
  return status;
}

/* What is asked of serving that cannot be had together, or not safely. */
static enum be_status check_serving(const struct be_serving *serving, struct be_err *err)
{
  if (!serving->certificate_path != !serving->key_path) {
    be_fail(err, BE_WRONG_USE, "a certificate goes with its key");
    be_fail_remedy(err, "give both --certificate and --key, or neither");
    return BE_WRONG_USE;
  }
  if (serving->certificate_path || serving->plain || is_loopback(serving->address)) return BE_OK;
  be_fail(err, BE_WRONG_USE,
          "without a certificate, what is sent beyond this machine can be read on "
          "that network, codes and pulls alike");
  be_fail_remedy(err, "give --certificate and --key, or --plain where you trust the network");
  return BE_WRONG_USE;
}

static enum be_status open_door(struct be_site *site, const struct be_serving *serving,
                                struct be_err *err)
{
  const struct be_devices_options options = {.book_path = site->book_path,
                                             .now = serving->now,
                                             .say = serving->say,
                                             .context = serving->context};
  struct door *door = &site->door;
  door->plain = !serving->certificate_path;
  door->is_here = serving->is_here;
  /* Cookies know no ports, so that two books on one machine need two names; with __Host- a browser
   * takes it from this machine alone, over TLS (RFC 6265bis, section 4.1.3.2). */
  snprintf(door->cookie, sizeof door->cookie, "%sbitterend-%u", door->plain ? "" : "__Host-",
           (unsigned)serving->port);
  return be_app_serve_is_beyond(serving) ? be_devices_open(&options, &door->devices, err) : BE_OK;
}

/* Made anew when something was entered at the bench, for whoever looks next. */
static const char *const usual_pages[] = {"/", "/strength"};

static enum be_status open_maker(struct be_site *site, struct be_err *err)
{
  char under[200];
  snprintf(under, sizeof under, "%s %.17g %llu %zu %d", site->how.unit ? site->how.unit->name : "",
           site->how.level, (unsigned long long)site->how.seed, site->how.resamples,
           site->door.devices != NULL);
  const struct be_maker_options making = {.book_path = site->book_path,
                                          .under = under,
                                          .make = be_site_make,
                                          .context = site,
                                          .usual = usual_pages,
                                          .usual_count = sizeof usual_pages / sizeof usual_pages[0],
                                          .usual_as = "0 - 0"};
  return be_maker_open(&making, &site->maker, err);
}

static enum be_status open_parts(struct be_site *site, const struct be_serving *serving,
                                 struct be_err *err)
{
  struct be_live_rig rig;
  struct be_pairing pairing;
  enum be_status status = check_serving(serving, err);
  if (status == BE_OK && serving->rig_path)
    status = be_live_setup(site->book_path, serving, &rig, err);
  if (status == BE_OK) status = open_door(site, serving, err);
  if (status == BE_OK)
    status = be_live_site_open(site->book_path, serving->rig_path ? &rig : NULL, &site->bench, err);
  if (status == BE_OK) site->seek = be_seek_create(err);
  if (status == BE_OK && !site->seek) status = BE_NO_MEMORY;
  if (status == BE_OK) status = open_maker(site, err);
  if (status == BE_OK) status = open_server(site, serving, err);
  /* The first code is told at once. */
  if (status == BE_OK && site->door.devices)
    status = be_devices_code(site->door.devices, &pairing, err);
  return status;
}

enum be_status be_app_serve(const char *book_path, const struct be_serving *serving,
                            const struct be_answering *how, struct be_site **out,
                            struct be_err *err)
{
  static const struct be_serving usual = {0};
  struct be_book *book = NULL;
  enum be_status status = be_book_open(book_path, false, &book, err);
  be_book_close(book);
  if (status != BE_OK) return status;
  struct be_site *site = be_alloc_array(1, sizeof *site);
  size_t path_size = strlen(book_path) + 1;
  if (site) site->book_path = be_alloc(path_size);
  if (!site || !site->book_path) {
    be_free(site);
    return be_no_memory(err);
  }
  memcpy(site->book_path, book_path, path_size);
  site->how = *how;
  be_rigs_path(book_path, serving ? serving->rig_path : NULL, site->rigs_path);
  status = open_parts(site, serving ? serving : &usual, err);
  if (status == BE_OK) *out = site;
  else be_app_serve_end(site);
  return status;
}

uint16_t be_app_serve_port(const struct be_site *site)
{
  return be_server_port(site->server);
}

bool be_app_serve_word(const struct be_site *site, char words[BE_WORD_MAX])
{
  return be_live_site_word(site->bench, words);
}

void be_app_serve_end(struct be_site *site)
{
  if (!site) return;
  be_live_site_end(site->bench);
  be_server_close(site->server);
  be_maker_close(site->maker);
  be_live_site_close(site->bench);
  be_seek_free(site->seek);
  be_devices_close(site->door.devices);
  be_free(site->book_path);
  be_free(site);
}
