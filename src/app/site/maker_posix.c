/* SPDX-License-Identifier: GPL-3.0-or-later */
#define _POSIX_C_SOURCE 200809L
#include "app/site/maker.h"

#include "book/book.h"
#include "press/press.h"

#include <errno.h>
#include <pthread.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

enum { MAKERS = 2, JOBS_MAX = 64, PATH_MOST = 4200, AS_MOST = 64, PATIENT_MAX = 2 };

/* Pages that took longer are worth a place in the file. */
static const double slow_s = 0.05;
static const double usual_patience_s = 1;

enum stage { WAITING, MAKING, DONE };

struct job {
  struct job *next;
  struct be_request *request;
  struct be_buf address; /* for whom, then what is asked */
  char as[AS_MOST];
  char state[BE_KEPT_STATE_MAX];
  struct be_progress progress;
  struct be_reply reply; /* of one that is done and could not be kept */
  size_t whole;          /* bytes of its page when it is packed; else 0 */
  enum stage stage;
  size_t waiting; /* who waits for it now */
  bool promised;  /* somebody was sent away and will come back */
};

struct be_maker {
  pthread_mutex_t lock;
  pthread_cond_t wanted, done, entered; /* a job; one is done; of the usual pages */
  pthread_t makers[MAKERS], usual;
  size_t makers_count;
  bool has_usual, ending, due, busy, writing, unwritten;
  struct be_kept_pages kept;
  struct job *jobs;                 /* in the order asked for */
  size_t jobs_count, made, patient; /* patient: who is kept waiting now */
  struct be_maker_options options;
  char path[PATH_MOST], file[PATH_MOST], under[BE_KEPT_STATE_MAX - BE_BOOK_STATE_MAX];
};

/* ---- the state of the book ---- */

static bool read_state(const struct be_maker *maker, char state[BE_KEPT_STATE_MAX])
{
  char of_book[BE_BOOK_STATE_MAX];
  struct be_book *book = NULL;
  if (be_book_open(maker->path, false, &book, NULL) != BE_OK) return false;
  bool known = be_book_state(book, of_book, NULL) == BE_OK;
  be_book_close(book);
  if (known) snprintf(state, BE_KEPT_STATE_MAX, "%s %s", maker->under, of_book);
  return known;
}

/* ---- the file beside the book ---- */

/* Whether the file is ours to read, or to write over: what else has its name is left alone. */
static bool is_ours(const char *path)
{
  char start[64];
  size_t got = 0;
  return be_file_start(path, start, sizeof start, &got, NULL) == BE_OK && be_pages_are(start, got);
}

/* It may be lost at any time, and so may what is in it: no failure is told. */
static void read_file(struct be_maker *maker)
{
  char state[BE_KEPT_STATE_MAX], program[64];
  struct be_buf bytes;
  be_program_mark(program);
  if (!program[0] || !is_ours(maker->file) || !read_state(maker, state)) return;
  be_buf_init(&bytes, BE_KEPT_FILE_MAX);
  if (be_file_read(maker->file, &bytes, NULL) == BE_OK) {
    be_pages_turn(&maker->kept, state);
    be_pages_read(&maker->kept, bytes.data, bytes.size);
  }
  be_buf_free(&bytes);
}

/* With the lock held, which it gives up while the disk works. One thread writes at a time, and goes
 * on while there is something new. */
static void write_file(struct be_maker *maker)
{
  char program[64];
  be_program_mark(program);
  maker->unwritten = true;
  if (maker->writing || !program[0]) return;
  maker->writing = true;
  while (maker->unwritten) {
    struct be_buf bytes;
    maker->unwritten = false;
    be_buf_init(&bytes, BE_KEPT_FILE_MAX);
    be_pages_write(&maker->kept, &bytes);
    pthread_mutex_unlock(&maker->lock);
    if (bytes.status == BE_OK && (!be_file_exists(maker->file) || is_ours(maker->file)))
      be_file_write_private(maker->file, bytes.data, bytes.size, NULL);
    be_buf_free(&bytes);
    pthread_mutex_lock(&maker->lock);
  }
  maker->writing = false;
}

/* ---- jobs ---- */

static bool same_text(const struct be_buf *a, const struct be_buf *b)
{
  return a->size == b->size && memcmp(a->data, b->data, a->size) == 0;
}

static struct job *find_job(struct be_maker *maker, const struct be_buf *address, const char *state)
{
  for (struct job *job = maker->jobs; job; job = job->next)
    if (strcmp(job->state, state) == 0 && same_text(&job->address, address)) return job;
  return NULL;
}

static void job_free(struct job *job)
{
  be_request_free(job->request);
  be_buf_free(&job->address);
  be_buf_free(&job->reply.body);
  be_free(job);
}

static void remove_job(struct be_maker *maker, struct job *job)
{
  struct job **at = &maker->jobs;
  while (*at != job) at = &(*at)->next;
  *at = job->next;
  maker->jobs_count--;
  job_free(job);
}

/* Of too many jobs the oldest goes that nobody waits for now and nobody works at. */
static bool make_place(struct be_maker *maker)
{
  struct job *job = maker->jobs;
  if (maker->jobs_count < JOBS_MAX) return true;
  while (job && (job->stage == MAKING || job->waiting)) job = job->next;
  if (job) remove_job(maker, job);
  return job != NULL;
}

/* Null when there is no memory for it, or no place. */
static struct job *add_job(struct be_maker *maker, const char *as, const struct be_request *request,
                           const struct be_buf *address, const char *state, size_t ceiling)
{
  struct job *job = make_place(maker) ? be_alloc_array(1, sizeof *job) : NULL;
  if (!job) return NULL;
  job->request = be_request_copy(request);
  be_buf_init(&job->address, address->size);
  be_buf_add(&job->address, address->data, address->size);
  if (!job->request || job->address.status != BE_OK) {
    job_free(job);
    return NULL;
  }
  snprintf(job->as, sizeof job->as, "%s", as);
  snprintf(job->state, sizeof job->state, "%s", state);
  job->reply = (struct be_reply){.status = 200, .type = "text/html; charset=utf-8"};
  be_buf_init(&job->reply.body, ceiling);
  struct job **at = &maker->jobs;
  while (*at) at = &(*at)->next;
  *at = job;
  maker->jobs_count++;
  return job;
}

/* ---- making ---- */

/* A page as any reader would get it; errors, and whatever is for one reader alone, are not. */
static bool may_be_kept(const struct be_reply *reply)
{
  return reply->status == 200 && reply->body.status == BE_OK && reply->body.size > 0 &&
         !reply->news && !reply->location[0] && !reply->cookie[0] && !reply->again_s &&
         !reply->cacheable && strncmp(reply->type, "text/html", 9) == 0;
}

/* Takes over the body when it is kept, of a page made while the book had this state, before and
 * after. With the lock held. */
static bool keep(struct be_maker *maker, const struct be_buf *address, const char *state,
                 struct be_buf *body, size_t whole, bool slow)
{
  return strcmp(maker->kept.state, state) == 0 &&
         be_pages_add(&maker->kept, address->data, address->size, body, whole, slow);
}

/* With the lock held, which it gives up while it works. */
static void run_job(struct be_maker *maker, struct job *job)
{
  char state[BE_KEPT_STATE_MAX];
  job->stage = MAKING;
  pthread_mutex_unlock(&maker->lock);
  double start = be_clock_s();
  be_progress_follow(&job->progress);
  maker->options.make(maker->options.context, job->as, job->request, &job->reply);
  be_progress_follow(NULL);
  bool slow = be_clock_s() - start > slow_s;
  bool may = may_be_kept(&job->reply) && read_state(maker, state) && !strcmp(state, job->state);
  if (may) job->whole = be_page_pack(&job->reply.body);
  pthread_mutex_lock(&maker->lock);
  bool kept = may && keep(maker, &job->address, state, &job->reply.body, job->whole, slow);
  job->stage = DONE;
  maker->made++;
  pthread_cond_broadcast(&maker->done);
  if (!job->waiting && (kept || !job->promised)) remove_job(maker, job);
  if (kept && slow) write_file(maker);
}

static void *run_maker(void *maker_)
{
  struct be_maker *maker = maker_;
  pthread_mutex_lock(&maker->lock);
  while (!maker->ending) {
    struct job *job = maker->jobs;
    while (job && job->stage != WAITING) job = job->next;
    if (job) run_job(maker, job);
    else pthread_cond_wait(&maker->wanted, &maker->lock);
  }
  pthread_mutex_unlock(&maker->lock);
  return NULL;
}

static void address_of(const char *as, const struct be_request *request, struct be_buf *address)
{
  be_buf_add(address, as, strlen(as) + 1);
  be_request_address(request, address);
}

/* One of the usual pages, unless it is kept or under way. With the lock held. */
static void make_usual(struct be_maker *maker, const char *path)
{
  const struct be_request request = {.method = "GET", .path = path, .type = "", .body = ""};
  char state[BE_KEPT_STATE_MAX];
  struct be_buf address;
  pthread_mutex_unlock(&maker->lock);
  be_buf_init(&address, BE_KEPT_ADDRESS_MAX);
  address_of(maker->options.usual_as, &request, &address);
  bool known = address.status == BE_OK && read_state(maker, state);
  pthread_mutex_lock(&maker->lock);
  if (known) {
    be_pages_turn(&maker->kept, state);
    bool there =
        be_pages_find(&maker->kept, address.data, address.size) || find_job(maker, &address, state);
    struct job *job = there ? NULL
                            : add_job(maker, maker->options.usual_as, &request, &address, state,
                                      BE_KEPT_BYTES_MAX);
    if (job) run_job(maker, job);
  }
  be_buf_free(&address);
}

static void *run_usual(void *maker_)
{
  struct be_maker *maker = maker_;
  be_thread_yields();
  pthread_mutex_lock(&maker->lock);
  while (!maker->ending) {
    maker->busy = maker->due;
    if (!maker->due) {
      pthread_cond_broadcast(&maker->done);
      pthread_cond_wait(&maker->entered, &maker->lock);
      continue;
    }
    maker->due = false;
    for (size_t i = 0; i < maker->options.usual_count && !maker->ending; i++)
      make_usual(maker, maker->options.usual[i]);
  }
  maker->busy = false;
  pthread_cond_broadcast(&maker->done);
  pthread_mutex_unlock(&maker->lock);
  return NULL;
}

void be_maker_entered(struct be_maker *maker)
{
  pthread_mutex_lock(&maker->lock);
  maker->due = maker->has_usual;
  pthread_cond_signal(&maker->entered);
  pthread_mutex_unlock(&maker->lock);
}

size_t be_maker_made(struct be_maker *maker)
{
  pthread_mutex_lock(&maker->lock);
  while (maker->due || maker->busy) pthread_cond_wait(&maker->done, &maker->lock);
  size_t made = maker->made;
  pthread_mutex_unlock(&maker->lock);
  return made;
}

size_t be_maker_patient(struct be_maker *maker)
{
  pthread_mutex_lock(&maker->lock);
  size_t patient = maker->patient;
  pthread_mutex_unlock(&maker->lock);
  return patient;
}

/* ---- asking ---- */

/* Where no thread makes it for us, or it cannot be kept. */
static void make_here(struct be_maker *maker, const char *as, const struct be_request *request,
                      const struct be_buf *address, const char *state, struct be_reply *reply)
{
  char after[BE_KEPT_STATE_MAX];
  maker->options.make(maker->options.context, as, request, reply);
  bool may = state && may_be_kept(reply) && read_state(maker, after) && !strcmp(after, state);
  struct be_buf copy;
  be_buf_init(&copy, BE_KEPT_WHOLE_MAX);
  if (may) be_buf_add(&copy, reply->body.data, reply->body.size);
  pthread_mutex_lock(&maker->lock);
  maker->made++;
  if (may && copy.status == BE_OK) keep(maker, address, state, &copy, 0, false);
  pthread_mutex_unlock(&maker->lock);
  be_buf_free(&copy);
}

static void until(double patience_s, struct timespec *moment)
{
  clock_gettime(CLOCK_MONOTONIC, moment);
  long whole = (long)patience_s, rest = (long)((patience_s - (double)whole) * 1e9);
  moment->tv_sec += whole + (moment->tv_nsec + rest) / 1000000000L;
  moment->tv_nsec = (moment->tv_nsec + rest) % 1000000000L;
}

enum outcome { GOT, LATER, NOT_HERE };

static bool copy_kept(struct be_maker *maker, const struct be_buf *address, struct be_reply *reply)
{
  const struct be_kept_page *page = be_pages_find(&maker->kept, address->data, address->size);
  if (page) be_page_unpack(page->text, page->size, page->whole, &reply->body);
  return page != NULL;
}

/* Of a job that is done. NOT_HERE when it was kept, and went again before we looked. */
static enum outcome take(struct be_maker *maker, const struct job *job, struct be_reply *reply)
{
  const struct be_reply *made = &job->reply;
  bool same = strcmp(maker->kept.state, job->state) == 0;
  if (same && copy_kept(maker, &job->address, reply)) return GOT;
  if (!made->body.size && made->body.status == BE_OK) return NOT_HERE;
  const struct be_buf body = reply->body;
  *reply = *made;
  reply->body = body;
  be_page_unpack(made->body.data, made->body.size, job->whole, &reply->body);
  if (made->body.status != BE_OK) reply->body.status = made->body.status;
  return GOT;
}

/* With the lock held, which it gives up while it waits. Few are kept waiting at once: each holds
 * one of web's threads, and whoever asks for what is there, or is quick to make, is not to wait
 * too. */
static enum outcome wait_for(struct be_maker *maker, struct job *job, struct be_reply *reply,
                             char words[BE_PROGRESS_WORDS])
{
  struct timespec moment;
  enum outcome outcome = LATER;
  int code = maker->patient < PATIENT_MAX ? 0 : ETIMEDOUT;
  until(maker->options.patience_s, &moment);
  job->waiting++;
  maker->patient++;
  while (job->stage != DONE && code == 0)
    code = pthread_cond_timedwait(&maker->done, &maker->lock, &moment);
  job->waiting--;
  maker->patient--;
  if (job->stage == DONE) {
    outcome = take(maker, job, reply);
    if (!job->waiting) remove_job(maker, job);
    return outcome;
  }
  job->promised = true;
  if (job->stage == MAKING) be_progress_words(&job->progress, words);
  else snprintf(words, BE_PROGRESS_WORDS, "waiting until other pages are done");
  return outcome;
}

static enum outcome ask(struct be_maker *maker, const char *as, const struct be_request *request,
                        const struct be_buf *address, const char *state, struct be_reply *reply,
                        char words[BE_PROGRESS_WORDS])
{
  enum outcome outcome = NOT_HERE;
  pthread_mutex_lock(&maker->lock);
  be_pages_turn(&maker->kept, state);
  if (copy_kept(maker, address, reply)) outcome = GOT;
  struct job *job = outcome == GOT ? NULL : find_job(maker, address, state);
  if (outcome != GOT && !job && maker->makers_count) {
    job = add_job(maker, as, request, address, state, reply->body.ceiling);
    pthread_cond_signal(&maker->wanted);
  }
  if (job) outcome = wait_for(maker, job, reply, words);
  pthread_mutex_unlock(&maker->lock);
  return outcome;
}

bool be_maker_answer(struct be_maker *maker, const char *as, const struct be_request *request,
                     struct be_reply *reply, char words[BE_PROGRESS_WORDS])
{
  char state[BE_KEPT_STATE_MAX];
  struct be_buf address;
  be_buf_init(&address, BE_KEPT_ADDRESS_MAX);
  address_of(as, request, &address);
  bool known = address.status == BE_OK && read_state(maker, state);
  words[0] = '\0';
  enum outcome outcome = known ? ask(maker, as, request, &address, state, reply, words) : NOT_HERE;
  if (outcome == NOT_HERE) make_here(maker, as, request, &address, known ? state : NULL, reply);
  be_buf_free(&address);
  return outcome != LATER;
}

/* ---- life cycle ---- */

static void start_threads(struct be_maker *maker)
{
  while (maker->makers_count < MAKERS &&
         pthread_create(&maker->makers[maker->makers_count], NULL, run_maker, maker) == 0)
    maker->makers_count++;
  maker->has_usual =
      maker->options.usual_count && pthread_create(&maker->usual, NULL, run_usual, maker) == 0;
}

enum be_status be_maker_open(const struct be_maker_options *options, struct be_maker **out,
                             struct be_err *err)
{
  struct be_maker *maker = be_alloc_array(1, sizeof *maker);
  if (!maker) return be_fail(err, BE_NO_MEMORY, "no memory to make pages");
  char program[64];
  be_program_mark(program);
  maker->options = *options;
  if (maker->options.patience_s == 0) maker->options.patience_s = usual_patience_s;
  int under =
      snprintf(maker->under, sizeof maker->under, "%s %s %s", be_version, program, options->under);
  int file = snprintf(maker->file, sizeof maker->file, "%s.pages", options->book_path);
  if (file >= (int)sizeof maker->file || under >= (int)sizeof maker->under) {
    be_free(maker);
    return be_fail(err, BE_WRONG_USE, "the name of the book is too long");
  }
  snprintf(maker->path, sizeof maker->path, "%s", options->book_path);
  be_pages_init(&maker->kept, BE_KEPT_BYTES_MAX);
  pthread_condattr_t monotonic;
  pthread_condattr_init(&monotonic);
  pthread_condattr_setclock(&monotonic, CLOCK_MONOTONIC);
  pthread_mutex_init(&maker->lock, NULL);
  pthread_cond_init(&maker->wanted, NULL);
  pthread_cond_init(&maker->entered, NULL);
  pthread_cond_init(&maker->done, &monotonic);
  pthread_condattr_destroy(&monotonic);
  read_file(maker);
  start_threads(maker);
  *out = maker;
  return BE_OK;
}

void be_maker_close(struct be_maker *maker)
{
  if (!maker) return;
  pthread_mutex_lock(&maker->lock);
  maker->ending = true;
  maker->due = false;
  pthread_cond_broadcast(&maker->wanted);
  pthread_cond_broadcast(&maker->entered);
  pthread_mutex_unlock(&maker->lock);
  for (size_t i = 0; i < maker->makers_count; i++) pthread_join(maker->makers[i], NULL);
  if (maker->has_usual) pthread_join(maker->usual, NULL);
  while (maker->jobs) remove_job(maker, maker->jobs);
  be_pages_clear(&maker->kept);
  pthread_cond_destroy(&maker->wanted);
  pthread_cond_destroy(&maker->entered);
  pthread_cond_destroy(&maker->done);
  pthread_mutex_destroy(&maker->lock);
  be_free(maker);
}
