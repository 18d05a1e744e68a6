/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Who held most, and which of them cannot be separated. A combination ranks
 * its own knots; a group ranks knots only over the combinations that all of
 * them were tied in (grid.c). */
#include "app/grid.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- ranking a complete block ---- */

struct ranking {
  struct grid block;
  struct be_rank rank[KNOTS_MAX];
  size_t order[KNOTS_MAX];             /* knots by rank */
  struct be_estimate score[KNOTS_MAX]; /* mean over combinations of log load */
  bool together[KNOTS_MAX][KNOTS_MAX]; /* cannot separate */
};

/* log of a mean load, by the delta method. */
static struct be_estimate log_estimate(const struct be_estimate *load)
{
  struct be_estimate log_load = *load;
  log_load.value = log(load->value);
  log_load.variance = load->variance / (load->value * load->value);
  return log_load;
}

static void score_knots(struct ranking *ranking)
{
  const struct grid *block = &ranking->block;
  for (size_t k = 0; k < block->knots; k++) {
    struct be_estimate parts[COMBINATIONS_MAX];
    double weights[COMBINATIONS_MAX];
    for (size_t c = 0; c < block->combinations; c++) {
      parts[c] = log_estimate(&block->cell[k][c]->estimate);
      weights[c] = 1.0 / (double)block->combinations;
    }
    ranking->score[k] = be_estimate_combine(parts, weights, block->combinations);
  }
}

/* Welch on log loads for every pair, adjusted by Holm over the table. A pair
 * whose scatter is not known cannot be separated. */
static enum be_status separate(const struct survey *survey, struct ranking *ranking,
                               struct be_err *err)
{
  size_t knots = ranking->block.knots, pairs = knots * (knots - 1) / 2, at = 0;
  double *p = be_alloc_array(pairs, sizeof *p);
  if (!p) return be_no_memory(err);
  for (size_t a = 0; a < knots; a++)
    for (size_t b = a + 1; b < knots; b++) {
      struct be_difference apart;
      be_welch(&ranking->score[a], &ranking->score[b], survey->how.level, &apart);
      p[at++] = isnan(apart.p) ? 1 : apart.p;
    }
  enum be_status status = be_holm(p, pairs, p, err);
  at = 0;
  for (size_t a = 0; a < knots && status == BE_OK; a++)
    for (size_t b = a + 1; b < knots; b++)
      ranking->together[a][b] = ranking->together[b][a] = p[at++] > 1 - survey->how.level;
  be_free(p);
  return status;
}

static enum be_status rank_block(const struct survey *survey, struct ranking *ranking,
                                 struct be_err *err)
{
  const struct grid *block = &ranking->block;
  struct be_sample *samples = be_alloc_array(block->knots * block->combinations, sizeof *samples);
  if (!samples) return be_no_memory(err);
  for (size_t k = 0; k < block->knots; k++)
    for (size_t c = 0; c < block->combinations; c++)
      samples[k * block->combinations + c] =
          (struct be_sample){block->cell[k][c]->loads, block->cell[k][c]->n};
  struct be_resampling how = {
      .seed = survey->how.seed, .times = survey->how.resamples, .level = survey->how.level};
  enum be_status status =
      be_rank_resample(samples, block->knots, block->combinations, &how, ranking->rank, err);
  be_free(samples);
  if (status != BE_OK) return status;
  for (size_t k = 0; k < block->knots; k++) ranking->order[ranking->rank[k].rank - 1] = k;
  score_knots(ranking);
  return separate(survey, ranking, err);
}

/* ---- saying it ---- */

static double mean_efficiency(const struct grid *block, size_t knot)
{
  double sum = 0;
  for (size_t c = 0; c < block->combinations; c++) sum += block->cell[knot][c]->efficiency.value;
  return sum / (double)block->combinations;
}

/* Interval of the mean of several efficiencies; their shared denominators make
 * it approximate, so for one combination the log-ratio interval is used. */
static struct be_interval efficiency_interval(const struct survey *survey, const struct grid *block,
                                              size_t knot)
{
  struct be_estimate parts[COMBINATIONS_MAX];
  double weights[COMBINATIONS_MAX];
  if (block->combinations == 1) return block->cell[knot][0]->efficiency.interval;
  for (size_t c = 0; c < block->combinations; c++) {
    const struct cell *cell = block->cell[knot][c];
    struct be_estimate load = log_estimate(&cell->estimate);
    struct be_estimate plain = log_estimate(&cell->plain.estimate);
    double minus[] = {1, -1};
    struct be_estimate pair[] = {load, plain};
    parts[c] = be_estimate_combine(pair, minus, 2);
    double e = cell->efficiency.value;
    parts[c].variance *= e * e;
    parts[c].value = e;
    weights[c] = 1.0 / (double)block->combinations;
  }
  struct be_estimate mean = be_estimate_combine(parts, weights, block->combinations);
  return be_estimate_interval(&mean, survey->how.level);
}

static size_t pulls_of(const struct grid *block, size_t knot, size_t *slips)
{
  size_t n = 0;
  *slips = 0;
  for (size_t c = 0; c < block->combinations; c++) {
    n += block->cell[knot][c]->n;
    *slips += block->cell[knot][c]->slips;
  }
  return n;
}

/* The ranks of the knots that this one cannot be separated from. */
static void list_together(const struct ranking *ranking, size_t knot, char *text, size_t size)
{
  size_t used = 0;
  text[0] = '\0';
  for (size_t r = 0; r < ranking->block.knots; r++) {
    size_t other = ranking->order[r];
    if (other == knot || !ranking->together[knot][other]) continue;
    int put = snprintf(text + used, size - used, "%s%zu", used ? ", " : "", r + 1);
    if (put < 0 || (size_t)put >= size - used) return;
    used += (size_t)put;
  }
}

static void ranking_row(struct be_table *table, const struct survey *survey,
                        const struct ranking *ranking, size_t knot, const char *place)
{
  const struct grid *block = &ranking->block;
  const struct be_rank *rank = &ranking->rank[knot];
  size_t first = ranking->order[0], slips;
  size_t n = pulls_of(block, knot, &slips);
  struct be_interval efficiency = efficiency_interval(survey, block, knot);
  struct be_interval slip = be_rate_exact(slips, n, survey->how.level);
  char together[256], range[48];
  list_together(ranking, knot, together, sizeof together);
  if (rank->low == rank->high) snprintf(range, sizeof range, "%zu", rank->low);
  else snprintf(range, sizeof range, "%zu to %zu", rank->low, rank->high);
  be_table_text(table, "%s", place);
  be_table_number(table, (double)rank->rank, 0);
  be_table_text(table, "%s", range);
  be_table_text(table, "%s", be_knot_name(survey, block->knot[knot]));
  be_table_number(table, (double)n, 0);
  be_table_number(table, be_shown(survey, exp(rank->score)), be_load_decimals(survey) + 1);
  be_table_number(table, 100 * mean_efficiency(block, knot), 0);
  be_table_interval(table, 100 * efficiency.low, 100 * efficiency.high, 0);
  be_table_number(table, 100 * (mean_efficiency(block, first) - mean_efficiency(block, knot)), 1);
  be_table_number(table, 100 * (1 - exp(rank->score - ranking->rank[first].score)), 1);
  be_table_text(table, "%s", together[0] ? together : "none");
  be_table_number(table, 100 * rank->best, 0);
  be_table_count(table, slips, n);
  be_table_interval(table, 100 * slip.low, 100 * slip.high, 0);
}

/* How many of the leading knots cannot be separated from the first. */
static size_t leaders(const struct ranking *ranking)
{
  size_t count = 1;
  while (count < ranking->block.knots &&
         ranking->together[ranking->order[0]][ranking->order[count]])
    count++;
  return count;
}

static void list_leaders(const struct survey *survey, const struct ranking *ranking, char *names,
                         size_t size)
{
  size_t count = leaders(ranking), used = 0;
  names[0] = '\0';
  for (size_t i = 0; i < count && used + 80 < size; i++)
    used += (size_t)snprintf(names + used, size - used, "%s%.60s",
                             i == 0           ? ""
                             : i + 1 == count ? " and "
                                              : ", ",
                             be_knot_name(survey, ranking->block.knot[ranking->order[i]]));
}

static void say_leaders(struct be_doc *doc, const struct survey *survey,
                        const struct ranking *ranking, const char *place)
{
  size_t count = leaders(ranking), slips;
  const struct grid *block = &ranking->block;
  size_t first = ranking->order[0];
  if (count == 1) {
    be_doc_sentence(doc, "The %s held most in %s, n = %zu, apart from every other.",
                    be_knot_name(survey, block->knot[first]), place,
                    pulls_of(block, first, &slips));
    return;
  }
  char names[400];
  list_leaders(survey, ranking, names, sizeof names);
  be_doc_sentence(doc, "Cannot separate the first %zu in %s: %s.", count, place, names);
}

static void draw(struct be_doc *doc, const struct survey *survey, const struct ranking *ranking,
                 const char *place)
{
  struct rank_row rows[KNOTS_MAX];
  const struct grid *block = &ranking->block;
  for (size_t r = 0; r < block->knots; r++) {
    size_t knot = ranking->order[r], slips, last = r;
    while (last + 1 < block->knots) {
      bool all = true;
      for (size_t i = r; i <= last; i++)
        all &= ranking->together[ranking->order[i]][ranking->order[last + 1]];
      if (!all) break;
      last++;
    }
    rows[r] = (struct rank_row){.knot = block->knot[knot],
                                .n = pulls_of(block, knot, &slips),
                                .rank = ranking->rank[knot],
                                .tied_first = r,
                                .tied_last = last};
  }
  char title[400], subtitle[400];
  size_t count = leaders(ranking);
  if (count == 1)
    snprintf(title, sizeof title, "The %.200s holds most", be_knot_name(survey, rows[0].knot));
  else snprintf(title, sizeof title, "The first %zu cannot be separated", count);
  snprintf(subtitle, sizeof subtitle, "Rank ranges at %g %%: %.300s", 100 * survey->how.level,
           place);
  be_doc_figure(doc, be_figure_of_ranks(survey, title, subtitle, rows, block->knots));
}

static void say_ranking(struct be_doc *doc, const struct survey *survey,
                        const struct ranking *ranking, const char *place)
{
  char load[64];
  snprintf(load, sizeof load, "%s (%s)",
           ranking->block.combinations == 1 ? "mean" : "mean over combinations",
           survey->how.unit->name);
  const struct be_column columns[] = {
      {"place", "", BE_COLUMN_TEXT, true},
      {"rank", "", BE_COLUMN_NUMBER, true},
      {"rank_range", "rank range", BE_COLUMN_TEXT, false},
      {"knot", "knot", BE_COLUMN_TEXT, false},
      {"n", "n", BE_COLUMN_NUMBER, false},
      {"load", load, BE_COLUMN_NUMBER, false},
      {"efficiency_percent", "efficiency (%)", BE_COLUMN_NUMBER, false},
      {"efficiency_percent", "interval", BE_COLUMN_INTERVAL, false},
      {"behind_first_points", "behind first (pts)", BE_COLUMN_NUMBER, false},
      {"behind_first_relative_percent", "(relative %)", BE_COLUMN_NUMBER, false},
      {"cannot_separate_from", "cannot separate from", BE_COLUMN_TEXT, false},
      {"first_in_percent_of_resamples", "", BE_COLUMN_NUMBER, true},
      {"slipped_out", "slipped out", BE_COLUMN_COUNT, false},
      {"slipped_out_percent", "of pulls (%)", BE_COLUMN_INTERVAL, true},
  };
  struct be_table *table = be_doc_table(doc, "standings", place, columns, 14);
  for (size_t r = 0; r < ranking->block.knots; r++)
    ranking_row(table, survey, ranking, ranking->order[r], place);
  draw(doc, survey, ranking, place);
}

/* ---- what was left out ---- */

static void say_left_out(struct be_doc *doc, const struct survey *survey, const struct grid *all,
                         const struct grid *block)
{
  for (size_t c = 0; c < all->combinations; c++) {
    bool in = false;
    for (size_t i = 0; i < block->combinations; i++) in |= block->where[i] == all->where[c];
    if (!in)
      be_doc_note(doc, "Left out of the group: %s, which not all of these knots were tied in.",
                  all->where[c]->name);
  }
  for (size_t k = 0; k < all->knots; k++) {
    if (be_grid_has(block, all->knot[k])) continue;
    for (size_t i = 0; i < block->combinations; i++)
      if (!be_cell_find(survey, block->where[i], all->knot[k])) {
        be_doc_note(doc, "Left out of the group: %s, not pulled in %s.",
                    be_knot_name(survey, all->knot[k]), block->where[i]->name);
        break;
      }
  }
}

/* One line of the summary that opens the page. */
struct outcome {
  const char *place;
  const char *first; /* the strongest, or those that cannot be separated */
  size_t leaders, n;
  double efficiency;
  struct be_interval interval;
};

struct tally {
  size_t count, clear;
  struct outcome list[COMBINATIONS_MAX];
};

static enum be_status keep_outcome(const struct survey *survey, const struct ranking *ranking,
                                   const char *place, struct tally *tally, struct be_err *err)
{
  size_t first = ranking->order[0], slips;
  char names[400];
  tally->clear += leaders(ranking) == 1;
  if (tally->count == COMBINATIONS_MAX) return BE_OK;
  list_leaders(survey, ranking, names, sizeof names);
  struct outcome *outcome = &tally->list[tally->count++];
  *outcome = (struct outcome){.place = be_arena_text(survey->arena, place, strlen(place)),
                              .first = be_arena_text(survey->arena, names, strlen(names)),
                              .leaders = leaders(ranking),
                              .n = pulls_of(&ranking->block, first, &slips),
                              .efficiency = mean_efficiency(&ranking->block, first),
                              .interval = efficiency_interval(survey, &ranking->block, first)};
  return outcome->place && outcome->first ? BE_OK : be_no_memory(err);
}

static enum be_status group_section(struct be_doc *doc, const struct survey *survey,
                                    const struct grid *all, const char *group,
                                    struct ranking *ranking, struct tally *tally,
                                    struct be_err *err)
{
  be_grid_block(all, &ranking->block);
  be_doc_heading(doc, "Group: %s", group);
  if (ranking->block.knots < 2) {
    be_doc_note(doc, "No two knots share a combination in this group: nothing to compare.");
    return BE_OK;
  }
  if (ranking->block.combinations == 1) {
    be_doc_note(doc, "Only one combination is shared, %s: it stands by itself below.",
                ranking->block.where[0]->name);
    say_left_out(doc, survey, all, &ranking->block);
    return BE_OK;
  }
  enum be_status status = rank_block(survey, ranking, err);
  if (status != BE_OK) return status;
  char place[200];
  snprintf(place, sizeof place, "%.150s (%zu shared combinations)", group,
           ranking->block.combinations);
  say_leaders(doc, survey, ranking, place);
  say_ranking(doc, survey, ranking, place);
  say_left_out(doc, survey, all, &ranking->block);
  return keep_outcome(survey, ranking, place, tally, err);
}

static enum be_status combination_section(struct be_doc *doc, const struct survey *survey,
                                          const struct combination *where, struct ranking *ranking,
                                          struct tally *tally, struct be_err *err)
{
  memset(&ranking->block, 0, sizeof ranking->block);
  ranking->block.combinations = 1;
  ranking->block.where[0] = where;
  be_grid_fill(survey, &ranking->block);
  if (ranking->block.knots == 0) return BE_OK;
  be_doc_heading(doc, "%s", where->name);
  if (ranking->block.knots == 1) {
    be_doc_note(doc, "Only %s was pulled here: nothing to compare.",
                be_knot_name(survey, ranking->block.knot[0]));
    return BE_OK;
  }
  enum be_status status = rank_block(survey, ranking, err);
  if (status != BE_OK) return status;
  say_leaders(doc, survey, ranking, where->name);
  say_ranking(doc, survey, ranking, where->name);
  return keep_outcome(survey, ranking, where->name, tally, err);
}

/* A group comes before its combinations, and only when it has more than one. */
static enum be_status sections(struct be_doc *doc, const struct survey *survey, struct grid *all,
                               struct ranking *ranking, struct tally *tally, struct be_err *err)
{
  enum be_status status = BE_OK;
  for (size_t i = 0; i < survey->combinations_count && status == BE_OK; i++) {
    const struct combination *first = &survey->combinations[i];
    bool seen = be_is_plain(first);
    for (size_t k = 0; k < i; k++) {
      const struct combination *other = &survey->combinations[k];
      seen |= !be_is_plain(other) && strcmp(other->group, first->group) == 0;
    }
    if (seen) continue;
    memset(all, 0, sizeof *all);
    for (size_t k = i; k < survey->combinations_count; k++) {
      const struct combination *other = &survey->combinations[k];
      if (!be_is_plain(other) && strcmp(other->group, first->group) == 0 &&
          all->combinations < COMBINATIONS_MAX)
        all->where[all->combinations++] = other;
    }
    be_grid_fill(survey, all);
    if (all->combinations > 1)
      status = group_section(doc, survey, all, first->group, ranking, tally, err);
    for (size_t c = 0; c < all->combinations && status == BE_OK; c++)
      status = combination_section(doc, survey, all->where[c], ranking, tally, err);
  }
  return status;
}

static void say_summary(struct be_doc *doc, const struct tally *tally)
{
  static const struct be_column columns[] = {
      {"place", "where", BE_COLUMN_TEXT, false},
      {"first", "strongest", BE_COLUMN_TEXT, false},
      {"cannot_separate", "", BE_COLUMN_NUMBER, true},
      {"n", "n", BE_COLUMN_NUMBER, false},
      {"efficiency_percent", "efficiency of the first (%)", BE_COLUMN_NUMBER, false},
      {"efficiency_percent", "interval", BE_COLUMN_INTERVAL, false},
  };
  if (tally->count == 0) {
    be_doc_sentence(doc, "No two knots were pulled in the same combination: there is nothing to "
                         "rank yet.");
    return;
  }
  be_doc_sentence(
      doc, "In %zu of %zu standings the strongest knot stands apart from every other%s",
      tally->clear, tally->count,
      tally->clear == tally->count ? "." : "; in the rest the first few cannot be separated.");
  struct be_table *table = be_doc_table(doc, "summary", "Strongest, place by place", columns, 6);
  for (size_t i = 0; i < tally->count; i++) {
    const struct outcome *outcome = &tally->list[i];
    be_table_text(table, "%s", outcome->place);
    be_table_text(table, "%s%s", outcome->leaders > 1 ? "cannot separate " : "", outcome->first);
    be_table_number(table, (double)outcome->leaders, 0);
    be_table_number(table, (double)outcome->n, 0);
    be_table_number(table, 100 * outcome->efficiency, 0);
    be_table_interval(table, 100 * outcome->interval.low, 100 * outcome->interval.high, 0);
  }
}

static void say_method(struct be_doc *doc, const struct survey *survey)
{
  be_doc_note(doc,
              "Ranks compare loads, so the shared plain line cancels. A rank range holds %g %% of "
              "%zu resamplings of the pulls, seed %llu; among knots that are truly alike it is "
              "too narrow, so what cannot be separated is judged by Welch's test on log loads, "
              "adjusted by Holm over each table.",
              100 * survey->how.level, survey->how.resamples, (unsigned long long)survey->how.seed);
  be_doc_fact(doc, "seed", "Seed", "%llu", (unsigned long long)survey->how.seed);
  be_doc_fact(doc, "resamples", "Resamples", "%zu", survey->how.resamples);
  be_doc_fact(doc, "level", "Level of ranges", "%g", survey->how.level);
  be_doc_fact(doc, "unit", "Unit of force", "%s", survey->how.unit->name);
}

enum be_status be_standings_doc(const struct survey *survey, struct be_doc **out,
                                struct be_err *err)
{
  struct be_doc *doc = be_doc_create("standings", "Standings");
  struct grid *all = be_alloc_array(1, sizeof *all);
  struct ranking *ranking = be_alloc_array(1, sizeof *ranking);
  struct tally *tally = be_alloc_array(1, sizeof *tally);
  enum be_status status = BE_OK;
  if (!doc || !all || !ranking || !tally) status = be_no_memory(err);
  if (status == BE_OK) status = sections(doc, survey, all, ranking, tally, err);
  if (status == BE_OK) {
    say_method(doc, survey);
    size_t place = be_doc_place(doc);
    say_summary(doc, tally);
    be_doc_first(doc, place);
  }
  be_free(all);
  be_free(ranking);
  be_free(tally);
  return be_doc_done(doc, status, out);
}
