/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/lines/lines.h"
#include "app/plan/plan.h"

#include <math.h>
#include <stdio.h>

/* ---- what the record holds of each ---- */

static void count_pull(struct line_state *state, const struct be_pull *pull)
{
  state->pulls++;
  if (pull->design != BE_DESIGN_PLAIN) state->tied[pull->soak]++;
  else if (pull->kind == BE_KIND_EVENT) state->plain[pull->soak]++;
  else if (pull->kind == BE_KIND_BOUND) state->bounds[pull->soak]++;
}

static void count_planned(const struct survey *survey, struct line_state *states)
{
  for (size_t t = 0; t < survey->record.trials_count; t++) {
    const struct be_trial *trial = &survey->record.trials[t];
    double each = be_rule_number(trial, BE_RULE_METRES);
    for (size_t i = 0; i < trial->planned_count; i++) {
      const struct be_planned *planned = &trial->planned[i];
      int a = planned->line_a, b = planned->line_b;
      if (planned->pull != BE_NO_INDEX) continue;
      if (a >= 0) states[a].needed_m += each, states[a].needed_specimens++;
      if (b >= 0 && b != a) states[b].needed_m += each, states[b].needed_specimens++;
    }
  }
}

static enum divisible judge(const struct line_state *state)
{
  bool tied = false, any = false, enough = true, ever = false;
  for (int i = 0; i < SOAKS; i++) {
    tied |= state->tied[i] > 0;
    any |= state->plain[i] > 0;
    ever |= state->plain[i] >= PLAIN_ENOUGH;
    if (state->tied[i]) enough &= state->plain[i] >= PLAIN_ENOUGH;
  }
  if (!any) return DIVISIBLE_NOT;
  return (tied ? enough : ever) ? DIVISIBLE : DIVISIBLE_BY_FEW;
}

struct line_state *be_line_states(const struct survey *survey)
{
  size_t count = survey->record.lines_count;
  struct line_state *states = be_arena_alloc(survey->arena, (count + 1) * sizeof *states);
  if (!states) return NULL;
  for (size_t i = 0; i < count; i++) states[i] = (struct line_state){0};
  for (size_t i = 0; i < survey->record.pulls_count; i++) {
    const struct be_pull *pull = &survey->record.pulls[i];
    count_pull(&states[pull->line_a], pull);
    if (pull->line_b >= 0 && pull->line_b != pull->line_a) count_pull(&states[pull->line_b], pull);
  }
  count_planned(survey, states);
  for (size_t i = 0; i < count; i++) states[i].divisible = judge(&states[i]);
  return states;
}

/* ---- words ---- */

const char *be_line_words(const struct survey *survey, size_t line)
{
  return be_plan_line(survey, (int)line);
}

const char *be_pulled_words(const struct survey *survey, const struct be_pull *like)
{
  char speed[32] = "speed not recorded", length[32] = "";
  if (!isnan(like->speed_m_s))
    snprintf(speed, sizeof speed, "%.4g mm/min", like->speed_m_s * 60000);
  if (!isnan(like->length_m)) snprintf(length, sizeof length, ", %.4g mm", like->length_m * 1000);
  const char *words =
      be_arena_format(survey->arena, "%s%s%s%s", speed, length, like->bench >= 0 ? ", " : "",
                      like->bench >= 0 ? survey->record.benches[like->bench].name : "");
  return words ? words : "";
}

/* ---- plain pulls ---- */

struct be_estimate be_plain_estimate(const struct survey *survey, const struct plain_set *set)
{
  const struct plain_family *family = &survey->families[set->family];
  return (struct be_estimate){.value = set->mean,
                              .variance = family->cv2 * set->mean * set->mean / set->worth,
                              .df = family->df,
                              .n = set->n};
}

static struct be_table *sets_table(struct be_doc *doc, const struct survey *survey, int line)
{
  const struct be_column columns[] = {
      {"line", "line", BE_COLUMN_TEXT, line >= 0},
      {"soak", "soak", BE_COLUMN_TEXT, false},
      {"n", "n", BE_COLUMN_NUMBER, false},
      {"lower_bounds", "at least", BE_COLUMN_NUMBER, false},
      {"mean", be_head(survey, "plain line"), BE_COLUMN_NUMBER, false},
      {"mean", "interval", BE_COLUMN_INTERVAL, false},
      {"of_label_percent", "of label (%)", BE_COLUMN_NUMBER, false},
      {"cv_percent", "scatter (% relative)", BE_COLUMN_NUMBER, false},
      {"tied", "pulls of knots", BE_COLUMN_NUMBER, false},
      {"pulled", "pulled", BE_COLUMN_TEXT, false},
      {"cv_df", "degrees of freedom", BE_COLUMN_NUMBER, true},
  };
  return be_doc_table(doc, "plain_lines", "Plain line as measured", columns,
                      sizeof columns / sizeof columns[0]);
}

static size_t bounds_like(const struct survey *survey, const struct plain_set *set)
{
  size_t count = 0;
  for (size_t i = 0; i < survey->plain_bounds_count; i++) {
    const struct be_pull *pull = survey->plain_bounds[i];
    count += pull->line_a == set->line && pull->soak == set->like->soak &&
             be_pulled_alike(pull, set->like);
  }
  return count;
}

static void name_row(struct be_table *table, const struct survey *survey, size_t line,
                     enum be_soak soak)
{
  be_table_text(table, "%s", be_line_words(survey, line));
  be_table_link(table, "/line?at=%zu", line);
  be_table_text(table, "%s", be_soak_word(soak));
}

static void set_row(struct be_table *table, const struct survey *survey,
                    const struct line_state *states, const struct plain_set *set)
{
  const struct plain_family *family = &survey->families[set->family];
  struct be_estimate estimate = be_plain_estimate(survey, set);
  struct be_interval mean = be_load_interval(&estimate, survey->how.level);
  enum be_soak soak = set->like->soak;
  int decimals = survey->decimals + 1;
  name_row(table, survey, (size_t)set->line, soak);
  be_table_number(table, (double)set->n, 0);
  be_table_number(table, (double)bounds_like(survey, set), 0);
  be_table_number(table, be_shown(survey, set->mean), decimals);
  be_table_interval(table, be_shown(survey, mean.low), be_shown(survey, mean.high), decimals);
  be_table_number(table, 100 * set->mean / survey->record.lines[set->line].label_N, 0);
  be_table_number(table, 100 * sqrt(family->cv2), 1);
  be_table_number(table, (double)states[set->line].tied[soak], 0);
  be_table_text(table, "%s", be_pulled_words(survey, set->like));
  be_table_number(table, family->df > 0 ? family->df : NAN, 0);
}

/* Tied, or held by lower bounds alone, and no event to divide by. */
static void bare_row(struct be_table *table, const struct survey *survey,
                     const struct line_state *states, size_t line, enum be_soak soak)
{
  name_row(table, survey, line, soak);
  be_table_number(table, 0, 0);
  be_table_number(table, (double)states[line].bounds[soak], 0);
  be_table_number(table, NAN, 0);
  be_table_interval(table, NAN, NAN, 0);
  be_table_number(table, NAN, 0);
  be_table_number(table, NAN, 0);
  be_table_number(table, (double)states[line].tied[soak], 0);
  be_table_text(table, "no plain line that let go");
  be_table_number(table, NAN, 0);
}

void be_say_plain_sets(struct be_doc *doc, const struct survey *survey,
                       const struct line_state *states, int line)
{
  struct be_table *table = NULL;
  for (size_t i = 0; i < survey->record.lines_count; i++) {
    if (line >= 0 && i != (size_t)line) continue;
    for (int soak = 0; soak < SOAKS; soak++) {
      const struct line_state *state = &states[i];
      if (state->tied[soak] + state->plain[soak] + state->bounds[soak] == 0) continue;
      if (!table) table = sets_table(doc, survey, line);
      if (state->plain[soak] == 0) bare_row(table, survey, states, i, (enum be_soak)soak);
      for (size_t k = 0; k < survey->sets_count; k++)
        if (survey->sets[k].line == (int)i && survey->sets[k].like->soak == (enum be_soak)soak)
          set_row(table, survey, states, &survey->sets[k]);
    }
  }
  if (!table) return;
  be_doc_note(doc,
              "Pulls of one spool in one soak, pulled alike, stand together. The scatter of "
              "one pull is that of all spools of the line in this soak, each about its own "
              "mean, as efficiencies take it; intervals are at %g %%. The share of the label "
              "stands beside it: nothing is ever divided by a label.",
              100 * survey->how.level);
}

/* ---- doubts ---- */

/* What is usual of fishing line, as a warning only. */
static const double cv_low = 0.01, cv_high = 0.08, label_low = 0.5, label_high = 2;
enum { CV_DF_MIN = 3 }; /* with fewer the scatter itself is hardly known */

struct doubts {
  struct be_doc *doc;
  struct be_table *table;
  const struct survey *survey;
};

static void doubt(struct doubts *doubts, size_t line, const char *soak, const char *words)
{
  static const struct be_column columns[] = {
      {"line", "line", BE_COLUMN_TEXT, false},
      {"soak", "soak", BE_COLUMN_TEXT, false},
      {"doubt", "what asks for a look", BE_COLUMN_TEXT, false},
  };
  if (!doubts->table) doubts->table = be_doc_table(doubts->doc, "doubts", "To look at", columns, 3);
  be_table_text(doubts->table, "%s", be_line_words(doubts->survey, line));
  be_table_link(doubts->table, "/line?at=%zu", line);
  be_table_text(doubts->table, "%s", soak);
  be_table_text(doubts->table, "%s", words ? words : "?");
}

static void doubt_plain(struct doubts *doubts, size_t line, const struct line_state *state)
{
  for (int soak = 0; soak < SOAKS; soak++) {
    size_t n = state->plain[soak];
    if (n >= PLAIN_ENOUGH || (state->tied[soak] == 0 && n + state->bounds[soak] == 0)) continue;
    doubt(doubts, line, be_soak_word((enum be_soak)soak),
          n == 0 ? be_arena_format(doubts->survey->arena,
                                   "no plain pull that let go: %zu pull%s of knots cannot be "
                                   "divided by this spool",
                                   state->tied[soak], state->tied[soak] == 1 ? "" : "s")
                 : be_arena_format(doubts->survey->arena,
                                   "%zu plain pull%s: pull %zu more, for %d at least", n,
                                   n == 1 ? "" : "s", PLAIN_ENOUGH - n, PLAIN_ENOUGH));
  }
}

static void doubt_set(struct doubts *doubts, const struct plain_set *set)
{
  const struct survey *survey = doubts->survey;
  const struct plain_family *family = &survey->families[set->family];
  const char *soak = be_soak_word(set->like->soak);
  double ratio = set->mean / survey->record.lines[set->line].label_N, cv = sqrt(family->cv2);
  if (ratio < label_low || ratio > label_high)
    doubt(doubts, (size_t)set->line, soak,
          be_arena_format(survey->arena,
                          "%.2f times its label, where 0.5 to 2 is usual: look at the label, its "
                          "unit, and the unit of the loads",
                          ratio));
  if (family->df >= CV_DF_MIN && (cv < cv_low || cv > cv_high))
    doubt(doubts, (size_t)set->line, soak,
          be_arena_format(survey->arena,
                          "one plain pull scatters by %.2g %% (relative), where 1 to 8 %% is "
                          "usual: %s",
                          100 * cv,
                          cv > cv_high ? "look at the grips, and at what was pulled otherwise"
                                       : "look at how finely loads are read"));
}

/* Each line and soak once: its sets share the scatter. */
static bool said_before(const struct survey *survey, size_t set)
{
  for (size_t i = 0; i < set; i++)
    if (survey->sets[i].line == survey->sets[set].line &&
        survey->sets[i].family == survey->sets[set].family)
      return true;
  return false;
}

static void doubt_stock(struct doubts *doubts, size_t line, const struct line_state *state)
{
  double on_hand = doubts->survey->record.lines[line].on_hand_m;
  if (state->needed_m > on_hand)
    doubt(doubts, line, "",
          be_arena_format(doubts->survey->arena,
                          "trials still need %.1f m, and %.1f m is on hand: %.1f m short",
                          state->needed_m, on_hand, state->needed_m - on_hand));
}

void be_say_line_doubts(struct be_doc *doc, const struct survey *survey,
                        const struct line_state *states, int line)
{
  struct doubts doubts = {.doc = doc, .survey = survey};
  for (size_t i = 0; i < survey->record.lines_count; i++) {
    if (line >= 0 && i != (size_t)line) continue;
    doubt_plain(&doubts, i, &states[i]);
    for (size_t k = 0; k < survey->sets_count; k++)
      if (survey->sets[k].line == (int)i && !said_before(survey, k))
        doubt_set(&doubts, &survey->sets[k]);
    doubt_stock(&doubts, i, &states[i]);
  }
}
