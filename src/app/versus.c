/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Is the difference between two knots real. Loads are compared, combination by
 * combination, so that the shared denominator cancels; points need it back. */
#include "app/grid.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* ---- finding a knot by name ---- */

static bool contains(const char *text, const char *part)
{
  size_t length = strlen(part);
  char piece[256];
  for (; strlen(text) >= length && length < sizeof piece; text++) {
    memcpy(piece, text, length);
    piece[length] = '\0';
    if (be_text_same(piece, part)) return true;
    if (!*text) break;
  }
  return false;
}

int be_knot_find(const struct survey *survey, const char *name, struct be_err *err)
{
  const struct be_record *record = &survey->record;
  int found = -1;
  size_t matches = 0;
  for (size_t i = 0; i < record->knots_count; i++)
    if (be_text_same(record->knots[i].full, name)) return (int)i;
  for (size_t i = 0; i < record->knots_count; i++)
    if (contains(record->knots[i].full, name)) found = (int)i, matches++;
  if (matches == 1) return found;
  char list[380] = "";
  size_t used = 0;
  for (size_t i = 0; i < record->knots_count; i++) {
    if (matches && !contains(record->knots[i].full, name)) continue;
    int put = snprintf(list + used, sizeof list - used, "%s\"%s\"", used ? ", " : "",
                       record->knots[i].full);
    if (put < 0 || (size_t)put >= sizeof list - used) break;
    used += (size_t)put;
  }
  be_fail(err, BE_WRONG_USE,
          matches ? "\"%s\" could be more than one knot" : "there is no knot \"%s\"", name);
  be_fail_remedy(err, "the book has %s", list);
  return -1;
}

/* ---- one combination ---- */

struct matched {
  const struct combination *where;
  const struct cell *a, *b;
  struct be_difference load;
  struct be_ratio relative;
  struct be_estimate points; /* difference of efficiencies; unknown value if none */
  struct be_interval points_interval;
  double needed; /* pulls of each that would settle a difference of this size */
};

static struct be_estimate difference_of(const struct be_estimate *a, const struct be_estimate *b)
{
  const struct be_estimate pair[] = {*a, *b};
  const double minus[] = {1, -1};
  return be_estimate_combine(pair, minus, 2);
}

/* (a - b) / plain: the shared plain line is one denominator, so this is a
 * ratio too, and Fieller's interval serves. */
static void find_points(const struct survey *survey, struct matched *m)
{
  m->points.value = NAN;
  m->points_interval = (struct be_interval){NAN, NAN, survey->how.level};
  if (m->a->plain.match == MATCH_NONE || m->b->plain.match == MATCH_NONE) return;
  struct be_estimate d = difference_of(&m->a->estimate, &m->b->estimate);
  const struct be_estimate plains[] = {m->a->plain.estimate, m->b->plain.estimate};
  const double half[] = {0.5, 0.5};
  bool shared = plains[0].value == plains[1].value;
  struct be_estimate plain = shared ? plains[0] : be_estimate_combine(plains, half, 2);
  struct be_ratio ratio;
  be_ratio_fieller(&d, &plain, survey->how.level, &ratio);
  double p = plain.value;
  const struct be_estimate parts[] = {
      {d.value / p, d.variance / (p * p), d.df, d.n},
      {0, d.value * d.value * plain.variance / (p * p * p * p), plain.df, plain.n}};
  const double both[] = {1, 1};
  m->points = be_estimate_combine(parts, both, 2);
  m->points.n = d.n;
  if (ratio.shape == BE_RATIO_PIECE) m->points_interval = ratio.interval;
}

static void find_needed(struct matched *m)
{
  double sd = sqrt((m->a->summary.sd * m->a->summary.sd + m->b->summary.sd * m->b->summary.sd) / 2);
  double shift = fabs(m->load.value) / sd;
  m->needed = isnan(shift) ? NAN : ceil(be_power_two_n(shift, 0.05, 0.8));
}

static void match_cells(const struct survey *survey, struct matched *m)
{
  be_welch(&m->a->estimate, &m->b->estimate, survey->how.level, &m->load);
  be_ratio_log(&m->a->estimate, &m->b->estimate, survey->how.level, &m->relative);
  find_points(survey, m);
  find_needed(m);
}

/* ---- all of them together ---- */

struct together {
  struct be_estimate log_ratio, points;
  struct be_interval relative, points_interval; /* in % and in points */
  size_t n_a, n_b, slips_a, slips_b;
  bool has_points;
};

static struct be_estimate log_ratio_of(const struct matched *m)
{
  struct be_estimate a = m->a->estimate, b = m->b->estimate;
  a.variance /= a.value * a.value;
  a.value = log(a.value);
  b.variance /= b.value * b.value;
  b.value = log(b.value);
  return difference_of(&a, &b);
}

static void put_together(const struct survey *survey, const struct matched *list, size_t count,
                         struct together *all)
{
  struct be_estimate logs[COMBINATIONS_MAX], points[COMBINATIONS_MAX];
  double weights[COMBINATIONS_MAX];
  memset(all, 0, sizeof *all);
  all->has_points = true;
  for (size_t i = 0; i < count; i++) {
    logs[i] = log_ratio_of(&list[i]);
    points[i] = list[i].points;
    weights[i] = 1.0 / (double)count;
    all->has_points &= !isnan(list[i].points.value);
    all->n_a += list[i].a->n;
    all->n_b += list[i].b->n;
    all->slips_a += list[i].a->slips;
    all->slips_b += list[i].b->slips;
  }
  all->log_ratio = be_estimate_combine(logs, weights, count);
  struct be_interval log_interval = be_estimate_interval(&all->log_ratio, survey->how.level);
  all->relative = (struct be_interval){100 * (exp(log_interval.low) - 1),
                                       100 * (exp(log_interval.high) - 1), survey->how.level};
  if (!all->has_points) return;
  all->points = be_estimate_combine(points, weights, count);
  all->points_interval = be_estimate_interval(&all->points, survey->how.level);
  if (count == 1) all->points_interval = list[0].points_interval;
}

/* Both knots with what they share, in the order they are spoken of. */
struct pair {
  int a, b;
  struct matched *list;
  size_t count;
  struct together all;
};

static void compare_pair(const struct survey *survey, struct pair *pair)
{
  for (size_t i = 0; i < pair->count; i++) match_cells(survey, &pair->list[i]);
  put_together(survey, pair->list, pair->count, &pair->all);
}

static void turn_round(const struct survey *survey, struct pair *pair)
{
  int a = pair->a;
  pair->a = pair->b;
  pair->b = a;
  for (size_t i = 0; i < pair->count; i++) {
    const struct cell *cell = pair->list[i].a;
    pair->list[i].a = pair->list[i].b;
    pair->list[i].b = cell;
  }
  compare_pair(survey, pair);
}

/* "6.1 pts [2.0, 10.3] of the line, 8.0 % relative [2.5, 13.9], n = 48 and 52" */
static void say_size(const struct pair *pair, char *text, size_t size)
{
  const struct together *all = &pair->all;
  char points[96] = "";
  if (all->has_points)
    snprintf(points, sizeof points, "%.1f pts [%.1f, %.1f] of the line, ", 100 * all->points.value,
             100 * all->points_interval.low, 100 * all->points_interval.high);
  snprintf(text, size, "%s%.1f %% relative [%.1f, %.1f], n = %zu and %zu", points,
           100 * (exp(all->log_ratio.value) - 1), all->relative.low, all->relative.high, all->n_a,
           all->n_b);
}

static void say_needed(struct be_doc *doc, const struct pair *pair)
{
  const struct matched *best = NULL;
  for (size_t i = 0; i < pair->count; i++)
    if (!best || pair->list[i].needed < best->needed) best = &pair->list[i];
  size_t have = best->a->n < best->b->n ? best->a->n : best->b->n;
  if (!(best->needed < 10000))
    be_doc_sentence(doc, "No practical number of pulls would show a difference as small as this.");
  else if (best->needed > (double)have)
    be_doc_sentence(doc,
                    "If the difference is as large as it looks, %.0f more pulls of each in %s "
                    "(%.0f in all) would show it at 80 %% power.",
                    best->needed - (double)have, best->where->name, best->needed);
}

/* The average over combinations may hide that they do not agree. */
static void say_spread(struct be_doc *doc, const struct pair *pair)
{
  const struct matched *low = &pair->list[0], *high = &pair->list[0];
  for (size_t i = 1; i < pair->count; i++) {
    if (pair->list[i].relative.value < low->relative.value) low = &pair->list[i];
    if (pair->list[i].relative.value > high->relative.value) high = &pair->list[i];
  }
  if (low == high) return;
  be_doc_sentence(doc, "By combination it runs from %.1f %% relative (%s) to %.1f %% (%s).",
                  100 * (low->relative.value - 1), low->where->name,
                  100 * (high->relative.value - 1), high->where->name);
}

static void answer(struct be_doc *doc, const struct survey *survey, struct pair *pair)
{
  char over[64], size[256];
  snprintf(over, sizeof over, "%zu shared combination%s", pair->count, pair->count == 1 ? "" : "s");
  if (isnan(pair->all.relative.low)) {
    be_doc_sentence(
        doc,
        "Cannot separate the %s and the %s: one of them has a single pull, so its scatter "
        "is not known.",
        be_knot_name(survey, pair->a), be_knot_name(survey, pair->b));
    return;
  }
  bool apart = pair->all.relative.low > 0 || pair->all.relative.high < 0;
  bool turn = apart && pair->all.log_ratio.value < 0;
  if (turn) turn_round(survey, pair);
  say_size(pair, size, sizeof size);
  const char *a = be_knot_name(survey, pair->a), *b = be_knot_name(survey, pair->b);
  if (apart) {
    be_doc_sentence(doc, "The %s held more than the %s over %s: %s.", a, b, over, size);
  } else {
    be_doc_sentence(doc, "Cannot separate the %s and the %s over %s: first less second is %s.", a,
                    b, over, size);
    say_needed(doc, pair);
  }
  say_spread(doc, pair);
  if (turn) turn_round(survey, pair);
}

static void table_of(struct be_doc *doc, const struct survey *survey, const struct matched *list,
                     size_t count)
{
  char difference[64];
  snprintf(difference, sizeof difference, "difference (%s)", survey->how.unit->name);
  const struct be_column columns[] = {
      {"combination", "combination", BE_COLUMN_TEXT, false},
      {"n_first", "n first", BE_COLUMN_NUMBER, false},
      {"n_second", "n second", BE_COLUMN_NUMBER, false},
      {"difference", difference, BE_COLUMN_NUMBER, false},
      {"difference", "interval", BE_COLUMN_INTERVAL, false},
      {"welch_t", "t", BE_COLUMN_NUMBER, false},
      {"welch_df", "df", BE_COLUMN_NUMBER, false},
      {"welch_p", "", BE_COLUMN_NUMBER, true},
      {"points", "of the line (pts)", BE_COLUMN_NUMBER, false},
      {"points", "interval", BE_COLUMN_INTERVAL, false},
      {"relative_percent", "relative (%)", BE_COLUMN_NUMBER, false},
      {"relative_percent", "interval", BE_COLUMN_INTERVAL, false},
      {"pulls_needed", "pulls of each to settle", BE_COLUMN_NUMBER, false},
  };
  struct be_table *table =
      be_doc_table(doc, "versus", "First less second, combination by combination", columns, 13);
  int decimals = be_load_decimals(survey) + 1;
  for (size_t i = 0; i < count; i++) {
    const struct matched *m = &list[i];
    be_table_text(table, "%s", m->where->name);
    be_table_number(table, (double)m->a->n, 0);
    be_table_number(table, (double)m->b->n, 0);
    be_table_number(table, be_shown(survey, m->load.value), decimals);
    be_table_interval(table, be_shown(survey, m->load.interval.low),
                      be_shown(survey, m->load.interval.high), decimals);
    be_table_number(table, m->load.t, 2);
    be_table_number(table, m->load.df, 1);
    be_table_number(table, m->load.p, 5);
    be_table_number(table, 100 * m->points.value, 1);
    be_table_interval(table, 100 * m->points_interval.low, 100 * m->points_interval.high, 1);
    be_table_number(table, 100 * (m->relative.value - 1), 1);
    be_table_interval(table, 100 * (m->relative.interval.low - 1),
                      100 * (m->relative.interval.high - 1), 1);
    be_table_number(table, m->needed < 10000 ? m->needed : NAN, 0);
  }
}

static void say_slips(struct be_doc *doc, const struct survey *survey, const struct together *all,
                      int a, int b)
{
  struct be_interval first = be_rate_exact(all->slips_a, all->n_a, survey->how.level);
  struct be_interval second = be_rate_exact(all->slips_b, all->n_b, survey->how.level);
  be_doc_sentence(doc, "Slipped out: %s %zu of %zu [%.0f, %.0f %%], %s %zu of %zu [%.0f, %.0f %%].",
                  be_knot_name(survey, a), all->slips_a, all->n_a, 100 * first.low,
                  100 * first.high, be_knot_name(survey, b), all->slips_b, all->n_b,
                  100 * second.low, 100 * second.high);
}

/* Combinations that only one of them was tied in. */
static void say_unshared(struct be_doc *doc, const struct survey *survey, int a, int b)
{
  for (size_t i = 0; i < survey->combinations_count; i++) {
    const struct combination *where = &survey->combinations[i];
    bool first = be_cell_find(survey, where, a) != NULL,
         second = be_cell_find(survey, where, b) != NULL;
    if (first != second)
      be_doc_note(doc, "Left out: %s, where only %s was pulled.", where->name,
                  be_knot_name(survey, first ? a : b));
  }
}

/* Relative difference, one row a combination and one for all of them. */
static struct be_figure *draw(const struct survey *survey, const struct pair *pair)
{
  char subtitle[300];
  snprintf(subtitle, sizeof subtitle, "First less second, relative per cent and its %g %% interval",
           100 * survey->how.level);
  const struct together *all = &pair->all;
  bool apart = all->relative.low > 0 || all->relative.high < 0;
  struct be_figure *figure = be_figure_create(
      apart ? "The difference is real" : "The two cannot be separated", subtitle, 760, 0);
  if (!figure) return NULL;
  be_figure_x(figure, "relative difference of loads (%)", -5, 5, false);
  be_figure_rule_x(figure, 0, "no difference");
  for (size_t i = 0; i <= pair->count; i++) {
    const struct matched *m = i < pair->count ? &pair->list[i] : NULL;
    char note[64];
    snprintf(note, sizeof note, "n = %zu, %zu", m ? m->a->n : all->n_a, m ? m->b->n : all->n_b);
    double y = be_figure_row(figure, m ? m->where->name : "all of them", note);
    double value = m ? 100 * (m->relative.value - 1) : 100 * (exp(all->log_ratio.value) - 1);
    double low = m ? 100 * (m->relative.interval.low - 1) : all->relative.low;
    double high = m ? 100 * (m->relative.interval.high - 1) : all->relative.high;
    if (!isnan(low)) be_figure_span(figure, low, high, y, !m, m ? BE_TONE_INK : BE_TONE_ACT);
    be_figure_bar(figure, value, y, BE_TONE_INK);
  }
  be_figure_twin(figure,
                 "Over all shared combinations the first differs from the second by %.1f %% "
                 "[%.1f, %.1f]; the table gives each combination.",
                 100 * (exp(all->log_ratio.value) - 1), all->relative.low, all->relative.high);
  return figure;
}

static enum be_status write_versus(struct be_doc *doc, const struct survey *survey, int a, int b,
                                   struct be_err *err)
{
  struct pair pair = {.a = a, .b = b};
  pair.list = be_alloc_array(COMBINATIONS_MAX, sizeof *pair.list);
  if (!pair.list) return be_no_memory(err);
  for (size_t i = 0; i < survey->combinations_count && pair.count < COMBINATIONS_MAX; i++) {
    const struct combination *where = &survey->combinations[i];
    struct matched m = {
        .where = where, .a = be_cell_find(survey, where, a), .b = be_cell_find(survey, where, b)};
    if (m.a && m.b) pair.list[pair.count++] = m;
  }
  if (pair.count == 0) {
    be_doc_sentence(doc,
                    "The %s and the %s were never tied in the same combination, so they cannot be "
                    "compared.",
                    be_knot_name(survey, a), be_knot_name(survey, b));
  } else {
    compare_pair(survey, &pair);
    answer(doc, survey, &pair);
    say_slips(doc, survey, &pair.all, a, b);
    be_doc_figure(doc, draw(survey, &pair));
    table_of(doc, survey, pair.list, pair.count);
  }
  say_unshared(doc, survey, a, b);
  be_doc_note(doc,
              "Points are of the plain line; relative per cent is of the second knot's load. "
              "Intervals are at %g %%; each row is taken by itself.",
              100 * survey->how.level);
  be_free(pair.list);
  return BE_OK;
}

enum be_status be_versus_doc(const struct survey *survey, int a, int b, struct be_doc **out,
                             struct be_err *err)
{
  char title[300];
  snprintf(title, sizeof title, "%.140s versus %.140s", be_knot_name(survey, a),
           be_knot_name(survey, b));
  struct be_doc *doc = be_doc_create("versus", title);
  if (!doc) return be_no_memory(err);
  enum be_status status = write_versus(doc, survey, a, b, err);
  be_doc_fact(doc, "first", "First", "%s", be_knot_name(survey, a));
  be_doc_fact(doc, "second", "Second", "%s", be_knot_name(survey, b));
  be_doc_fact(doc, "unit", "Unit of force", "%s", survey->how.unit->name);
  return be_doc_done(doc, status, out);
}
