/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The command: works out a plan, writes it down, and enters it. The rule sheet is entered before
 * the trial sheet, which fixes the trial. A seed gives the same sheets again, so whoever was
 * stopped between the two gives the same command once more. */
#include "app/plan/plan.h"

#include "app/written.h"
#include "assets/assets.h"

#include <stdio.h>
#include <string.h>

enum { SHEET_MAX = 16 * 1024 * 1024, PAPER_MAX = 64 * 1024 * 1024 };

struct planning {
  const struct survey *survey;
  const char *book_path;
  const struct be_planning *asked;
  const char *rules_path; /* of the rule sheet, when a sheet is written */
  struct proposal proposal;
  struct be_buf trial_sheet, rule_sheet, labels;
  bool fixed_before;
};

/* ---- what may be written over ---- */

static enum be_status look_at_paths(struct planning *plan, struct be_err *err)
{
  const struct be_ours labels = {
      .what = "sheet of labels",
      .holds = {"<title>Labels of ", "<meta name=\"generator\" content=\"bitterend"},
      .spared = plan->book_path,
      .spared_what = "book"};
  const struct be_planning *asked = plan->asked;
  enum be_status status = BE_OK;
  if (asked->sheet_path) {
    size_t length = strlen(asked->sheet_path);
    if (length > 4 && be_text_same(asked->sheet_path + length - 4, ".csv")) length -= 4;
    plan->rules_path =
        be_arena_format(plan->survey->arena, "%.*s-rules.csv", (int)length, asked->sheet_path);
    if (!plan->rules_path) return be_no_memory(err);
    const char *mark = be_sheet_mark(plan->survey, &plan->proposal.trial);
    const struct be_ours sheet = {.what = "sheet of this trial",
                                  .begins = mark,
                                  .spared = plan->book_path,
                                  .spared_what = "book"};
    status = mark ? be_may_write(asked->sheet_path, &sheet, err) : be_no_memory(err);
    if (status == BE_OK) status = be_may_write(plan->rules_path, &sheet, err);
  }
  if (status == BE_OK && asked->labels_path)
    status = be_may_write(asked->labels_path, &labels, err);
  if (status != BE_OK || !asked->labels_path || !asked->sheet_path) return status;
  if (strcmp(asked->labels_path, asked->sheet_path) == 0 ||
      strcmp(asked->labels_path, plan->rules_path) == 0)
    return be_fail(err, BE_WRONG_USE, "labels and sheets cannot be the same file");
  return BE_OK;
}

/* ---- paper ---- */

static enum be_status print_labels(struct planning *plan, const struct be_trial *trial,
                                   struct be_err *err)
{
  struct be_doc *doc = NULL;
  const struct be_asset *style = be_asset_find("assets/style.css");
  const struct be_asset *own = be_asset_find("assets/labels.css");
  const char *sheet =
      be_arena_format(plan->survey->arena, "%s%s", style ? style->text : "", own ? own->text : "");
  if (!sheet) return be_no_memory(err);
  struct be_edition edition = {.sheet = sheet, .site = "Bitter End", .foot = be_notice};
  enum be_status status = be_trial_labels_doc(plan->survey, trial, &doc, err);
  if (status != BE_OK) return status;
  const struct be_doc *const list[] = {doc};
  status = be_doc_html(list, 1, &edition, &plan->labels, err);
  be_doc_free(doc);
  return status;
}

static enum be_status write_files(struct planning *plan, const struct be_trial *trial,
                                  struct be_err *err)
{
  const struct be_planning *asked = plan->asked;
  enum be_status status = BE_OK;
  if (asked->labels_path) status = print_labels(plan, trial, err);
  if (status == BE_OK && asked->sheet_path) {
    status = be_file_write(plan->rules_path, plan->rule_sheet.data, plan->rule_sheet.size, err);
    if (status == BE_OK)
      status =
          be_file_write(asked->sheet_path, plan->trial_sheet.data, plan->trial_sheet.size, err);
  }
  if (status == BE_OK && asked->labels_path)
    status = be_file_write(asked->labels_path, plan->labels.data, plan->labels.size, err);
  return status;
}

/* ---- fixing ---- */

static enum be_status enter_sheet(struct planning *plan, struct be_book *book, const char *name,
                                  const struct be_buf *sheet, struct be_err *err)
{
  struct be_entering how = {0};
  struct be_entered entered;
  return be_book_enter(book, name, sheet->data, sheet->size, &how, plan->survey->arena, &entered,
                       err);
}

/* What a book keeps of a path, and others may see: the name. */
static const char *last_part(const char *path)
{
  const char *slash = path ? strrchr(path, '/') : NULL;
  return slash ? slash + 1 : path;
}

static enum be_status fix(struct planning *plan, struct be_err *err)
{
  struct be_arena *arena = plan->survey->arena;
  struct be_book *book = NULL;
  const char *name = last_part(plan->asked->sheet_path), *rules = last_part(plan->rules_path);
  if (!name) {
    name = be_arena_format(arena, "%s.csv", plan->proposal.trial.name);
    rules = be_arena_format(arena, "%s-rules.csv", plan->proposal.trial.name);
  }
  if (!name || !rules) return be_no_memory(err);
  enum be_status status = be_book_open(plan->book_path, true, &book, err);
  if (status == BE_OK) status = enter_sheet(plan, book, rules, &plan->rule_sheet, err);
  if (status == BE_OK) status = enter_sheet(plan, book, name, &plan->trial_sheet, err);
  be_book_close(book);
  return status;
}

static bool same_text(const char *a, const char *b)
{
  return a == b || (a && b && be_text_same(a, b));
}

static bool same_planned(const struct be_planned *a, const struct be_planned *b)
{
  return strcmp(a->code, b->code) == 0 && a->block == b->block && a->order == b->order &&
         a->knot == b->knot && a->line_a == b->line_a && a->line_b == b->line_b &&
         a->soak == b->soak && a->design == b->design && same_text(a->hardware, b->hardware) &&
         same_text(a->tyer, b->tyer);
}

/* Of a plan that is fixed the rules are those in force; none is told otherwise. */
static enum be_status take_fixed_rules(const struct survey *survey, const struct be_planning *asked,
                                       const struct be_trial *fixed, struct be_trial *own,
                                       struct be_err *err)
{
  for (int i = 0; i < BE_RULES; i++) {
    const char *told = asked->rule[i];
    const char *value = be_rule_in_force(survey, fixed, (enum be_rule)i);
    if (!told || same_text(told, value)) continue;
    be_fail(err, BE_WRONG_USE, "the trial %s is fixed already, with the rule \"%s\" as \"%s\"",
            fixed->name, be_rule_word((enum be_rule)i), value ? value : "not told");
    be_fail_remedy(err, "a rule sheet changes it, with a reason");
    return BE_WRONG_USE;
  }
  memcpy(own->rule, fixed->rule, sizeof fixed->rule);
  return BE_OK;
}

enum be_status be_plan_fixed(const struct survey *survey, const struct be_planning *asked,
                             struct proposal *proposal, bool *before, struct be_err *err)
{
  struct be_trial *own = &proposal->trial;
  const struct be_trial *fixed = be_trial_find(survey, own->name);
  *before = false;
  if (!fixed || fixed->planned_count == 0) return BE_OK;
  bool same = fixed->planned_count == own->planned_count;
  for (size_t i = 0; same && i < own->planned_count; i++)
    same = same_planned(&fixed->planned[i], &own->planned[i]);
  *before = same;
  if (same) return take_fixed_rules(survey, asked, fixed, own, err);
  be_fail(err, BE_WRONG_USE, "the trial %s is fixed already, and not as this plan", own->name);
  be_fail_remedy(err,
                 "give the new plan another name; `plan` with --trial alone shows the old one");
  return BE_WRONG_USE;
}

/* ---- the command ---- */

static const char *done_words(const struct planning *plan)
{
  const struct be_planning *asked = plan->asked;
  const char *state = plan->fixed_before ? "It was fixed before"
                      : asked->fix       ? "It is fixed: both sheets are entered"
                                         : "The book is as it was; --fix enters the plan";
  if (!asked->sheet_path && !asked->labels_path)
    return be_arena_format(plan->survey->arena, "%s.", state);
  return be_arena_format(plan->survey->arena, "%s. Written: %s%s%s%s%s.", state,
                         asked->sheet_path ? asked->sheet_path : "", asked->sheet_path ? ", " : "",
                         asked->sheet_path ? plan->rules_path : "",
                         asked->sheet_path && asked->labels_path ? ", " : "",
                         asked->labels_path ? asked->labels_path : "");
}

static enum be_status plan_new(struct planning *plan, struct be_doc **doc, struct be_err *err)
{
  const struct survey *survey = plan->survey;
  struct proposal *proposal = &plan->proposal;
  enum be_status status = be_plan_make(survey, plan->asked, proposal, err);
  if (status == BE_OK)
    status = be_plan_fixed(survey, plan->asked, proposal, &plan->fixed_before, err);
  if (status == BE_OK) status = look_at_paths(plan, err);
  if (status == BE_OK) status = be_trial_sheet(survey, &proposal->trial, &plan->trial_sheet, err);
  if (status == BE_OK) status = be_rule_sheet(survey, &proposal->trial, &plan->rule_sheet, err);
  if (status == BE_OK) status = write_files(plan, &proposal->trial, err);
  if (status == BE_OK && plan->asked->fix && !plan->fixed_before) status = fix(plan, err);
  const char *done = status == BE_OK ? done_words(plan) : NULL;
  if (status == BE_OK && !done) status = be_no_memory(err);
  return status == BE_OK ? be_proposal_doc(survey, proposal, done, doc, err) : status;
}

static enum be_status show_old(struct planning *plan, const struct be_trial *trial,
                               struct be_doc **doc, struct be_err *err)
{
  const struct be_planning *asked = plan->asked;
  if (asked->sheet_path || asked->fix)
    return be_fail(err, BE_WRONG_USE,
                   "the trial %s is in the book already: only its labels can "
                   "be written",
                   trial->name);
  plan->proposal.trial.name = trial->name;
  enum be_status status = look_at_paths(plan, err);
  if (status == BE_OK) status = write_files(plan, trial, err);
  return status == BE_OK ? be_trial_doc(plan->survey, trial, doc, err) : status;
}

static enum be_status no_trial(const struct survey *survey, const char *name, struct be_err *err)
{
  char list[300] = "";
  size_t used = 0;
  for (size_t i = 0; i < survey->record.trials_count; i++) {
    int put = snprintf(list + used, sizeof list - used, "%s\"%s\"", used ? ", " : "",
                       survey->record.trials[i].name);
    if (put < 0 || (size_t)put >= sizeof list - used) break;
    used += (size_t)put;
  }
  be_fail(err, BE_WRONG_USE, "the book has no trial \"%s\"", name);
  if (used) be_fail_remedy(err, "it has %s; a new one takes --knots and --on", list);
  else be_fail_remedy(err, "a new one takes --knots and --on");
  return BE_WRONG_USE;
}

static enum be_status answer(struct planning *plan, struct be_planning *asked, struct be_doc **doc,
                             struct be_err *err)
{
  bool makes = asked->knots || asked->on;
  if (!asked->trial && (makes || asked->fix || asked->sheet_path || asked->labels_path))
    return be_fail(err, BE_WRONG_USE, "a trial has a name: give it with --trial");
  if (!asked->trial) return be_trials_doc(plan->survey, doc, err);
  if (!*asked->trial || strpbrk(asked->trial, "\r\n"))
    return be_fail(err, BE_WRONG_USE, "the name of a trial is not empty, and on one line");
  const struct be_trial *trial = be_trial_find(plan->survey, asked->trial);
  if (!makes && !trial) return no_trial(plan->survey, asked->trial, err);
  if (!makes) return show_old(plan, trial, doc, err);
  enum be_status status = be_plan_usual(asked, err);
  return status == BE_OK ? plan_new(plan, doc, err) : status;
}

enum be_status be_app_plan(const char *book_path, const struct be_planning *asked_,
                           const struct be_answering *how, struct be_doc **doc, struct be_err *err)
{
  struct survey survey;
  struct be_planning asked = *asked_;
  struct planning plan = {.survey = &survey, .book_path = book_path, .asked = &asked};
  struct be_arena *arena = be_arena_create();
  if (!arena) return be_no_memory(err);
  be_buf_init(&plan.trial_sheet, SHEET_MAX);
  be_buf_init(&plan.rule_sheet, SHEET_MAX);
  be_buf_init(&plan.labels, PAPER_MAX);
  enum be_status status = be_survey_read(book_path, how, arena, &survey, err);
  if (status == BE_OK) status = answer(&plan, &asked, doc, err);
  be_buf_free(&plan.labels);
  be_buf_free(&plan.rule_sheet);
  be_buf_free(&plan.trial_sheet);
  be_arena_free(arena);
  return status;
}
