/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "knot/tie/statements.h"

#include <stdlib.h>

/* ---- words about the tie ---- */

/* What stands on the rest of the text line. */
static enum be_status rest_of_line(struct reading *r, const struct word *of, const char **text)
{
  const struct word *list = r->words.list;
  size_t from = r->at;
  while (list[r->at].length && !list[r->at].first) r->at++;
  if (r->at == from)
    return be_tie_wrong(r->err, of->place, "\"%.*s\" has nothing behind it", be_word_size(of),
                        of->at);
  const struct word *last = &list[r->at - 1];
  *text = be_arena_text(r->arena, list[from].at, (size_t)(last->at - list[from].at) + last->length);
  return *text ? BE_OK : be_tie_no_memory(r->err);
}

enum be_status be_read_tie(struct reading *r, const struct word *word)
{
  if (r->tie->name[0])
    return be_tie_wrong(r->err, word->place, "one text is one tie, and a second begins here");
  return rest_of_line(r, word, &r->tie->name);
}

enum be_status be_read_also(struct reading *r, const struct word *word)
{
  return rest_of_line(r, word, &r->tie->also);
}

enum be_status be_read_kind(struct reading *r, const struct word *word)
{
  static const char *const kinds[] = {"bend", "hitch", "loop", "stopper"};
  const struct word *kind = be_read_word(r);
  (void)word;
  for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++)
    if (be_word_is(kind, kinds[i])) {
      r->tie->kind = kinds[i];
      return BE_OK;
    }
  return be_tie_wrong(r->err, kind->place,
                      "\"%.*s\" is no kind: a tie is a bend, hitch, loop or stopper",
                      be_word_size(kind), kind->at);
}

/* ---- settings ---- */

static struct asked *asked_for(struct reading *r, const struct word *name)
{
  for (size_t i = 0; i < r->asked.count; i++)
    if (r->asked.asked[i].name_length == name->length &&
        memcmp(r->asked.asked[i].name, name->at, name->length) == 0) {
      r->asked.asked[i].used = true;
      return &r->asked.asked[i];
    }
  return NULL;
}

static bool is_whole(double value)
{
  return value == floor(value);
}

static enum be_status set_number(struct reading *r, const struct word *name,
                                 struct be_tie_setting *setting)
{
  double usual, value;
  enum be_status status = be_read_number(r, &usual);
  if (status == BE_OK && !be_read_is(r, "from"))
    return be_tie_wrong(r->err, name->place, "a setting is as in: set turns 5 from 1 to 10");
  if (status == BE_OK) status = be_read_number(r, &setting->least);
  if (status == BE_OK && !be_read_is(r, "to"))
    return be_tie_wrong(r->err, name->place, "a setting is as in: set turns 5 from 1 to 10");
  if (status == BE_OK) status = be_read_number(r, &setting->most);
  if (status != BE_OK) return status;
  if (!(usual >= setting->least && usual <= setting->most))
    return be_tie_wrong(r->err, name->place, "%g is not from %g to %g", usual, setting->least,
                        setting->most);
  setting->number = true;
  setting->whole = is_whole(usual) && is_whole(setting->least) && is_whole(setting->most);
  const struct asked *asked = asked_for(r, name);
  setting->usual = setting->value = be_arena_format(r->arena, "%g", usual);
  value = usual;
  if (asked) {
    char *text = be_arena_text(r->arena, asked->value, asked->value_length), *end = text;
    if (!text) return be_tie_no_memory(r->err);
    value = strtod(text, &end);
    if (*end || end == text || !(value >= setting->least && value <= setting->most) ||
        (setting->whole && !is_whole(value)))
      return be_fail(r->err, BE_BAD_INPUT, "%s is %s from %g to %g, not \"%.60s\"", setting->name,
                     setting->whole ? "a whole number" : "a number", setting->least, setting->most,
                     text);
    setting->value = text;
  }
  if (!setting->usual) return be_tie_no_memory(r->err);
  return be_names_put(&r->names, name, value, r->err);
}

bool be_is_choice(const struct reading *r, const struct word *name, const struct word *choice)
{
  for (size_t i = 0; i < r->tie->settings; i++) {
    const struct be_tie_setting *s = &r->tie->setting[i];
    if (!s->choices || !be_word_is(name, s->name)) continue;
    for (const char *at = s->choices; *at; at += strspn(at, ", ")) {
      size_t length = strcspn(at, ",");
      if (length == choice->length && memcmp(at, choice->at, length) == 0) return true;
      at += length;
    }
  }
  return false;
}

static bool is_asked(const struct asked *asked, const struct word *choice)
{
  return asked && asked->value_length == choice->length &&
         memcmp(asked->value, choice->at, choice->length) == 0;
}

static enum be_status set_choice(struct reading *r, const struct word *name,
                                 struct be_tie_setting *setting)
{
  const struct asked *asked = asked_for(r, name);
  struct word usual = *be_read_word(r), value = usual;
  bool found = is_asked(asked, &usual);
  setting->choices = be_arena_text(r->arena, usual.at, usual.length);
  while (setting->choices && be_read_is(r, "or")) {
    const struct word *choice = be_read_word(r);
    setting->choices =
        be_arena_format(r->arena, "%s, %.*s", setting->choices, be_word_size(choice), choice->at);
    if (!is_asked(asked, choice)) continue;
    found = true;
    value = *choice;
  }
  setting->usual = be_arena_text(r->arena, usual.at, usual.length);
  setting->value = be_arena_text(r->arena, value.at, value.length);
  if (!setting->choices || !setting->usual || !setting->value) return be_tie_no_memory(r->err);
  if (asked && !found)
    return be_fail(r->err, BE_BAD_INPUT, "%s is one of %s, not \"%.*s\"", setting->name,
                   setting->choices, (int)(asked->value_length > 60 ? 60 : asked->value_length),
                   asked->value);
  enum be_status status = be_names_put(&r->names, name, 0, r->err);
  if (status != BE_OK) return status;
  struct name *put = &r->names.list[r->names.count - 1];
  put->number = false;
  put->word = value;
  return BE_OK;
}

enum be_status be_read_set(struct reading *r, const struct word *word)
{
  const struct word *name = be_read_word(r), *usual = &r->words.list[r->at];
  if (!name->length || !usual->length)
    return be_tie_wrong(r->err, word->place, "a setting has a name and a usual value");
  if (be_names_look(&r->names, name->at, name->length))
    return be_tie_wrong(r->err, name->place, "there is a \"%.*s\" already", be_word_size(name),
                        name->at);
  if (r->tie->settings == BE_TIE_SETTINGS_MAX)
    return be_tie_wrong(r->err, word->place, "there are more than %d settings",
                        BE_TIE_SETTINGS_MAX);
  struct be_tie_setting *setting = &r->tie->setting[r->tie->settings];
  setting->name = be_arena_text(r->arena, name->at, name->length);
  if (!setting->name) return be_tie_no_memory(r->err);
  enum be_status status = strchr("-.(0123456789", usual->at[0]) ? set_number(r, name, setting)
                                                                : set_choice(r, name, setting);
  if (status == BE_OK) r->tie->settings++;
  return status;
}

/* "turns (1 to 10), hand (right, left)" */
static enum be_status no_such_setting(struct reading *r, const struct asked *asked)
{
  struct be_buf there;
  be_buf_init(&there, 2000);
  for (size_t i = 0; i < r->tie->settings; i++) {
    const struct be_tie_setting *s = &r->tie->setting[i];
    be_buf_text(&there, i ? ", " : ": ");
    if (s->number) be_buf_format(&there, "%s (%g to %g)", s->name, s->least, s->most);
    else be_buf_format(&there, "%s (%s)", s->name, s->choices);
  }
  enum be_status status = be_buf_status(&there, r->err);
  if (status == BE_OK || there.status == BE_TOO_LARGE)
    status = be_fail(r->err, BE_BAD_INPUT, "it has no setting \"%.*s\"; it has %s%s",
                     (int)(asked->name_length > 60 ? 60 : asked->name_length), asked->name,
                     r->tie->settings ? "these" : "none", there.size ? there.data : "");
  be_buf_free(&there);
  return status;
}

/* ---- lines ---- */

static struct sketch *line_of(struct reading *r, const struct word *letter, size_t length)
{
  for (size_t i = 0; length == 1 && i < r->sketches.count; i++)
    if (r->sketches.line[i].letter == letter->at[0]) return &r->sketches.line[i];
  return NULL;
}

static enum be_status end_line(struct reading *r)
{
  if (!r->line) return BE_OK;
  const struct sketch *line = r->line;
  const struct leg *last = line->legs.count ? &legs_of(line)[line->legs.count - 1] : NULL;
  size_t used = last ? last->letter + last->letters : 0;
  if (line->dots.count < 2)
    return be_tie_wrong(r->err, line->place, "line %c has fewer than two points", line->letter);
  if (used < line->letters.count)
    return be_tie_wrong(r->err, letters_of(line)[used].place,
                        "letters stand between two points, and here no point follows");
  r->line = NULL;
  return BE_OK;
}

static enum be_status begin_line(struct reading *r, const struct word *letter, bool hardware)
{
  enum be_status status = end_line(r);
  if (status != BE_OK) return status;
  if (letter->length != 1 || letter->at[0] < 'A' || letter->at[0] > 'Z')
    return be_tie_wrong(r->err, letter->place, "a line has a capital letter for its name");
  if (line_of(r, letter, letter->length))
    return be_tie_wrong(r->err, letter->place, "there is a line %c already", letter->at[0]);
  if (r->sketches.count == BE_LINES_MAX)
    return be_tie_wrong(r->err, letter->place, "there are more than %d lines", BE_LINES_MAX);
  r->line = &r->sketches.line[r->sketches.count++];
  *r->line = (struct sketch){.letter = letter->at[0],
                             .hardware = hardware,
                             .diameter = 1,
                             .beside = -1,
                             .place = letter->place};
  r->here = (size_t)NONE;
  return BE_OK;
}

static enum be_status read_thickness(struct reading *r)
{
  const struct word *word = &r->words.list[r->at];
  if (!be_read_is(r, "thick")) return BE_OK;
  enum be_status status = be_read_number(r, &r->line->diameter);
  if (status == BE_OK && !(r->line->diameter >= 0.05 && r->line->diameter <= 20))
    return be_tie_wrong(r->err, word->place, "a thickness is from 0.05 to 20 of the first line");
  return status;
}

enum be_status be_read_line(struct reading *r, const struct word *word)
{
  bool ring = be_word_is(word, "ring"), rod = be_word_is(word, "rod");
  enum be_status status = begin_line(r, be_read_word(r), ring || rod);
  if (status != BE_OK) return status;
  if (ring) {
    status = be_shape_ring(r, r->line);
    if (status == BE_OK) status = read_thickness(r);
    r->line = NULL;
    return status;
  }
  const struct word *of = &r->words.list[r->at];
  const struct sketch *from = of->first ? NULL : line_of(r, of, of->length);
  if (!from || rod) return read_thickness(r);
  be_read_word(r);
  if (from == r->line)
    return be_tie_wrong(r->err, of->place, "line %c is not there yet", from->letter);
  r->line->diameter = from->diameter;
  status = be_shape_copy(r, from, r->line);
  if (status == BE_OK) status = read_thickness(r);
  r->line = NULL;
  return status;
}

/* ---- loaded ends ---- */

/* Kept as words until all lines are there. */
enum be_status be_read_pulled(struct reading *r, const struct word *word)
{
  const struct word *list = r->words.list;
  r->pulled = r->at;
  r->pulled_end = r->at;
  while (list[r->at].length && !list[r->at].first) r->at++;
  r->pulled_end = r->at;
  if (r->pulled_end == r->pulled)
    return be_tie_wrong(r->err, word->place,
                        "which ends are pulled is as in: pulled A first, B "
                        "first");
  return BE_OK;
}

static enum be_status resolve_pulled(struct reading *r)
{
  for (size_t at = r->pulled; at < r->pulled_end; at += 2) {
    struct word letter = r->words.list[at], end = r->words.list[at + 1];
    const struct sketch *line = line_of(r, &letter, letter.length);
    if (!line)
      return be_tie_wrong(r->err, letter.place, "there is no line \"%.*s\" to be pulled",
                          be_word_size(&letter), letter.at);
    if (end.length && end.at[end.length - 1] == ',') end.length--;
    bool first = be_word_is(&end, "first"), last = be_word_is(&end, "last");
    if (at + 1 >= r->pulled_end || !(first || last))
      return be_tie_wrong(r->err, letter.place, "which end of line %c: its first or its last",
                          line->letter);
    if (line->hardware)
      return be_tie_wrong(r->err, letter.place, "%c is hardware, and is not pulled at an end",
                          line->letter);
    r->sketches.loaded[line - r->sketches.line][last] = true;
  }
  return BE_OK;
}

enum be_status be_read_finish(struct reading *r)
{
  static const struct place top = {1, 1};
  enum be_status status = end_line(r);
  if (status == BE_OK) status = resolve_pulled(r);
  if (status != BE_OK) return status;
  if (!r->tie->name[0]) return be_tie_wrong(r->err, top, "it begins with: tie and its name");
  size_t lines = 0;
  for (size_t i = 0; i < r->sketches.count; i++) lines += !r->sketches.line[i].hardware;
  if (lines == 0) return be_tie_wrong(r->err, top, "there is no line in it");
  for (size_t i = 0; i < r->asked.count; i++)
    if (!r->asked.asked[i].used) return no_such_setting(r, &r->asked.asked[i]);
  return BE_OK;
}

/* ---- the sketch ---- */

enum be_status be_sketch_letters(struct reading *r, const struct word *word)
{
  if (r->here == (size_t)NONE)
    return be_tie_wrong(r->err, word->place, "letters stand between two points, and none is here");
  for (size_t i = 0; i < word->length; i++) {
    struct letter *letter = be_list_add(&r->line->letters, sizeof *letter, r->scratch);
    if (!letter) return be_list_failed(&r->line->letters, r->err);
    *letter = (struct letter){word->at[i], word->place};
    letter->place.column += (unsigned)i;
  }
  return BE_OK;
}

enum be_status be_sketch_leg(struct reading *r, size_t to, struct place place)
{
  struct sketch *line = r->line;
  const struct leg *last = line->legs.count ? &legs_of(line)[line->legs.count - 1] : NULL;
  size_t used = last ? last->letter + last->letters : 0;
  struct leg made = {r->here, to, used, line->letters.count - used, place};
  const struct dot *a = &dots_of(line)[made.from], *b = &dots_of(line)[made.to];
  if (made.letters && (a->given || b->given))
    return be_tie_wrong(r->err, letters_of(line)[used].place,
                        "letters stand only between two points of x,y: a point with its height "
                        "says itself what it runs over");
  struct leg *leg = be_list_add(&line->legs, sizeof *leg, r->scratch);
  struct step *step = be_list_add(&line->steps, sizeof *step, r->scratch);
  if (!leg || !step) return be_list_failed(leg ? &line->steps : &line->legs, r->err);
  *leg = made;
  *step = (struct step){line->legs.count - 1, false, 0};
  r->here = to;
  return BE_OK;
}

enum be_status be_sketch_dot(struct reading *r, const struct dot *dot)
{
  struct sketch *line = r->line;
  if (r->here != (size_t)NONE) {
    struct be_point from = dots_of(line)[r->here].at;
    if (!dots_of(line)[r->here].given && !dot->given) from.z = dot->at.z;
    if (distance(from, dot->at) < 1e-6)
      return be_tie_wrong(r->err, dot->place, "the line stands still: this is the point before");
  }
  struct dot *made = be_list_add(&line->dots, sizeof *made, r->scratch);
  if (!made) return be_list_failed(&line->dots, r->err);
  *made = *dot;
  if (r->here != (size_t)NONE) return be_sketch_leg(r, line->dots.count - 1, dot->place);
  r->here = line->dots.count - 1;
  return BE_OK;
}
