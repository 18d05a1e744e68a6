/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is asked of a plan: the usual values, and what cannot be asked. */
#include "app/plan/plan.h"

#include <math.h>
#include <string.h>

enum { SPECIMENS_USUAL = 5, MINUTES_USUAL = 120, MINUTES_EACH_USUAL = 5 };
static const double MINUTES_EACH_MIN = 0.1, MINUTES_EACH_MAX = 1440;
/* More of a line than any bench has room for. */
static const double METRES_MAX = 1000;

static const char *const words_of[] = {
#define X(code, word, others) others,
    BE_RULE_LIST(X)
#undef X
};

/* The first of "a|b|c". */
static const char *first_word(struct be_arena *arena, const char *words)
{
  return be_arena_text(arena, words, strcspn(words, "|"));
}

static bool is_one_of(const char *words, const char *word)
{
  for (; *words; words += *words == '|') {
    size_t length = strcspn(words, "|");
    if (strlen(word) == length && strncmp(words, word, length) == 0) return true;
    words += length;
  }
  return false;
}

const char *be_rule_in_force(const struct survey *survey, const struct be_trial *trial,
                             enum be_rule rule)
{
  if (trial->rule[rule]) return trial->rule[rule];
  return *words_of[rule] ? first_word(survey->arena, words_of[rule]) : NULL;
}

double be_rule_number(const struct be_trial *trial, enum be_rule rule)
{
  double value = NAN;
  const char *text = trial->rule[rule];
  return text && be_number_scan(text, strlen(text), '.', &value) ? value : NAN;
}

static enum be_status check_rules(const struct be_planning *asked, struct be_err *err)
{
  for (int i = 0; i < BE_RULES; i++) {
    if (!asked->rule[i] || !*words_of[i] || is_one_of(words_of[i], asked->rule[i])) continue;
    be_fail(err, BE_WRONG_USE, "the rule \"%s\" cannot be \"%s\"", be_rule_word((enum be_rule)i),
            asked->rule[i]);
    be_fail_remedy(err, "take one of %s", words_of[i]);
    return BE_WRONG_USE;
  }
  return BE_OK;
}

static enum be_status check_numbers(const struct be_planning *asked, struct be_err *err)
{
  if ((asked->specimens > 0) + (asked->within > 0) + (asked->difference > 0) > 1)
    return be_fail(err, BE_WRONG_USE,
                   "the number of specimens is told, or follows from a "
                   "precision, or from a difference: give one of the three");
  if (asked->per_evening && asked->minutes > 0)
    return be_fail(err, BE_WRONG_USE,
                   "an evening is so many specimens or so many minutes: give "
                   "one of the two");
  if (!(asked->within >= 0 && asked->within < 100 && asked->difference >= 0 &&
        asked->difference < 100))
    return be_fail(err, BE_WRONG_USE, "points lie between 0 and 100");
  if (!(asked->cv >= 0 && asked->cv < 1))
    return be_fail(err, BE_WRONG_USE, "a scatter lies between 0 and 100 %%");
  if (asked->specimens > CODES_MAX || asked->plain > CODES_MAX)
    return be_fail(err, BE_WRONG_USE, "a trial has at most %d specimens", CODES_MAX);
  if (!(asked->metres_each >= 0 && asked->metres_each <= METRES_MAX))
    return be_fail(err, BE_WRONG_USE, "a specimen takes from 0 to %g m of line", METRES_MAX);
  if (!(asked->minutes_each >= MINUTES_EACH_MIN && asked->minutes_each <= MINUTES_EACH_MAX))
    return be_fail(err, BE_WRONG_USE, "a specimen takes from %g to %g minutes", MINUTES_EACH_MIN,
                   MINUTES_EACH_MAX);
  if (!asked->per_evening && !(asked->minutes >= asked->minutes_each && isfinite(asked->minutes)))
    return be_fail(err, BE_WRONG_USE, "%g minutes are not enough for a specimen, which takes %g",
                   asked->minutes, asked->minutes_each);
  return BE_OK;
}

enum be_status be_plan_usual(struct be_planning *asked, struct be_err *err)
{
  if (!asked->knots || !asked->on)
    return be_fail(err, BE_WRONG_USE,
                   "a new trial takes knots and the lines that they are tied "
                   "on");
  if (asked->minutes_each == 0) asked->minutes_each = MINUTES_EACH_USUAL;
  if (!asked->per_evening && asked->minutes == 0) asked->minutes = MINUTES_USUAL;
  enum be_status status = check_numbers(asked, err);
  if (status == BE_OK) status = check_rules(asked, err);
  if (!asked->specimens && asked->within == 0 && asked->difference == 0)
    asked->specimens = SPECIMENS_USUAL;
  return status;
}

double be_plain_share_of_minutes(void)
{
  return 3.0 / MINUTES_EACH_USUAL;
}
