/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The demonstration bench: draws what each specimen holds from the truth, then
 * lets the weakest part go. */
#include "app/demo/demo.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { PULLS_MAX = 5000 };

static bool is_plain_row(const struct trial_row *row)
{
  return strcmp(row->design, "plain line") == 0;
}

static bool suits(const struct trouble *trouble, const struct trial_row *row)
{
  bool plain = is_plain_row(row);
  if (strcmp(row->design, "single knot") != 0 && !plain) return false;
  if (strcmp(trouble->on, "plain") == 0) return plain;
  if (strcmp(trouble->on, "knot") == 0) return !plain;
  if (strcmp(trouble->on, "ring") == 0) return row->hardware[0] != '\0';
  if (strcmp(trouble->on, "braid") == 0) return row->spool_a[0] == 'B' && !row->spool_b[0];
  return true;
}

/* Deals the troubles out: each falls on pulls that it suits, one to a pull. */
static void deal_troubles(const struct recipe *recipe, struct made_pull *pulls, size_t count,
                          struct be_random *random)
{
  for (size_t t = 0; t < recipe->troubles_count; t++) {
    const struct trouble *trouble = &recipe->troubles[t];
    int left = trouble->count;
    for (int tries = 0; left > 0 && tries < 100000; tries++) {
      struct made_pull *pull = &pulls[be_random_below(random, count)];
      if (pull->trouble[0] || !suits(trouble, pull->row)) continue;
      pull->trouble = trouble->name;
      left--;
    }
  }
}

/* ---- what one specimen holds ---- */

static double draw(struct be_random *random, double mean, double cv)
{
  double value = mean * (1 + cv * be_random_normal(random));
  return value > 0.1 * mean ? value : 0.1 * mean;
}

struct strengths {
  double line_a, line_b, knot, knot_b; /* N; infinite when there is none */
  enum material weaker;
};

static double spool_mean(const struct recipe *recipe, const char *spool, bool soaked)
{
  const struct spool_truth *truth = be_recipe_spool(recipe, spool);
  return truth->mean_N * (soaked ? truth->soaked_share : 1);
}

static struct strengths draw_strengths(const struct recipe *recipe, struct made_pull *pull,
                                       struct be_random *random)
{
  const struct trial_row *row = pull->row;
  bool soaked = strcmp(row->soak, "soaked") == 0;
  double a = spool_mean(recipe, row->spool_a, soaked);
  double b = row->spool_b[0] ? spool_mean(recipe, row->spool_b, soaked) : INFINITY;
  struct strengths s = {.line_b = INFINITY, .knot = INFINITY, .knot_b = INFINITY};
  s.line_a = draw(random, a, be_recipe_spool(recipe, row->spool_a)->cv);
  /* A longer piece is as strong as the weakest of the usual lengths in it. */
  for (int length = 2 * USUAL_LENGTH_MM; length <= row->length_mm; length += USUAL_LENGTH_MM)
    s.line_a = fmin(s.line_a, draw(random, a, be_recipe_spool(recipe, row->spool_a)->cv));
  if (row->spool_b[0]) s.line_b = draw(random, b, be_recipe_spool(recipe, row->spool_b)->cv);
  s.weaker = be_spool_material(a <= b ? row->spool_a : row->spool_b);
  if (is_plain_row(row)) return s;
  const struct knot_truth *knot = be_recipe_knot(recipe, row->knot, row->version);
  double tyer = pull->tyer[0] == 'W' ? 1.01 : 0.99;
  double mean = fmin(a, b) * knot->efficiency[s.weaker] * tyer;
  s.knot = draw(random, mean, knot->cv);
  if (row->knot_b[0]) {
    const struct knot_truth *second = be_recipe_knot(recipe, row->knot_b, row->version_b);
    s.knot_b = draw(random, fmin(a, b) * second->efficiency[s.weaker] * tyer, second->cv);
  } else if (strncmp(row->design, "two", 3) == 0) {
    s.knot = fmin(s.knot, draw(random, mean, knot->cv));
  }
  return s;
}

/* The weakest part lets go: a knot breaks or slips, a line parts clear of it. */
static void let_go(const struct recipe *recipe, struct made_pull *pull, const struct strengths *s,
                   struct be_random *random)
{
  const struct trial_row *row = pull->row;
  double line = fmin(s->line_a, s->line_b), weaker_knot = fmin(s->knot, s->knot_b);
  bool second = s->knot_b < s->knot;
  pull->load_N = fmin(line, weaker_knot);
  pull->what = BE_WHAT_BROKE;
  pull->which = s->line_a <= s->line_b ? BE_WHICH_A : BE_WHICH_B;
  pull->kind = BE_KIND_EVENT;
  if (is_plain_row(pull->row)) {
    pull->where = BE_WHERE_CLEAR;
    return;
  }
  if (weaker_knot > line) {
    pull->where = BE_WHERE_CLEAR;
    pull->kind = BE_KIND_BOUND;
    return;
  }
  const struct knot_truth *knot = be_recipe_knot(recipe, second ? row->knot_b : row->knot,
                                                 second ? row->version_b : row->version);
  if (row->knot_b[0]) pull->which = second ? BE_WHICH_KNOT_B : BE_WHICH_KNOT_A;
  pull->where = be_random_unit(random) < 0.7 ? BE_WHERE_ENTRY : BE_WHERE_KNOT;
  if (be_random_unit(random) >= knot->slip[s->weaker]) return;
  pull->what = BE_WHAT_SLIPPED_OUT;
  pull->where = BE_WHERE_KNOT;
  if (!row->knot_b[0]) pull->which = BE_WHICH_TAG;
}

/* ---- troubles ---- */

static bool in_trouble(const struct made_pull *pull, const char *name)
{
  return strcmp(pull->trouble, name) == 0;
}

static void make_void(struct made_pull *pull, const char *reason)
{
  pull->kind = BE_KIND_VOID;
  pull->reason = reason;
}

static void make_bound(struct made_pull *pull, double share, enum be_what what, enum be_where where,
                       enum be_which which)
{
  pull->kind = BE_KIND_BOUND;
  pull->load_N *= share;
  pull->what = what;
  pull->where = where;
  pull->which = which;
}

static void go_wrong(struct made_pull *pull)
{
  if (in_trouble(pull, "grip")) make_bound(pull, 0.93, BE_WHAT_BROKE, BE_WHERE_GRIP, BE_WHICH_A);
  else if (in_trouble(pull, "hardware"))
    make_bound(pull, 0.9, BE_WHAT_HARDWARE, BE_WHERE_EYE, BE_WHICH_NONE);
  else if (in_trouble(pull, "strand")) pull->what = BE_WHAT_STRAND;
  else if (in_trouble(pull, "mis-tied")) make_void(pull, "not tied as drawn");
  else if (in_trouble(pull, "grip-slip")) make_void(pull, "the line crept round the bollard");
  else if (in_trouble(pull, "stopped")) {
    make_void(pull, "stopped by the operator");
    pull->what = BE_WHAT_NOTHING, pull->where = BE_WHERE_UNKNOWN, pull->which = BE_WHICH_NONE;
  } else if (in_trouble(pull, "saturated")) pull->kind = BE_KIND_BOUND;
  if (strcmp(pull->row->design, "proof hold") == 0) {
    make_bound(pull, 0.7, BE_WHAT_NOTHING, BE_WHERE_UNKNOWN, BE_WHICH_NONE);
    if (pull->load_N > 150) pull->load_N = 150;
  }
}

static void set_rig(const struct recipe *recipe, struct made_pull *pull, struct be_random *random)
{
  const struct spool_truth *spool = be_recipe_spool(recipe, pull->row->spool_a);
  double seconds = spool->seconds * 500 / pull->row->speed_mm_min;
  seconds *= pull->row->length_mm / (double)USUAL_LENGTH_MM;
  if (pull->row->spool_b[0]) seconds *= 0.7;
  if (in_trouble(pull, "fast")) seconds = 0.9;
  const char *ending = pull->what == BE_WHAT_SLIPPED_OUT ? "faded"
                       : pull->what == BE_WHAT_STRAND    ? "strand"
                       : pull->what == BE_WHAT_NOTHING   ? "held"
                                                         : "broke";
  bool knotted = !is_plain_row(pull->row);
  snprintf(pull->settings, sizeof pull->settings,
           "seed=%u break_N=%.4f time_s=%.3f zero_N=%.3f drift_N=%.3f noise_N=%.3f step_N=0.02 "
           "range_N=%.2f slips=%d slip_share=%.3f ending=%s",
           (unsigned)be_random_below(random, 1000000000), pull->load_N, seconds,
           0.6 * be_random_normal(random), in_trouble(pull, "drift") ? 1.5 : 0.0,
           0.05 + 0.001 * pull->load_N, in_trouble(pull, "saturated") ? 0.8 * pull->load_N : 600.0,
           knotted ? (int)be_random_below(random, 3) : 0, 0.05 + 0.05 * be_random_unit(random),
           ending);
}

static void shuffle(struct made_pull *pulls, size_t count, struct be_random *random)
{
  for (size_t i = count; i > 1; i--) {
    size_t k = (size_t)be_random_below(random, i);
    struct made_pull other = pulls[k];
    pulls[k] = pulls[i - 1];
    pulls[i - 1] = other;
  }
}

/* Those of a bench are pulled in one session, in any order. */
static void shuffle_each_bench(struct made_pull *pulls, size_t count, struct be_random *random)
{
  for (size_t from = 0, to = 0; from < count; from = to) {
    while (to < count && strcmp(pulls[to].row->bench, pulls[from].row->bench) == 0) to++;
    shuffle(pulls + from, to - from, random);
  }
}

void be_bench_pull(const struct recipe *recipe, struct made_pull *pull, struct be_random *random)
{
  struct strengths strengths = draw_strengths(recipe, pull, random);
  let_go(recipe, pull, &strengths, random);
}

static void draw_all(const struct recipe *recipe, struct made_pull *pulls, size_t count,
                     struct be_random *random)
{
  for (size_t i = 0; i < count; i++) {
    be_bench_pull(recipe, &pulls[i], random);
    go_wrong(&pulls[i]);
    pulls[i].load_N *= 1 + be_recipe_bench(recipe, pulls[i].row->bench)->bias;
    set_rig(recipe, &pulls[i], random);
  }
}

enum be_status be_bench_draw(const struct recipe *recipe, struct made_pull **out, size_t *count,
                             struct be_err *err)
{
  size_t all = 0, trial = 0, at = 0;
  for (size_t i = 0; i < recipe->rows_count; i++) {
    all += (size_t)recipe->rows[i].n;
    if (!recipe->rows[i].in_series) trial = all;
  }
  if (all == 0 || all > PULLS_MAX)
    return be_fail(err, BE_TOO_LARGE, "the recipe makes %zu pulls", all);
  struct made_pull *pulls = be_alloc_array(all, sizeof *pulls);
  if (!pulls) return be_fail(err, BE_NO_MEMORY, "no memory for the demonstration");
  for (size_t i = 0; i < recipe->rows_count; i++)
    for (int k = 0; k < recipe->rows[i].n; k++, at++) {
      pulls[at] = (struct made_pull){.row = &recipe->rows[i], .trouble = "", .reason = ""};
      snprintf(pulls[at].code, sizeof pulls[at].code, "K%03zu", at + 1);
      snprintf(pulls[at].tyer, sizeof pulls[at].tyer, "%s", k % 2 ? "Sorrel" : "Wren");
    }
  struct be_random random;
  be_random_init(&random, RECIPE_SEED, 0);
  deal_troubles(recipe, pulls, trial, &random);
  draw_all(recipe, pulls, trial, &random);
  shuffle(pulls, trial, &random);
  /* Numbers of their own, so that the series leave the trial as it is. */
  be_random_init(&random, RECIPE_SEED, 1);
  draw_all(recipe, pulls + trial, all - trial, &random);
  shuffle_each_bench(pulls + trial, all - trial, &random);
  *out = pulls;
  *count = all;
  return BE_OK;
}
