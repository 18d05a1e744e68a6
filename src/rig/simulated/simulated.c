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
#include "rig/simulated/simulated.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum ending { ENDS_BROKE, ENDS_STRAND, ENDS_FADED, ENDS_HELD };
enum { SLIPS_MAX = 8 };

struct settings {
  double seed, rate_Hz, break_N, time_s, slack_s, after_s;
  double zero_N, drift_N, noise_N, step_N, range_N;
  double slips, slip_share;
  enum ending ending;
};

struct simulated {
  struct settings set;
  struct be_random random;
  double slip_at_N[SLIPS_MAX]; /* loads at which it seats, rising */
  size_t slips_done;
  double paid_out; /* travel lost to slips, as a share of reach */
  double let_go_s; /* moment of letting go; negative before it */
  size_t next;     /* sample */
};

static const struct {
  const char *name;
  size_t offset;
  double usual;
} numbers[] = {
#define NUMBER(field, usual)                                                                       \
  {                                                                                                \
#field, offsetof(struct settings, field), usual                                                \
  }
    NUMBER(seed, 1),          NUMBER(rate_Hz, 50),  NUMBER(break_N, 50),   NUMBER(time_s, 10),
    NUMBER(slack_s, 0.6),     NUMBER(after_s, 1),   NUMBER(zero_N, 0),     NUMBER(drift_N, 0),
    NUMBER(noise_N, 0.1),     NUMBER(step_N, 0.01), NUMBER(range_N, 1000), NUMBER(slips, 0),
    NUMBER(slip_share, 0.06),
#undef NUMBER
};
enum { NUMBERS = sizeof numbers / sizeof numbers[0] };

static double *number_at(struct settings *set, int i)
{
  return (double *)(void *)((char *)set + numbers[i].offset);
}

static enum be_status read_word(struct settings *set, const char *word, struct be_err *err)
{
  static const char *const endings[] = {"broke", "strand", "faded", "held"};
  const char *equals = strchr(word, '=');
  size_t length = equals ? (size_t)(equals - word) : 0;
  if (equals && length == strlen("ending") && strncmp(word, "ending", length) == 0)
    for (int i = 0; i < 4; i++)
      if (strcmp(equals + 1, endings[i]) == 0) {
        set->ending = (enum ending)i;
        return BE_OK;
      }
  for (int i = 0; equals && i < NUMBERS; i++) {
    if (length != strlen(numbers[i].name) || strncmp(word, numbers[i].name, length) != 0) continue;
    char *end = NULL;
    double value = strtod(equals + 1, &end);
    if (end == equals + 1 || *end) break;
    *number_at(set, i) = value;
    return BE_OK;
  }
  be_fail(err, BE_WRONG_USE, "\"%s\" is not a setting of the simulated rig", word);
  return be_fail_remedy(err, "%s", be_rig_simulated.help);
}

static enum be_status read_settings(const char *text, struct settings *set, struct be_err *err)
{
  memset(set, 0, sizeof *set);
  for (int i = 0; i < NUMBERS; i++) *number_at(set, i) = numbers[i].usual;
  while (*(text += strspn(text, " "))) {
    char word[64];
    size_t length = strcspn(text, " ");
    snprintf(word, sizeof word, "%.*s", (int)length, text);
    enum be_status status = read_word(set, word, err);
    if (status != BE_OK) return status;
    text += length;
  }
  if (!(set->rate_Hz > 0) || !(set->break_N > 0) || !(set->time_s > 0) || set->slips > SLIPS_MAX)
    return be_fail(err, BE_WRONG_USE,
                   "rate_Hz, break_N and time_s must be above 0, slips at most %d", SLIPS_MAX);
  return BE_OK;
}

static enum be_status simulated_open(const char *settings, void **state, struct be_err *err)
{
  struct settings set;
  enum be_status status = read_settings(settings, &set, err);
  if (status != BE_OK) return status;
  struct simulated *rig = be_alloc_array(1, sizeof *rig);
  if (!rig) return be_fail(err, BE_NO_MEMORY, "no memory for the simulated rig");
  rig->set = set;
  rig->let_go_s = -1;
  be_random_init(&rig->random, (uint64_t)set.seed, 1);
  for (int i = 0; i < (int)set.slips; i++) {
    double share = (i + 0.3 + 0.4 * be_random_unit(&rig->random)) / set.slips;
    rig->slip_at_N[i] = set.break_N * (0.15 + 0.6 * share);
  }
  *state = rig;
  return BE_OK;
}

static const double stiffening = 1.3;

/* The load a time after letting go. */
static double load_after(const struct simulated *rig, double since_s)
{
  const struct settings *set = &rig->set;
  switch (set->ending) {
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
static double load_before(struct simulated *rig, double t)
{
  const struct settings *set = &rig->set;
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

static double reported(struct simulated *rig, double load, double t)
{
  const struct settings *set = &rig->set;
  double value = load + set->zero_N + set->drift_N * t / (set->slack_s + set->time_s) +
                 set->noise_N * be_random_normal(&rig->random);
  if (value > set->range_N) value = set->range_N;
  return set->step_N > 0 ? set->step_N * nearbyint(value / set->step_N) : value;
}

static enum be_status simulated_read(void *state, struct be_rig_sample *samples, size_t room,
                                     size_t *count, struct be_err *err)
{
  (void)err;
  struct simulated *rig = state;
  const struct settings *set = &rig->set;
  double tail = set->ending == ENDS_FADED  ? 4 * set->after_s
                : set->ending == ENDS_HELD ? 3 * set->after_s
                                           : set->after_s;
  for (*count = 0; *count < room; ++*count) {
    double t = (double)rig->next / set->rate_Hz;
    if (rig->let_go_s >= 0 && t > rig->let_go_s + tail) break;
    double load = rig->let_go_s < 0 ? load_before(rig, t) : load_after(rig, t - rig->let_go_s);
    samples[*count] = (struct be_rig_sample){t, reported(rig, load, t)};
    rig->next++;
  }
  return BE_OK;
}

const struct be_rig_source be_rig_simulated = {
    .name = "simulated",
    .help = "settings: seed, rate_Hz, break_N, time_s, slack_s, after_s, zero_N, drift_N, noise_N, "
            "step_N, range_N, slips, slip_share, ending=broke|strand|faded|held",
    .open = simulated_open,
    .read = simulated_read,
    .close = be_free,
};
