/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The kind of frames told from 20 of them, and the speed of a line from the bytes
 * that its pulses look like at each speed. */
#include "rig_test.h"

enum { FRAMES = 20, TEXT_MAX = 8192 };

/* A pull of odd-looking loads that rises, wavers, and lets go. */
static double load_of(int i)
{
  return i == FRAMES - 1 ? 0.137 : 11.371 + 3.083 * i - 0.021 * i * i + (i % 3) * 0.119;
}

struct text {
  char bytes[TEXT_MAX];
  size_t size;
};

static struct text *start(void)
{
  static struct text text;
  text.size = 0;
  return &text;
}

static void BE_PRINTF(2, 3) add(struct text *text, const char *format, ...)
{
  va_list list;
  va_start(list, format);
  text->size += (size_t)vsnprintf(text->bytes + text->size, TEXT_MAX - text->size, format, list);
  va_end(list);
  assert_true(text->size < TEXT_MAX);
}

static void detect(const struct text *text, struct be_frame_detection *detection)
{
  struct be_err err = {0};
  assert_int_equal(be_frames_detect(text->bytes, text->size, detection, &err), BE_OK);
}

static void assert_kind(const struct text *text, const char *kind, const char *settings)
{
  static struct be_frame_detection detection;
  detect(text, &detection);
  if (detection.found != BE_OK || strcmp(detection.candidates[0].kind, kind) != 0)
    print_error("want %s: %s\n", kind, detection.why);
  assert_int_equal(detection.found, BE_OK);
  assert_string_equal(detection.candidates[0].kind, kind);
  assert_string_equal(detection.candidates[0].settings, settings);
  /* The first may be cut and is not counted. */
  assert_true(detection.candidates[0].samples >= FRAMES - 1);
  assert_true(detection.candidates[0].preview_count == BE_FRAME_PREVIEW);
  assert_true(strlen(detection.candidates[0].why) > 20);
}

static void assert_asked(const struct text *text, const char *first, const char *second)
{
  static struct be_frame_detection detection;
  detect(text, &detection);
  if (detection.found != BE_ASK) print_error("%s or %s: %s\n", first, second, detection.why);
  assert_int_equal(detection.found, BE_ASK);
  assert_string_equal(detection.candidates[0].kind, first);
  assert_string_equal(detection.candidates[1].kind, second);
}

static void kinds_of_text(void **state)
{
  (void)state;
  struct text *text = start();
  add(text, "amplifier ready\r\n");
  for (int i = 0; i < FRAMES; i++) add(text, "%+08.2f\r\n", load_of(i));
  assert_kind(text, "number", "");
  text = start();
  for (int i = 0; i < FRAMES; i++) add(text, "%.2f lb\n", load_of(i));
  assert_kind(text, "number", "");
  text = start();
  for (int i = 0; i < FRAMES; i++) add(text, "%d,%.2f\n", 417 + i, load_of(i));
  assert_kind(text, "counted", "");
  text = start();
  for (int i = 0; i < FRAMES; i++) add(text, "%.3f;%.2f\n", 3.0125 + 0.0125 * i, load_of(i));
  assert_kind(text, "timed-s", "");
  text = start();
  for (int i = 0; i < FRAMES; i++) add(text, "%d,%.2f\n", 5021 + 12 * i + i / 2, load_of(i));
  assert_kind(text, "timed-ms", "");
  /* A mark of remark is no block, and words of a unit no powers. */
  text = start();
  add(text, "# ready\n");
  for (int i = 0; i < FRAMES; i++) add(text, "%.2f\n", load_of(i));
  assert_kind(text, "number", "");
  text = start();
  for (int i = 0; i < FRAMES; i++) add(text, "%.2f newton\n", load_of(i));
  assert_kind(text, "number", "");
  /* Heard from amid a line on, and with one lost. */
  text = start();
  add(text, "9,10.5\n");
  for (int i = 0; i < FRAMES; i++) add(text, "%d,%.2f\n", 5021 + 12 * i + i / 2, load_of(i));
  assert_kind(text, "timed-ms", "");
  text = start();
  add(text, "6,10.5\n");
  for (int i = 0; i < FRAMES; i++) add(text, "%d,%.2f\n", 417 + i + (i > 9), load_of(i));
  assert_kind(text, "counted", "");
  text = start();
  for (int i = 0; i < FRAMES; i++) add(text, "%d %.2f\n", 5021417 + 12503 * i, load_of(i));
  assert_kind(text, "timed-us", "");
}

static void kinds_with_status(void **state)
{
  (void)state;
  struct text *text = start();
  for (int i = 0; i < FRAMES; i++)
    add(text, "%s,GS,%+09.3f,kg\r\n", i < 4 ? "ST" : "US", load_of(i));
  assert_kind(text, "header", "");
  text = start();
  for (int i = 0; i < FRAMES; i++) add(text, "\x02%8.2f%s\r", load_of(i), i < 4 ? "LG" : "LGM");
  assert_kind(text, "letters", "");
  text = start();
  for (int i = 0; i < FRAMES; i++) add(text, "\x02%8.2f %s\x03", load_of(i), i < 4 ? "kg G" : "M");
  assert_kind(text, "letters", "");
  /* An N in every frame may be the newton, a G the gram. */
  text = start();
  for (int i = 0; i < FRAMES; i++) add(text, "\x02%8.2f N\x03", load_of(i));
  assert_asked(text, "letters", "number");
  text = start();
  for (int i = 0; i < FRAMES; i++) add(text, "%8.2f N\r\n", load_of(i));
  assert_kind(text, "number", "");
}

static void kinds_of_answers(void **state)
{
  (void)state;
  struct text *text = start();
  for (int i = 0; i < FRAMES; i++) add(text, "%+.6E\n", load_of(i));
  assert_kind(text, "scpi", "");
  text = start();
  for (int i = 0; i < FRAMES; i++) {
    float load = (float)load_of(i);
    uint32_t bits;
    memcpy(&bits, &load, 4);
    add(text, "#14%c%c%c%c\n", bits >> 24, bits >> 16 & 255, bits >> 8 & 255, bits & 255);
  }
  assert_kind(text, "scpi", "block=real32 border=normal");
}

/* One answer with its float in an order of bytes. */
static void add_answer(struct text *text, bool tcp, int i, const char *order)
{
  float load = (float)load_of(i);
  uint32_t bits;
  memcpy(&bits, &load, 4);
  unsigned char *at = (unsigned char *)text->bytes + text->size, *start = at;
  if (tcp) {
    memcpy(at, (const unsigned char[]){0, (unsigned char)i, 0, 0, 0, 7}, 6);
    at += 6;
  }
  unsigned char *answer = at;
  memcpy(at, (const unsigned char[]){9, 4, 4}, 3);
  for (int k = 0; k < 4; k++) at[3 + k] = (unsigned char)(bits >> 8 * (3 - (order[k] - 'a')));
  at += 7;
  if (!tcp) {
    uint16_t crc = be_crc16_modbus(answer, 7);
    *at++ = (unsigned char)(crc & 255);
    *at++ = (unsigned char)(crc >> 8);
  }
  text->size += (size_t)(at - start);
}

static void orders_of_floats(void **state)
{
  (void)state;
  /* For each order of the wire: which bytes come first is what the setting says. */
  static const char *const orders[] = {"abcd", "cdab", "badc", "dcba"};
  char settings[80];
  for (int tcp = 0; tcp < 2; tcp++)
    for (int i = 0; i < 4; i++) {
      struct text *text = start();
      for (int k = 0; k < FRAMES; k++) add_answer(text, tcp, k, orders[i]);
      snprintf(settings, sizeof settings, "device=9 function=4 order=%s", orders[i]);
      assert_kind(text, tcp ? "modbus-tcp" : "modbus-rtu", settings);
    }
  /* Zeros look the same in every order. */
  struct text *text = start();
  for (int k = 0; k < FRAMES; k++) {
    static const unsigned char zero[] = {9, 3, 4, 0, 0, 0, 0};
    uint16_t crc = be_crc16_modbus(zero, 7);
    memcpy(text->bytes + text->size, zero, 7);
    text->bytes[text->size + 7] = (char)(crc & 255);
    text->bytes[text->size + 8] = (char)(crc >> 8);
    text->size += 9;
  }
  static struct be_frame_detection detection;
  detect(text, &detection);
  assert_int_equal(detection.found, BE_ASK);
  assert_non_null(strstr(detection.why, "order"));
}

/* 12,34 may be a decimal comma, or milliseconds and a load: that is asked. */
static void two_readings(void **state)
{
  (void)state;
  struct text *text = start();
  for (int i = 0; i < FRAMES; i++) add(text, "%d,%02d\n", 100 + 12 * i, (37 * i) % 100);
  assert_asked(text, "timed-ms", "number");
  /* Wholes that fall and repeat are no time. */
  text = start();
  for (int i = 0; i < FRAMES; i++) add(text, "%d,%02d\n", 100 + i / 2, (37 * i) % 100);
  assert_kind(text, "number", "");
}

static void noise_is_unknown(void **state)
{
  (void)state;
  static struct be_frame_detection detection;
  struct be_random random;
  for (uint64_t seed = 1; seed <= 20; seed++) {
    struct text *text = start();
    be_random_init(&random, seed, 3);
    for (int i = 0; i < 700; i++)
      text->bytes[text->size++] = (char)(be_random_u64(&random) & (seed % 2 ? 0xFF : 0x7F));
    detect(text, &detection);
    assert_int_equal(detection.found, BE_NO);
    assert_int_equal(detection.count, 0);
  }
  struct text *text = start();
  detect(text, &detection);
  assert_int_equal(detection.found, BE_NO);
  /* Prose, and two numbers: too few to tell. */
  add(text, "the quick brown fox\njumps over 13 lazy dogs\nand 7 more\n");
  detect(text, &detection);
  assert_int_equal(detection.found, BE_NO);
  text = start();
  add(text, "12.5\n12.75\n");
  detect(text, &detection);
  assert_int_equal(detection.found, BE_NO);
  assert_true(strlen(detection.why) > 20);
}

/* ---- the speed of a line ---- */

enum { BITS_MAX = 200000 };

/* Pulses of a line at one bit a step, idle high; parity 0 none, 1 odd, 2 even. */
struct wire {
  unsigned char bits[BITS_MAX];
  size_t size;
};

static void put_bits(struct wire *wire, unsigned bits, int count)
{
  assert_true(wire->size + (size_t)count < BITS_MAX);
  for (int i = 0; i < count; i++) wire->bits[wire->size++] = bits >> i & 1;
}

static void put_byte(struct wire *wire, unsigned byte, int data, int parity)
{
  unsigned odd = 0;
  for (int i = 0; i < data; i++) odd ^= byte >> i & 1;
  put_bits(wire, 0, 1);
  put_bits(wire, byte, data);
  if (parity) put_bits(wire, parity == 2 ? odd : !odd, 1);
  put_bits(wire, 1, 1);
}

static struct wire *send_text(const struct text *text, int data, int parity)
{
  static struct wire wire;
  wire.size = 0;
  put_bits(&wire, 0xFFFF, 13);
  for (size_t i = 0; i < text->size; i++) {
    put_byte(&wire, (unsigned char)text->bytes[i], data, parity);
    if (text->bytes[i] == '\n')
      for (int k = 0; k < 3; k++) put_bits(&wire, 0xFFFF, 15);
  }
  return &wire;
}

/* What a receiver for 8N1 makes of pulses that come `share` as fast as it thinks: it
 * waits for a falling edge and looks at the middle of each of its bits. */
static size_t hear(const struct wire *wire, double share, char *bytes, size_t room)
{
  size_t heard = 0;
  double t = 0;
  while (heard < room) {
    while ((size_t)t < wire->size && wire->bits[(size_t)t]) t = floor(t) + 1;
    if ((size_t)(t + 10 * share) >= wire->size) return heard;
    unsigned byte = 0;
    for (int i = 0; i < 8; i++) byte |= (unsigned)wire->bits[(size_t)(t + (1.5 + i) * share)] << i;
    bool stop = wire->bits[(size_t)(t + 9.5 * share)];
    bytes[heard++] = stop ? (char)byte : '\0';
    t += 9.5 * share;
    while (!stop && (size_t)t < wire->size && !wire->bits[(size_t)t]) t = floor(t) + 1;
  }
  return heard;
}

enum { SPEEDS = 8 };
static const int speeds[SPEEDS] = {9600, 115200, 19200, 57600, 38400, 4800, 2400, 1200};

static void judge(const struct wire *wire, int sent, struct be_rate_verdict *verdict)
{
  static char heard[SPEEDS][TEXT_MAX];
  struct be_rate_try tries[SPEEDS];
  struct be_err err = {0};
  for (int i = 0; i < SPEEDS; i++) {
    size_t size = hear(wire, (double)sent / speeds[i], heard[i], TEXT_MAX);
    tries[i] = (struct be_rate_try){speeds[i], "8N1", heard[i], size};
  }
  assert_int_equal(be_rate_judge(tries, SPEEDS, verdict, &err), BE_OK);
}

static void right_speed(void **state)
{
  (void)state;
  static struct be_rate_verdict verdict;
  for (int kind = 0; kind < 3; kind++)
    for (int i = 0; i < SPEEDS; i++) {
      struct text *text = start();
      for (int k = 0; k < FRAMES; k++)
        if (kind == 0) add(text, "%.2f\r\n", load_of(k));
        else if (kind == 1) add(text, "%s,GS,%+09.3f,kg\r\n", k < 4 ? "ST" : "US", load_of(k));
        else add(text, "%d,%.3f\r\n", 5021 + 13 * k, load_of(k));
      judge(send_text(text, 8, 0), speeds[i], &verdict);
      if (verdict.found != BE_OK || verdict.which != (size_t)i)
        print_error("kind %d at %d: %s\n", kind, speeds[i], verdict.why);
      assert_int_equal(verdict.found, BE_OK);
      assert_int_equal(verdict.which, i);
      assert_string_equal(verdict.form, "8N1");
      char says[40];
      snprintf(says, sizeof says, "at %d baud, 8N1", speeds[i]);
      assert_non_null(strstr(verdict.why, says));
    }
}

/* Seven bits with parity, heard as eight without. */
static void parity_is_seen(void **state)
{
  (void)state;
  static struct be_rate_verdict verdict;
  static const char *const forms[] = {"8N1", "7O1", "7E1"};
  for (int parity = 1; parity < 3; parity++) {
    struct text *text = start();
    for (int k = 0; k < FRAMES; k++) add(text, "ST,NT,%+09.3f,lb\r\n", load_of(k));
    judge(send_text(text, 7, parity), 4800, &verdict);
    assert_int_equal(verdict.found, BE_OK);
    assert_int_equal(speeds[verdict.which], 4800);
    assert_string_equal(verdict.form, forms[parity]);
  }
}

static void no_speed(void **state)
{
  (void)state;
  static struct be_rate_verdict verdict;
  struct be_random random;
  struct text *text = start();
  be_random_init(&random, 41, 0);
  for (int i = 0; i < 900; i++) text->bytes[text->size++] = (char)be_random_u64(&random);
  judge(send_text(text, 8, 0), 9600, &verdict);
  assert_int_equal(verdict.found, BE_NO);
  assert_non_null(strstr(verdict.why, "none of 8 speeds"));
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(kinds_of_text),    cmocka_unit_test(kinds_with_status),
      cmocka_unit_test(kinds_of_answers), cmocka_unit_test(orders_of_floats),
      cmocka_unit_test(two_readings),     cmocka_unit_test(noise_is_unknown),
      cmocka_unit_test(right_speed),      cmocka_unit_test(parity_is_seen),
      cmocka_unit_test(no_speed),
  };
  return be_tests("rig: detection", tests);
}
