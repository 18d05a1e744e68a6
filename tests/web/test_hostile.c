/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Some thousands of requests that are no requests, thrown at a real server. Each answer has a
 * status line, and our headers or those of the library's own fixed refusals; the server still
 * answers. */
#define _POSIX_C_SOURCE 200809L
#include "client.h"

#include <poll.h>

enum { ROUNDS = 1500, REQUEST_MAX = 8192, SOON_MS = 20 };

static const char *const seeds[] = {
    "GET / HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n",
    "GET /a/b%20c?q=7&q=%C3%A9&r HTTP/1.1\r\nHost: 127.0.0.1\r\nAccept: */*\r\n\r\n",
    "HEAD /big HTTP/1.1\r\nHost: [::1]\r\nCookie: key=a; b=c\r\n\r\n",
    "POST /form HTTP/1.1\r\nHost: localhost\r\nOrigin: http://localhost\r\nContent-Type: "
    "application/x-www-form-urlencoded\r\nContent-Length: 27\r\n\r\nload=7%2C25&note=at+its+end",
    "POST /form HTTP/1.1\r\nHost: localhost\r\nTransfer-Encoding: chunked\r\n\r\n"
    "4\r\nload\r\n3;x=y\r\n=61\r\n0\r\nTrailer: 1\r\n\r\n",
    "GET /one HTTP/1.1\r\nHost: localhost\r\n\r\nGET /two HTTP/1.1\r\nHost: localhost\r\n\r\n",
    "DELETE /x HTTP/1.0\r\nHost: localhost\r\nExpect: 100-continue\r\nVia: 1.1 x\r\n\r\n",
    "GET http://localhost/ HTTP/1.1\r\nHost: localhost\r\n folded: x\r\nUpgrade: h2c\r\n\r\n",
    "\x16\x03\x01\x02\x00\x01\x00\x01\xFC\x03\x03 no greeting of ours",
};
enum { SEEDS = sizeof seeds / sizeof seeds[0] };

static const char *const pieces[] = {"\r\n",
                                     "\n",
                                     "\r",
                                     " ",
                                     "\t",
                                     ":",
                                     "\r\n\r\n",
                                     "%00",
                                     "%",
                                     "..",
                                     "/",
                                     "?",
                                     "&",
                                     "=",
                                     ";",
                                     "\xFF",
                                     "\xC3",
                                     "Content-Length: 5\r\n",
                                     "Host: a\r\n",
                                     "0\r\n",
                                     "ffffffffffffffff\r\n",
                                     "HTTP/1.1",
                                     "HTTP/9.9",
                                     "Transfer-Encoding: chunked\r\n",
                                     "Cookie: key=",
                                     "-1",
                                     "18446744073709551616",
                                     "Origin: null\r\n",
                                     "Connection: keep-alive\r\n",
                                     "GET "};

static size_t mutate(struct be_random *random, char *bytes, size_t size)
{
  for (uint64_t edits = be_random_below(random, 7); edits > 0; edits--) {
    size_t at = size ? (size_t)be_random_below(random, size) : 0;
    const char *piece = pieces[be_random_below(random, sizeof pieces / sizeof pieces[0])];
    size_t length = strlen(piece);
    switch (be_random_below(random, 5)) {
    case 0:
      if (size) bytes[at] = (char)be_random_u64(random);
      break;
    case 1: size = at; break;
    case 2:
      if (size + (size - at) > REQUEST_MAX) break;
      memmove(bytes + size, bytes + at, size - at);
      size += size - at;
      break;
    default:
      if (size + length > REQUEST_MAX) break;
      memmove(bytes + at + length, bytes + at, size - at);
      memcpy(bytes + at, piece, length);
      size += length;
    }
  }
  return size;
}

/* Of the library: what it refuses before it asks us, closing the connection. */
static bool is_fixed(int status)
{
  return status == 400 || status == 413 || status == 414 || status == 431 || status == 500 ||
         status == 501 || status == 505;
}

/* Every reply in what came; a "100 Continue" goes before one. */
static void check_replies(const struct got *got, const char *request, size_t size)
{
  for (const char *at = got->text; (at = strstr(at, "HTTP/1.1 ")) != NULL; at += 9) {
    if (at > got->text && at[-1] != '\n' && at != got->text) continue;
    int status = atoi(at + 9);
    const char *end = strstr(at, "\r\n\r\n");
    bool whole = status == 100 || (end && status >= 200 && status < 600);
    const char *ours = strstr(at, "\r\nContent-Security-Policy: default-src 'none'; ");
    bool safe = status == 100 || (ours && ours < end) || is_fixed(status);
    if (!whole || !safe)
      print_error("asked %zu bytes:\n%.*s\ngot:\n%.900s\n", size, (int)size, request, at);
    assert_true(whole && safe);
    assert_null(strstr(at, "\r\nServer:"));
  }
}

/* What gets no answer soon, or no more of one, is left: it may be the start of something. */
static struct got throw_at(uint16_t port, const char *request, size_t size)
{
  static char text[1 << 16];
  struct got got = {.text = text};
  int fd = dial(NULL, port);
  if (size) send(fd, request, size, MSG_NOSIGNAL);
  struct pollfd soon = {.fd = fd, .events = POLLIN};
  /* Who says no more is not always answered: the library takes him for gone. */
  if (poll(&soon, 1, SOON_MS) == 0) shutdown(fd, SHUT_WR);
  while (got.size < sizeof text - 1 && poll(&soon, 1, SOON_MS) > 0) {
    ssize_t n = recv(fd, text + got.size, sizeof text - 1 - got.size, 0);
    if (n <= 0) break;
    got.size += (size_t)n;
  }
  text[got.size] = '\0';
  close(fd);
  got.status = strncmp(text, "HTTP/1.1 ", 9) == 0 ? atoi(text + 9) : 0;
  return got;
}

/* On a machine with much else to do a request may come too late, or find all places taken by those
 * that the library has not yet seen leaving: then it is asked again, as a person would. */
static bool still_answers(const struct be_server *server)
{
  bool answered = false;
  for (int tries = 0; tries < 20 && !answered; tries++) {
    struct got well = get(server, "GET", "/?q=still+here");
    answered = strcmp(well.body, "GET / q=still here") == 0;
    free(well.text);
  }
  return answered;
}

static void nothing_thrown_at_it_stops_it(void **state)
{
  static char request[REQUEST_MAX + 1];
  const uint64_t seed = 20260412;
  struct be_random random;
  int answered = 0, good = 0, refused = 0;
  be_random_init(&random, seed, 0);
  print_message("# seed %llu\n", (unsigned long long)seed);
  for (int i = 0; i < ROUNDS; i++) {
    size_t size = i % SEEDS == SEEDS - 1 ? 32 : strlen(seeds[i % SEEDS]);
    memcpy(request, seeds[i % SEEDS], size);
    size = mutate(&random, request, size);
    struct got got = throw_at(be_server_port(*state), request, size);
    if (got.size > 0) assert_int_not_equal(got.status, 0);
    check_replies(&got, request, size);
    answered += got.status > 0;
    good += got.status == 200;
    refused += got.status >= 400;
    if (i % 100 == 99) assert_true(still_answers(*state));
  }
  /* The test means something only if it meets all of these. */
  assert_in_range(answered, ROUNDS / 4, ROUNDS - 1);
  assert_true(good > ROUNDS / 50 && refused > ROUNDS / 10);
}

static int open_taking(void **state)
{
  /* The library takes its time to see that some of them are left. */
  const struct be_server_options options = {.body_most = 4096, .each = 500, .request_s = 1};
  return be_server_open(&options, handler, &handler_calls, (struct be_server **)state, NULL);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_setup_teardown(nothing_thrown_at_it_stops_it, open_taking, close_site),
  };
  return be_tests("web: the hostile", tests);
}
