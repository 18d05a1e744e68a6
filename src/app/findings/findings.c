/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The document: all that was asked, judged together, then said. */
#include "app/findings/findings.h"

#include <math.h>

/* The kinds, in the order in which they are said, and what is missing where a kind finds nothing
 * to ask. */
static const struct kind_of_finding {
  const char *name;
  finder *find;
  const char *asks, *none;
} kinds[] = {
    {"failure side", be_find_sides, "which of two materials lets go in a joint",
     "no joint of two unlike materials tells which line parted at the knot: write it down as "
     "which"},
    {"turns", be_find_turns, "what a turn more goes with",
     "no knot was tied with two numbers of turns in one combination, on the same spools or with "
     "plain lines of each, two events each: that is what would tell"},
    {"version", be_find_versions, "whether the way a knot is tied matters",
     "no knot was tied in two versions in one combination, on the same spools or with plain lines "
     "of each, two events each: that is what would tell"},
    {"hitch or bend", be_find_hitches, "what a knot gains on hardware",
     "no knot was tied both on hardware and between two lines and divided by the same plain line "
     "of its own spool: that is what would tell"},
    {"soak", be_find_soak, "what soaking does",
     "no spool was pulled both soaked and dry, plain or with one knot: that is what would tell"},
    {"tyer", be_find_tyers, "whether the tyer matters",
     "no two tyers tied one knot on the same spools: that is what would tell"},
    {"order", be_find_order, "whether loads drift over a session or from one to the next",
     "no session has two pulls of one kind with their order written down: that is what would tell"},
    {"slips", be_find_slips, "whether a knot slips out more often in one material than in another",
     "no knot that slipped was tied in two materials: that is what would tell"},
    {"structure", be_find_structure, "whether the build of a knot goes with its strength", ""},
};
enum { KINDS = sizeof kinds / sizeof kinds[0] };

/* ---- asking ---- */

static enum be_status ask_all(struct findings *findings, struct be_err *err)
{
  enum be_status status = BE_OK;
  for (size_t i = 0; i < KINDS && status == BE_OK; i++) {
    size_t before = findings->count;
    findings->kind = kinds[i].name;
    status = kinds[i].find(findings, err);
    if (status != BE_OK || findings->count > before) continue;
    struct finding *none = be_finding_add(findings, err);
    if (!none) return BE_NO_MEMORY;
    none->asks = kinds[i].asks;
    none->settle = kinds[i].none;
  }
  return status;
}

/* What so few pulls could never show counts for nothing: it cannot be found by chance either
 * (Tarone, Biometrics 46, 1990). */
static bool is_tested(const struct finding *finding, double alpha)
{
  return !isnan(finding->p) && finding->least_p <= alpha;
}

static enum be_status judge(struct findings *findings, size_t *tested, struct be_err *err)
{
  const struct be_answering *how = &findings->survey->how;
  double alpha = 1 - how->level;
  double *p = be_arena_alloc(findings->survey->arena, (findings->count + 1) * sizeof *p);
  if (!p) return be_no_memory(err);
  size_t at = 0;
  *tested = 0;
  for (struct finding *f = findings->first; f; f = f->next) {
    p[at++] = is_tested(f, alpha) ? fmin(1, f->p) : NAN;
    *tested += is_tested(f, alpha);
  }
  enum be_status status = be_holm(p, at, p, err);
  at = 0;
  for (struct finding *f = findings->first; f && status == BE_OK; f = f->next) {
    f->adjusted = p[at++];
    f->verdict = isnan(f->adjusted)     ? FINDING_TOO_FEW
                 : f->adjusted <= alpha ? FINDING_SUPPORTED
                                        : FINDING_NOT_APART;
    if (f->verdict == FINDING_NOT_APART && f->effect > 0)
      f->needed = ceil(2 * be_power_two_n(f->effect, alpha / (double)*tested, how->power));
  }
  return status;
}

/* What can be said first, what cannot after it, each in the order asked. */
static enum be_status put_in_order(const struct findings *findings, struct finding ***list,
                                   size_t *said, struct be_err *err)
{
  size_t at = 0;
  *list = be_arena_alloc(findings->survey->arena, (findings->count + 1) * sizeof **list);
  if (!*list) return be_no_memory(err);
  for (struct finding *f = findings->first; f; f = f->next)
    if (f->verdict == FINDING_SUPPORTED) (*list)[at++] = f;
  *said = at;
  for (struct finding *f = findings->first; f; f = f->next)
    if (f->verdict != FINDING_SUPPORTED) (*list)[at++] = f;
  return BE_OK;
}

struct judged {
  struct findings all;
  struct finding **list;
  size_t said, tested;
};

static enum be_status find_all(const struct survey *survey, struct judged *judged,
                               struct be_err *err)
{
  enum be_status status = be_findings_begin(&judged->all, survey, err);
  if (status == BE_OK) status = ask_all(&judged->all, err);
  if (status == BE_OK) status = judge(&judged->all, &judged->tested, err);
  if (status == BE_OK) status = put_in_order(&judged->all, &judged->list, &judged->said, err);
  return status;
}

/* ---- saying ---- */

static const char *or_none(const char *words)
{
  return words ? words : "";
}

/* "27.1 % relative [21.0, 33.4], 14.2 pts [...] of the line; n = 96" */
static const char *figures(const struct survey *survey, const struct finding *f)
{
  if (isnan(f->value)) return be_arena_format(survey->arena, "n = %zu", f->n);
  bool known = !isnan(f->interval.low);
  /* No "-0.0". */
  double value = fabs(f->value) < 0.5 * pow(10, -f->decimals) ? 0 : f->value;
  const char *interval =
      known ? be_interval_words(survey, f->interval.low, f->interval.high, f->decimals) : "";
  return be_arena_format(survey->arena, "%.*f %s%s%s%s; n = %zu", f->decimals, value, f->unit,
                         interval, f->more ? ", " : "", or_none(f->more), f->n);
}

enum { LEAST_TO_RECKON = 3 }; /* pulls: the scatter of fewer says nothing of how many it takes */

static const char *too_few_words(const struct survey *survey, const struct finding *f)
{
  double alpha = 1 - survey->how.level;
  const char *least = be_chance_words(survey, f->least_p), *asked = be_chance_words(survey, alpha);
  return be_arena_format(survey->arena,
                         "the clearest that so few %s can show comes by chance alone %s (p %.2g), "
                         "and %s (p %.2g) at most is asked for",
                         f->units, or_none(least), f->least_p, or_none(asked), alpha);
}

static const char *settle_words(const struct survey *survey, const struct finding *f)
{
  size_t fewest = f->fewest ? f->fewest : f->n;
  if (isnan(f->value)) return or_none(f->settle);
  if (isnan(f->p)) return "their scatter is not known";
  if (f->verdict == FINDING_TOO_FEW) return too_few_words(survey, f);
  if (f->settle) return f->settle;
  if (fewest < LEAST_TO_RECKON)
    return be_arena_format(survey->arena,
                           "how many more would tell cannot be reckoned from %zu pull%s%s: pull %d "
                           "of each at least",
                           fewest, be_plural(fewest), f->fewest ? " on one side" : "",
                           LEAST_TO_RECKON);
  if (!(f->needed < 10000)) return "no practical number of pulls would show as little as this";
  if (f->needed <= (double)f->n)
    return "it is not enough for all that is asked here at once, though it might be by itself";
  double step = pow(10, fmax(0, floor(log10(f->needed)) - 1));
  return be_arena_format(survey->arena,
                         "about %.0f such pulls in all would show as much, at %g %% power, among "
                         "all that is asked",
                         step * ceil(f->needed / step), 100 * survey->how.power);
}

/* The whole sentence. */
static const char *sentence(const struct survey *survey, const struct finding *f)
{
  const char *words = figures(survey, f), *text;
  if (f->verdict == FINDING_SUPPORTED)
    text = be_arena_format(survey->arena, "%s: %s.", or_none(f->says), or_none(words));
  else if (f->n == 0)
    text = be_arena_format(survey->arena, "Cannot say %s: %s.", or_none(f->asks),
                           or_none(settle_words(survey, f)));
  else
    text = be_arena_format(survey->arena, "Cannot say %s: %s; %s.", or_none(f->asks),
                           or_none(words), or_none(settle_words(survey, f)));
  return or_none(text);
}

static void say_first(struct be_doc *doc, const struct survey *survey, const struct judged *judged)
{
  size_t pulls = survey->record.pulls_count, open = judged->all.count - judged->said;
  double percent = 100 * survey->how.level;
  const char *these =
      pulls == 1 ? "this one pull" : be_arena_format(survey->arena, "these %zu pulls", pulls);
  if (pulls == 0) be_doc_sentence(doc, "Nothing can be said yet: the book holds no pulls.");
  else if (judged->said == 0)
    be_doc_sentence(doc,
                    "Nothing that is asked here can be said of %s, at %g %% over all of it "
                    "together.",
                    or_none(these), percent);
  else
    be_doc_sentence(doc,
                    "%zu thing%s can be said of %s, %zu cannot, at %g %% over all of them "
                    "together.",
                    judged->said, be_plural(judged->said), or_none(these), open, percent);
}

static const char *verdict_word(enum verdict verdict)
{
  static const char *const words[] = {"supported", "not told apart", "too few"};
  return words[verdict];
}

static void finding_row(struct be_table *table, const struct survey *survey,
                        const struct finding *f, size_t at)
{
  be_table_number(table, (double)at + 1, 0);
  be_table_text(table, "%s", f->kind);
  be_table_text(table, "%s", or_none(f->place));
  be_table_number(table, (double)f->n, 0);
  if (f->n) be_table_link(table, "/findings?at=%zu", at);
  be_table_number(table, f->value, f->decimals);
  be_table_text(table, "%s", f->unit);
  be_table_interval(table, f->interval.low, f->interval.high, f->decimals);
  be_table_probability(table, f->p);
  be_table_probability(table, f->adjusted);
  be_table_text(table, "%s", verdict_word(f->verdict));
  be_table_text(table, "%s", sentence(survey, f));
}

static struct be_table *begin_table(struct be_doc *doc, const char *name, const char *title)
{
  static const struct be_column columns[] = {
      {"number", "", BE_COLUMN_NUMBER, false},
      {"about", "about", BE_COLUMN_TEXT, false},
      {"pulls_of", "pulls of", BE_COLUMN_TEXT, false},
      {"n", "n", BE_COLUMN_NUMBER, false},
      {"value", "value", BE_COLUMN_NUMBER, false},
      {"unit", "", BE_COLUMN_TEXT, false},
      {"interval", "interval", BE_COLUMN_INTERVAL, false},
      {"p", "p", BE_COLUMN_NUMBER, false},
      {"p_adjusted", "p of all", BE_COLUMN_NUMBER, false},
      {"verdict", "", BE_COLUMN_TEXT, true},
      {"sentence", "", BE_COLUMN_TEXT, true},
  };
  return be_doc_table(doc, name, title, columns, sizeof columns / sizeof columns[0]);
}

static void say_part(struct be_doc *doc, const struct survey *survey, const struct judged *judged,
                     size_t from, size_t to, const char *name, const char *heading)
{
  if (from == to) return;
  be_doc_heading(doc, "%s", heading);
  for (size_t i = from; i < to; i++)
    be_doc_sentence(doc, "%zu. %s", i + 1, sentence(survey, judged->list[i]));
  struct be_table *table = begin_table(doc, name, "The figures, and the pulls behind");
  for (size_t i = from; i < to; i++) finding_row(table, survey, judged->list[i], i);
}

static void say_method(struct be_doc *doc, const struct survey *survey, const struct judged *judged)
{
  be_doc_note(doc,
              "Tested together: %zu, by Holm, so that the chance that any of them is said wrongly "
              "is at most %.2g. Intervals are at %g %%, each by itself: one may leave out 0 where "
              "the finding is not supported among all.",
              judged->tested, 1 - survey->how.level, 100 * survey->how.level);
  be_doc_note(
      doc, "Only pulls that differ in what is asked about are compared: the same combination, and "
           "the same spools, speed, length and bench, or each divided by its own plain line; "
           "what two tyers hold, in the same session too. Voids are left out. Lower bounds stand "
           "in the means where strength says so, and not in what is said of tyers, order and "
           "slips. Slips are pulls like any other, but are left out of what tyers hold and "
           "scatter by, and of order.");
  be_doc_note(doc,
              "\"Went with\" is all that such pulls can show: whatever else differed between them "
              "(the day, who tied, what the knots share) may be behind it. Relative per cent is of "
              "the second named, of dry, or a step; points are of all pulls, or of the line.");
  be_doc_note(doc,
              "In brackets: rho tells how far two orders agree, from -1 (turned round) over 0 to 1 "
              "(the same), and p how often chance alone does as much, of 1.");
  be_doc_fact(doc, "said", "Said", "%zu", judged->said);
  be_doc_fact(doc, "not_said", "Not said", "%zu", judged->all.count - judged->said);
  be_doc_fact(doc, "tested", "Tested together", "%zu", judged->tested);
  be_doc_fact(doc, "pulls", "Pulls", "%zu", survey->record.pulls_count);
  be_doc_fact(doc, "level", "Level", "%g", survey->how.level);
  be_doc_fact(doc, "seed", "Seed", "%llu", (unsigned long long)survey->how.seed);
}

enum be_status be_findings_doc(const struct survey *survey, struct be_doc **out, struct be_err *err)
{
  struct judged judged;
  be_progress_step("looking for findings", NULL, 0);
  enum be_status status = find_all(survey, &judged, err);
  if (status != BE_OK) return status;
  struct be_doc *doc = be_doc_create("findings", "Findings");
  if (!doc) return be_no_memory(err);
  say_first(doc, survey, &judged);
  say_part(doc, survey, &judged, 0, judged.said, "findings", "What the pulls say");
  be_say_never_slipped(doc, survey);
  say_part(doc, survey, &judged, judged.said, judged.all.count, "open", "What cannot be said yet");
  say_method(doc, survey, &judged);
  return be_answer_done(survey, doc, be_say_departures(doc, survey, err), out, err);
}

/* ---- one of them ---- */

enum be_status be_finding_doc(const struct survey *survey, size_t at, size_t from,
                              struct be_doc **out, struct be_err *err)
{
  struct judged judged;
  enum be_status status = find_all(survey, &judged, err);
  if (status != BE_OK) return status;
  if (at >= judged.all.count)
    return be_fail(err, BE_NO, "there are only %zu findings", judged.all.count);
  const struct finding *finding = judged.list[at];
  if (from && from >= finding->n)
    return be_fail(err, BE_NO, "there are only %zu pulls behind it", finding->n);
  struct be_doc *doc = be_doc_create("finding", "Finding");
  const struct be_pull **pulls = be_arena_alloc(survey->arena, (finding->n + 1) * sizeof *pulls);
  if (!doc || !pulls) {
    be_doc_free(doc);
    return be_no_memory(err);
  }
  size_t n = 0;
  for (size_t i = 0; i < survey->record.pulls_count; i++)
    if (finding->behind[i]) pulls[n++] = &survey->record.pulls[i];
  be_doc_sentence(doc, "%s", sentence(survey, finding));
  struct be_table *table = begin_table(doc, "finding", "The figures");
  finding_row(table, survey, finding, at);
  const char *address = be_arena_format(survey->arena, "/findings?at=%zu&", at);
  be_table_of_pulls(doc, survey, pulls, n, from, or_none(address));
  return be_answer_done(survey, doc, BE_OK, out, err);
}
