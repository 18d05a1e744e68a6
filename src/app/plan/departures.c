/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where a trial went otherwise than planned. Nothing is judged: each departure is counted and
 * named, so that readers can judge. */
#include "app/plan/plan.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* Details name so many and count the rest. */
enum { NAMED_MAX = 6 };

/* One trial, with what is known of its pulls. */
struct look {
  const struct survey *survey;
  const struct be_trial *trial;
  struct plan_grid grid;
  size_t *of;          /* the cell of each planned specimen */
  size_t *turn;        /* places in `planned`, in the order in which they were pulled */
  size_t *extra;       /* of each cell: pulls that were not planned */
  size_t *later;       /* of each cell: specimens planned when pulls had been made */
  size_t *voids;       /* of each cell: planned pulls that are void */
  size_t *place;       /* of each planned specimen that was pulled: its turn; for working */
  size_t pulled, last; /* last: index of its last pull in the record */
  size_t first;
  bool over; /* all planned were pulled, or pulls of a later day were entered */
  struct departures *out;
};

static const struct be_pull *pull_of(const struct look *look, size_t planned)
{
  int pull = look->trial->planned[planned].pull;
  return pull < 0 ? NULL : &look->survey->record.pulls[pull];
}

static void BE_PRINTF(4, 5)
    add(struct look *look, const char *what, size_t count, const char *format, ...)
{
  char text[1000];
  va_list list;
  if (count == 0) return;
  va_start(list, format);
  vsnprintf(text, sizeof text, format, list);
  va_end(list);
  if (look->out->count == DEPARTURES_MAX) {
    look->out->passed++;
    return;
  }
  const char *detail = be_arena_text(look->survey->arena, text, strlen(text));
  look->out->list[look->out->count++] = (struct departure){what, count, detail ? detail : ""};
}

/* A list of names that grows: "K7MT, 3XRF and 4 more". */
struct names {
  char text[400];
  size_t count, used;
};

static void name_one(struct names *names, const char *name)
{
  if (names->count++ >= NAMED_MAX) return;
  int put = snprintf(names->text + names->used, sizeof names->text - names->used, "%s%.50s",
                     names->used ? ", " : "", name);
  if (put > 0) names->used += (size_t)put;
}

static const char *named(struct names *names)
{
  if (names->count > NAMED_MAX)
    snprintf(names->text + names->used, sizeof names->text - names->used, " and %zu more",
             names->count - NAMED_MAX);
  names->used = strlen(names->text);
  return names->text;
}

/* ---- the order of pulling ---- */

/* By the order written down within a session; sessions, and pulls without, as entered. */
static bool comes_before(const struct be_pull *a, const struct be_pull *b)
{
  bool together = a->session && b->session && strcmp(a->session, b->session) == 0;
  if (together && !isnan(a->order) && !isnan(b->order) && a->order != b->order)
    return a->order < b->order;
  return a < b;
}

static void sort_turns(struct look *look)
{
  for (size_t i = 0; i < look->trial->planned_count; i++) {
    const struct be_pull *pull = pull_of(look, i);
    if (!pull) continue;
    size_t at = look->pulled++;
    for (; at > 0 && comes_before(pull, pull_of(look, look->turn[at - 1])); at--)
      look->turn[at] = look->turn[at - 1];
    look->turn[at] = i;
    size_t row = (size_t)(pull - look->survey->record.pulls);
    if (look->pulled == 1 || row < look->first) look->first = row;
    if (look->pulled == 1 || row > look->last) look->last = row;
  }
}

/* Of the specimens pulled, the fewest that must be taken out so that the others are in the order
 * planned: all less the longest rising run of their places. place[k]: the least end of a rising
 * run of k + 1. */
static size_t count_moved(struct look *look)
{
  size_t longest = 0;
  for (size_t i = 0; i < look->pulled; i++) {
    size_t low = 0, high = longest;
    while (low < high) {
      size_t middle = (low + high) / 2;
      if (look->place[middle] < look->turn[i]) low = middle + 1;
      else high = middle;
    }
    look->place[low] = look->turn[i];
    if (low == longest) longest++;
  }
  return look->pulled - longest;
}

/* The furthest that one stands from its place among those pulled, and which. */
static size_t find_furthest(struct look *look, size_t *which)
{
  size_t furthest = 0, rank = 0;
  for (size_t i = 0; i < look->pulled; i++) look->place[look->turn[i]] = i;
  for (size_t i = 0; i < look->trial->planned_count; i++) {
    if (look->trial->planned[i].pull < 0) continue;
    size_t turn = look->place[i], apart = turn > rank ? turn - rank : rank - turn;
    if (apart > furthest) {
      furthest = apart;
      *which = i;
    }
    rank++;
  }
  return furthest;
}

static void look_at_order(struct look *look)
{
  size_t which = 0, moved = count_moved(look), furthest = find_furthest(look, &which);
  if (moved)
    add(look, "pulled out of the planned order", moved, "at most %zu place%s off: %s", furthest,
        furthest == 1 ? "" : "s", look->trial->planned[which].code);
  struct names passed = {0};
  size_t reach = 0;
  for (size_t i = 0; i < look->pulled; i++)
    if (look->turn[i] > reach) reach = look->turn[i];
  for (size_t i = 0; look->pulled && i < reach && !look->over; i++)
    if (look->trial->planned[i].pull < 0) name_one(&passed, look->trial->planned[i].code);
  add(look, "passed over so far: planned earlier than what was pulled", passed.count, "%s",
      named(&passed));
}

/* ---- what was pulled ---- */

static void look_at_ties(struct look *look)
{
  static const char *const fields[] = {"another knot", "another line or spool", "other hardware",
                                       "another soak", "another design"};
  struct names names[5] = {{{0}, 0, 0}}, tyers = {0};
  for (size_t i = 0; i < look->trial->planned_count; i++) {
    const struct be_pull *pull = pull_of(look, i);
    const struct plan_cell *cell = &look->grid.cells[look->of[i]];
    if (!pull) continue;
    const char *code = look->trial->planned[i].code, *tyer = look->trial->planned[i].tyer;
    if (tyer && pull->tyer && !be_text_same(tyer, pull->tyer)) name_one(&tyers, code);
    if (be_plan_matches(cell, pull)) continue;
    bool knot = cell->knot != pull->knot || cell->knot_b != pull->knot_b;
    bool line = cell->line_a != pull->line_a || cell->line_b != pull->line_b;
    bool soak = cell->soak != pull->soak, design = cell->design != pull->design;
    if (knot) name_one(&names[0], code);
    if (line) name_one(&names[1], code);
    if (soak) name_one(&names[3], code);
    if (!knot && !line && !soak) name_one(&names[design ? 4 : 2], code);
  }
  for (int k = 0; k < 5; k++) {
    const char *what =
        be_arena_format(look->survey->arena, "pulled with %s than planned", fields[k]);
    add(look, what ? what : fields[k], names[k].count, "%s", named(&names[k]));
  }
  add(look, "tied by another than planned", tyers.count, "%s", named(&tyers));
}

static void count_extra(struct look *look)
{
  const struct be_record *record = &look->survey->record;
  for (size_t p = look->first; look->pulled && p < record->pulls_count; p++) {
    const struct be_pull *pull = &record->pulls[p];
    if (pull->trial >= 0) continue;
    for (size_t c = 0; c < look->grid.count; c++)
      if (be_plan_matches(&look->grid.cells[c], pull)) look->extra[c]++;
  }
  for (size_t i = 0; i < look->trial->planned_count; i++) {
    const struct be_pull *pull = pull_of(look, i);
    if (pull && pull->kind == BE_KIND_VOID) look->voids[look->of[i]]++;
    if (look->trial->planned[i].pulled_before) look->later[look->of[i]]++;
  }
}

static const char *cell_words(const struct look *look, size_t cell)
{
  const struct plan_cell *of = &look->grid.cells[cell];
  const char *words =
      be_arena_format(look->survey->arena, "%s in %s", be_plan_knot(look->survey, of),
                      be_plan_where(look->survey, of));
  return words ? words : "?";
}

static size_t less(size_t a, size_t b)
{
  return a > b ? a - b : 0;
}

/* Of a cell: what replaces no void, and the voids that nothing replaces. A void is replaced by a
 * specimen that was planned later, or not planned. */
struct surplus {
  size_t later, extra, left;
};

static struct surplus surplus_of(const struct look *look, size_t cell, bool replaced)
{
  size_t voids = replaced ? look->voids[cell] : 0;
  size_t later = look->later[cell], extra = look->extra[cell];
  return (struct surplus){less(later, voids), less(extra, less(voids, later)),
                          less(voids, later + extra)};
}

static void look_at_numbers(struct look *look)
{
  const char *replace = be_rule_in_force(look->survey, look->trial, BE_RULE_REPLACE);
  bool replaced = replace && strcmp(replace, "yes") == 0;
  size_t left = 0, more = 0, late = 0;
  struct names without = {0}, beyond = {0}, later = {0};
  for (size_t c = 0; c < look->grid.count; c++) {
    struct surplus cell = surplus_of(look, c, replaced);
    if (cell.later) name_one(&later, cell_words(look, c));
    if (cell.extra) name_one(&beyond, cell_words(look, c));
    if (cell.left && look->over) name_one(&without, cell_words(look, c));
    late += cell.later;
    more += cell.extra;
    left += look->over ? cell.left : 0;
  }
  add(look, "planned after the start, with no void to replace", late, "%s", named(&later));
  add(look, "pulled beyond the plan, in its cells, after its start", more, "%s", named(&beyond));
  add(look, "void and not replaced, though the rules replace them", left, "%s", named(&without));
}

/* Of a trial that was left: one that stops early is left when its knots are apart. */
static enum be_status look_at_the_end(struct look *look, struct be_err *err)
{
  struct names unpulled = {0};
  bool early = be_stops_early(look->survey, look->trial), apart = false;
  for (size_t i = 0; look->over && i < look->trial->planned_count; i++)
    if (look->trial->planned[i].pull < 0) name_one(&unpulled, look->trial->planned[i].code);
  if (early && unpulled.count) {
    enum be_status status = be_are_apart(look->survey, look->trial, &apart, err);
    if (status != BE_OK || apart) return status;
  }
  add(look,
      early ? "planned and not pulled, though its knots are not apart"
            : "planned and not pulled, though other pulls were entered since",
      unpulled.count, "%s", named(&unpulled));
  return BE_OK;
}

/* ---- results ---- */

/* A rule as it stood when a pull was entered: before it, so many of the trial had been. */
static const char *rule_then(const struct look *look, enum be_rule rule, size_t before)
{
  for (size_t i = 0; i < look->trial->changes_count; i++) {
    const struct be_rule_change *change = &look->trial->changes[i];
    if (change->rule == rule && before < change->pulled) return change->from;
  }
  return be_rule_in_force(look->survey, look->trial, rule);
}

/* What the rules made of a result; unknown where they leave it open. */
static enum be_kind kind_by_rules(const struct look *look, const struct be_pull *pull,
                                  size_t before, enum be_rule *by)
{
  bool plain = pull->design == BE_DESIGN_PLAIN || pull->knot < 0;
  if (pull->where == BE_WHERE_GRIP) *by = BE_RULE_GRIP;
  else if (pull->what == BE_WHAT_SLIPPED_OUT && !plain) *by = BE_RULE_SLIP;
  else if (pull->where == BE_WHERE_CLEAR && !plain) *by = BE_RULE_CLEAR;
  else return BE_KIND_UNKNOWN;
  const char *word = rule_then(look, *by, before);
  for (int kind = BE_KIND_EVENT; word && kind <= BE_KIND_VOID; kind++)
    if (strcmp(word, be_kind_word((enum be_kind)kind)) == 0) return (enum be_kind)kind;
  return BE_KIND_UNKNOWN;
}

static char small(char c)
{
  return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

static bool holds(const char *text, size_t size, const char *part, size_t length)
{
  for (size_t at = 0; length && at + length <= size; at++) {
    size_t i = 0;
    while (i < length && small(text[at + i]) == small(part[i])) i++;
    if (i == length) return true;
  }
  return false;
}

/* Whether a reason is one of "a; b, c", or has one in it, or is in one. */
static bool is_ruled(const char *rule, const char *reason)
{
  size_t size = strlen(reason);
  while (*rule) {
    size_t length = strcspn(rule, ";,"), from = 0, end = length;
    while (from < end && rule[from] == ' ') from++;
    while (end > from && rule[end - 1] == ' ') end--;
    if (end > from && (holds(reason, size, rule + from, end - from) ||
                       holds(rule + from, end - from, reason, size)))
      return true;
    rule += length + (rule[length] != '\0');
  }
  return false;
}

static void look_at_result(const struct look *look, const struct be_pull *pull, size_t before,
                           struct names against[BE_RULES], struct names *reasons)
{
  enum be_rule by = BE_RULE_VOID;
  enum be_kind wanted = kind_by_rules(look, pull, before, &by);
  const char *voids = rule_then(look, BE_RULE_VOID, before);
  bool ruled = pull->kind == BE_KIND_VOID && voids && pull->reason && is_ruled(voids, pull->reason);
  if (ruled) return;
  if (wanted != BE_KIND_UNKNOWN && pull->kind != wanted) {
    const char *words = be_arena_format(look->survey->arena, "%s (by the rule: %s)", pull->code,
                                        be_kind_word(wanted));
    name_one(&against[by], words ? words : pull->code);
  } else if (wanted == BE_KIND_UNKNOWN && pull->kind == BE_KIND_VOID) {
    const char *words = be_arena_format(look->survey->arena, "%s (%s)", pull->code,
                                        pull->reason ? pull->reason : "no reason");
    name_one(reasons, words ? words : pull->code);
  }
}

static void look_at_results(struct look *look)
{
  struct names against[BE_RULES] = {{{0}, 0, 0}}, reasons = {0};
  const struct be_record *record = &look->survey->record;
  int own = (int)(look->trial - record->trials);
  for (size_t p = look->first, before = 0; before < look->pulled; p++)
    if (record->pulls[p].trial == own)
      look_at_result(look, &record->pulls[p], before++, against, &reasons);
  for (int rule = 0; rule < BE_RULES; rule++) {
    if (!against[rule].count) continue;
    const char *what =
        be_arena_format(look->survey->arena, "taken otherwise than the rule \"%s\" says",
                        be_rule_word((enum be_rule)rule));
    add(look, what ? what : "taken otherwise than a rule says", against[rule].count, "%s",
        named(&against[rule]));
  }
  add(look, "void for a reason that the rules do not have", reasons.count, "%s", named(&reasons));
}

static void look_at_changes(struct look *look)
{
  for (size_t i = 0; i < look->trial->changes_count; i++) {
    const struct be_rule_change *change = &look->trial->changes[i];
    const char *what =
        be_arena_format(look->survey->arena, "rule \"%s\" changed %s", be_rule_word(change->rule),
                        change->pulled ? "after the start" : "before the first pull");
    add(look, what ? what : "a rule changed", 1,
        "from \"%s\" to \"%s\", on %s, after %zu of %zu pulls: %s",
        change->from ? change->from : "nothing", change->to, change->changed_at, change->pulled,
        look->trial->planned_count, change->reason ? change->reason : "no reason told");
  }
}

/* ---- all of it ---- */

/* Pulls of a session that came after the trial's last one. */
static bool others_followed(const struct look *look)
{
  const struct be_record *record = &look->survey->record;
  const char *session = look->pulled ? record->pulls[look->last].session : NULL;
  for (size_t p = look->last + 1; look->pulled && p < record->pulls_count; p++) {
    const char *other = record->pulls[p].session;
    if (other && session && strcmp(other, session) != 0) return true;
  }
  return false;
}

enum be_status be_departures_of(const struct survey *survey, const struct be_trial *trial,
                                struct departures *departures, struct be_err *err)
{
  struct look look = {.survey = survey, .trial = trial, .out = departures};
  size_t planned = trial->planned_count;
  memset(departures, 0, sizeof *departures);
  size_t *list = be_arena_alloc(survey->arena, (6 * planned + 6) * sizeof *list);
  if (!list) return be_no_memory(err);
  look.of = list;
  look.turn = list + planned;
  look.place = list + 2 * planned;
  look.extra = list + 3 * planned;
  look.voids = list + 4 * planned;
  look.later = list + 5 * planned;
  enum be_status status = be_grid_of_trial(survey, trial, &look.grid, look.of, err);
  if (status != BE_OK) return status;
  sort_turns(&look);
  look.over = look.pulled == planned || others_followed(&look);
  count_extra(&look);
  look_at_order(&look);
  look_at_ties(&look);
  look_at_numbers(&look);
  look_at_results(&look);
  look_at_changes(&look);
  return look_at_the_end(&look, err);
}

static void table_of(struct be_doc *doc, const struct be_trial *trial,
                     const struct departures *departures)
{
  static const struct be_column columns[] = {
      {"trial", "", BE_COLUMN_TEXT, true},
      {"departure", "departure", BE_COLUMN_TEXT, false},
      {"count", "how many", BE_COLUMN_NUMBER, false},
      {"detail", "which", BE_COLUMN_TEXT, false},
  };
  const char *shown = "Departures from the plan";
  struct be_table *table = be_doc_table(doc, "departures", shown, columns, 4);
  for (size_t i = 0; i < departures->count; i++) {
    be_table_text(table, "%s", trial->name);
    be_table_text(table, "%s", departures->list[i].what);
    be_table_number(table, (double)departures->list[i].count, 0);
    be_table_text(table, "%s", departures->list[i].detail);
  }
  if (departures->passed)
    be_doc_note(doc, "%zu more kinds of departure do not fit the table.", departures->passed);
}

enum be_status be_say_departures_of(struct be_doc *doc, const struct survey *survey,
                                    const struct be_trial *trial, struct be_err *err)
{
  struct departures *departures = be_arena_alloc(survey->arena, sizeof *departures);
  if (!departures) return be_no_memory(err);
  enum be_status status = be_departures_of(survey, trial, departures, err);
  if (status != BE_OK) return status;
  struct plan_progress progress = be_progress_of(survey, trial);
  if (departures->count == 0) {
    if (progress.pulled)
      be_doc_note(doc, "The trial %s was pulled as planned%s: %zu of %zu specimens.", trial->name,
                  progress.pulled < progress.planned ? " so far" : "", progress.pulled,
                  progress.planned);
    return BE_OK;
  }
  be_doc_sentence(doc, "The trial %s departs from its plan in %zu way%s, after %zu of %zu pulls.",
                  trial->name, departures->count, departures->count == 1 ? "" : "s",
                  progress.pulled, progress.planned);
  table_of(doc, trial, departures);
  return BE_OK;
}

static bool is_begun(const struct survey *survey, const struct be_trial *trial)
{
  return trial->changes_count || be_progress_of(survey, trial).pulled;
}

enum be_status be_say_departures(struct be_doc *doc, const struct survey *survey,
                                 struct be_err *err)
{
  enum be_status status = BE_OK;
  bool headed = false;
  for (size_t i = 0; i < survey->record.trials_count && status == BE_OK; i++) {
    const struct be_trial *trial = &survey->record.trials[i];
    if (survey->in_report || !is_begun(survey, trial)) continue;
    if (!headed) be_doc_heading(doc, "Departures from the plan");
    headed = true;
    status = be_say_departures_of(doc, survey, trial, err);
  }
  return status;
}
