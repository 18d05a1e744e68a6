/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Strengths by combination: figures held against ones worked out by hand, and their files. */
#include "app/report/report.h"
#include "figures.h"

#include <math.h>
#include <sys/stat.h>
#include <unistd.h>

#define HEAD "knot,line A,hardware,soak,what,where,result,reason,load (N)"

/* Loads of two knots and of their line, with a slip, a lower bound and a void. */
static void open_ring(struct answers *answers, const char *name, const struct be_answering *how)
{
  struct sheet sheet = sheet_begin(HEAD);
  const char *line = "nylon 20 lb,ring,dry";
  sheet_row(&sheet, "palomar,%s,broke,at its entry,,,71.3", line);
  sheet_row(&sheet, "palomar,%s,broke,at its entry,,,74.9", line);
  sheet_row(&sheet, "palomar,%s,broke,in the knot,,,73.1", line);
  sheet_row(&sheet, "palomar,%s,broke,at its entry,,,70.7", line);
  sheet_row(&sheet, "palomar,%s,broke,in the knot,void,slack,11.7", line);
  sheet_row(&sheet, "uni,%s,broke,at its entry,,,51.3", line);
  sheet_row(&sheet, "uni,%s,slipped out,in the knot,,,47.9", line);
  sheet_row(&sheet, "uni,%s,slipped out,in the knot,,,52.7", line);
  sheet_row(&sheet, "uni,%s,broke,at its entry,,,50.1", line);
  sheet_row(&sheet, "snell,%s,broke,grip,lower bound,,80.9", line);
  sheet_row(&sheet, "none,nylon 20 lb,,dry,,,,,91.3");
  sheet_row(&sheet, "none,nylon 20 lb,,dry,,,,,94.7");
  sheet_row(&sheet, "none,nylon 20 lb,,dry,,,,,92.1");
  answers_open(answers, name, &sheet, NULL, how);
}

static void ask(struct answers *answers,
                enum be_status (*of)(const struct survey *, struct be_doc **, struct be_err *))
{
  struct be_doc *doc = NULL;
  struct be_err err = {0};
  enum be_status status = of(&answers->survey, &doc, &err);
  if (status != BE_OK) fail_msg("%s", err.what);
  answers_print(answers, doc);
}

static void a_row_has_the_figures_of_its_pulls(void **state)
{
  (void)state;
  struct answers answers;
  open_ring(&answers, "tables-row", NULL);
  ask(&answers, be_all_strengths_doc);
  const char *row = row_of(&answers, "strengths_in_units", "\"palomar\"", "ring");
  /* By hand: mean 72.5 N, deviation sqrt((1.2^2 + 2.4^2 + 0.6^2 + 1.8^2) / 3) = 1.897367 N;
   * t(0.975; 3) = 3.182446 from the table of Student's t. */
  double half = 3.182446 * 1.897367 / 2;
  assert_near(figure(row, "n"), 4, 0);
  assert_near(figure(row, "voids"), 1, 0);
  assert_near(figure(row, "lower_bounds"), 0, 0);
  assert_near(figure(row, "mean_N"), 72.5, 1e-9);
  assert_near(figure(row, "mean_N_low"), 72.5 - half, 1e-5);
  assert_near(figure(row, "mean_N_high"), 72.5 + half, 1e-5);
  assert_near(figure(row, "mean_kg"), 72.5 / 9.80665, 1e-9);
  assert_near(figure(row, "mean_lb"), 72.5 / 4.4482216152605, 1e-9);
  assert_near(figure(row, "mean_lb_high"), (72.5 + half) / 4.4482216152605, 1e-5);
  assert_near(figure(row, "sd_N"), 1.897367, 1e-6);
  assert_near(figure(row, "cv_percent"), 100 * 1.897367 / 72.5, 1e-5);
  assert_near(figure(row, "min_N"), 70.7, 1e-9);
  assert_near(figure(row, "min_kg"), 70.7 / 9.80665, 1e-9);
  /* The line: (91.3 + 94.7 + 92.1) / 3 = 92.7 N. */
  assert_near(figure(row, "plain_mean_N"), 92.7, 1e-9);
  assert_near(figure(row, "plain_n"), 3, 0);
  assert_non_null(strstr(row, "\"divided_by_words\":\"nylon 20 lb, 92.70 N, n = 3\""));
  assert_near(figure(row, "efficiency_percent"), 100 * 72.5 / 92.7, 1e-9);
  assert_true(figure(row, "efficiency_percent_low") < 78 &&
              figure(row, "efficiency_percent_high") > 79);
  assert_near(figure(row, "slipped_out_k"), 0, 0);
  assert_near(figure(row, "slipped_out_n"), 4, 0);
  /* The void says "in the knot", but voids are in nothing. */
  assert_non_null(strstr(row, "\"let_go\":\"broke at its entry\""));
  assert_near(figure(row, "let_go_k"), 3, 0);
  assert_near(figure(row, "let_go_n"), 4, 0);
  assert_non_null(strstr(row, "\"rank_range\":\"1\""));
  assert_non_null(strstr(row, "\"line_class\":\"10 kg\"")); /* 20 lb is 9.07 kg */
  assert_near(figure(row, "level_percent"), 95, 1e-9);
  answers_close(&answers);
}

static void rows_say_what_is_not_known(void **state)
{
  (void)state;
  struct answers answers;
  open_ring(&answers, "tables-unknown", NULL);
  ask(&answers, be_all_strengths_doc);
  const char *row = row_of(&answers, "strengths_in_units", "\"uni\"", "ring");
  assert_non_null(strstr(row, "broke at its entry or slipped out in the knot"));
  assert_near(figure(row, "let_go_k"), 2, 0);
  assert_near(figure(row, "slipped_out_k"), 2, 0);
  assert_non_null(strstr(row, "\"rank_range\":\"2\""));
  row = row_of(&answers, "strengths_in_units", "\"snell\"", NULL);
  assert_near(figure(row, "n"), 0, 0);
  assert_near(figure(row, "lower_bounds"), 1, 0);
  assert_true(isnan(figure(row, "mean_N")) && isnan(figure(row, "cv_percent")));
  assert_true(isnan(figure(row, "one_in_ten_below_N")));
  assert_non_null(strstr(row, "\"rank_range\":\"not ranked\""));
  row = row_of(&answers, "strengths_in_units", "\"plain line\"", NULL);
  assert_non_null(strstr(row, "\"rank_range\":\"-\""));
  assert_non_null(strstr(row, "\"let_go\":\"not recorded\""));
  assert_true(isnan(figure(row, "efficiency_percent")));
  answers_close(&answers);
}

/* One in ten below is the B10 of strength, in every unit. */
static void the_low_end_is_that_of_strength(void **state)
{
  (void)state;
  struct answers answers;
  open_ring(&answers, "tables-low", NULL);
  answers_strength(&answers);
  const char *row = row_of(&answers, "low_end", "palomar", NULL);
  double b10 = figure(row, "b10"), low = figure(row, "b10_low");
  ask(&answers, be_all_strengths_doc);
  row = row_of(&answers, "strengths_in_units", "\"palomar\"", NULL);
  assert_near(figure(row, "one_in_ten_below_N"), b10, 1e-9);
  assert_near(figure(row, "one_in_ten_below_N_low"), low, 1e-9);
  assert_near(figure(row, "one_in_ten_below_lb"), b10 / 4.4482216152605, 1e-9);
  answers_close(&answers);
}

/* In a unit that such tables do not have, newtons stand in. */
static void people_see_intervals_in_the_unit_asked_for(void **state)
{
  (void)state;
  static const struct {
    const char *unit, *shown;
  } cases[] = {{"lb", "lb"}, {"kg", "kg"}, {"N", "N"}, {"oz", "N"}};
  static const char *const units[] = {"lb", "kg", "N"};
  for (size_t i = 0; i < 4; i++) {
    struct answers answers;
    const struct be_answering how = {.unit = be_unit_find(cases[i].unit, strlen(cases[i].unit))};
    struct be_doc *doc = NULL;
    struct be_buf markdown;
    open_ring(&answers, "tables-unit", &how);
    assert_int_equal(be_all_strengths_doc(&answers.survey, &doc, NULL), BE_OK);
    be_buf_init(&markdown, 1 << 22);
    assert_int_equal(be_doc_markdown(doc, &markdown, NULL), BE_OK);
    for (size_t u = 0; u < 3; u++) {
      static const char *const heads[] = {"interval", "worst", "one in ten below"};
      char head[40];
      snprintf(head, sizeof head, " mean (%s) |", units[u]);
      assert_non_null(strstr(markdown.data, head));
      for (size_t h = 0; h < 3; h++) {
        snprintf(head, sizeof head, " %s (%s) |", heads[h], units[u]);
        assert_int_equal(strstr(markdown.data, head) != NULL,
                         strcmp(units[u], cases[i].shown) == 0);
      }
    }
    be_buf_free(&markdown);
    be_doc_free(doc);
    answers_close(&answers);
  }
}

static void the_document_leads_with_its_answer(void **state)
{
  (void)state;
  struct answers answers;
  open_ring(&answers, "tables-answer", NULL);
  ask(&answers, be_tables_doc);
  assert_told(&answers, "In nylon 20 lb to ring, dry the palomar held most, apart from every other "
                        "that was ranked: 72.50 N [69.48, 75.52], n = 4, 78 %");
  assert_told(&answers, "nylon 20 lb, as measured dry: 92.70 N");
  assert_told(&answers, "in the record class of 10 kg, 20 lb by custom");
  assert_told(&answers, "100 % is 92.70 N [88.28, 97.12]: plain nylon 20 lb, n = 3, "
                        "matched by line and soak; not recorded: spool, speed, bench and free");
  assert_told(&answers, "snell: only lower bounds, 1 pull; the highest held at least 80.9 N");
  answers_close(&answers);
}

/* Two spools of one line, the second a tenth stronger; what is divided by both or by one is said
 * knot by knot, with what each was matched by. */
static void every_denominator_is_said_of_its_knots(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,spool A,hardware,soak,speed (mm/min),load (N)");
  for (int i = 0; i < 3; i++) {
    sheet_row(&sheet, "none,nylon 12 lb,A,,dry,200,%d", 59 + i);
    sheet_row(&sheet, "none,nylon 12 lb,B,,dry,200,%d", 65 + i);
    sheet_row(&sheet, "\"palomar, doubled\",nylon 12 lb,A,ring,dry,200,%d", 51 + i);
    sheet_row(&sheet, "uni,nylon 12 lb,A,ring,dry,200,%d", 47 + i);
    sheet_row(&sheet, "snell,nylon 12 lb,B,ring,dry,,%d", 55 + i);
    sheet_row(&sheet, "snell,nylon 12 lb,A,ring,dry,200,%d", 53 + i);
  }
  answers_open(&answers, "tables-denominators", &sheet, NULL, NULL);
  ask(&answers, be_tables_doc);
  assert_told(&answers, "palomar, doubled; uni: 100 % is 60.00 N [");
  assert_told(&answers, "]: plain nylon 12 lb, n = 3, matched by spool, soak and speed; not "
                        "recorded: bench and free length.");
  /* By hand: 330 N over the shares, 3 x 54 / 60 and 3 x 56 / 66. */
  assert_told(&answers, "snell: 100 % is 62.91 N [");
  assert_told(&answers, "n = 6, matched by spool, soak and speed (3 of 6 pulls); recorded of one "
                        "side alone: speed (3 of 6 pulls); not recorded: bench and free length.");
  answers_close(&answers);
}

/* ---- names that a program of spreadsheets would run ---- */

static const char *const formulas[] = {"=cmd", "+1", "-x", "@y", "'=z", "\"=a,b"};
enum { FORMULAS = sizeof formulas / sizeof formulas[0] };

static enum be_status find_formulas(void *context, char *const *cells, size_t count, size_t line,
                                    struct be_err *err)
{
  size_t *found = context;
  (void)line;
  (void)err;
  for (size_t i = 0; i < FORMULAS && count > 1; i++) *found += strcmp(cells[1], formulas[i]) == 0;
  return BE_OK;
}

/* No cell begins so that it is run, and read back each has the name it had. */
static void no_name_is_a_formula(void **state)
{
  (void)state;
  struct answers answers;
  struct be_doc *doc = NULL;
  struct be_buf csv;
  size_t found = 0;
  struct sheet sheet = sheet_begin("knot,line A,soak,load (N)");
  static const char *const typed[] = {"'=cmd", "'+1", "-x", "@y", "''=z", "\"\"\"=a,b\""};
  for (size_t i = 0; i < FORMULAS; i++) sheet_row(&sheet, "%s,nylon 7 lb,dry,3%zu.7", typed[i], i);
  answers_open(&answers, "tables-formulas", &sheet, NULL, NULL);
  assert_int_equal(be_all_strengths_doc(&answers.survey, &doc, NULL), BE_OK);
  be_buf_init(&csv, 1 << 22);
  assert_int_equal(be_doc_csv(doc, &csv, NULL), BE_OK);
  for (const char *at = csv.data; (at = strpbrk(at, ",\n")); at++) {
    const char *cell = at + 1 + (at[1] == '"');
    if (*cell && strchr("=+@", *cell) && at[1] != '"') fail_msg("runs: %.20s", cell);
    if (*cell == '-' && cell[1] == 'x') fail_msg("runs: %.20s", cell);
  }
  assert_non_null(strstr(csv.data, ",'=cmd,1,"));
  assert_int_equal(be_book_sheet(csv.data, csv.size, find_formulas, &found, NULL), BE_OK);
  assert_int_equal((int)found, FORMULAS);
  be_buf_free(&csv);
  be_doc_free(doc);
  answers_close(&answers);
}

/* ---- files ---- */

static void path_in(char path[700], const char *folder, const char *name)
{
  snprintf(path, 700, "%s/%s", folder, name);
}

static void read_in(struct be_buf *bytes, const char *folder, const char *name)
{
  char path[700];
  path_in(path, folder, name);
  be_buf_init(bytes, 1 << 22);
  enum be_status status = be_file_read(path, bytes, NULL);
  if (status != BE_OK) fail_msg("no file %s", path);
}

static const char *const ring_files[] = {"README.md",
                                         "all.csv",
                                         "all.md",
                                         "nylon-20-lb-dry.csv",
                                         "nylon-20-lb-dry.md",
                                         "nylon-20-lb-to-ring-dry.csv",
                                         "nylon-20-lb-to-ring-dry.md"};
enum { RING_FILES = sizeof ring_files / sizeof ring_files[0] };

static void clear(char folder[512], const char *name)
{
  test_path(folder, name);
  for (size_t i = 0; i < RING_FILES; i++) {
    char path[700];
    path_in(path, folder, ring_files[i]);
    unlink(path);
  }
  rmdir(folder);
}

static void a_folder_has_each_table_twice(void **state)
{
  (void)state;
  char folder[512];
  struct answers answers;
  size_t count = 0;
  open_ring(&answers, "tables-folder", NULL);
  clear(folder, "tables-folder");
  assert_int_equal(be_tables_write(&answers.survey, folder, &count, NULL), BE_OK);
  assert_int_equal((int)count, RING_FILES);
  struct be_buf first[RING_FILES], again;
  for (size_t i = 0; i < RING_FILES; i++) read_in(&first[i], folder, ring_files[i]);
  assert_non_null(strstr(first[5].data, "\r\n\"nylon 20 lb to ring, dry\",palomar,4,0,1,"));
  assert_non_null(strstr(first[6].data, "| palomar "));
  assert_null(strstr(first[6].data, "| combination "));
  assert_non_null(strstr(first[2].data, "| combination "));
  assert_non_null(strstr(first[1].data, "plain line"));
  assert_non_null(strstr(first[0].data, "; the record as of 2"));
  assert_non_null(strstr(first[0].data, "seed 1,"));
  assert_non_null(strstr(first[6].data, "\nMade by bitterend "));
  assert_null(strstr(first[5].data, "Made by"));
  /* Ours are written over, with the same bytes. */
  assert_int_equal(be_tables_write(&answers.survey, folder, &count, NULL), BE_OK);
  for (size_t i = 0; i < RING_FILES; i++) {
    read_in(&again, folder, ring_files[i]);
    assert_int_equal(again.size, first[i].size);
    assert_memory_equal(again.data, first[i].data, again.size);
    be_buf_free(&again);
    be_buf_free(&first[i]);
  }
  answers_close(&answers);
}

/* Of a combination that is gone the tables are removed, but not one that somebody changed, nor what
 * a list that was written by hand points at. */
static void what_is_not_written_any_more_is_removed(void **state)
{
  (void)state;
  char folder[512], path[700], outside[700];
  struct answers answers;
  struct be_buf list;
  size_t count = 0;
  struct sheet sheet = sheet_begin("knot,line A,soak,load (N)");
  sheet_row(&sheet, "uni,nylon 7 lb,dry,31.3");
  sheet_row(&sheet, "uni,nylon 9 lb,dry,37.1");
  answers_open(&answers, "tables-older", &sheet, NULL, NULL);
  clear(folder, "tables-stale");
  assert_int_equal(be_tables_write(&answers.survey, folder, &count, NULL), BE_OK);
  answers_close(&answers);
  path_in(path, folder, "nylon-9-lb-dry.md");
  test_write(path, "# Strengths: mine\n");
  path_in(path, folder, "nylon-9-lb-dry.csv");
  assert_true(be_file_exists(path));
  test_path(outside, "tables-outside.md");
  test_write(outside, "kept");
  read_in(&list, folder, "README.md");
  char hash[65];
  be_sha256_hex("kept", 4, hash);
  be_buf_format(&list, "%s  ../tables-outside.md\n", hash);
  path_in(path, folder, "README.md");
  assert_int_equal(be_file_write(path, list.data, list.size, NULL), BE_OK);
  be_buf_free(&list);
  open_ring(&answers, "tables-newer", NULL);
  assert_int_equal(be_tables_write(&answers.survey, folder, &count, NULL), BE_OK);
  answers_close(&answers);
  static const struct {
    const char *name;
    bool there;
  } files[] = {{"nylon-7-lb-dry.csv", false},
               {"nylon-7-lb-dry.md", false},
               {"nylon-9-lb-dry.csv", false},
               {"nylon-9-lb-dry.md", true},
               {"all.csv", true},
               {"nylon-20-lb-to-ring-dry.md", true}};
  for (size_t i = 0; i < sizeof files / sizeof files[0]; i++) {
    path_in(path, folder, files[i].name);
    if (be_file_exists(path) != files[i].there) fail_msg("%s", files[i].name);
  }
  assert_true(be_file_exists(outside));
  path_in(path, folder, "nylon-9-lb-dry.md");
  unlink(path);
}

/* Of files of others none is touched, and nothing is written beside them. */
static void only_tables_are_replaced(void **state)
{
  (void)state;
  for (size_t i = 0; i < RING_FILES; i++) {
    char folder[512], path[700], other[700];
    struct answers answers;
    struct be_err err = {0};
    struct be_buf bytes;
    size_t count = 0;
    open_ring(&answers, "tables-way", NULL);
    clear(folder, "tables-way");
    be_dir_create(folder, NULL);
    path_in(path, folder, ring_files[i]);
    test_write(path, "# Notes of mine, 37\n");
    assert_int_equal(be_tables_write(&answers.survey, folder, &count, &err), BE_WRONG_USE);
    assert_int_equal((int)count, 0);
    assert_non_null(strstr(err.file, ring_files[i]));
    assert_non_null(strstr(err.remedy, "--tables"));
    read_in(&bytes, folder, ring_files[i]);
    assert_string_equal(bytes.data, "# Notes of mine, 37\n");
    be_buf_free(&bytes);
    path_in(other, folder, ring_files[(i + 1) % RING_FILES]);
    assert_false(be_file_exists(other));
    answers_close(&answers);
  }
}

static void a_file_is_no_folder(void **state)
{
  (void)state;
  char folder[512];
  struct answers answers;
  size_t count = 7;
  open_ring(&answers, "tables-file", NULL);
  test_path(folder, "tables-file.txt");
  test_write(folder, "not a folder");
  assert_int_not_equal(be_tables_write(&answers.survey, folder, &count, NULL), BE_OK);
  assert_int_equal((int)count, 0);
  answers_close(&answers);
}

/* Names that come out alike, that are empty, and that are the one for all. */
static void names_of_files_differ(void **state)
{
  (void)state;
  char folder[512];
  struct answers answers;
  size_t count = 0;
  struct be_buf bytes;
  struct sheet sheet = sheet_begin("knot,line A,soak,load (N)");
  sheet_row(&sheet, "uni,a+b,dry,31.3");
  sheet_row(&sheet, "uni,a-b,dry,32.7");
  sheet_row(&sheet, "uni,A & B,dry,33.9");
  sheet_row(&sheet, "uni,\xE9\x87\xA3\xE7\xB3\xB8,dry,34.1");
  answers_open(&answers, "tables-names", &sheet, NULL, NULL);
  test_path(folder, "tables-names");
  assert_int_equal(be_tables_write(&answers.survey, folder, &count, NULL), BE_OK);
  assert_int_equal((int)count, 2 * 5 + 1);
  static const char *const names[] = {"a-b-dry.csv", "a-b-dry-2.csv", "a-b-dry-3.csv", "dry.csv"};
  size_t met[4] = {0};
  for (size_t i = 0; i < 4; i++) {
    read_in(&bytes, folder, names[i]);
    met[0] += strstr(bytes.data, "a+b, dry") != NULL;
    met[1] += strstr(bytes.data, "a-b, dry") != NULL;
    met[2] += strstr(bytes.data, "A & B, dry") != NULL;
    met[3] += strstr(bytes.data, "\xE9\x87\xA3\xE7\xB3\xB8, dry") != NULL;
    be_buf_free(&bytes);
  }
  for (size_t i = 0; i < 4; i++) assert_int_equal((int)met[i], 1);
  answers_close(&answers);
}

/* Three pulls so far apart that Student's t would reach below nothing: 10.333 less 4.303 x 6.658 /
 * root 3 (t of 2 degrees of freedom at 0.975: any table). */
static void no_load_is_below_nothing(void **state)
{
  (void)state;
  char book[512];
  struct survey survey;
  struct be_arena *arena = be_arena_create();
  test_book(book, "low.book",
            "knot,line A,load (N)\nuni,nylon 3,6\nuni,nylon 3,18\nuni,nylon 3,7\n", NULL);
  assert_int_equal(
      be_survey_read(book, &(const struct be_answering){.resamples = 50}, arena, &survey, NULL),
      BE_OK);
  struct be_interval interval = be_load_interval(&survey.cells[0].load, 0.95);
  assert_near(interval.low, 0, 0);
  assert_near(interval.high, 10.333 + 4.303 * 6.658 / sqrt(3), 0.01);
  be_arena_free(arena);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_row_has_the_figures_of_its_pulls),
      cmocka_unit_test(rows_say_what_is_not_known),
      cmocka_unit_test(the_low_end_is_that_of_strength),
      cmocka_unit_test(people_see_intervals_in_the_unit_asked_for),
      cmocka_unit_test(the_document_leads_with_its_answer),
      cmocka_unit_test(every_denominator_is_said_of_its_knots),
      cmocka_unit_test(a_folder_has_each_table_twice),
      cmocka_unit_test(no_name_is_a_formula),
      cmocka_unit_test(only_tables_are_replaced),
      cmocka_unit_test(what_is_not_written_any_more_is_removed),
      cmocka_unit_test(a_file_is_no_folder),
      cmocka_unit_test(names_of_files_differ),
      cmocka_unit_test(no_load_is_below_nothing),
  };
  return be_tests("app: tables", tests);
}
