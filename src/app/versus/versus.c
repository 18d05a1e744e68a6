/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Is the difference between two knots real. They are compared combination by
 * combination, by each pull's share of the plain line of its own spool (a plain
 * line that both were divided by cancels), or by load where both were tied on
 * the same spools. */
#include "app/versus/versus.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* ---- one combination ---- */

static struct be_interval percent_of_logs(const struct be_estimate *log_ratio, double level)
{
  struct be_interval logs = be_estimate_interval(log_ratio, level);
  return (struct be_interval){100 * (exp(logs.low) - 1), 100 * (exp(logs.high) - 1), level};
}

static struct be_interval points_of(const struct survey *survey, const struct form *points)
{
  struct be_estimate estimate = be_form_estimate(survey, points);
  struct be_interval interval = be_estimate_interval(&estimate, survey->how.level);
  return (struct be_interval){100 * interval.low, 100 * interval.high, interval.level};
}

/* The n of each at which a t test would show this log ratio at the power wanted. */
static double find_needed(const struct survey *survey, const struct matched *m)
{
  const struct cell *cells[] = {m->a, m->b};
  double scatter = 0;
  for (int i = 0; i < 2; i++) {
    const struct be_estimate *mean = be_matched_by_share(m) ? &cells[i]->share : &cells[i]->pooled;
    scatter += (double)cells[i]->n * mean->variance / (mean->value * mean->value) / 2;
  }
  double shift = fabs(m->log_ratio.value) / sqrt(scatter);
  return isfinite(shift) ? ceil(be_power_two_n(shift, 1 - survey->how.level, survey->how.power))
                         : NAN;
}

bool be_matched_by_share(const struct matched *m)
{
  return m->a->shares && m->b->shares;
}

static enum be_status compare(const struct survey *survey, struct matched *m, struct be_err *err)
{
  bool by_share = be_matched_by_share(m);
  double e_a = m->a->efficiency.value, e_b = m->b->efficiency.value;
  enum be_status status =
      be_form_add(&m->log_ratio, by_share ? &m->a->log_share : &m->a->log_load, 1, err);
  if (status == BE_OK)
    status = be_form_add(&m->log_ratio, by_share ? &m->b->log_share : &m->b->log_load, -1, err);
  /* d e = e d log e: the plain line that both share cancels as far as it does. */
  if (status == BE_OK && by_share) status = be_form_add(&m->points, &m->a->log_share, e_a, err);
  if (status == BE_OK && by_share) status = be_form_add(&m->points, &m->b->log_share, -e_b, err);
  if (status != BE_OK) return status;
  m->points.value = by_share ? e_a - e_b : NAN;
  m->ratio = be_form_estimate(survey, &m->log_ratio);
  m->relative = percent_of_logs(&m->ratio, survey->how.level);
  m->points_interval = points_of(survey, &m->points);
  const struct be_interval unknown = {NAN, NAN, survey->how.level};
  m->load = (struct be_difference){NAN, NAN, NAN, NAN, unknown};
  if (m->same_mix) be_welch(&m->a->pooled, &m->b->pooled, survey->how.level, &m->load);
  m->needed = find_needed(survey, m);
  return BE_OK;
}

/* ---- all of them together ---- */

static enum be_status put_together(const struct survey *survey, struct pair *pair,
                                   struct be_err *err)
{
  enum be_status status = BE_OK;
  double weight = 1.0 / (double)pair->count;
  pair->has_points = true;
  for (size_t i = 0; i < pair->count && status == BE_OK; i++) {
    const struct matched *m = &pair->list[i];
    pair->n_a += m->a->n;
    pair->n_b += m->b->n;
    pair->told_a += m->a->told;
    pair->told_b += m->b->told;
    pair->slips_a += m->a->slips;
    pair->slips_b += m->b->slips;
    pair->has_points &= m->points.count > 0;
    status = be_form_add(&pair->log_ratio, &m->log_ratio, weight, err);
    if (status == BE_OK) status = be_form_add(&pair->points, &m->points, weight, err);
  }
  if (status != BE_OK) return status;
  pair->ratio = be_form_estimate(survey, &pair->log_ratio);
  pair->relative = percent_of_logs(&pair->ratio, survey->how.level);
  pair->points_interval = points_of(survey, &pair->points);
  return BE_OK;
}

static bool is_known(const struct pair *pair)
{
  return pair->count && !isnan(pair->relative.low);
}

/* Over combinations of unlike strength points and per cent may disagree; then
 * neither knot is called the stronger. */
static bool is_contrary(const struct pair *pair)
{
  return pair->has_points && pair->points.value * pair->log_ratio.value < 0;
}

static bool is_apart(const struct pair *pair)
{
  return is_known(pair) && !is_contrary(pair) &&
         (pair->relative.low > 0 || pair->relative.high < 0);
}

/* Shared combinations are compared when both scatters are known and the loads
 * speak of the knots and not of the spools. */
static enum be_status fill_pair(const struct survey *survey, struct pair *pair, struct be_err *err)
{
  size_t most = survey->combinations_count;
  enum be_status status = BE_OK;
  pair->list = be_arena_alloc(survey->arena, most * sizeof *pair->list);
  pair->passed = be_arena_alloc(survey->arena, most * sizeof *pair->passed);
  if (!pair->list || !pair->passed) return be_no_memory(err);
  for (size_t i = 0; i < most && status == BE_OK; i++) {
    const struct combination *where = &survey->combinations[i];
    struct matched m = {.where = where,
                        .a = be_cell_find(survey, where, pair->a),
                        .b = be_cell_find(survey, where, pair->b)};
    if (!m.a || !m.b) continue;
    m.same_mix = be_same_mix(m.a, m.b);
    if (m.a->n < 2 || m.b->n < 2 || !be_fair(m.a, m.b)) {
      pair->passed[pair->passed_count++] = where;
      continue;
    }
    status = compare(survey, &m, err);
    pair->list[pair->count++] = m;
  }
  return status == BE_OK && pair->count ? put_together(survey, pair, err) : status;
}

static void empty_pair(struct pair *pair)
{
  for (size_t i = 0; i < pair->count; i++) {
    be_form_free(&pair->list[i].log_ratio);
    be_form_free(&pair->list[i].points);
  }
  be_form_free(&pair->log_ratio);
  be_form_free(&pair->points);
}

/* ---- saying it ---- */

/* "6.1 pts [2.0, 10.3] of the line, 8.0 % relative [2.5, 13.9], n = 48 and 52" */
static const char *say_size(const struct survey *survey, const struct pair *pair)
{
  const char *points = "";
  if (pair->has_points)
    points = be_arena_format(
        survey->arena, "%.1f pts%s of the line, ", 100 * pair->points.value,
        be_interval_words(survey, pair->points_interval.low, pair->points_interval.high, 1));
  const char *size = be_arena_format(
      survey->arena, "%s%.1f %% relative%s, n = %zu and %zu", points ? points : "",
      100 * (exp(pair->log_ratio.value) - 1),
      be_interval_words(survey, pair->relative.low, pair->relative.high, 1), pair->n_a, pair->n_b);
  return size ? size : "";
}

static void say_needed(struct be_doc *doc, const struct survey *survey, const struct pair *pair)
{
  const struct matched *best = NULL;
  for (size_t i = 0; i < pair->count; i++) {
    const struct matched *m = &pair->list[i];
    bool agrees = (m->log_ratio.value > 0) == (pair->log_ratio.value > 0);
    if (agrees && !isnan(m->needed) && (!best || m->needed < best->needed)) best = m;
  }
  if (!best) return;
  size_t have = best->a->n < best->b->n ? best->a->n : best->b->n;
  if (!(best->needed < 10000))
    be_doc_sentence(doc, "No practical number of pulls would show a difference as small as this.");
  else if (best->needed > (double)have)
    be_doc_sentence(
        doc,
        "If the difference is as large as it looks, %.0f more pulls of each in %s (%.0f "
        "of each in all) would show it at %g %% power.",
        best->needed - (double)have, best->where->name, best->needed, 100 * survey->how.power);
}

/* The average over combinations may hide that they do not agree. */
static void say_spread(struct be_doc *doc, const struct pair *pair)
{
  const struct matched *low = &pair->list[0], *high = &pair->list[0];
  for (size_t i = 1; i < pair->count; i++) {
    if (pair->list[i].log_ratio.value < low->log_ratio.value) low = &pair->list[i];
    if (pair->list[i].log_ratio.value > high->log_ratio.value) high = &pair->list[i];
  }
  if (low == high) return;
  be_doc_sentence(doc, "By combination it runs from %.1f %% relative (%s) to %.1f %% (%s).",
                  100 * (exp(low->log_ratio.value) - 1), low->where->name,
                  100 * (exp(high->log_ratio.value) - 1), high->where->name);
}

/* Of several combinations, in how many the first had the higher mean. */
static const char *say_agreement(const struct survey *survey, const struct pair *pair)
{
  size_t agree = 0;
  for (size_t i = 0; i < pair->count; i++) agree += pair->list[i].log_ratio.value > 0;
  if (pair->count == 1) return "";
  if (agree == pair->count) return ", in every one of them";
  const char *text = be_arena_format(survey->arena, ", in %zu of them", agree);
  return text ? text : "";
}

static void answer(struct be_doc *doc, const struct survey *survey, const struct pair *pair)
{
  const char *a = be_knot_name(survey, pair->a), *b = be_knot_name(survey, pair->b);
  const char *size = say_size(survey, pair);
  const char *plural = pair->count == 1 ? "" : "s";
  if (!is_known(pair)) {
    be_doc_sentence(doc, "Cannot separate the %s and the %s: their scatter is not known.", a, b);
    return;
  }
  if (is_apart(pair)) {
    be_doc_sentence(doc, "The %s held more than the %s over %zu shared combination%s%s: %s.", a, b,
                    pair->count, plural, say_agreement(survey, pair), size);
  } else {
    be_doc_sentence(doc,
                    "Cannot separate the %s and the %s over %zu shared combination%s: first less "
                    "second is %s.",
                    a, b, pair->count, plural, size);
    if (is_contrary(pair))
      be_doc_sentence(doc,
                      "Points and relative per cent point opposite ways: which is the stronger "
                      "depends on the combination.");
    else say_needed(doc, survey, pair);
  }
  say_spread(doc, pair);
}

static void say_slips(struct be_doc *doc, const struct survey *survey, int knot, size_t slips,
                      size_t told)
{
  if (!told) return;
  struct be_interval rate = be_rate_exact(slips, told, survey->how.level);
  be_doc_sentence(doc, "The %s slipped out in %zu of %zu%s %%.", be_knot_name(survey, knot), slips,
                  told, be_interval_words(survey, 100 * rate.low, 100 * rate.high, 0));
}

static void table_of(struct be_doc *doc, const struct survey *survey, const struct pair *pair)
{
  const struct be_column columns[] = {
      {"combination", "combination", BE_COLUMN_TEXT, false},
      {"n_first", "n first", BE_COLUMN_NUMBER, false},
      {"n_second", "n second", BE_COLUMN_NUMBER, false},
      {"difference", be_head(survey, "difference"), BE_COLUMN_NUMBER, false},
      {"difference", "interval", BE_COLUMN_INTERVAL, false},
      {"welch_t", "t", BE_COLUMN_NUMBER, false},
      {"welch_df", "df", BE_COLUMN_NUMBER, false},
      {"welch_p", "", BE_COLUMN_NUMBER, true},
      {"points", "of the line (pts)", BE_COLUMN_NUMBER, false},
      {"points", "interval", BE_COLUMN_INTERVAL, false},
      {"relative_percent", "relative (%)", BE_COLUMN_NUMBER, false},
      {"relative_percent", "interval", BE_COLUMN_INTERVAL, false},
      {"pulls_needed", "", BE_COLUMN_NUMBER, true},
  };
  struct be_table *table =
      be_doc_table(doc, "versus", "First less second, combination by combination", columns, 13);
  int decimals = survey->decimals + 1;
  for (size_t i = 0; i < pair->count; i++) {
    const struct matched *m = &pair->list[i];
    be_table_text(table, "%s", m->where->name);
    be_table_number(table, (double)m->a->n, 0);
    be_table_number(table, (double)m->b->n, 0);
    be_table_number(table, be_shown(survey, m->load.value), decimals);
    be_table_interval(table, be_shown(survey, m->load.interval.low),
                      be_shown(survey, m->load.interval.high), decimals);
    be_table_number(table, m->load.t, 2);
    be_table_number(table, m->load.df, 1);
    be_table_probability(table, m->load.p);
    be_table_number(table, 100 * m->points.value, 1);
    be_table_interval(table, m->points_interval.low, m->points_interval.high, 1);
    be_table_number(table, 100 * (exp(m->log_ratio.value) - 1), 1);
    be_table_interval(table, m->relative.low, m->relative.high, 1);
    be_table_number(table, m->needed < 10000 ? m->needed : NAN, 0);
  }
}

/* Combinations where they are not compared, and why. */
static void say_rest(struct be_doc *doc, const struct survey *survey, const struct pair *pair)
{
  for (size_t i = 0; i < pair->passed_count; i++) {
    const struct cell *a = be_cell_find(survey, pair->passed[i], pair->a);
    const struct cell *b = be_cell_find(survey, pair->passed[i], pair->b);
    if (a->n < 2 || b->n < 2)
      be_doc_note(doc, "Left out: %s, with a single event of one of them.", pair->passed[i]->name);
    else
      be_doc_note(
          doc,
          "Left out: %s, tied on different spools, or pulled otherwise (speed, bench, length), "
          "without a plain line of each: a "
          "strong spool may pass for a strong knot.",
          pair->passed[i]->name);
  }
  for (size_t i = 0; i < survey->combinations_count; i++) {
    const struct combination *where = &survey->combinations[i];
    bool first = be_cell_find(survey, where, pair->a),
         second = be_cell_find(survey, where, pair->b);
    if (first != second)
      be_doc_note(doc, "Left out: %s, where only the %s has events.", where->name,
                  be_knot_name(survey, first ? pair->a : pair->b));
  }
}

/* Lower bounds that are in no mean are said, not compared; the others are counted. */
static void say_bounds(struct be_doc *doc, const struct survey *survey, const struct pair *pair)
{
  size_t counted = 0;
  for (size_t i = 0; i < survey->cells_count; i++) {
    const struct cell *cell = &survey->cells[i];
    if (cell->knot_b >= 0 || !cell->highest) continue;
    if (cell->knot != pair->a && cell->knot != pair->b) continue;
    if (cell->counted_in) counted += cell->lower_count;
    else
      be_doc_note(doc, "Not compared: the %s held at least %.*f %s in %s (%zu lower bound%s).",
                  be_knot_name(survey, cell->knot), survey->decimals,
                  be_shown(survey, cell->highest->load_N), survey->how.unit->name,
                  survey->combinations[cell->combination].name, cell->bounds,
                  cell->bounds == 1 ? "" : "s");
  }
  if (counted)
    be_doc_note(doc,
                "Lower bounds counted in the means for what they held: %zu. The tests without a "
                "normal distribution take events alone.",
                counted);
}

/* Relative difference, one row a combination and one for all of them. */
static struct be_figure *draw(const struct survey *survey, const struct pair *pair)
{
  const char *subtitle =
      be_arena_format(survey->arena, "First less second, relative per cent and its %g %% interval",
                      100 * survey->how.level);
  struct be_figure *figure =
      be_figure_create(is_apart(pair) ? "The difference is real" : "The two cannot be separated",
                       subtitle ? subtitle : "", 760, 0);
  if (!figure) return NULL;
  be_figure_x(figure, "relative difference (%)", -5, 5, false);
  be_figure_rule_x(figure, 0, "no difference");
  for (size_t i = 0; i <= pair->count; i++) {
    const struct matched *m = i < pair->count ? &pair->list[i] : NULL;
    char note[64];
    snprintf(note, sizeof note, "n = %zu, %zu", m ? m->a->n : pair->n_a, m ? m->b->n : pair->n_b);
    double y = be_figure_row(figure, m ? m->where->name : "all of them", note);
    struct be_interval interval = m ? m->relative : pair->relative;
    double value = 100 * (exp(m ? m->log_ratio.value : pair->log_ratio.value) - 1);
    if (!isnan(interval.low))
      be_figure_span(figure, interval.low, interval.high, y, !m, m ? BE_TONE_INK : BE_TONE_ACT);
    be_figure_bar(figure, value, y, BE_TONE_INK);
  }
  be_figure_twin(figure,
                 "Over all compared combinations the first differs from the second by %.1f "
                 "%%%s; the table gives each combination.",
                 100 * (exp(pair->log_ratio.value) - 1),
                 be_interval_words(survey, pair->relative.low, pair->relative.high, 1));
  return figure;
}

static enum be_status write_versus(struct be_doc *doc, const struct survey *survey,
                                   const struct pair *pair, struct be_err *err)
{
  enum be_status status = BE_OK;
  if (pair->count == 0) {
    be_doc_sentence(doc,
                    "The %s and the %s have no combination in which their events can be "
                    "compared.",
                    be_knot_name(survey, pair->a), be_knot_name(survey, pair->b));
  } else {
    answer(doc, survey, pair);
    be_say_same(doc, survey, pair, is_apart(pair));
    say_slips(doc, survey, pair->a, pair->slips_a, pair->told_a);
    say_slips(doc, survey, pair->b, pair->slips_b, pair->told_b);
    be_say_slip_rates(doc, survey, pair);
    be_doc_figure(doc, draw(survey, pair));
    table_of(doc, survey, pair);
    status = be_say_tests(doc, survey, pair, err);
  }
  say_bounds(doc, survey, pair);
  say_rest(doc, survey, pair);
  be_doc_note(doc,
              "Points are of the plain line; relative per cent is of the second knot. Loads are "
              "compared only where both were tied on the same spools and pulled alike. Intervals "
              "are at %g %%; each "
              "row is taken by itself.",
              100 * survey->how.level);
  if (status == BE_OK) status = be_say_departures(doc, survey, err);
  be_doc_fact(doc, "first", "First", "%s", be_knot_name(survey, pair->a));
  be_doc_fact(doc, "second", "Second", "%s", be_knot_name(survey, pair->b));
  be_doc_fact(doc, "unit", "Unit of force", "%s", survey->how.unit->name);
  be_doc_fact(doc, "level", "Level of intervals", "%g", survey->how.level);
  if (pair->count) be_pair_facts(doc, survey, pair);
  be_doc_fact(doc, "seed", "Seed", "%llu", (unsigned long long)survey->how.seed);
  return status;
}

/* The one that held more is spoken of first, so that one difference has one
 * per cent; where they cannot be separated the order asked for is kept. */
enum be_status be_versus_doc(const struct survey *survey, int a, int b, struct be_doc **out,
                             struct be_err *err)
{
  struct pair pair = {.a = a, .b = b};
  enum be_status status = fill_pair(survey, &pair, err);
  if (status == BE_OK && is_apart(&pair) && pair.log_ratio.value < 0) {
    empty_pair(&pair);
    pair = (struct pair){.a = b, .b = a};
    status = fill_pair(survey, &pair, err);
  }
  const char *title = be_arena_format(survey->arena, "%s versus %s", be_knot_name(survey, pair.a),
                                      be_knot_name(survey, pair.b));
  struct be_doc *doc = status == BE_OK && title ? be_doc_create("versus", title) : NULL;
  if (status == BE_OK && !doc) status = be_no_memory(err);
  if (status == BE_OK) status = write_versus(doc, survey, &pair, err);
  empty_pair(&pair);
  return be_answer_done(survey, doc, status, out, err);
}
