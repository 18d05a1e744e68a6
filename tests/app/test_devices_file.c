/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The file of devices, opening, memory and TLS. */
#define _POSIX_C_SOURCE 200809L
#define DEVICES_BOOK "devices-file.book"
#include "devices_test.h"
#include "fault/failing.h"

/* ---- the file ---- */

#define HASH "0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef"
#define GOOD HASH " bench 1764100000 1764100777 tablet by the guard\n"

static void a_file_that_is_none_lets_nobody_in(void **state)
{
  (void)state;
  static const struct {
    const char *text;
    size_t line;
  } bad[] = {
      {"", 1},
      {"bitterend devices 2\n", 1},
      {"bitterend devices 1", 1},
      {"bitterend devices 1\n" GOOD HASH " ben", 3},
      {"bitterend devices 1\n" HASH " bench 1764100000 1764100777 \n", 2},
      {"bitterend devices 1\n" HASH " guest 1764100000 1764100777 x\n", 2},
      {"bitterend devices 1\n" HASH " bench -1 1764100777 x\n", 2},
      {"bitterend devices 1\n" HASH " bench 1764100000 9999999999999 x\n", 2},
      {"bitterend devices 1\n0123 bench 1764100000 1764100777 x\n", 2},
      {"bitterend devices 1\n" GOOD "\n", 3},
      {"bitterend devices 1\n" HASH " bench 1764100000 1764100777 \xC3\n", 2},
  };
  be_app_serve_end(site);
  site = NULL;
  for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
    struct be_err err = {0};
    test_write(file, bad[i].text);
    enum be_status status = serve(&err);
    if (status != BE_BAD_INPUT || err.line != bad[i].line)
      print_error("case %zu: %d, line %zu\n", i, status, err.line);
    assert_int_equal(status, BE_BAD_INPUT);
    assert_int_equal(err.line, bad[i].line);
    assert_string_equal(err.file, file);
    assert_non_null(strstr(err.remedy, "paired anew"));
    assert_null(site);
  }
  test_write(file, "bitterend devices 1\n" GOOD);
  assert_int_equal(serve(NULL), BE_OK);
  got_is(send_from(NULL, "GET", "/devices", NULL, ""), 200, "tablet by the guard");
}

static void what_is_written_is_read_again(void **state)
{
  (void)state;
  static struct be_device list[BE_DEVICES_MAX], again[BE_DEVICES_MAX];
  struct be_buf text;
  size_t count = 0;
  for (size_t i = 0; i < BE_DEVICES_MAX; i++) {
    list[i] = (struct be_device){.role = (enum be_device_role)(i % 3),
                                 .paired_s = T0 + (int64_t)i,
                                 .seen_s = T0 + 77 * (int64_t)i};
    char token[20];
    snprintf(token, sizeof token, "token %zu", i);
    be_sha256_hex(token, strlen(token), list[i].hash);
    snprintf(list[i].name, sizeof list[i].name, "caf\xC3\xA9  %zu of the shed ", i);
  }
  be_buf_init(&text, 100000);
  be_devices_write(list, BE_DEVICES_MAX, &text);
  assert_int_equal(be_devices_parse(text.data, text.size, again, &count, NULL), BE_OK);
  assert_int_equal(count, BE_DEVICES_MAX);
  for (size_t i = 0; i < count; i++) {
    assert_string_equal(again[i].hash, list[i].hash);
    assert_string_equal(again[i].name, list[i].name);
    assert_int_equal(again[i].role, list[i].role);
    assert_int_equal(again[i].paired_s, list[i].paired_s);
    assert_int_equal(again[i].seen_s, list[i].seen_s);
  }
  be_buf_add(&text, GOOD, strlen(GOOD));
  struct be_err err = {0};
  assert_int_equal(be_devices_parse(text.data, text.size, again, &count, &err), BE_BAD_INPUT);
  assert_int_equal(err.line, BE_DEVICES_MAX + 2);
  be_buf_free(&text);
}

static void a_file_that_cannot_be_written_is_told(void **state)
{
  (void)state;
  char cookie[200], other[200], code[10], form[100], hash[65];
  pair("tablet", cookie);
  pair("laptop", other);
  /* A folder stands where the new file is to be made: so also for root. */
  assert_int_equal(mkdir(part, 0700), 0);
  code_told(code);
  snprintf(form, sizeof form, "code=%s&name=phone", code);
  got_is(send_from(ELSEWHERE, "POST", "/pair", NULL, form), 500, "cannot create the file");
  be_sha256_hex(strchr(cookie, '=') + 1, BE_TOKEN, hash);
  snprintf(form, sizeof form, "do=forget&device=%.*s", BE_DEVICE_ID, hash);
  got_is(send_from(NULL, "POST", "/devices", NULL, form), 500,
         "it is shut out until the program ends");
  got_is(send_from(ELSEWHERE, "GET", "/", cookie, ""), 303, "/pair");
  assert_int_equal(rmdir(part), 0);
  /* The next that is written does not bring it back. */
  atomic_fetch_add(&clock_s, 2 * 3600);
  got_is(send_from(ELSEWHERE, "GET", "/", other, ""), 200, "palomar");
  got_is(send_from(ELSEWHERE, "GET", "/", cookie, ""), 303, "/pair");
  struct be_buf text;
  be_buf_init(&text, 10000);
  assert_int_equal(be_file_read(file, &text, NULL), BE_OK);
  assert_null(strstr(text.data, hash));
  assert_non_null(strstr(text.data, "laptop"));
  be_buf_free(&text);
}

/* Opens, pairs, shows the page, forgets. */
static enum be_status come_and_go(void *context, struct be_err *err)
{
  const struct be_devices_options options = {.book_path = context, .now = told_now};
  struct be_pairing pairing;
  struct be_doc *doc = NULL;
  struct door door = {.plain = true};
  struct visit visit = {.door = &door, .visitor = {.here = true}};
  char token[BE_TOKEN + 1], id[65];
  be_file_remove(file, NULL);
  be_buf_init(&visit.html, 1 << 16);
  enum be_status status = be_devices_open(&options, &door.devices, err);
  if (status == BE_OK) status = be_devices_code(door.devices, &pairing, err);
  if (status == BE_OK)
    status = be_devices_pair(door.devices, pairing.code, "tablet", "", token, err);
  if (status == BE_OK) status = be_devices_page(&visit, &doc, err);
  if (status == BE_OK) status = be_doc_text(doc, 0, &visit.html, err);
  if (status == BE_OK) {
    be_sha256_hex(token, BE_TOKEN, id);
    id[BE_DEVICE_ID] = '\0';
    status = be_devices_forget(door.devices, id, err);
  }
  be_doc_free(doc);
  be_buf_free(&visit.html);
  be_devices_close(door.devices);
  return status;
}

static void memory_may_fail_anywhere(void **state)
{
  (void)state;
  be_fail_loop(come_and_go, book, 10);
}

/* ---- opening ---- */

static void beyond_this_machine_it_is_asked_for(void **state)
{
  (void)state;
  const struct be_answering how = {0};
  struct be_err err = {0};
  struct be_site *other = NULL;
  struct be_serving serving = {.address = "0.0.0.0"};
  assert_int_equal(be_app_serve(book, &serving, &how, &other, &err), BE_WRONG_USE);
  assert_non_null(strstr(err.what, "can be read on that network"));
  assert_non_null(strstr(err.remedy, "--plain"));
  serving = (struct be_serving){.certificate_path = file};
  assert_int_equal(be_app_serve(book, &serving, &how, &other, &err), BE_WRONG_USE);
  assert_non_null(strstr(err.remedy, "--key"));
  serving.key_path = serving.certificate_path = "no-such-file";
  assert_int_equal(be_app_serve(book, &serving, &how, &other, &err), BE_BAD_INPUT);
  assert_string_equal(err.file, "no-such-file");
  serving.certificate_path = book;
  assert_int_equal(be_app_serve(book, &serving, &how, &other, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "no CERTIFICATE"));
  assert_null(other);
}

static void this_machine_alone_has_no_devices(void **state)
{
  (void)state;
  const struct be_answering how = {0};
  assert_int_equal(be_app_serve(book, NULL, &how, &site, NULL), BE_OK);
  /* 127.0.0.2 is this machine's too, where nobody says otherwise. */
  got_is(send_from(ELSEWHERE, "GET", "/devices", NULL, ""), 200, "Only this machine is served.");
  got_is(send_from(ELSEWHERE, "POST", "/devices", NULL, "do=code&role=look"), 409,
         "only this machine");
  got_is(send_from(NULL, "GET", "/pair", NULL, ""), 200, "needs no pairing");
  struct got got = send_from(NULL, "GET", "/bench", NULL, "");
  assert_null(strstr(got.body, "/devices"));
  free(got.text);
  assert_false(be_file_exists(file));
  be_app_serve_end(site);
  site = NULL;
}

/* ---- TLS ---- */

/* What a program prints, or null when it cannot be run. */
static char *output_of(const char *command)
{
  FILE *pipe = popen(command, "r");
  char *text = calloc(1, GOT_MAX);
  size_t size = pipe ? fread(text, 1, GOT_MAX - 1, pipe) : 0;
  if (pipe) pclose(pipe);
  text[size] = '\0';
  return text;
}

enum { COMMAND_MAX = 2400 };

/* What the server of that port answers to a request, of printf, by TLS; the caller's to free. */
static char *ask_by_tls(const char *certificate, const char *request)
{
  char command[COMMAND_MAX];
  snprintf(command, sizeof command,
           "printf '%s' | openssl s_client -quiet -verify_return_error -CAfile '%s' "
           "-verify_hostname bench.local -connect 127.0.0.1:%u 2>/dev/null",
           request, certificate, (unsigned)be_app_serve_port(site));
  return output_of(command);
}

/* Its own certificate; false when there is no program to make one. */
static bool make_certificate(const char *certificate, const char *key)
{
  char command[COMMAND_MAX];
  be_file_remove(key, NULL);
  snprintf(command, sizeof command,
           "openssl req -x509 -newkey ec -pkeyopt ec_paramgen_curve:prime256v1 -nodes -days 2 "
           "-subj /CN=bench.local -addext subjectAltName=DNS:bench.local -keyout '%s' -out '%s' "
           "2>/dev/null",
           key, certificate);
  free(output_of(command));
  return be_file_size(key) > 0;
}

/* A page; then a device is paired. */
static void ask_for_all(const char *certificate)
{
  char code[10], form[60], request[600];
  char *got = ask_by_tls(certificate, "GET /strength HTTP/1.0\\r\\nHost: bench.local\\r\\n\\r\\n");
  assert_non_null(strstr(got, "HTTP/1.1 200"));
  assert_non_null(strstr(got, "palomar"));
  assert_null(strstr(got, "Strict-Transport-Security"));
  free(got);
  code_told(code);
  snprintf(form, sizeof form, "code=%s&name=tablet", code);
  snprintf(request, sizeof request,
           "POST /pair HTTP/1.0\\r\\nHost: bench.local\\r\\nOrigin: https://bench.local\\r\\n"
           "Via: 1.1 x\\r\\nContent-Type: application/x-www-form-urlencoded\\r\\n"
           "Content-Length: %zu\\r\\n\\r\\n%s",
           strlen(form), form);
  got = ask_by_tls(certificate, request);
  assert_non_null(strstr(got, "HTTP/1.1 303"));
  assert_non_null(strstr(got, "Set-Cookie: __Host-bitterend-0="));
  assert_non_null(strstr(got, "; Secure; Max-Age="));
  free(got);
}

static void pages_are_served_by_tls(void **state)
{
  (void)state;
  char certificate[512], key[512], other[512];
  const char *const names[] = {"bench.local"};
  const struct be_answering how = {0};
  struct be_err err = {0};
  test_path(certificate, "devices-certificate.pem");
  test_path(key, "devices-key.pem");
  test_path(other, "devices-other-key.pem");
  if (!make_certificate(certificate, key)) {
    print_message("# no openssl here to make a certificate\n");
    skip();
  }
  struct be_serving serving = {.certificate_path = certificate,
                               .key_path = key,
                               .names = names,
                               .names_count = 1,
                               .say = hear_code,
                               .is_here = is_one};
  assert_int_equal(be_app_serve(book, &serving, &how, &site, &err), BE_OK);
  ask_for_all(certificate);
  struct got plain = send_from(NULL, "GET", "/", NULL, ""); /* without TLS: no answer */
  assert_int_equal(plain.status, 0);
  free(plain.text);
  be_app_serve_end(site);
  site = NULL;
  serving.key_path = certificate;
  assert_int_equal(be_app_serve(book, &serving, &how, &site, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "no PRIVATE KEY"));
  assert_string_equal(err.file, certificate);
  be_file_rename(key, other, NULL);
  assert_true(make_certificate(certificate, key));
  serving.key_path = other; /* of another certificate */
  assert_int_equal(be_app_serve(book, &serving, &how, &site, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.remedy, "belong together"));
  assert_string_equal(err.file, certificate);
}

static int clean(void **state)
{
  start(state);
  be_app_serve_end(site);
  site = NULL;
  return 0;
}

int main(void)
{
#define cleaned(test) cmocka_unit_test_setup_teardown(test, clean, NULL)
  const struct CMUnitTest tests[] = {
      served_beyond(a_file_that_is_none_lets_nobody_in),
      cmocka_unit_test(what_is_written_is_read_again),
      served_beyond(a_file_that_cannot_be_written_is_told),
      cleaned(memory_may_fail_anywhere),
      cleaned(beyond_this_machine_it_is_asked_for),
      cleaned(this_machine_alone_has_no_devices),
      cleaned(pages_are_served_by_tls),
  };
  return be_tests("app: the file of devices", tests);
}
