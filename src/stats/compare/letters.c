/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A column is the sets that share one letter: member[set] is 1. Kept at all times:
 *   1. any two sets that are not (yet known to be) apart stand together in a column;
 *   2. no column lies within another. */
#include "stats/number/number.h"
#include "stats/compare/compare.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { LETTERS_MAX = 64, COLUMNS_MAX = 512, ALPHABET = 26 };

struct columns {
  unsigned char *members; /* COLUMNS_MAX rows of `sets` */
  size_t sets, count;
};

static unsigned char *column(const struct columns *columns, size_t i)
{
  return columns->members + i * columns->sets;
}

static bool lies_within(const unsigned char *small, const unsigned char *large, size_t sets)
{
  for (size_t g = 0; g < sets; g++)
    if (small[g] && !large[g]) return false;
  return true;
}

/* Keeps column i, just narrowed, unless it lies within another. */
static void absorb(struct columns *columns, size_t i)
{
  for (size_t other = 0; other < columns->count; other++) {
    if (other == i || !lies_within(column(columns, i), column(columns, other), columns->sets))
      continue;
    columns->count--;
    memmove(column(columns, i), column(columns, columns->count), columns->sets);
    return;
  }
}

/* Every column that holds both a and b becomes two, one without each. False when
 * there is no room. A column put into the place of an absorbed one comes from the
 * end, where those made here stand, or is looked at again. */
static bool insert(struct columns *columns, size_t a, size_t b)
{
  for (size_t i = 0; i < columns->count;) {
    unsigned char *one = column(columns, i);
    if (!one[a] || !one[b]) {
      i++;
      continue;
    }
    if (columns->count == COLUMNS_MAX) return false;
    unsigned char *two = column(columns, columns->count);
    memcpy(two, one, columns->sets);
    one[a] = 0;
    two[b] = 0;
    columns->count++;
    absorb(columns, columns->count - 1);
    absorb(columns, i);
  }
  return true;
}

/* A letter is not needed when all who share it share another too. */
static bool needed(const struct columns *columns, size_t i)
{
  const unsigned char *mine = column(columns, i);
  for (size_t a = 0; a < columns->sets; a++)
    for (size_t b = a; mine[a] && b < columns->sets; b++) {
      if (!mine[b]) continue;
      bool elsewhere = false;
      for (size_t other = 0; other < columns->count && !elsewhere; other++)
        elsewhere = other != i && column(columns, other)[a] && column(columns, other)[b];
      if (!elsewhere) return true;
    }
  return false;
}

/* Whether column a comes before b in the alphabet: it has the first set, in the
 * order given, that is not in both. */
static bool before(const unsigned char *a, const unsigned char *b, const size_t *order, size_t sets)
{
  for (size_t i = 0; i < sets; i++)
    if (a[order[i]] != b[order[i]]) return a[order[i]];
  return false;
}

static void give_letters(const struct columns *columns, const size_t *order, uint64_t *letters)
{
  memset(letters, 0, columns->sets * sizeof *letters);
  for (size_t i = 0; i < columns->count; i++) {
    size_t place = 0;
    for (size_t other = 0; other < columns->count; other++)
      place += before(column(columns, other), column(columns, i), order, columns->sets);
    for (size_t g = 0; g < columns->sets; g++)
      if (column(columns, i)[g]) letters[g] |= UINT64_C(1) << place;
  }
}

enum be_status be_letters(const bool *apart, const double *order, size_t count, uint64_t *letters,
                          struct be_err *err)
{
  if (count == 0) return BE_OK;
  enum be_status status = BE_OK;
  size_t *place = be_alloc_array(count, sizeof *place);
  double *key = be_alloc_array(count, sizeof *key);
  struct columns columns = {be_alloc_array(count, COLUMNS_MAX), count, 1};
  if (!place || !key || !columns.members) {
    status = be_fail(err, BE_NO_MEMORY, "no memory for the letters of %zu sets", count);
    goto done;
  }
  for (size_t g = 0; g < count; g++) key[g] = isnan(order[g]) ? INFINITY : -order[g];
  be_order(key, count, place);
  memset(columns.members, 1, count);
  bool room = true;
  for (size_t a = 0; a < count && room; a++)
    for (size_t b = a + 1; b < count && room; b++)
      if (apart[a * count + b]) room = insert(&columns, a, b);
  for (size_t i = columns.count; room && i-- > 0 && columns.count > 1;) {
    if (needed(&columns, i)) continue;
    columns.count--;
    memmove(column(&columns, i), column(&columns, columns.count), count);
  }
  if (!room || columns.count > LETTERS_MAX)
    status = be_fail(err, BE_TOO_LARGE, "%zu sets need more than %d letters", count, LETTERS_MAX);
  else give_letters(&columns, place, letters);
done:
  be_free(columns.members);
  be_free(key);
  be_free(place);
  return status;
}

void be_letters_text(uint64_t mask, char *text, size_t size)
{
  size_t used = 0;
  if (size > 0) text[0] = '\0';
  for (unsigned bit = 0; bit < LETTERS_MAX; bit++) {
    if (!(mask >> bit & 1)) continue;
    char letter[4] = {(char)('a' + bit % ALPHABET)};
    if (bit >= ALPHABET) letter[1] = (char)('1' + bit / ALPHABET);
    size_t length = strlen(letter);
    if (used + length >= size) return;
    memcpy(text + used, letter, length + 1);
    used += length;
  }
}
