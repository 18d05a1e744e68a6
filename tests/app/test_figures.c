/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Every figure of a book, as a gallery and as files. The book has the data for each kind; another
 * has none, and is told why. */
#include "app/figures/gallery.h"
#include "fault/failing.h"
#include "trial_book.h"

static struct trial_book full, bare;

static const char lines[] = "line,spool,material,label,diameter (mm)\n"
                            "nylon 6 lb,S6,nylon,6 lb,0.23\nnylon 12 lb,S12,nylon,12 lb,0.33\n"
                            "nylon 20 lb,S20,nylon,20 lb,0.41\n";

/* 1.5 s up to `peak` with a dip on the way, then at once to nothing. */
static void write_trace(const char *name, double peak, bool extension)
{
  char path[512], text[8192];
  size_t used = (size_t)snprintf(text, sizeof text, "time (s),load (N)%s\n",
                                 extension ? ",extension (mm)" : "");
  for (int i = 0; i <= 160; i++) {
    double part = i < 10 ? 0 : i > 150 ? 0.002 : (i - 9) / 141.0;
    if (i > 70 && i < 76) part *= 0.8;
    used += (size_t)snprintf(text + used, sizeof text - used, "%.2f,%.2f", 0.01 * i, peak * part);
    if (extension) used += (size_t)snprintf(text + used, sizeof text - used, ",%.2f", 0.37 * i);
    used += (size_t)snprintf(text + used, sizeof text - used, "\n");
  }
  test_path(path, name);
  test_write(path, text);
}

static void add(struct be_buf *sheet, const char *knot, int turns, const char *line,
                const char *spool, const char *hardware, double load, int i, const char *result)
{
  static int number;
  char turned[24] = "";
  bool traced = load == 31.4 || load == 33.2;
  if (turns) snprintf(turned, sizeof turned, "%d", turns);
  number++;
  be_buf_format(sheet, "f%d,%s,%s,%s,%s,%s,dry,%.2f,%s,%s,%s,%s\n", number, knot, turned, line,
                spool, hardware, load + (traced ? 0 : 0.37 * (i % 4)),
                i == 2 && strcmp(knot, "half blood") == 0 ? "slipped out" : "broke",
                *result == 'l' ? "clear of it" : "in the knot", result,
                load == 31.4   ? "figures-a.csv"
                : load == 33.2 ? "figures-b.csv"
                               : "");
}

static void write_pulls(struct be_buf *sheet)
{
  static const struct {
    const char *line, *spool;
    double plain;
  } spools[] = {{"nylon 6 lb", "S6", 28}, {"nylon 12 lb", "S12", 55}, {"nylon 20 lb", "S20", 91}};
  be_buf_text(sheet, "specimen,knot,turns,line A,spool A,hardware,soak,load (N),what,where,result,"
                     "trace\n");
  for (size_t s = 0; s < 3; s++)
    for (int i = 0; i < 7; i++) {
      const char *line = spools[s].line, *spool = spools[s].spool;
      double plain = spools[s].plain;
      add(sheet, "none", 0, line, spool, "", plain, i, "event");
      add(sheet, "half blood", 4, line, spool, "ring", 0.71 * plain, i, "event");
      if (s < 2) add(sheet, "half blood", 6, line, spool, "ring", 0.78 * plain, i, "event");
      add(sheet, "palomar", 0, line, spool, "ring", 0.9 * plain, i,
          i == 3 ? "lower bound" : "event");
    }
  add(sheet, "palomar", 0, "nylon 12 lb", "S12", "ring", 31.4, 0, "event");
  add(sheet, "palomar", 0, "nylon 12 lb", "S12", "ring", 33.2, 0, "event");
}

static int begin(void **state)
{
  struct be_buf sheet;
  (void)state;
  write_trace("figures-a.csv", 31.4, true);
  write_trace("figures-b.csv", 33.2, true);
  trial_begin(&full, "figures");
  trial_enter(&full, lines);
  be_buf_init(&sheet, 1 << 20);
  write_pulls(&sheet);
  trial_enter(&full, sheet.data);
  be_buf_free(&sheet);
  trial_enter(&full, TRIAL_OF_NINE);
  trial_enter(&full,
              "specimen,knot,line A,spool A,soak,load (N)\na1,palomar,nylon 12 lb,S1,dry,53.1\n");
  trial_enter(&full, "bench,calibration,certificate,date,months,load applied (N),reading,reference,"
                     "resolution\nshed,winter,K-7,2026-01-15,3,4,9,0.1 %,0.02 N\n"
                     "shed,winter,,,,20,41,,\nshed,winter,,,,50,101,,\n");
  trial_enter(&full, "bench,date,weight (N),reading\nshed,2026-02-01,20,41\n"
                     "shed,2026-02-02,20,41.2\nshed,2026-02-03,20,40.8\n");
  trial_read(&full);
  trial_begin(&bare, "figures-bare");
  trial_enter(&bare, "specimen,knot,line A,load (N)\nz1,palomar,nylon,53.1\n");
  trial_read(&bare);
  return 0;
}

static int end(void **state)
{
  (void)state;
  trial_close(&full);
  trial_close(&bare);
  return 0;
}

static void fill(struct trial_book *book, struct gallery *gallery, struct be_doc *doc)
{
  struct be_err err = {0};
  *gallery = (struct gallery){.survey = &book->answers.survey, .doc = doc};
  assert_int_equal(be_book_open(book->path, false, &gallery->book, NULL), BE_OK);
  enum be_status status = be_gallery_fill(gallery, &err);
  if (status != BE_OK) fail_msg("%s", err.what);
}

static void empty(struct gallery *gallery)
{
  be_gallery_empty(gallery);
  be_book_close(gallery->book);
}

static const struct be_figure *figure_of(const struct gallery *gallery, const char *kind,
                                         const char *of)
{
  for (size_t i = 0; i < gallery->count; i++)
    if (strcmp(gallery->list[i].kind, kind) == 0 && strcmp(gallery->list[i].of, of) == 0)
      return gallery->list[i].figure;
  fail_msg("no figure %s of %s", kind, of);
  return NULL;
}

/* Whether a row of the data means this, is of that ("" for any) and holds this number under a name.
 */
static bool holds(const struct be_figure *figure, const char *means, const char *of,
                  const char *key, double number)
{
  struct be_data data;
  struct be_arena *arena = be_arena_create();
  bool found = false;
  assert_int_equal(be_figure_data(figure, arena, &data), BE_OK);
  for (size_t row = 0; row < data.rows; row++) {
    const struct be_datum *cells = &data.cells[row * data.columns];
    bool same = strcmp(cells[0].text, means) == 0, its = !*of;
    for (size_t c = 1; c < data.columns; c++)
      its |= cells[c].text && strcmp(cells[c].text, of) == 0;
    for (size_t c = 1; same && its && c < data.columns; c++)
      found |= strcmp(data.keys[c], key) == 0 && fabs(cells[c].number - number) < 1e-6;
  }
  be_arena_free(arena);
  return found;
}

static void every_kind_is_shown(void **state)
{
  (void)state;
  static const char *const kinds[] = {
      "pulls",   "standings", "two-knots", "label-strength", "diameter", "turns", "let-go",
      "chances", "traces",    "stretch",   "checks",         "grid",     "order"};
  struct gallery gallery;
  struct be_doc *doc = be_doc_create("d", "T");
  fill(&full, &gallery, doc);
  for (size_t k = 0; k < sizeof kinds / sizeof kinds[0]; k++) {
    size_t count = 0;
    for (size_t i = 0; i < gallery.count; i++) count += strcmp(gallery.list[i].kind, kinds[k]) == 0;
    if (count == 0) fail_msg("no figure of the kind %s", kinds[k]);
  }
  for (size_t i = 0; i < gallery.count; i++) {
    struct be_figure *figure = gallery.list[i].figure;
    assert_true(*be_figure_title(figure) && *be_figure_subtitle(figure) &&
                *be_figure_words(figure));
  }
  assert_true(says(doc,
                   "No figure of bend and hitch of one knot: no knot was tied both between two "
                   "lines and on hardware"));
  be_doc_free(doc);
  empty(&gallery);
}

static void one_pull_tells_nothing_of_scatter(void **state)
{
  (void)state;
  struct trial_book book;
  struct gallery gallery;
  size_t told = 0;
  trial_begin(&book, "figures-single");
  trial_enter(&book, "specimen,knot,line A,hardware,soak,load (N)\n"
                     "y1,palomar,nylon 12 lb,ring,dry,53.1\ny2,uni,nylon 12 lb,ring,dry,47.9\n"
                     "y3,palomar,nylon 6 lb,ring,dry,26.7\ny4,uni,nylon 6 lb,ring,dry,23.9\n");
  trial_read(&book);
  fill(&book, &gallery, NULL);
  for (size_t i = 0; i < gallery.count; i++) {
    const char *title = be_figure_title(gallery.list[i].figure);
    bool loads = strcmp(gallery.list[i].kind, "pulls") == 0 ||
                 strcmp(gallery.list[i].kind, "standings") == 0;
    told += strstr(title, "ne pull") && strstr(title, "nothing of scatter");
    if (loads && (strstr(title, "highest mean") || strstr(title, "cannot be separated")))
      fail_msg("%s: %s", gallery.list[i].kind, title);
  }
  assert_true(told >= 4); /* pulls and standings of both lines */
  empty(&gallery);
  trial_close(&book);
}

/* Five alike and one far below: of each, the others alone, runs of ranks as such. */
static void ranks_that_follow_one_another_are_told_as_runs(void **state)
{
  (void)state;
  struct trial_book book;
  struct gallery gallery;
  struct be_buf sheet;
  be_buf_init(&sheet, 1 << 16);
  be_buf_text(&sheet, "specimen,knot,line A,hardware,soak,load (N)\n");
  for (int knot = 0; knot < 6; knot++)
    for (int i = 0; i < 5; i++)
      be_buf_format(&sheet, "r%d%d,knot %c,nylon 12 lb,ring,dry,%.1f\n", knot, i, 'A' + knot,
                    knot == 5 ? 11.3 + 0.1 * i : 51.3 + 1.7 * i - 0.1 * knot);
  trial_begin(&book, "figures-runs");
  trial_enter(&book, sheet.data);
  trial_read(&book);
  fill(&book, &gallery, NULL);
  const char *words = be_figure_words(figure_of(&gallery, "standings", "nylon 12 lb to ring, dry"));
  assert_non_null(strstr(words, " knot A: "));
  assert_non_null(strstr(words, "n = 5, not separated from 2 to 5; 2 (1 to 5)"));
  assert_non_null(strstr(words, "n = 5, not separated from 1, 3 to 5; 3 (1 to 5)"));
  assert_non_null(strstr(words, "n = 5, not separated from 1, 2, 4, 5; 4 (1 to 5)"));
  assert_non_null(strstr(words, "n = 5, not separated from 1 to 4; 6 knot F"));
  be_buf_free(&sheet);
  empty(&gallery);
  trial_close(&book);
}

static void what_cannot_be_shown_is_told(void **state)
{
  (void)state;
  struct gallery gallery;
  struct be_doc *doc = be_doc_create("d", "T");
  fill(&bare, &gallery, doc);
  assert_true(says(doc,
                   "No figure of standings with rank ranges: nowhere were two knots tied on the "
                   "same lines."));
  assert_true(says(doc, "No figure of the effect of turns: no knot with a measured plain line"));
  assert_true(says(doc, "No figure of traces over one another: no knot has two traces"));
  assert_true(says(doc, "No figure of plan and run order: the book has no trial with a plan."));
  assert_true(says(doc, "No figure of control charts of check weights: no check weight was read "
                        "twice under one calibration."));
  figure_of(&gallery, "pulls", "nylon, soak not recorded");
  be_doc_free(doc);
  empty(&gallery);
}

/* Worked out anew from what was typed: shares of the mean plain line of the spool. */
static void the_data_are_those_of_the_book(void **state)
{
  (void)state;
  struct gallery gallery;
  fill(&full, &gallery, NULL);
  const struct survey *survey = &full.answers.survey;
  const struct be_figure *pulls = figure_of(&gallery, "pulls", "nylon 6 lb to ring, dry");
  assert_true(holds(pulls, "event", "f2", "load_N", 0.71 * 28));
  const struct cell *cell = test_cell(survey, "nylon 6 lb to ring, dry", "half blood, 4 turns");
  const struct be_figure *turns = figure_of(&gallery, "turns", "half blood");
  const struct be_interval *interval = &cell->efficiency.interval;
  assert_true(holds(turns, "mean", "half blood, 4 turns", "efficiency_percent",
                    100 * cell->efficiency.value));
  assert_true(
      holds(turns, "mean", "half blood, 4 turns", "efficiency_percent_low", 100 * interval->low));
  assert_true(
      holds(turns, "mean", "half blood, 4 turns", "efficiency_percent_high", 100 * interval->high));
  assert_true(holds(turns, "mean", "half blood, 4 turns", "turns", 4));
  assert_true(holds(turns, "mean", "nylon 6 lb to ring, dry", "n", 7));
  assert_true(holds(figure_of(&gallery, "diameter", "nylon to ring, dry"), "mean", "palomar",
                    "diameter_mm", 0.23));
  assert_true(holds(figure_of(&gallery, "label-strength", "nylon to ring, dry"), "mean",
                    "nylon 12 lb to ring, dry", "label_strength_N",
                    be_shown(survey, 12 * 4.4482216152605)));
  /* One of seven slipped in each of three combinations of uni with 4 turns. */
  const struct be_figure *let_go = figure_of(&gallery, "let-go", "nylon 20 lb to ring, dry");
  assert_non_null(strstr(be_figure_title(let_go), "half blood, 4 turns: 1 of 7 slipped out, 14"));
  assert_true(holds(let_go, "slipped out", "half blood, 4 turns", "share_percent", 100 / 7.0));
  assert_non_null(strstr(be_figure_words(let_go),
                         "half blood, 4 turns, n = 7: 6 broke at the knot, 1 slipped out"));
  /* Plotting positions (i - 1/2) / n: the least of seven stands at 1 / 14. */
  assert_true(holds(figure_of(&gallery, "chances", "half blood, 4 turns, nylon 20 lb to ring, dry"),
                    "event", "", "let_go_by_then_percent", 100 / 14.0));
  empty(&gallery);
}

static void traces_meet_at_their_peaks(void **state)
{
  (void)state;
  struct gallery gallery;
  fill(&full, &gallery, NULL);
  const struct be_figure *traces =
      figure_of(&gallery, "traces", "palomar, nylon 12 lb to ring, dry");
  assert_non_null(strstr(be_figure_title(traces), "2 of 2 slipped on the way up, 100 %"));
  assert_true(holds(traces, "trace", "palomar", "time_from_the_peak_s", 0));
  assert_true(holds(traces, "trace", "", "load_N", 31.4));
  assert_true(holds(traces, "trace", "", "load_N", 33.2));
  assert_true(holds(traces, "slip", "", "time_from_the_peak_s", 0.01 * (70 - 150)));
  const struct be_figure *stretch = figure_of(&gallery, "stretch", "nylon 12 lb to ring, dry");
  assert_non_null(strstr(be_figure_title(stretch), " mm, one pull"));
  empty(&gallery);
}

/* Specimens that are still to be pulled stand in blocks: no word of a knot. */
static void an_open_trial_stays_blind(void **state)
{
  (void)state;
  struct gallery gallery;
  struct be_data data;
  struct be_arena *arena = be_arena_create();
  fill(&full, &gallery, NULL);
  const struct be_figure *order = figure_of(&gallery, "order", "spring");
  assert_int_equal(be_figure_rows(order), 3);
  assert_int_equal(be_figure_data(order, arena, &data), BE_OK);
  for (size_t i = 0; i < data.rows * data.columns; i++)
    if (data.cells[i].text)
      assert_true(!strstr(data.cells[i].text, "palomar") && !strstr(data.cells[i].text, "uni"));
  assert_true(holds(order, "pulled", "a1", "place", 1));
  assert_null(strstr(be_figure_words(order), "palomar"));
  be_arena_free(arena);
  empty(&gallery);
}

/* ---- files ---- */

static enum be_status publish(const char *folder, const char *size, const char *ground,
                              struct be_doc **doc, struct be_err *err)
{
  const struct be_publishing asked = {.figures_path = folder, .size = size, .ground = ground};
  return be_app_publish(bare.path, &asked, &(const struct be_answering){0}, doc, err);
}

static void read_file(const char *folder, const char *name, struct be_buf *bytes)
{
  char path[700];
  snprintf(path, sizeof path, "%s/%s", folder, name);
  be_buf_init(bytes, 1 << 26);
  assert_int_equal(be_file_read(path, bytes, NULL), BE_OK);
}

static void each_figure_is_four_files(void **state)
{
  (void)state;
  static const struct {
    const char *ending, *begins;
  } files[] = {{".svg", "<svg "}, {".png", "\x89PNG"}, {".txt", "Figure: "}, {".csv", "what,"}};
  char folder[512], name[100];
  struct be_buf first[4], again, index;
  struct be_doc *doc = NULL;
  test_path(folder, "figures-out");
  for (int turn = 0; turn < 2; turn++) {
    assert_int_equal(publish(folder, NULL, NULL, &doc, NULL), BE_OK);
    assert_true(says(doc, " figures, "));
    be_doc_free(doc);
    for (size_t i = 0; i < 4; i++) {
      snprintf(name, sizeof name, "pulls-nylon-soak-not-recorded%s", files[i].ending);
      read_file(folder, name, turn ? &again : &first[i]);
      const struct be_buf *got = turn ? &again : &first[i];
      assert_memory_equal(got->data, files[i].begins, strlen(files[i].begins));
      if (turn == 0) continue;
      assert_int_equal(again.size, first[i].size);
      assert_memory_equal(again.data, first[i].data, again.size);
      be_buf_free(&again);
    }
  }
  assert_non_null(strstr(first[3].data,
                         "what,knot,combination,specimen,n,lower_bounds,load_N\r\n"
                         "event,palomar,\"nylon, soak not recorded\",z1,,,53.1\r\n"));
  read_file(folder, "index.csv", &index);
  assert_non_null(
      strstr(index.data, "svg,png,words_file,data_file,kind,of,title,subtitle,words\r\n"));
  assert_non_null(strstr(index.data, "pulls-nylon-soak-not-recorded.svg,"));
  be_buf_free(&index);
  for (size_t i = 0; i < 4; i++) be_buf_free(&first[i]);
  assert_int_equal(publish(folder, "tall", "clear", &doc, NULL), BE_OK);
  be_doc_free(doc);
  read_file(folder, "pulls-nylon-soak-not-recorded-tall.png", &index);
  /* Width, height, depth and colour type of the header chunk (PNG, 11.2.2): 6 has alpha. */
  assert_memory_equal(index.data + 16, "\0\0\x04\x38\0\0\x07\x80\x08\x06", 10);
  be_buf_free(&index);
}

static void what_is_not_ours_stays(void **state)
{
  (void)state;
  static const struct {
    const char *name, *holds;
  } taken[] = {{"pulls-nylon-soak-not-recorded.txt", "my notes of the season\n"},
               {"pulls-nylon-soak-not-recorded.png", "\x89PNG\r\n\x1A\n of another"}};
  char folder[512], path[700];
  struct be_buf kept;
  struct be_err err;
  struct be_doc *doc = NULL;
  test_path(folder, "figures-taken");
  assert_int_equal(be_dir_create(folder, NULL), BE_OK);
  for (size_t i = 0; i < sizeof taken / sizeof taken[0]; i++) {
    snprintf(path, sizeof path, "%s/%s", folder, taken[i].name);
    test_write(path, taken[i].holds);
    assert_int_equal(publish(folder, NULL, NULL, &doc, &err), BE_WRONG_USE);
    assert_null(doc);
    assert_non_null(strstr(err.remedy, "--figures"));
    read_file(folder, taken[i].name, &kept);
    assert_string_equal(kept.data, taken[i].holds);
    be_buf_free(&kept);
    be_file_remove(path, NULL);
  }
  assert_int_equal(publish(folder, "huge", NULL, &doc, &err), BE_WRONG_USE);
  assert_non_null(strstr(err.what, "not \"huge\""));
  assert_int_equal(publish(folder, NULL, "pink", &doc, &err), BE_WRONG_USE);
  assert_non_null(strstr(err.what, "not \"pink\""));
}

/* ---- memory ---- */

/* Without traces, whose reading is tried in tests/fault. */
static enum be_status make_all(void *context, struct be_err *err)
{
  struct survey survey = full.answers.survey;
  struct gallery gallery = {.survey = &survey};
  (void)context;
  survey.arena = be_arena_create();
  if (!survey.arena) return be_no_memory(err);
  enum be_status status = be_gallery_fill(&gallery, err);
  if (status == BE_OK && be_arena_ran_out(survey.arena)) status = be_no_memory(err);
  if (status == BE_OK) assert_true(gallery.count > 20);
  be_gallery_empty(&gallery);
  be_arena_free(survey.arena);
  return status;
}

static void memory_may_fail_anywhere(void **state)
{
  (void)state;
  be_fail_loop(make_all, NULL, 9);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_kind_is_shown),
      cmocka_unit_test(one_pull_tells_nothing_of_scatter),
      cmocka_unit_test(ranks_that_follow_one_another_are_told_as_runs),
      cmocka_unit_test(what_cannot_be_shown_is_told),
      cmocka_unit_test(the_data_are_those_of_the_book),
      cmocka_unit_test(traces_meet_at_their_peaks),
      cmocka_unit_test(an_open_trial_stays_blind),
      cmocka_unit_test(each_figure_is_four_files),
      cmocka_unit_test(what_is_not_ours_stays),
      cmocka_unit_test(memory_may_fail_anywhere),
  };
  cmocka_set_message_output(CM_OUTPUT_TAP);
  return _cmocka_run_group_tests("app: figures", tests, sizeof tests / sizeof tests[0], begin, end);
}
