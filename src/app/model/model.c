/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The answer of the model: who leads and who can be told apart, what varies, and where the grid has
 * gaps. */
#include "app/model/model.h"

#include <math.h>
#include <string.h>

enum { NAMED_MAX = 8, LISTS_MAX = 1 << 20 };

/* ---- who leads ---- */

double be_model_shown(const struct modelled *m, double log_value)
{
  double value = exp(log_value);
  return m->sample->by_share ? 100 * value : be_shown(m->survey, value);
}

int be_model_decimals(const struct modelled *m)
{
  return m->sample->by_share ? 1 : m->survey->decimals + 1;
}

const char *be_model_unit(const struct modelled *m)
{
  return m->sample->by_share ? "% of the line" : m->survey->how.unit->name;
}

/* Those that cannot be told from the first, without it. */
static const char *list_rivals(const struct modelled *m, size_t *count, struct be_err *err)
{
  size_t knots = m->sample->knots, first = m->order[0], all = 0, named = 0;
  for (size_t i = 1; i < knots; i++) all += !m->apart[first * knots + m->order[i]];
  struct be_buf names;
  be_buf_init(&names, LISTS_MAX);
  for (size_t i = 1; i < knots && named < NAMED_MAX; i++) {
    if (m->apart[first * knots + m->order[i]]) continue;
    const char *before = named == 0 ? "" : named + 1 == all ? " and " : ", ";
    be_buf_format(&names, "%s%s", before, be_knot_name(m->survey, m->sample->knot[m->order[i]]));
    named++;
  }
  if (all > named) be_buf_format(&names, " and %zu more", all - named);
  const char *text = names.status == BE_OK
                         ? be_arena_text(m->arena, names.size ? names.data : "", names.size)
                         : NULL;
  be_buf_free(&names);
  *count = all;
  if (!text) be_no_memory(err);
  return text;
}

/* "6 lines", or combinations where one has two lines or hardware. */
static const char *lines_word(const struct model_sample *sample)
{
  for (size_t c = 0; c < sample->wheres; c++)
    if (sample->where[c]->line_b >= 0 || sample->where[c]->hardware) return "combinations of lines";
  return "lines";
}

static enum be_status say_leader(struct be_doc *doc, const struct modelled *m, struct be_err *err)
{
  const struct model_sample *sample = m->sample;
  const struct be_mixed_summary *summary = be_mixed_summary(m->fit);
  size_t first = m->order[0], rivals = 0;
  const char *name = be_knot_name(m->survey, sample->knot[first]);
  const struct be_interval *of = &m->mean[first].interval;
  if (!summary->converged) {
    be_doc_sentence(doc,
                    "One model for all %zu pulls of %s did not converge (%s): its figures stand "
                    "below, and are not to be relied on.",
                    sample->n, m->place, summary->why);
    return BE_OK;
  }
  const char *names = m->ranked ? list_rivals(m, &rivals, err) : "";
  if (!names) return BE_NO_MEMORY;
  /* A mean load over unlike lines says nothing of a knot; ranks do, for lines cancel in them. */
  const char *ends = "";
  if (sample->by_share)
    ends = be_arena_format(m->arena, " with %.*f %%%s", be_model_decimals(m),
                           be_model_shown(m, m->value[first]),
                           be_interval_words(m->survey, be_model_shown(m, of->low),
                                             be_model_shown(m, of->high), be_model_decimals(m)));
  if (!ends) return be_no_memory(err);
  const char *tail = !m->ranked    ? "; whether it can be separated is not known"
                     : rivals == 0 ? ", apart from every other"
                                   : ", but cannot be separated from ";
  be_doc_sentence(doc,
                  "By one model for all %zu pulls of %s, borrowing strength over %zu %s, the %s "
                  "leads%s%s%s.",
                  sample->n, m->place, sample->wheres, lines_word(sample), name, ends, tail,
                  rivals ? names : "");
  return BE_OK;
}

/* ---- tables ---- */

struct knot_counts {
  size_t n, tied_in;
  double raw;
};

static struct knot_counts count_knot(const struct modelled *m, size_t knot)
{
  const struct model_sample *sample = m->sample;
  struct knot_counts counts = {0, 0, 0};
  for (size_t i = 0; i < sample->n; i++) counts.n += sample->rows[i].knot == knot;
  for (size_t c = 0; c < sample->wheres; c++) {
    const struct cell *cell = sample->cell[knot * sample->wheres + c];
    if (!cell || cell->n == 0) continue;
    counts.tied_in++;
    counts.raw +=
        sample->by_share ? 100 * cell->efficiency.value : be_shown(m->survey, cell->load.value);
  }
  counts.raw /= (double)counts.tied_in;
  return counts;
}

static void rank_cells(struct be_table *table, const struct modelled *m, size_t knot)
{
  const struct be_rank_set *set = &m->set[knot];
  const struct be_chance *chance = &m->chance[knot];
  char letters[160];
  if (!m->ranked) {
    for (int i = 0; i < 5; i++) be_table_none(table);
    return;
  }
  be_table_number(table, (double)set->rank, 0);
  if (set->low == set->high) be_table_text(table, "%zu", set->low);
  else be_table_text(table, "%zu to %zu", set->low, set->high);
  be_table_number(table, 100 * chance->best, 0);
  be_table_number(table, 100 * chance->top, 0);
  if (m->lettered) be_letters_text(m->letters[knot], letters, sizeof letters);
  if (m->lettered) be_table_text(table, "%s", letters);
  else be_table_none(table);
}

static void say_knots(struct be_doc *doc, const struct modelled *m)
{
  const char *head = be_arena_format(m->arena, "raw mean (%s)", be_model_unit(m));
  const struct be_column columns[] = {
      {"place", "", BE_COLUMN_TEXT, true},
      {"knot", "knot", BE_COLUMN_TEXT, false},
      {"n", "n", BE_COLUMN_NUMBER, false},
      {"tied_in", "tied in", BE_COLUMN_COUNT, false},
      {"unit", "", BE_COLUMN_TEXT, true},
      {"raw", head ? head : "raw mean", BE_COLUMN_NUMBER, false},
      {"modelled", "modelled", BE_COLUMN_NUMBER, false},
      {"modelled", "interval", BE_COLUMN_INTERVAL, false},
      {"modelled_df", "", BE_COLUMN_NUMBER, true},
      {"shift", "shift from raw", BE_COLUMN_NUMBER, false},
      {"rank", "rank", BE_COLUMN_NUMBER, false},
      {"rank_range", "rank range", BE_COLUMN_TEXT, false},
      {"first_percent", "first (%)", BE_COLUMN_NUMBER, false},
      {"first_three_percent", "first three (%)", BE_COLUMN_NUMBER, false},
      {"letters", "letters", BE_COLUMN_TEXT, false},
  };
  struct be_table *table = be_doc_table(doc, "model", m->place, columns, 15);
  for (size_t i = 0; i < m->sample->knots; i++) {
    size_t knot = m->order[i];
    const struct be_mixed_contrast *mean = &m->mean[knot];
    struct knot_counts counts = count_knot(m, knot);
    double modelled = be_model_shown(m, mean->value);
    be_table_text(table, "%s", m->place);
    be_table_text(table, "%s", be_knot_name(m->survey, m->sample->knot[knot]));
    be_table_number(table, (double)counts.n, 0);
    be_table_count(table, counts.tied_in, m->sample->wheres);
    be_table_text(table, "%s", be_model_unit(m));
    if (m->sample->by_share) {
      be_table_number(table, counts.raw, be_model_decimals(m));
      be_table_number(table, modelled, be_model_decimals(m));
      be_table_interval(table, be_model_shown(m, mean->interval.low),
                        be_model_shown(m, mean->interval.high), be_model_decimals(m));
      be_table_number(table, mean->df, 1);
      be_table_number(table, modelled - counts.raw, be_model_decimals(m));
    } else {
      for (int k = 0; k < 5; k++) be_table_none(table);
    }
    rank_cells(table, m, knot);
  }
}

static void variance_row(struct be_table *table, const struct modelled *m, const char *name,
                         size_t levels, double variance, double all)
{
  be_table_text(table, "%s", m->place);
  be_table_text(table, "%s", name);
  be_table_number(table, (double)levels, 0);
  be_table_number(table, 100 * sqrt(variance), 1);
  be_table_number(table, 100 * variance / all, 0);
}

static void say_variance(struct be_doc *doc, const struct modelled *m)
{
  static const struct be_column columns[] = {
      {"place", "", BE_COLUMN_TEXT, true},
      {"varies", "what varies", BE_COLUMN_TEXT, false},
      {"levels", "how many", BE_COLUMN_NUMBER, false},
      {"relative_percent", "deviation (relative %)", BE_COLUMN_NUMBER, false},
      {"share_percent", "of the variance (%)", BE_COLUMN_NUMBER, false},
  };
  double variance[MODEL_TERMS], sigma = be_mixed_summary(m->fit)->sigma, all = sigma * sigma;
  struct be_table *table = be_doc_table(doc, "model_variance", "What varies, beside the knots",
                                        columns, sizeof columns / sizeof columns[0]);
  be_table_fold(table);
  for (size_t kind = 0; kind < MODEL_TERMS; kind++) {
    double covariance[BE_MIXED_WIDTH_MAX * BE_MIXED_WIDTH_MAX] = {0};
    if (m->sample->term[kind].in) be_mixed_term_covariance(m->fit, m->of_term[kind], covariance);
    variance[kind] = covariance[0];
    all += variance[kind];
  }
  for (size_t kind = 0; kind < MODEL_TERMS; kind++) {
    const struct model_term *term = &m->sample->term[kind];
    if (term->in) variance_row(table, m, term->name, term->levels, variance[kind], all);
  }
  variance_row(table, m, "one pull", m->sample->n, sigma * sigma, all);
}

/* ---- place by place ---- */

static enum be_status say_fitted(struct be_doc *doc, struct modelled *m, struct headline *headline,
                                 struct be_err *err)
{
  enum be_status status = be_model_work_out(m, err);
  if (status == BE_OK) status = say_leader(doc, m, err);
  if (status == BE_OK) status = be_say_effects(doc, m, headline, err);
  if (status != BE_OK) return status;
  say_knots(doc, m);
  status = be_say_groups(doc, m, err);
  if (status != BE_OK) return status;
  say_variance(doc, m);
  status = be_say_cells(doc, m, err);
  return status == BE_OK ? be_say_model_notes(doc, m, err) : status;
}

static enum be_status say_sample(struct be_doc *doc, const struct survey *survey,
                                 struct model_sample *sample, const char *place,
                                 struct be_arena *arena, struct headline *headline,
                                 struct be_err *err)
{
  struct modelled m = {.survey = survey, .arena = arena, .place = place, .sample = sample};
  struct be_err why = {0};
  enum be_status status = be_model_fit(&m, &why);
  if (sample->groups > 1)
    be_doc_heading(doc, "Over all lines, by one model: %zu groups", sample->groups);
  else be_doc_heading(doc, "Over all lines, by one model: %s", place);
  headline->places += status == BE_OK;
  *(sample->by_share ? &headline->by_share : &headline->by_load) |= status == BE_OK;
  if (status == BE_OK) status = say_fitted(doc, &m, headline, &why);
  else if (status != BE_NO_MEMORY) {
    be_doc_note(doc, "No model of %s: %s.", place, why.what);
    status = BE_OK;
  }
  be_mixed_free(m.fit);
  be_mixed_free(m.of_loads);
  /* Words that it could not hold were left out on the way. */
  if (be_arena_ran_out(arena)) status = BE_NO_MEMORY;
  return status == BE_NO_MEMORY ? be_no_memory(err) : status;
}

/* "braid, dry", or "2 groups (braid, dry; nylon, dry)"; a second set of knots of a place that
 * hangs together by itself says so. */
static const char *name_place(const struct model_sample *sample, bool over_all, size_t nth,
                              struct be_arena *arena)
{
  const char *name = sample->where[0]->group;
  for (size_t c = 1; over_all && name && c < sample->wheres; c++) {
    if (sample->group[c] == sample->group[c - 1] || sample->group[c] > NAMED_MAX) continue;
    bool more = sample->group[c] == NAMED_MAX;
    name = be_arena_format(arena, "%s; %s", name, more ? "and more" : sample->where[c]->group);
  }
  if (over_all && name) return be_arena_format(arena, "%zu groups (%s)", sample->groups, name);
  return nth ? be_arena_format(arena, "%s (set %zu)", name, nth + 1) : name;
}

/* Of the combinations from `from` up to `to`, every set of knots that hangs together; over all
 * groups only where that adds something. */
static enum be_status say_place(struct be_doc *doc, const struct survey *survey, size_t from,
                                size_t to, bool over_all, struct headline *headline,
                                struct be_err *err)
{
  enum be_status status = BE_OK;
  bool more = true;
  for (size_t nth = 0; more && status == BE_OK; nth++) {
    struct model_sample sample;
    struct be_arena *arena = be_arena_create();
    if (!arena) return be_no_memory(err);
    status = be_model_sample(survey, from, to, nth, arena, &sample, err);
    more = sample.knots > 0;
    if (status == BE_OK && more && (!over_all || sample.groups_meet)) {
      const char *place = name_place(&sample, over_all, nth, arena);
      status =
          place ? say_sample(doc, survey, &sample, place, arena, headline, err) : be_no_memory(err);
    }
    be_arena_free(arena);
  }
  return status;
}

static enum be_status say_places(struct be_doc *doc, const struct survey *survey,
                                 struct headline *headline, struct be_err *err)
{
  enum be_status status = BE_OK;
  size_t count = survey->combinations_count;
  for (size_t i = 0, next; i < count && status == BE_OK; i = next) {
    const char *group = survey->combinations[i].group;
    for (next = i + 1; next < count && strcmp(survey->combinations[next].group, group) == 0;)
      next++;
    status = say_place(doc, survey, i, next, false, headline, err);
  }
  if (status == BE_OK && count) status = say_place(doc, survey, 0, count, true, headline, err);
  if (status == BE_OK && headline->places) be_say_model_method(doc, survey, headline);
  return status;
}

/* The ways to the same with a factor held fixed. */
static enum be_status say_usable(struct be_doc *doc, const struct survey *survey,
                                 struct be_err *err)
{
  unsigned usable;
  const char *words = "";
  enum be_status status = be_model_usable(survey, &usable, err);
  if (status != BE_OK || !usable) return status;
  for (int factor = 0; factor < BE_FACTORS && words; factor++)
    if (usable >> factor & 1)
      words = be_arena_format(survey->arena, "%s%s%s", words, *words ? ", " : "",
                              be_factor_words[factor]);
  if (!words) return be_no_memory(err);
  be_doc_note(doc, "Also to be held fixed, to see what it does, with --factor: %s.", words);
  return BE_OK;
}

enum be_status be_say_model(struct be_doc *doc, const struct survey *survey, struct be_err *err)
{
  struct headline headline = {0};
  be_progress_step("fitting the model", NULL, 0);
  enum be_status status = say_places(doc, survey, &headline, err);
  return status == BE_OK && headline.places ? say_usable(doc, survey, err) : status;
}

/* ---- with factors ---- */

static void say_asked(struct be_doc *doc, const struct survey *survey, const struct seen *seen)
{
  for (int factor = 0; factor < BE_FACTORS; factor++)
    if (seen->without[factor])
      be_doc_note(doc, "Left out: %zu pull%s whose %s is not recorded.", seen->without[factor],
                  seen->without[factor] == 1 ? "" : "s", be_factor_words[factor]);
  be_doc_fact(doc, "seed", "Seed", "%llu", (unsigned long long)survey->how.seed);
  be_doc_fact(doc, "resamples", "Resamples", "%zu", survey->how.resamples);
  be_doc_fact(doc, "level", "Level of ranges", "%g", survey->how.level);
  be_doc_fact(doc, "unit", "Unit of force", "%s", survey->how.unit->name);
}

static void say_answer(struct be_doc *doc, const struct seen *seen, const struct headline *headline)
{
  for (size_t i = 0; i < headline->count; i++) be_doc_sentence(doc, "%s", headline->text[i]);
  if (headline->count)
    be_doc_sentence(doc, "That is over %zu pulls of %s%s.", headline->pulls, headline->of,
                    headline->told > 1 ? "; other models are below" : "");
  if (headline->places == 0)
    be_doc_sentence(doc, "No two knots share two combinations: there is no model yet to hold "
                         "anything fixed in.");
  else if (headline->count == 0)
    be_doc_sentence(doc, "No effect can be told: nothing that was asked for could be held fixed.");
  for (int factor = 0; factor < BE_FACTORS; factor++)
    if (seen->why[factor])
      be_doc_sentence(doc, "Not held fixed: %s (%s).", be_factor_words[factor], seen->why[factor]);
}

enum be_status be_factors_doc(const struct survey *survey, struct be_doc **out, struct be_err *err)
{
  struct seen seen;
  struct headline headline = {0};
  struct be_doc *doc = be_doc_create("standings", "Standings");
  if (!doc) return be_no_memory(err);
  enum be_status status = be_model_see(survey, &seen, err);
  if (status == BE_OK) status = say_places(doc, &seen.survey, &headline, err);
  if (status == BE_OK) {
    say_asked(doc, survey, &seen);
    size_t place = be_doc_place(doc);
    say_answer(doc, &seen, &headline);
    be_doc_first(doc, place);
  }
  return be_answer_done(survey, doc, status, out, err);
}
