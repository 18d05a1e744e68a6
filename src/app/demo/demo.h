/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The demonstration trial: its recipe as read from demo/, and the bench that
 * draws specimens from its truth. */
#ifndef BE_APP_DEMO_H
#define BE_APP_DEMO_H

#include "base/base.h"
#include "book/book.h"

enum {
  RECIPE_SEED = 20260321,
  SPOOLS_MAX = 32,
  TIES_MAX = 32,
  RIGS_MAX = 8,
  ROWS_MAX = 200,
  TROUBLES_MAX = 32
};

enum { USUAL_LENGTH_MM = 500 };

struct spool_truth {
  char spool[32];
  double mean_N, cv, soaked_share, seconds;
};

enum material { MATERIAL_NYLON, MATERIAL_FLUOROCARBON, MATERIAL_BRAID, MATERIALS };

struct knot_truth {
  char knot[32], version[32];
  double efficiency[MATERIALS], cv, slip[MATERIALS];
};

/* A bench reads the load times 1 + bias. */
struct bench_truth {
  char bench[32];
  double bias;
};

struct trial_row {
  char knot[32], version[32], spool_a[32], spool_b[32], hardware[32], soak[32], design[32];
  char knot_b[32], version_b[32], bench[32];
  double speed_mm_min;
  int length_mm, n;
  bool in_series; /* pulled after the trial: other benches, lengths and pairs of knots */
};

/* A trial planned by `plan`, and the rule that is changed between its evenings. */
struct planned_trial {
  char trial[32], knots[32], on[32];
  int specimens, plain;
  double minutes;
  char changed_rule[32], changed_to[64], reason[64], interests[64];
};

struct trouble {
  char name[32], on[32];
  int count;
};

struct recipe {
  struct spool_truth spools[SPOOLS_MAX];
  struct knot_truth knots[TIES_MAX];
  struct bench_truth benches[RIGS_MAX];
  struct trial_row rows[ROWS_MAX];
  struct trouble troubles[TROUBLES_MAX];
  struct planned_trial planned;
  size_t planned_count; /* 1 */
  size_t spools_count, knots_count, benches_count, rows_count, troubles_count;
};

/* Reads the recipe that is built into the program. */
enum be_status be_recipe_read(struct recipe *recipe, struct be_err *err);
const struct spool_truth *be_recipe_spool(const struct recipe *recipe, const char *spool);
const struct knot_truth *be_recipe_knot(const struct recipe *recipe, const char *knot,
                                        const char *version);
const struct bench_truth *be_recipe_bench(const struct recipe *recipe, const char *bench);
/* Materials are told by the first letter of a spool's code. */
enum material be_spool_material(const char *spool);

/* A pull that the bench made: what the tester would write down. */
struct made_pull {
  const struct trial_row *row;
  const char *trouble; /* "" when nothing went wrong */
  char code[16], tyer[16], settings[400];
  double load_N; /* at which something let go, as its bench reads it; the gauge's peak hold */
  enum be_kind kind;
  enum be_what what;
  enum be_where where;
  enum be_which which;
  const char *reason;
};

/* Draws every specimen of the recipe, in the order of pulling: the trial, then the
 * series, bench by bench. *count of them,
 * the caller's to free with be_free. */
enum be_status be_bench_draw(const struct recipe *recipe, struct made_pull **pulls, size_t *count,
                             struct be_err *err);
/* Writes sheets of lines, knots, benches, calibrations and check weights, pull sheets and traces to
 * a folder; lists the paths of the sheets, kept in the arena. */
enum { SHEETS_MAX = 16 };
enum be_status be_bench_write(const char *folder, const struct made_pull *pulls, size_t count,
                              struct be_arena *arena, const char *paths[SHEETS_MAX], size_t *sheets,
                              struct be_err *err);
/* What one specimen holds, and what lets go: of a row, tied by tyer. No trouble comes to it. */
void be_bench_pull(const struct recipe *recipe, struct made_pull *pull, struct be_random *random);
/* trial.c: plans the trial of the recipe in a book, pulls it over its evenings by codes alone,
 * and enters the sheets. */
enum be_status be_demo_trial(const struct recipe *recipe, const char *book_path, const char *folder,
                             struct be_arena *arena, struct be_err *err);
bool be_demo_trial_is_there(const char *folder, struct be_arena *arena);
/* Whether the folder holds any of the files that be_bench_write would write over. */
bool be_bench_is_there(const char *folder, struct be_arena *arena);

#endif
