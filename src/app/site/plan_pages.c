/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Trials: those of the book, one of them, its labels; and a new one, first worked out, then fixed.
 * What is fixed is what was shown: the form that fixes it holds a sum of both sheets, and is
 * refused when the plan would now come out otherwise. */
#include "app/site/site.h"

#include "app/plan/plan.h"

#include <stdio.h>
#include <string.h>

enum { SHEET_MAX = 512 * 1024 };

/* ---- what is asked ---- */

/* A page that is sent to is asked by its form, else by its address. */
static const char *asked_of(const struct be_request *request, const char *name)
{
  const char *value = strcmp(request->method, "POST") == 0 ? be_request_form(request, name)
                                                           : be_request_query(request, name);
  return value && *value ? value : NULL;
}

static const struct be_place soaks[] = {{"", "dry"}, {"yes", "soaked"}};
static const struct be_place grips[] = {
    {"", "as usual"}, {"lower bound", "lower bound"}, {"void", "void"}};
static const struct be_place clears[] = {
    {"", "as usual"}, {"lower bound", "lower bound"}, {"event", "event"}};
static const struct be_place slips[] = {{"", "as usual"}, {"event", "event"}, {"void", "void"}};
static const struct be_place replaced[] = {{"", "as usual"}, {"yes", "yes"}, {"no", "no"}};
static const struct be_place stops[] = {{"", "as usual"},
                                        {"when all are pulled", "when all are pulled"},
                                        {"as soon as apart", "as soon as apart"}};

#define CHOICES(list) NULL, list, sizeof(list) / sizeof *(list)
static const struct be_field fields[] = {
    {"name", "name of the trial", NULL, NULL, 0},
    {"knots", "knots, with ; between", NULL, NULL, 0},
    {"on", "on (SPOOL; SPOOL + SPOOL; LINE + ring)", NULL, NULL, 0},
    {"soaked", "pulled", CHOICES(soaks)},
    {"specimens", "specimens of each knot on each (5)", NULL, NULL, 0},
    {"within", "or: known within so many points", NULL, NULL, 0},
    {"difference", "or: so many points apart are found", NULL, NULL, 0},
    {"cv", "scatter of one pull (%), if told", NULL, NULL, 0},
    {"plain", "plain lines of each spool", NULL, NULL, 0},
    {"per-evening", "specimens of an evening at most", NULL, NULL, 0},
    {"minutes", "or minutes of an evening (120)", NULL, NULL, 0},
    {"minutes-each", "minutes a specimen (5)", NULL, NULL, 0},
    {"metres-each", "metres a specimen", NULL, NULL, 0},
    {"tyers", "tyers, with ; between", NULL, NULL, 0},
    {"question", "the question", NULL, NULL, 0},
    {"interests", "who pays, and other interests", NULL, NULL, 0},
    {"grip", "what parts at a grip is", CHOICES(grips)},
    {"clear", "what parts clear of the knot is", CHOICES(clears)},
    {"slips", "what slips out is", CHOICES(slips)},
    {"void", "what is void besides", NULL, NULL, 0},
    {"replace", "voids are replaced", CHOICES(replaced)},
    {"stop", "the trial stops", CHOICES(stops)},
};
enum { FIELDS = sizeof fields / sizeof fields[0] };
const char *const be_plan_takes[] = {
    "do",         "name",     "knots",     "on",          "soaked",  "specimens",    "within",
    "difference", "cv",       "plain",     "per-evening", "minutes", "minutes-each", "metres-each",
    "tyers",      "question", "interests", "grip",        "clear",   "slips",        "void",
    "replace",    "stop",     "shown",     NULL};

static enum be_status show_form(struct visit *visit, struct be_err *err)
{
  struct be_field *copy = be_arena_alloc(visit->survey.arena, FIELDS * sizeof *copy);
  if (!copy) return be_no_memory(err);
  for (size_t i = 0; i < FIELDS; i++) {
    copy[i] = fields[i];
    copy[i].value = asked_of(visit->request, fields[i].name);
  }
  visit->asking.form =
      (struct be_form){"Plan a new trial", "Work it out", "/plan", copy, FIELDS, false};
  return BE_OK;
}

struct numbers {
  const struct be_request *request;
  struct be_err *err;
  enum be_status status;
};

static double number(struct numbers *in, const char *name, double least, double most)
{
  const char *text = asked_of(in->request, name);
  double value = 0;
  if (!text || in->status != BE_OK) return 0;
  size_t size = strlen(text);
  if (be_number_scan(text, size, '.', &value) == size && value >= least && value <= most)
    return value;
  in->status = be_fail(in->err, BE_WRONG_USE, "%s takes a number from %g to %g, not \"%.40s\"",
                       name, least, most, text);
  return 0;
}

static size_t whole(struct numbers *in, const char *name, double least)
{
  double value = number(in, name, least, 2500);
  if (in->status == BE_OK && (double)(size_t)value != value)
    in->status = be_fail(in->err, BE_WRONG_USE, "%s takes a whole number, not \"%.40s\"", name,
                         asked_of(in->request, name));
  return (size_t)value;
}

static enum be_status take_planning(const struct be_request *request, struct be_planning *asked,
                                    struct be_err *err)
{
  static const struct {
    enum be_rule rule;
    const char *name;
  } rules[] = {{BE_RULE_QUESTION, "question"}, {BE_RULE_INTERESTS, "interests"},
               {BE_RULE_GRIP, "grip"},         {BE_RULE_CLEAR, "clear"},
               {BE_RULE_SLIP, "slips"},        {BE_RULE_VOID, "void"},
               {BE_RULE_REPLACE, "replace"},   {BE_RULE_STOP, "stop"}};
  struct numbers in = {request, err, BE_OK};
  *asked = (struct be_planning){.trial = asked_of(request, "name"),
                                .knots = asked_of(request, "knots"),
                                .on = asked_of(request, "on"),
                                .soaked = asked_of(request, "soaked") != NULL,
                                .specimens = whole(&in, "specimens", 1),
                                .within = number(&in, "within", 0.01, 99),
                                .difference = number(&in, "difference", 0.01, 99),
                                .cv = number(&in, "cv", 0.01, 99) / 100,
                                .plain_told = asked_of(request, "plain") != NULL,
                                .plain = whole(&in, "plain", 0),
                                .per_evening = whole(&in, "per-evening", 1),
                                .minutes = number(&in, "minutes", 0.1, 100000),
                                .minutes_each = number(&in, "minutes-each", 0.1, 1440),
                                .metres_each = number(&in, "metres-each", 0.01, 1000),
                                .tyers = asked_of(request, "tyers")};
  for (size_t i = 0; i < sizeof rules / sizeof rules[0]; i++)
    asked->rule[rules[i].rule] = asked_of(request, rules[i].name);
  if (in.status != BE_OK) return in.status;
  if (!asked->trial) return be_fail(err, BE_WRONG_USE, "a trial has a name");
  if (strlen(asked->trial) > 80 || strpbrk(asked->trial, "\r\n"))
    return be_fail(err, BE_WRONG_USE, "the name of a trial is on one line, of 80 bytes at most");
  return be_plan_usual(asked, err);
}

/* ---- a plan worked out ---- */

struct worked_out {
  struct be_planning asked;
  struct proposal proposal;
  struct be_buf rules, specimens; /* the two sheets */
  bool before;                    /* fixed just so already */
  char sum[17];                   /* of both sheets */
};

/* FNV-1a of 64 bits: told apart by accident alone, not by a foe. */
static uint64_t add_to_sum(uint64_t sum, const struct be_buf *bytes)
{
  for (size_t i = 0; i < bytes->size; i++)
    sum = (sum ^ (unsigned char)bytes->data[i]) * UINT64_C(0x100000001b3);
  return sum;
}

static enum be_status work_out(const struct visit *visit, struct worked_out *plan,
                               struct be_err *err)
{
  const struct survey *survey = &visit->survey;
  enum be_status status = take_planning(visit->request, &plan->asked, err);
  if (status == BE_OK) status = be_plan_make(survey, &plan->asked, &plan->proposal, err);
  if (status == BE_OK)
    status = be_plan_fixed(survey, &plan->asked, &plan->proposal, &plan->before, err);
  if (status == BE_OK) status = be_rule_sheet(survey, &plan->proposal.trial, &plan->rules, err);
  if (status == BE_OK)
    status = be_trial_sheet(survey, &plan->proposal.trial, &plan->specimens, err);
  /* What is too much is asked for too much. */
  if (status == BE_TOO_LARGE && err) err->status = BE_WRONG_USE;
  if (status != BE_OK) return status == BE_TOO_LARGE ? BE_WRONG_USE : status;
  uint64_t sum = add_to_sum(UINT64_C(0xcbf29ce484222325), &plan->rules);
  snprintf(plan->sum, sizeof plan->sum, "%016llx",
           (unsigned long long)add_to_sum(sum, &plan->specimens));
  return BE_OK;
}

static void open_plan(struct worked_out *plan)
{
  memset(plan, 0, sizeof *plan);
  be_buf_init(&plan->rules, SHEET_MAX);
  be_buf_init(&plan->specimens, SHEET_MAX);
}

static void close_plan(struct worked_out *plan)
{
  be_buf_free(&plan->rules);
  be_buf_free(&plan->specimens);
}

/* Line by line, for markup has no carriage return. */
static void write_sheet(struct be_buf *html, const char *title, const struct be_buf *sheet)
{
  be_buf_format(html, "<details><summary>%s</summary>\n<pre tabindex=\"0\">", title);
  for (const char *at = sheet->data; at && *at;) {
    char line[1000];
    size_t length = strcspn(at, "\r\n");
    snprintf(line, sizeof line, "%.*s\n", (int)length, at);
    be_markup_text(html, line);
    at += length + strspn(at + length, "\r\n");
  }
  be_buf_text(html, "</pre></details>\n");
}

/* The first line and the header are no rules, and no specimens. */
static size_t rows_of(const struct be_buf *sheet)
{
  size_t lines = 0;
  for (size_t i = 0; i < sheet->size; i++) lines += sheet->data[i] == '\n';
  return lines > 2 ? lines - 2 : 0;
}

/* The sheets, and what fixes them: all that was asked is sent again, and the sum. */
static void write_fix(struct visit *visit, const struct worked_out *plan)
{
  struct be_buf *html = &visit->html;
  struct be_field sent[FIELDS + 1];
  char note[600];
  size_t count = 0;
  write_sheet(html, "The rule sheet", &plan->rules);
  write_sheet(html, "The trial sheet (it tells which knot each code is)", &plan->specimens);
  if (!visit->takes_posts) {
    be_buf_text(html, "<p>It can be fixed where the book lies, not from here.</p>\n");
    return;
  }
  for (size_t i = 0; i < FIELDS; i++) {
    const char *value = asked_of(visit->request, fields[i].name);
    if (value) sent[count++] = (struct be_field){.name = fields[i].name, .value = value};
  }
  sent[count++] = (struct be_field){.name = "shown", .value = plan->sum};
  snprintf(note, sizeof note,
           "Fixing it enters the two sheets above into the book, as they stand: %zu rules and %zu "
           "specimens, each with its code, its evening and its place in the order of pulling. From "
           "then on a rule is changed only with a reason, and both stay on record; so does every "
           "departure from the plan.",
           rows_of(&plan->rules), plan->proposal.trial.planned_count);
  const struct be_form form = {.title = "Fix this trial",
                               .button = "Fix this trial",
                               .fields = sent,
                               .count = count,
                               .does = "fix",
                               .note = note};
  be_form_html(html, &form, NULL);
}

static void say_refused(const struct visit *visit, struct be_doc *doc)
{
  size_t place = be_doc_place(doc);
  if (visit->wrong.status == BE_OK) return;
  be_doc_sentence(doc, "Nothing was fixed: %s%s%s.", visit->wrong.what,
                  *visit->wrong.remedy ? "; " : "", visit->wrong.remedy);
  be_doc_first(doc, place);
}

static enum be_status proposal_page(struct visit *visit, struct be_doc **out, struct be_err *err)
{
  struct worked_out plan;
  open_plan(&plan);
  enum be_status status = work_out(visit, &plan, err);
  if (status == BE_OK)
    status = be_proposal_doc(&visit->survey, &plan.proposal,
                             plan.before ? "It was fixed before, just so."
                                         : "Nothing is fixed yet, and the book is as it was.",
                             out, err);
  if (status == BE_OK) {
    say_refused(visit, *out);
    if (visit->api) be_doc_fact(*out, "shown", "Sum of both sheets", "%s", plan.sum);
    if (!plan.before) write_fix(visit, &plan);
  }
  close_plan(&plan);
  return status;
}

/* ---- fixed ---- */

/* Its place in the record, which it has from now on. */
static size_t place_of(const struct survey *survey, const char *name)
{
  const struct be_trial *trial = be_trial_find(survey, name);
  return trial ? (size_t)(trial - survey->record.trials) : survey->record.trials_count;
}

static enum be_status fix(const struct visit *visit, struct worked_out *plan, struct be_err *err)
{
  struct be_doc *doc = NULL;
  const char *shown = be_request_form(visit->request, "shown");
  if (!shown || strcmp(shown, plan->sum) != 0) {
    be_fail(err, BE_WRONG_USE,
            "the book has changed since this plan was shown, and the plan with "
            "it");
    be_fail_remedy(err, "look at it again, as it is now, and fix that");
    return BE_WRONG_USE;
  }
  if (plan->before) return BE_OK;
  plan->asked.fix = true;
  enum be_status status = be_app_plan(visit->book_path, &plan->asked, &visit->how, &doc, err);
  be_doc_free(doc);
  return status;
}

enum be_status be_plan_post(struct visit *visit, struct be_err *err)
{
  struct worked_out plan;
  open_plan(&plan);
  enum be_status status = work_out(visit, &plan, err);
  if (status == BE_OK) status = fix(visit, &plan, err);
  if (status == BE_OK)
    snprintf(visit->reply->location, sizeof visit->reply->location, "/plan?trial=%zu&fixed=1%s%s",
             place_of(&visit->survey, plan.asked.trial), *visit->unit ? "&" : "", visit->unit);
  close_plan(&plan);
  return status;
}

/* ---- the pages ---- */

static void say_fixed(const struct visit *visit, const struct be_trial *trial, struct be_doc *doc)
{
  size_t place = be_doc_place(doc);
  if (!be_request_query(visit->request, "fixed") && !be_request_form(visit->request, "shown"))
    return;
  be_doc_sentence(doc, "The trial %s is fixed: %zu specimens and their rules are in the book.",
                  trial->name, trial->planned_count);
  be_doc_first(doc, place);
}

/* One trial of the book, or its labels: told by its place in the record. */
static enum be_status trial_page(struct visit *visit, const char *at, bool labels,
                                 struct be_doc **out, struct be_err *err)
{
  const struct survey *survey = &visit->survey;
  size_t trial = 0;
  if (!at || !be_index_read(at, survey->record.trials_count, &trial))
    return be_fail(err, BE_NO, "the address does not name a trial of the book");
  const struct be_trial *of = &survey->record.trials[trial];
  if (labels) return be_trial_labels_doc(survey, of, out, err);
  enum be_status status = be_trial_doc(survey, of, out, err);
  if (status == BE_OK) say_fixed(visit, of, *out);
  return status;
}

enum be_status be_plan_page(struct visit *visit, struct be_doc **out, struct be_err *err)
{
  const struct survey *survey = &visit->survey;
  const char *at = be_request_query(visit->request, "trial");
  const char *fixed = be_request_form(visit->request, "shown");
  if (fixed && visit->wrong.status == BE_OK) {
    at = be_arena_format(survey->arena, "%zu",
                         place_of(survey, be_request_form(visit->request, "name")));
    if (!at) return be_no_memory(err);
  }
  if (at) return trial_page(visit, at, false, out, err);
  enum be_status status = show_form(visit, err);
  if (status != BE_OK) return status;
  for (size_t i = 0; i < FIELDS; i++)
    if (asked_of(visit->request, fields[i].name)) return proposal_page(visit, out, err);
  return be_trials_doc(&visit->survey, out, err);
}

enum be_status be_labels_page(struct visit *visit, struct be_doc **out, struct be_err *err)
{
  return trial_page(visit, be_request_query(visit->request, "trial"), true, out, err);
}
