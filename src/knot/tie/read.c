/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Statements. Blocks (repeat, when, doubled) are run where they stand, a word after another. */
#include "knot/tie/statements.h"

#include <stdio.h>

static enum be_status run(struct reading *r);

const struct word *be_read_word(struct reading *r)
{
  const struct word *word = &r->words.list[r->at];
  if (word->length) r->at++;
  r->done++;
  return word;
}

static const struct word *next(const struct reading *r)
{
  return &r->words.list[r->at];
}

bool be_read_is(struct reading *r, const char *text)
{
  if (!be_word_is(next(r), text)) return false;
  be_read_word(r);
  return true;
}

int be_word_size(const struct word *word)
{
  return (int)(word->length > 60 ? 60 : word->length);
}

enum be_status be_read_number(struct reading *r, double *value)
{
  const struct word *word = be_read_word(r);
  const char *at = word->at;
  if (!word->length) return be_tie_wrong(r->err, word->place, "a number is missing at the end");
  enum be_status status = be_tie_number(&r->names, word, &at, value, r->err);
  if (status == BE_OK && at != word->at + word->length)
    return be_tie_wrong(r->err, word->place, "\"%.*s\" is no number", be_word_size(word), word->at);
  return status;
}

enum be_status be_read_point(struct reading *r, struct be_point *point, bool *given)
{
  const struct word *word = be_read_word(r);
  const char *at = word->at, *end = at + word->length;
  double part[3] = {0};
  size_t parts = 0;
  while (at < end && parts < 3) {
    enum be_status status = be_tie_number(&r->names, word, &at, &part[parts++], r->err);
    if (status != BE_OK) return status;
    if (at == end || *at != ',') break;
    at++;
  }
  if (at != end || parts < 2 || end[-1] == ',')
    return be_tie_wrong(r->err, word->place, "\"%.*s\" is no point: it is x,y or x,y,z",
                        be_word_size(word), word->at);
  *point = (struct be_point){part[0], part[1], part[2]};
  *given = parts == 3;
  return BE_OK;
}

enum be_status be_read_held(struct reading *r, bool *held)
{
  const struct word *name = be_read_word(r);
  const struct name *known = be_names_look(&r->names, name->at, name->length);
  if (!known)
    return be_tie_wrong(r->err, name->place, "\"%.*s\" is no setting", be_word_size(name),
                        name->at);
  if (!known->number) {
    const struct word *choice = be_read_word(r);
    if (!be_is_choice(r, name, choice))
      return be_tie_wrong(r->err, choice->place, "\"%.*s\" is none of the choices of \"%.*s\"",
                          be_word_size(choice), choice->at, be_word_size(name), name->at);
    *held = choice->length == known->word.length &&
            memcmp(choice->at, known->word.at, choice->length) == 0;
    return BE_OK;
  }
  bool from = be_read_is(r, "from");
  double value;
  enum be_status status = be_read_number(r, &value);
  *held = from ? known->value >= value - 1e-9 : fabs(known->value - value) < 1e-9;
  return status;
}

/* ---- blocks ---- */

static bool opens_block(const struct word *word)
{
  return be_word_is(word, "repeat") || be_word_is(word, "doubled") || (be_word_is(word, "when"));
}

static bool ends_part(const struct word *word)
{
  return be_word_is(word, "end") || be_word_is(word, "else") || be_word_is(word, "tip");
}

/* Goes on to the word that ends this part of a block. */
static void pass_over(struct reading *r)
{
  for (size_t depth = 0; next(r)->length; r->at++) {
    /* "mirror when" opens no block. */
    bool opens = opens_block(next(r)) && !(r->at && be_word_is(next(r) - 1, "mirror"));
    if (depth == 0 && ends_part(next(r))) return;
    if (opens) depth++;
    else if (be_word_is(next(r), "end")) depth--;
  }
}

static enum be_status end_block(struct reading *r, const struct word *of)
{
  if (be_read_is(r, "end")) return BE_OK;
  const struct word *word = next(r);
  if (!word->length)
    return be_tie_wrong(r->err, of->place, "\"%.*s\" is not closed: its \"end\" is missing",
                        be_word_size(of), of->at);
  return be_tie_wrong(r->err, word->place, "\"%.*s\" has no part \"%.*s\"", be_word_size(of),
                      of->at, be_word_size(word), word->at);
}

static enum be_status read_when(struct reading *r, const struct word *word)
{
  bool held = false;
  enum be_status status = be_read_held(r, &held);
  for (int part = 0; status == BE_OK && part < 2; part++) {
    if (held == (part == 0)) status = run(r);
    else pass_over(r);
    if (part == 1 || !be_read_is(r, "else")) break;
  }
  return status == BE_OK ? end_block(r, word) : status;
}

static enum be_status read_repeat(struct reading *r, const struct word *word)
{
  static const struct word counter = {"i", 1, {0, 0}, false};
  double times;
  const struct word *name = &counter;
  enum be_status status = be_read_number(r, &times);
  if (status != BE_OK) return status;
  if (!(times >= 0 && times <= 1000) || times != floor(times))
    return be_tie_wrong(r->err, word->place, "repeat is from 0 to 1000 times, not %g", times);
  if (be_read_is(r, "as")) {
    name = be_read_word(r);
    status = be_name_check(name, r->err);
    if (status != BE_OK) return status;
  }
  size_t body = r->at, outer = r->names.count;
  if (times == 0) pass_over(r);
  for (int i = 1; status == BE_OK && i <= (int)times; i++) {
    r->at = body;
    r->names.count = outer;
    if (outer == NAMES_MAX)
      return be_tie_wrong(r->err, word->place, "there are more than %d names", NAMES_MAX);
    r->names.list[r->names.count++] = (struct name){name->at, name->length, true, i, {0}};
    status = run(r);
    if (status == BE_OK && !be_word_is(next(r), "end")) break;
  }
  r->names.count = outer;
  return status == BE_OK ? end_block(r, word) : status;
}

/* Steps that were made since give way to those of a companion beside, back to where they began. */
static enum be_status come_back(struct reading *r, size_t first, size_t turn, signed char side)
{
  struct sketch *line = r->line;
  for (size_t i = first; i < turn; i++) steps_of(line)[i].side = side;
  for (size_t i = turn; i-- > first;) {
    struct step *back = be_list_add(&line->steps, sizeof *back, r->scratch);
    if (!back) return be_list_failed(&line->steps, r->err);
    *back = (struct step){steps_of(line)[i].leg, true, (signed char)-side};
  }
  return BE_OK;
}

static enum be_status read_doubled(struct reading *r, const struct word *word)
{
  struct sketch *line = r->line;
  if (!line) return be_tie_wrong(r->err, word->place, "no line is begun that is doubled");
  signed char side = be_read_is(r, "right") ? -1 : 1;
  if (side > 0) be_read_is(r, "left");
  size_t first_dot = line->dots.count, first = line->steps.count + (r->here != (size_t)NONE);
  enum be_status status = run(r);
  if (status != BE_OK) return status;
  if (r->line != line || line->dots.count < first_dot + 2)
    return be_tie_wrong(r->err, word->place, "what is doubled has at least two points");
  size_t turn = line->steps.count, turn_dot = r->here;
  if (be_read_is(r, "tip")) {
    size_t tip = line->dots.count;
    status = run(r);
    if (status != BE_OK) return status;
    if (r->line != line || line->dots.count == tip)
      return be_tie_wrong(r->err, word->place, "the tip of what is doubled has a point");
    status = be_sketch_leg(r, turn_dot, word->place);
  }
  if (status == BE_OK) status = come_back(r, first, turn, side);
  r->here = first_dot;
  return status == BE_OK ? end_block(r, word) : status;
}

/* ---- statements ---- */

static enum be_status read_let(struct reading *r, const struct word *word)
{
  const struct word *name = be_read_word(r);
  double value;
  (void)word;
  enum be_status status = be_read_number(r, &value);
  return status == BE_OK ? be_names_put(&r->names, name, value, r->err) : status;
}

static enum be_status read_mirror(struct reading *r, const struct word *word)
{
  (void)word;
  if (!be_read_is(r, "when")) {
    r->sketches.mirror = !r->sketches.mirror;
    return BE_OK;
  }
  bool held = false;
  enum be_status status = be_read_held(r, &held);
  r->sketches.mirror ^= held;
  return status;
}

static enum be_status read_view(struct reading *r, const struct word *word)
{
  double turn = 0, tilt = 0;
  (void)word;
  enum be_status status = be_read_number(r, &turn);
  if (status == BE_OK) status = be_read_number(r, &tilt);
  r->sketches.view = be_view_of(turn, tilt);
  return status;
}

static enum be_status read_coil(struct reading *r, const struct word *word)
{
  if (!r->line) return be_tie_wrong(r->err, word->place, "no line is begun that is coiled");
  return be_shape_coil(r);
}

static bool are_letters(const struct word *word)
{
  for (size_t i = 0; i < word->length; i++)
    if (!strchr("ou.", word->at[i])) return false;
  return true;
}

static enum be_status read_item(struct reading *r, const struct word *word)
{
  bool number =
      word->length && (strchr("-.(0123456789", word->at[0]) || memchr(word->at, ',', word->length));
  if (!are_letters(word) && !number)
    return be_tie_wrong(r->err, word->place, "\"%.*s\" is not known here", be_word_size(word),
                        word->at);
  if (!r->line) return be_tie_wrong(r->err, word->place, "no line is begun that runs here");
  if (are_letters(word)) return be_sketch_letters(r, word);
  r->at--;
  struct dot dot = {.place = word->place};
  enum be_status status = be_read_point(r, &dot.at, &dot.given);
  return status == BE_OK ? be_sketch_dot(r, &dot) : status;
}

static const struct {
  const char *word;
  enum be_status (*read)(struct reading *r, const struct word *word);
} statements[] = {
    {"also", be_read_also},  {"coil", read_coil},        {"doubled", read_doubled},
    {"kind", be_read_kind},  {"let", read_let},          {"line", be_read_line},
    {"mirror", read_mirror}, {"pulled", be_read_pulled}, {"repeat", read_repeat},
    {"ring", be_read_line},  {"rod", be_read_line},      {"set", be_read_set},
    {"tie", be_read_tie},    {"view", read_view},        {"when", read_when},
};

static enum be_status run(struct reading *r)
{
  if (++r->depth > 30)
    return be_tie_wrong(r->err, next(r)->place, "blocks stand too deep in one another");
  while (next(r)->length && !ends_part(next(r))) {
    const struct word *word = be_read_word(r);
    size_t s = 0, count = sizeof statements / sizeof statements[0];
    if (r->done > WORDS_MOST) return be_tie_wrong(r->err, word->place, "there is too much to draw");
    while (s < count && !be_word_is(word, statements[s].word)) s++;
    enum be_status status = s < count ? statements[s].read(r, word) : read_item(r, word);
    if (status != BE_OK) return status;
  }
  r->depth--;
  return BE_OK;
}

static enum be_status read_all(struct reading *r, const char *text, size_t size,
                               const char *settings)
{
  enum be_status status = be_tie_settings_read(settings, &r->asked, r->err);
  if (status == BE_OK) status = be_tie_words(text, size, r->scratch, &r->words, r->err);
  if (status == BE_OK) status = run(r);
  if (status == BE_OK && next(r)->length)
    return be_tie_wrong(r->err, next(r)->place, "\"%.*s\" ends no block", be_word_size(next(r)),
                        next(r)->at);
  return status == BE_OK ? be_read_finish(r) : status;
}

enum be_status be_tie_read(const char *text, size_t size, const char *settings,
                           struct be_arena *arena, struct be_tie *tie, struct be_err *err)
{
  *tie = (struct be_tie){.name = "", .also = "", .kind = "", .view = be_view_top};
  struct be_arena *scratch = be_arena_create();
  struct reading *r = scratch ? be_arena_alloc(scratch, sizeof *r) : NULL;
  enum be_status status = BE_NO_MEMORY;
  if (!r) be_tie_no_memory(err);
  else {
    struct meetings meetings;
    r->tie = tie;
    r->arena = arena;
    r->scratch = scratch;
    r->err = err;
    r->here = (size_t)NONE;
    r->sketches.view = be_view_top;
    status = read_all(r, text, size, settings);
    if (status == BE_OK) status = be_tie_heights(&r->sketches, scratch, &meetings, err);
    if (status == BE_OK) status = be_tie_build(&r->sketches, &meetings, scratch, arena, tie, err);
  }
  be_arena_free(scratch);
  return status;
}
