/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/base.h"

#include <stdio.h>
#include <string.h>

static _Thread_local struct be_progress *followed;

struct be_progress *be_progress_follow(struct be_progress *progress)
{
  struct be_progress *before = followed;
  followed = progress;
  return before;
}

void be_progress_step(const char *step, const char *of, size_t all)
{
  if (!followed) return;
  atomic_store(&followed->done, 0);
  atomic_store(&followed->all, all);
  atomic_store(&followed->of, of);
  atomic_store(&followed->step, step);
}

void be_progress_at(size_t done)
{
  if (followed) atomic_store_explicit(&followed->done, done, memory_order_relaxed);
}

/* "40,000" */
static void group(size_t number, char text[32])
{
  char digits[24];
  size_t length = (size_t)snprintf(digits, sizeof digits, "%zu", number), used = 0;
  for (size_t i = 0; i < length; i++) {
    if (i && (length - i) % 3 == 0) text[used++] = ',';
    text[used++] = digits[i];
  }
  text[used] = '\0';
}

/* The four are read one after the other: between two steps they may not belong together, which
 * lasts until they are read again. */
void be_progress_words(const struct be_progress *progress, char words[BE_PROGRESS_WORDS])
{
  const char *step = atomic_load(&progress->step), *of = atomic_load(&progress->of);
  size_t all = atomic_load(&progress->all), done = atomic_load(&progress->done);
  char first[32], last[32];
  words[0] = '\0';
  if (!step) return;
  group(done < all ? done : all, first);
  group(all, last);
  if (all) snprintf(words, BE_PROGRESS_WORDS, "%s, %s of %s %s", step, first, last, of ? of : "");
  else snprintf(words, BE_PROGRESS_WORDS, "%s", step);
}
