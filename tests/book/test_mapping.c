/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sheets of the tester's own shape, and the rules that tell what they mean. */
#include "book/book_test.h"

static const char *const own_shape = "prueba;nudo;hilo;carga;rotura;clima\n"
                                     "P1;as de guia;nylon 3;7,25;b;nublado\n"
                                     "P2;as de guia;nylon 3;6,75;s;sol\n";
static const char *const rules = "# columns of my sheet\n"
                                 "specimen = prueba\n\n"
                                 "knot = nudo\r\n"
                                 "  line A =  hilo  \n"
                                 "load (kg) = carga\n"
                                 "what = rotura\n"
                                 "ignore = CLIMA\n"
                                 "tyer := left hand\n"
                                 "soak := 30 min";

static void rules_name_columns_values_and_units(void **state)
{
  struct shelf *shelf = *state;
  struct be_entering how = {.mapping = rules};
  enter_with(shelf, "own.csv", own_shape, &how);
  assert_int_equal(shelf->entered.pulls, 2);
  const struct be_pull *pull = pull_of(shelf, "P1");
  assert_near(pull->load_N, 7.25 * 9.80665, 1e-12);
  assert_string_equal(pull->load_text, "7,25");
  assert_string_equal(pull->load_unit, "kg");
  assert_int_equal(pull->what, BE_WHAT_BROKE);
  assert_string_equal(pull->tyer, "left hand");
  assert_near(pull->soak_s, 1800, 0);
  assert_string_equal(shelf->record.knots[pull->knot].name, "as de guia");
  assert_string_equal(shelf->record.lines[pull->line_a].name, "nylon 3");
  assert_int_equal(pull_of(shelf, "P2")->what, BE_WHAT_SLIPPED_OUT);
  assert_sound(shelf);
}

/* One column of theirs may tell two things of ours; what says nothing is not recorded; sums between
 * the rows are no specimens. */
static void words_of_ones_own_are_told_once(void **state)
{
  struct shelf *shelf = *state;
  static const char sheet[] = "nr,knot,line,kg,failed,wetted\n"
                              "k1,uni,nylon 3,7.25,snapped=in knot,?\n"
                              "k2,uni,nylon 3,6.5,PULLED THROUGH,spit\n"
                              "mean,,,6.875,,\n"
                              ",,,,,\n"
                              "k3,uni,nylon 3,n/a,gone,?\n";
  struct be_entering how = {.save_as = "words",
                            .mapping = "specimen = nr\nload (kg) = kg\nwhat = failed\n"
                                       "where = failed\nlubricant = wetted\n"
                                       "what: snapped=in knot = broke\n"
                                       "where: snapped=in knot = in the knot\n"
                                       "what:  Pulled through  = slipped out\n"
                                       "where: pulled through = not recorded\n"
                                       "what: gone = not recorded\nwhere: gone = not seen\n"
                                       "lubricant: ? = not recorded\nload: n/a = not recorded\n"
                                       "result := void\nreason := an old notebook\n"
                                       "pass over: nr = Mean"};
  enter_with(shelf, "own.csv", sheet, &how);
  assert_int_equal(shelf->entered.pulls, 3);
  assert_int_equal(shelf->entered.rows, 3);
  assert_note(shelf, "1 row was passed over, as the rules say");
  const struct be_pull *pull = pull_of(shelf, "k1");
  assert_near(pull->load_N, 7.25 * 9.80665, 1e-12);
  assert_int_equal(pull->what, BE_WHAT_BROKE);
  assert_int_equal(pull->where, BE_WHERE_KNOT);
  assert_null(pull->lubricant);
  pull = pull_of(shelf, "k2");
  assert_int_equal(pull->what, BE_WHAT_SLIPPED_OUT);
  assert_int_equal(pull->where, BE_WHERE_UNKNOWN);
  assert_string_equal(pull->lubricant, "spit");
  pull = pull_of(shelf, "k3");
  assert_true(isnan(pull->load_N));
  assert_int_equal(pull->what, BE_WHAT_UNKNOWN);
  assert_int_equal(pull->where, BE_WHERE_NOT_SEEN);
  assert_sound(shelf);
  /* A later rule goes before a saved one. */
  how = (struct be_entering){.mapping_of = "words", .mapping = "lubricant: spit = saliva"};
  enter_with(shelf, "next.csv", "nr,knot,line,kg,failed,wetted\nk4,uni,nylon 3,7,gone,SPIT\n",
             &how);
  assert_string_equal(pull_of(shelf, "k4")->lubricant, "saliva");
}

static void a_rule_of_words_may_be_wrong(void **state)
{
  struct shelf *shelf = *state;
  static const struct {
    const char *rule, *words;
  } cases[] = {
      {"what: snapped", "has no \"=\""},
      {"what: = broke", "lacks a word"},
      {"what: snapped =", "lacks a word"},
      {"who: snapped = broke", "names a field that does not exist"},
      {"material: gut = nylon", "this kind of sheet does not have"},
      {"pass over: colour = red", "names a column that the sheet does not have"},
      {"pass over = red", "names a field that does not exist"},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct be_entering how = {.mapping = cases[i].rule};
    struct be_err err = {0};
    static const char sheet[] = "knot,line,load (N),shade\nuni,nylon 3,41.5,red\n";
    enum be_status status = enter_bytes(shelf, "a.csv", sheet, strlen(sheet), &how, &err);
    assert_int_equal(status, BE_WRONG_USE);
    assert_non_null(strstr(err.what, cases[i].words));
    assert_non_null(strstr(err.remedy, "pass over: COLUMN = WORD"));
  }
  /* What a word of theirs means must be a word of ours. */
  struct be_entering how = {.mapping = "what: red = burst\nwhat = shade"};
  struct be_err err = {0};
  static const char sheet[] = "knot,line,load (N),shade\nuni,nylon 3,41.5,red\n";
  assert_int_equal(enter_bytes(shelf, "a.csv", sheet, strlen(sheet), &how, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "\"burst\" is not one of the words for it"));
}

/* "line" and "kind" mean what they mean in the sheet at hand. */
static void rules_serve_sheets_of_lines_and_knots(void **state)
{
  struct shelf *shelf = *state;
  struct be_entering how = {.mapping = "line = hilo\nspool = bobina\nlabel = carga"};
  enter_with(shelf, "hilos.csv", "hilo,bobina,carga\nnylon,a,3 kg\nnylon,b,3 kg\n", &how);
  assert_string_equal(shelf->entered.kind, "line sheet");
  how.mapping = "knot = nudo\nkind = tipo\nturns = vueltas";
  enter_with(shelf, "nudos.csv", "nudo,tipo,vueltas\nuni,hitch,5\n", &how);
  assert_string_equal(shelf->entered.kind, "knot sheet");
  how.mapping = "line = hilo\nspool = bobina\nturns := 5";
  enter_with(shelf, "a.csv", "knot,hilo,bobina,load (N)\nuni,nylon,b,7.5\n", &how);
  const struct be_record *record = read_shelf(shelf);
  assert_int_equal(record->lines_count, 2);
  assert_int_equal(record->knots_count, 1);
  assert_string_equal(record->lines[record->pulls[0].line_a].spool, "b");
  assert_string_equal(record->knots[0].full, "uni, 5 turns");
}

static void a_mapping_is_saved_and_used_again(void **state)
{
  struct shelf *shelf = *state;
  struct be_entering how = {.mapping = rules, .save_as = "mine"};
  enter_with(shelf, "own.csv", own_shape, &how);
  shelf_reopen(shelf, true);
  how = (struct be_entering){.mapping_of = "mine"};
  enter_with(shelf, "next.csv", "prueba;nudo;hilo;carga;rotura;clima\nP3;uni;nylon 3;5,5;n;sol\n",
             &how);
  assert_near(pull_of(shelf, "P3")->load_N, 5.5 * 9.80665, 1e-12);
  assert_int_equal(pull_of(shelf, "P3")->kind, BE_KIND_BOUND);
  /* Rules given now add to the saved ones. */
  how.mapping = "where = donde";
  enter_with(shelf, "third.csv",
             "prueba;nudo;hilo;carga;rotura;clima;donde\nP4;uni;nylon 3;5,25;b;sol;k\n", &how);
  assert_int_equal(pull_of(shelf, "P4")->where, BE_WHERE_KNOT);
  assert_string_equal(pull_of(shelf, "P4")->tyer, "left hand");
  assert_int_equal(count_of(shelf, "SELECT count(*) FROM entered WHERE mapping IS NOT NULL"), 3);
  how = (struct be_entering){.mapping = "what := n\nignore = clima", .save_as = "mine"};
  enter_with(shelf, "fourth.csv", "knot;line;load (N);clima\nuni;nylon 3;44,5;x\n", &how);
  how = (struct be_entering){.mapping_of = "mine"};
  enter_with(shelf, "fifth.csv", "knot;line;load (N);clima\nuni;nylon 3;45,5;x\n", &how);
  assert_int_equal(pull_of(shelf, "fifth.csv:2")->what, BE_WHAT_NOTHING);
}

/* What was refused saves no mapping either. */
static void a_refused_sheet_saves_no_mapping(void **state)
{
  struct shelf *shelf = *state;
  struct be_entering how = {.mapping = "load (N) = kraft", .save_as = "mine"};
  const char *text = "knot,line,kraft\nreef,nylon,much\n";
  refuse_with(shelf, "a.csv", text, &how, BE_BAD_INPUT, "much");
  how = (struct be_entering){.mapping_of = "mine"};
  struct be_err err = refuse_with(shelf, "a.csv", text, &how, BE_WRONG_USE,
                                  "the book has no mapping called \"mine\"");
  assert_part(err.remedy, "--save-mapping");
}

static void bad_rules_are_wrong_use(void **state)
{
  struct shelf *shelf = *state;
  static const struct {
    const char *rule, *what;
  } cases[] = {
      {"load", "the mapping rule \"load\" has no \"=\""},
      {"mass = load (N)", "\"mass = load (N)\" names a field that does not exist"},
      {"load = kraft", "\"load = kraft\" names a column that the sheet does not have"},
      {"ignore = kraft", "\"ignore = kraft\" names a column that the sheet does not have"},
      {"material := nylon", "names a field that this kind of sheet does not have"},
      {"=", "names a field that does not exist"},
      {":=", "names a field that does not exist"},
      {"load (mm) = load (N)", "names a unit that is not known, or not one for it"},
      {"speed = load (N)", "takes a column whose unit is not known, or not one for it"},
      {"load (stone) = load (N)", "\"load (stone) = load (N)\" names a unit that is not known"},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct be_entering how = {.mapping = cases[i].rule};
    struct be_err err = refuse_with(shelf, "a.csv", "knot,line,load (N),who\nreef,nylon,7.5,me\n",
                                    &how, BE_WRONG_USE, cases[i].what);
    assert_part(err.remedy, "FIELD := VALUE");
  }
  char rule[300] = "note := ";
  memset(rule + 8, 'x', 256 - 8);
  struct be_entering how = {.mapping = rule};
  const char *text = "knot,line,load (N)\nreef,nylon,7.5\n";
  refuse_with(shelf, "a.csv", text, &how, BE_WRONG_USE, "xxx...\" is too long");
  rule[255] = '\0';
  enter_with(shelf, "a.csv", text, &how);
  assert_int_equal(strlen(read_shelf(shelf)->pulls[0].note), 255 - 8);
}

/* The last rule for a field counts, and frees the column of the one before. */
static void a_later_rule_replaces_an_earlier_one(void **state)
{
  struct shelf *shelf = *state;
  const char *text = "knot,line,load (N),who,tyer\nreef,nylon,7.5,right hand,left hand\n";
  struct be_entering how = {.mapping = "note = who", .save_as = "mine"};
  enter_with(shelf, "a.csv", text, &how);
  how = (struct be_entering){.mapping_of = "mine", .mapping = "note = tyer"};
  text = "knot,line,load (N),who,tyer\nreef,nylon,8.5,right hand,left hand\n";
  struct be_err err = refuse_with(shelf, "b.csv", text, &how, BE_BAD_INPUT, "column \"who\"");
  assert_place(&err, 1, 4);
  how.mapping = "note = tyer\ntyer = who";
  enter_with(shelf, "b.csv", text, &how);
  assert_string_equal(read_shelf(shelf)->pulls[0].note, "right hand");
  assert_string_equal(shelf->record.pulls[0].tyer, "left hand");
  assert_string_equal(shelf->record.pulls[1].note, "left hand");
  assert_string_equal(shelf->record.pulls[1].tyer, "right hand");
}

/* An ignored column is the way out of two that mean the same. */
static void ignoring_settles_two_columns_for_one_field(void **state)
{
  struct shelf *shelf = *state;
  const char *text = "knot,line,load (N),breaking force (N)\nreef,nylon,7.5,8.5\n";
  struct be_err err =
      refuse_text(shelf, text, "columns \"load (N)\" and \"breaking force (N)\" both mean load");
  assert_place(&err, 1, 4);
  struct be_entering how = {.mapping = "ignore = load (N)"};
  enter_with(shelf, "a.csv", text, &how);
  assert_near(read_shelf(shelf)->pulls[0].load_N, 8.5, 0);
}

/* Rules given with several files are for those that need them. */
static void rules_are_left_to_the_sheets_that_need_them(void **state)
{
  struct shelf *shelf = *state;
  struct be_entering how = {.mapping = rules, .save_as = "mine"};
  const char *lines = "line,material\nnylon 3,nylon\n";
  assert_string_equal(be_book_kind(lines, strlen(lines), rules), "line sheet");
  enter_with(shelf, "lines.csv", lines, &how);
  assert_string_equal(shelf->entered.kind, "line sheet");
  assert_note(shelf, "it was entered without them");
  assert_int_equal(count_of(shelf, "SELECT count(*) FROM mapping"), 0);
  enter_with(shelf, "own.csv", own_shape, &how);
  assert_int_equal(shelf->entered.notes_count, 1); /* a new knot */
  assert_string_equal(be_book_kind(own_shape, strlen(own_shape), NULL), "trace");
  how = (struct be_entering){.mapping_of = "mine"};
  assert_string_equal(be_book_kind_of(shelf->book, own_shape, strlen(own_shape), &how),
                      "pull sheet");
  char trace[TRACE_SIZE];
  make_trace(trace, 2.4, 71.3, 0);
  enter_with(shelf, "P1.csv", trace, &how);
  assert_string_equal(shelf->entered.kind, "trace");
  assert_string_equal(be_book_kind_of(shelf->book, trace, strlen(trace), &how), "trace");
  assert_int_equal(count_of(shelf, "SELECT count(*) FROM entered WHERE mapping IS NULL"), 2);
  assert_sound(shelf);
}

/* A real list of forty pulls, written by its tester's own habits; it lies
 * outside the project and is passed over when it is not there. */
static void a_list_from_outside_is_read(void **state)
{
  struct shelf *shelf = *state;
  const char *shared = getenv("BE_SHARED");
  char path[512];
  snprintf(path, sizeof path, "%s/pulls/ten-pull-list.csv", shared ? shared : "../shared");
  if (!be_file_exists(path)) {
    print_message("# SKIP: no %s\n", path);
    skip();
  }
  struct be_buf bytes;
  be_buf_init(&bytes, 1 << 20);
  assert_int_equal(be_file_read(path, &bytes, NULL), BE_OK);
  struct be_entering how = {.mapping = "ignore = test\nversion = pulled\nwhat = let go"};
  enter_with(shelf, "list.csv", bytes.data, &how);
  be_buf_free(&bytes);
  assert_int_equal(shelf->entered.pulls, 40);
  assert_int_equal(shelf->entered.knots, 4);
  assert_int_equal(shelf->entered.lines, 1);
  const struct be_pull *pull = pull_of(shelf, "list.csv:18");
  assert_near(pull->load_N, 14.5 * 9.80665 * 0.45359237, 1e-12);
  assert_string_equal(pull->load_text, "14,5");
  assert_string_equal(pull->note, "typed with a comma");
  assert_note(shelf, "line 18: column \"load\": \"14,5\" was taken for 14.5 lb");
  assert_string_equal(shelf->record.lines[0].label, "40 lb");
  assert_sound(shelf);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      on_a_shelf(rules_name_columns_values_and_units),
      on_a_shelf(rules_serve_sheets_of_lines_and_knots),
      on_a_shelf(a_mapping_is_saved_and_used_again),
      on_a_shelf(a_refused_sheet_saves_no_mapping),
      on_a_shelf(bad_rules_are_wrong_use),
      on_a_shelf(a_later_rule_replaces_an_earlier_one),
      on_a_shelf(ignoring_settles_two_columns_for_one_field),
      on_a_shelf(rules_are_left_to_the_sheets_that_need_them),
      on_a_shelf(a_list_from_outside_is_read),
      on_a_shelf(words_of_ones_own_are_told_once),
      on_a_shelf(a_rule_of_words_may_be_wrong),
  };
  return be_tests("book: mapping", tests);
}
