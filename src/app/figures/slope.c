/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Matched comparisons: a line of the figure for each line tested, from one knot to the other, or
 * from the knot as a bend to the same on hardware. */
#include "app/figures/gallery.h"
#include "app/ranking/places.h"
#include "app/versus/versus.h"

#include <math.h>
#include <string.h>

/* One matched comparison: cells of both sides, and what the label says. */
struct matched_cells {
  const struct cell *a, *b;
  const char *name;
};

static double value_of(const struct survey *survey, const struct cell *cell, bool by_share)
{
  return by_share ? 100 * cell->efficiency.value : be_shown(survey, cell->load.value);
}

static struct be_interval interval_of(const struct survey *survey, const struct cell *cell,
                                      bool by_share)
{
  struct be_interval interval = be_load_interval(&cell->load, survey->how.level);
  double scale = be_shown(survey, 1);
  if (by_share) {
    scale = 100;
    interval = cell->efficiency.interval;
    if (cell->efficiency.shape != BE_RATIO_PIECE) interval.low = interval.high = NAN;
  }
  interval.low *= scale;
  interval.high *= scale;
  return interval;
}

static void draw_side(struct be_figure *figure, const struct survey *survey,
                      const struct cell *cell, double x, bool by_share)
{
  struct cell_look look = be_look_of_cell(survey, cell);
  if (by_share) {
    be_draw_efficiency(figure, survey, cell, x, look);
    return;
  }
  struct be_interval interval = interval_of(survey, cell, false);
  const double at[2] = {x, x}, ends[2] = {interval.low, interval.high};
  be_figure_means(figure, NULL);
  if (!isnan(interval.low)) be_figure_line(figure, at, ends, 2, look.tone, BE_STROKE_SOLID);
  be_figure_means(figure, "mean");
  be_tell_cell(figure, survey, cell, true);
  be_figure_mark(figure, x, value_of(survey, cell, false), look.shape, BE_FILL_SOLID, look.tone);
  be_figure_within(figure, false, &ends[0], &ends[1]);
}

static void say_match(struct be_buf *words, const struct survey *survey,
                      const struct matched_cells *m, bool by_share)
{
  struct be_interval a = interval_of(survey, m->a, by_share);
  struct be_interval b = interval_of(survey, m->b, by_share);
  int decimals = by_share ? 0 : survey->decimals + 1;
  const char *unit = by_share ? "%" : survey->how.unit->name;
  be_buf_format(words, "%s: %s %s%s (n = %zu)", m->name,
                be_number_words(survey, value_of(survey, m->a, by_share), decimals), unit,
                be_interval_words(survey, a.low, a.high, decimals), m->a->n);
  be_buf_format(words, " against %s %s%s (n = %zu)",
                be_number_words(survey, value_of(survey, m->b, by_share), decimals), unit,
                be_interval_words(survey, b.low, b.high, decimals), m->b->n);
}

static struct be_figure *draw(const struct survey *survey, const struct heads *heads,
                              const struct matched_cells *list, size_t count, bool by_share)
{
  struct be_figure *figure =
      be_figure_create(heads->title, heads->subtitle, FIGURE_WIDTH, FIGURE_HEIGHT);
  struct be_buf words;
  be_buf_init(&words, 1 << 20);
  double most = 0;
  for (size_t i = 0; i < count; i++)
    most = fmax(most,
                fmax(value_of(survey, list[i].a, by_share), value_of(survey, list[i].b, by_share)));
  be_figure_x(figure, "", -0.3, 1.15, true);
  be_figure_names_x(figure, heads->sides, 2);
  be_figure_columns(figure, NULL, heads->column, NULL);
  be_buf_format(&words, "%s against %s, in %s. ", heads->sides[0], heads->sides[1],
                by_share ? "% of the line" : survey->how.unit->name);
  be_figure_y(figure, by_share ? "efficiency (% of the line)" : be_head(survey, "load"), 0,
              by_share ? 110 : 1.1 * most);
  if (by_share) be_figure_rule_y(figure, 100, "the line itself");
  for (size_t i = 0; i < count; i++) {
    const struct matched_cells *m = &list[i];
    struct cell_look look = be_look_of_cell(survey, m->b);
    /* Side by side, so that intervals do not cover one another. */
    const double x[2] = {0, 1};
    be_figure_aside(figure, 13 * (double)i);
    const double y[2] = {value_of(survey, m->a, by_share), value_of(survey, m->b, by_share)};
    be_figure_means(figure, NULL);
    be_figure_line(figure, x, y, 2, look.tone, look.stroke);
    draw_side(figure, survey, m->a, x[0], by_share);
    draw_side(figure, survey, m->b, x[1], by_share);
    const char *label = be_arena_format(survey->arena, "%s, " ONE_WORD("n", "%zu,\xC2\xA0%zu"),
                                        m->name, m->a->n, m->b->n);
    be_figure_label(figure, x[1], y[1], label ? label : m->name, look.tone);
    be_buf_text(&words, i ? "; " : "");
    say_match(&words, survey, m, by_share);
  }
  be_figure_aside(figure, 0);
  be_buf_format(&words, ". Brackets hold the %g %% interval of a mean.", 100 * survey->how.level);
  return be_with_twin(figure, &words);
}

/* ---- two knots ---- */

static const char *pair_title(const struct survey *survey, const struct pair *pair)
{
  const char *a = be_knot_name(survey, pair->a), *b = be_knot_name(survey, pair->b);
  bool points = pair->has_points;
  double value = 100 * (points ? pair->points.value : expm1(pair->log_ratio.value));
  struct be_interval by = points ? pair->points_interval : pair->relative;
  if (be_pair_divided(pair))
    return be_arena_format(survey->arena, "Which holds more depends on the line: %s or %s", a, b);
  const char *interval = be_interval_words(survey, by.low, by.high, 1);
  if (isnan(by.low))
    return be_arena_format(survey->arena,
                           "Which holds more, the %s or the %s, is not known: one pull tells "
                           "nothing of scatter",
                           a, b);
  if (!be_pair_apart(pair))
    return be_arena_format(survey->arena, "The %s and the %s cannot be separated: %s %s%s", a, b,
                           be_number_words(survey, value, 1), points ? "pts" : "%", interval);
  return be_arena_format(survey->arena, "The %s holds %s %s more than the %s%s", a,
                         be_number_words(survey, value, 1), points ? "pts" : "%", b, interval);
}

static bool is_shown(const struct gallery *gallery, const char *of)
{
  for (size_t i = 0; i < gallery->count; i++)
    if (gallery->list[i].kind == gallery->kind && strcmp(gallery->list[i].of, of) == 0) return true;
  return false;
}

static enum be_status show_pair(struct gallery *gallery, int a, int b, struct be_err *err)
{
  const struct survey *survey = gallery->survey;
  struct pair pair = {.a = a, .b = b};
  enum be_status status = be_pair_fill(survey, &pair, err);
  struct matched_cells *list = be_arena_alloc(survey->arena, (pair.count + 1) * sizeof *list);
  if (status == BE_OK && !list) status = be_no_memory(err);
  if (status == BE_OK && pair.count > 1) {
    for (size_t i = 0; i < pair.count; i++)
      list[i] = (struct matched_cells){pair.list[i].a, pair.list[i].b, pair.list[i].where->name};
    const struct heads heads = {
        .title = pair_title(survey, &pair),
        .subtitle = be_arena_format(survey->arena,
                                    "%zu combinations that both were tied in; %g %% "
                                    "intervals",
                                    pair.count, 100 * survey->how.level),
        .sides = {be_knot_name(survey, pair.a), be_knot_name(survey, pair.b)},
        .column = "knot"};
    const char *of = be_arena_format(survey->arena, "%s and %s", heads.sides[0], heads.sides[1]);
    if (of && is_shown(gallery, of)) {
      be_pair_empty(&pair);
      return BE_OK;
    }
    status = heads.title && heads.subtitle && of
                 ? be_gallery_add(gallery, of,
                                  draw(survey, &heads, list, pair.count, pair.has_points), err)
                 : be_no_memory(err);
  }
  be_pair_empty(&pair);
  return status;
}

/* The first of each group with the two behind it, and these with one another. */
enum be_status be_show_pairs(struct gallery *gallery, struct be_err *err)
{
  enum { FIRST = 3 };
  struct place *places;
  size_t count;
  enum be_status status = be_places(gallery->survey, &places, &count, err);
  gallery->why = "no two knots were tied in two combinations of one group";
  for (size_t i = 0; i < count && status == BE_OK; i++) {
    if (!places[i].group || !be_place_ranked(&places[i])) continue;
    status = be_place_rank(gallery->survey, &places[i], err);
    const struct ranking *r = places[i].ranking;
    for (size_t a = 0; status == BE_OK && a < FIRST && a < r->block.knots; a++)
      for (size_t b = a + 1; status == BE_OK && b < FIRST && b < r->block.knots; b++)
        status = show_pair(gallery, r->block.knot[r->order[a]], r->block.knot[r->order[b]], err);
  }
  return status;
}

/* ---- bend and hitch ---- */

static enum be_status mean_gain(const struct survey *survey, const struct matched_cells *list,
                                size_t count, struct be_estimate *mean, struct be_err *err)
{
  struct form sum = {0};
  enum be_status status = BE_OK;
  double value = 0, weight = 1.0 / (double)count;
  for (size_t i = 0; i < count && status == BE_OK; i++) {
    /* d e = e d log e: the plain line that both share cancels as far as it does. */
    double bend = list[i].a->efficiency.value, hitch = list[i].b->efficiency.value;
    status = be_form_add(&sum, &list[i].b->log_share, weight * hitch, err);
    if (status == BE_OK) status = be_form_add(&sum, &list[i].a->log_share, -weight * bend, err);
    value += weight * (hitch - bend);
  }
  sum.value = value;
  if (status == BE_OK) *mean = be_form_estimate(survey, &sum);
  be_form_free(&sum);
  return status;
}

static enum be_status add_gain(struct gallery *gallery, int knot, const struct matched_cells *list,
                               size_t count, struct be_err *err)
{
  const struct survey *survey = gallery->survey;
  struct be_estimate mean;
  enum be_status status = mean_gain(survey, list, count, &mean, err);
  if (status != BE_OK) return status;
  struct be_interval by = be_estimate_interval(&mean, survey->how.level);
  const char *name = be_knot_name(survey, knot);
  const char *interval = be_interval_words(survey, 100 * by.low, 100 * by.high, 1);
  const struct heads heads = {
      .title =
          be_arena_format(survey->arena,
                          by.low > 0 || by.high < 0
                              ? "On hardware the %s keeps %s pts of the line more than as a bend%s"
                              : "Whether the %s keeps more on hardware cannot be told: %s pts%s",
                          name, be_number_words(survey, 100 * mean.value, 1), interval),
      .subtitle = be_arena_format(survey->arena,
                                  "matched by the line that both were divided by; %g %% intervals",
                                  100 * survey->how.level),
      .sides = {"as a bend", "on hardware"},
      .column = "tied"};
  if (!heads.title || !heads.subtitle) return be_no_memory(err);
  return be_gallery_add(gallery, name, draw(survey, &heads, list, count, true), err);
}

enum be_status be_show_gains(struct gallery *gallery, struct be_err *err)
{
  enum { MATCHES_MAX = 200 };
  const struct survey *survey = gallery->survey;
  enum be_status status = BE_OK;
  struct matched_cells *list = be_arena_alloc(survey->arena, MATCHES_MAX * sizeof *list);
  if (!list) return be_no_memory(err);
  gallery->why =
      "no knot was tied both between two lines and on hardware, with the same plain line";
  for (int knot = 0; knot < (int)survey->record.knots_count && status == BE_OK; knot++) {
    size_t count = 0;
    for (size_t i = 0; i < survey->cells_count; i++)
      for (size_t k = 0; k < survey->cells_count; k++) {
        const struct cell *hitch = &survey->cells[i], *bend = &survey->cells[k];
        if (bend->knot != knot || count == MATCHES_MAX || !be_is_gain(survey, hitch, bend))
          continue;
        const char *name =
            be_arena_format(survey->arena, "%s; %s", survey->line_names[hitch->plain.line],
                            survey->combinations[bend->combination].name);
        if (!name) return be_no_memory(err);
        list[count++] = (struct matched_cells){bend, hitch, name};
      }
    if (count) status = add_gain(gallery, knot, list, count, err);
  }
  return status;
}
