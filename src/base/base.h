/* SPDX-License-Identifier: GPL-3.0-or-later */
/* base: what every room stands on. Status and errors, memory, bounded buffers,
 * an arena, threads, streams of bytes, seeded random streams, and the few things asked of the
 * operating system. Nothing here knows about lines or knots. */
#ifndef BE_BASE_H
#define BE_BASE_H

#include <stdarg.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#if defined(__GNUC__)
#define BE_PRINTF(fmt, args) __attribute__((format(printf, fmt, args)))
#else
#define BE_PRINTF(fmt, args)
#endif

/* ---- status and errors ------------------------------------------------- */

/* One list gives the codes, their words and the exit status a program ends with. */
#define BE_STATUS_LIST(X)                                                                          \
  X(BE_OK, "done", 0)                                                                              \
  X(BE_NO, "the answer is no", 1)                                                                  \
  X(BE_WRONG_USE, "wrong use", 2)                                                                  \
  X(BE_BAD_INPUT, "bad input", 3)                                                                  \
  X(BE_ASK, "two readings are equally good", 3)                                                    \
  X(BE_TOO_LARGE, "larger than the limit", 3)                                                      \
  X(BE_NO_MEMORY, "out of memory", 4)                                                              \
  X(BE_FAILED, "the machine failed", 4)

enum be_status {
#define X(code, words, exits) code,
  BE_STATUS_LIST(X)
#undef X
};

/* What went wrong, where, and what to do about it. Plain text, cut to fit.
 * line and column count from 1; 0 means "does not apply". */
struct be_err {
  enum be_status status;
  char what[400];
  char file[256];
  size_t line;
  size_t column;
  char remedy[400];
};

/* The words of a status, and the exit status of a program that ends with it. */
const char *be_status_words(enum be_status status);
int be_status_exit(enum be_status status);

/* Fills in err (which may be null) and returns status: `return be_fail(...)`.
 * Every error of the program passes through here. */
enum be_status be_fail(struct be_err *err, enum be_status status, const char *format, ...)
    BE_PRINTF(3, 4);
/* Adds the place; file may be null to leave it as it is. Returns err->status, or
 * BE_FAILED for a null err: return the status itself where err may be null. */
enum be_status be_fail_at(struct be_err *err, const char *file, size_t line, size_t column);
/* Adds what to do next. Returns as be_fail_at does. */
enum be_status be_fail_remedy(struct be_err *err, const char *format, ...) BE_PRINTF(2, 3);

/* ---- memory ------------------------------------------------------------ */

/* All heap use of the program goes through one table, so that tests can fail
 * any allocation and a host can bring its own allocator. */
struct be_allocator {
  void *(*resize)(void *host, void *block, size_t old_size, size_t new_size); /* new_size 0 frees */
  void *host;
};

/* Installs a table; null restores the standard one. Not thread safe: call it
 * before anything is allocated, and free with the table that allocated. */
void be_allocator_install(const struct be_allocator *allocator);

/* malloc, calloc, realloc and free by way of the table. Null when memory is
 * out or count * size overflows. be_free(null) does nothing. */
void *be_alloc(size_t size);
void *be_alloc_array(size_t count, size_t size);
void *be_resize(void *block, size_t new_size);
void be_free(void *block);
size_t be_block_size(const void *block);

/* Grows *block (of *capacity items of item_size) so that it holds at least
 * needed items, doubling, never past ceiling. *block and *capacity change
 * only when it succeeds. */
enum be_status be_grow(void **block, size_t *capacity, size_t item_size, size_t needed,
                       size_t ceiling, struct be_err *err);

/* An arena hands out memory that is freed all at once. */
struct be_arena;
struct be_arena *be_arena_create(void); /* null when memory is out */
void be_arena_free(struct be_arena *arena);
void *be_arena_alloc(struct be_arena *arena, size_t size); /* zeroed, aligned for any type */
/* Whether anything that was asked of it so far could not be had. */
bool be_arena_ran_out(const struct be_arena *arena);
char *be_arena_text(struct be_arena *arena, const char *text, size_t length);
char *be_arena_format(struct be_arena *arena, const char *format, ...) BE_PRINTF(2, 3);

/* ---- bounded buffers --------------------------------------------------- */

/* A growing run of bytes, always followed by a NUL that size does not count.
 * The first failure sticks: later appends do nothing, so a writer may append
 * freely and look at the status once at the end. */
struct be_buf {
  char *data;
  size_t size;
  size_t capacity;
  size_t ceiling;
  enum be_status status;
};

void be_buf_init(struct be_buf *buf, size_t ceiling);
void be_buf_free(struct be_buf *buf);
void be_buf_add(struct be_buf *buf, const void *bytes, size_t size);
void be_buf_text(struct be_buf *buf, const char *text);
void be_buf_char(struct be_buf *buf, char c);
void be_buf_format(struct be_buf *buf, const char *format, ...) BE_PRINTF(2, 3);
void be_buf_format_list(struct be_buf *buf, const char *format, va_list list) BE_PRINTF(2, 0);
/* The sticky status as an error. */
enum be_status be_buf_status(const struct be_buf *buf, struct be_err *err);

/* ---- text -------------------------------------------------------------- */

/* Decodes one UTF-8 character of text[0..size); returns its length, 0 at the
 * end, or 0 with *code = 0xFFFD when the bytes are not UTF-8. */
size_t be_utf8_next(const char *text, size_t size, uint32_t *code);
bool be_utf8_valid(const char *text, size_t size);
/* How many columns of a terminal the text takes (marks that combine take 0). */
size_t be_utf8_width(const char *text);
/* Whether no line ends at the space there, which holds a number to what it means: "n = 7", "83 %".
 */
bool be_space_binds(const char *text, size_t space);
/* Compares without regard to the case of ASCII letters. */
bool be_text_same(const char *a, const char *b);

/* Turns text of a coding ("UTF-16LE", "CP1252", "GB18030") into UTF-8. Null when
 * the system does not know it, or memory is out. */
struct be_recoder;
struct be_recoder *be_recoder_create(const char *coding);
void be_recoder_free(struct be_recoder *recoder);
/* Returns how many bytes of `in` were used; *made is how many were written. It
 * stops where out is full, at the start of a character that is cut off, and at
 * bytes that are no character. */
size_t be_recode(struct be_recoder *recoder, const char *in, size_t in_size, char *out,
                 size_t out_size, size_t *made);

/* ---- threads ----------------------------------------------------------- */

/* Calls work(context, i) for i in [0, count), on up to `threads` threads
 * (0 = as many as there are processors). Each i is done exactly once; results
 * must be written to places of their own, so that they do not depend on the
 * number of threads. Falls back to this thread when none can be started. */
void be_parallel(size_t count, unsigned threads, void (*work)(void *context, size_t i),
                 void *context);

/* A gate that lets callers through in the order of their numbers, from 0: what
 * one did before be_gate_pass is seen by the next after be_gate_wait. */
struct be_gate;
struct be_gate *be_gate_create(void); /* null when memory is out */
void be_gate_free(struct be_gate *gate);
void be_gate_wait(struct be_gate *gate, size_t number);
void be_gate_pass(struct be_gate *gate);

/* This thread works when others do not want to, and alone: be_parallel starts none for it. */
void be_thread_yields(void);

/* ---- how far slow work is ---------------------------------------------- */

/* Told by who does the work, read by anybody at any time. What is told belongs to whoever follows
 * the thread that tells it, and to nobody otherwise: no answer depends on it. */
struct be_progress {
  _Atomic(const char *) step; /* literals: "reading the record"; null: nothing told yet */
  _Atomic(const char *) of;   /* "pulls" */
  atomic_size_t done, all;    /* all 0: not known how many there are */
};
enum { BE_PROGRESS_WORDS = 120 };

/* From now on, of what this thread does, with those that be_parallel starts for it; null: nobody
 * follows any more. Returns who followed before. */
struct be_progress *be_progress_follow(struct be_progress *progress);
void be_progress_step(const char *step, const char *of, size_t all);
void be_progress_at(size_t done);
/* "reading the record, 40,000 of 100,000 pulls"; "" while nothing was told. */
void be_progress_words(const struct be_progress *progress, char words[BE_PROGRESS_WORDS]);

/* ---- random streams ---------------------------------------------------- */

/* xoshiro256** seeded by SplitMix64 (Blackman and Vigna, "Scrambled linear
 * pseudorandom number generators", ACM TOMS 47(4), 2021). One seed gives many
 * streams; the same seed and stream give the same numbers everywhere. */
struct be_random {
  uint64_t state[4];
};

void be_random_init(struct be_random *random, uint64_t seed, uint64_t stream);
uint64_t be_random_u64(struct be_random *random);
double be_random_unit(struct be_random *random);                /* [0, 1) */
uint64_t be_random_below(struct be_random *random, uint64_t n); /* [0, n), n > 0, unbiased */
double be_random_normal(struct be_random *random);              /* mean 0, deviation 1 */

/* ---- secrets ----------------------------------------------------------- */

/* Bytes that nobody can guess, from the system (getrandom). BE_FAILED: it has none to give, and
 * nothing else may take their place. */
enum be_status be_secret(void *bytes, size_t size, struct be_err *err);
/* Compares in a time that does not tell where they differ. */
bool be_secret_same(const void *a, const void *b, size_t size);
/* 64 small hexadecimal digits and a NUL. */
void be_sha256_hex(const char *bytes, size_t size, char hex[65]);

/* ---- the operating system ---------------------------------------------- */

/* Bytes in order, from a file, from standard input ("-") or from memory, which
 * the source borrows. What is packed with gzip or Zstandard is unpacked on the
 * way. BE_BAD_INPUT when it is packed and damaged or cut short. */
struct be_source;
enum be_status be_source_open(const char *path, struct be_source **source, struct be_err *err);
enum be_status be_source_of_bytes(const char *bytes, size_t size, struct be_source **source,
                                  struct be_err *err);
/* Fills bytes; *got is less than size only at the end. After a failure every read
 * fails alike. */
enum be_status be_source_read(struct be_source *source, char *bytes, size_t size, size_t *got,
                              struct be_err *err);
void be_source_close(struct be_source *source); /* null is fine */

/* Reads a whole file ("-" is standard input) into buf, up to buf's ceiling. BE_BAD_INPUT at once
 * for a folder, a named pipe, a device or a socket. */
enum be_status be_file_read(const char *path, struct be_buf *buf, struct be_err *err);
/* Writes a whole file so that a reader sees the old or the new, never half. */
enum be_status be_file_write(const char *path, const void *bytes, size_t size, struct be_err *err);
/* The same of a file that only its owner may read. */
enum be_status be_file_write_private(const char *path, const void *bytes, size_t size,
                                     struct be_err *err);
enum be_status be_dir_create(const char *path, struct be_err *err); /* fine if it exists */
enum be_status be_dir_remove(const char *path, struct be_err *err); /* an empty one */
/* Gives a file another name, of the same disk; a file of that name is replaced at once. */
enum be_status be_file_rename(const char *from, const char *to, struct be_err *err);
bool be_file_exists(const char *path);
bool be_file_is_link(const char *path); /* and not the file itself */
/* Bytes of a plain file; 0 also for anything else. */
size_t be_file_size(const char *path);
/* Whether both name the same file, also by way of links. */
bool be_file_same(const char *a, const char *b);
/* Reads the first bytes of a file, at most size of them, and how many there are
 * in *got. BE_BAD_INPUT for what is no plain file, so that it never waits. */
enum be_status be_file_start(const char *path, char *bytes, size_t size, size_t *got,
                             struct be_err *err);
enum be_status be_file_remove(const char *path, struct be_err *err); /* fine if there is none */
/* Date and time now as "2026-03-01T09:30:00Z". */
void be_now(char text[32]);
int64_t be_time_s(void); /* seconds since the start of 1970, UTC; may be set back */
void be_time_text(int64_t time_s, char text[32]); /* as be_now; "" for no year of ours */
double be_clock_s(void);                          /* monotonic seconds since some moment */
unsigned be_processors(void);
/* Lets the allocator of the system keep what is freed, for a program that takes
 * and frees arrays of some megabytes in turn. Call it before any are taken. */
void be_memory_keep(void);
/* Gives back to the system what is free, also of other threads: after work that took much. */
void be_memory_trim(void);
/* From now on what is large goes back to the system as soon as it is freed: for a program that
 * runs on and is to stay small. */
void be_memory_return(void);
/* Tells a file from what stood there before: size, time and place on the disk; "" without one. */
void be_file_mark(const char *path, char text[64]);
/* The same of this program, so that it tells one build from another. */
void be_program_mark(char text[64]);
/* A journal: a file that only grows, record by record, each with its length and checksum
 * (CRC-32). What be_journal_add wrote outlives the process, what be_journal_settle wrote also a
 * loss of power. Opening cuts off a record that was not written whole, and nothing else. One
 * program has it at a time. Records have at most BE_JOURNAL_RECORD_MAX bytes.
 * Errors: BE_FAILED for a disk that fails or is full (what was added before stays), or when another
 * program has it; BE_BAD_INPUT for a file that is no journal, or is damaged. */
enum { BE_JOURNAL_RECORD_MAX = 1024 * 1024 };
struct be_journal;
/* Called once for each record that is there already, in order; not BE_OK ends the opening. */
typedef enum be_status be_journal_each(void *context, unsigned kind, const char *bytes, size_t size,
                                       struct be_err *err);
enum be_status be_journal_open(const char *path, be_journal_each *each, void *context,
                               struct be_journal **journal, struct be_err *err);
/* kind: 1 to 255. After a failure nothing of the record is there, and it may be tried again. */
enum be_status be_journal_add(struct be_journal *journal, unsigned kind, const void *bytes,
                              size_t size, struct be_err *err);
/* Another thread may do so beside one that adds. */
enum be_status be_journal_settle(struct be_journal *journal, struct be_err *err);
/* What it holds, again, as on opening. `each` must not touch the journal. */
enum be_status be_journal_read(struct be_journal *journal, be_journal_each *each, void *context,
                               struct be_err *err);
/* Empties it, once all it holds is kept elsewhere. */
enum be_status be_journal_clear(struct be_journal *journal, struct be_err *err);
void be_journal_close(struct be_journal *journal); /* null is fine */

/* Waiting for the end: hold the signals before any thread is started, then wait
 * until the process is asked to end (interrupt or terminate). */
void be_end_hold(void);
void be_end_wait(void);
bool be_end_asked(void); /* whether it was; never waits */
/* Waits until the descriptor has something to read, or its end; false when the process is asked to
 * end before. */
bool be_end_or_input(int fd);

#endif
