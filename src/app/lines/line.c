/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One spool: its plain pulls session by session, and the joints that were tied on it. */
#include "app/lines/lines.h"
#include "app/strength/strength.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double figure_width = 760;
enum { ROWS_MAX = 60, DRIFT_FROM = 6 };
/* Of a trend over the order of testing, as in the alarms of the strength page. */
static const double doubtful = 0.05;

struct line_pulls {
  const struct be_pull **plain; /* by session and order */
  const struct be_pull **all;   /* as entered */
  size_t plain_count, all_count;
};

static bool gather(const struct survey *survey, int line, struct line_pulls *pulls)
{
  size_t most = survey->record.pulls_count + 1;
  pulls->plain = be_arena_alloc(survey->arena, most * sizeof(*pulls->plain));
  pulls->all = be_arena_alloc(survey->arena, most * sizeof(*pulls->all));
  if (!pulls->plain || !pulls->all) return false;
  pulls->plain_count = pulls->all_count = 0;
  for (size_t i = 0; i < survey->record.pulls_count; i++) {
    const struct be_pull *pull = &survey->record.pulls[i];
    if (pull->line_a != line && pull->line_b != line) continue;
    pulls->all[pulls->all_count++] = pull;
    if (pull->design == BE_DESIGN_PLAIN) pulls->plain[pulls->plain_count++] = pull;
  }
  be_sort_by_order(pulls->plain, pulls->plain_count);
  return true;
}

/* ---- the answer ---- */

/* Soak by soak, as the table has them. The set behind `set` (null: the first), or null. */
static const struct plain_set *next_set(const struct survey *survey, int line,
                                        const struct plain_set *set)
{
  size_t from = set ? (size_t)(set - survey->sets) + 1 : 0;
  for (int soak = set ? (int)set->like->soak : 0; soak < SOAKS; soak++, from = 0)
    for (size_t i = from; i < survey->sets_count; i++)
      if (survey->sets[i].line == line && survey->sets[i].like->soak == (enum be_soak)soak)
        return &survey->sets[i];
  return NULL;
}

static void say_answer(struct be_doc *doc, const struct survey *survey, int line,
                       const struct line_state *state)
{
  const char *name = be_line_words(survey, (size_t)line);
  const struct plain_set *set = next_set(survey, line, NULL);
  if (!set)
    be_doc_sentence(doc, "Nothing can be divided by %s: no plain pull of it let go%s.", name,
                    state->pulls ? "" : ", and no knot was pulled on it either");
  for (; set; set = next_set(survey, line, set)) {
    struct be_estimate estimate = be_plain_estimate(survey, set);
    struct be_interval mean = be_load_interval(&estimate, survey->how.level);
    int decimals = survey->decimals + 1;
    be_doc_sentence(doc, "Plain %s, %s, held %.*f %s%s (n = %zu, %s).", name,
                    be_soak_word(set->like->soak), decimals, be_shown(survey, set->mean),
                    survey->how.unit->name,
                    be_interval_words(survey, be_shown(survey, mean.low),
                                      be_shown(survey, mean.high), decimals),
                    set->n, be_pulled_words(survey, set->like));
  }
}

/* ---- over sessions ---- */

/* Of one set: pulls that were pulled otherwise would make a trend of their own. */
static size_t loads_of(const struct line_pulls *pulls, const struct plain_set *set, double *loads)
{
  size_t n = 0;
  for (size_t i = 0; i < pulls->plain_count; i++) {
    const struct be_pull *pull = pulls->plain[i];
    if (pull->soak == set->like->soak && pull->kind == BE_KIND_EVENT &&
        be_pulled_alike(pull, set->like))
      loads[n++] = pull->load_N;
  }
  return n;
}

static void say_trend(struct be_doc *doc, const struct survey *survey, const struct plain_set *set,
                      const struct be_drift *drift, const struct be_summary *summary)
{
  double percent = 100 / summary->mean;
  const char *soak = be_soak_word(set->like->soak), *how = be_pulled_words(survey, set->like);
  const char *interval = be_interval_words(survey, percent * drift->slope_interval.low,
                                           percent * drift->slope_interval.high, 2);
  if (drift->slope_p < doubtful)
    be_doc_sentence(doc,
                    "Over its %zu pulls (%s, %s) the plain line %s by %s %% of its mean a pull%s, "
                    "p = %.2g: look at the rig, at the age of the line, and at how it was stored.",
                    summary->n, soak, how, drift->slope < 0 ? "fell" : "rose",
                    be_number_words(survey, fabs(percent * drift->slope), 2), interval,
                    drift->slope_p);
  else
    be_doc_note(doc,
                "Over its %zu pulls (%s, %s) no trend can be told from chance: %s %% of the mean a "
                "pull%s, p = %.2g (Theil and Sen, Kendall).",
                summary->n, soak, how, be_number_words(survey, percent * drift->slope, 2), interval,
                drift->slope_p);
}

static enum be_status say_drift(struct be_doc *doc, const struct survey *survey,
                                const struct line_pulls *pulls, const struct plain_set *set,
                                struct be_err *err)
{
  double *loads = be_arena_alloc(survey->arena, (pulls->plain_count + 1) * sizeof *loads);
  if (!loads) return be_no_memory(err);
  struct be_summary summary;
  size_t n = loads_of(pulls, set, loads);
  be_summary_of(loads, n, &summary);
  if (n < DRIFT_FROM || n > BE_HODGES_LEHMANN_MAX || !(summary.sd > 0)) return BE_OK;
  double *scratch = be_alloc_array(n * (n - 1) / 2 + n, sizeof *scratch);
  if (!scratch) return be_no_memory(err);
  struct be_drift drift;
  be_drift_of(loads, n, survey->how.level, scratch, &drift);
  be_free(scratch);
  say_trend(doc, survey, set, &drift, &summary);
  return BE_OK;
}

static bool same_row(const struct be_pull *a, const struct be_pull *b)
{
  bool same =
      a->session && b->session ? strcmp(a->session, b->session) == 0 : !a->session && !b->session;
  return same && a->soak == b->soak && be_pulled_alike(a, b);
}

struct strip {
  const struct survey *survey;
  struct be_figure *figure;
  struct be_buf words;
  struct cell_look look;
  bool alike; /* all were pulled in one way */
};

static void draw_mean(struct strip *strip, double mean_N, const struct be_interval *by, size_t n,
                      double y)
{
  const double low = be_shown(strip->survey, by->low), high = be_shown(strip->survey, by->high);
  be_figure_means(strip->figure, "mean");
  be_figure_tell_number(strip->figure, "n", (double)n);
  be_figure_bar(strip->figure, be_shown(strip->survey, mean_N), y, BE_TONE_INK);
  be_figure_within(strip->figure, true, &low, &high);
  be_figure_means(strip->figure, NULL);
  if (!isnan(low)) be_figure_span(strip->figure, low, high, y, false, BE_TONE_INK);
}

static void draw_row(struct strip *strip, const struct be_pull *const *pulls, const bool *in,
                     size_t count, const struct be_pull *like)
{
  static const enum be_fill fills[] = {[BE_KIND_UNKNOWN] = BE_FILL_SOLID,
                                       [BE_KIND_EVENT] = BE_FILL_SOLID,
                                       [BE_KIND_BOUND] = BE_FILL_OPEN,
                                       [BE_KIND_VOID] = BE_FILL_CROSS};
  const struct survey *survey = strip->survey;
  double *loads = be_arena_alloc(survey->arena, count * sizeof *loads);
  size_t n = 0;
  for (size_t i = 0; loads && i < count; i++)
    if (in[i] && pulls[i]->kind == BE_KIND_EVENT) loads[n++] = pulls[i]->load_N;
  struct be_summary summary;
  be_summary_of(loads, n, &summary);
  struct be_estimate estimate = be_estimate_mean(&summary);
  struct be_interval mean = be_load_interval(&estimate, survey->how.level);
  const char *name = be_arena_format(survey->arena, "%s, %s%s%s",
                                     like->session ? like->session : "session not recorded",
                                     be_soak_word(like->soak), strip->alike ? "" : ", ",
                                     strip->alike ? "" : be_pulled_words(survey, like));
  const char *note = be_arena_format(survey->arena, "n = %zu", n);
  double y = be_figure_row(strip->figure, name ? name : "?", note ? note : "?");
  for (size_t i = 0; i < count; i++) {
    if (!in[i] || isnan(pulls[i]->load_N)) continue;
    be_figure_means(strip->figure, "%s", be_kind_word(pulls[i]->kind));
    be_figure_tell(strip->figure, "specimen", pulls[i]->code);
    be_figure_mark(strip->figure, be_shown(survey, pulls[i]->load_N), y, strip->look.shape,
                   fills[pulls[i]->kind], strip->look.tone);
  }
  be_figure_tell_nothing(strip->figure);
  if (n) draw_mean(strip, summary.mean, &mean, n, y);
  be_figure_tell_nothing(strip->figure);
  be_buf_format(&strip->words, "%s%s: ", strip->words.size ? "; " : "", name ? name : "?");
  if (n)
    be_buf_format(&strip->words, "mean %.*f %s%s, ", survey->decimals + 1,
                  be_shown(survey, summary.mean), survey->how.unit->name,
                  be_interval_words(survey, be_shown(survey, mean.low), be_shown(survey, mean.high),
                                    survey->decimals + 1));
  be_buf_format(&strip->words, "n = %zu", n);
}

/* Rows in the order of their first pull; the last ones when there are very many. */
static enum be_status draw_rows(struct strip *strip, const struct line_pulls *pulls,
                                struct be_err *err)
{
  size_t count = pulls->plain_count, rows = 0;
  size_t *row = be_alloc_array(count, sizeof *row);
  size_t *first = be_alloc_array(count, sizeof *first);
  bool *in = be_alloc_array(count, sizeof *in);
  enum be_status status = row && first && in ? BE_OK : be_no_memory(err);
  for (size_t i = 0; i < count && status == BE_OK; i++) {
    size_t at = 0;
    while (at < rows && !same_row(pulls->plain[first[at]], pulls->plain[i])) at++;
    if (at == rows) first[rows++] = i;
    row[i] = at;
  }
  for (size_t at = rows > ROWS_MAX ? rows - ROWS_MAX : 0; at < rows && status == BE_OK; at++) {
    for (size_t i = 0; i < count; i++) in[i] = row[i] == at;
    draw_row(strip, pulls->plain, in, count, pulls->plain[first[at]]);
  }
  be_free(in);
  be_free(first);
  be_free(row);
  return status;
}

static enum be_status draw_strip(struct be_doc *doc, const struct survey *survey, int line,
                                 const struct line_pulls *pulls, struct be_err *err)
{
  struct strip strip = {.survey = survey, .alike = true};
  double largest = 0;
  for (size_t i = 0; i < pulls->plain_count; i++) {
    if (pulls->plain[i]->load_N > largest) largest = pulls->plain[i]->load_N;
    strip.alike = strip.alike && be_pulled_alike(pulls->plain[i], pulls->plain[0]);
  }
  if (!(largest > 0)) return BE_OK;
  strip.look = be_look_of_line(survey, line);
  const char *title = be_arena_format(survey->arena, "Plain %s, session by session",
                                      be_line_words(survey, (size_t)line));
  const char *subtitle = be_arena_format(
      survey->arena, "Every plain pull, the mean of each session and its %g %% interval",
      100 * survey->how.level);
  if (!title || !subtitle) return be_no_memory(err);
  strip.figure = be_figure_create(title, subtitle, figure_width, 0);
  be_figure_x(strip.figure, be_head(survey, "load"), 0, 1.05 * be_shown(survey, largest), false);
  be_figure_columns(strip.figure, "session", NULL, NULL);
  be_buf_init(&strip.words, 1 << 20);
  enum be_status status = draw_rows(&strip, pulls, err);
  be_buf_text(&strip.words, ". Filled marks are events, open ones with an arrow lower bounds, "
                            "crossed ones voids.");
  if (status == BE_OK) status = be_buf_status(&strip.words, err);
  if (status == BE_OK) {
    be_figure_twin(strip.figure, "%s", strip.words.data);
    be_doc_figure(doc, strip.figure);
  } else be_figure_free(strip.figure);
  be_buf_free(&strip.words);
  return status;
}

/* ---- what is recorded ---- */

static void row(struct be_table *table, const char *what, const char *value)
{
  be_table_text(table, "%s", what);
  be_table_text(table, "%s", value ? value : "not recorded");
}

static const char *metres(const struct survey *survey, double value)
{
  return isnan(value) ? NULL : be_arena_format(survey->arena, "%.1f m", value);
}

static void say_record(struct be_doc *doc, const struct survey *survey, const struct be_line *line,
                       const struct line_state *state)
{
  static const struct be_column columns[] = {
      {"field", "recorded", BE_COLUMN_TEXT, false},
      {"value", "", BE_COLUMN_TEXT, false},
  };
  struct be_arena *arena = survey->arena;
  struct be_table *table = be_doc_table(doc, "line", "The record of this spool", columns, 2);
  bool never = isnan(line->counted_m);
  row(table, "line", line->name);
  row(table, "spool", line->spool);
  row(table, "material", line->material);
  row(table, "label", line->label);
  row(table, "size", line->size);
  row(table, "measured diameter",
      isnan(line->diameter_m) ? NULL : be_arena_format(arena, "%.3f mm", line->diameter_m * 1000));
  row(table, "lot", line->lot);
  row(table, "construction", line->construction);
  row(table, "source", line->source);
  row(table, "opened", line->opened);
  row(table, "last count", never ? "never counted" : metres(survey, line->counted_m));
  row(table, "counted", never ? "never" : line->counted);
  row(table, "specimens pulled since",
      never ? "not counted" : be_arena_format(arena, "%zu", line->used_since));
  row(table, "on hand now", never ? "not known" : metres(survey, line->on_hand_m));
  row(table, "trials still need",
      be_arena_format(arena, "%zu specimen%s%s%s", state->needed_specimens,
                      state->needed_specimens == 1 ? "" : "s", isnan(state->needed_m) ? "" : ", ",
                      isnan(state->needed_m) ? "" : metres(survey, state->needed_m)));
  row(table, "pulls that use it", be_arena_format(arena, "%zu", state->pulls));
}

/* ---- its joints ---- */

static size_t pulls_on(const struct cell *cell, int line)
{
  size_t count = 0;
  for (size_t i = 0; i < cell->count; i++)
    count += cell->pulls[i]->line_a == line || cell->pulls[i]->line_b == line;
  return count;
}

static void say_joints(struct be_doc *doc, const struct survey *survey, int line)
{
  static const struct be_column columns[] = {
      {"combination", "combination", BE_COLUMN_TEXT, false},
      {"knot", "knot", BE_COLUMN_TEXT, false},
      {"on_this", "pulls on this spool", BE_COLUMN_COUNT, false},
      {"n", "n", BE_COLUMN_NUMBER, false},
      {"efficiency_percent", "efficiency (%)", BE_COLUMN_NUMBER, false},
      {"efficiency_percent", "log-ratio", BE_COLUMN_INTERVAL, false},
      {"divided_by", "divided by", BE_COLUMN_TEXT, false},
  };
  struct be_table *table = NULL;
  for (size_t i = 0; i < survey->cells_count; i++) {
    const struct cell *cell = &survey->cells[i];
    size_t on_this = pulls_on(cell, line);
    if (on_this == 0 || be_is_plain(&survey->combinations[cell->combination])) continue;
    if (!table) table = be_doc_table(doc, "joints", "Knots tied on it", columns, 7);
    struct be_interval kept = be_interval_percent(&cell->efficiency);
    int percent = be_percent_decimals(&cell->efficiency);
    be_table_text(table, "%s", survey->combinations[cell->combination].name);
    be_table_text(table, "%s", be_cell_name(survey, cell));
    be_table_link(table, "/cell?at=%zu", i);
    be_table_count(table, on_this, cell->count);
    be_table_number(table, (double)cell->n, 0);
    be_table_number(table, 100 * cell->efficiency.value, percent);
    be_table_interval(table, kept.low, kept.high, percent);
    be_table_text(table, "%s",
                  cell->plain.match ? survey->line_names[cell->plain.line] : "no plain line");
  }
  if (table)
    be_doc_note(doc, "Figures are those of the knot in the combination, over all spools of it.");
}

enum be_status be_line_doc(const struct survey *survey, size_t line, size_t from,
                           struct be_doc **out, struct be_err *err)
{
  const struct line_state *states = be_line_states(survey);
  struct line_pulls pulls;
  if (!states || !gather(survey, (int)line, &pulls)) return be_no_memory(err);
  if (from && from >= pulls.all_count)
    return be_fail(err, BE_NO, "the book does not hold so many pulls of this line");
  struct be_doc *doc = be_doc_create("line", be_line_words(survey, line));
  if (!doc) return be_no_memory(err);
  say_answer(doc, survey, (int)line, &states[line]);
  enum be_status status = BE_OK;
  for (const struct plain_set *set = next_set(survey, (int)line, NULL); set && status == BE_OK;
       set = next_set(survey, (int)line, set))
    status = say_drift(doc, survey, &pulls, set, err);
  be_say_line_doubts(doc, survey, states, (int)line);
  if (status == BE_OK) status = draw_strip(doc, survey, (int)line, &pulls, err);
  be_say_plain_sets(doc, survey, states, (int)line);
  say_record(doc, survey, &survey->record.lines[line], &states[line]);
  say_joints(doc, survey, (int)line);
  const char *address = be_arena_format(survey->arena, "/line?at=%zu&", line);
  if (pulls.all_count)
    be_table_of_pulls(doc, survey, pulls.all, pulls.all_count, from, address ? address : "");
  be_doc_fact(doc, "unit", "Unit of force", "%s", survey->how.unit->name);
  be_doc_fact(doc, "level", "Level of intervals", "%g", survey->how.level);
  return be_answer_done(survey, doc, status, out, err);
}
