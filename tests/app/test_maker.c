/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Who makes pages: one making for all who ask, readers who are sent away and come back, what is
 * kept and what is not, and what another process finds. The pages here are made of a word that the
 * test changes, so that one made anew differs. */
#define _POSIX_C_SOURCE 200809L
#include "app/site/maker.h"
#include "app_test.h"

#include <pthread.h>
#include <sched.h>
#include <sys/stat.h>
#include <unistd.h>

static const char sheet[] = "specimen,knot,line A,load (lb)\n"
                            "s1,uni,nylon 12 lb,10.7\n";
static const char more[] = "specimen,knot,line A,load (lb)\n"
                           "s2,uni,nylon 12 lb,11.3\n";

struct maker {
  struct be_maker *maker;
  char book[512], file[600];
  atomic_int calls, status;
  atomic_bool held; /* makers wait at the gate */
  struct be_gate *gate;
  const char *enters; /* a sheet that is entered while the page is made */
};

static void enter(const char *book, const char *name, const char *text)
{
  char path[512];
  struct be_entering how = {0};
  struct be_doc *doc = NULL;
  test_path(path, name);
  test_write(path, text);
  const char *const paths[] = {path};
  assert_int_equal(be_app_enter(book, paths, 1, &how, &doc, NULL), BE_OK);
  be_doc_free(doc);
}

static void make(void *context, const char *as, const struct be_request *request,
                 struct be_reply *reply)
{
  assert_string_equal(as, "reader");
  struct maker *m = context;
  int call = atomic_fetch_add(&m->calls, 1) + 1;
  be_progress_step("counting knots", "knots", 12345);
  be_progress_at(1678);
  if (atomic_load(&m->held)) be_gate_wait(m->gate, 1);
  if (m->enters) {
    enter(m->book, "maker-more.csv", m->enters);
    m->enters = NULL;
  }
  reply->status = atomic_load(&m->status);
  /* Slow enough for the file: pages that are quick to make are not written. */
  double start = be_clock_s();
  while (strcmp(request->path, "/slow") == 0 && be_clock_s() < start + 0.06) continue;
  be_buf_format(&reply->body, "%s, made as number %d", request->path, call);
}

static const char *const usual[] = {"/", "/strength"};

static void open_maker(struct maker *m, double patience_s)
{
  struct be_err err = {0};
  const struct be_maker_options options = {.book_path = m->book,
                                           .under = "lb",
                                           .make = make,
                                           .usual_as = "reader",
                                           .context = m,
                                           .usual = usual,
                                           .usual_count = 2,
                                           .patience_s = patience_s};
  assert_int_equal(be_maker_open(&options, &m->maker, &err), BE_OK);
}

static void begin(struct maker *m, const char *name, double patience_s)
{
  *m = (struct maker){.status = 200, .gate = be_gate_create()};
  test_book(m->book, name, sheet, NULL);
  snprintf(m->file, sizeof m->file, "%s.pages", m->book);
  be_file_remove(m->file, NULL);
  open_maker(m, patience_s);
}

static void finish(struct maker *m)
{
  be_maker_close(m->maker);
  be_gate_free(m->gate);
}

/* False: still being made, and words tell how far. */
static bool ask(struct maker *m, const char *path, char text[200], char words[BE_PROGRESS_WORDS])
{
  const struct be_request request = {.method = "GET", .path = path, .type = "", .body = ""};
  struct be_reply reply = {.status = 200, .type = "text/html; charset=utf-8"};
  be_buf_init(&reply.body, 1 << 20);
  bool got = be_maker_answer(m->maker, "reader", &request, &reply, words);
  snprintf(text, 200, "%d %s", reply.status, reply.body.data ? reply.body.data : "");
  be_buf_free(&reply.body);
  return got;
}

static void page_is(struct maker *m, const char *path, const char *want)
{
  char text[200], words[BE_PROGRESS_WORDS];
  while (!ask(m, path, text, words)) continue;
  assert_string_equal(text, want);
}

static void a_page_is_made_once_for_a_state(void **state)
{
  (void)state;
  struct maker m;
  begin(&m, "maker-once.book", 30);
  page_is(&m, "/", "200 /, made as number 1");
  page_is(&m, "/", "200 /, made as number 1");
  page_is(&m, "/cell", "200 /cell, made as number 2");
  page_is(&m, "/", "200 /, made as number 1");
  enter(m.book, "maker-more.csv", more);
  page_is(&m, "/", "200 /, made as number 3");
  page_is(&m, "/cell", "200 /cell, made as number 4");
  finish(&m);
}

static void errors_are_not_kept(void **state)
{
  (void)state;
  struct maker m;
  begin(&m, "maker-errors.book", 30);
  static const int all[] = {404, 400, 500, 303};
  for (int i = 0; i < 4; i++) {
    char want[64];
    atomic_store(&m.status, all[i]);
    snprintf(want, sizeof want, "%d /, made as number %d", all[i], i + 1);
    page_is(&m, "/", want);
  }
  atomic_store(&m.status, 200);
  page_is(&m, "/", "200 /, made as number 5");
  page_is(&m, "/", "200 /, made as number 5");
  finish(&m);
}

static void a_page_during_which_something_was_entered_is_not_kept(void **state)
{
  (void)state;
  struct maker m;
  begin(&m, "maker-during.book", 30);
  m.enters = more;
  page_is(&m, "/", "200 /, made as number 1");
  page_is(&m, "/", "200 /, made as number 2");
  page_is(&m, "/", "200 /, made as number 2");
  finish(&m);
}

static void who_is_not_waited_for_comes_back(void **state)
{
  (void)state;
  struct maker m;
  char text[200], words[BE_PROGRESS_WORDS];
  begin(&m, "maker-later.book", 1e-9);
  atomic_store(&m.held, true);
  /* The first may be told before the work has begun. */
  while (!ask(&m, "/", text, words) && !strstr(words, "knots")) continue;
  assert_string_equal(words, "counting knots, 1,678 of 12,345 knots");
  assert_string_equal(text, "200 ");
  atomic_store(&m.status, 404);
  assert_false(ask(&m, "/", text, words));
  be_gate_pass(m.gate);
  /* An error too reaches the one who comes back, who then asks anew. */
  page_is(&m, "/", "404 /, made as number 1");
  assert_int_equal(atomic_load(&m.calls), 1);
  atomic_store(&m.held, false);
  atomic_store(&m.status, 200);
  page_is(&m, "/", "200 /, made as number 2");
  finish(&m);
}

static void *ask_once(void *m_)
{
  page_is(m_, "/", "200 /, made as number 1");
  return NULL;
}

static void *ask_patiently(void *m_)
{
  page_is(m_, "/", "200 /, made as number 1");
  return NULL;
}

/* Two are kept waiting for as long as it takes; the third is told at once. */
static void few_are_kept_waiting(void **state)
{
  (void)state;
  struct maker m;
  pthread_t readers[2];
  char text[200], words[BE_PROGRESS_WORDS];
  begin(&m, "maker-patient.book", 1000);
  atomic_store(&m.held, true);
  for (int i = 0; i < 2; i++)
    assert_int_equal(pthread_create(&readers[i], NULL, ask_patiently, &m), 0);
  while (be_maker_patient(m.maker) < 2) sched_yield();
  assert_false(ask(&m, "/", text, words));
  assert_false(ask(&m, "/cell", text, words));
  be_gate_pass(m.gate);
  for (int i = 0; i < 2; i++) pthread_join(readers[i], NULL);
  atomic_store(&m.held, false);
  page_is(&m, "/cell", "200 /cell, made as number 2");
  finish(&m);
}

static void all_who_ask_share_one_making(void **state)
{
  (void)state;
  struct maker m;
  pthread_t readers[5];
  char text[200], words[BE_PROGRESS_WORDS];
  begin(&m, "maker-share.book", 1e-3);
  atomic_store(&m.held, true);
  for (int i = 0; i < 5; i++) assert_int_equal(pthread_create(&readers[i], NULL, ask_once, &m), 0);
  while (!ask(&m, "/", text, words) && !strstr(words, "knots")) continue;
  be_gate_pass(m.gate);
  for (int i = 0; i < 5; i++) pthread_join(readers[i], NULL);
  assert_int_equal(atomic_load(&m.calls), 1);
  finish(&m);
}

static void usual_pages_are_made_after_an_entering(void **state)
{
  (void)state;
  struct maker m;
  begin(&m, "maker-usual.book", 30);
  be_maker_entered(m.maker);
  assert_int_equal(be_maker_made(m.maker), 2);
  page_is(&m, "/", "200 /, made as number 1");
  page_is(&m, "/strength", "200 /strength, made as number 2");
  /* Nothing was: they are there. */
  be_maker_entered(m.maker);
  assert_int_equal(be_maker_made(m.maker), 2);
  enter(m.book, "maker-more.csv", more);
  be_maker_entered(m.maker);
  assert_int_equal(be_maker_made(m.maker), 4);
  page_is(&m, "/", "200 /, made as number 3");
  finish(&m);
}

/* ---- what another process finds ---- */

static void another_process_finds_slow_pages(void **state)
{
  (void)state;
  struct maker m;
  begin(&m, "maker-file.book", 30);
  page_is(&m, "/", "200 /, made as number 1");
  page_is(&m, "/slow", "200 /slow, made as number 2");
  be_maker_close(m.maker);
  assert_true(be_file_exists(m.file));
  open_maker(&m, 30);
  page_is(&m, "/slow", "200 /slow, made as number 2");
  page_is(&m, "/", "200 /, made as number 3");
  /* Two at a time, and one of them enters: the other sees it at once. */
  struct maker *first = &m;
  struct maker second = m;
  open_maker(&second, 30);
  page_is(&second, "/slow", "200 /slow, made as number 2");
  enter(m.book, "maker-more.csv", more);
  page_is(first, "/slow", "200 /slow, made as number 4");
  be_maker_close(second.maker);
  be_maker_close(m.maker);
  enter(m.book, "maker-third.csv", "specimen,knot,line A,load (lb)\ns3,uni,nylon 12 lb,9.1\n");
  open_maker(&m, 30);
  page_is(&m, "/slow", "200 /slow, made as number 5");
  finish(&m);
}

static void a_torn_file_is_passed_over(void **state)
{
  (void)state;
  struct maker m;
  struct be_buf bytes;
  begin(&m, "maker-torn.book", 30);
  page_is(&m, "/slow", "200 /slow, made as number 1");
  be_maker_close(m.maker);
  be_buf_init(&bytes, 1 << 20);
  assert_int_equal(be_file_read(m.file, &bytes, NULL), BE_OK);
  assert_int_equal(be_file_write(m.file, bytes.data, bytes.size - 3, NULL), BE_OK);
  open_maker(&m, 30);
  page_is(&m, "/slow", "200 /slow, made as number 2");
  be_maker_close(m.maker);
  /* It was written anew, and is whole. */
  open_maker(&m, 30);
  page_is(&m, "/slow", "200 /slow, made as number 2");
  be_maker_close(m.maker);
  /* Something else of that name. */
  assert_int_equal(be_file_remove(m.file, NULL), BE_OK);
  assert_int_equal(be_dir_create(m.file, NULL), BE_OK);
  open_maker(&m, 30);
  page_is(&m, "/slow", "200 /slow, made as number 3");
  page_is(&m, "/slow", "200 /slow, made as number 3");
  finish(&m);
  assert_int_equal(rmdir(m.file), 0);
  be_buf_free(&bytes);
}

static void file_is(const char *path, const char *want)
{
  struct be_buf bytes;
  be_buf_init(&bytes, 1 << 20);
  assert_int_equal(be_file_read(path, &bytes, NULL), BE_OK);
  assert_string_equal(bytes.data, want);
  be_buf_free(&bytes);
}

static void what_is_no_file_of_pages_is_left_alone(void **state)
{
  (void)state;
  struct maker m;
  struct stat about;
  char part[700], other[512];
  begin(&m, "maker-not-ours.book", 30);
  be_maker_close(m.maker);
  test_write(m.file, "bitterend pagE: notes on 17 pages");
  open_maker(&m, 30);
  page_is(&m, "/slow", "200 /slow, made as number 1");
  be_maker_close(m.maker);
  file_is(m.file, "bitterend pagE: notes on 17 pages");
  /* What a link at the name of the part leads to is not written into. */
  assert_int_equal(be_file_remove(m.file, NULL), BE_OK);
  snprintf(part, sizeof part, "%s.part", m.file);
  test_path(other, "maker-other.txt");
  test_write(other, "41 words");
  assert_int_equal(symlink(other, part), 0);
  open_maker(&m, 30);
  page_is(&m, "/slow", "200 /slow, made as number 2");
  be_maker_close(m.maker);
  file_is(other, "41 words");
  assert_int_equal(lstat(m.file, &about), 0);
  assert_true(S_ISREG(about.st_mode));
  assert_int_equal(about.st_mode & 0777, 0600);
  /* A pipe, from which nothing ever comes, holds nobody up. */
  assert_int_equal(be_file_remove(m.file, NULL), BE_OK);
  assert_int_equal(mkfifo(m.file, 0600), 0);
  open_maker(&m, 30);
  page_is(&m, "/slow", "200 /slow, made as number 3");
  finish(&m);
  assert_int_equal(be_file_remove(m.file, NULL), BE_OK);
}

/* No file can be made there, whoever asks: its place is taken by a folder. */
static void a_folder_that_cannot_be_written_is_no_hindrance(void **state)
{
  (void)state;
  struct maker m;
  char part[700];
  begin(&m, "maker-unwritable.book", 30);
  snprintf(part, sizeof part, "%s.part", m.file);
  assert_int_equal(be_dir_create(part, NULL), BE_OK);
  page_is(&m, "/slow", "200 /slow, made as number 1");
  page_is(&m, "/slow", "200 /slow, made as number 1");
  finish(&m);
  assert_false(be_file_exists(m.file));
  assert_int_equal(rmdir(part), 0);
}

static void a_book_that_is_replaced_is_another(void **state)
{
  (void)state;
  struct maker m;
  char other[512];
  begin(&m, "maker-replaced.book", 30);
  page_is(&m, "/", "200 /, made as number 1");
  test_book(other, "maker-other.book", sheet, NULL);
  assert_int_equal(be_file_rename(other, m.book, NULL), BE_OK);
  page_is(&m, "/", "200 /, made as number 2");
  assert_int_equal(be_file_remove(m.book, NULL), BE_OK);
  page_is(&m, "/", "200 /, made as number 3");
  page_is(&m, "/", "200 /, made as number 4");
  finish(&m);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_page_is_made_once_for_a_state),
      cmocka_unit_test(errors_are_not_kept),
      cmocka_unit_test(a_page_during_which_something_was_entered_is_not_kept),
      cmocka_unit_test(who_is_not_waited_for_comes_back),
      cmocka_unit_test(few_are_kept_waiting),
      cmocka_unit_test(all_who_ask_share_one_making),
      cmocka_unit_test(usual_pages_are_made_after_an_entering),
      cmocka_unit_test(another_process_finds_slow_pages),
      cmocka_unit_test(a_torn_file_is_passed_over),
      cmocka_unit_test(what_is_no_file_of_pages_is_left_alone),
      cmocka_unit_test(a_folder_that_cannot_be_written_is_no_hindrance),
      cmocka_unit_test(a_book_that_is_replaced_is_another),
  };
  return be_tests("app: who makes pages", tests);
}
