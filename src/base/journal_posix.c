/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The file begins with `start`; a record is 4 bytes of size, 1 of kind, 4 of checksum of these
 * five, 4 of checksum of its bytes, and its bytes; numbers have the lowest byte first. A record
 * goes out in one write. As the size has a checksum of its own, a record cut short by the end of
 * the process is told from damage. */
#define _POSIX_C_SOURCE 200809L
#define _DEFAULT_SOURCE
#include "base/inside.h"

#include <assert.h>
#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>
#include <zlib.h>

static const char start[16] = "bitterend live\n1";
enum { START = sizeof start, HEAD = 13 };

struct be_journal {
  int fd;
  off_t size; /* of what is whole */
  bool torn;  /* half a record may lie behind it */
  char *record;
  char path[4096];
};

static uint32_t read_u32(const unsigned char *bytes)
{
  return (uint32_t)bytes[0] | (uint32_t)bytes[1] << 8 | (uint32_t)bytes[2] << 16 |
         (uint32_t)bytes[3] << 24;
}

static void write_u32(char *bytes, uint32_t value)
{
  for (int i = 0; i < 4; i++) bytes[i] = (char)(value >> 8 * i & 0xFF);
}

static uint32_t checksum(const char *bytes, size_t size)
{
  return (uint32_t)crc32(0, (const Bytef *)bytes, (uInt)size);
}

/* Whether the checksum that stands at `at` is that of the bytes. */
static bool is_right(const char *at, const char *bytes, size_t size)
{
  return read_u32((const unsigned char *)at) == checksum(bytes, size);
}

static enum be_status failed(const struct be_journal *journal, const char *doing,
                             struct be_err *err)
{
  be_system_failed(err, doing, journal->path);
  if (err) err->status = BE_FAILED;
  return BE_FAILED;
}

/* Reads up to size bytes; -1 for a failure. */
static ssize_t read_whole(int fd, char *bytes, size_t size)
{
  size_t got = 0;
  while (got < size) {
    ssize_t n = read(fd, bytes + got, size - got);
    if (n < 0 && errno == EINTR) continue;
    if (n < 0) return -1;
    if (n == 0) break;
    got += (size_t)n;
  }
  return (ssize_t)got;
}

/* Cuts off what lies behind the whole records. */
static enum be_status cut(struct be_journal *journal, struct be_err *err)
{
  if (ftruncate(journal->fd, journal->size) != 0 ||
      lseek(journal->fd, journal->size, SEEK_SET) != journal->size)
    return failed(journal, "cut the journal", err);
  journal->torn = false;
  return BE_OK;
}

static enum be_status write_whole(struct be_journal *journal, const char *bytes, size_t size,
                                  struct be_err *err)
{
  if (journal->torn && cut(journal, err) != BE_OK) return BE_FAILED;
  for (size_t put = 0; put < size;) {
    ssize_t n = write(journal->fd, bytes + put, size - put);
    if (n < 0 && errno == EINTR) continue;
    if (n < 0) {
      enum be_status status = failed(journal, "write the journal", err);
      journal->torn = true;
      cut(journal, NULL);
      return status;
    }
    put += (size_t)n;
  }
  journal->size += (off_t)size;
  return BE_OK;
}

static enum be_status damaged(const struct be_journal *journal, struct be_err *err)
{
  be_fail(err, BE_BAD_INPUT, "the journal is damaged at byte %lld", (long long)journal->size);
  be_fail_at(err, journal->path, 0, 0);
  be_fail_remedy(err, "move it aside and keep it; a new one is started in its place");
  return BE_BAD_INPUT;
}

/* A loss of power may leave zeros where a record was to stand. */
static bool rest_is_zero(struct be_journal *journal)
{
  char *block = journal->record;
  if (lseek(journal->fd, journal->size, SEEK_SET) != journal->size) return false;
  for (;;) {
    ssize_t n = read_whole(journal->fd, block, HEAD + BE_JOURNAL_RECORD_MAX);
    if (n < 0) return false;
    for (ssize_t i = 0; i < n; i++)
      if (block[i]) return false;
    if (n < HEAD + BE_JOURNAL_RECORD_MAX) return true;
  }
}

/* One record at journal->size. *more is false at the end, or at what was cut short. */
static enum be_status read_record(struct be_journal *journal, off_t end, be_journal_each *each,
                                  void *context, bool *more, struct be_err *err)
{
  char *record = journal->record;
  *more = false;
  if (end - journal->size < HEAD) return BE_OK;
  if (read_whole(journal->fd, record, HEAD) != HEAD)
    return failed(journal, "read the journal", err);
  if (record[4] == 0 && rest_is_zero(journal)) return BE_OK;
  size_t size = read_u32((const unsigned char *)record);
  if (!is_right(record + 5, record, 5) || size > BE_JOURNAL_RECORD_MAX)
    return damaged(journal, err);
  if ((off_t)(size + HEAD) > end - journal->size) return BE_OK;
  if (read_whole(journal->fd, record + HEAD, size) != (ssize_t)size)
    return failed(journal, "read the journal", err);
  if (!is_right(record + 9, record + HEAD, size)) return damaged(journal, err);
  *more = true;
  journal->size += (off_t)(size + HEAD);
  return each ? each(context, (unsigned char)record[4], record + HEAD, size, err) : BE_OK;
}

static enum be_status read_records(struct be_journal *journal, be_journal_each *each, void *context,
                                   struct be_err *err)
{
  struct stat about;
  char head[START];
  if (fstat(journal->fd, &about) != 0) return failed(journal, "read the journal", err);
  size_t part = about.st_size < START ? (size_t)about.st_size : START;
  if (read_whole(journal->fd, head, part) != (ssize_t)part)
    return failed(journal, "read the journal", err);
  if (memcmp(head, start, part) != 0) {
    be_fail(err, BE_BAD_INPUT, "this file is not a journal");
    be_fail_at(err, journal->path, 0, 0);
    be_fail_remedy(err, "move it aside: its name is that of the journal");
    return BE_BAD_INPUT;
  }
  if (part < START) {
    enum be_status status = cut(journal, err);
    return status == BE_OK ? write_whole(journal, start, START, err) : status;
  }
  journal->size = START;
  enum be_status status = BE_OK;
  for (bool more = true; more && status == BE_OK;)
    status = read_record(journal, about.st_size, each, context, &more, err);
  return status == BE_OK ? cut(journal, err) : status;
}

/* The name is made durable too, or a loss of power could take the file with all that was settled.
 */
static enum be_status settle_folder(const struct be_journal *journal, struct be_err *err)
{
  char folder[sizeof journal->path];
  const char *slash = strrchr(journal->path, '/');
  size_t length = slash ? (size_t)(slash - journal->path) + (slash == journal->path) : 1;
  memcpy(folder, slash ? journal->path : ".", length);
  folder[length] = '\0';
  int fd = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  bool settled = fd >= 0 && fsync(fd) == 0;
  enum be_status status =
      settled ? BE_OK : failed(journal, "settle the folder of the journal", err);
  if (fd >= 0) close(fd);
  return status;
}

/* Whoever had it may have removed it between our opening and our lock. */
static bool has_its_name(const struct be_journal *journal)
{
  struct stat opened, named;
  return fstat(journal->fd, &opened) == 0 && stat(journal->path, &named) == 0 &&
         opened.st_dev == named.st_dev && opened.st_ino == named.st_ino;
}

static enum be_status lock(struct be_journal *journal, struct be_err *err)
{
  bool locked = flock(journal->fd, LOCK_EX | LOCK_NB) == 0;
  if (locked && has_its_name(journal)) return BE_OK;
  if (locked) errno = EWOULDBLOCK;
  if (errno != EWOULDBLOCK) return failed(journal, "lock the journal", err);
  be_fail(err, BE_FAILED, "another program has this journal");
  be_fail_at(err, journal->path, 0, 0);
  be_fail_remedy(err, "end the other one first; both would write into it");
  return BE_FAILED;
}

enum be_status be_journal_open(const char *path, be_journal_each *each, void *context,
                               struct be_journal **journal, struct be_err *err)
{
  *journal = NULL;
  struct be_journal *opened = be_alloc_array(1, sizeof *opened);
  char *record = be_alloc_array(1, HEAD + BE_JOURNAL_RECORD_MAX);
  enum be_status status = BE_OK;
  if (!opened || !record) status = be_fail(err, BE_NO_MEMORY, "no memory for the journal");
  else if (strlen(path) >= sizeof opened->path)
    status = be_fail(err, BE_WRONG_USE, "the name of the journal is too long");
  if (status != BE_OK) {
    be_free(record);
    be_free(opened);
    return status;
  }
  memcpy(opened->path, path, strlen(path) + 1);
  opened->record = record;
  opened->fd = open(path, O_RDWR | O_CREAT | O_CLOEXEC, 0644);
  if (opened->fd < 0) status = be_system_failed(err, "open the journal", path);
  if (status == BE_OK) status = lock(opened, err);
  if (status == BE_OK) status = settle_folder(opened, err);
  if (status == BE_OK) status = read_records(opened, each, context, err);
  if (status == BE_OK) *journal = opened;
  else be_journal_close(opened);
  return status;
}

enum be_status be_journal_read(struct be_journal *journal, be_journal_each *each, void *context,
                               struct be_err *err)
{
  off_t end = journal->size;
  if (lseek(journal->fd, START, SEEK_SET) != START) return failed(journal, "read the journal", err);
  journal->size = START;
  enum be_status status = BE_OK;
  for (bool more = true; more && status == BE_OK;)
    status = read_record(journal, end, each, context, &more, err);
  if (status == BE_OK && journal->size != end) status = damaged(journal, err);
  journal->size = end;
  if (lseek(journal->fd, end, SEEK_SET) != end && status == BE_OK)
    status = failed(journal, "read the journal", err);
  return status;
}

enum be_status be_journal_add(struct be_journal *journal, unsigned kind, const void *bytes,
                              size_t size, struct be_err *err)
{
  assert(kind > 0 && kind < 256 && size <= BE_JOURNAL_RECORD_MAX);
  char *record = journal->record;
  write_u32(record, (uint32_t)size);
  record[4] = (char)kind;
  write_u32(record + 5, checksum(record, 5));
  if (size > 0) memcpy(record + HEAD, bytes, size);
  write_u32(record + 9, checksum(record + HEAD, size));
  return write_whole(journal, record, HEAD + size, err);
}

enum be_status be_journal_settle(struct be_journal *journal, struct be_err *err)
{
  return fdatasync(journal->fd) == 0 ? BE_OK : failed(journal, "settle the journal", err);
}

enum be_status be_journal_clear(struct be_journal *journal, struct be_err *err)
{
  off_t size = journal->size;
  journal->size = START;
  enum be_status status = cut(journal, err);
  if (status != BE_OK) journal->size = size;
  return status;
}

void be_journal_close(struct be_journal *journal)
{
  if (!journal) return;
  if (journal->fd >= 0) close(journal->fd);
  be_free(journal->record);
  be_free(journal);
}
