/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Cards: what they say, that it stays inside their margin and is large enough, that they are clear
 * around, and that they go over nothing of anybody else's. */
#define _POSIX_C_SOURCE 200809L
#include "app/cards/tell.h"
#include "app_test.h"

#include <cairo.h>
#include <unistd.h>

#define LONG_NAME                                                                                  \
  "a knot whose name goes on as somebody once wrote it into his sheet with who taught it and "     \
  "Donaudampfschifffahrtsgesellschaftskapitaenskajuetenknoten besides"

static const char sheet[] =
    "specimen,knot,line A,load (lb),result,what,where,reason\n"
    "p1,none,nylon 12 lb,13.2,,broke,clear,\np2,none,nylon 12 lb,13.6,,broke,clear,\n"
    "a1,palomar,nylon 12 lb,12.1,,broke,in the knot,\n"
    "a2,palomar,nylon 12 lb,11.8,,broke,at its entry,\n"
    "a3,palomar,nylon 12 lb,12.9,lower bound,broke,clear of it,\n"
    "a4,palomar,nylon 12 lb,9.1,,slipped out,,\n"
    "o1,uni,nylon 12 lb,10.3,,,,\n"
    "l1,only <&> \"held\",nylon 12 lb,11.3,lower bound,nothing,,\n"
    "l2,only <&> \"held\",nylon 12 lb,12.7,lower bound,nothing,,\n"
    "v1,never,nylon 12 lb,,void,,,grip slipped\n"
    "g1," LONG_NAME ",nylon 12 lb,12.7,,broke,eye,\n"
    "g2," LONG_NAME ",nylon 12 lb,11.7,,broke,in the knot,\n"
    "n1,blood,braid 20 lb of a maker whose name is long,14.7,,broke,in the knot,\n"
    "n2,blood,braid 20 lb of a maker whose name is long,16.1,,broke,in the knot,\n";

static const char knots[] = "knot,kind,tie\npalomar,hitch,palomar\n";

struct read_book {
  char path[512];
  struct be_arena *arena;
  struct survey survey;
};

static void open_book(struct read_book *book, const char *name)
{
  const char *paths[1];
  char knot_path[512];
  struct be_doc *doc = NULL;
  struct be_answering how = {.resamples = 20};
  const struct be_entering entering = {0};
  test_book(book->path, name, sheet, NULL);
  test_path(knot_path, "cards-knots.csv");
  test_write(knot_path, knots);
  paths[0] = knot_path;
  assert_int_equal(be_app_enter(book->path, paths, 1, &entering, &doc, NULL), BE_OK);
  be_doc_free(doc);
  book->arena = be_arena_create();
  assert_int_equal(be_survey_read(book->path, &how, book->arena, &book->survey, NULL), BE_OK);
}

static const struct cell *cell_of(const struct read_book *book, const char *knot)
{
  for (size_t i = 0; i < book->survey.cells_count; i++) {
    const struct cell *cell = &book->survey.cells[i];
    if (cell->knot >= 0 && strcmp(be_cell_name(&book->survey, cell), knot) == 0) return cell;
  }
  fail_msg("no cell of %s", knot);
  return NULL;
}

static void says_all(const struct card *card, const char *const *words)
{
  struct be_buf text;
  be_buf_init(&text, 1 << 20);
  be_card_text(card, &text);
  for (; *words; words++)
    if (!strstr(text.data, *words)) fail_msg("\"%s\" is not in: %s", *words, text.data);
  be_buf_free(&text);
}

/* ---- what they say ---- */

/* The shares by hand: plain line 13.4 lb on the mean. */
static void results_carry_their_count_and_interval(void **state)
{
  (void)state;
  struct read_book book;
  struct card card;
  open_book(&book, "cards-result");
  const char *const palomar[] = {"Card: result",
                                 "palomar",
                                 "n = 3 + 1 at least",
                                 "soak not recorded",
                                 "What let go: broke, in the knot 1; broke, at its entry 1; "
                                 "broke, clear of it 1; slipped out 1",
                                 "plain nylon 12 lb, 13.40 lb, n = 2",
                                 "For angling only",
                                 NULL};
  const char *const once[] = {"77 %",
                              "no interval, n = 1",
                              "Load 10.3 lb",
                              "Every pull: let go at 10.3 lb",
                              "What let go: not recorded 1",
                              NULL};
  const char *const held[] = {"at least 12.7 lb", "no event, 2 lower bounds", NULL};
  const char *const never[] = {"no result", "1 void", NULL};
  assert_int_equal(be_card_of_result(&book.survey, cell_of(&book, "palomar"), &card, NULL), BE_OK);
  says_all(&card, palomar);
  assert_non_null(card.tie);
  assert_int_equal(be_card_of_result(&book.survey, cell_of(&book, "uni"), &card, NULL), BE_OK);
  says_all(&card, once);
  assert_null(card.tie);
  assert_int_equal(
      be_card_of_result(&book.survey, cell_of(&book, "only <&> \"held\""), &card, NULL), BE_OK);
  says_all(&card, held);
  assert_int_equal(be_card_of_result(&book.survey, cell_of(&book, "never"), &card, NULL), BE_OK);
  says_all(&card, never);
  assert_int_equal(card.items_count, 0);
  be_arena_free(book.arena);
}

static void specimens_tell_their_own_pull(void **state)
{
  (void)state;
  struct read_book book;
  struct card card;
  open_book(&book, "cards-specimen");
  const struct cell *cell = cell_of(&book, "palomar");
  /* 12.1 lb of 13.4: 90 %. */
  const char *const first[] = {"a1: palomar", "12.1 lb",
                               "90 % of its plain line (nylon 12 lb, n = 2)",
                               "What let go: broke, in the knot", NULL};
  const char *const third[] = {"a3: palomar", "at least 12.9 lb", "One pull, so no interval", NULL};
  const char *const gone[] = {"v1: never", "void", "Reason: grip slipped", NULL};
  assert_int_equal(be_card_of_pull(&book.survey, cell, cell->pulls[0], &card, NULL), BE_OK);
  says_all(&card, first);
  assert_int_equal(be_card_of_pull(&book.survey, cell, cell->pulls[2], &card, NULL), BE_OK);
  says_all(&card, third);
  cell = cell_of(&book, "never");
  assert_int_equal(be_card_of_pull(&book.survey, cell, cell->pulls[0], &card, NULL), BE_OK);
  says_all(&card, gone);
  be_arena_free(book.arena);
}

/* ---- where it stands ---- */

static double number_after(const char *text, const char *word)
{
  const char *at = strstr(text, word);
  assert_non_null(at);
  return strtod(at + strlen(word), NULL);
}

static void take_entities_out(char *text)
{
  char *to = text;
  for (const char *at = text; *at; at++) {
    bool entity = *at == '&';
    char c = at[1];
    *to++ = (char)(!entity    ? *at
                   : c == 'l' ? '<'
                   : c == 'g' ? '>'
                   : c == 'q' ? '"'
                   : c == 'a' ? '&'
                              : '\'');
    if (entity) at = strchr(at, ';');
  }
  *to = '\0';
}

/* Every text of an SVG: large enough, and inside the margin. A tie's letters are in the picture,
 * which is put where its transform says. */
static size_t look_at_texts(const char *svg, const struct frame_size *size)
{
  double x0 = 0, y0 = 0, scale = 1;
  size_t texts = 0;
  for (const char *at = svg; (at = strchr(at, '<')); at++) {
    char text[500] = "";
    if (strncmp(at, "<g transform", 12) == 0) {
      x0 = number_after(at, "translate(");
      y0 = strtod(strchr(strstr(at, "translate("), ' '), NULL);
      scale = number_after(at, "scale(");
    } else if (strncmp(at, "</g>", 4) == 0) {
      x0 = y0 = 0, scale = 1;
    }
    if (strncmp(at, "<text ", 6) != 0) continue;
    const char *from = strchr(at, '>') + 1, *to = strstr(from, "</text>");
    assert_true((size_t)(to - from) < sizeof text);
    memcpy(text, from, (size_t)(to - from));
    take_entities_out(text);
    double font = scale * number_after(at, "font-size=\""),
           x = x0 + scale * number_after(at, " x=\"");
    double y = y0 + scale * number_after(at, " y=\""), wide = be_text_width(text, font);
    const char *anchor = strstr(at, "text-anchor=\"");
    if (anchor && anchor < from) x -= anchor[13] == 'm' ? wide / 2 : wide;
    if (font < size->least - 0.01) fail_msg("%s: %s is %.1f px", size->word, text, font);
    if (x < 0.05 * size->width - 1 || x + wide > 0.95 * size->width + 1 ||
        y - 0.76 * font < 0.05 * size->height - 1 || y + 0.24 * font > 0.95 * size->height + 1)
      fail_msg("%s: \"%s\" from %.0f to %.0f, on %.0f", size->word, text, x, x + wide, y);
    texts++;
  }
  return texts;
}

static void texts_stay_inside_and_large_enough(void **state)
{
  (void)state;
  struct read_book book;
  size_t texts = 0, cards = 0;
  open_book(&book, "cards-inside");
  for (const struct frame_size *size = be_card_sizes; size->word; size++)
    for (size_t i = 0; i < book.survey.cells_count + 2 * book.survey.combinations_count +
                               book.survey.record.knots_count;
         i++) {
      struct card card;
      size_t cells = book.survey.cells_count, where = book.survey.combinations_count, count;
      enum be_status status =
          i < cells           ? be_card_of_result(&book.survey, &book.survey.cells[i], &card, NULL)
          : i < cells + where ? be_card_of_combination(
                                    &book.survey, &book.survey.combinations[i - cells], &card, NULL)
          : i < cells + 2 * where
              ? be_card_of_pull(&book.survey, NULL, book.survey.cells[0].pulls[0], &card, NULL)
              : be_card_of_knot(&book.survey, (int)(i - cells - 2 * where), &card, NULL);
      assert_int_equal(status, BE_OK);
      for (size_t from = 0; from == 0 || from < card.items_count; from += count) {
        struct be_drawing *drawing = NULL;
        struct be_buf svg;
        be_buf_init(&svg, 1 << 24);
        assert_int_equal(be_card_draw(&card, size, from, &count, &drawing, NULL), BE_OK);
        assert_int_equal(be_drawing_clear_svg(drawing, cards % 2, &svg, NULL), BE_OK);
        texts += look_at_texts(svg.data, size);
        assert_non_null(strstr(svg.data, "For angling only"));
        assert_true(!strstr(svg.data, "Row") == (count == card.items_count));
        if (count != card.items_count)
          assert_true((strstr(svg.data, "Row ") != NULL) == (count == 1));
        be_buf_free(&svg);
        be_drawing_free(drawing);
        cards++;
        if (count == 0) break;
      }
    }
  assert_true(texts > 5 * cards);
  be_arena_free(book.arena);
}

/* ---- files ---- */

static enum be_status publish(const char *book, const char *folder, const char *size,
                              const char *of, struct be_err *err)
{
  const struct be_publishing asked = {.cards_path = folder, .size = size, .of = of};
  const struct be_answering how = {.resamples = 20};
  struct be_doc *doc = NULL;
  enum be_status status = be_app_publish(book, &asked, &how, &doc, err);
  be_doc_free(doc);
  return status;
}

static void is_clear_around(const char *path, int width, int height)
{
  cairo_surface_t *png = cairo_image_surface_create_from_png(path);
  assert_int_equal(cairo_surface_status(png), CAIRO_STATUS_SUCCESS);
  assert_int_equal(cairo_image_surface_get_width(png), width);
  assert_int_equal(cairo_image_surface_get_height(png), height);
  const unsigned char *pixels = cairo_image_surface_get_data(png);
  int stride = cairo_image_surface_get_stride(png);
  assert_int_equal(pixels[3], 0);
  assert_int_equal(pixels[(height - 1) * stride + 4 * (width - 1) + 3], 0);
  assert_int_equal(pixels[height / 2 * stride + 4 * (width / 2) + 3], 255);
  cairo_surface_destroy(png);
}

static void files_are_clear_around_and_keep_off_others(void **state)
{
  (void)state;
  struct read_book book;
  char folder[512], path[700];
  struct be_err err = {0};
  struct be_buf first, again;
  open_book(&book, "cards-files");
  test_path(folder, "cards-written");
  assert_int_equal(publish(book.path, folder, "tall", "a1", &err), BE_OK);
  snprintf(path, sizeof path, "%.500s/specimen-a1-tall.png", folder);
  is_clear_around(path, 1080, 1920);
  snprintf(path, sizeof path, "%.500s/specimen-a1.txt", folder);
  assert_true(be_file_exists(path));
  assert_int_equal(publish(book.path, folder, NULL, NULL, &err), BE_OK);
  snprintf(path, sizeof path, "%.500s/standings-nylon-12-lb-soak-not-recorded-wide-dark.png",
           folder);
  is_clear_around(path, 1920, 1080);
  be_buf_init(&first, 1 << 24);
  be_buf_init(&again, 1 << 24);
  assert_int_equal(be_file_read(path, &first, NULL), BE_OK);
  assert_int_equal(publish(book.path, folder, "wide", NULL, &err), BE_OK);
  assert_int_equal(be_file_read(path, &again, NULL), BE_OK);
  assert_int_equal(first.size, again.size);
  assert_memory_equal(first.data, again.data, first.size);
  snprintf(path, sizeof path, "%.500s/specimen-a1-wide.png", folder);
  test_write(path, "not a picture");
  assert_int_equal(publish(book.path, folder, "wide", "a1", &err), BE_WRONG_USE);
  assert_non_null(strstr(err.what, "no picture of this program"));
  assert_int_equal(publish(book.path, folder, "round", NULL, &err), BE_WRONG_USE);
  assert_non_null(strstr(err.what, "no size \"round\""));
  assert_int_equal(publish(book.path, NULL, NULL, "a1", &err), BE_WRONG_USE);
  assert_non_null(strstr(err.what, "give both"));
  assert_int_equal(publish(book.path, folder, NULL, "zz", &err), BE_WRONG_USE);
  assert_non_null(strstr(err.what, "no pull has the code \"zz\""));
  assert_int_equal(publish(book.path, book.path, NULL, "a1", &err), BE_BAD_INPUT);
  unlink(path);
  be_buf_free(&first);
  be_buf_free(&again);
  be_arena_free(book.arena);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(results_carry_their_count_and_interval),
      cmocka_unit_test(specimens_tell_their_own_pull),
      cmocka_unit_test(texts_stay_inside_and_large_enough),
      cmocka_unit_test(files_are_clear_around_and_keep_off_others),
  };
  return be_tests("app: cards", tests);
}
