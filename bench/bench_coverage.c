/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Are the answers as sure as they say? Draws trials from a known truth, enters
 * them like anybody's, and counts how often the truth is covered and how often
 * alike knots are called apart. Level 95 %, so 95 and 5 are aimed at. */
#include "app/app.h"
#include "stats/number/number.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Standard error of 95 %: 1.1 points, of efficiencies, two a trial, 0.8. */
enum { TRIALS = 400 };

static void must(enum be_status status, const struct be_err *err)
{
  if (status == BE_OK) return;
  fprintf(stderr, "bench: %s %s\n", err->file, err->what);
  exit(1);
}

struct trial {
  struct be_random *random;
  struct be_buf sheet;
  int pulls;
};

static void pull(struct trial *trial, const char *knot, const char *spool, double mean, double cv,
                 int n)
{
  for (int i = 0; i < n; i++)
    be_buf_format(&trial->sheet, "K%d,%s,nylon,%s,dry,%.3f,broke,in the knot\n", trial->pulls++,
                  knot, spool, mean * (1 + cv * be_random_normal(trial->random)));
}

/* Three in ten stop before they let go: at a load of their own, whose survival is that of
 * loads to the power of 3/7. */
static void pull_with_bounds(struct trial *trial, const char *knot, double mean, double cv, int n)
{
  for (int i = 0; i < n; i++) {
    double load = mean * (1 + cv * be_random_normal(trial->random));
    double upper = pow(1 - be_random_unit(trial->random), 7.0 / 3);
    double stop = upper > 0 ? mean * (1 + cv * be_normal_quantile(upper)) : 0;
    be_buf_format(&trial->sheet, "K%d,%s,nylon,S1,dry,%.3f,broke,%s\n", trial->pulls++, knot,
                  fmax(fmin(load, stop), 1), stop < load ? "clear of it" : "in the knot");
  }
}

static void enter(const char *path, const struct trial *trial)
{
  struct be_err err = {0};
  struct be_book *book = NULL;
  struct be_entered entered;
  struct be_entering how = {0};
  struct be_arena *arena = be_arena_create();
  must(be_file_remove(path, &err), &err);
  must(be_book_create(path, &err), &err);
  must(be_book_open(path, true, &book, &err), &err);
  must(be_book_enter(book, "trial.csv", trial->sheet.data, trial->sheet.size, &how, arena, &entered,
                     &err),
       &err);
  be_book_close(book);
  be_arena_free(arena);
}

static void start(struct trial *trial)
{
  trial->pulls = 0;
  be_buf_init(&trial->sheet, 1 << 20);
  be_buf_text(&trial->sheet, "specimen,knot,line A,spool A,soak,load (N),what,where\n");
}

/* The document as JSON, to be searched for figures. */
static void as_json(struct be_doc *doc, struct be_buf *json)
{
  struct be_err err = {0};
  be_buf_init(json, 1 << 24);
  must(be_doc_json(doc, json, &err), &err);
  be_doc_free(doc);
}

static double figure(const char **json, const char *key)
{
  const char *at = strstr(*json, key);
  if (!at) {
    fprintf(stderr, "bench: no %s\n", key);
    exit(1);
  }
  *json = at + strlen(key);
  return strtod(*json, NULL);
}

static bool covers(const char **json, const char *low_key, const char *high_key, double truth)
{
  double low = figure(json, low_key), high = figure(json, high_key);
  return low <= truth && truth <= high;
}

/* One knot under two names, tied on spools 5 % apart. */
static void two_spools(const char *path, struct be_random *random)
{
  int apart = 0, points = 0, efficiencies = 0;
  for (int i = 0; i < TRIALS; i++) {
    struct trial trial = {.random = random};
    struct be_err err = {0};
    struct be_answering how = {0};
    struct be_doc *doc = NULL;
    struct be_buf json;
    start(&trial);
    pull(&trial, "none", "S1", 100, 0.04, 5);
    pull(&trial, "none", "S2", 105, 0.04, 5);
    pull(&trial, "alpha", "S1", 80, 0.075, 6);
    pull(&trial, "beta", "S2", 84, 0.075, 6);
    enter(path, &trial);
    be_buf_free(&trial.sheet);
    must(be_app_versus(path, "alpha", "beta", &how, &doc, &err), &err);
    as_json(doc, &json);
    const char *at = json.data;
    apart += strstr(at, "held more than") != NULL;
    points += covers(&at, "\"points_low\":", "\"points_high\":", 0);
    be_buf_free(&json);
    must(be_app_strength(path, &how, &doc, &err), &err);
    as_json(doc, &json);
    at = json.data;
    for (int k = 0; k < 2; k++)
      efficiencies +=
          covers(&at, "\"efficiency_percent_low\":", "\"efficiency_percent_high\":", 80);
    be_buf_free(&json);
  }
  printf("one knot on two spools 5 %% apart, 6 + 6 pulls, 5 plain each, %d trials:\n", TRIALS);
  printf("  called apart %.1f %%, points cover 0 in %.1f %%, efficiency covered in %.1f %%\n",
         100.0 * apart / TRIALS, 100.0 * points / TRIALS, 100.0 * efficiencies / (2 * TRIALS));
}

/* Two knots, of whose pulls three in ten are lower bounds. */
static void with_bounds(const char *path, struct be_random *random)
{
  int efficiencies = 0, known = 0;
  for (int i = 0; i < TRIALS; i++) {
    struct trial trial = {.random = random};
    struct be_err err = {0};
    struct be_answering how = {0};
    struct be_doc *doc = NULL;
    struct be_buf json;
    start(&trial);
    pull(&trial, "none", "S1", 100, 0.04, 5);
    pull_with_bounds(&trial, "alpha", 80, 0.075, 6);
    pull_with_bounds(&trial, "beta", 80, 0.075, 6);
    enter(path, &trial);
    be_buf_free(&trial.sheet);
    must(be_app_strength(path, &how, &doc, &err), &err);
    as_json(doc, &json);
    const char *at = json.data;
    for (int k = 0; k < 2; k++) {
      if (!strstr(at, "\"efficiency_percent_low\":")) continue;
      efficiencies +=
          covers(&at, "\"efficiency_percent_low\":", "\"efficiency_percent_high\":", 80);
      known++;
    }
    be_buf_free(&json);
  }
  printf("two knots, 6 pulls each, three in ten of them lower bounds, 5 plain, %d trials:\n",
         TRIALS);
  printf("  efficiency covered in %.1f %% of %d\n", 100.0 * efficiencies / known, known);
}

/* Ten knots that are one. */
static void ten_alike(const char *path, struct be_random *random)
{
  int any = 0, first = 0;
  for (int i = 0; i < TRIALS; i++) {
    struct trial trial = {.random = random};
    struct be_err err = {0};
    struct be_answering how = {.resamples = 200};
    struct be_doc *doc = NULL;
    struct be_buf json;
    start(&trial);
    for (char knot[] = "knot a"; knot[5] <= 'j'; knot[5]++) pull(&trial, knot, "S1", 80, 0.08, 5);
    enter(path, &trial);
    be_buf_free(&trial.sheet);
    must(be_app_standings(path, &how, &doc, &err), &err);
    as_json(doc, &json);
    first += strstr(json.data, "apart from every other that was ranked") != NULL;
    any += strstr(json.data, "Cannot separate the first from 9 others") == NULL;
    be_buf_free(&json);
  }
  printf("ten knots that are one, 5 pulls each, %d trials:\n", TRIALS);
  printf("  the first called apart from any %.1f %%, from all %.1f %%\n", 100.0 * any / TRIALS,
         100.0 * first / TRIALS);
}

int main(int argc, char **argv)
{
  char path[1024];
  struct be_random random;
  snprintf(path, sizeof path, "%s/bench/coverage.book", argc > 1 ? argv[1] : "build");
  be_random_init(&random, 20260411, 0);
  two_spools(path, &random);
  ten_alike(path, &random);
  with_bounds(path, &random);
  return 0;
}
