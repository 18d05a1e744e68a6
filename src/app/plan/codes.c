/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Blind codes. With a prime number of characters every position's weight can be undone, and two
 * positions never weigh alike: so no wrong character and no swap leaves the sum at 0. */
#include "app/plan/plan.h"

#include <string.h>

/* Without 0 O Q D, 1 I L, vowels and Y; without S, Z, B, G, which are taken for 5, 2, 8, 6, and
 * without C, N, P, V, which are taken for T, M, R, W when seen or heard. */
const char be_code_alphabet[CODE_VALUES + 1] = "23456789FHJKMRTWX";
enum { DIGITS = 8 };

static int value_of(char c)
{
  if (c >= 'a' && c <= 'z') c = (char)(c - 'a' + 'A');
  const char *at = c ? strchr(be_code_alphabet, c) : NULL;
  return at ? (int)(at - be_code_alphabet) : -1;
}

int be_code_number(const char *text)
{
  int sum = 0, number = 0;
  bool letter = false;
  if (strlen(text) != CODE_LENGTH) return -1;
  for (int i = 0; i < CODE_LENGTH; i++) {
    int value = value_of(text[i]);
    if (value < 0) return -1;
    letter = letter || value >= DIGITS;
    sum += (i + 1) * value;
    if (i + 1 < CODE_LENGTH) number = number * CODE_VALUES + value;
  }
  return letter && sum % CODE_VALUES == 0 ? number : -1;
}

void be_code_draw(struct be_random *random, char code[CODE_LENGTH + 1])
{
  /* The last position weighs 4, and 4 times 13 is 1 modulo 17. */
  enum { UNDO = 13 };
  do {
    int sum = 0;
    for (int i = 0; i + 1 < CODE_LENGTH; i++) {
      int value = (int)be_random_below(random, CODE_VALUES);
      code[i] = be_code_alphabet[value];
      sum += (i + 1) * value;
    }
    code[CODE_LENGTH - 1] =
        be_code_alphabet[(CODE_VALUES - sum % CODE_VALUES) * UNDO % CODE_VALUES];
    code[CODE_LENGTH] = '\0';
  } while (be_code_number(code) < 0);
}
