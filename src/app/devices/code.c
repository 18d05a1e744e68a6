/* SPDX-License-Identifier: GPL-3.0-or-later */
/* 24 letters to the 8th are 1.1e11 codes; with 10 wrong tries a minute, and 5 of each code,
 * somebody who tries day and night for a year hits one with a chance of 5e-5. */
#include "app/devices/devices.h"

#include <string.h>

enum { WRONG_MAX = 5, IN_MINUTE_MAX = 10 };

/* None looks like another, on a screen or in a hand: no 0 O 1 I L 2 Z 5 S 8 B U. */
static const char letters[] = "34679ACDEFGHJKMNPQRTVWXY";
enum { LETTERS = sizeof letters - 1 };

enum be_status be_pairing_renew(struct be_pairing *pairing, enum be_device_role role, int64_t now_s,
                                struct be_err *err)
{
  unsigned char bytes[BE_CODE];
  char code[BE_CODE + 1] = "";
  pairing->code[0] = '\0';
  for (size_t made = 0; made < BE_CODE;) {
    enum be_status status = be_secret(bytes, sizeof bytes, err);
    if (status != BE_OK) return status;
    for (size_t i = 0; i < sizeof bytes && made < BE_CODE; i++)
      if (bytes[i] < 256 / LETTERS * LETTERS) code[made++] = letters[bytes[i] % LETTERS];
  }
  memcpy(pairing->code, code, sizeof code);
  pairing->role = role;
  pairing->made_s = now_s;
  pairing->wrong = 0;
  return BE_OK;
}

bool be_pairing_is_over(const struct be_pairing *pairing, int64_t now_s)
{
  /* A clock that was set back does not make a code last. */
  return !pairing->code[0] || now_s < pairing->made_s ||
         now_s - pairing->made_s >= BE_CODE_MINUTES * 60;
}

/* As people type it: small letters, with spaces and strokes. */
static bool read_typed(const char *typed, char code[BE_CODE + 1])
{
  size_t size = 0;
  memset(code, 0, BE_CODE + 1);
  for (; *typed; typed++) {
    char c = *typed;
    if (c == ' ' || c == '-') continue;
    if (size == BE_CODE) return false;
    code[size++] = c >= 'a' && c <= 'z' ? (char)(c - 'a' + 'A') : c;
  }
  return size == BE_CODE;
}

enum be_status be_pairing_try(struct be_pairing *pairing, const char *typed, int64_t now_s,
                              struct be_err *err)
{
  char code[BE_CODE + 1];
  if (now_s < pairing->minute_s || now_s - pairing->minute_s >= 60) {
    pairing->minute_s = now_s;
    pairing->in_minute = 0;
  }
  if (pairing->in_minute >= IN_MINUTE_MAX) {
    be_fail(err, BE_TOO_LARGE, "too many wrong codes were typed in the last minute");
    be_fail_remedy(err, "wait a minute, then type the code that stands at the bench by then");
    return BE_TOO_LARGE;
  }
  bool is_over = be_pairing_is_over(pairing, now_s);
  if (read_typed(typed, code) && !is_over && be_secret_same(code, pairing->code, BE_CODE))
    return BE_OK;
  pairing->in_minute++;
  if (++pairing->wrong >= WRONG_MAX) pairing->code[0] = '\0';
  be_fail(err, BE_NO, "that is not the code, or no longer");
  be_fail_remedy(err,
                 "type the %d letters and figures that stand at the bench now; each code is "
                 "good once, and for %d minutes",
                 BE_CODE, BE_CODE_MINUTES);
  return BE_NO;
}
