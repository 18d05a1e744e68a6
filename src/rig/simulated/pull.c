/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One pull at constant speed. The load follows a stiffening curve of travel,
 * load = break * (travel / reach)^1.3, where reach is the travel at which the
 * specimen lets go. A seating slip pays out line, so that the load falls back
 * along the curve and climbs again. What the load cell then reports is the
 * load plus zero, drift and noise, rounded to its step and cut at its range.
 *
 *   slack -> rising -> (slip: travel paid out) -> let go -> after
 *                                                   |
 *                    broke: none left; strand: part left; faded: saw-tooth
 *                    down; held: nothing let go
 */
#include "rig/settings/settings.h"
#include "rig/simulated/simulated.h"

#include <math.h>

enum ending { ENDS_BROKE, ENDS_STRAND, ENDS_FADED, ENDS_HELD };
enum { SLIPS_MAX = 8 };

struct pull_settings {
  double seed, rate_Hz, break_N, time_s, slack_s, after_s;
  double zero_N, drift_N, noise_N, step_N, range_N;
  double slips, slip_share;
  int ending;   /* enum ending */
  double speed; /* of the source */
};

struct be_simulated_pull {
  struct pull_settings set;
  struct be_random random;
  double slip_at_N[SLIPS_MAX]; /* loads at which it seats, rising */
  size_t slips_done;
  double paid_out; /* travel lost to slips, as a share of reach */
  double let_go_s; /* moment of letting go; negative before it */
  size_t next;     /* sample */
};

#define NUMBER(field, least, most)                                                                 \
  {                                                                                                \
#field, BE_SETTING_NUMBER, offsetof(struct pull_settings, field), least, most                  \
  }
static const struct be_setting table[] = {
    NUMBER(seed, 0, 9e15),
    NUMBER(rate_Hz, 1e-6, 1e6),
    NUMBER(break_N, 1e-9, 1e9),
    NUMBER(time_s, 1e-9, 1e9),
    NUMBER(slack_s, 0, 1e9),
    NUMBER(after_s, 0, 1e9),
    NUMBER(zero_N, -1e9, 1e9),
    NUMBER(drift_N, -1e9, 1e9),
    NUMBER(noise_N, 0, 1e9),
    NUMBER(step_N, 0, 1e9),
    NUMBER(range_N, -1e9, 1e9),
    NUMBER(slips, 0, SLIPS_MAX),
    NUMBER(slip_share, -1e9, 1e9),
    {"ending", BE_SETTING_WORD, offsetof(struct pull_settings, ending),
     .words = "broke strand faded held"},
    NUMBER(speed, 0, 1e9),
};
#undef NUMBER

const char be_simulated_pull_help[] =
    "settings: seed, rate_Hz, break_N, time_s, slack_s, after_s, zero_N, drift_N, noise_N, "
    "step_N, range_N, slips, slip_share, ending=broke|strand|faded|held, speed (0: at once)";

enum be_status be_simulated_pull_create(const char *settings, struct be_simulated_pull **pull,
                                        struct be_err *err)
{
  struct pull_settings set = {.seed = 1,
                              .rate_Hz = 50,
                              .break_N = 50,
                              .time_s = 10,
                              .slack_s = 0.6,
                              .after_s = 1,
                              .noise_N = 0.1,
                              .step_N = 0.01,
                              .range_N = 1000,
                              .slip_share = 0.06,
                              .speed = 1};
  *pull = NULL;
  enum be_status status = be_settings_read(settings, table, sizeof table / sizeof table[0], &set,
                                           be_simulated_pull_help, err);
  if (status != BE_OK) return status;
  struct be_simulated_pull *rig = be_alloc_array(1, sizeof *rig);
  if (!rig) return be_fail(err, BE_NO_MEMORY, "no memory for the simulated rig");
  rig->set = set;
  rig->let_go_s = -1;
  be_random_init(&rig->random, (uint64_t)set.seed, 1);
  for (int i = 0; i < (int)set.slips; i++) {
    double share = (i + 0.3 + 0.4 * be_random_unit(&rig->random)) / set.slips;
    rig->slip_at_N[i] = set.break_N * (0.15 + 0.6 * share);
  }
  *pull = rig;
  return BE_OK;
}

double be_simulated_pull_speed(const struct be_simulated_pull *pull)
{
  return pull->set.speed;
}

void be_simulated_pull_free(struct be_simulated_pull *pull)
{
  be_free(pull);
}

static const double stiffening = 1.3;

/* The load a time after letting go. */
static double load_after(const struct be_simulated_pull *rig, double since_s)
{
  const struct pull_settings *set = &rig->set;
  switch ((enum ending)set->ending) {
  case ENDS_BROKE: return 0;
  case ENDS_STRAND: return since_s < set->after_s / 2 ? 0.45 * set->break_N : 0;
  case ENDS_HELD: return set->break_N;
  case ENDS_FADED: break;
  }
  double whole = 3 * set->after_s, share = since_s / whole;
  double tooth = fmod(since_s, 0.24) / 0.24;
  return share >= 1 ? 0 : set->break_N * (1 - share) * (0.86 + 0.1 * tooth);
}

/* The load at a moment before letting go; notices slips and the end. */
static double load_before(struct be_simulated_pull *rig, double t)
{
  const struct pull_settings *set = &rig->set;
  double travel = (t - set->slack_s) / set->time_s - rig->paid_out;
  if (travel <= 0) return 0;
  double load = set->break_N * pow(travel, stiffening);
  if (rig->slips_done < (size_t)set->slips && load >= rig->slip_at_N[rig->slips_done]) {
    double kept = load * (1 - set->slip_share);
    rig->paid_out += travel - pow(kept / set->break_N, 1 / stiffening);
    rig->slips_done++;
    return kept;
  }
  if (travel < 1) return load;
  rig->let_go_s = t - (travel - 1) * set->time_s;
  return load_after(rig, t - rig->let_go_s);
}

static double reported(struct be_simulated_pull *rig, double load, double t)
{
  const struct pull_settings *set = &rig->set;
  double value = load + set->zero_N + set->drift_N * t / (set->slack_s + set->time_s) +
                 set->noise_N * be_random_normal(&rig->random);
  if (value > set->range_N) value = set->range_N;
  return set->step_N > 0 ? set->step_N * nearbyint(value / set->step_N) : value;
}

size_t be_simulated_pull_next(struct be_simulated_pull *rig, struct be_simulated_point *points,
                              size_t room)
{
  const struct pull_settings *set = &rig->set;
  double tail = set->ending == ENDS_FADED  ? 4 * set->after_s
                : set->ending == ENDS_HELD ? 3 * set->after_s
                                           : set->after_s;
  size_t count = 0;
  for (; count < room; count++) {
    double t = (double)rig->next / set->rate_Hz;
    if (rig->let_go_s >= 0 && t > rig->let_go_s + tail) break;
    double load = rig->let_go_s < 0 ? load_before(rig, t) : load_after(rig, t - rig->let_go_s);
    points[count] = (struct be_simulated_point){t, reported(rig, load, t)};
    rig->next++;
  }
  return count;
}
