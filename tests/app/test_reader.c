/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Units and decimals as one reader wants them. */
#define _POSIX_C_SOURCE 200809L
#include "app_test.h"
#include "web/client.h"

static const char sheet[] = "specimen,knot,line A,soak,load (lb),what,where\n"
                            "p1,none,nylon 1.5 lb,dry,13.25,broke,clear of it\n"
                            "a1.5,palomar,nylon 1.5 lb,dry,12.5,broke,at its entry\n";

static char book[512];
static struct be_site *site;

static int start(void **state)
{
  (void)state;
  struct be_answering how = {0};
  test_book(book, "reader.book", sheet, NULL);
  return be_app_serve(book, NULL, &how, &site, NULL) == BE_OK ? 0 : -1;
}

static int end(void **state)
{
  (void)state;
  be_app_serve_end(site);
  return 0;
}

static struct got send_to(const char *method, const char *address, const char *cookie,
                          const char *form)
{
  char lines[200];
  snprintf(lines, sizeof lines, FORM_TYPE "Cookie: %s\r\n", cookie);
  return send_body(be_app_serve_port(site), method, address, lines, form);
}

/* Each of the words, in the page that this reader gets. */
static void reads(const char *address, const char *cookie, const char *words)
{
  assert_says(send_to("GET", address, cookie, ""), address, 200, words);
}

static void posts(const char *address, const char *form, int status, const char *words)
{
  assert_says(send_to("POST", address, "none=", form), form, status, words);
}

static void a_reader_has_a_unit_and_a_mark(void **state)
{
  (void)state;
  reads("/pulls", "none=", "12.5");
  reads("/pulls", "reader=.comma", "12,5");
  reads("/pulls", "reader=.comma", ">a1.5<");
  reads("/pulls", "reader=N.comma", "55,6"); /* 12.5 lb */
  reads("/pulls", "reader=N", "55.6");
  reads("/pulls?unit=lb", "reader=N.comma", "12,5");
  reads("/pulls", "reader=smoke.fish", "12.5");
  reads("/bench", "reader=kg.comma", "<html lang=\"en\" data-decimal=\",\">");
  reads("/pulls", "reader=kg.comma", "<a href=\"/reader?back=/pulls\">");
}

static void it_is_told_on_a_page(void **state)
{
  (void)state;
  reads("/reader", "none=", "Loads are shown to you in lb, the unit most loads");
  reads("/reader", "reader=kg.comma", "Loads are shown to you in kg, decimals behind a comma.");
  posts("/reader?back=/pulls", "do=show&unit=kg&mark=comma", 303,
        "Set-Cookie: reader=kg.comma; Path=/; HttpOnly; SameSite=Strict\r\n");
  posts("/reader?back=/pulls", "do=show&unit=kg&mark=comma", 303, "Location: /pulls\r\n");
  posts("/reader?back=//elsewhere.example/", "do=show&unit=&mark=point", 303, "Location: /\r\n");
  posts("/reader", "do=show&unit=fish&mark=comma", 400, "Not done: &quot;fish&quot; is not a unit");
}

int main(void)
{
#define sited(test) cmocka_unit_test_setup_teardown(test, start, end)
  const struct CMUnitTest tests[] = {
      sited(a_reader_has_a_unit_and_a_mark),
      sited(it_is_told_on_a_page),
  };
  return be_tests("app: reader", tests);
}
