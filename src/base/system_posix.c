/* SPDX-License-Identifier: GPL-3.0-or-later */
#define _POSIX_C_SOURCE 200809L
#include "base/inside.h"

#include <errno.h>
#include <fcntl.h>
#include <malloc.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

static bool is_of_path(int code)
{
  return code == ENOENT || code == ENOTDIR || code == ENAMETOOLONG || code == ELOOP ||
         code == EISDIR || code == EACCES;
}

enum be_status be_system_failed(struct be_err *err, const char *doing, const char *path)
{
  int code = errno;
  enum be_status status = be_fail(err, is_of_path(code) ? BE_BAD_INPUT : BE_FAILED, "cannot %s: %s",
                                  doing, strerror(code));
  be_fail_at(err, path, 0, 0);
  be_fail_remedy(err, "%s",
                 code == ENOENT   ? "check the name, and that its folder exists"
                 : code == EACCES ? "check the rights of the file and of its folder"
                 : code == EISDIR ? "that is a folder: name a file"
                 : code == ENOSPC ? "the disk is full: make room and try again"
                                  : "look at the disk and the rights, then try again");
  return status;
}

static enum be_status read_all(int fd, const char *path, struct be_buf *buf, struct be_err *err)
{
  char block[64 * 1024];
  for (;;) {
    ssize_t got = read(fd, block, sizeof block);
    if (got < 0 && errno == EINTR) continue;
    if (got < 0) return be_system_failed(err, "read the file", path);
    if (got == 0) break;
    be_buf_add(buf, block, (size_t)got);
    if (buf->status != BE_OK) break;
  }
  be_buf_add(buf, "", 0);
  enum be_status status = be_buf_status(buf, err);
  if (status != BE_OK) be_fail_at(err, path, 0, 0);
  return status;
}

/* What is open already, by the shell: standard input by its name, or the end of a pipe. */
static bool is_handed_over(const char *path)
{
  return strcmp(path, "/dev/stdin") == 0 || strncmp(path, "/dev/fd/", 8) == 0;
}

static enum be_status no_plain_file(const char *path, mode_t mode, struct be_err *err)
{
  bool folder = S_ISDIR(mode);
  be_fail(err, BE_BAD_INPUT, "this is a %s, not a plain file",
          folder           ? "folder"
          : S_ISFIFO(mode) ? "named pipe"
          : S_ISSOCK(mode) ? "socket"
                           : "device");
  be_fail_at(err, path, 0, 0);
  be_fail_remedy(err, folder ? "name a file in it" : "save what it gives as a file, and name that");
  return BE_BAD_INPUT;
}

/* Opening alone may wait on a pipe, or move a device: it is looked at first, and once more when
 * it is open. */
enum be_status be_open_plain(const char *path, bool handed_over, int *file, size_t *size,
                             struct be_err *err)
{
  struct stat about;
  bool any = handed_over && is_handed_over(path), known = any || stat(path, &about) == 0;
  *file = -1;
  *size = 0;
  if (known && !any && !S_ISREG(about.st_mode)) return no_plain_file(path, about.st_mode, err);
  if (known) *file = open(path, O_RDONLY | O_CLOEXEC | (any ? 0 : O_NONBLOCK));
  if (*file < 0) {
    enum be_status failed = be_system_failed(err, "open the file", path);
    be_fail_remedy(err, "check the name and that you may read it");
    return failed;
  }
  if (fstat(*file, &about) != 0) return BE_OK; /* reading will tell */
  if (S_ISREG(about.st_mode) && about.st_size > 0) *size = (size_t)about.st_size;
  if (any || S_ISREG(about.st_mode)) return BE_OK;
  close(*file);
  return no_plain_file(path, about.st_mode, err);
}

static enum be_status make_room(struct be_buf *buf, size_t size, const char *path,
                                struct be_err *err)
{
  if (size > buf->ceiling) {
    be_fail(err, BE_TOO_LARGE, "the file has %zu bytes; the limit is %zu", size, buf->ceiling);
    be_fail_at(err, path, 0, 0);
    return BE_TOO_LARGE;
  }
  void *block = buf->data;
  enum be_status status =
      be_grow(&block, &buf->capacity, 1, buf->size + size + 1, buf->ceiling + 1, err);
  buf->data = block;
  return status;
}

enum be_status be_file_read(const char *path, struct be_buf *buf, struct be_err *err)
{
  if (strcmp(path, "-") == 0) return read_all(STDIN_FILENO, "standard input", buf, err);
  int file;
  size_t size;
  enum be_status status = be_open_plain(path, true, &file, &size, err);
  if (status != BE_OK) return status;
  if (size) status = make_room(buf, size, path, err);
  if (status == BE_OK) status = read_all(file, path, buf, err);
  close(file);
  return status;
}

static enum be_status write_all(int fd, const char *bytes, size_t size)
{
  while (size > 0) {
    ssize_t put = write(fd, bytes, size);
    if (put < 0 && errno == EINTR) continue;
    if (put < 0) return BE_FAILED;
    bytes += put;
    size -= (size_t)put;
  }
  return fsync(fd) == 0 ? BE_OK : BE_FAILED;
}

/* own: what lies at the name of the part is not written into, whoever may have it open. */
static enum be_status write_file(const char *path, const void *bytes, size_t size, bool own,
                                 struct be_err *err)
{
  char beside[4096];
  int length = snprintf(beside, sizeof beside, "%s.part", path);
  if (length < 0 || (size_t)length >= sizeof beside)
    return be_fail(err, BE_WRONG_USE, "the file name is too long");
  if (own) unlink(beside);
  int fd =
      open(beside, O_WRONLY | O_CREAT | O_CLOEXEC | (own ? O_EXCL : O_TRUNC), own ? 0600 : 0644);
  if (fd < 0) return be_system_failed(err, "create the file", path);
  enum be_status status = write_all(fd, bytes, size);
  if (status != BE_OK) status = be_system_failed(err, "write the file", path);
  if (close(fd) != 0 && status == BE_OK) status = be_system_failed(err, "close the file", path);
  if (status == BE_OK && rename(beside, path) != 0)
    status = be_system_failed(err, "put the file in place", path);
  if (status != BE_OK) unlink(beside);
  return status;
}

enum be_status be_file_write(const char *path, const void *bytes, size_t size, struct be_err *err)
{
  return write_file(path, bytes, size, false, err);
}

enum be_status be_file_write_private(const char *path, const void *bytes, size_t size,
                                     struct be_err *err)
{
  return write_file(path, bytes, size, true, err);
}

enum be_status be_dir_create(const char *path, struct be_err *err)
{
  if (mkdir(path, 0755) == 0 || errno == EEXIST) return BE_OK;
  return be_system_failed(err, "create the folder", path);
}

enum be_status be_dir_remove(const char *path, struct be_err *err)
{
  return rmdir(path) == 0 ? BE_OK : be_system_failed(err, "remove the folder", path);
}

enum be_status be_file_rename(const char *from, const char *to, struct be_err *err)
{
  return rename(from, to) == 0 ? BE_OK : be_system_failed(err, "put the file in place", to);
}

bool be_file_exists(const char *path)
{
  struct stat about;
  return stat(path, &about) == 0;
}

bool be_file_is_link(const char *path)
{
  struct stat about;
  return lstat(path, &about) == 0 && S_ISLNK(about.st_mode);
}

size_t be_file_size(const char *path)
{
  struct stat about;
  bool plain = stat(path, &about) == 0 && S_ISREG(about.st_mode) && about.st_size > 0;
  return plain ? (size_t)about.st_size : 0;
}

bool be_file_same(const char *a, const char *b)
{
  struct stat first, second;
  return stat(a, &first) == 0 && stat(b, &second) == 0 && first.st_dev == second.st_dev &&
         first.st_ino == second.st_ino;
}

enum be_status be_file_start(const char *path, char *bytes, size_t size, size_t *got,
                             struct be_err *err)
{
  *got = 0;
  int file;
  size_t whole;
  enum be_status status = be_open_plain(path, false, &file, &whole, err);
  if (status != BE_OK) return status;
  while (*got < size) {
    ssize_t n = read(file, bytes + *got, size - *got);
    if (n < 0 && errno == EINTR) continue;
    if (n < 0) status = be_system_failed(err, "read the file", path);
    if (n <= 0) break;
    *got += (size_t)n;
  }
  close(file);
  return status;
}

enum be_status be_file_remove(const char *path, struct be_err *err)
{
  if (unlink(path) == 0 || errno == ENOENT) return BE_OK;
  return be_system_failed(err, "remove the file", path);
}

int64_t be_time_s(void)
{
  return (int64_t)time(NULL);
}

void be_time_text(int64_t time_s, char text[32])
{
  time_t moment = (time_t)time_s;
  struct tm parts = {0};
  if (!gmtime_r(&moment, &parts) || !strftime(text, 32, "%Y-%m-%dT%H:%M:%SZ", &parts))
    text[0] = '\0';
}

void be_now(char text[32])
{
  be_time_text(be_time_s(), text);
}

double be_clock_s(void)
{
  struct timespec now;
  clock_gettime(CLOCK_MONOTONIC, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

void be_memory_keep(void)
{
  enum { KEPT = 32 * 1024 * 1024 };
  mallopt(M_MMAP_THRESHOLD, KEPT);
  mallopt(M_TRIM_THRESHOLD, KEPT);
  mallopt(M_ARENA_MAX, 2); /* else each thread keeps what another could use */
}

void be_memory_trim(void)
{
  malloc_trim(0);
}

void be_memory_return(void)
{
  enum { LARGE = 256 * 1024 };
  mallopt(M_MMAP_THRESHOLD, LARGE);
  mallopt(M_TRIM_THRESHOLD, LARGE);
}

void be_file_mark(const char *path, char text[64])
{
  struct stat about;
  text[0] = '\0';
  if (stat(path, &about) == 0)
    snprintf(text, 64, "%jd %ju %jd.%09ld", (intmax_t)about.st_size, (uintmax_t)about.st_ino,
             (intmax_t)about.st_mtim.tv_sec, (long)about.st_mtim.tv_nsec);
}

void be_program_mark(char text[64])
{
  be_file_mark("/proc/self/exe", text);
}
