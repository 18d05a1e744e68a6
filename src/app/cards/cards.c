/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which cards there are, and their files: DIR/result-palomar-nylon-12-lb-dry-wide.png, the same
 * with -dark, and the text without a size. */
#include "app/cards/cards.h"

#include "app/cards/tell.h"
#include "app/written.h"

#include <string.h>

static const struct be_ours png_ours = {.what = "picture",
                                        .begins = "\x89PNG",
                                        .holds = {"tEXtSoftware", "bitterend"},
                                        .option = "--cards"},
                            text_ours = {.what = "card",
                                         .begins = "Card: ",
                                         .anywhere = "For angling only: never for climbing",
                                         .option = "--cards"};

enum { FILE_MAX = 64 * 1024 * 1024, PAGES_MAX = 200 };

struct deck {
  const struct survey *survey;
  const char *folder;
  const struct frame_size *size;
  bool ground[2]; /* light, dark */
  struct be_file_names names;
  size_t pictures;
};

/* ---- files ---- */

static enum be_status write_png(struct deck *deck, const struct be_drawing *drawing, bool dark,
                                const char *name, size_t page, struct be_err *err)
{
  struct be_buf svg, png, path;
  be_buf_init(&svg, FILE_MAX);
  be_buf_init(&png, FILE_MAX);
  be_buf_init(&path, FILE_MAX);
  be_buf_format(&path, "%s/%s", deck->folder, name);
  if (page > 1) be_buf_format(&path, "-page-%zu", page);
  be_buf_format(&path, "-%s%s.png", deck->size->word, dark ? "-dark" : "");
  enum be_status status = be_buf_status(&path, err);
  if (status == BE_OK) status = be_drawing_clear_svg(drawing, dark, &svg, err);
  if (status == BE_OK) status = be_png(svg.data, svg.size, deck->size->width, &png, err);
  if (status == BE_OK) status = be_write_ours(path.data, &png_ours, &png, err);
  if (status == BE_OK) deck->pictures++;
  be_buf_free(&svg);
  be_buf_free(&png);
  be_buf_free(&path);
  return status;
}

static enum be_status write_text(const struct deck *deck, const struct card *card, const char *name,
                                 struct be_err *err)
{
  struct be_buf text;
  const char *path = be_arena_format(deck->survey->arena, "%s/%s.txt", deck->folder, name);
  if (!path) return be_no_memory(err);
  be_buf_init(&text, FILE_MAX);
  be_card_text(card, &text);
  enum be_status status = be_write_ours(path, &text_ours, &text, err);
  be_buf_free(&text);
  return status;
}

static enum be_status write_card(struct deck *deck, const struct card *card, struct be_err *err)
{
  struct be_arena *arena = deck->survey->arena;
  const char *words = card->name ? be_arena_format(arena, "%s %s", card->kind, card->name) : NULL;
  const char *name = words ? be_file_name(&deck->names, words) : NULL;
  if (!name || be_arena_ran_out(arena)) return be_no_memory(err);
  enum be_status status = write_text(deck, card, name, err);
  size_t from = 0, count = 0, page = 1;
  do {
    struct be_drawing *drawing = NULL;
    if (status == BE_OK) status = be_card_draw(card, deck->size, from, &count, &drawing, err);
    for (int dark = 0; dark < 2 && status == BE_OK; dark++)
      if (deck->ground[dark]) status = write_png(deck, drawing, dark, name, page, err);
    be_drawing_free(drawing);
    from += count;
    page++;
  } while (status == BE_OK && from < card->items_count && count > 0 && page <= PAGES_MAX);
  return status;
}

/* ---- which ---- */

static enum be_status write_specimen(struct deck *deck, const char *code, struct be_err *err)
{
  const struct survey *survey = deck->survey;
  struct card card;
  const struct be_pull *pull = be_pull_find(survey, code, err);
  const struct cell *of = NULL;
  if (!pull) return BE_WRONG_USE;
  for (size_t i = 0; i < survey->cells_count && !of; i++)
    for (size_t k = 0; k < survey->cells[i].count && !of; k++)
      if (survey->cells[i].pulls[k] == pull) of = &survey->cells[i];
  enum be_status status = be_card_of_pull(survey, of, pull, &card, err);
  return status == BE_OK ? write_card(deck, &card, err) : status;
}

static enum be_status write_places(struct deck *deck, struct be_err *err)
{
  struct place *places;
  struct card card;
  size_t count;
  enum be_status status = be_places(deck->survey, &places, &count, err);
  for (size_t i = 0; i < count && status == BE_OK; i++) {
    if (!be_place_ranked(&places[i])) continue;
    status = be_place_rank(deck->survey, &places[i], err);
    if (status == BE_OK) status = be_card_of_place(deck->survey, &places[i], &card, err);
    if (status == BE_OK) status = write_card(deck, &card, err);
  }
  return status;
}

static enum be_status write_every(struct deck *deck, struct be_err *err)
{
  const struct survey *survey = deck->survey;
  struct card card;
  size_t done = 0;
  enum be_status status = write_places(deck, err);
  be_progress_step("drawing cards", "cards",
                   survey->cells_count + survey->combinations_count + survey->record.knots_count);
  for (size_t i = 0; i < survey->combinations_count && status == BE_OK; i++) {
    be_progress_at(done++);
    if (be_is_plain(&survey->combinations[i])) continue;
    status = be_card_of_combination(survey, &survey->combinations[i], &card, err);
    if (status == BE_OK) status = write_card(deck, &card, err);
  }
  for (size_t i = 0; i < survey->cells_count && status == BE_OK; i++) {
    be_progress_at(done++);
    status = be_card_of_result(survey, &survey->cells[i], &card, err);
    if (status == BE_OK) status = write_card(deck, &card, err);
  }
  for (size_t i = 0; i < survey->record.knots_count && status == BE_OK; i++) {
    be_progress_at(done++);
    status = be_card_of_knot(survey, (int)i, &card, err);
    if (status == BE_OK) status = write_card(deck, &card, err);
  }
  return status;
}

static const struct frame_size *size_of(const char *word)
{
  const struct frame_size *size = be_card_sizes;
  while (word && size->word && strcmp(size->word, word) != 0) size++;
  return size->word ? size : NULL;
}

static bool is_ground(const char *word)
{
  return !word || strcmp(word, "light") == 0 || strcmp(word, "dark") == 0;
}

enum be_status be_cards_check(const struct be_publishing *asked, struct be_err *err)
{
  if (asked->of && !asked->cards_path)
    return be_fail(err, BE_WRONG_USE, "--of tells whose --cards are written: give both");
  if (asked->cards_path && !is_ground(asked->ground)) {
    be_fail(err, BE_WRONG_USE, "the ground of cards is light or dark, not \"%.40s\"",
            asked->ground);
    be_fail_remedy(err, "leave --ground out to have both; around them cards are clear");
    return BE_WRONG_USE;
  }
  if (!asked->cards_path || size_of(asked->size)) return BE_OK;
  be_fail(err, BE_WRONG_USE, "there is no size \"%s\" of cards", asked->size);
  be_fail_remedy(err, "wide is 1920 x 1080, tall 1080 x 1920, square 1080 x 1080");
  return BE_WRONG_USE;
}

enum be_status be_cards_write(const struct survey *survey, const struct be_publishing *asked,
                              size_t *count, struct be_err *err)
{
  struct deck deck = {.survey = survey,
                      .folder = asked->cards_path,
                      .size = size_of(asked->size),
                      .ground = {!asked->ground || strcmp(asked->ground, "light") == 0,
                                 !asked->ground || strcmp(asked->ground, "dark") == 0},
                      .names = {.arena = survey->arena}};
  enum be_status status = be_cards_check(asked, err);
  if (status != BE_OK) return status;
  status = be_dir_create(asked->cards_path, err);
  if (status == BE_OK)
    status = asked->of ? write_specimen(&deck, asked->of, err) : write_every(&deck, err);
  *count = deck.pictures;
  return status;
}
