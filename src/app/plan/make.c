/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A new plan: grid, number, order, codes and rules, as a trial of the record without pulls. */
#include "app/plan/plan.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { STREAM_CODES = 2102, TYERS_MAX = 12 };
/* Free length and what the bollards take, where no pull of the book tells its own. */
static const double LENGTH_USUAL_M = 0.5, AROUND_BOLLARDS_M = 1;
/* Drawing gets slow as the last free codes are looked for. */
enum { CODES_TAKEN_MAX = 4000 };
static const char voids_usual[] =
    "not tied as drawn; slipped at a grip; stopped by hand; pulled at "
    "another speed";

const struct be_trial *be_trial_find(const struct survey *survey, const char *name)
{
  for (size_t i = 0; i < survey->record.trials_count; i++)
    if (be_text_same(survey->record.trials[i].name, name)) return &survey->record.trials[i];
  return NULL;
}

/* ---- codes ---- */

struct taken {
  bool is[CODE_NUMBERS];
  size_t count;
};

static void take(struct taken *taken, const char *code)
{
  int number = code ? be_code_number(code) : -1;
  if (number < 0 || taken->is[number]) return;
  taken->is[number] = true;
  taken->count++;
}

/* All of the book but this trial's own: so planning it again gives the same. */
static void find_taken(const struct survey *survey, const struct be_trial *own, struct taken *taken)
{
  const struct be_record *record = &survey->record;
  for (size_t i = 0; i < record->pulls_count; i++) {
    int trial = record->pulls[i].trial;
    if (!own || trial < 0 || &record->trials[trial] != own) take(taken, record->pulls[i].code);
  }
  for (size_t t = 0; t < record->trials_count; t++)
    for (size_t i = 0; &record->trials[t] != own && i < record->trials[t].planned_count; i++)
      take(taken, record->trials[t].planned[i].code);
}

/* A stream for each trial by its name, in small letters (FNV-1a): so that books planned with the
 * same seed do not share their codes, and a label that strays into another book fits none there. */
static uint64_t stream_of_codes(const char *name)
{
  uint64_t hash = UINT64_C(0xcbf29ce484222325);
  for (; *name; name++) {
    unsigned char c = (unsigned char)*name;
    hash = (hash ^ (uint64_t)(c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : c)) * UINT64_C(0x100000001b3);
  }
  return hash ^ STREAM_CODES;
}

static enum be_status draw_codes(const struct survey *survey, const struct be_trial *own,
                                 struct be_trial *trial, struct be_err *err)
{
  struct taken *taken = be_arena_alloc(survey->arena, sizeof *taken);
  if (!taken) return be_no_memory(err);
  find_taken(survey, own, taken);
  if (taken->count + trial->planned_count > CODES_TAKEN_MAX)
    return be_fail(err, BE_TOO_LARGE,
                   "the book has %zu codes already: too few are left for %zu "
                   "specimens",
                   taken->count, trial->planned_count);
  struct be_random random;
  be_random_init(&random, survey->how.seed, stream_of_codes(trial->name));
  for (size_t i = 0; i < trial->planned_count; i++) {
    char code[CODE_LENGTH + 1];
    do be_code_draw(&random, code);
    while (taken->is[be_code_number(code)]);
    take(taken, code);
    trial->planned[i].code = be_arena_text(survey->arena, code, CODE_LENGTH);
    if (!trial->planned[i].code) return be_no_memory(err);
  }
  return BE_OK;
}

/* ---- blocks ---- */

static double minutes_of(const struct be_planning *asked, const struct plan_cell *cell)
{
  return asked->minutes_each * (be_plan_is_plain(cell) ? be_plain_share_of_minutes() : 1);
}

static double longest_block(const struct be_planning *asked, const struct plan_grid *grid,
                            const struct plan_order *order)
{
  double longest = 0, now = 0;
  for (size_t i = 0; i < order->total; i++) {
    if (i == 0 || order->block[i] != order->block[i - 1]) now = 0;
    now += minutes_of(asked, &grid->cells[order->cell[i]]);
    longest = fmax(longest, now);
  }
  return longest;
}

/* As few blocks as keep to what an evening may hold. */
static enum be_status find_order(const struct survey *survey, const struct be_planning *asked,
                                 const struct plan_grid *grid, size_t tyers,
                                 struct plan_order *order, double *minutes, struct be_err *err)
{
  size_t total = grid->knotted + grid->plain, blocks = 1;
  *minutes = 0;
  for (size_t i = 0; i < grid->count; i++)
    *minutes += (double)grid->cells[i].n * minutes_of(asked, &grid->cells[i]);
  if (asked->per_evening) blocks = (total + asked->per_evening - 1) / asked->per_evening;
  else blocks = (size_t)ceil(*minutes / asked->minutes - 1e-9);
  for (;; blocks++) {
    enum be_status status =
        be_plan_order(grid, blocks, tyers, survey->how.seed, survey->arena, order, err);
    if (status != BE_OK || asked->per_evening || blocks >= total) return status;
    if (longest_block(asked, grid, order) <= asked->minutes + 1e-9) return BE_OK;
  }
}

/* ---- tyers ---- */

static enum be_status read_tyers(const struct survey *survey, const char *list,
                                 const char *tyers[TYERS_MAX], size_t *count, struct be_err *err)
{
  *count = 0;
  while (list && *list) {
    size_t length = strcspn(list, ";"), end = length, from = 0;
    while (from < end && list[from] == ' ') from++;
    while (end > from && list[end - 1] == ' ') end--;
    if (end > from && *count == TYERS_MAX)
      return be_fail(err, BE_WRONG_USE, "a plan takes at most %d tyers", TYERS_MAX);
    if (end > from) {
      tyers[*count] = be_arena_text(survey->arena, list + from, end - from);
      if (!tyers[(*count)++]) return be_no_memory(err);
    }
    list += length + (list[length] == ';');
  }
  return BE_OK;
}

static enum be_status fill_planned(const struct survey *survey, const struct plan_grid *grid,
                                   const struct plan_order *order, const char *const *tyers,
                                   struct proposal *proposal, struct be_err *err)
{
  struct be_trial *trial = &proposal->trial;
  trial->planned = be_arena_alloc(survey->arena, order->total * sizeof *trial->planned);
  if (!trial->planned) return be_no_memory(err);
  for (size_t i = 0; i < order->total; i++) {
    const struct plan_cell *cell = &grid->cells[order->cell[i]];
    trial->planned[i] = (struct be_planned){.block = (double)order->block[i] + 1,
                                            .order = (double)i + 1,
                                            .design = cell->design,
                                            .knot = cell->knot,
                                            .knot_b = cell->knot_b,
                                            .line_a = cell->line_a,
                                            .line_b = cell->line_b,
                                            .hardware = cell->hardware,
                                            .tyer = tyers[order->tyer[i]],
                                            .soak = cell->soak,
                                            .speed_m_s = NAN,
                                            .length_m = NAN,
                                            .pull = BE_NO_INDEX};
  }
  trial->planned_count = order->total;
  proposal->blocks = order->blocks;
  return BE_OK;
}

/* ---- rules ---- */

/* That of the last pull that told it. */
static double usual_length(const struct survey *survey)
{
  for (size_t i = survey->record.pulls_count; i-- > 0;)
    if (!isnan(survey->record.pulls[i].length_m)) return survey->record.pulls[i].length_m;
  return LENGTH_USUAL_M;
}

/* "as told; 6 of each plain line" */
static const char *why_words(const struct survey *survey, const struct plan_grid *grid,
                             const char *why)
{
  size_t least = SIZE_MAX, most = 0;
  for (size_t i = 0; i < grid->count; i++) {
    if (!be_plan_is_plain(&grid->cells[i])) continue;
    if (grid->cells[i].n < least) least = grid->cells[i].n;
    if (grid->cells[i].n > most) most = grid->cells[i].n;
  }
  if (most == 0) return be_arena_format(survey->arena, "%s; no plain lines", why);
  if (least == most) return be_arena_format(survey->arena, "%s; %zu of each plain line", why, most);
  return be_arena_format(survey->arena, "%s; %zu to %zu of each plain line", why, least, most);
}

static enum be_status fill_rules(const struct survey *survey, const struct be_planning *asked,
                                 const struct plan_grid *grid, struct proposal *proposal,
                                 struct be_err *err)
{
  struct be_trial *trial = &proposal->trial;
  struct be_arena *arena = survey->arena;
  double metres =
      asked->metres_each > 0 ? asked->metres_each : usual_length(survey) + AROUND_BOLLARDS_M;
  memcpy(trial->rule, asked->rule, sizeof trial->rule);
  trial->rule[BE_RULE_SEED] = be_arena_format(arena, "%llu", (unsigned long long)survey->how.seed);
  trial->rule[BE_RULE_NUMBER] = be_arena_format(arena, "%zu", proposal->number.each);
  trial->rule[BE_RULE_WHY_NUMBER] = why_words(survey, grid, proposal->number.why);
  trial->rule[BE_RULE_LEVEL] = be_arena_format(arena, "%.10g", survey->how.level);
  trial->rule[BE_RULE_METRES] = be_arena_format(arena, "%.10g", metres);
  trial->rule[BE_RULE_MINUTES] = be_arena_format(arena, "%.10g", asked->minutes_each);
  if (!trial->rule[BE_RULE_VOID]) trial->rule[BE_RULE_VOID] = voids_usual;
  for (int i = BE_RULE_SEED; i < BE_RULES; i++) {
    trial->rule[i] = be_rule_in_force(survey, trial, (enum be_rule)i);
    if (!trial->rule[i]) return be_no_memory(err);
  }
  return BE_OK;
}

enum be_status be_plan_make(const struct survey *survey, const struct be_planning *asked,
                            struct proposal *proposal, struct be_err *err)
{
  struct plan_grid grid;
  struct plan_order order;
  const char *tyers[TYERS_MAX] = {NULL};
  size_t tyers_count = 0;
  memset(proposal, 0, sizeof *proposal);
  proposal->trial.name = asked->trial;
  enum be_soak soak = asked->soaked ? BE_SOAK_SOAKED : BE_SOAK_DRY;
  enum be_status status = be_grid_asked(survey, asked->knots, asked->on, soak, &grid, err);
  if (status == BE_OK) status = be_plan_count(survey, asked, &grid, &proposal->number, err);
  if (status == BE_OK) status = read_tyers(survey, asked->tyers, tyers, &tyers_count, err);
  if (status != BE_OK) return status;
  if (grid.knotted + grid.plain > CODES_MAX) {
    be_fail(err, BE_TOO_LARGE, "%zu specimens are more than the %d that a trial can hold",
            grid.knotted + grid.plain, CODES_MAX);
    be_fail_remedy(err, "ask for fewer knots or lines, or for less precision");
    return BE_TOO_LARGE;
  }
  status = find_order(survey, asked, &grid, tyers_count ? tyers_count : 1, &order,
                      &proposal->minutes, err);
  if (status == BE_OK) status = fill_planned(survey, &grid, &order, tyers, proposal, err);
  if (status == BE_OK)
    status = draw_codes(survey, be_trial_find(survey, asked->trial), &proposal->trial, err);
  if (status == BE_OK) status = fill_rules(survey, asked, &grid, proposal, err);
  return status;
}
