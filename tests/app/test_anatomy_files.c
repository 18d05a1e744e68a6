/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The files that anatomy writes, what it refuses to write over, and what it reads. */
#include "anatomy_test.h"

enum { KINDS = 6 };

static struct file_kind {
  const char *name, *begins;
  size_t at; /* of its path in what is asked */
} kinds[KINDS] = {
    {"tie.svg", "<svg", offsetof(struct be_anatomy, svg_path)},
    {"tie.png", "\x89PNG", offsetof(struct be_anatomy, png_path)},
    {"tie.pdf", "%PDF", offsetof(struct be_anatomy, pdf_path)},
    {"tie.stl", "STL mm", offsetof(struct be_anatomy, stl_path)},
    {"tie.glb", "glTF", offsetof(struct be_anatomy, glb_path)},
    {"tie.txt", "# points of the clinch, turns 3\n", offsetof(struct be_anatomy, points_path)},
};

static enum be_status write_one(const struct file_kind *kind, const char *path, struct be_err *err)
{
  static const char *const words[] = {"clinch", "turns=3"};
  struct be_anatomy asked = {.words = words, .count = 2, .width = 701};
  struct be_doc *doc = NULL;
  memcpy((char *)&asked + kind->at, &path, sizeof path);
  enum be_status status = be_app_anatomy(&asked, &doc, err);
  assert_true((status == BE_OK) == (doc != NULL));
  be_doc_free(doc);
  return status;
}

static void read_all(const char *path, struct be_buf *bytes)
{
  be_buf_init(bytes, 1 << 26);
  assert_int_equal(be_file_read(path, bytes, NULL), BE_OK);
}

static unsigned little(const char *at)
{
  const unsigned char *b = (const unsigned char *)at;
  return b[0] | (unsigned)b[1] << 8 | (unsigned)b[2] << 16 | (unsigned)b[3] << 24;
}

static unsigned big(const char *at)
{
  const unsigned char *b = (const unsigned char *)at;
  return (unsigned)b[0] << 24 | (unsigned)b[1] << 16 | (unsigned)b[2] << 8 | b[3];
}

/* As far as their own heads and ends tell. */
static void is_whole(const struct file_kind *kind, const struct be_buf *bytes)
{
  const char *data = bytes->data;
  assert_true(bytes->size > 1000);
  assert_memory_equal(data, kind->begins, strlen(kind->begins));
  switch (kind - kinds) {
  case 0:
    assert_non_null(strstr(data, "width=\"701\""));
    assert_non_null(strstr(data, "clinch, turns 3"));
    assert_non_null(strstr(data + bytes->size - 8, "</svg>"));
    break;
  case 1: assert_int_equal(big(data + 16), 701); break; /* IHDR */
  case 2: assert_memory_equal(data + bytes->size - 6, "%%EOF\n", 6); break;
  case 3: assert_int_equal(bytes->size, 84 + 50 * (size_t)little(data + 80)); break;
  case 4: assert_int_equal(bytes->size, little(data + 8)); break;
  default: assert_int_equal(data[bytes->size - 1], '\n');
  }
}

static void every_kind_is_written_and_replaced(void **state)
{
  (void)state;
  for (struct file_kind *kind = kinds; kind < kinds + KINDS; kind++) {
    char path[512];
    struct be_buf first, second;
    struct be_err err = {0};
    test_path(path, kind->name);
    be_file_remove(path, NULL);
    if (write_one(kind, path, &err) != BE_OK) fail_msg("%s: %s", kind->name, err.what);
    read_all(path, &first);
    is_whole(kind, &first);
    if (write_one(kind, path, &err) != BE_OK) fail_msg("%s again: %s", kind->name, err.what);
    read_all(path, &second);
    if (kind->begins[0] != '%') { /* a PDF has its date */
      assert_int_equal(first.size, second.size);
      assert_memory_equal(first.data, second.data, first.size);
    }
    be_buf_free(&first);
    be_buf_free(&second);
    test_write(path, "");
    assert_int_equal(write_one(kind, path, &err), BE_OK);
  }
}

static void what_is_not_ours_stays(void **state)
{
  (void)state;
  static const char *const notes[] = {"notes of mine\n",
                                      "# tie notes of mine\n",
                                      "STL",
                                      "<sv",
                                      "g",
                                      "\x89PNG\r\n\x1A\n of another"};
  for (struct file_kind *kind = kinds; kind < kinds + KINDS; kind++)
    for (size_t i = 0; i < sizeof notes / sizeof notes[0]; i++) {
      char path[512], name[40];
      struct be_buf bytes;
      struct be_err err = {0};
      snprintf(name, sizeof name, "notes-%s", kind->name);
      test_path(path, name);
      test_write(path, notes[i]);
      assert_int_equal(write_one(kind, path, &err), BE_WRONG_USE);
      assert_string_equal(err.file, path);
      assert_non_null(strstr(err.what, "the file exists, and it is no "));
      assert_non_null(strstr(err.remedy, "give another name"));
      read_all(path, &bytes);
      assert_string_equal(bytes.data, notes[i]);
      be_buf_free(&bytes);
    }
}

static void a_place_that_is_none_is_said(void **state)
{
  (void)state;
  for (struct file_kind *kind = kinds; kind < kinds + KINDS; kind++) {
    char path[512], folder[512];
    struct be_err err = {0};
    test_path(folder, "no such folder");
    snprintf(path, sizeof path, "%.440s/%s", folder, kind->name);
    assert_int_equal(write_one(kind, path, &err), BE_BAD_INPUT);
    assert_string_equal(err.file, path);
    test_path(folder, "a-folder");
    assert_int_equal(be_dir_create(folder, NULL), BE_OK);
    err = (struct be_err){0};
    assert_int_not_equal(write_one(kind, folder, &err), BE_OK);
    assert_true(strlen(err.what) > 5);
  }
}

/* Drawn in steps, every step is one picture of the strip. */
static void a_strip_has_its_steps(void **state)
{
  (void)state;
  const char *word = "overhand";
  char path[512];
  struct be_buf whole, strip;
  test_path(path, "strip.svg");
  be_file_remove(path, NULL);
  struct be_anatomy asked = {.words = &word, .count = 1, .svg_path = path};
  asked_json(&asked);
  read_all(path, &whole);
  asked.steps = 4;
  asked_json(&asked);
  read_all(path, &strip);
  assert_null(strstr(whole.data, "as it is tied"));
  assert_non_null(strstr(strip.data, "as it is tied"));
  assert_non_null(strstr(strip.data, ">4</text>"));
  assert_null(strstr(strip.data, ">5</text>"));
  be_buf_free(&whole);
  be_buf_free(&strip);
}

/* ---- points ---- */

/* From where the crossings are listed to their end. */
static char *crossings_of(const char *json)
{
  const char *from = strstr(json, "{\"name\":\"counts\"");
  const char *next = from ? strstr(from, "{\"name\":\"overlap\"") : NULL;
  assert_non_null(from && next ? from : NULL);
  size_t size = (size_t)(next - from);
  char *kept = calloc(size + 1, 1);
  memcpy(kept, from, size);
  return kept;
}

static void points_read_back_cross_alike(void **state)
{
  (void)state;
  static const char *const ties[] = {"overhand turns=2", "figure eight", "reef", "carrick bend"};
  for (size_t i = 0; i < sizeof ties / sizeof ties[0]; i++) {
    char path[512];
    const char *file = path, *gauss;
    test_path(path, "points.txt");
    be_file_remove(path, NULL);
    struct be_anatomy asked = {.words = &ties[i], .count = 1, .points_path = path};
    const char *json = asked_json(&asked);
    char *counts = crossings_of(json), code[400];
    gauss = strstr(json, "\"gauss\":");
    snprintf(code, sizeof code, "%.*s", (int)strcspn(gauss, "\n"), gauss);
    json = asked_json(&(const struct be_anatomy){.words = &file, .count = 1});
    in_json(json, "\"title\":\"points.txt\"");
    in_json(json, "%s", code);
    char *again = crossings_of(json);
    assert_string_equal(again, counts);
    free(again);
    free(counts);
  }
}

/* ---- files that are read ---- */

static void refused(const char *name, const char *bytes, size_t size, enum be_status status,
                    size_t line, const char *what)
{
  char path[512];
  const char *word = path;
  struct be_err err = {0};
  struct be_doc *doc = NULL;
  test_path(path, name);
  assert_int_equal(be_file_write(path, bytes, size, NULL), BE_OK);
  enum be_status got =
      be_app_anatomy(&(const struct be_anatomy){.words = &word, .count = 1}, &doc, &err);
  if (got != status || !strstr(err.what, what)) fail_msg("%s: %d, %s", name, (int)got, err.what);
  assert_string_equal(err.file, path);
  assert_int_equal(err.line, line);
  assert_null(doc);
}

static void files_that_cannot_be_read_are_named(void **state)
{
  (void)state;
  static const char bytes[] = "tie x\0\x01\x02line A 0,0 5,0",
                    wrong[] = "tie a\nline A\n 0,0 q 9,0\n";
  refused("empty.tie", "", 0, BE_BAD_INPUT, 0, "it is empty");
  refused("binary.tie", bytes, sizeof bytes - 1, BE_BAD_INPUT, 0, "this is none");
  refused("wrong.tie", wrong, sizeof wrong - 1, BE_BAD_INPUT, 3, "\"q\" is not known here");
  refused("nobody.tie", "no such tie", 11, BE_BAD_INPUT, 0, "no tie is called \"no such tie\"");
  refused("row.txt", "0 0 0\n1 1\n", 10, BE_BAD_INPUT, 2, "number");
}

static void a_table_that_is_too_large_is_refused(void **state)
{
  (void)state;
  struct be_buf rows;
  be_buf_init(&rows, 1 << 25);
  for (int i = 0; i < 1000001; i++) be_buf_format(&rows, "%d %d 0\n", i, i % 7);
  refused("long.txt", rows.data, rows.size, BE_TOO_LARGE, 0, "a line may have 1000000 points");
  while (rows.size <= 16 * 1024 * 1024) be_buf_text(&rows, "                               \n");
  refused("huge.txt", rows.data, rows.size, BE_TOO_LARGE, 0, "the limit is");
  be_buf_free(&rows);
}

static void a_text_in_a_file_is_read(void **state)
{
  (void)state;
  static const char text[] = "tie thumb knot\nkind stopper\nline A\n"
                             "  -12,0 -6,0 ou 4,0 6,3 o 2,6 0,3\n"
                             "  u -1,-3 2,-4 3,-1 o 3,2 u 3,9\npulled A first, A last\n";
  char path[512];
  const char *word = path;
  test_path(path, "thumb.tie");
  test_write(path, text);
  const char *json = asked_json(&(const struct be_anatomy){.words = &word, .count = 1});
  in_json(json, "\"title\":\"thumb knot\"");
  in_json(json, "\"ends\":\"both ends pulled\"");
  in_json(json, "\"consistent_with\":\"3_1, trefoil\"");
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_kind_is_written_and_replaced),
      cmocka_unit_test(what_is_not_ours_stays),
      cmocka_unit_test(a_place_that_is_none_is_said),
      cmocka_unit_test(a_strip_has_its_steps),
      cmocka_unit_test(points_read_back_cross_alike),
      cmocka_unit_test(files_that_cannot_be_read_are_named),
      cmocka_unit_test(a_table_that_is_too_large_is_refused),
      cmocka_unit_test(a_text_in_a_file_is_read),
  };
  return be_tests("app: files of anatomy", tests);
}
