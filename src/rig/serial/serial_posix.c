/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Raw bytes both ways. A byte with a wrong stop bit or parity comes as NUL, which
 * no frame holds. The line that tells an instrument that we are here (DTR) stays as
 * it is on closing, so that boards which restart by it do so once. */
#define _DEFAULT_SOURCE
#include "rig/serial/serial.h"
#include "rig/settings/settings.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/file.h>
#include <termios.h>
#include <unistd.h>

struct settings {
  struct be_setting_text path;
  int baud, form;
};

/* The words of the setting, and what they mean in turn. */
static const char form_words[] = "8N1 8E1 8O1 8N2 7E1 7O1 7N2";
static const tcflag_t forms[] = {CS8,          CS8 | PARENB, CS8 | PARENB | PARODD,
                                 CS8 | CSTOPB, CS7 | PARENB, CS7 | PARENB | PARODD,
                                 CS7 | CSTOPB};
static const tcflag_t form_bits = CSIZE | PARENB | PARODD | CSTOPB;

static const struct be_setting table[] = {
    {"path", BE_SETTING_TEXT, offsetof(struct settings, path)},
    {"baud", BE_SETTING_WHOLE, offsetof(struct settings, baud), 1, 1e7},
    {"form", BE_SETTING_WORD, offsetof(struct settings, form), .words = form_words},
};

static const struct {
  int baud;
  speed_t code;
} codes[] = {{1200, B1200},     {2400, B2400},     {4800, B4800},    {9600, B9600},
             {19200, B19200},   {38400, B38400},   {57600, B57600},  {115200, B115200},
             {230400, B230400}, {460800, B460800}, {921600, B921600}};

struct serial {
  int fd;
  const struct be_rig_clock *clock;
};

static enum be_status failed(struct be_err *err, int code, const char *path)
{
  enum be_status status =
      code == ENOENT || code == EACCES || code == ENOTTY ? BE_BAD_INPUT : BE_FAILED;
  be_fail(err, status, "cannot open the serial line: %s", strerror(code));
  be_fail_at(err, path, 0, 0);
  be_fail_remedy(err, "%s",
                 code == ENOENT   ? "plug the instrument in, and check the name"
                 : code == EACCES ? "your user may not open it: ask for the group that owns it"
                 : code == ENOTTY ? "that is no serial line: name one, such as /dev/ttyUSB0"
                 : code == EBUSY  ? "another program has it: close that"
                                  : "look at the cable, and try again");
  return status;
}

static bool speed_code(int baud, speed_t *code)
{
  for (size_t i = 0; i < sizeof codes / sizeof codes[0]; i++)
    if (codes[i].baud == baud) {
      *code = codes[i].code;
      return true;
    }
  return false;
}

/* POSIX lets tcsetattr succeed when it has done a part: what came of it is looked at. */
static enum be_status set_line(int fd, const struct settings *settings, speed_t code,
                               struct be_err *err)
{
  struct termios line;
  if (tcgetattr(fd, &line) != 0) return failed(err, errno, settings->path.bytes);
  line.c_iflag = forms[settings->form] & PARENB ? INPCK : 0;
  line.c_oflag = 0;
  line.c_lflag = 0;
  line.c_cflag &= ~(form_bits | HUPCL | CRTSCTS);
  line.c_cflag |= forms[settings->form] | CREAD | CLOCAL;
  /* One byte at least, so that a read of none means the line is gone. */
  line.c_cc[VMIN] = 1;
  line.c_cc[VTIME] = 0;
  cfsetispeed(&line, code);
  cfsetospeed(&line, code);
  if (tcsetattr(fd, TCSANOW, &line) != 0 || tcgetattr(fd, &line) != 0)
    return failed(err, errno, settings->path.bytes);
  if ((line.c_cflag & form_bits) == forms[settings->form] && cfgetispeed(&line) == code)
    return BE_OK;
  be_fail(err, BE_BAD_INPUT, "this serial line cannot be set to that speed and form");
  be_fail_at(err, settings->path.bytes, 0, 0);
  be_fail_remedy(err, "try form=8N1 and another baud");
  return BE_BAD_INPUT;
}

static enum be_status read_settings(const char *text, struct settings *settings, speed_t *code,
                                    struct be_err *err)
{
  enum be_status status = be_settings_read(text, table, sizeof table / sizeof table[0], settings,
                                           be_rig_serial.help, err);
  if (status != BE_OK) return status;
  if (settings->path.size && speed_code(settings->baud, code)) return BE_OK;
  if (!settings->path.size) be_fail(err, BE_WRONG_USE, "the serial line has no path");
  else be_fail(err, BE_WRONG_USE, "%d is not a speed of serial lines", settings->baud);
  be_fail_remedy(err, "%s", be_rig_serial.help);
  return BE_WRONG_USE;
}

static enum be_status serial_open(const char *text, const struct be_rig_clock *clock, void **state,
                                  struct be_err *err)
{
  struct settings settings = {.baud = 9600};
  speed_t code = B9600;
  *state = NULL;
  enum be_status status = read_settings(text, &settings, &code, err);
  if (status != BE_OK) return status;
  struct serial *serial = be_alloc(sizeof *serial);
  if (!serial) return be_fail(err, BE_NO_MEMORY, "no memory for a serial line");
  serial->clock = clock;
  serial->fd = open(settings.path.bytes, O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
  if (serial->fd < 0) status = failed(err, errno, settings.path.bytes);
  /* Two readers would each get some of the bytes. */
  else if (flock(serial->fd, LOCK_EX | LOCK_NB) != 0)
    status = failed(err, errno == EWOULDBLOCK ? EBUSY : errno, settings.path.bytes);
  else status = set_line(serial->fd, &settings, code, err);
  if (status == BE_OK) {
    *state = serial;
    return BE_OK;
  }
  if (serial->fd >= 0) close(serial->fd);
  be_free(serial);
  return status;
}

static enum be_status serial_read(void *state, char *bytes, size_t room, int64_t wait_ns,
                                  struct be_rig_got *got, struct be_err *err)
{
  struct serial *serial = state;
  return be_line_read(serial->fd, serial->clock, bytes, room, wait_ns, got, err);
}

static enum be_status serial_write(void *state, const char *bytes, size_t size, struct be_err *err)
{
  return be_line_write(((struct serial *)state)->fd, false, bytes, size, err);
}

static void serial_close(void *state)
{
  struct serial *serial = state;
  if (!serial) return;
  close(serial->fd);
  be_free(serial);
}

static const int speeds[] = {9600, 115200, 19200, 57600, 38400, 4800, 2400, 1200, 230400, 0};

const struct be_rig_source be_rig_serial = {
    .name = "serial",
    .help = "settings: path=/dev/ttyUSB0, baud=9600 (1200 to 921600), "
            "form=8N1|8E1|8O1|8N2|7E1|7O1|7N2",
    .comes_back = true,
    .speeds = speeds,
    .open = serial_open,
    .read = serial_read,
    .write = serial_write,
    .close = serial_close,
};
