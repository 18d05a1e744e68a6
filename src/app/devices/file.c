/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A line that says what the file is, then one a device: hash, role, when paired, when last seen,
 * and the name, which is the rest of the line. */
#include "app/devices/devices.h"

#include <string.h>

static const char first_line[] = "bitterend devices 1";
static const char *const words[] = {
    [BE_DEVICE_OWNER] = "owner", [BE_DEVICE_BENCH] = "bench", [BE_DEVICE_LOOK] = "look"};

const char *be_device_role_word(enum be_device_role role)
{
  return role < BE_DEVICE_NOBODY ? words[role] : "nobody";
}

bool be_device_role_read(const char *word, enum be_device_role *role)
{
  for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
    if (strcmp(word, words[i]) == 0) {
      *role = (enum be_device_role)i;
      return true;
    }
  return false;
}

bool be_device_name_fits(const char *name)
{
  size_t size = strlen(name), blank = 0;
  for (size_t i = 0; i < size; i++) {
    unsigned char c = (unsigned char)name[i];
    if (c < ' ' || c == 0x7F) return false;
    blank += c == ' ';
  }
  return size > blank && size <= BE_DEVICE_NAME_MAX && be_utf8_valid(name, size);
}

/* A word of the line: up to the next space, which is passed over; false when it does not fit. */
static bool take_word(const char **at, const char *end, char *word, size_t room)
{
  const char *space = memchr(*at, ' ', (size_t)(end - *at));
  if (!space || space == *at || (size_t)(space - *at) >= room) return false;
  memcpy(word, *at, (size_t)(space - *at));
  word[space - *at] = '\0';
  *at = space + 1;
  return true;
}

static bool take_time(const char **at, const char *end, int64_t *time_s)
{
  enum { DIGITS_MAX = 12 };
  char word[DIGITS_MAX + 1];
  if (!take_word(at, end, word, sizeof word)) return false;
  *time_s = 0;
  for (const char *digit = word; *digit; digit++) {
    if (*digit < '0' || *digit > '9') return false;
    *time_s = *time_s * 10 + (*digit - '0');
  }
  return true;
}

static bool read_device(const char *at, const char *end, struct be_device *device)
{
  char word[8];
  *device = (struct be_device){0};
  if (!take_word(&at, end, device->hash, sizeof device->hash) ||
      strspn(device->hash, "0123456789abcdef") != 64 || !take_word(&at, end, word, sizeof word) ||
      !be_device_role_read(word, &device->role) || !take_time(&at, end, &device->paired_s) ||
      !take_time(&at, end, &device->seen_s))
    return false;
  size_t size = (size_t)(end - at);
  if (size > BE_DEVICE_NAME_MAX || memchr(at, '\0', size)) return false;
  memcpy(device->name, at, size);
  return be_device_name_fits(device->name);
}

static enum be_status bad_line(struct be_err *err, size_t line, const char *what)
{
  be_fail(err, BE_BAD_INPUT, "%s", what);
  be_fail_at(err, NULL, line, 0);
  be_fail_remedy(err, "move the file away: every device is then paired anew");
  return BE_BAD_INPUT;
}

enum be_status be_devices_parse(const char *text, size_t size, struct be_device *list,
                                size_t *count, struct be_err *err)
{
  const char *end = text + size;
  size_t line = 0;
  *count = 0;
  for (const char *at = text; at < end;) {
    const char *stop = memchr(at, '\n', (size_t)(end - at));
    line++;
    if (!stop) return bad_line(err, line, "the last line is cut off");
    if (line == 1) {
      if ((size_t)(stop - at) != strlen(first_line) ||
          memcmp(at, first_line, strlen(first_line)) != 0)
        return bad_line(err, line, "this is no file of devices");
    } else {
      if (*count == BE_DEVICES_MAX) return bad_line(err, line, "more devices than can be paired");
      if (!read_device(at, stop, &list[*count])) return bad_line(err, line, "this is no device");
      ++*count;
    }
    at = stop + 1;
  }
  return line > 0 ? BE_OK : bad_line(err, 1, "the file is empty");
}

void be_devices_write(const struct be_device *list, size_t count, struct be_buf *text)
{
  be_buf_format(text, "%s\n", first_line);
  for (size_t i = 0; i < count; i++)
    be_buf_format(text, "%s %s %lld %lld %s\n", list[i].hash, be_device_role_word(list[i].role),
                  (long long)list[i].paired_s, (long long)list[i].seen_s, list[i].name);
}
