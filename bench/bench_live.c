/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Live loads while the program serves, on the demonstration book: whether samples come late or are
 * lost, what 200 readers of the live trace get and cost, and what becomes of one that never reads.
 * Every run is a program of its own; runs without and with readers and pages take turns.
 *
 *   bench_live BUILD [RUNS [PROGRAM]]
 *   bench_live BUILD rig RATE SAMPLES FILE: only the rig; says its port, pulls at the first line of
 * its input, and at the end of that writes into FILE when each sample was sent, 8 bytes each */
#define _POSIX_C_SOURCE 200809L
#include "live/live.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

enum { RUNS = 3, RUNS_MAX = 21, SECONDS = 10, READERS = 200, SLOW_BYTES = 4096 };

struct way {
  const char *name;
  size_t readers;
  bool pages;
};
static const struct way ways[] = {{"nobody looks", 1, false},
                                  {"200 readers", READERS, false},
                                  {"200 readers, and pages", READERS, true}};
enum { WAYS = sizeof ways / sizeof ways[0] };

struct figures {
  double read_ms, read_99_ms, read_999_ms, read_most_ms; /* sample to reader thread */
  double heard_ms, heard_99_ms, heard_most_ms;           /* sample to those who listen */
  double missing, lost, unlike, events, cpu, idle, memory_MB, most_MB, pages;
};

/* ---- beside the rig ---- */

/* Somebody who loads pages one after the other. */
struct visitor {
  const struct serving *serving;
  atomic_bool ending;
  size_t loaded;
  pthread_t thread;
};

static void *load_pages(void *visitor)
{
  struct visitor *v = visitor;
  while (!atomic_load(&v->ending))
    v->loaded += serving_ask(v->serving, "GET", v->loaded % 2 ? "/" : "/strength", "") == 200;
  return NULL;
}

/* One who never reads: how long until the program has let him go; 0: it has not. */
struct sleeper {
  int fd;
  int64_t since_ns;
  double ended_s;
};

static void sleeper_open(struct sleeper *s, const struct serving *serving)
{
  static const char request[] = "GET /bench/news HTTP/1.1\r\nHost: localhost\r\n\r\n";
  *s = (struct sleeper){.fd = serving_dial(serving, SLOW_BYTES), .since_ns = bench_now_ns()};
  send(s->fd, request, sizeof request - 1, MSG_NOSIGNAL);
}

/* ---- one run ---- */

struct run {
  const struct way *way;
  struct bench_rig rig;
  struct serving serving;
  struct readers readers;
  struct visitor visitor;
  struct sampled sampled;
  struct figures *out;
};

static void must(bool fine, const char *what)
{
  if (fine) return;
  fprintf(stderr, "bench: %s failed\n", what);
  exit(1);
}

static void write_rigs(const char *path, const struct bench_rig *rig)
{
  char text[256];
  int size = snprintf(text, sizeof text,
                      "[bench]\nsource = tcp\nsource settings = address=127.0.0.1 port=%u\n"
                      "frames = number\nframe settings = unit=N\n",
                      (unsigned)rig->port);
  must(be_file_write(path, text, (size_t)size, NULL) == BE_OK, "writing the rig's file");
}

static void copy_file(const char *from, const char *to)
{
  struct be_buf file;
  be_buf_init(&file, 256 * 1024 * 1024);
  must(be_file_read(from, &file, NULL) == BE_OK, "reading build/demo.book (./run --once makes it)");
  must(be_file_write(to, file.data, file.size, NULL) == BE_OK, "copying the book");
  be_buf_free(&file);
}

/* Of all cores together: busy and all, in ticks. */
struct machine {
  unsigned long long idle, all;
};

static struct machine look_at_machine(void)
{
  unsigned long long part[8] = {0};
  struct machine machine = {0};
  FILE *file = fopen("/proc/stat", "r");
  if (!file) return machine;
  int got = fscanf(file, "cpu %llu %llu %llu %llu %llu %llu %llu %llu", &part[0], &part[1],
                   &part[2], &part[3], &part[4], &part[5], &part[6], &part[7]);
  fclose(file);
  for (int i = 0; i < got; i++) machine.all += part[i];
  machine.idle = part[3] + part[4];
  return machine;
}

static void wait_for(const atomic_bool *flag)
{
  while (!atomic_load(flag)) bench_sleep_until(bench_now_ns() + 10000000);
}

static void pull(struct run *run)
{
  double cpu_s = serving_cpu_s(&run->serving);
  struct machine before = look_at_machine();
  int64_t from = bench_now_ns();
  atomic_store(&run->rig.go, true);
  while (atomic_load(&run->rig.sent) < run->rig.count) bench_sleep_until(bench_now_ns() + 10000000);
  run->out->cpu =
      1e2 * (serving_cpu_s(&run->serving) - cpu_s) / (1e-9 * (double)(bench_now_ns() - from));
  struct machine after = look_at_machine();
  run->out->idle = 1e2 * (double)(after.idle - before.idle) / (double)(after.all - before.all);
  run->out->memory_MB = serving_memory_MB(&run->serving, "VmRSS");
  run->out->most_MB = serving_memory_MB(&run->serving, "VmHWM");
  bench_sleep_until(bench_now_ns() +
                    400000000); /* the journal is written, events are on their way */
}

static void note(struct run *run)
{
  struct figures *out = run->out;
  const struct delays *read = &run->sampled.delays, *heard = &run->readers.delays;
  out->read_ms = delays_ms(read, 0.5);
  out->read_99_ms = delays_ms(read, 0.99);
  out->read_999_ms = delays_ms(read, 0.999);
  out->read_most_ms = (double)read->most_ns * 1e-6;
  out->heard_ms = delays_ms(heard, 0.5);
  out->heard_99_ms = delays_ms(heard, 0.99);
  out->heard_most_ms = (double)heard->most_ns * 1e-6;
  out->missing = (double)run->sampled.missing;
  out->lost = atomic_load(&run->readers.trouble);
  out->events = (double)run->readers.all[0].events;
  for (size_t i = 0; i < run->readers.count; i++) {
    const struct reader *r = &run->readers.all[i], *first = &run->readers.all[0];
    out->unlike += r->ended || r->events != first->events || r->hash != first->hash;
  }
  out->pages = (double)run->visitor.loaded;
}

static void do_run(struct run *run, const char *program, const char *folder, const char *book)
{
  char rigs[300], journal[320];
  snprintf(rigs, sizeof rigs, "%s/rigs", folder);
  snprintf(journal, sizeof journal, "%s.live", book);
  write_rigs(rigs, &run->rig);
  must(serving_open(&run->serving, program, book, rigs), "serving");
  must(readers_open(&run->readers, &run->serving, &run->rig, run->way->readers), "listening");
  wait_for(&run->readers.ready);
  must(serving_ask(&run->serving, "POST", "/bench",
                   "step=0&do=choose&specimen=LIVE1&knot=uni&line+A=nylon+12+lb&soak=dry") == 303,
       "choosing");
  must(serving_ask(&run->serving, "POST", "/bench", "step=1&do=guard") == 303, "the guard");
  atomic_store(&run->readers.ready, false);
  wait_for(&run->readers.ready);
  run->visitor = (struct visitor){.serving = &run->serving};
  if (run->way->pages)
    must(pthread_create(&run->visitor.thread, NULL, load_pages, &run->visitor) == 0, "a thread");
  pull(run);
  atomic_store(&run->visitor.ending, true);
  if (run->way->pages) pthread_join(run->visitor.thread, NULL);
  must(sampled_read(journal, &run->rig, &run->sampled), "reading the journal");
  note(run);
  readers_close(&run->readers);
  serving_close(&run->serving);
  rig_close(&run->rig);
  be_file_remove(journal, NULL);
}

/* ---- the tables ---- */

static int by_value(const void *a, const void *b)
{
  double first = *(const double *)a, second = *(const double *)b;
  return first < second ? -1 : first > second;
}

/* Median, and the range when there are several runs. */
static void print_figure(const struct figures *all, size_t runs, size_t offset, int decimals)
{
  double values[RUNS_MAX];
  for (size_t i = 0; i < runs; i++)
    memcpy(&values[i], (const char *)&all[i] + offset, sizeof(double));
  qsort(values, runs, sizeof *values, by_value);
  printf(" | ");
  printf("%.*f", decimals, values[runs / 2]);
  if (values[0] == values[runs - 1]) return;
  printf(" (%.*f to %.*f)", decimals, values[0], decimals, values[runs - 1]);
}

#define FIGURE(name, decimals) print_figure(all, runs, offsetof(struct figures, name), decimals)

static void print_way(size_t rate_Hz, const struct way *way, const struct figures *all, size_t runs)
{
  printf("| %zu | %s", rate_Hz, way->name);
  FIGURE(read_ms, 2);
  FIGURE(read_99_ms, 2);
  FIGURE(read_999_ms, 2);
  FIGURE(read_most_ms, 1);
  FIGURE(missing, 0);
  FIGURE(lost, 0);
  FIGURE(heard_ms, 1);
  FIGURE(heard_99_ms, 1);
  FIGURE(heard_most_ms, 0);
  FIGURE(events, 0);
  FIGURE(unlike, 0);
  FIGURE(cpu, 0);
  FIGURE(idle, 0);
  FIGURE(memory_MB, 1);
  FIGURE(most_MB, 1);
  FIGURE(pages, 0);
  printf(" |\n");
}

static void measure(size_t rate_Hz, size_t runs, const char *program, const char *folder,
                    const char *book)
{
  static struct figures all[WAYS][RUNS_MAX];
  static struct run run;
  memset(all, 0, sizeof all);
  for (size_t i = 0; i < runs; i++)
    for (size_t w = 0; w < WAYS; w++) {
      memset(&run, 0, sizeof run);
      run.way = &ways[w];
      run.out = &all[w][i];
      must(rig_open(&run.rig, rate_Hz, rate_Hz * SECONDS), "the rig");
      do_run(&run, program, folder, book);
    }
  for (size_t w = 0; w < WAYS; w++) print_way(rate_Hz, &ways[w], all[w], runs);
  fflush(stdout);
}

/* ---- one who never reads ---- */

enum { SLEPT_MAX_S = 60 };

/* Files that the program has open: one less when it has let somebody go. */
static size_t count_fds(const struct serving *serving)
{
  size_t count = 0;
  for (int fd = 0; fd < 1024; fd++) {
    char path[64], to[64];
    snprintf(path, sizeof path, "/proc/%d/fd/%d", serving->pid, fd);
    count += readlink(path, to, sizeof to) > 0;
  }
  return count;
}

static void measure_sleeper(const char *program, const char *folder, const char *book)
{
  static struct run run;
  struct sleeper sleeper;
  char rigs[300];
  snprintf(rigs, sizeof rigs, "%s/rigs", folder);
  memset(&run, 0, sizeof run);
  must(rig_open(&run.rig, 1000, SLEPT_MAX_S * 1000), "the rig");
  write_rigs(rigs, &run.rig);
  must(serving_open(&run.serving, program, book, rigs), "serving");
  must(readers_open(&run.readers, &run.serving, &run.rig, 20), "listening");
  wait_for(&run.readers.ready);
  size_t fds = count_fds(&run.serving);
  sleeper_open(&sleeper, &run.serving);
  atomic_store(&run.rig.go, true);
  bool left = false;
  bench_sleep_until(bench_now_ns() + 500000000);
  while (!left && atomic_load(&run.rig.sent) < run.rig.count) {
    bench_sleep_until(bench_now_ns() + 100000000);
    left = count_fds(&run.serving) <= fds;
  }
  double after_s = 1e-9 * (double)(bench_now_ns() - sleeper.since_ns);
  size_t unlike = 0;
  for (size_t i = 0; i < run.readers.count; i++) unlike += run.readers.all[i].ended;
  printf("\nOne who never reads, with %d bytes of room, beside 20 who do: %s after %.1f s; of the "
         "others %zu were sent away, p99 of their delay %.1f ms.\n",
         SLOW_BYTES, left ? "let go" : "not yet let go", after_s, unlike,
         delays_ms(&run.readers.delays, 0.99));
  close(sleeper.fd);
  readers_close(&run.readers);
  serving_close(&run.serving);
  rig_close(&run.rig);
}

/* ---- */

static int only_rig(char **argv)
{
  struct bench_rig rig;
  char line[64];
  size_t count = strtoul(argv[4], NULL, 10);
  must(rig_open(&rig, strtoul(argv[3], NULL, 10), count), "the rig");
  printf("%u\n", (unsigned)rig.port);
  fflush(stdout);
  if (fgets(line, sizeof line, stdin)) atomic_store(&rig.go, true);
  while (fgets(line, sizeof line, stdin)) continue;
  must(be_file_write(argv[5], rig.sent_ns, atomic_load(&rig.sent) * sizeof *rig.sent_ns, NULL) ==
           BE_OK,
       "writing the times");
  rig_close(&rig);
  return 0;
}

int main(int argc, char **argv)
{
  static const size_t rates_Hz[] = {1000, 50000};
  if (argc == 6 && strcmp(argv[2], "rig") == 0) return only_rig(argv);
  size_t runs = argc > 2 ? strtoul(argv[2], NULL, 10) : RUNS;
  if (argc < 2 || runs < 1 || runs > RUNS_MAX) return 2;
  char program[300], demo[300], folder[] = "/tmp/be-bench-live-XXXXXX", book[300];
  snprintf(program, sizeof program, "%s/src/cli/bitterend", argv[1]);
  snprintf(demo, sizeof demo, "%s/demo.book", argv[1]);
  must(mkdtemp(folder) != NULL, "a folder");
  snprintf(book, sizeof book, "%s/demo.book", folder);
  copy_file(demo, book);
  const char *which = argc > 3 ? argv[3] : program;
  printf(
      "live: %d s each, %zu runs; ms; written to read: by the program's thread of the rig; "
      "heard: by those who listen; lost: 1 when the program said so\n"
      "| samples a second | | written to read | p99 | p99.9 | most | missing | lost | written to "
      "heard | p99 | most | events each | readers without all | of a core, %% | machine idle, %% | "
      "MB | MB at most | "
      "pages loaded |\n|---|---|---|---|---|---|---|---|---|---|---|---|---|---|---|---|---|---|\n",
      SECONDS, runs);
  for (size_t i = 0; i < sizeof rates_Hz / sizeof rates_Hz[0]; i++)
    measure(rates_Hz[i], runs, which, folder, book);
  measure_sleeper(which, folder, book);
  const char *const left[] = {"demo.book", "rigs"};
  for (size_t i = 0; i < sizeof left / sizeof left[0]; i++) {
    snprintf(book, sizeof book, "%s/%s", folder, left[i]);
    be_file_remove(book, NULL);
  }
  rmdir(folder);
  return 0;
}
