/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A book served to others: 127.0.0.2 plays a machine elsewhere; the clock is told. Define
 * _POSIX_C_SOURCE, and DEVICES_BOOK, the name of a book that no other test has, before including
 * it. */
#ifndef BE_DEVICES_TEST_H
#define BE_DEVICES_TEST_H

#include "app/site/site.h"
#include "app_test.h"
#include "web/client.h"

#include <stdatomic.h>
#include <sys/stat.h>

static const char sheet[] = "specimen,knot,line A,soak,load (lb),what,where\n"
                            "p1,none,nylon 12 lb,dry,13.2,broke,clear of it\n"
                            "a1,palomar,nylon 12 lb,dry,12.5,broke,at its entry\n";
enum { T0 = 1764100000, DAY_S = 24 * 3600 };

static char book[512], file[520], part[530];
static struct be_site *site;
static _Atomic int64_t clock_s;
static char said[300]; /* the last line that was told at the bench */
static int times_said;

static inline int64_t told_now(void)
{
  return atomic_load(&clock_s);
}

static inline bool is_one(const char *peer)
{
  return strcmp(peer, "127.0.0.1") == 0;
}

static inline void hear_code(void *context, const char *line)
{
  (void)context;
  times_said++;
  snprintf(said, sizeof said, "%s", line);
}

static inline enum be_status serve(struct be_err *err)
{
  const struct be_serving serving = {.say = hear_code, .now = told_now, .is_here = is_one};
  const struct be_answering how = {0};
  site = NULL;
  return be_app_serve(book, &serving, &how, &site, err);
}

static inline int start(void **state)
{
  (void)state;
  char journal[520];
  test_book(book, DEVICES_BOOK, sheet, NULL);
  snprintf(journal, sizeof journal, "%s.live", book);
  be_file_remove(journal, NULL);
  snprintf(file, sizeof file, "%s.devices", book);
  be_file_remove(file, NULL);
  snprintf(part, sizeof part, "%s.part", file);
  rmdir(part); /* left by a run that failed */
  atomic_store(&clock_s, T0);
  times_said = 0;
  return serve(NULL) == BE_OK ? 0 : -1;
}

static inline int end(void **state)
{
  (void)state;
  be_app_serve_end(site);
  site = NULL;
  be_file_remove(file, NULL);
  return 0;
}

/* Null cookie: none. */
static inline struct got send_from(const char *from, const char *method, const char *address,
                                   const char *cookie, const char *form)
{
  char request[2000];
  int length =
      snprintf(request, sizeof request,
               "%s %s HTTP/1.1\r\nHost: localhost:%u\r\nConnection: close\r\n"
               "Content-Type: application/x-www-form-urlencoded\r\n%s%s%s"
               "Content-Length: %zu\r\n\r\n%s",
               method, address, (unsigned)be_app_serve_port(site), cookie ? "Cookie: " : "",
               cookie ? cookie : "", cookie ? "\r\n" : "", strlen(form), form);
  return ask_by(dial_from(from, NULL, be_app_serve_port(site)), request, (size_t)length);
}

#define ELSEWHERE "127.0.0.2"

static inline void got_is(struct got got, int status, const char *words)
{
  if (got.status != status || !strstr(got.text, words))
    print_error("%d, without \"%s\":\n%.2500s\n", got.status, words, got.text);
  assert_int_equal(got.status, status);
  assert_non_null(strstr(got.text, words));
  assert_safe(&got);
  free(got.text);
}

/* The code that stands at the bench, as it was told. */
static inline void code_told(char code[10])
{
  const char *at = strstr(said, " type ");
  assert_non_null(at);
  memcpy(code, at + 6, 9);
  code[9] = '\0';
  assert_int_equal(strspn(code, "34679ACDEFGHJKMNPQRTVWXY-"), 9);
  assert_int_equal(code[4], '-');
}

/* Pairs a device with the present code; cookie is what the browser keeps. */
static inline void pair(const char *name, char cookie[200])
{
  char code[10], form[200];
  code_told(code);
  snprintf(form, sizeof form, "code=%s&name=%s", code, name);
  struct got got = send_from(ELSEWHERE, "POST", "/pair", NULL, form);
  if (got.status != 303) print_error("%.2000s\n", got.text);
  assert_int_equal(got.status, 303);
  assert_header(&got, "Location: /");
  const char *set = strstr(got.text, "Set-Cookie: bitterend-0=");
  assert_non_null(set);
  set += strlen("Set-Cookie: ");
  size_t size = strcspn(set, ";");
  assert_int_equal(size, strlen("bitterend-0=") + BE_TOKEN);
  assert_memory_equal(set + size, "; Path=/; HttpOnly; SameSite=Strict; Max-Age=34560000\r\n", 55);
  memcpy(cookie, set, size);
  cookie[size] = '\0';
  free(got.text);
}

/* A new code of that role, made by the owner. */
static inline void make_code(const char *role)
{
  char form[60];
  snprintf(form, sizeof form, "do=code&role=%s", role);
  got_is(send_from(NULL, "POST", "/devices", NULL, form), 303, "Location: /devices\r\n");
  assert_non_null(strstr(said, role));
}

/* A test that is given a book served to others. */
#define served_beyond(test) cmocka_unit_test_setup_teardown(test, start, end)

#endif
