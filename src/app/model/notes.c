/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What stands under a model: how it was fitted, on which grid its means are, what was left out. */
#include "app/model/model.h"

#include <string.h>

static const char *fit_words(const struct modelled *m)
{
  const struct be_mixed_summary *summary = be_mixed_summary(m->fit);
  const char *method = summary->method == BE_MIXED_REML ? "REML" : "ML";
  if (summary->converged)
    return be_arena_format(m->arena,
                           "Fitted by %s, which converged (%zu evaluations; greatest slope left "
                           "%.1g).",
                           method, summary->evaluations, summary->gradient);
  return be_arena_format(m->arena,
                         "Fitted by %s, which did not converge after %zu evaluations: %s.", method,
                         summary->evaluations, summary->why);
}

static const char *grid_words(const struct modelled *m)
{
  const struct model_sample *sample = m->sample;
  if (sample->groups > 1)
    return be_arena_format(m->arena,
                           "The means are on a reference grid of all %zu groups, each counted "
                           "once, and hold for the middle of lines like these. That knots differ "
                           "from group to group is counted as knot x combination.",
                           sample->groups);
  return be_arena_format(m->arena,
                         "The means are on a reference grid of one group, %s, for the middle of "
                         "lines like these.",
                         sample->where[0]->group);
}

static const char *rank_words(const struct modelled *m)
{
  if (!m->ranked) return be_arena_format(m->arena, "Not ranked: %s.", m->why_unranked);
  return be_arena_format(m->arena,
                         "Rank ranges and letters by the joint t with %.3g df (the fewest of the "
                         "differences).",
                         m->df);
}

static enum be_status say_fit(struct be_doc *doc, const struct modelled *m, struct be_err *err)
{
  const char *fit = fit_words(m), *grid = grid_words(m), *ranks = rank_words(m);
  if (!fit || !grid || !ranks) return be_no_memory(err);
  be_doc_note(doc, "%s %s %s", fit, grid, ranks);
  if (be_mixed_summary(m->fit)->method == BE_MIXED_ML)
    be_doc_note(doc, "By ML, because REML did not converge with the lower bounds: its deviations "
                     "are somewhat small, and so are the intervals.");
  if (!m->sample->by_share)
    be_doc_note(doc, "Of loads, since not every pull has a plain line to be divided by.");
  return BE_OK;
}

/* "held fixed: turns, at 5 turns; soak, each of 2 counted once" */
static enum be_status say_factors(struct be_doc *doc, const struct modelled *m, struct be_err *err)
{
  const char *in = "", *out = "";
  for (int kind = 0; kind < BE_FACTORS && in && out; kind++) {
    const struct model_factor *factor = &m->sample->factor[kind];
    const struct factor_value at = {NULL, factor->reference};
    const char *word = be_factor_words[kind];
    if (factor->asked && !factor->in)
      out = be_arena_format(m->arena, "%s%s%s (%s)", out, *out ? "; " : "", word, factor->why);
    else if (factor->in && factor->by_number)
      in = be_arena_format(m->arena, "%s%s%s at %s", in, *in ? "; " : "", word,
                           be_factor_say(m->arena, (enum be_factor)kind, &at));
    else if (factor->in)
      in = be_arena_format(m->arena, "%s%s%s, each of %zu counted once", in, *in ? "; " : "", word,
                           factor->count);
  }
  if (!in || !out) return be_no_memory(err);
  if (*in) be_doc_note(doc, "Held fixed: %s; that is where the means of knots stand.", in);
  if (*out) be_doc_note(doc, "Not held fixed here: %s.", out);
  return BE_OK;
}

static enum be_status say_left_out(struct be_doc *doc, const struct modelled *m, struct be_err *err)
{
  const struct model_sample *sample = m->sample;
  const char *out = "";
  for (size_t kind = 0; kind < MODEL_TERMS; kind++) {
    const struct model_term *term = &sample->term[kind];
    if (!term->name || (term->why && strcmp(term->why, "held fixed") == 0)) continue;
    if (!term->in)
      out = be_arena_format(m->arena, "%s%s%s (%s)", out, *out ? "; " : "", term->name, term->why);
    else if (term->rows < sample->n && kind < MODEL_CROSSED)
      be_doc_note(doc, "%zu of %zu pulls have no recorded %s, and enter without.",
                  sample->n - term->rows, sample->n, term->name);
    if (!out) return be_no_memory(err);
  }
  if (*out) be_doc_note(doc, "Not in the model: %s.", out);
  if (sample->bounds)
    be_doc_note(doc, "%zu lower bound%s counted in, as at least so much.", sample->bounds,
                sample->bounds == 1 ? " is" : "s are");
  if (sample->without_plain)
    be_doc_note(doc, "Left out: %zu pull%s without a plain line to be divided by.",
                sample->without_plain, sample->without_plain == 1 ? "" : "s");
  if (sample->bounds_unmatched)
    be_doc_note(doc,
                "Left out: %zu lower bound%s, without an event on the same spool, pulled alike, "
                "to take the plain line from.",
                sample->bounds_unmatched, sample->bounds_unmatched == 1 ? "" : "s");
  if (sample->open_knots)
    be_doc_note(doc, "Left out: %zu knot%s that gave lower bounds alone.", sample->open_knots,
                sample->open_knots == 1 ? "" : "s");
  if (sample->apart_knots)
    be_doc_note(doc, "Left out: %zu knot%s that share%s no line with these, even by way of others.",
                sample->apart_knots, sample->apart_knots == 1 ? "" : "s",
                sample->apart_knots == 1 ? "s" : "");
  return BE_OK;
}

enum be_status be_say_model_notes(struct be_doc *doc, const struct modelled *m, struct be_err *err)
{
  enum be_status status = say_fit(doc, m, err);
  if (status == BE_OK) status = say_factors(doc, m, err);
  return status == BE_OK ? say_left_out(doc, m, err) : status;
}

void be_say_model_method(struct be_doc *doc, const struct survey *survey,
                         const struct headline *headline)
{
  if (headline->by_share)
    be_doc_note(doc,
                "By one model, of shares: each pull divided by the plain line of the weaker "
                "line, taken as known; what that is off by goes to spool and combination. "
                "Modelled figures are means of logs, and so a little below plain means. Raw: "
                "the mean over the combinations in which the knot was tied, gaps passed over.");
  if (headline->by_load)
    be_doc_note(doc,
                "By one model, of loads: a mean load over unlike lines says nothing of a knot, "
                "so none is given; how knots are told apart does not hang on it, for there the "
                "lines cancel.");
  be_doc_note(doc, "Two kinds of means: those of knots are for lines like these, and as uncertain "
                   "as lines differ; those of cells are on these very lines, drawn towards what "
                   "knot and line do elsewhere, the more so the fewer the pulls. Borrowed: not "
                   "tied there, all of it is from elsewhere. A deviation of 0 means that no more "
                   "varies than single pulls do, not that nothing varies.");
  be_doc_note(doc,
              "Assumed: logs scatter normally and alike, and gaps did not come about because of "
              "the strength. Intervals of single figures by Satterthwaite; ranks and letters of a "
              "table hold all at once at %g %%, by %zu drawings, seed %llu.",
              100 * survey->how.level, survey->how.resamples, (unsigned long long)survey->how.seed);
  if (headline->count)
    be_doc_note(doc, "Each effect is by itself, the others held; p is not adjusted for how many "
                     "were asked.");
}
