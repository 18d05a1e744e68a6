/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Memory fails at each point of a section of the strength document, and of versus and next, once
 * and for ever: all of it stands or an error, and nothing leaks. The books were read before, so
 * that only the section is tried: every point is a section anew. That reading a book and a document
 * of all sections bear it too is asked in tests/fault. */
#include "app/cards/tell.h"
#include "app/live/live.h"
#include "app/pulls/pulls.h"
#include "app/rig/trust.h"
#include "app/strength/strength.h"
#include "memory_test.h"
#include "trial_book.h"

static void try_section(const struct answers *answers, writer *say, const char *words)
{
  try_either(answers, say, NULL, words);
}

static enum be_status ask_versus(const struct survey *survey, struct be_doc **doc,
                                 struct be_err *err)
{
  return be_versus_doc(survey, 0, 1, doc, err);
}

static enum be_status ask_findings(const struct survey *survey, struct be_doc **doc,
                                   struct be_err *err)
{
  return be_findings_doc(survey, doc, err);
}

static enum be_status ask_finding(const struct survey *survey, struct be_doc **doc,
                                  struct be_err *err)
{
  return be_finding_doc(survey, 0, 0, doc, err);
}

static enum be_status ask_next(const struct survey *survey, struct be_doc **doc, struct be_err *err)
{
  return be_next_doc(survey, &(const struct be_tying){0}, doc, err);
}

static enum be_status ask_next_of_two(const struct survey *survey, struct be_doc **doc,
                                      struct be_err *err)
{
  return be_next_doc(survey, &(const struct be_tying){.a = "uni", .b = "palomar"}, doc, err);
}

static enum be_status ask_lines(const struct survey *survey, struct be_doc **doc,
                                struct be_err *err)
{
  return be_lines_doc(survey, doc, err);
}

static enum be_status ask_line(const struct survey *survey, struct be_doc **doc, struct be_err *err)
{
  return be_line_doc(survey, 0, 0, doc, err);
}

static enum be_status ask_knots(const struct survey *survey, struct be_doc **doc,
                                struct be_err *err)
{
  return be_knots_doc(survey, doc, err);
}

static enum be_status ask_knot(const struct survey *survey, struct be_doc **doc, struct be_err *err)
{
  return be_knot_doc(survey, 0, 0, doc, err);
}

static enum be_status ask_trials(const struct survey *survey, struct be_doc **doc,
                                 struct be_err *err)
{
  return be_trials_doc(survey, doc, err);
}

static enum be_status ask_trial(const struct survey *survey, struct be_doc **doc,
                                struct be_err *err)
{
  return be_trial_doc(survey, &survey->record.trials[0], doc, err);
}

static enum be_status ask_labels(const struct survey *survey, struct be_doc **doc,
                                 struct be_err *err)
{
  return be_trial_labels_doc(survey, &survey->record.trials[0], doc, err);
}

static enum be_status ask_pulls(const struct survey *survey, struct be_doc **doc,
                                struct be_err *err)
{
  const struct be_pulls_asked asked = {
      .text = {[BE_PULLS_KNOT] = "uni", [BE_PULLS_SESSION] = "..2026-03-09"}};
  return be_pulls_doc(survey, &asked, 0, doc, err);
}

/* A new plan; its sheets too. */
static enum be_status ask_plan(const struct survey *survey, struct be_doc **doc, struct be_err *err)
{
  struct proposal proposal;
  struct be_planning asked = {.trial = "summer",
                              .knots = "uni; palomar",
                              .on = "S1; S1 + ring",
                              .within = 9,
                              .cv = 0.05,
                              .tyers = "Wren; Sorrel"};
  struct be_buf sheet;
  be_buf_init(&sheet, 1 << 20);
  enum be_status status = be_plan_usual(&asked, err);
  if (status == BE_OK) status = be_plan_make(survey, &asked, &proposal, err);
  if (status == BE_OK) status = be_trial_sheet(survey, &proposal.trial, &sheet, err);
  if (status == BE_OK) status = be_rule_sheet(survey, &proposal.trial, &sheet, err);
  be_buf_free(&sheet);
  return status == BE_OK ? be_proposal_doc(survey, &proposal, "Not kept.", doc, err) : status;
}

/* The bench, before the guard is down. */
static enum be_status ask_bench(const struct survey *survey, struct be_doc **doc,
                                struct be_err *err)
{
  static const struct be_session_view view = {
      .step = BE_STEP_GUARD,
      .specimen = "x1",
      .told = "specimen=x1\nknot=uni\nline A=nylon 12 lb\nspool A=S1\nfree length=500 mm\n"};
  const struct be_bench_asked asked = {.how = &survey->how, .arena = survey->arena};
  struct be_buf html;
  be_buf_init(&html, 1 << 20);
  enum be_status status = be_live_page(survey, &view, &asked, doc, &html, err);
  be_buf_free(&html);
  return status;
}

/* A card, drawn, and its text. */
static enum be_status draw_card(const struct card *card, struct be_doc *doc, struct be_err *err)
{
  struct be_drawing *drawing = NULL;
  struct be_buf svg, text;
  size_t count = 0;
  be_buf_init(&svg, 1 << 22);
  be_buf_init(&text, 1 << 20);
  enum be_status status = be_card_draw(card, &be_card_sizes[0], 0, &count, &drawing, err);
  if (status == BE_OK) status = be_drawing_clear_svg(drawing, false, &svg, err);
  if (status == BE_OK) be_card_text(card, &text);
  if (status == BE_OK) status = be_buf_status(&text, err);
  if (status == BE_OK) be_doc_sentence(doc, "%s %zu", text.data, svg.size);
  be_drawing_free(drawing);
  be_buf_free(&svg);
  be_buf_free(&text);
  return status;
}

static enum be_status say_cards(struct be_doc *doc, const struct survey *survey, struct be_err *err)
{
  struct card card;
  struct place *places;
  size_t count;
  const struct cell *cell = &survey->cells[0];
  enum be_status status = be_card_of_combination(survey, &survey->combinations[0], &card, err);
  if (status == BE_OK) status = draw_card(&card, doc, err);
  if (status == BE_OK) status = be_card_of_result(survey, cell, &card, err);
  if (status == BE_OK) status = draw_card(&card, doc, err);
  if (status == BE_OK) status = be_card_of_pull(survey, cell, cell->pulls[0], &card, err);
  if (status == BE_OK) status = draw_card(&card, doc, err);
  if (status == BE_OK) status = be_card_of_knot(survey, 0, &card, err);
  if (status == BE_OK) status = draw_card(&card, doc, err);
  if (status == BE_OK) status = be_places(survey, &places, &count, err);
  if (status == BE_OK) status = be_place_rank(survey, &places[0], err);
  if (status == BE_OK) status = be_card_of_place(survey, &places[0], &card, err);
  return status == BE_OK ? draw_card(&card, doc, err) : status;
}

static void read_book(struct answers *answers, const char *name, struct sheet *sheet,
                      const char *before)
{
  const struct be_answering how = {.resamples = 20, .relative_to = "uni"};
  answers_open(answers, name, sheet, before, &how);
}

static void knots_side_by_side(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,soak,what,where,load (N)");
  for (int i = 0; i < 2; i++) {
    sheet_row(&sheet, "uni,nylon 12 lb,dry,B,K,%d", 41 + i);
    sheet_row(&sheet, "palomar,nylon 12 lb,dry,B,K,%d", 47 + i);
    sheet_row(&sheet, "clinch,nylon 12 lb,dry,B,K,%d", 44 + i);
  }
  read_book(&answers, "memory-knots", &sheet, NULL);
  try_section(&answers, be_say_beside, "Relative to uni");
  try_section(&answers, be_say_many, "Each against the uni");
  try_section(&answers, say_cards, "Card: standings");
  answers_close(&answers);
}

static void causes_sides_and_shapes(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,line B,soak,what,where,which,load (N)");
  sheet_row(&sheet, "uni,nylon 12 lb,braid 20 lb,dry,B,K,line A,41");
  sheet_row(&sheet, "uni,nylon 12 lb,braid 20 lb,dry,S,,,39.5");
  sheet_row(&sheet, "uni,nylon 12 lb,braid 20 lb,dry,B,K,line A,44.2");
  sheet_row(&sheet, "uni,nylon 12 lb,braid 20 lb,dry,B,G,,43");
  read_book(&answers, "memory-causes", &sheet, NULL);
  try_section(&answers, be_say_causes, "All 2 joints");
  try_section(&answers, be_say_families, "Kaplan-Meier");
  answers_close(&answers);
}

static void chains_of_links(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,design,line A,soak,free length (mm),load (N)");
  for (int i = 0; i < 3; i++) sheet_row(&sheet, "uni,two same,nylon 12 lb,dry,,%d", 40 + i * i);
  for (int i = 0; i < 2; i++) {
    sheet_row(&sheet, "none,,nylon 12 lb,dry,100,%d", 58 + i);
    sheet_row(&sheet, "none,,nylon 12 lb,dry,400,%d", 55 + i);
  }
  read_book(&answers, "memory-chains", &sheet, NULL);
  try_section(&answers, be_say_chains, "Strength and length");
  try_section(&answers, be_say_low, "B10");
  try_section(&answers, be_say_spread, "MAD");
  answers_close(&answers);
}

static void benches_budget_and_alarms(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,soak,bench,load (N)");
  for (int i = 0; i < 7; i++)
    sheet_row(&sheet, "uni,nylon 12 lb,dry,%s,%.1f", i % 2 ? "east" : "west",
              i == 6 ? 61 : 40 + i * 0.3);
  read_book(&answers, "memory-benches", &sheet, "bench,calibration\neast,0.5 %\n");
  try_section(&answers, be_say_benches, "Bench by bench");
  try_section(&answers, be_say_budget, "Not recorded for some");
  try_section(&answers, be_say_alarms, "Over the order of testing");
  answers_close(&answers);
}

static void two_knots(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,soak,what,load (N)");
  for (int i = 0; i < 3; i++) {
    sheet_row(&sheet, "uni,nylon 12 lb,dry,%s,%d", i ? "B" : "S", 41 + i);
    sheet_row(&sheet, "palomar,nylon 12 lb,dry,B,%d", 43 + i);
    sheet_row(&sheet, "none,nylon 12 lb,dry,B,%d", 60 + i);
  }
  read_book(&answers, "memory-versus", &sheet, NULL);
  try_either(&answers, NULL, ask_versus, "Looked at after every pull");
  try_either(&answers, NULL, ask_next_of_two, "Asked is which is the stronger");
  answers_close(&answers);
}

static void what_to_tie_next(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,spool A,speed (mm/min),soak,load (N)");
  for (int i = 0; i < 2; i++) {
    sheet_row(&sheet, "uni,nylon 12 lb,S1,200,dry,%d", 44 + i);
    sheet_row(&sheet, "palomar,nylon 12 lb,S1,400,dry,%d", 47 + i * 3);
    sheet_row(&sheet, "clinch,nylon 12 lb,S2,200,dry,%d", 43 + i * 5);
    sheet_row(&sheet, "none,nylon 12 lb,S1,200,dry,%d", 60 + i);
    sheet_row(&sheet, "none,nylon 12 lb,S1,400,dry,%d", 63 + i);
    sheet_row(&sheet, "none,nylon 12 lb,S2,200,dry,%d", 58 + i);
  }
  sheet_row(&sheet, "snell,nylon 12 lb,S1,200,dry,30");
  read_book(&answers, "memory-next", &sheet, "line,spool,on hand\nnylon 12 lb,S1,60 m\n");
  try_either(&answers, NULL, ask_next, "Line on hand");
  answers_close(&answers);
}

static void lines_knots_and_the_bench(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,spool A,soak,session,order,load (N)");
  for (int i = 0; i < 6; i++)
    sheet_row(&sheet, "none,nylon 12 lb,S1,dry,s%d,%d,%d", i / 3, i, 60 + i % 4);
  for (int i = 0; i < 2; i++) {
    sheet_row(&sheet, "uni,nylon 12 lb,S1,dry,s1,,%d", 44 + i);
    sheet_row(&sheet, "palomar,nylon 12 lb,S1,dry,s1,,%d", 51 + i);
  }
  read_book(&answers, "memory-lines", &sheet,
            "line,spool,material,on hand (m)\nnylon 12 lb,S1,nylon,61.5\n");
  try_either(&answers, NULL, ask_lines, "1 of 1 spool can be divided by");
  try_either(&answers, NULL, ask_line, "session by session");
  try_either(&answers, NULL, ask_knots, "2 compared with another");
  try_either(&answers, NULL, ask_knot, "Its neighbours");
  try_either(&answers, NULL, ask_bench, "a 5 g swivel would leave");
  answers_close(&answers);
}

static void pulls_that_are_asked_for(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,load (N),session,photo,clip");
  for (int i = 0; i < 3; i++)
    sheet_row(&sheet, "uni,nylon 12 lb,%d,2026-03-0%d,%s,", 41 + i, 2 + i / 2, i ? "" : "a;b");
  read_book(&answers, "memory-pulls", &sheet, NULL);
  try_either(&answers, NULL, ask_pulls, "Missing evidence: 1 of these 3");
  answers_close(&answers);
}

/* A little of every kind of finding. */
static void what_the_pulls_say(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin(
      "knot,version,turns,line A,line B,soak,tyer,session,order,what,where,which,load (N)");
  for (int i = 0; i < 8; i++) {
    const char *soak = i % 2 ? "dry" : "soaked", *what = i % 4 ? "B" : "S";
    sheet_row(&sheet, "uni,,3,nylon 12 lb,,%s,%s,d%d,%d,%s,,,%d", soak, i % 4 < 2 ? "Tern" : "Knot",
              i % 3, i, what, 41 + i);
    sheet_row(&sheet, "uni,,5,nylon 12 lb,,%s,Tern,d%d,%d,B,,,%d", soak, i % 3, i, 45 + i % 3);
    sheet_row(&sheet, "uni,loose,5,nylon 12 lb,,%s,Tern,d1,%d,B,,,%d", soak, i, 39 + i % 3);
    sheet_row(&sheet, "uni,,3,nylon 12 lb,braid 20 lb,dry,Tern,d2,%d,B,K,M,%d", i, 51 + i);
    sheet_row(&sheet, "none,,,nylon 12 lb,,%s,,d0,%d,B,L,,%d", soak, i, 60 + i % 3);
  }
  sheet_row(&sheet, "palomar,,2,nylon 12 lb,braid 20 lb,dry,Tern,d2,9,B,K,D,57");
  sheet_row(&sheet, "palomar,,2,nylon 12 lb,braid 40 lb,dry,Tern,d2,9,B,K,M,57");
  read_book(&answers, "memory-findings", &sheet, NULL);
  try_either(&answers, NULL, ask_findings, "What the pulls say");
  try_either(&answers, NULL, ask_finding, "Pulls");
  answers_close(&answers);
}

static void hitches_and_bends(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,spool A,line B,hardware,soak,load (N)");
  for (int i = 0; i < 3; i++) {
    sheet_row(&sheet, "none,nylon 12 lb,S1,,,dry,%d", 70 + i);
    sheet_row(&sheet, "uni,nylon 12 lb,S1,nylon 12 lb,,dry,%d", 42 + i);
    sheet_row(&sheet, "uni,nylon 12 lb,S1,,swivel,dry,%d", 60 + i);
  }
  read_book(&answers, "memory-hitches", &sheet, NULL);
  try_either(&answers, NULL, ask_findings, "On hardware knots");
  answers_close(&answers);
}

static void a_trial_and_a_plan(void **state)
{
  (void)state;
  struct trial_book book;
  trial_begin(&book, "memory-trial");
  trial_enter(&book, TRIAL_OF_NINE);
  trial_enter(&book, "trial,rule,value\nspring,stops,as soon as apart\nspring,slips out,void\n"
                     "spring,metres a specimen,2\nspring,minutes a specimen,5\n");
  trial_enter(&book, "specimen,load (lb),what,result,reason\na1,12.1,broke,,\nb1,10.1,broke,,\n"
                     "b2,10.4,broke,,\na2,12.9,slipped out,event,\np1,,,void,looked weak\n");
  trial_enter(&book, "trial,rule,value,reason\nspring,slips out,event,as ever\n");
  trial_read(&book);
  try_either(&book.answers, NULL, ask_trials, "not pulled to the end yet: 1");
  try_either(&book.answers, NULL, ask_trial, "void for a reason that the rules do not have");
  try_either(&book.answers, NULL, ask_labels, "What to tie");
  try_either(&book.answers, NULL, ask_plan, "So many specimens: for an interval of 9 points");
  try_section(&book.answers, be_say_departures, "out of the planned order");
  trial_close(&book);
}

static enum be_status ask_rig(const struct survey *survey, struct be_doc **doc, struct be_err *err)
{
  return be_rig_doc(survey, survey->record.calibrations[0].is.day + 40, doc, err);
}

static enum be_status say_measured(struct be_doc *doc, const struct survey *survey,
                                   struct be_err *err)
{
  return be_say_calibration(doc, survey, &survey->record.pulls[0], err);
}

static void the_rig(void **state)
{
  (void)state;
  struct trial_book book;
  trial_begin(&book, "memory-rig");
  trial_enter(&book,
              "bench,calibration,date,months,load applied (N),reading,direction,curve\n"
              "shed,winter,2026-01-15,1,4,9.1,,bent\nshed,winter,,,8,17,,\n"
              "shed,winter,,,20,41.2,,\nshed,winter,,,50,101,,\nshed,winter,,,8,17.1,falling,\n");
  trial_enter(&book, "bench,date,weight (N),reading\nshed,2026-02-01,20,41\n"
                     "shed,2026-02-02,20,41.2\nshed,2026-02-03,20,44\nboat,2026-02-03,5 N,5.1 N\n");
  trial_enter(&book, "specimen,knot,line A,load (N),bench,session,zero before (N),zero after (N)\n"
                     "a,uni,nylon,51,shed,2026-03-01,0.1,0.2\nb,uni,nylon,20,,2026-02-01,,\n");
  trial_read(&book);
  try_either(&book.answers, NULL, ask_rig, "is outside the limits");
  try_section(&book.answers, say_measured, "outside the verified range");
  trial_close(&book);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(knots_side_by_side),
      cmocka_unit_test(causes_sides_and_shapes),
      cmocka_unit_test(chains_of_links),
      cmocka_unit_test(benches_budget_and_alarms),
      cmocka_unit_test(two_knots),
      cmocka_unit_test(what_to_tie_next),
      cmocka_unit_test(what_the_pulls_say),
      cmocka_unit_test(hitches_and_bends),
      cmocka_unit_test(a_trial_and_a_plan),
      cmocka_unit_test(lines_knots_and_the_bench),
      cmocka_unit_test(pulls_that_are_asked_for),
      cmocka_unit_test(the_rig),
  };
  return be_tests("app: memory", tests);
}
