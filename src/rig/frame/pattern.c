/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Patterns: what a frame looks like, told in one line. Bytes stand for themselves,
 * a blank for a run of blanks, and {...} for what varies. */
#include "rig/frame/inside.h"

#include <math.h>
#include <string.h>

static const struct {
  const char *name;
  enum piece_type type;
} names[] = {{"force", PIECE_FORCE}, {"time", PIECE_TIME},     {"count", PIECE_COUNT},
             {"unit", PIECE_UNIT},   {"status", PIECE_STATUS}, {"skip", PIECE_SKIP}};

static const struct {
  const char *word;
  unsigned flags;
} meanings[] = {{"steady", BE_SAMPLE_STABLE}, {"moving", BE_SAMPLE_MOVING},
                {"gross", BE_SAMPLE_GROSS},   {"net", BE_SAMPLE_NET},
                {"over", BE_SAMPLE_OVER},     {"under", BE_SAMPLE_UNDER},
                {"error", BE_SAMPLE_ERROR},   {"nothing", 0}};

/* What {status} reads when it is told no words: common practice of weighing
 * indicators, no source. Longer words stand first. */
static const char usual_words[] = "ST=steady US=moving OL=over UL=under GS=gross NT=net TR=net "
                                  "ER=error G=gross N=net O=over U=under M=moving E=error";

struct text {
  const char *at;
  size_t size;
};

static bool same(struct text text, const char *word)
{
  return text.size == strlen(word) && memcmp(text.at, word, text.size) == 0;
}

/* Takes the next word, up to a blank, off the text. */
static struct text next_word(struct text *text)
{
  while (text->size && *text->at == ' ') text->at++, text->size--;
  struct text word = {text->at, 0};
  while (word.size < text->size && word.at[word.size] != ' ') word.size++;
  text->at += word.size;
  text->size -= word.size;
  return word;
}

static enum be_status wrong(struct be_err *err, struct text text, const char *why)
{
  be_fail(err, BE_WRONG_USE, "in the pattern, \"%.*s\" %s", (int)text.size, text.at, why);
  be_fail_remedy(err,
                 "a pattern is written like \"{status},{force},{unit?}\"; docs/formats.md lists "
                 "what may stand in {...}");
  return BE_WRONG_USE;
}

/* One WORD=MEANING of a status or a unit. */
static enum be_status add_word(struct pattern *pattern, struct piece *piece, struct text text,
                               struct be_err *err)
{
  const char *equals = memchr(text.at, '=', text.size);
  size_t length = equals ? (size_t)(equals - text.at) : 0;
  if (length == 0 || length > PIECE_WORD_MAX)
    return wrong(err, text, "is no WORD=MEANING with a word of 1 to 8 bytes");
  if (piece->words_count == PIECE_WORDS_MAX || pattern->words_count == PATTERN_WORDS_MAX)
    return wrong(err, text, "is one word too many");
  struct text meaning = {equals + 1, text.size - length - 1};
  struct piece_word *word = &pattern->words[pattern->words_count++];
  *word = (struct piece_word){.size = length};
  memcpy(word->text, text.at, length);
  piece->words_count++;
  if (piece->type == PIECE_UNIT) {
    word->unit = be_unit_find_in(BE_FORCE, meaning.at, meaning.size);
    return word->unit ? BE_OK : wrong(err, text, "names no unit of force");
  }
  for (size_t i = 0; i < sizeof meanings / sizeof meanings[0]; i++)
    if (same(meaning, meanings[i].word)) {
      word->flags = meanings[i].flags;
      return BE_OK;
    }
  return wrong(err, text, "means none of steady, moving, gross, net, over, under, error, nothing");
}

/* A width, and decimals behind a point: "7", "7.2", ".2". */
static bool read_width(struct piece *piece, struct text text)
{
  size_t i = 0;
  for (; i < text.size && text.at[i] >= '0' && text.at[i] <= '9' && piece->width < 100; i++)
    piece->width = 10 * piece->width + (text.at[i] - '0');
  if (i < text.size && piece->type == PIECE_FORCE && text.at[i] == '.' && i + 2 == text.size &&
      text.at[i + 1] >= '1' && text.at[i + 1] <= '9') {
    piece->decimals = text.at[i + 1] - '0';
    i += 2;
  }
  return i == text.size && piece->width < 100 && text.size > 0;
}

static enum be_status read_arguments(struct pattern *pattern, struct piece *piece, struct text text,
                                     struct be_err *err)
{
  struct text whole = text, word;
  bool words = piece->type == PIECE_UNIT || piece->type == PIECE_STATUS;
  if (piece->type == PIECE_STATUS && text.size == 0)
    text = (struct text){usual_words, strlen(usual_words)};
  while ((word = next_word(&text)).size) {
    enum be_status status = BE_OK;
    if (words) status = add_word(pattern, piece, word, err);
    else if (piece->type == PIECE_TIME && same(word, "s")) piece->scale = 1;
    else if (piece->type == PIECE_TIME && same(word, "ms")) piece->scale = 1e3;
    else if (piece->type == PIECE_TIME && same(word, "us")) piece->scale = 1e6;
    else if (piece->type == PIECE_TIME || piece->type == PIECE_COUNT || !read_width(piece, word))
      status = wrong(err, word, "cannot stand there");
    if (status != BE_OK) return status;
  }
  if (piece->type == PIECE_TIME && !(piece->scale > 0))
    return wrong(err, whole, "is no unit of time: write {time s}, {time ms} or {time us}");
  return BE_OK;
}

static enum be_status read_braces(struct pattern *pattern, struct piece *piece, struct text text,
                                  struct be_err *err)
{
  struct text whole = text, name = next_word(&text);
  if (name.size && name.at[name.size - 1] == '?') {
    piece->optional = true;
    name.size--;
  }
  for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
    if (!same(name, names[i].name)) continue;
    piece->type = names[i].type;
    bool may = piece->type == PIECE_UNIT || piece->type == PIECE_STATUS;
    if (piece->optional && !may)
      return wrong(err, whole,
                   "must be there: only {unit?} and "
                   "{status?} may be missing");
    piece->first_word = pattern->words_count;
    return read_arguments(pattern, piece, text, err);
  }
  return wrong(err, whole, "is none of {force}, {unit}, {status}, {time ...}, {count}, {skip}");
}

static bool is_blank(char c)
{
  return c == ' ' || c == '\t';
}

/* One piece from the start of the text; takes it off. */
static enum be_status read_piece(struct pattern *pattern, struct piece *piece, struct text *text,
                                 struct be_err *err)
{
  size_t used = 1;
  *piece = (struct piece){.type = PIECE_LITERAL, .literal = *text->at};
  if (is_blank(*text->at)) {
    piece->type = PIECE_BLANK;
    while (used < text->size && is_blank(text->at[used])) used++;
  } else if (*text->at == '{' && text->size > 1 && text->at[1] == '{') {
    used = 2;
  } else if (*text->at == '{') {
    const char *close = memchr(text->at, '}', text->size);
    if (!close) return wrong(err, *text, "has no }");
    used = (size_t)(close - text->at) + 1;
    enum be_status status = read_braces(pattern, piece, (struct text){text->at + 1, used - 2}, err);
    if (status != BE_OK) return status;
  }
  text->at += used;
  text->size -= used;
  return BE_OK;
}

/* Without its first bytes, a frame that starts with what varies in length can still
 * look like one. */
static bool has_open_start(const struct pattern *pattern)
{
  const struct piece *first = &pattern->pieces[0];
  if (first->type == PIECE_STATUS || first->type == PIECE_UNIT) return first->optional;
  return first->type != PIECE_LITERAL && first->type != PIECE_BLANK && first->width == 0;
}

enum be_status be_pattern_compile(const char *text, size_t size, struct pattern *pattern,
                                  struct be_err *err)
{
  struct text rest = {text, size}, whole = rest;
  size_t times[PIECE_SKIP + 1] = {0};
  pattern->count = pattern->words_count = 0;
  while (rest.size) {
    if (pattern->count == PIECES_MAX)
      return wrong(err, rest, "is too long: 24 pieces are the most");
    struct piece *piece = &pattern->pieces[pattern->count];
    enum be_status status = read_piece(pattern, piece, &rest, err);
    if (status != BE_OK) return status;
    times[piece->type]++;
    pattern->count++;
  }
  if (times[PIECE_FORCE] != 1) return wrong(err, whole, "needs {force}, once");
  if (times[PIECE_TIME] > 1 || times[PIECE_COUNT] > 1 || times[PIECE_UNIT] > 1)
    return wrong(err, whole, "has {time}, {count} or {unit} twice");
  pattern->open_start = has_open_start(pattern);
  return BE_OK;
}
