/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The linker puts __wrap_x in place of x, and calls the true one __real_x. */
#define _GNU_SOURCE
#include "fault/failing_calls.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

struct failing_calls failing_calls;

int __real_open(const char *, int, ...);
int __real_open64(const char *, int, ...);
ssize_t __real_write(int, const void *, size_t);
ssize_t __real_pwrite64(int, const void *, size_t, off64_t);
int __real_fsync(int);
int __real_fdatasync(int);
int __real_ftruncate(int, off_t);
int __real_ftruncate64(int, off64_t);
int __real_unlink(const char *);
int __real_rename(const char *, const char *);
int __real_usleep(useconds_t);
time_t __real_time(time_t *);
int __real_flock(int, int);
int __wrap_open(const char *, int, ...);
int __wrap_open64(const char *, int, ...);
ssize_t __wrap_write(int, const void *, size_t);
ssize_t __wrap_pwrite64(int, const void *, size_t, off64_t);
int __wrap_fsync(int);
int __wrap_fdatasync(int);
int __wrap_ftruncate(int, off_t);
int __wrap_ftruncate64(int, off64_t);
int __wrap_unlink(const char *);
int __wrap_rename(const char *, const char *);
int __wrap_usleep(useconds_t);
time_t __wrap_time(time_t *);
int __wrap_flock(int, int);

static void die(void)
{
  kill(getpid(), SIGKILL);
  for (;;) pause();
}

/* What becomes of a call; dying does not come back. */
enum fate { IS_DONE, IS_REFUSED, IS_NOT_DONE, IS_TORN };

static enum fate judge(enum call_kind kind, const char *path)
{
  struct failing_calls *f = &failing_calls;
  size_t length = path ? strlen(path) : 0, part = f->ending ? strlen(f->ending) : 0;
  if (part && (length < part || strcmp(path + length - part, f->ending) != 0)) return IS_DONE;
  ++f->calls[kind];
  ++f->calls[CALL_ANY];
  if (!f->at || (f->kind != kind && f->kind != CALL_ANY)) return IS_DONE;
  size_t call = f->calls[f->kind];
  if (f->end == CALL_FAILS_FOR_EVER ? call < f->at : call != f->at) return IS_DONE;
  f->failed++;
  if (f->end == CALL_DIES || (f->end == CALL_TEARS && kind != CALL_WRITE)) die();
  if (f->end == CALL_TEARS) return IS_TORN;
  if (f->end == CALL_LIES) return IS_NOT_DONE;
  errno = f->code;
  return IS_REFUSED;
}

/* Standard streams, pipes and sockets are nobody's loss. */
static enum fate judge_fd(enum call_kind kind, int fd)
{
  char link[64], path[4096] = "";
  struct stat about;
  if (fd <= STDERR_FILENO || fstat(fd, &about) != 0) return IS_DONE;
  if (!S_ISREG(about.st_mode) && !S_ISDIR(about.st_mode)) return IS_DONE;
  snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
  if (failing_calls.ending && readlink(link, path, sizeof path - 1) < 0) return IS_DONE;
  return judge(kind, path);
}

#define OPENED(real)                                                                               \
  do {                                                                                             \
    va_list list;                                                                                  \
    va_start(list, flags);                                                                         \
    mode_t mode = flags & O_CREAT ? va_arg(list, mode_t) : 0;                                      \
    va_end(list);                                                                                  \
    bool changes = (flags & (O_CREAT | O_WRONLY | O_RDWR)) != 0;                                   \
    if (changes && judge(CALL_OPEN, path) == IS_REFUSED) return -1;                                \
    return real(path, flags, mode);                                                                \
  } while (0)

int __wrap_open(const char *path, int flags, ...)
{
  OPENED(__real_open);
}

int __wrap_open64(const char *path, int flags, ...)
{
  OPENED(__real_open64);
}

ssize_t __wrap_write(int fd, const void *bytes, size_t size)
{
  enum fate fate = judge_fd(CALL_WRITE, fd);
  if (fate == IS_REFUSED) return -1;
  if (fate == IS_NOT_DONE) return (ssize_t)size;
  ssize_t put = __real_write(fd, bytes, fate == IS_TORN ? size / 2 : size);
  if (fate == IS_TORN) die();
  return put;
}

ssize_t __wrap_pwrite64(int fd, const void *bytes, size_t size, off64_t at)
{
  enum fate fate = judge_fd(CALL_WRITE, fd);
  if (fate == IS_REFUSED) return -1;
  if (fate == IS_NOT_DONE) return (ssize_t)size;
  ssize_t put = __real_pwrite64(fd, bytes, fate == IS_TORN ? size / 2 : size, at);
  if (fate == IS_TORN) die();
  return put;
}

#define SIMPLE(fate_, real)                                                                        \
  do {                                                                                             \
    enum fate fate = fate_;                                                                        \
    if (fate == IS_REFUSED) return -1;                                                             \
    return fate == IS_DONE ? real : 0;                                                             \
  } while (0)

int __wrap_fsync(int fd)
{
  SIMPLE(judge_fd(CALL_SYNC, fd), failing_calls.really_syncs ? __real_fsync(fd) : 0);
}

int __wrap_fdatasync(int fd)
{
  SIMPLE(judge_fd(CALL_SYNC, fd), failing_calls.really_syncs ? __real_fdatasync(fd) : 0);
}

int __wrap_ftruncate(int fd, off_t size)
{
  SIMPLE(judge_fd(CALL_TRUNCATE, fd), __real_ftruncate(fd, size));
}

int __wrap_ftruncate64(int fd, off64_t size)
{
  SIMPLE(judge_fd(CALL_TRUNCATE, fd), __real_ftruncate64(fd, size));
}

int __wrap_unlink(const char *path)
{
  SIMPLE(judge(CALL_UNLINK, path), __real_unlink(path));
}

int __wrap_rename(const char *from, const char *to)
{
  SIMPLE(judge(CALL_UNLINK, to), __real_rename(from, to));
}

/* SQLite sleeps here while it waits for a lock: in tests it has waited long enough. */
int __wrap_usleep(useconds_t us)
{
  (void)us;
  return __real_usleep(1);
}

time_t __wrap_time(time_t *at)
{
  time_t now = __real_time(NULL) + failing_calls.later_s;
  if (at) *at = now;
  return now;
}

int __wrap_flock(int fd, int how)
{
  if (failing_calls.loses) __real_unlink(failing_calls.loses);
  failing_calls.loses = NULL;
  return __real_flock(fd, how);
}
