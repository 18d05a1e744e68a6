/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A merge that is killed before each call that changes a file, and torn in the middle of each
 * write: the book is what it was or all has come in, it is sound, and the merge done again brings
 * in what is lacking. */
#include "app/odd_book.h"
#include "fault/failing_calls.h"

#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

enum { HERE = 2, THERE = 40 };

static char here[512], there[512], same[512];
static struct be_buf before;
static bool in_two_acts; /* a planted bug, in the process that is killed */

static void make_book(char book[512], const char *name, char letter, int pulls)
{
  struct be_buf sheet;
  test_path(book, name);
  be_file_remove(book, NULL);
  assert_int_equal(be_book_create(book, NULL), BE_OK);
  be_buf_init(&sheet, 1 << 16);
  be_buf_text(&sheet, "specimen,knot,line A,load (lb),note\n");
  for (int i = 0; i < pulls; i++)
    be_buf_format(&sheet, "%c%d,uni,nylon 12 lb,%.2f,\"%0900d\"\n", letter, i, 9.3 + 0.07 * i, i);
  odd_sheet(book, "merged-pulls.csv", sheet.data, NULL);
  be_buf_free(&sheet);
}

static int start(void **state)
{
  (void)state;
  make_book(here, "merged-here.book", 'H', HERE);
  make_book(there, "merged-there.book", 'T', THERE);
  test_path(same, "merged-same.csv");
  test_write(same, "kind,here,there,same\nline,nylon 12 lb,nylon 12 lb,yes\nknot,uni,uni,yes\n");
  be_buf_init(&before, 1 << 24);
  return be_file_read(here, &before, NULL) == BE_OK ? 0 : 1;
}

static int stop(void **state)
{
  (void)state;
  be_buf_free(&before);
  return 0;
}

static void restore(void)
{
  char journal[600];
  snprintf(journal, sizeof journal, "%s-journal", here);
  remove(journal);
  assert_int_equal(be_file_write(here, before.data, before.size, NULL), BE_OK);
}

static enum be_status merge(void)
{
  struct be_doc *doc = NULL;
  struct be_err err = {0};
  enum be_status status = be_app_merge(here, there, same, &doc, &err);
  be_doc_free(doc);
  return status;
}

static bool merge_apart(const struct failing_calls *calls)
{
  pid_t child = fork();
  assert_true(child >= 0);
  if (child == 0) {
    failing_calls = *calls;
    if (in_two_acts)
      odd_sheet(here, "merged-first.csv", "specimen,knot,line A,load (lb)\nX1,uni,nylon 12 lb,9\n",
                NULL);
    _exit(merge() == BE_OK ? 0 : 1);
  }
  int how = 0;
  assert_int_equal(waitpid(child, &how, 0), child);
  assert_true(WIFEXITED(how) || WTERMSIG(how) == SIGKILL);
  return WIFEXITED(how) && WEXITSTATUS(how) == 0;
}

static size_t count_pulls(void)
{
  struct be_book *book = NULL;
  struct be_record record = {0};
  struct be_arena *arena = be_arena_create();
  assert_int_equal(be_book_open(here, false, &book, NULL), BE_OK);
  assert_int_equal(be_book_read(book, arena, &record, NULL), BE_OK);
  size_t pulls = record.pulls_count;
  be_book_close(book);
  be_arena_free(arena);
  return pulls;
}

/* What is wrong with the book; null: nothing. */
static const char *judge(bool ended)
{
  struct be_doc *doc = NULL;
  size_t pulls = count_pulls();
  enum be_status status = be_app_check(here, &doc, NULL);
  be_doc_free(doc);
  if (status != BE_OK) return "it is not sound";
  if (pulls != HERE && pulls != HERE + THERE) return "a part came in";
  if (ended && pulls == HERE) return "it was said that all came in";
  enum be_status again = merge();
  if (again != (pulls == HERE ? BE_OK : BE_WRONG_USE)) return "it cannot be merged again";
  return count_pulls() == HERE + THERE ? NULL : "not all came in the second time";
}

/* Under sanitizers each third call; else all. */
#ifdef __SANITIZE_ADDRESS__
enum { STRIDE = 3 };
#else
enum { STRIDE = 1 };
#endif

static const char *search(struct failing_calls how, size_t *points)
{
  const char *fault = NULL;
  bool ended = false;
  for (*points = 0; !fault && !ended; *points += ended ? 0 : STRIDE) {
    struct failing_calls calls = how;
    calls.at = *points + 1;
    restore();
    ended = merge_apart(&calls);
    fault = judge(ended);
  }
  return fault;
}

static void it_is_all_or_nothing(void **state)
{
  (void)state;
  static const struct failing_calls ways[] = {{.kind = CALL_ANY, .end = CALL_DIES},
                                              {.kind = CALL_WRITE, .end = CALL_TEARS}};
  for (size_t i = 0; i < 2; i++) {
    size_t points = 0;
    const char *fault = search(ways[i], &points);
    print_message("# killed at each of %zu calls\n", points);
    if (fault) fail_msg("call %zu: %s", points + 1, fault);
    assert_true(points >= 20);
  }
}

static void a_merge_in_two_acts_is_caught(void **state)
{
  (void)state;
  size_t points = 0;
  in_two_acts = true;
  const char *fault = search((struct failing_calls){.kind = CALL_ANY, .end = CALL_DIES}, &points);
  in_two_acts = false;
  assert_non_null(fault);
  assert_string_equal(fault, "a part came in");
}

int main(void)
{
#define alone(test) cmocka_unit_test_setup_teardown(test, start, stop)
  const struct CMUnitTest tests[] = {
      alone(it_is_all_or_nothing),
      alone(a_merge_in_two_acts_is_caught),
  };
  return be_tests("fault: a merge that is killed", tests);
}
