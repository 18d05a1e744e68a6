/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pictures of knots: entered by themselves and by a knot sheet, told apart from what is none, and
 * entered again by check. */
#include "book_test.h"

#include <sqlite3.h>

/* ---- bytes ---- */

static const char svg[] = "<?xml version=\"1.0\"?>\n<!-- a > b -->\n<!DOCTYPE svg>\n"
                          "<svg xmlns=\"http://www.w3.org/2000/svg\"><path d=\"M1 2 3 7\"/></svg>";
static const char other_svg[] = "\xEF\xBB\xBF  <svg><circle r=\"7\"/></svg>";
static const char jpeg[] = "\xFF\xD8\xFF\xE0 a photo";

/* The head of a PNG, which is all that is looked at. */
static void make_png(char bytes[40], unsigned width, unsigned height)
{
  memset(bytes, 7, 40);
  memcpy(bytes, "\x89PNG\r\n\x1A\n\0\0\0\x0DIHDR", 16);
  for (int i = 0; i < 4; i++) {
    bytes[16 + i] = (char)(width >> (24 - 8 * i));
    bytes[20 + i] = (char)(height >> (24 - 8 * i));
  }
}

/* ---- a book with knots ---- */

static const char knots[] = "knot,version,kind,turns,aliases\n"
                            "palomar,,hitch,,\n"
                            "surgeon's join,,bend,2,\"double overhand join, water knot\"\n"
                            "uni,well tied,hitch,5,grinner\n"
                            "uni,loose,hitch,5,grinner\n";

struct trial {
  char path[512];
  struct be_book *book;
  struct be_arena *arena;
  struct be_entered entered;
  struct be_err err;
};

static enum be_status enter(struct trial *t, const char *name, const char *bytes, size_t size,
                            const struct be_entering *how)
{
  static const struct be_entering plain = {0};
  t->err = (struct be_err){0};
  return be_book_enter(t->book, name, bytes, size, how ? how : &plain, t->arena, &t->entered,
                       &t->err);
}

static void begin(struct trial *t, const char *name)
{
  const char *build = getenv("BUILD_DIR");
  memset(t, 0, sizeof *t);
  snprintf(t->path, sizeof t->path, "%.300s%s/%s", build ? build : "/tmp",
           build ? "/tests/book" : "", name);
  assert_int_equal(be_file_remove(t->path, NULL), BE_OK);
  assert_int_equal(be_book_create(t->path, NULL), BE_OK);
  assert_int_equal(be_book_open(t->path, true, &t->book, NULL), BE_OK);
  t->arena = be_arena_create();
  assert_int_equal(enter(t, "knots.csv", knots, strlen(knots), NULL), BE_OK);
}

static void end(struct trial *t)
{
  be_book_close(t->book);
  be_arena_free(t->arena);
}

static int64_t picture_of(struct trial *t, size_t knot)
{
  struct be_record record;
  assert_int_equal(be_book_read(t->book, t->arena, &record, NULL), BE_OK);
  assert_true(knot < record.knots_count);
  return record.knots[knot].picture;
}

static void picture_is(struct trial *t, size_t knot, const char *bytes, size_t size,
                       const char *type)
{
  struct be_buf got;
  const char *got_type = NULL;
  int64_t id = picture_of(t, knot);
  be_buf_init(&got, BE_PICTURE_MAX);
  assert_int_not_equal(id, 0);
  assert_int_equal(be_book_picture(t->book, id, &got, &got_type, NULL), BE_OK);
  assert_string_equal(got_type, type);
  assert_int_equal(got.size, size);
  assert_memory_equal(got.data, bytes, size);
  be_buf_free(&got);
}

static void refused(struct trial *t, const char *name, const char *bytes, size_t size,
                    const char *why)
{
  assert_int_equal(enter(t, name, bytes, size, NULL), BE_BAD_INPUT);
  if (!strstr(t->err.what, why)) fail_msg("%s: not \"%s\"", t->err.what, why);
}

static void check_is_right(struct trial *t)
{
  struct be_book_check checked;
  struct be_err err = {0};
  enum be_status status = be_book_check(t->book, &checked, &err);
  if (status != BE_OK) fail_msg("%s", err.what);
}

/* ---- entered by themselves ---- */

static void a_file_named_as_its_knot_is_its_picture(void **state)
{
  (void)state;
  struct trial t;
  char png[40];
  make_png(png, 640, 381);
  begin(&t, "pictures.book");
  assert_int_equal(picture_of(&t, 0), 0);
  assert_int_equal(enter(&t, "Palomar.SVG", svg, strlen(svg), NULL), BE_OK);
  assert_string_equal(t.entered.kind, "picture");
  assert_false(t.entered.already);
  assert_int_equal(enter(&t, "water_knot.jpg", jpeg, strlen(jpeg), NULL), BE_OK);
  assert_int_equal(enter(&t, "uni-5-turns-(well tied).png", png, sizeof png, NULL), BE_OK);
  picture_is(&t, 0, svg, strlen(svg), "image/svg+xml");
  picture_is(&t, 1, jpeg, strlen(jpeg), "image/jpeg");
  picture_is(&t, 2, png, sizeof png, "image/png");
  assert_int_equal(picture_of(&t, 3), 0);
  check_is_right(&t);
  end(&t);
}

static void the_closest_name_holds_and_then_the_last_picture(void **state)
{
  (void)state;
  struct trial t;
  begin(&t, "pictures-close.book");
  assert_int_equal(enter(&t, "grinner.svg", svg, strlen(svg), NULL), BE_OK);
  picture_is(&t, 2, svg, strlen(svg), "image/svg+xml");
  picture_is(&t, 3, svg, strlen(svg), "image/svg+xml");
  assert_int_equal(enter(&t, "uni loose.svg", other_svg, strlen(other_svg), NULL), BE_OK);
  assert_int_equal(enter(&t, "uni.jpeg", jpeg, strlen(jpeg), NULL), BE_OK);
  picture_is(&t, 2, jpeg, strlen(jpeg), "image/jpeg");
  picture_is(&t, 3, other_svg, strlen(other_svg), "image/svg+xml");
  assert_int_equal(enter(&t, "uni.jpeg", jpeg, strlen(jpeg), NULL), BE_OK);
  assert_true(t.entered.already);
  check_is_right(&t);
  end(&t);
}

static void surgeons_have_no_apostrophe_in_file_names(void **state)
{
  (void)state;
  struct trial t;
  begin(&t, "pictures-apostrophe.book");
  assert_int_equal(enter(&t, "surgeons-join.svg", svg, strlen(svg), NULL), BE_OK);
  picture_is(&t, 1, svg, strlen(svg), "image/svg+xml");
  end(&t);
}

/* ---- refused ---- */

static void what_is_no_picture_of_a_knot_is_refused(void **state)
{
  (void)state;
  struct trial t;
  char png[40];
  begin(&t, "pictures-refused.book");
  refused(&t, "bowline.svg", svg, strlen(svg), "no knot of the book is called as this picture");
  refused(&t, ".svg", svg, strlen(svg), "no knot of the book is called as this picture");
  refused(&t, "palomar.gif", "GIF89a and more", 15, "PNG, JPEG or SVG");
  refused(&t, "palomar.webp", "RIFF\x1\x2\x3\x4WEBPVP8 ", 16, "PNG, JPEG or SVG");
  make_png(png, 0, 381);
  refused(&t, "palomar.png", png, sizeof png, "not 0 by 381");
  make_png(png, 20001, 381);
  refused(&t, "palomar.png", png, sizeof png, "not 20001 by 381");
  make_png(png, 640, 381);
  refused(&t, "palomar.png", png, 30, "cut off");
  png[12] = 'X';
  refused(&t, "palomar.png", png, sizeof png, "cut off");
  static const char *const unsafe[] = {"<svg><script>alert(1)</script></svg>",
                                       "<svg xmlns:s=\"x\"><s:SCRIPT href=\"/bench.js\"/></svg>",
                                       "<svg><foreignObject/></svg>",
                                       "<!DOCTYPE svg [<!ENTITY a \"b\">]><svg/>"};
  for (size_t i = 0; i < 3; i++)
    refused(&t, "palomar.svg", unsafe[i], strlen(unsafe[i]), "which a drawing does without");
  assert_int_not_equal(enter(&t, "palomar.svg", unsafe[3], strlen(unsafe[3]), NULL), BE_OK);
  assert_int_equal(picture_of(&t, 0), 0);
  end(&t);
}

static void a_picture_has_a_limit(void **state)
{
  (void)state;
  struct trial t;
  size_t size = (size_t)BE_PICTURE_MAX + 1;
  char *bytes = malloc(size);
  assert_non_null(bytes);
  memset(bytes, 'x', size);
  memcpy(bytes, jpeg, strlen(jpeg));
  begin(&t, "pictures-large.book");
  refused(&t, "palomar.jpg", bytes, size, "is larger than the 4194304 that are kept");
  assert_int_equal(enter(&t, "palomar.jpg", bytes, size - 1, NULL), BE_OK);
  free(bytes);
  end(&t);
}

static void what_is_no_picture_is_not_given_as_one(void **state)
{
  (void)state;
  struct trial t;
  struct be_buf got;
  const char *type;
  begin(&t, "pictures-none.book");
  be_buf_init(&got, BE_PICTURE_MAX);
  /* 1 is the knot sheet. */
  assert_int_equal(be_book_picture(t.book, 1, &got, &type, NULL), BE_NO);
  assert_int_equal(be_book_picture(t.book, 4711, &got, &type, NULL), BE_NO);
  assert_int_equal(be_book_picture(t.book, -1, &got, &type, NULL), BE_NO);
  be_buf_free(&got);
  end(&t);
}

/* ---- named by a knot sheet ---- */

struct folder {
  const char *name[3], *bytes[3];
};

static enum be_status fetch(void *folder_, const char *name, struct be_buf *bytes,
                            struct be_err *err)
{
  const struct folder *folder = folder_;
  for (size_t i = 0; i < 3; i++)
    if (folder->name[i] && strcmp(folder->name[i], name) == 0) {
      be_buf_text(bytes, folder->bytes[i]);
      return be_buf_status(bytes, err);
    }
  return be_fail(err, BE_BAD_INPUT, "there is no %s", name);
}

static void a_knot_sheet_names_pictures(void **state)
{
  (void)state;
  static const char sheet[] = "knot,kind,picture\npalomar,hitch,drawn/one.svg\n"
                              "albright,bend,two.svg\nblood,bend,none\nsnell,hitch,\n";
  static const char again[] = "knot,kind,picture\npalomar,hitch,one-better.jpg\n";
  static const char same[] = "# once more\nknot,kind,picture\npalomar,hitch,one-better.jpg\n";
  struct folder folder = {{"drawn/one.svg", "two.svg", "one-better.jpg"}, {svg, other_svg, jpeg}};
  const struct be_entering how = {.fetch = fetch, .fetch_context = &folder};
  struct trial t;
  begin(&t, "pictures-sheet.book");
  assert_int_equal(enter(&t, "more.csv", sheet, strlen(sheet), &how), BE_OK);
  picture_is(&t, 0, svg, strlen(svg), "image/svg+xml");
  picture_is(&t, 4, other_svg, strlen(other_svg), "image/svg+xml");
  assert_int_equal(picture_of(&t, 5), 0);
  check_is_right(&t);
  assert_int_equal(enter(&t, "again.csv", again, strlen(again), &how), BE_OK);
  assert_int_equal(enter(&t, "same.csv", same, strlen(same), &how), BE_OK);
  picture_is(&t, 0, jpeg, strlen(jpeg), "image/jpeg");
  check_is_right(&t);
  end(&t);
}

static void a_sheet_whose_pictures_cannot_be_had_is_refused_whole(void **state)
{
  (void)state;
  static const char *const sheets[] = {"knot,kind,picture\nalbright,bend,away.svg\n",
                                       "knot,kind,picture\nalbright,bend,text.svg\n",
                                       "knot,kind,picture\na,bend,one.svg\nb,bend,one.svg\n"};
  static const char *const whys[] = {"there is no away.svg", "PNG, JPEG or SVG",
                                     "under another name"};
  struct folder folder = {{"one.svg", "text.svg"}, {svg, "no picture"}};
  const struct be_entering how = {.fetch = fetch, .fetch_context = &folder};
  struct trial t;
  struct be_record record;
  begin(&t, "pictures-bad-sheet.book");
  for (size_t i = 0; i < 3; i++) {
    assert_int_equal(enter(&t, "bad.csv", sheets[i], strlen(sheets[i]), &how), BE_BAD_INPUT);
    if (!strstr(t.err.what, whys[i])) fail_msg("%s: not \"%s\"", t.err.what, whys[i]);
    assert_int_equal(t.err.line, i == 2 ? 3 : 2);
  }
  refused(&t, "bad.csv", sheets[0], strlen(sheets[0]), "no folder to look in");
  assert_int_equal(be_book_read(t.book, t.arena, &record, NULL), BE_OK);
  assert_int_equal(record.knots_count, 4);
  end(&t);
}

/* ---- changed by others ---- */

static void a_picture_changed_by_others_is_found(void **state)
{
  (void)state;
  struct trial t;
  struct be_book_check checked;
  struct be_err err = {0};
  begin(&t, "pictures-changed.book");
  assert_int_equal(enter(&t, "palomar.svg", svg, strlen(svg), NULL), BE_OK);
  be_book_close(t.book);
  sqlite3 *db = NULL;
  assert_int_equal(sqlite3_open(t.path, &db), SQLITE_OK);
  assert_int_equal(
      sqlite3_exec(db, "UPDATE file SET kind = 'trace' WHERE kind = 'picture'", NULL, NULL, NULL),
      SQLITE_OK);
  sqlite3_close(db);
  assert_int_equal(be_book_open(t.path, false, &t.book, NULL), BE_OK);
  assert_int_not_equal(be_book_check(t.book, &checked, &err), BE_OK);
  end(&t);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_file_named_as_its_knot_is_its_picture),
      cmocka_unit_test(the_closest_name_holds_and_then_the_last_picture),
      cmocka_unit_test(surgeons_have_no_apostrophe_in_file_names),
      cmocka_unit_test(what_is_no_picture_of_a_knot_is_refused),
      cmocka_unit_test(a_picture_has_a_limit),
      cmocka_unit_test(what_is_no_picture_is_not_given_as_one),
      cmocka_unit_test(a_knot_sheet_names_pictures),
      cmocka_unit_test(a_sheet_whose_pictures_cannot_be_had_is_refused_whole),
      cmocka_unit_test(a_picture_changed_by_others_is_found),
  };
  return be_tests("book: pictures", tests);
}
