/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Answers to requests: Modbus RTU and TCP, and the numbers of IEEE 488.2. */
#include "rig_test.h"

static size_t request_of(const char *kind, const char *settings, char *bytes)
{
  struct be_frames *frames = frames_of(kind, settings);
  size_t size = be_frames_request(frames, bytes);
  be_frames_free(frames);
  return size;
}

/* The check value of CRC-16/MODBUS in the public catalogues of CRC algorithms. */
static void check_value(void **state)
{
  (void)state;
  assert_int_equal(be_crc16_modbus("123456789", 9), 0x4B37);
  assert_int_equal(be_crc16_modbus("", 0), 0xFFFF);
  /* The request of the application protocol's 6.3 (three registers from 107) to device 17,
   * as public guides print it with its check: 11 03 00 6B 00 03 76 87. */
  assert_int_equal(be_crc16_modbus("\x11\x03\x00\x6B\x00\x03", 6), 0x8776);
}

/* As the application protocol V1.1b3, 6.3, lays them out. A check appended to its bytes
 * leaves a remainder of 0. */
static void requests(void **state)
{
  (void)state;
  char bytes[BE_FRAME_REQUEST_MAX];
  assert_int_equal(request_of("modbus-rtu", "device=17 register=107", bytes), 8);
  assert_memory_equal(bytes, "\x11\x03\x00\x6B\x00\x02", 6);
  assert_int_equal(be_crc16_modbus(bytes, 8), 0);
  assert_int_equal(request_of("modbus-tcp", "device=17 register=107 function=4", bytes), 12);
  assert_memory_equal(bytes, "\x00\x01\x00\x00\x00\x06\x11\x04\x00\x6B\x00\x02", 12);
  assert_int_equal(request_of("scpi", "", bytes), 6);
  assert_memory_equal(bytes, "READ?\n", 6);
  assert_int_equal(request_of("number", "ask=\"W\\r\"", bytes), 2);
  assert_memory_equal(bytes, "W\r", 2);
  assert_int_equal(request_of("number", "", bytes), 0);
}

/* A question that manuals print often: device 1, two registers from 0, 01 03 00 00 00 02 C4 0B. */
static void known_request(void **state)
{
  (void)state;
  char bytes[BE_FRAME_REQUEST_MAX];
  assert_int_equal(request_of("modbus-rtu", "device=1 register=0", bytes), 8);
  assert_memory_equal(bytes, "\x01\x03\x00\x00\x00\x02\xC4\x0B", 8);
}

static size_t rtu_answer(char *out, unsigned char device, const char *data)
{
  out[0] = (char)device;
  out[1] = 3;
  out[2] = 4;
  memcpy(out + 3, data, 4);
  uint16_t crc = be_crc16_modbus(out, 7);
  out[7] = (char)(crc & 0xFF);
  out[8] = (char)(crc >> 8);
  return 9;
}

/* 12.34 as an IEEE 754 single is 41 45 70 A4. */
static void four_orders(void **state)
{
  (void)state;
  static const struct {
    const char *order, *data;
  } cases[] = {{"abcd", "\x41\x45\x70\xA4"},
               {"cdab", "\x70\xA4\x41\x45"},
               {"badc", "\x45\x41\xA4\x70"},
               {"dcba", "\xA4\x70\x45\x41"}};
  static struct kept kept;
  for (size_t i = 0; i < 4; i++) {
    char bytes[16], settings[80];
    snprintf(settings, sizeof settings, "device=9 unit=kg order=%s", cases[i].order);
    read_bytes(&kept, "modbus-rtu", settings, bytes, rtu_answer(bytes, 9, cases[i].data));
    assert_int_equal(kept.count, 1);
    assert_near(kept.samples[0].value, (double)12.34f, 0);
    assert_near(kept.samples[0].force_N, (double)12.34f * 9.80665, 1e-12);
    assert_int_equal(kept.samples[0].length, 9);
  }
}

static void rtu_among_rubbish(void **state)
{
  (void)state;
  static struct kept kept;
  char bytes[200];
  size_t size = 0;
  memcpy(bytes, "\x01\x03\x04garbage", 10);
  size = 10;
  size += rtu_answer(bytes + size, 1, "\x41\x45\x70\xA4");
  /* One bit is wrong, a half, another device, and one that is right. */
  size_t bad = size;
  size += rtu_answer(bytes + size, 1, "\x41\x45\x70\xA4");
  bytes[bad + 5] ^= 0x08;
  rtu_answer(bytes + size, 1, "\x41\x45\x70\xA4");
  size += 5;
  size += rtu_answer(bytes + size, 2, "\x41\x45\x70\xA4");
  size_t last = size;
  size += rtu_answer(bytes + size, 1, "\xC1\x45\x70\xA4");
  read_bytes(&kept, "modbus-rtu", "device=1", bytes, size);
  assert_int_equal(kept.count, 2);
  assert_int_equal(kept.samples[0].offset, 10);
  assert_int_equal(kept.samples[1].offset, last);
  assert_near(kept.samples[1].value, (double)-12.34f, 0);
  assert_int_equal(kept.samples[1].flags, BE_SAMPLE_AFTER_GARBAGE);
  assert_int_equal(kept.counts.garbage, size - 18);
  assert_same_cut("modbus-rtu", "device=1", bytes, size);
}

static void no_float(void **state)
{
  (void)state;
  static struct kept kept;
  static const struct {
    const char *data;
    unsigned flags;
  } cases[] = {{"\x7F\x80\x00\x00", BE_SAMPLE_OVER},
               {"\xFF\x80\x00\x00", BE_SAMPLE_UNDER},
               {"\x7F\xC0\x00\x01", BE_SAMPLE_NO_VALUE}};
  char bytes[16];
  for (size_t i = 0; i < 3; i++) {
    read_bytes(&kept, "modbus-rtu", "device=1 unit=N", bytes, rtu_answer(bytes, 1, cases[i].data));
    assert_int_equal(kept.samples[0].flags, cases[i].flags);
    assert_true(isnan(kept.samples[0].value) && isnan(kept.samples[0].force_N));
  }
  /* An exception: function 0x83, code 2, illegal data address. */
  memcpy(bytes, "\x01\x83\x02", 3);
  uint16_t crc = be_crc16_modbus(bytes, 3);
  bytes[3] = (char)(crc & 0xFF);
  bytes[4] = (char)(crc >> 8);
  read_bytes(&kept, "modbus-rtu", "device=1 unit=N", bytes, 5);
  assert_int_equal(kept.count, 1);
  assert_true(kept.samples[0].flags & BE_SAMPLE_ERROR);
}

static void tcp_answers(void **state)
{
  (void)state;
  static struct kept kept;
  static const char bytes[] = "\x00\x07\x00\x00\x00\x07\x01\x03\x04\x41\x45\x70\xA4"
                              "\x00\x08\x00\x00\x00\x03\x01\x83\x02"
                              "rubbish"
                              "\x00\x09\x00\x00\x00\x07\x01\x03\x04\xC1\x45\x70\xA4";
  read_bytes(&kept, "modbus-tcp", "device=1 unit=N", bytes, sizeof bytes - 1);
  assert_int_equal(kept.count, 3);
  assert_near(kept.samples[0].force_N, (double)12.34f, 0);
  assert_true(kept.samples[1].flags & BE_SAMPLE_ERROR);
  assert_near(kept.samples[2].force_N, (double)-12.34f, 0);
  assert_int_equal(kept.samples[2].flags, BE_SAMPLE_AFTER_GARBAGE);
  assert_int_equal(kept.counts.garbage, 7);
  assert_same_cut("modbus-tcp", "device=1 unit=N", bytes, sizeof bytes - 1);
}

/* The answer to the request before the last is late. */
static void late_answer(void **state)
{
  (void)state;
  static struct kept kept;
  char bytes[BE_FRAME_REQUEST_MAX];
  struct be_frames *frames = frames_of("modbus-tcp", "device=1 unit=N");
  kept.count = 0;
  be_frames_restart(frames, true);
  be_frames_request(frames, bytes);
  be_frames_request(frames, bytes);
  be_frames_feed(frames, "\x00\x01\x00\x00\x00\x07\x01\x03\x04\x41\x45\x70\xA4", 13, 5, keep,
                 &kept);
  be_frames_feed(frames, "\x00\x02\x00\x00\x00\x07\x01\x03\x04\x41\x45\x70\xA4", 13, 6, keep,
                 &kept);
  be_frames_free(frames);
  assert_int_equal(kept.count, 2);
  assert_int_equal(kept.samples[0].flags, BE_SAMPLE_LATE);
  assert_int_equal(kept.samples[1].flags, 0);
}

/* NR1, NR2 and NR3 of IEEE 488.2; 9.9E37 and 9.91E37 of SCPI. */
static void number_forms(void **state)
{
  (void)state;
  static const struct {
    const char *text, *settings;
    double value;
    unsigned flags;
  } cases[] = {
      {"+12\n", "", 12, 0},
      {"-12.340\r\n", "", -12.34, 0},
      {"+1.23400000E+01\n", "", 12.34, 0},
      {"1.5E0,2.5E0,3.5E0\n", "field=3", 3.5, 0},
      {"1.5 , 2.5\n", "field=2", 2.5, 0},
      {"9.9E37\n", "", NAN, BE_SAMPLE_OVER},
      {"+9.90000000E+37\n", "", NAN, BE_SAMPLE_OVER},
      {"-9.9E37\n", "", NAN, BE_SAMPLE_UNDER},
      {"9.91E37\n", "", NAN, BE_SAMPLE_NO_VALUE},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct be_rig_sample sample = one_of("scpi", cases[i].settings, cases[i].text);
    assert_near(sample.value, cases[i].value, 0);
    assert_int_equal(sample.flags, cases[i].flags);
  }
  static struct kept kept;
  static const char *const wrong[] = {"No error\n", "12 kg\n", "1.5;2.5\n", ",1.5\n", "1.5\n"};
  for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
    read_text(&kept, "scpi", "field=2", wrong[i]);
    assert_int_equal(kept.count, 0);
    assert_int_equal(kept.counts.not_understood, 1);
  }
}

static void blocks(void **state)
{
  (void)state;
  static struct kept kept;
  /* Two singles, 12.34 and -12.34; the bytes 0A and 23 inside are no end and no start. */
  static const char two[] = "#18\x41\x45\x70\xA4\xC1\x45\x70\xA4\n#14\x41\x0A\x23\x0A\n";
  read_bytes(&kept, "scpi", "", two, sizeof two - 1);
  assert_int_equal(kept.count, 3);
  assert_near(kept.samples[0].value, (double)12.34f, 0);
  assert_near(kept.samples[1].value, (double)-12.34f, 0);
  assert_int_equal(kept.samples[1].offset, 7);
  assert_int_equal(kept.samples[1].length, 4);
  assert_near(kept.samples[2].value, 8.633554458618164, 1e-14);
  assert_int_equal(kept.counts.garbage, 0);
  assert_same_cut("scpi", "", two, sizeof two - 1);
  /* The same, lowest byte first; and a double. */
  static const char swapped[] = "#14\xA4\x70\x45\x41\n";
  read_bytes(&kept, "scpi", "border=swapped", swapped, sizeof swapped - 1);
  assert_near(kept.samples[0].value, (double)12.34f, 0);
  static const char wide[] = "#18\x40\x28\xAE\x14\x7A\xE1\x47\xAE\n";
  read_bytes(&kept, "scpi", "block=real64", wide, sizeof wide - 1);
  assert_near(kept.samples[0].value, 12.34, 0);
  /* A length that does not fit the numbers, no length, one that is no number; then a reading. */
  static const char wrong[] = "#13abc\n#0abcd\n#2x7abc\n+1.5E0\n";
  read_bytes(&kept, "scpi", "", wrong, sizeof wrong - 1);
  assert_int_equal(kept.count, 1);
  assert_int_equal(kept.counts.not_understood, 3);
  assert_int_equal(kept.samples[0].flags, BE_SAMPLE_AFTER_GARBAGE);
}

static void too_long(void **state)
{
  (void)state;
  static struct kept kept;
  static char bytes[BE_FRAME_BLOCK_MAX + 64];
  int head = snprintf(bytes, sizeof bytes, "#5%05d", BE_FRAME_BLOCK_MAX);
  size_t size = (size_t)head + BE_FRAME_BLOCK_MAX;
  memset(bytes + head, 7, BE_FRAME_BLOCK_MAX);
  memcpy(bytes + size, "\n2.5\n", 5);
  read_bytes(&kept, "scpi", "", bytes, size + 5);
  assert_int_equal(kept.count, 1);
  assert_near(kept.samples[0].value, 2.5, 0);
  assert_int_equal(kept.counts.too_long, 1);
  assert_int_equal(kept.counts.garbage, size);
  memset(bytes, '1', 700);
  memcpy(bytes + 700, "\n2.5\n", 5);
  read_bytes(&kept, "scpi", "", bytes, 705);
  assert_int_equal(kept.count, 1);
  assert_int_equal(kept.counts.garbage, 700);
  assert_int_equal(kept.counts.too_long, 1);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(check_value),       cmocka_unit_test(requests),
      cmocka_unit_test(known_request),     cmocka_unit_test(four_orders),
      cmocka_unit_test(rtu_among_rubbish), cmocka_unit_test(no_float),
      cmocka_unit_test(tcp_answers),       cmocka_unit_test(late_answer),
      cmocka_unit_test(number_forms),      cmocka_unit_test(blocks),
      cmocka_unit_test(too_long),
  };
  return be_tests("rig: answers to requests", tests);
}
