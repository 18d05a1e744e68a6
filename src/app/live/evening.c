/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is the same for an evening is told once, and every pull has it whose own telling or plan
 * says nothing else. Until the pull is entered these fields have a mark before their names. */
#include "app/live/live.h"
#include "app/survey/survey.h"
#include "app/typed.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define JUDGED BE_MADES

/* Air goes before a plan, which cannot know it; what is of tying, no plain line has. */
static const struct {
  const char *field, *kept;
  int made;
  bool air, tying;
} list[BE_EVENINGS] = {
#define ONE(name, made)                                                                            \
  {                                                                                                \
    name, "evening " name, made, false, false                                                      \
  }
#define AIR(name, made)                                                                            \
  {                                                                                                \
    name, "evening " name, made, true, false                                                       \
  }
#define TYING(name, made)                                                                          \
  {                                                                                                \
    name, "evening " name, made, false, true                                                       \
  }
    AIR("temperature", BE_HANDLED_TEMPERATURE),
    AIR("humidity", BE_HANDLED_HUMIDITY),
    ONE("grips", BE_HANDLED_GRIPS),
    ONE("speed", BE_MADE_SPEED),
    ONE("free length", BE_MADE_LENGTH),
    ONE("soak", BE_MADE_SOAK),
    ONE("water", BE_HANDLED_WATER),
    TYING("tyer", BE_MADE_TYER),
    TYING("lubricant", BE_MADE_LUBRICANT),
    TYING("seating load", BE_HANDLED_SEATING),
    TYING("seating held", BE_HANDLED_HELD),
    TYING("glue", BE_HANDLED_GLUE),
    ONE("judged by", JUDGED),
#undef ONE
#undef AIR
#undef TYING
};

const char *be_evening_field(int i)
{
  return list[i].field;
}

const char *be_evening_label(int i)
{
  return list[i].made == JUDGED ? "Judged by (who says what let go)" : be_made_label(list[i].made);
}

bool be_evening_of_air(int i)
{
  return list[i].air;
}

bool be_evening_told(const struct be_evening *evening)
{
  for (int i = 0; i < BE_EVENINGS; i++)
    if (*evening->value[i]) return true;
  return false;
}

bool be_evening_tells(const struct be_evening *evening, const char *field)
{
  for (int i = 0; i < BE_EVENINGS; i++)
    if (strcmp(list[i].field, field) == 0) return *evening->value[i] != '\0';
  return false;
}

void be_evening_words(const struct be_evening *evening, char words[BE_EVENING_WORDS])
{
  size_t used = 0;
  words[0] = '\0';
  for (int i = 0; i < BE_EVENINGS; i++)
    if (*evening->value[i])
      used += (size_t)snprintf(words + used, BE_EVENING_WORDS - used, "%s%s: %s", used ? "; " : "",
                               list[i].field, evening->value[i]);
}

/* ---- what a plan tells ---- */

static const struct be_planned *plan_of(const struct be_record *record, const char *code)
{
  for (size_t t = 0; t < record->trials_count; t++)
    for (size_t i = 0; i < record->trials[t].planned_count; i++)
      if (be_text_same(record->trials[t].planned[i].code, code))
        return &record->trials[t].planned[i];
  return NULL;
}

static bool plan_tells(const struct be_planned *planned, int i)
{
  if (!planned || list[i].air) return false;
  switch (list[i].made) {
  case BE_MADE_SOAK: return planned->soak != BE_SOAK_UNKNOWN;
  case BE_MADE_SPEED: return !isnan(planned->speed_m_s);
  case BE_MADE_LENGTH: return !isnan(planned->length_m);
  case BE_MADE_TYER: return planned->tyer != NULL;
  case BE_MADE_LUBRICANT: return planned->lubricant != NULL;
  case JUDGED: return false;
  default:
    return planned->handling[list[i].made].text || !isnan(planned->handling[list[i].made].number);
  }
}

/* ---- as it was last ---- */

static const char *of_pull(const struct survey *survey, const struct be_pull *pull, int i)
{
  struct be_handled made[BE_MADES];
  if (list[i].made == JUDGED) return pull->judged_by;
  be_pull_made(pull, made);
  return be_made_words(survey, made, list[i].made);
}

/* Of each field, that of the last pull which could tell it and had it from no plan. */
void be_evening_last(const struct survey *survey, const char *today, struct be_evening *evening)
{
  const struct be_record *record = &survey->record;
  const struct be_pull *last = record->pulls_count ? &record->pulls[record->pulls_count - 1] : NULL;
  *evening = (struct be_evening){.today = false};
  if (!last) return;
  be_date_write(last->day, evening->day);
  evening->today = last->session && strncmp(last->session, today, 10) == 0;
  bool seen[BE_EVENINGS] = {false};
  for (size_t at = record->pulls_count; at-- > 0 && record->pulls[at].day == last->day;) {
    const struct be_pull *pull = &record->pulls[at];
    const struct be_planned *planned = plan_of(record, pull->code);
    for (int i = 0; i < BE_EVENINGS; i++) {
      if (seen[i] || plan_tells(planned, i)) continue;
      if (list[i].tying && pull->design == BE_DESIGN_PLAIN) continue;
      const char *words = of_pull(survey, pull, i);
      seen[i] = true;
      if (words && strlen(words) < BE_EVENING_TEXT && (evening->today || !list[i].air))
        snprintf(evening->value[i], BE_EVENING_TEXT, "%s", words);
    }
  }
}

/* ---- whether a sheet takes it ---- */

static enum be_status look(struct be_book *book, const struct be_buf *sheet, struct be_err *err)
{
  static const struct be_entering how = {.decimal = '.'};
  struct be_preview preview = {0};
  struct be_arena *arena = be_arena_create();
  if (!arena) return be_no_memory(err);
  enum be_status status = be_preview_begin(book, err);
  if (status == BE_OK) {
    status =
        be_book_preview(book, "evening.csv", sheet->data, sheet->size, &how, arena, &preview, err);
    be_preview_end(book);
  }
  if (status == BE_OK && preview.misfits_count) {
    const struct be_misfit *misfit = preview.misfits;
    status = be_fail(err, BE_BAD_INPUT, "%s", misfit->what);
    be_fail_remedy(err, "%s", misfit->remedy ? misfit->remedy : "");
  }
  be_arena_free(arena);
  return status;
}

/* By a pull that is entered and taken back. */
enum be_status be_evening_check(const char *book_path, const struct be_evening *evening,
                                struct be_err *err)
{
  struct be_buf sheet;
  struct be_book *book = NULL;
  enum be_status status = BE_OK;
  be_buf_init(&sheet, 16 * 1024);
  be_buf_text(&sheet, "specimen,knot,line A,load (N)");
  for (int i = 0; i < BE_EVENINGS; i++) be_buf_format(&sheet, ",%s", list[i].field);
  be_buf_text(&sheet, "\n\"an evening that is told\",none,line,1");
  for (int i = 0; i < BE_EVENINGS && status == BE_OK; i++) {
    status = be_typed_check(list[i].field, evening->value[i], err);
    be_buf_char(&sheet, ',');
    be_typed_cell(&sheet, evening->value[i], "");
  }
  be_buf_char(&sheet, '\n');
  if (status == BE_OK) status = be_buf_status(&sheet, err);
  if (status == BE_OK) status = be_book_open(book_path, true, &book, err);
  if (status == BE_OK) status = look(book, &sheet, err);
  be_book_close(book);
  be_buf_free(&sheet);
  return status;
}

/* ---- into a pull ---- */

enum be_status be_evening_add(const struct be_evening *evening, struct be_told *specimen,
                              struct be_err *err)
{
  enum be_status status = BE_OK;
  char now[32];
  be_now(now);
  bool today = strncmp(evening->day, now, 10) == 0; /* a server may run for days */
  for (int i = 0; i < BE_EVENINGS && status == BE_OK; i++)
    if (*evening->value[i] && (today || !list[i].air))
      status = be_told_set(specimen, list[i].kept, evening->value[i], err);
  return status;
}

const char *be_evening_value(const struct be_told *told, const char *field)
{
  for (int i = 0; i < BE_EVENINGS; i++)
    if (strcmp(list[i].field, field) == 0) return be_told_value(told, list[i].kept);
  return NULL;
}

bool be_evening_marks(const char *name)
{
  return strncmp(name, "evening ", 8) == 0;
}

static bool is_plain(const struct be_told *all, const struct be_planned *planned)
{
  const char *knot = be_told_value(all, "knot");
  if (knot)
    return be_text_same(knot, "none") || be_text_same(knot, "plain") ||
           be_text_same(knot, "plain line");
  return planned && planned->knot < 0;
}

static bool is_soaked(const struct be_told *all, const struct be_planned *planned)
{
  const char *soak = be_told_value(all, "soak");
  if (soak) return !be_text_same(soak, "dry");
  return planned && planned->soak == BE_SOAK_SOAKED;
}

/* Takes what is marked out of what was told. */
static bool take_out(struct be_told *all)
{
  size_t left = 0;
  for (size_t i = 0; i < all->count; i++) {
    if (be_evening_marks(all->name[i])) continue;
    all->name[left] = all->name[i];
    all->value[left++] = all->value[i];
  }
  bool any = left < all->count;
  all->count = left;
  return any;
}

static enum be_status fill(struct be_told *all, const char *const value[BE_EVENINGS],
                           const struct be_planned *planned, struct be_err *err)
{
  enum be_status status = BE_OK;
  bool plain = is_plain(all, planned);
  for (int i = 0; i < BE_EVENINGS && status == BE_OK; i++) { /* the soak before its water */
    if (!value[i] || be_told_value(all, list[i].field) || plan_tells(planned, i)) continue;
    if (list[i].tying && plain) continue;
    if (list[i].made == BE_HANDLED_WATER && !is_soaked(all, planned)) continue;
    status = be_told_set(all, list[i].field, value[i], err);
  }
  return status;
}

enum be_status be_evening_settle(const char *book_path, struct be_told *all, struct be_err *err)
{
  const char *value[BE_EVENINGS], *code = be_told_value(all, "specimen");
  struct be_record record;
  struct be_book *book = NULL;
  for (int i = 0; i < BE_EVENINGS; i++) value[i] = be_told_value(all, list[i].kept);
  if (!take_out(all)) return BE_OK;
  struct be_arena *arena = be_arena_create();
  if (!arena) return be_no_memory(err);
  enum be_status status = be_book_open(book_path, false, &book, err);
  if (status == BE_OK) status = be_book_read(book, arena, &record, err);
  if (status == BE_OK) status = fill(all, value, plan_of(&record, code ? code : ""), err);
  be_book_close(book);
  be_arena_free(arena);
  return status;
}
