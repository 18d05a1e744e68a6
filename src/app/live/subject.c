/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The specimen at the bench: what its plan and the form tell of it, and what its line will store.
 */
#include "app/anatomy/anatomy.h"
#include "app/live/live.h"
#include "app/survey/survey.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* ---- what is known of it ---- */

static const struct be_subject nothing = {
    .knot = BE_NO_INDEX, .line_a = BE_NO_INDEX, .line_b = BE_NO_INDEX, .length_m = NAN};

struct be_subject be_subject_planned(const struct survey *survey, const char *code)
{
  struct be_subject subject = nothing;
  for (size_t t = 0; t < survey->record.trials_count; t++)
    for (size_t i = 0; i < survey->record.trials[t].planned_count; i++) {
      const struct be_planned *planned = &survey->record.trials[t].planned[i];
      if (!be_text_same(planned->code, code)) continue;
      subject.trial = &survey->record.trials[t];
      subject.planned = planned;
      subject.knot = planned->knot;
      subject.line_a = planned->line_a;
      subject.line_b = planned->line_b;
      subject.soak = planned->soak;
      subject.hardware = planned->hardware;
      subject.tyer = planned->tyer;
    }
  return subject;
}

/* The first spool that fits what was told of it. */
static int line_of(const struct survey *survey, const char *name, const char *spool, int planned)
{
  if (!name && !spool) return planned;
  for (size_t i = 0; i < survey->record.lines_count; i++) {
    const struct be_line *line = &survey->record.lines[i];
    bool named = !name || be_text_same(line->name, name);
    if (named && (!spool || (line->spool && be_text_same(line->spool, spool)))) return (int)i;
  }
  return BE_NO_INDEX;
}

static bool is_called(const struct be_knot *knot, const char *name)
{
  if (be_text_same(knot->name, name) || be_text_same(knot->full, name)) return true;
  for (const char *at = knot->aliases; at && *at;) {
    char alias[100];
    size_t length = strcspn(at, ",");
    snprintf(alias, sizeof alias, "%.*s", (int)length, at);
    if (be_text_same(alias, name)) return true;
    at += length + (at[length] == ',');
    at += strspn(at, " ");
  }
  return false;
}

/* The one knot that is called so, for what the book makes of it when the pull is entered. */
static int knot_of(const struct survey *survey, const struct be_told *told, int planned)
{
  const char *name = be_told_value(told, "knot"), *version = be_told_value(told, "version");
  int found = BE_NO_INDEX;
  if (!name) return planned;
  for (size_t i = 0; i < survey->record.knots_count; i++) {
    const struct be_knot *knot = &survey->record.knots[i];
    if (!is_called(knot, name)) continue;
    if (version && !(knot->version && be_text_same(knot->version, version))) continue;
    if (found != BE_NO_INDEX) return BE_NO_INDEX;
    found = (int)i;
  }
  return found;
}

static const char *kept(const struct survey *survey, const char *told, const char *planned)
{
  return told ? be_arena_text(survey->arena, told, strlen(told)) : planned;
}

static void take_told(const struct survey *survey, const struct be_told *told,
                      struct be_subject *subject)
{
  struct be_quantity length;
  const char *soak = be_told_value(told, "soak"), *free_length = be_told_value(told, "free length");
  const char *tyer = be_told_value(told, "tyer");
  if (!soak && !subject->soak) soak = be_evening_value(told, "soak");
  if (!free_length) free_length = be_evening_value(told, "free length");
  if (!tyer && !subject->tyer) tyer = be_evening_value(told, "tyer");
  subject->knot = knot_of(survey, told, subject->knot);
  subject->line_a = line_of(survey, be_told_value(told, "line A"), be_told_value(told, "spool A"),
                            subject->line_a);
  subject->line_b = line_of(survey, be_told_value(told, "line B"), be_told_value(told, "spool B"),
                            subject->line_b);
  subject->hardware = kept(survey, be_told_value(told, "hardware"), subject->hardware);
  subject->tyer = kept(survey, tyer, subject->tyer);
  if (soak) subject->soak = be_text_same(soak, "dry") ? BE_SOAK_DRY : BE_SOAK_SOAKED;
  if (free_length &&
      be_quantity_parse(free_length, strlen(free_length), BE_LENGTH,
                        be_unit_find_in(BE_LENGTH, "mm", 2), '.', &length, NULL) == BE_OK)
    subject->length_m = length.value;
}

enum be_status be_subject_of(const struct survey *survey, const struct be_session_view *view,
                             struct be_subject *subject, struct be_err *err)
{
  struct be_told told;
  *subject = be_subject_planned(survey, view->specimen);
  char *text = be_arena_text(survey->arena, view->told, strlen(view->told));
  if (!text) return be_no_memory(err);
  if (be_told_read(text, &told)) take_told(survey, &told, subject);
  return BE_OK;
}

/* ---- where it stands ---- */

struct evening {
  size_t at, of, left, trial_left;
};

static struct evening evening_of(const struct be_trial *trial, const struct be_planned *planned)
{
  struct evening evening = {0};
  for (size_t i = 0; i < trial->planned_count; i++) {
    const struct be_planned *other = &trial->planned[i];
    bool waits = other->pull == BE_NO_INDEX;
    evening.trial_left += waits;
    if (isnan(planned->block) ? !isnan(other->block) : other->block != planned->block) continue;
    evening.of++;
    evening.left += waits;
    if (other == planned) evening.at = evening.of;
  }
  return evening;
}

static const char *lines_words(const struct survey *survey, const struct be_subject *subject)
{
  const struct be_line *lines = survey->record.lines;
  const char *a = lines[subject->line_a].name;
  const char *to = subject->line_b >= 0 ? lines[subject->line_b].name : subject->hardware;
  const char *words = be_arena_format(survey->arena, "%s%s%s", a, to ? " to " : "", to ? to : "");
  return words ? words : a;
}

void be_say_subject(struct be_doc *doc, const struct survey *survey,
                    const struct be_subject *subject, bool lines)
{
  const char *tied = subject->tyer ? ", tied by " : "", *tyer = subject->tyer ? subject->tyer : "";
  if (lines && subject->line_a >= 0)
    be_doc_sentence(doc, "Its lines: %s%s%s.", lines_words(survey, subject), tied, tyer);
  else if (subject->tyer) be_doc_sentence(doc, "Tied by %s.", tyer);
  if (!subject->planned) return;
  struct evening evening = evening_of(subject->trial, subject->planned);
  if (isnan(subject->planned->block))
    be_doc_sentence(doc, "Trial %s, %zu of %zu; still to pull: %zu.", subject->trial->name,
                    evening.at, evening.of, evening.trial_left);
  else
    be_doc_sentence(doc,
                    "Trial %s, block %.10g, %zu of %zu; still to pull: %zu of this block, %zu in "
                    "all.",
                    subject->trial->name, subject->planned->block, evening.at, evening.of,
                    evening.left, evening.trial_left);
}

/* ---- what is stored ---- */

double be_stored_J(double load_N, double stretch, double length_m)
{
  return load_N * stretch * length_m / 2;
}

double be_speed_m_s(double energy_J, double mass_kg)
{
  return sqrt(2 * energy_J / mass_kg);
}

/* Stretch at the breaking load, of the free length. From memory of the trade: an order of
 * magnitude for a caution, and no measurement. What is not listed is not known. */
static double stretch_of(const struct be_line *line)
{
  static const struct {
    const char *material;
    double stretch;
  } known[] = {{"nylon", 0.25}, {"braid", 0.04}};
  for (size_t i = 0; line->material && i < sizeof known / sizeof known[0]; i++)
    if (be_text_same(line->material, known[i].material)) return known[i].stretch;
  return NAN;
}

struct strength {
  double load_N;
  const char *by; /* "plain line", "its label" */
};

/* As plain lines of the spool held in this soak, else of any; else of the line; else its label. */
static struct strength strength_of(const struct survey *survey, int line, enum be_soak soak)
{
  struct strength found = {survey->record.lines[line].label_N, "its label"};
  int best = 0;
  for (size_t i = 0; i < survey->sets_count; i++) {
    const struct plain_set *set = &survey->sets[i];
    if (survey->name_of_line[set->line] != survey->name_of_line[line]) continue;
    int fit = 1 + 2 * (set->line == line) + (set->like->soak == soak);
    if (fit <= best) continue;
    best = fit;
    found = (struct strength){set->mean, "as its plain line held"};
  }
  return found;
}

/* The weaker of its lines tells the load; two unlike lines share the free length evenly. */
struct stored {
  struct strength strength;
  double stretch;
  int line;            /* that tells the load */
  const char *lacking; /* null: all is known */
};

static struct stored stored_of(const struct survey *survey, const struct be_subject *subject)
{
  struct stored stored = {.line = subject->line_a};
  const struct be_line *lines = survey->record.lines;
  if (subject->line_a < 0) return (struct stored){.lacking = "which line it is"};
  int b = subject->line_b >= 0 ? subject->line_b : subject->line_a;
  struct strength other = strength_of(survey, b, subject->soak);
  stored.strength = strength_of(survey, subject->line_a, subject->soak);
  stored.stretch = (stretch_of(&lines[subject->line_a]) + stretch_of(&lines[b])) / 2;
  if (other.load_N < stored.strength.load_N) stored.strength = other, stored.line = b;
  if (isnan(stored.strength.load_N) || isnan(other.load_N)) stored.lacking = "what its line holds";
  else if (isnan(stored.stretch)) stored.lacking = "how far its line stretches";
  return stored;
}

/* That of the last pull that told it. */
static double last_length(const struct survey *survey)
{
  for (size_t i = survey->record.pulls_count; i-- > 0;)
    if (!isnan(survey->record.pulls[i].length_m)) return survey->record.pulls[i].length_m;
  return NAN;
}

void be_say_energy(struct be_doc *doc, const struct survey *survey,
                   const struct be_subject *subject)
{
  static const double swivel_kg = 0.005;
  struct stored stored = stored_of(survey, subject);
  if (stored.lacking) {
    be_doc_sentence(doc,
                    "How much energy is stored when it lets go is not known, for the book "
                    "does not tell %s: take it for much.",
                    stored.lacking);
    return;
  }
  bool told = !isnan(subject->length_m);
  double length = told ? subject->length_m : last_length(survey);
  double energy = be_stored_J(stored.strength.load_N, stored.stretch, isnan(length) ? 1 : length);
  const char *over = isnan(length) ? "a metre of free length"
                                   : be_arena_format(survey->arena, "%.3g m of free length%s",
                                                     length, told ? "" : ", as the pull before");
  be_doc_sentence(doc,
                  "About %.2g J when it lets go: a 5 g swivel would leave at about %.2g m/s. (At "
                  "%.*f %s, %s, %s, and %.2g %% stretch over %s.)",
                  energy, be_speed_m_s(energy, swivel_kg), survey->decimals,
                  be_shown(survey, stored.strength.load_N), survey->how.unit->name,
                  survey->record.lines[stored.line].name, stored.strength.by, 100 * stored.stretch,
                  over ? over : "?");
}

/* ---- which knot ---- */

/* Only its address is made here: it is drawn when who looks opens the fold. */
static void write_tie(struct be_buf *html, const struct survey *survey, const struct be_knot *knot)
{
  if (be_text_same(knot->tie, "none")) return;
  const char *address = be_tie_address(survey->arena, "/tie.svg", knot->tie);
  if (!address || !*address) return;
  be_buf_text(html, "<p class=\"picture\"><img loading=\"lazy\" src=\"");
  be_markup_text(html, address);
  be_buf_text(html, "\" alt=\"The ");
  be_markup_text(html, knot->full);
  be_buf_text(html, ", as its tie is drawn\"></p>\n");
}

void be_write_which_knot(struct be_buf *html, const struct survey *survey,
                         const struct be_subject *subject)
{
  if (subject->knot < 0) return;
  const struct be_knot *knot = &survey->record.knots[subject->knot];
  be_buf_text(html,
              "<details><summary>Which knot it is (leave it closed to judge blind)</summary>\n"
              "<p>");
  be_markup_text(html, knot->full);
  be_buf_text(html, "</p>\n");
  if (knot->picture) {
    be_buf_format(html, "<p class=\"picture\"><img src=\"/picture?of=%lld\" alt=\"The ",
                  (long long)knot->picture);
    be_markup_text(html, knot->full);
    be_buf_text(html, ", as it is tied\"></p>\n");
  } else if (knot->tie) {
    write_tie(html, survey, knot);
  }
  be_buf_text(html, "</details>\n");
}
