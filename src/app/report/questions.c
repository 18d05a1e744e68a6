/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What readers of such results ask again and again (knot and line forums, comments under published
 * tables), each answered from the record or said to be not recorded. */
#include "app/report/questions.h"

#include "app/report/report.h"

#include <stdarg.h>

enum { FIELDS_MAX = 3, QUESTIONS = 25, WORDS_MAX = 1 << 20 };

/* Fields are counted and listed; then comes what a function adds, and what no book records. */
static const struct question {
  const char *asks;
  enum be_telling fields[FIELDS_MAX];
  size_t fields_count;
  be_answerer *more;
  const char *untold;
} questions[QUESTIONS] = {
    {"Was the line dry or wet, and how long did it soak?",
     {BE_TELLS_SOAK, BE_TELLS_SOAK_TIME, BE_TELLS_WATER},
     3,
     NULL,
     NULL},
    {"How many of each were pulled?", .more = be_answer_how_many},
    {"Is 100 % what the label says, or what the line held?", .more = be_answer_divided_by},
    {"Did they slip or break, and where?", .more = be_answer_let_go},
    {"Is the difference real, or luck?", .more = be_answer_luck},
    {"Why is the knot that I use not there?", .more = be_answer_which_knots},
    {"How is it with thinner or thicker line, or with other kinds?", .more = be_answer_lines},
    {"How is it when the two lines differ, as braid to a thick leader?", .more = be_answer_joints},
    {"How many turns, and does one more help?", .more = be_answer_turns},
    {"Was it wetted before it was drawn up, and with what?", {BE_TELLS_LUBRICANT}, 1, NULL, NULL},
    {"Who tied them, and with how much practice?",
     {BE_TELLS_TYER},
     1,
     NULL,
     "How practised they are at each knot is not recorded."},
    {"How fast was it pulled, and was there a jerk?", {BE_TELLS_SPEED}, 1, be_answer_shock, NULL},
    {"Somebody else found the contrary: why?",
     .untold =
         "What others did is not in this record. Compare first what 100 % is, soak, turns, "
         "speed, and whether slips were counted: the other answers say them for these pulls."},
    {"Was the line doubled or single?", .more = be_answer_doubled},
    {"How was the knot seated, and how hard was it drawn up?",
     {BE_TELLS_SEATING, BE_TELLS_HELD},
     2,
     NULL,
     NULL},
    {"What gripped the ends, and did it break there?", {BE_TELLS_GRIPS}, 1, be_answer_grip, NULL},
    {"Which knot is it exactly?", .more = be_answer_identity},
    {"Was the line new, and all from one spool?", .more = be_answer_new_line},
    {"Is the scale calibrated, and does it catch the peak?", .more = be_answer_scale},
    {"How bad is the worst one, not the mean?", .more = be_answer_worst},
    {"How long does it take to tie, and does it pass the guides?", .more = be_answer_handy},
    {"Would glue help?", {BE_TELLS_GLUE}, 1, be_answer_glue, NULL},
    {"Who paid, and who gave the line?", .more = be_answer_interests},
    {"Where are the single pulls?", .more = be_answer_raw},
    {"Lines of one label differ in diameter: is that fair?", .more = be_answer_diameter},
};

void be_answer_add(struct be_answer *answer, size_t k, size_t n, const char *format, ...)
{
  struct be_buf words;
  va_list list;
  be_buf_init(&words, WORDS_MAX);
  va_start(list, format);
  be_buf_format_list(&words, format, list);
  va_end(list);
  answer->told += k > 0 || n == 0;
  answer->untold += k < n;
  if (words.status != BE_OK) answer->text = NULL;
  if (answer->text)
    answer->text = be_arena_format(answer->survey->arena, "%s%s%s", answer->text,
                                   *answer->text ? " " : "", words.data);
  be_buf_free(&words);
}

bool be_answer_is_empty(struct be_answer *answer, size_t of, const char *what)
{
  if (!of) be_answer_add(answer, 0, 1, "The book holds no %s yet.", what);
  return of == 0;
}

enum be_status be_answer_field(struct be_answer *answer, enum be_telling field, struct be_err *err)
{
  struct be_told told;
  enum be_status status = be_told_of(answer->survey, field, &told, err);
  if (status != BE_OK) return status;
  if (!told.n && answer->text && *answer->text)
    return BE_OK; /* nothing to ask it of, such as no soaked pull */
  if (!told.n) be_answer_add(answer, 0, 1, "The book holds no pull yet that it could be asked of.");
  else if (!told.k)
    be_answer_add(answer, 0, told.n, "Not recorded of any %s: %s; %s: %zu.", told.of, told.name,
                  told.of_all, told.n);
  else
    be_answer_add(answer, told.k, told.n, "Recorded of %zu of %zu %s (%s): %s.", told.k, told.n,
                  told.n == 1 ? told.of : told.of_all, told.name, told.values);
  return BE_OK;
}

enum state { ANSWERED, IN_PART, UNTOLD, STATES };
static const char *const state_words[STATES] = {"from the record", "in part", "not recorded"};

static enum be_status answer_one(const struct survey *survey, const struct question *question,
                                 struct be_answer *answer, struct be_err *err)
{
  enum be_status status = BE_OK;
  *answer = (struct be_answer){.survey = survey, .text = ""};
  for (size_t i = 0; i < question->fields_count && status == BE_OK; i++)
    status = be_answer_field(answer, question->fields[i], err);
  if (status == BE_OK && question->more) status = question->more(answer, err);
  if (question->untold) be_answer_add(answer, 0, 1, "%s", question->untold);
  return status == BE_OK && !answer->text ? be_no_memory(err) : status;
}

enum be_status be_questions_doc(const struct survey *survey, struct be_doc **out,
                                struct be_err *err)
{
  static const struct be_column columns[] = {
      {"number", "", BE_COLUMN_NUMBER, false},
      {"question", "question", BE_COLUMN_TEXT, false},
      {"answered", "answered", BE_COLUMN_TEXT, false},
      {"answer", "answer", BE_COLUMN_TEXT, false},
  };
  size_t counts[STATES] = {0};
  struct be_doc *doc = be_doc_create("questions", "What readers ask");
  if (!doc) return be_no_memory(err);
  struct be_table *table = be_doc_table(doc, "questions", "Question by question", columns, 4);
  enum be_status status = BE_OK;
  for (size_t i = 0; i < QUESTIONS && status == BE_OK; i++) {
    struct be_answer answer;
    status = answer_one(survey, &questions[i], &answer, err);
    if (status != BE_OK) break;
    enum state state = !answer.untold ? ANSWERED : answer.told ? IN_PART : UNTOLD;
    counts[state]++;
    be_table_number(table, (double)i + 1, 0);
    be_table_text(table, "%s", questions[i].asks);
    be_table_text(table, "%s", state_words[state]);
    be_table_text(table, "%s", answer.text);
  }
  size_t place = be_doc_place(doc);
  be_doc_sentence(doc,
                  "Of %d questions that readers ask, the record answers %zu, %zu in part; of %zu "
                  "nothing is recorded.",
                  QUESTIONS, counts[ANSWERED], counts[IN_PART], counts[UNTOLD]);
  be_doc_first(doc, place);
  return be_answer_done(survey, doc, status, out, err);
}
