/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How fast pages come, and how much memory serving takes: of the demonstration book and of two made
 * books of 100,000 typed pulls. `bitterend serve` is started as people start it, and asked over the
 * loopback address. Cold: the first page of a fresh process. Kept: an earlier process made the page
 * of the same book; anew: nobody did. Warm: the page again. Then all kinds of pages are asked for,
 * and the memory is read that the system says is resident. Beside the time on the clock stands that
 * of the processor, which other programs on the machine lengthen less; the asking is not in it.
 *
 *   bench_pages BUILD [RUNS] */
#define _POSIX_C_SOURCE 200809L
#include "app/survey/survey.h"

#include <arpa/inet.h>
#include <netinet/in.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

enum { RUNS_MAX = 21, ANEW_RUNS = 3, PULLS = 100000, ASK_AGAIN_NS = 10 * 1000 * 1000 };

static void must(bool fine, const char *what)
{
  if (fine) return;
  fprintf(stderr, "bench_pages: %s\n", what);
  exit(1);
}

static int by_value(const void *a, const void *b)
{
  double first = *(const double *)a, second = *(const double *)b;
  return first < second ? -1 : first > second;
}

/* Of some runs: on the clock, and of the processor. */
struct times {
  double clock[RUNS_MAX], processor[RUNS_MAX];
};

static void row(const char *book, const char *what, struct times *times, int runs,
                const char *limit)
{
  double *seconds = times->clock, *own = times->processor;
  qsort(seconds, (size_t)runs, sizeof *seconds, by_value);
  qsort(own, (size_t)runs, sizeof *own, by_value);
  printf("%-34s %-32s %8.1f ms (%.1f to %.1f, %d runs), processor %.1f ms; limit %s\n", book, what,
         1e3 * seconds[runs / 2], 1e3 * seconds[0], 1e3 * seconds[runs - 1], runs,
         1e3 * own[runs / 2], limit);
  fflush(stdout);
}

/* ---- books ---- */

static void make_book(const char *path, int lines, int knots)
{
  struct be_buf sheet;
  struct be_random random;
  struct be_book *book = NULL;
  struct be_entered entered;
  struct be_entering how = {0};
  struct be_arena *arena = be_arena_create();
  be_random_init(&random, 20260401, 0);
  be_buf_init(&sheet, 64 * 1024 * 1024);
  be_buf_text(&sheet, "specimen,knot,line A,spool A,soak,load (N),what,where\n");
  for (int i = 0; i < PULLS; i++) {
    int line = i % lines, knot = i / lines % (knots + 1);
    double load = (20 + 3 * line) * (1 + 0.06 * be_random_normal(&random));
    if (knot) load *= 0.6 + 0.008 * knot;
    be_buf_format(&sheet, "P%06d,", i);
    if (knot) be_buf_format(&sheet, "knot %d", knot);
    else be_buf_text(&sheet, "none");
    be_buf_format(&sheet, ",nylon %d lb,S%d,dry,%.2f,%s,in the knot\n", line + 4,
                  i / (lines * (knots + 1)) % 2, load, i % 29 ? "broke" : "slipped out");
  }
  must(be_file_remove(path, NULL) == BE_OK && be_book_create(path, NULL) == BE_OK &&
           be_book_open(path, true, &book, NULL) == BE_OK &&
           be_book_enter(book, "made.csv", sheet.data, sheet.size, &how, arena, &entered, NULL) ==
               BE_OK,
       "the book cannot be made");
  be_book_close(book);
  be_arena_free(arena);
  be_buf_free(&sheet);
}

/* One more pull, of a knot and a line that are there. */
static void enter_one(const char *path, int number)
{
  char sheet[256];
  struct be_book *book = NULL;
  struct be_entered entered;
  struct be_entering how = {0};
  struct be_arena *arena = be_arena_create();
  int size = snprintf(sheet, sizeof sheet,
                      "specimen,knot,line A,spool A,soak,load (N),what,where\n"
                      "Q%d,knot 3,nylon 5 lb,S1,dry,17.3,broke,in the knot\n",
                      number);
  must(be_book_open(path, true, &book, NULL) == BE_OK &&
           be_book_enter(book, "one.csv", sheet, (size_t)size, &how, arena, &entered, NULL) ==
               BE_OK,
       "a pull cannot be entered");
  be_book_close(book);
  be_arena_free(arena);
}

static void forget_pages(const char *book)
{
  char file[1100];
  snprintf(file, sizeof file, "%s.pages", book);
  must(be_file_remove(file, NULL) == BE_OK, "the kept pages cannot be removed");
}

/* ---- a server ---- */

struct served {
  pid_t process;
  int port;
};

static struct served start(const char *program, const char *book)
{
  struct served served = {0};
  int ends[2];
  char text[2000] = "";
  size_t used = 0;
  must(pipe(ends) == 0, "no pipe");
  served.process = fork();
  if (served.process == 0) {
    dup2(ends[1], STDOUT_FILENO);
    close(ends[0]);
    execl(program, program, "serve", book, "--port", "0", (char *)NULL);
    _exit(1);
  }
  close(ends[1]);
  for (ssize_t got; used < sizeof text - 1 && !strchr(text, '\n');) {
    got = read(ends[0], text + used, sizeof text - 1 - used);
    must(got > 0, "the server does not start");
    used += (size_t)got;
  }
  close(ends[0]);
  const char *at = strstr(text, "http://127.0.0.1:");
  must(at && sscanf(at, "http://127.0.0.1:%d", &served.port) == 1, "the server has no port");
  return served;
}

static void stop(const struct served *served)
{
  int code;
  kill(served->process, SIGTERM);
  waitpid(served->process, &code, 0);
}

/* The status of a page, read to its end. */
static int ask(const struct served *served, const char *address)
{
  static char text[256 * 1024];
  struct sockaddr_in to = {.sin_family = AF_INET, .sin_port = htons((uint16_t)served->port)};
  int fd = socket(AF_INET, SOCK_STREAM, 0), status = 0;
  to.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  must(fd >= 0 && connect(fd, (struct sockaddr *)&to, sizeof to) == 0, "no connection");
  int size = snprintf(text, sizeof text,
                      "GET %s HTTP/1.1\r\nHost: localhost:%d\r\nConnection: close\r\n\r\n", address,
                      served->port);
  must(write(fd, text, (size_t)size) == size, "a request cannot be sent");
  for (ssize_t got; (got = read(fd, text, sizeof text - 1)) > 0;)
    if (!status) text[got] = '\0', sscanf(text, "HTTP/1.1 %d", &status);
  close(fd);
  return status;
}

/* Until the page is there: asked for again while it is being made. */
static void load(const struct served *served, const char *address)
{
  const struct timespec moment = {0, ASK_AGAIN_NS};
  int status;
  while ((status = ask(served, address)) == 202) nanosleep(&moment, NULL);
  must(status == 200, address);
}

/* Of a process so far, all its threads together. */
static double processor_s(pid_t process)
{
  clockid_t clock;
  struct timespec used;
  must(clock_getcpuclockid(process, &clock) == 0 && clock_gettime(clock, &used) == 0,
       "the processor time cannot be read");
  return (double)used.tv_sec + 1e-9 * (double)used.tv_nsec;
}

static void time_load(const struct served *served, const char *address, struct times *times, int i)
{
  double own = processor_s(served->process), start = be_clock_s();
  load(served, address);
  times->clock[i] = be_clock_s() - start;
  times->processor[i] = processor_s(served->process) - own;
}

static void memory_of(const struct served *served, const char *book)
{
  char path[64], line[256];
  snprintf(path, sizeof path, "/proc/%d/status", (int)served->process);
  FILE *file = fopen(path, "r");
  must(file != NULL, "the memory cannot be read");
  while (fgets(line, sizeof line, file))
    if (strncmp(line, "VmRSS", 5) == 0 || strncmp(line, "VmHWM", 5) == 0)
      printf("%-34s %-32s %8.1f MB; limit %s\n", book,
             line[2] == 'R' ? "serve, resident, after all pages"
                            : "serve, most resident at any time",
             atof(line + 6) / 1000, line[2] == 'R' ? "60 MB" : "-");
  fclose(file);
}

/* ---- the parts of a page made anew ---- */

struct watch {
  double clock, processor;
};

static void lap(struct watch *watch, struct times *times, int i)
{
  struct watch now = {be_clock_s(), processor_s(getpid())};
  if (times) times->clock[i] = now.clock - watch->clock;
  if (times) times->processor[i] = now.processor - watch->processor;
  *watch = now;
}

static void time_parts(const char *name, const char *path)
{
  static const char *const parts[] = {"opening and state", "reading the record", "survey",
                                      "ranking and model", "HTML"};
  struct times times[5];
  for (int i = 0; i < ANEW_RUNS; i++) {
    struct be_answering how = {0};
    struct be_arena *arena = be_arena_create();
    struct be_book *book = NULL;
    struct be_record record;
    struct survey survey;
    struct be_doc *doc = NULL;
    struct be_buf page;
    char state[BE_BOOK_STATE_MAX];
    struct watch watch;
    lap(&watch, NULL, 0);
    be_buf_init(&page, 64 * 1024 * 1024);
    must(be_book_open(path, false, &book, NULL) == BE_OK &&
             be_book_state(book, state, NULL) == BE_OK,
         "opening");
    lap(&watch, &times[0], i);
    must(be_book_read(book, arena, &record, NULL) == BE_OK, "reading");
    be_book_close(book);
    lap(&watch, &times[1], i);
    must(be_survey_of(&record, &how, arena, &survey, NULL) == BE_OK, "survey");
    survey.book_path = path;
    lap(&watch, &times[2], i);
    must(be_standings_doc(&survey, &doc, NULL) == BE_OK, "standings");
    lap(&watch, &times[3], i);
    const struct be_edition edition = {.site = "Bitter End", .sheet_link = "/style.css"};
    const struct be_doc *const docs[] = {doc};
    must(be_doc_html(docs, 1, &edition, &page, NULL) == BE_OK, "HTML");
    lap(&watch, &times[4], i);
    be_buf_free(&page);
    be_doc_free(doc);
    be_arena_free(arena);
  }
  for (int part = 0; part < 5; part++) row(name, parts[part], &times[part], ANEW_RUNS, "-");
}

/* ---- */

static void time_page(const char *program, const char *name, const char *book, const char *address,
                      int runs, bool aims, bool changes)
{
  struct times times;
  char what[100];
  struct served served;
  for (int i = 0; i < ANEW_RUNS; i++) {
    forget_pages(book);
    served = start(program, book);
    time_load(&served, address, &times, i);
    stop(&served);
  }
  snprintf(what, sizeof what, "%s, cold, anew", address);
  row(name, what, &times, ANEW_RUNS, "-");
  for (int i = 0; i < runs; i++) {
    double begun = be_clock_s();
    served = start(program, book);
    load(&served, address);
    times.clock[i] = be_clock_s() - begun;
    times.processor[i] = processor_s(served.process);
    stop(&served);
  }
  snprintf(what, sizeof what, "%s, cold, kept; with the start", address);
  row(name, what, &times, runs, aims ? "100 ms" : "-");
  served = start(program, book);
  load(&served, address);
  for (int i = 0; i < runs; i++) time_load(&served, address, &times, i);
  snprintf(what, sizeof what, "%s, warm", address);
  row(name, what, &times, runs, aims ? "10 ms" : "-");
  for (int i = 0; changes && i < ANEW_RUNS; i++) {
    enter_one(book, i);
    time_load(&served, address, &times, i);
  }
  snprintf(what, sizeof what, "%s, one pull entered since", address);
  if (changes) row(name, what, &times, ANEW_RUNS, "-");
  stop(&served);
}

/* changes: the book is a made one, and may be added to. */
static void time_book(const char *program, const char *name, const char *book, int runs,
                      bool changes)
{
  static const char *const all[] = {
      "/",       "/strength", "/findings",       "/next",   "/plan",     "/pulls",
      "/versus", "/bench",    "/versus?a=0&b=1", "/pull/7", "/cell?at=3"};
  time_parts(name, book);
  time_page(program, name, book, "/", runs, true, changes);
  forget_pages(book);
  struct served served = start(program, book);
  for (size_t i = 0; i < sizeof all / sizeof all[0]; i++) load(&served, all[i]);
  memory_of(&served, name);
  struct times times;
  time_load(&served, "/strength", &times, 0);
  row(name, "/strength, warm", &times, 1, "-");
  stop(&served);
}

int main(int argc, char **argv)
{
  const char *build = argc > 1 ? argv[1] : "build";
  int runs = argc > 2 ? atoi(argv[2]) : 11;
  char program[1024], book[1024], bench[1024];
  bool made;
  must(runs > 0 && runs <= RUNS_MAX, "1 to 21 runs");
  snprintf(program, sizeof program, "%s/src/cli/bitterend", build);
  snprintf(book, sizeof book, "%s/bench/demo.book", build);
  snprintf(bench, sizeof bench, "%s/bench/demo-bench", build);
  must(be_app_demo(book, bench, &made, NULL) == BE_OK, "the demonstration cannot be made");
  time_book(program, "demonstration, 514 pulls", book, runs, false);
  snprintf(book, sizeof book, "%s/bench/pages-few.book", build);
  make_book(book, 4, 10);
  time_book(program, "100,000 pulls, 10 knots, 4 lines", book, runs, true);
  snprintf(book, sizeof book, "%s/bench/pages-many.book", build);
  make_book(book, 60, 40);
  time_book(program, "100,000 pulls, 40 knots, 60 lines", book, runs, true);
  return 0;
}
