/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Probability plots: how many of a knot's pulls let go by a load, on axes on which a Weibull is a
 * straight line. Plotting positions stand at the middle of each step of the product-limit estimate,
 * which is (i - 1/2) / n without lower bounds (Meeker and Escobar, Statistical Methods for
 * Reliability Data, 1998, section 6.4; from memory). The curve is the fit of maximum likelihood
 * with lower bounds counted as such, the dashed ones its conditional interval at each share. */
#include "app/figures/gallery.h"
#include "app/strength/strength.h"

#include <math.h>

enum { EVENTS_LEAST = 5, CURVE = 15 };
static const double shares[CURVE] = {0.01, 0.02, 0.035, 0.06, 0.1,  0.17, 0.27, 0.4,
                                     0.5,  0.62, 0.75,  0.85, 0.92, 0.96, 0.99};

struct plot {
  const struct survey *survey;
  const struct cell *cell;
  struct be_held *held;
  size_t count;
  struct be_fit fit;
};

/* Held loads rise. */
static double end_of(const struct plot *plot, bool highest)
{
  double end = NAN;
  for (size_t i = 0; i < plot->count && (highest || isnan(end)); i++)
    if (!plot->held[i].bound) end = plot->held[i].load;
  return end;
}

static double lowest_bound(const struct plot *plot)
{
  size_t i = 0;
  while (i < plot->count && !plot->held[i].bound) i++;
  return i < plot->count ? plot->held[i].load : NAN;
}

static void draw_curves(struct be_figure *figure, const struct plot *plot)
{
  double at[CURVE], load[CURVE], low[CURVE], high[CURVE];
  for (size_t i = 0; i < CURVE; i++) {
    struct be_measure measure;
    be_fit_conditional(&plot->fit, plot->held, plot->count, BE_WANTED_QUANTILE, shares[i],
                       plot->survey->how.level, &measure);
    at[i] = 100 * shares[i];
    load[i] = be_shown(plot->survey, be_fit_quantile(&plot->fit, shares[i]));
    low[i] = be_shown(plot->survey, measure.interval.low);
    high[i] = be_shown(plot->survey, measure.interval.high);
    if (!(low[i] > 0)) low[i] = NAN;
  }
  be_figure_means(figure, "Weibull fit");
  be_tell_cell(figure, plot->survey, plot->cell, true);
  be_figure_line(figure, load, at, CURVE, BE_TONE_INK, BE_STROKE_SOLID);
  be_figure_within(figure, true, low, high);
  be_figure_means(figure, NULL);
  be_figure_line(figure, low, at, CURVE, BE_TONE_MUTED, BE_STROKE_DASH);
  be_figure_line(figure, high, at, CURVE, BE_TONE_MUTED, BE_STROKE_DASH);
}

/* Returns the lowest share of an event. */
static enum be_status draw_marks(struct be_figure *figure, const struct plot *plot, double lowest,
                                 struct be_err *err)
{
  const struct survey *survey = plot->survey;
  struct be_step *steps = be_arena_alloc(survey->arena, plot->count * sizeof *steps);
  if (!steps) return be_no_memory(err);
  size_t count = be_kaplan_meier(plot->held, plot->count, survey->how.level, steps);
  struct cell_look look = be_look_of_cell(survey, plot->cell);
  be_tell_cell(figure, survey, plot->cell, false);
  be_figure_means(figure, "event");
  for (size_t i = 0; i < count; i++) {
    double before = i ? steps[i - 1].survival : 1, step = before - steps[i].survival;
    for (size_t k = 0; k < steps[i].events; k++) {
      /* Equal loads share a step, each with its part of it. */
      double gone = 1 - before + step * ((double)k + 0.5) / (double)steps[i].events;
      be_figure_mark(figure, be_shown(survey, steps[i].load), 100 * gone, look.shape, BE_FILL_SOLID,
                     look.tone);
    }
  }
  be_figure_means(figure, "lower bound");
  be_figure_tell(figure, "let_go_by_then_percent", ""); /* it stands at the foot */
  for (size_t i = 0; i < plot->count; i++)
    if (plot->held[i].bound)
      be_figure_mark(figure, be_shown(survey, plot->held[i].load), lowest, look.shape, BE_FILL_OPEN,
                     look.tone);
  return BE_OK;
}

static const char *below_words(const struct plot *plot, double share)
{
  const struct survey *survey = plot->survey;
  struct be_measure measure;
  be_fit_conditional(&plot->fit, plot->held, plot->count, BE_WANTED_QUANTILE, share,
                     survey->how.level, &measure);
  int decimals = survey->decimals + 1;
  const char *words = be_arena_format(
      survey->arena, "%s %s%s", be_number_words(survey, be_shown(survey, measure.value), decimals),
      survey->how.unit->name,
      be_interval_words(survey, be_shown(survey, measure.interval.low),
                        be_shown(survey, measure.interval.high), decimals));
  return words ? words : "";
}

static void say(struct be_figure *figure, const struct plot *plot)
{
  const struct survey *survey = plot->survey;
  const struct cell *cell = plot->cell;
  const char *bounds =
      cell->lower_count
          ? be_arena_format(survey->arena,
                            "; the lowest of the %zu lower bound%s, at the foot, held %.*f",
                            cell->lower_count, be_plural(cell->lower_count), survey->decimals,
                            be_shown(survey, lowest_bound(plot)))
          : "";
  be_figure_twin(figure,
                 "One pull in ten lets go below %s, half of them below %s, nine in ten below %s, "
                 "by the Weibull fit of shape %.1f; brackets hold its %g %% interval. The %zu "
                 "events lie from %.*f to %.*f %s%s.",
                 below_words(plot, 0.1), below_words(plot, 0.5), below_words(plot, 0.9),
                 1 / plot->fit.sigma, 100 * survey->how.level, cell->n, survey->decimals,
                 be_shown(survey, end_of(plot, false)), survey->decimals,
                 be_shown(survey, end_of(plot, true)), survey->how.unit->name,
                 bounds ? bounds : "");
}

static enum be_status draw(struct gallery *gallery, const struct plot *plot, const char *of,
                           struct be_err *err)
{
  const struct survey *survey = plot->survey;
  const struct cell *cell = plot->cell;
  struct cell_look look = be_look_of_cell(survey, cell);
  double lowest = 100 * fmin(0.01, 0.3 / (double)plot->count);
  const char *title =
      be_arena_format(survey->arena, "One pull in ten lets go below %s", below_words(plot, 0.1));
  const char *subtitle =
      cell->lower_count
          ? be_arena_format(survey->arena, "%s: n = %zu, %zu at least; Weibull of shape %.1f", of,
                            cell->n, cell->lower_count, 1 / plot->fit.sigma)
          : be_arena_format(survey->arena, "%s: n = %zu; Weibull of shape %.1f", of, cell->n,
                            1 / plot->fit.sigma);
  if (!title || !subtitle) return be_no_memory(err);
  struct be_figure *figure = be_figure_create(title, subtitle, FIGURE_WIDTH, FIGURE_HEIGHT);
  double low = be_shown(survey, be_fit_quantile(&plot->fit, lowest / 100));
  double high = be_shown(survey, be_fit_quantile(&plot->fit, 0.993));
  be_figure_x(figure, be_head(survey, "load"), low, high, false);
  be_figure_y(figure, "let go by then (%)", lowest, 99.3);
  be_figure_scaling(figure, BE_SCALING_LOG, BE_SCALING_WEIBULL);
  be_figure_key_mark(figure, look.shape, BE_FILL_SOLID, look.tone, "event");
  if (cell->lower_count)
    be_figure_key_mark(figure, look.shape, BE_FILL_OPEN, look.tone, "lower bound");
  be_figure_key_line(figure, BE_STROKE_SOLID, BE_TONE_INK, "Weibull fit");
  be_figure_key_line(figure, BE_STROKE_DASH, BE_TONE_MUTED, "its interval");
  draw_curves(figure, plot);
  enum be_status status = draw_marks(figure, plot, lowest, err);
  say(figure, plot);
  if (status == BE_OK) return be_gallery_add(gallery, of, figure, err);
  be_figure_free(figure);
  return status;
}

enum be_status be_show_chances(struct gallery *gallery, struct be_err *err)
{
  const struct survey *survey = gallery->survey;
  enum be_status status = BE_OK;
  gallery->why = "no knot has five events at different loads on the same lines";
  for (size_t i = 0; i < survey->cells_count && status == BE_OK; i++) {
    const struct cell *cell = &survey->cells[i];
    if (cell->n < EVENTS_LEAST) continue;
    struct plot plot = {.survey = survey,
                        .cell = cell,
                        .held = be_held_of(survey, cell),
                        .count = cell->n + cell->lower_count};
    if (!plot.held) return be_no_memory(err);
    be_sort_held(plot.held, plot.count);
    if (!(plot.held[0].load > 0)) continue;
    be_fit_censored(BE_FAMILY_WEIBULL, plot.held, plot.count, &plot.fit);
    if (!plot.fit.converged) continue;
    const char *of = be_arena_format(survey->arena, "%s, %s", be_cell_name(survey, cell),
                                     survey->combinations[cell->combination].name);
    status = of ? draw(gallery, &plot, of, err) : be_no_memory(err);
  }
  return status;
}
