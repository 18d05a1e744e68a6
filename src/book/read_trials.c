/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Trials as arrays: their plans, their rules, and what was changed of these. */
#include "book/inside.h"

#include <math.h>
#include <string.h>

static enum be_status no_memory(struct be_err *err)
{
  return be_fail(err, BE_NO_MEMORY, "no memory for the trials");
}

static enum be_status read_names(struct be_book *book, struct be_arena *arena,
                                 struct be_record *record, struct ids *ids, struct be_err *err)
{
  struct rows rows = {.arena = arena};
  enum be_status status =
      be_sql_prepare(book->db,
                     "SELECT id, name, (SELECT entered_at FROM planned JOIN file ON file.id ="
                     " planned.file WHERE planned.trial = trial.id ORDER BY planned.id LIMIT 1)"
                     " FROM trial ORDER BY id",
                     &rows.s, err);
  for (size_t i = 0; be_next_row(&rows, i, record->trials_count, &status, err); i++) {
    ids->id[i] = sqlite3_column_int64(rows.s, 0);
    record->trials[i] =
        (struct be_trial){.name = be_column_text(&rows, 1), .fixed_at = be_column_text(&rows, 2)};
  }
  sqlite3_finalize(rows.s);
  return status;
}

/* Pulls come in the order of their ids. */
static int find_pull(const struct be_record *record, int64_t id)
{
  size_t low = 0, high = record->pulls_count;
  while (low < high) {
    size_t middle = (low + high) / 2;
    if (record->pulls[middle].id < id) low = middle + 1;
    else high = middle;
  }
  return low < record->pulls_count && record->pulls[low].id == id ? (int)low : BE_NO_INDEX;
}

/* A row of what a trial fixes, into its trial. */
struct reading {
  struct rows rows;
  struct be_record *record;
  const struct ids *trials, *knots, *lines;
  struct pool hardware, tyers, lubricants, handling[BE_HANDLINGS];
};

static void read_planned(struct reading *in, struct be_planned *planned)
{
  sqlite3_stmt *s = in->rows.s;
  int trial = be_index_of(in->trials, s, 0), pull = BE_NO_INDEX;
  if (sqlite3_column_type(s, 13) != SQLITE_NULL)
    pull = find_pull(in->record, sqlite3_column_int64(s, 13));
  *planned =
      (struct be_planned){.code = be_column_text(&in->rows, 1),
                          .order = be_column_number(s, 2),
                          .block = be_column_number(s, 3),
                          .design = (enum be_design)be_column_word(&in->rows, 4, WORDS_DESIGN),
                          .knot = be_index_of(in->knots, s, 5),
                          .knot_b = be_index_of(in->knots, s, 6),
                          .line_a = be_index_of(in->lines, s, 7),
                          .line_b = be_index_of(in->lines, s, 8),
                          .hardware = be_column_pooled(&in->rows, 9, &in->hardware),
                          .soak = (enum be_soak)be_column_word(&in->rows, 10, WORDS_SOAK),
                          .tyer = be_column_pooled(&in->rows, 11, &in->tyers),
                          .lubricant = be_column_pooled(&in->rows, 14, &in->lubricants),
                          .speed_m_s = be_column_number(s, 15),
                          .length_m = be_column_number(s, 16),
                          .pulled_before = (size_t)sqlite3_column_int64(s, 12),
                          .pull = pull};
  be_handling_columns(&in->rows, 17, in->handling, planned->handling);
  if (pull != BE_NO_INDEX) in->record->pulls[pull].trial = trial;
  if (trial == BE_NO_INDEX) return;
  struct be_trial *of = &in->record->trials[trial];
  if (of->planned_count++ == 0) of->planned = planned;
}

#define OF_PLANNED(code, column, key, dimension) ", planned." key

static enum be_status read_plans(struct be_book *book, struct reading *in, struct be_err *err)
{
  size_t count = 0;
  enum be_status status = be_count_rows(book, "SELECT count(*) FROM planned", 0, &count, err);
  if (status != BE_OK) return status;
  struct be_planned *planned = be_arena_alloc(in->rows.arena, count * sizeof *planned);
  if (!planned) return no_memory(err);
  status = be_sql_prepare(
      book->db,
      "SELECT trial, planned.code, planned.place, block, planned.design, planned.knot,"
      " planned.knot_b, planned.line_a, planned.line_b, planned.hardware, planned.soak, "
      "planned.tyer,"
      " pulled, pull.id, planned.lubricant, planned.speed_m_s, planned.length_m" BE_HANDLING_LIST(
          OF_PLANNED) " FROM planned LEFT JOIN specimen ON specimen.code = planned.code"
                      " LEFT JOIN pull ON pull.specimen = specimen.id ORDER BY trial, "
                      "planned.place",
      &in->rows.s, err);
  for (size_t i = 0; be_next_row(&in->rows, i, count, &status, err); i++)
    read_planned(in, &planned[i]);
  sqlite3_finalize(in->rows.s);
  return status;
}

/* A row of `rule`: a change, if the rule had another value, be it one of silence that
 * specimens were pulled under. *change is used up when it was one. */
static bool read_rule(struct reading *in, struct be_rule_change *change)
{
  sqlite3_stmt *s = in->rows.s;
  int trial = be_index_of(in->trials, s, 0);
  const char *word = be_column_text(&in->rows, 1), *value = be_column_text(&in->rows, 2);
  enum be_rule rule = word ? be_rule_find(word) : BE_RULES;
  if (trial == BE_NO_INDEX || !value || rule == BE_RULES) return false;
  struct be_trial *of = &in->record->trials[trial];
  const char *from = of->rule[rule];
  size_t pulled = (size_t)sqlite3_column_int64(s, 4);
  of->rule[rule] = value;
  if (!from) {
    char usual[64];
    be_rule_usual(rule, usual, sizeof usual);
    if (!pulled || strcmp(usual, value) == 0) return false;
    from = be_arena_text(in->rows.arena, usual, strlen(usual));
    if (!from) in->rows.lost = true;
  }
  *change = (struct be_rule_change){.rule = rule,
                                    .from = from,
                                    .to = value,
                                    .reason = be_column_text(&in->rows, 3),
                                    .pulled = pulled,
                                    .changed_at = be_column_text(&in->rows, 5)};
  if (of->changes_count++ == 0) of->changes = change;
  return true;
}

static enum be_status read_rules(struct be_book *book, struct reading *in, struct be_err *err)
{
  size_t count = 0, changed = 0;
  enum be_status status = be_count_rows(book, "SELECT count(*) FROM rule", 0, &count, err);
  if (status != BE_OK) return status;
  struct be_rule_change *changes = be_arena_alloc(in->rows.arena, count * sizeof *changes);
  if (!changes) return no_memory(err);
  status = be_sql_prepare(book->db,
                          "SELECT trial, rule, value, reason, pulled, entered_at FROM rule"
                          " JOIN file ON file.id = rule.file ORDER BY trial, rule.id",
                          &in->rows.s, err);
  for (size_t i = 0; be_next_row(&in->rows, i, count, &status, err); i++)
    changed += read_rule(in, &changes[changed]);
  sqlite3_finalize(in->rows.s);
  return status;
}

enum be_status be_read_trials(struct be_book *book, struct be_arena *arena,
                              struct be_record *record, const struct ids *knots,
                              const struct ids *lines, struct be_err *err)
{
  enum be_status status =
      be_count_rows(book, "SELECT count(*) FROM trial", 0, &record->trials_count, err);
  if (status != BE_OK || !record->trials_count) return status;
  struct ids trials = {.count = record->trials_count};
  struct reading in = {.rows = {.arena = arena},
                       .record = record,
                       .trials = &trials,
                       .knots = knots,
                       .lines = lines};
  record->trials = be_arena_alloc(arena, record->trials_count * sizeof *record->trials);
  trials.id = be_arena_alloc(arena, record->trials_count * sizeof *trials.id);
  if (!record->trials || !trials.id) return no_memory(err);
  status = read_names(book, arena, record, &trials, err);
  if (status == BE_OK) status = read_plans(book, &in, err);
  if (status == BE_OK) status = read_rules(book, &in, err);
  return status;
}
