/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A page that was kept is the page that would be made: all pages of several books, byte for byte,
 * and after every kind of change to the record, also by another process. */
#define _POSIX_C_SOURCE 200809L
#include "app_test.h"
#include "web/client.h"

#include <sys/wait.h>

enum { LINKS_MAX = 600, ADDRESS_MAX = 200 };

static const char pulls[] = "specimen,knot,line A,soak,load (lb),what,where\n"
                            "p1,none,nylon 12 lb,dry,13.2,broke,clear of it\n"
                            "p2,none,nylon 12 lb,dry,13.6,broke,clear of it\n"
                            "a1,palomar,nylon 12 lb,dry,12.5,broke,at its entry\n"
                            "a2,palomar,nylon 12 lb,dry,12.9,broke,in the knot\n"
                            "b1,clinch,nylon 12 lb,dry,10.1,slipped out,\n"
                            "b2,clinch,nylon 12 lb,dry,11.9,broke,in the knot\n"
                            "b3,clinch,braid 20 lb,soaked,17.7,broke,in the knot\n";

/* Each of another kind, and what it says on which page. */
static const struct {
  const char *name, *sheet, *address, *says;
} changes[] = {
    {"kept-more.csv", "specimen,knot,line A,soak,load (lb)\nc7,uni,nylon 12 lb,dry,11.1\n",
     "/strength", "uni"},
    {"kept-correction.csv",
     "specimen,knot,line A,soak,load (lb),correction\na2,palomar,nylon 12 lb,dry,12.4,misread\n",
     "/pulls", "12.4"},
    {"kept-knots.csv", "knot,aliases,kind,crossings A\nclinch,half blood,hitch,7\n", "/findings",
     "</html>"},
    {"kept-trial.csv",
     "trial,specimen,order,block,knot,line A,soak\nmay,m1,1,1,palomar,nylon 12 lb,dry\n", "/plan",
     "may"},
    {"kept-lines.csv", "line,material,on hand (m)\nnylon 12 lb,nylon,37\n", "/next", "</html>"},
};
enum { CHANGES = sizeof changes / sizeof changes[0] };

static void enter(const char *book, const char *name, const char *sheet,
                  const struct be_entering *how)
{
  char path[512];
  struct be_doc *doc = NULL;
  struct be_err err = {0};
  test_path(path, name);
  test_write(path, sheet);
  const char *const paths[] = {path};
  enum be_status status = be_app_enter(book, paths, 1, how, &doc, &err);
  if (status != BE_OK) print_error("%s line %zu: %s\n", err.file, err.line, err.what);
  assert_int_equal(status, BE_OK);
  be_doc_free(doc);
}

/* A site of the book that knows nothing of any other. */
static struct be_site *fresh_site(const char *book)
{
  char file[600];
  struct be_site *site = NULL;
  struct be_answering how = {0};
  snprintf(file, sizeof file, "%s.pages", book);
  assert_int_equal(be_file_remove(file, NULL), BE_OK);
  assert_int_equal(be_app_serve(book, NULL, &how, &site, NULL), BE_OK);
  return site;
}

static struct got load(const struct be_site *site, const char *method, const char *address)
{
  char request[1000];
  int length = snprintf(request, sizeof request,
                        "%s %s HTTP/1.1\r\nHost: localhost:%u\r\nConnection: close\r\n\r\n", method,
                        address, (unsigned)be_app_serve_port(site));
  return ask_at(NULL, be_app_serve_port(site), request, (size_t)length);
}

struct links {
  char address[LINKS_MAX][ADDRESS_MAX];
  size_t count;
};

static void add_link(struct links *links, const char *start, size_t length)
{
  char made[ADDRESS_MAX] = "";
  size_t used = 0;
  assert_true(length < ADDRESS_MAX);
  for (size_t i = 0; i < length; i++) {
    made[used++] = start[i];
    if (strncmp(start + i, "&amp;", 5) == 0) i += 4;
  }
  for (size_t i = 0; i < links->count; i++)
    if (strcmp(links->address[i], made) == 0) return;
  assert_true(links->count < LINKS_MAX);
  memcpy(links->address[links->count++], made, sizeof made);
}

static void collect(struct links *links, const char *body)
{
  for (const char *at = body; (at = strstr(at, "href=\"/")) != NULL;) {
    at += strlen("href=\"");
    size_t length = strcspn(at, "\"");
    if (strncmp(at, "/bench", 6) != 0) add_link(links, at, length);
    at += length;
  }
}

static void same_page(const struct be_site *a, const struct be_site *b, const char *address,
                      struct links *links)
{
  struct got first = load(a, "GET", address), again = load(a, "GET", address);
  struct got anew = load(b, "GET", address);
  if (first.size != again.size || first.size != anew.size) print_error("%s differs\n", address);
  assert_int_equal(first.status, anew.status);
  assert_string_equal(again.body, first.body);
  assert_string_equal(anew.body, first.body);
  if (links) collect(links, first.body);
  free(first.text);
  free(again.text);
  free(anew.text);
}

static void every_page_is_the_one_that_would_be_made(const char *book)
{
  static const char *const more[] = {
      "/",           "/?by=slips",     "/?by=low&unit=kg", "/strength?unit=N", "/nowhere",
      "/?by=luck",   "/?factor=soak",  "/pulls?from=2",    "/next?top=2",      "/?since=2020-01-01",
      "/pulls?from", "/pulls?from=99", "/cell?at=1"};
  struct links *links = calloc(1, sizeof *links);
  struct be_site *a = fresh_site(book), *b = fresh_site(book);
  assert_non_null(links);
  for (size_t i = 0; i < sizeof more / sizeof more[0]; i++)
    add_link(links, more[i], strlen(more[i]));
  for (size_t i = 0; i < links->count; i++) same_page(a, b, links->address[i], links);
  assert_true(links->count > sizeof more / sizeof more[0] + 5);
  be_app_serve_end(a);
  be_app_serve_end(b);
  free(links);
}

static void kept_pages_are_those_made_anew(void **state)
{
  (void)state;
  char book[512];
  struct be_entering how = {0};
  test_book(book, "kept-pages.book", pulls, NULL);
  every_page_is_the_one_that_would_be_made(book);
  for (size_t i = 0; i < CHANGES; i++) enter(book, changes[i].name, changes[i].sheet, &how);
  every_page_is_the_one_that_would_be_made(book);
  test_path(book, "kept-empty.book");
  be_file_remove(book, NULL);
  assert_int_equal(be_book_create(book, NULL), BE_OK);
  every_page_is_the_one_that_would_be_made(book);
}

static void all_pages_match(const struct be_site *site, const char *book)
{
  static const char *const all[] = {"/",      "/strength", "/findings",       "/plan",  "/next",
                                    "/pulls", "/versus",   "/versus?a=0&b=1", "/pull/4"};
  struct be_site *anew = fresh_site(book);
  for (size_t i = 0; i < sizeof all / sizeof all[0]; i++) same_page(site, anew, all[i], NULL);
  be_app_serve_end(anew);
}

static void page_says(const struct be_site *site, const char *address, const char *words)
{
  struct got got = load(site, "GET", address);
  if (!strstr(got.body, words)) print_error("%s does not say %s\n", address, words);
  assert_non_null(strstr(got.body, words));
  free(got.text);
}

static void every_change_is_seen_at_once(void **state)
{
  (void)state;
  char book[512], text[BE_BOOK_STATE_MAX], last[BE_BOOK_STATE_MAX] = "";
  struct be_entering how = {0};
  struct be_book *opened = NULL;
  test_book(book, "kept-changes.book", pulls, NULL);
  struct be_site *site = fresh_site(book);
  all_pages_match(site, book);
  for (size_t i = 0; i < CHANGES; i++) {
    enter(book, changes[i].name, changes[i].sheet, &how);
    page_says(site, changes[i].address, changes[i].says);
    all_pages_match(site, book);
  }
  /* A mapping is kept with the sheet that brought it. */
  how = (struct be_entering){.mapping = "line A = string\n", .save_as = "notebook"};
  enter(book, "kept-mapped.csv", "specimen,knot,string,load (lb)\nd9,uni,nylon 12 lb,10.9\n", &how);
  page_says(site, "/pulls", "d9");
  all_pages_match(site, book);
  for (int i = 0; i < 3; i++) {
    assert_int_equal(be_book_open(book, i == 1, &opened, NULL), BE_OK);
    assert_int_equal(be_book_state(opened, text, NULL), BE_OK);
    be_book_close(opened);
    if (i) assert_string_equal(text, last);
    memcpy(last, text, sizeof last);
  }
  be_app_serve_end(site);
}

static void another_process_enters(void **state)
{
  (void)state;
  char book[512];
  struct be_entering how = {0};
  test_book(book, "kept-process.book", pulls, NULL);
  pid_t child = fork();
  if (child == 0) {
    /* Before any thread was started here: the site is opened once this has gone on. */
    enter(book, changes[0].name, changes[0].sheet, &how);
    _exit(0);
  }
  struct be_site *site = fresh_site(book);
  page_says(site, "/pulls", "a2");
  int code = -1;
  assert_int_equal(waitpid(child, &code, 0), child);
  assert_int_equal(code, 0);
  page_says(site, "/pulls", "c7");
  all_pages_match(site, book);
  be_app_serve_end(site);
}

static void head_is_get_without_a_body(void **state)
{
  (void)state;
  char book[512], length[64];
  test_book(book, "kept-head.book", pulls, NULL);
  struct be_site *site = fresh_site(book);
  for (int i = 0; i < 2; i++) {
    struct got head = load(site, "HEAD", "/strength"), got = load(site, "GET", "/strength");
    assert_int_equal(head.status, 200);
    assert_int_equal(strlen(head.body), 0);
    snprintf(length, sizeof length, "Content-Length: %zu", strlen(got.body));
    assert_header(&head, length);
    assert_header(&head, "Cache-Control: no-store");
    free(head.text);
    free(got.text);
  }
  be_app_serve_end(site);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(another_process_enters),
      cmocka_unit_test(kept_pages_are_those_made_anew),
      cmocka_unit_test(every_change_is_seen_at_once),
      cmocka_unit_test(head_is_get_without_a_body),
  };
  return be_tests("app: pages, kept and made", tests);
}
