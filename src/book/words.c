/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "book/inside.h"

#include <string.h>

struct word {
  const char *word;
  const char *others;
};

#define X(code, word, others) {word, others},
static const struct word designs[] = {BE_DESIGN_LIST(X)};
static const struct word soaks[] = {BE_SOAK_LIST(X)};
static const struct word kinds[] = {BE_KIND_LIST(X)};
static const struct word whats[] = {BE_WHAT_LIST(X)};
static const struct word wheres[] = {BE_WHERE_LIST(X)};
static const struct word whiches[] = {BE_WHICH_LIST(X)};
#undef X

static const struct {
  const struct word *words;
  int count;
} lists[] = {
#define LIST(words)                                                                                \
  {                                                                                                \
    words, (int)(sizeof words / sizeof words[0])                                                   \
  }
    [WORDS_DESIGN] = LIST(designs), [WORDS_SOAK] = LIST(soaks),   [WORDS_KIND] = LIST(kinds),
    [WORDS_WHAT] = LIST(whats),     [WORDS_WHERE] = LIST(wheres), [WORDS_WHICH] = LIST(whiches),
#undef LIST
};

static bool among(const char *text, const char *others)
{
  char word[64];
  for (const char *at = others; *at;) {
    size_t length = strcspn(at, "|");
    if (length < sizeof word) {
      memcpy(word, at, length);
      word[length] = '\0';
      if (be_text_same(text, word)) return true;
    }
    at += length + (at[length] == '|');
  }
  return false;
}

int be_words_find(enum words list, const char *text)
{
  for (int i = 0; i < lists[list].count; i++)
    if (be_text_same(text, lists[list].words[i].word)) return i;
  for (int i = 0; i < lists[list].count; i++)
    if (among(text, lists[list].words[i].others)) return i;
  return -1;
}

void be_words_list(enum words list, char *text, size_t size)
{
  size_t used = 0;
  text[0] = '\0';
  for (int i = 1; i < lists[list].count; i++) {
    const char *word = lists[list].words[i].word;
    size_t length = strlen(word);
    if (used + length + 3 > size) return;
    if (used) memcpy(text + used, ", ", 2), used += 2;
    memcpy(text + used, word, length + 1);
    used += length;
  }
}

static const char *word_of(enum words list, int i)
{
  return i >= 0 && i < lists[list].count ? lists[list].words[i].word : "not recorded";
}

const char *be_design_word(enum be_design design)
{
  return word_of(WORDS_DESIGN, (int)design);
}
const char *be_soak_word(enum be_soak soak)
{
  return word_of(WORDS_SOAK, (int)soak);
}
const char *be_kind_word(enum be_kind kind)
{
  return word_of(WORDS_KIND, (int)kind);
}
const char *be_what_word(enum be_what what)
{
  return word_of(WORDS_WHAT, (int)what);
}
const char *be_where_word(enum be_where where)
{
  return word_of(WORDS_WHERE, (int)where);
}
const char *be_which_word(enum be_which which)
{
  return word_of(WORDS_WHICH, (int)which);
}
