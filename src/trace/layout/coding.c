/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which coding a text is in. Marks and zero bytes tell UTF-16; what is not
 * UTF-8 is the older coding in which its headings make sense. */
#include "trace/layout/layout.h"

#include <assert.h>
#include <string.h>

static const struct {
  const char *name; /* as iconv knows it */
  const char *word;
} codings[] = {
    [BE_UTF8] = {"UTF-8", "UTF-8"},
    [BE_UTF8_BOM] = {"UTF-8", "UTF-8 with mark"},
    [BE_UTF16_LE] = {"UTF-16LE", "UTF-16 little-endian"},
    [BE_UTF16_BE] = {"UTF-16BE", "UTF-16 big-endian"},
    /* Windows-1252 holds Latin-1 and more. */
    [BE_LATIN1] = {"CP1252", "Latin-1"},
    [BE_GB18030] = {"GB18030", "GB 18030"},
    [BE_SHIFT_JIS] = {"CP932", "Shift JIS"},
};

const char *be_coding_name(enum be_text_coding coding)
{
  assert((size_t)coding < sizeof codings / sizeof codings[0]);
  return codings[coding].name;
}

const char *be_text_coding_word(enum be_text_coding coding)
{
  assert((size_t)coding < sizeof codings / sizeof codings[0]);
  return codings[coding].word;
}

/* ---- marks ---- */

/* UTF-16 without a mark: nearly every other byte of the front is NUL. */
static bool looks_utf16(const char *bytes, size_t size, size_t high)
{
  size_t front = size < 256 ? size : 256, zeros = 0, others = 0;
  if (size < 4) return false;
  for (size_t i = 0; i + 1 < front; i += 2) {
    zeros += bytes[i + high] == 0;
    others += bytes[i + 1 - high] == 0;
  }
  return zeros * 10 >= front / 2 * 9 && others == 0;
}

enum be_text_coding be_coding_of_front(const char *bytes, size_t size, size_t *mark)
{
  *mark = 2;
  if (size >= 2 && memcmp(bytes, "\xFF\xFE", 2) == 0) return BE_UTF16_LE;
  if (size >= 2 && memcmp(bytes, "\xFE\xFF", 2) == 0) return BE_UTF16_BE;
  *mark = 3;
  if (size >= 3 && memcmp(bytes, "\xEF\xBB\xBF", 3) == 0) return BE_UTF8_BOM;
  *mark = 0;
  if (looks_utf16(bytes, size, 1)) return BE_UTF16_LE;
  return looks_utf16(bytes, size, 0) ? BE_UTF16_BE : BE_UTF8;
}

/* ---- by sense ---- */

enum { TRIED_SIZE = 16 * 1024, WRONG = -1000 };

/* Does it hold a word of the vocabulary? A unit would not do: "(N)" is ASCII in
 * every coding. */
static bool has_word(struct be_span cell)
{
  struct be_speech speech = {0};
  char folded[2 * BE_NAME_MAX];
  be_words_fold(cell, folded, sizeof folded);
  be_words_score(folded, &speech);
  return speech.score[BE_ROLE_TIME] || speech.score[BE_ROLE_FORCE] ||
         speech.score[BE_ROLE_EXTENSION] || speech.other || speech.figure || speech.counter;
}

/* Cells with letters beyond ASCII that say something a heading would. */
static int sense_of(const char *text, size_t size)
{
  int sense = 0;
  const char *end = text + size;
  while (text < end) {
    const char *stop = text;
    bool beyond = false;
    while (stop < end && !strchr(",;\t\r\n", *stop)) beyond |= (unsigned char)*stop++ >= 0x80;
    if (beyond) sense += has_word((struct be_span){text, (size_t)(stop - text)});
    text = stop + 1;
  }
  return sense;
}

static int sense_in(enum be_text_coding coding, const char *bytes, size_t size, char *text)
{
  struct be_recoder *recoder = be_recoder_create(be_coding_name(coding));
  size_t made = 0;
  if (!recoder) return WRONG;
  if (size > TRIED_SIZE) size = TRIED_SIZE;
  size_t used = be_recode(recoder, bytes, size, text, (size_t)TRIED_SIZE * 3, &made);
  be_recoder_free(recoder);
  bool wrong = size - used >= 4;
  return sense_of(text, made) + (wrong ? WRONG : 0);
}

enum be_text_coding be_coding_guess(const char *bytes, size_t size)
{
  static const enum be_text_coding tried[] = {BE_LATIN1, BE_GB18030, BE_SHIFT_JIS};
  enum be_text_coding best = BE_LATIN1;
  int most = 0;
  char *text = be_alloc((size_t)TRIED_SIZE * 3);
  for (size_t i = 0; text && i < sizeof tried / sizeof tried[0]; i++) {
    int sense = sense_in(tried[i], bytes, size, text);
    if (i == 0 || sense > most) best = tried[i], most = sense;
  }
  be_free(text);
  return best;
}
