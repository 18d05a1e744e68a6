/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The demonstration's planned trial: fixed by `plan`, tied and pulled as its codes say, in
 * evenings. On the first evening two specimens change places, and a rule is changed before the
 * second: so that there are departures to be told. */
#include "app/demo/demo.h"
#include "app/survey/survey.h"

#include <stdio.h>
#include <string.h>

enum { STREAM_TRIAL = 2, SHEET_MAX = 1 << 20, EXCHANGED = 4 };

struct evening_maker {
  const struct recipe *recipe;
  const char *book_path, *folder;
  struct be_arena *arena;
  struct be_record record;
  const struct be_trial *trial;
  struct be_random random;
};

static void copy(char to[32], const char *text)
{
  snprintf(to, 32, "%.31s", text ? text : "");
}

/* The row of a recipe that a planned specimen would have come from. */
static struct trial_row row_of(const struct evening_maker *maker, const struct be_planned *planned)
{
  const struct be_record *record = &maker->record;
  struct trial_row row = {
      .speed_mm_min = 500, .length_mm = USUAL_LENGTH_MM, .n = 1, .in_series = true};
  if (planned->knot >= 0) copy(row.knot, record->knots[planned->knot].name);
  if (planned->knot >= 0) copy(row.version, record->knots[planned->knot].version);
  copy(row.spool_a, record->lines[planned->line_a].spool);
  if (planned->line_b >= 0) copy(row.spool_b, record->lines[planned->line_b].spool);
  copy(row.hardware, planned->hardware);
  copy(row.soak, be_soak_word(planned->soak));
  copy(row.design, be_design_word(planned->design));
  copy(row.bench, maker->recipe->benches[0].bench);
  return row;
}

static void put_pull(struct evening_maker *maker, struct be_buf *out,
                     const struct be_planned *planned, int evening, size_t order)
{
  struct trial_row row = row_of(maker, planned);
  struct made_pull pull = {.row = &row, .trouble = "", .reason = "", .tyer = "Wren"};
  be_bench_pull(maker->recipe, &pull, &maker->random);
  be_buf_format(out, "%s,2026-04-%02d,%zu,%s,%.0f,%d,%s,%.1f,%s,%s,%s\n", planned->code,
                8 + evening, order, row.bench, row.speed_mm_min, row.length_mm, pull.tyer,
                pull.load_N, be_what_word(pull.what), pull.where ? be_where_word(pull.where) : "",
                be_which_word(pull.which));
}

/* Takes the specimens of a block: in the order planned, but for two of the first evening. */
static void put_evening(struct evening_maker *maker, struct be_buf *out, int evening)
{
  const struct be_trial *trial = maker->trial;
  size_t first = 0, count = 0;
  while (first < trial->planned_count && trial->planned[first].block < evening) first++;
  while (first + count < trial->planned_count && trial->planned[first + count].block == evening)
    count++;
  be_buf_text(out, "specimen,session,order,bench,speed (mm/min),free length (mm),tyer,load (N),"
                   "what,where,which\n");
  for (size_t i = 0; i < count; i++) {
    size_t at = i;
    if (evening == 1 && count > EXCHANGED + 1 && i / 2 == EXCHANGED / 2) at = i ^ 1;
    put_pull(maker, out, &trial->planned[first + at], evening, i + 1);
  }
}

static enum be_status enter(struct evening_maker *maker, const char *name,
                            const struct be_buf *text, struct be_err *err)
{
  struct be_doc *doc = NULL;
  const char *path = be_arena_format(maker->arena, "%s/%s", maker->folder, name);
  if (!path) return be_fail(err, BE_NO_MEMORY, "no memory for the demonstration");
  const char *const paths[] = {path};
  enum be_status status = be_buf_status(text, err);
  if (status == BE_OK) status = be_file_write(path, text->data, text->size, err);
  if (status == BE_OK)
    status = be_app_enter(maker->book_path, paths, 1, &(const struct be_entering){0}, &doc, err);
  be_doc_free(doc);
  return status;
}

static enum be_status pull_evening(struct evening_maker *maker, int evening, struct be_err *err)
{
  char name[32];
  struct be_buf text;
  be_buf_init(&text, SHEET_MAX);
  snprintf(name, sizeof name, "evening-%d.csv", evening);
  put_evening(maker, &text, evening);
  enum be_status status = enter(maker, name, &text, err);
  be_buf_free(&text);
  return status;
}

static enum be_status change_rule(struct evening_maker *maker, struct be_err *err)
{
  const struct planned_trial *planned = &maker->recipe->planned;
  struct be_buf text;
  be_buf_init(&text, SHEET_MAX);
  be_buf_format(&text, "trial,rule,value,reason\n%s,%s,%s,%s\n", planned->trial,
                planned->changed_rule, planned->changed_to, planned->reason);
  enum be_status status = enter(maker, "changed-rule.csv", &text, err);
  be_buf_free(&text);
  return status;
}

static enum be_status fix_plan(struct evening_maker *maker, struct be_err *err)
{
  const struct planned_trial *planned = &maker->recipe->planned;
  struct be_doc *doc = NULL;
  const struct be_planning asked = {
      .trial = planned->trial,
      .knots = planned->knots,
      .on = planned->on,
      .specimens = (size_t)planned->specimens,
      .plain_told = true,
      .plain = (size_t)planned->plain,
      .minutes = planned->minutes,
      .rule = {[BE_RULE_INTERESTS] = planned->interests},
      .sheet_path = be_arena_format(maker->arena, "%s/planned.csv", maker->folder),
      .labels_path = be_arena_format(maker->arena, "%s/labels.html", maker->folder),
      .fix = true};
  if (!asked.sheet_path || !asked.labels_path)
    return be_fail(err, BE_NO_MEMORY, "no memory for the demonstration");
  const struct be_answering how = {.seed = RECIPE_SEED};
  enum be_status status = be_app_plan(maker->book_path, &asked, &how, &doc, err);
  be_doc_free(doc);
  return status;
}

/* The plan as the book has it, in the order of pulling. */
static enum be_status read_plan(struct evening_maker *maker, struct be_err *err)
{
  struct be_book *book = NULL;
  enum be_status status = be_book_open(maker->book_path, false, &book, err);
  if (status == BE_OK) status = be_book_read(book, maker->arena, &maker->record, err);
  be_book_close(book);
  if (status != BE_OK) return status;
  if (maker->record.trials_count == 0)
    return be_fail(err, BE_FAILED, "the demonstration's trial is not in its book");
  maker->trial = &maker->record.trials[0];
  return BE_OK;
}

bool be_demo_trial_is_there(const char *folder, struct be_arena *arena)
{
  static const char *const names[] = {"planned.csv",      "planned-rules.csv", "labels.html",
                                      "changed-rule.csv", "evening-1.csv",     "evening-2.csv"};
  bool there = false;
  for (size_t i = 0; i < sizeof names / sizeof names[0] && !there; i++) {
    const char *path = be_arena_format(arena, "%s/%s", folder, names[i]);
    there = !path || be_file_exists(path);
  }
  return there;
}

enum be_status be_demo_trial(const struct recipe *recipe, const char *book_path, const char *folder,
                             struct be_arena *arena, struct be_err *err)
{
  struct evening_maker maker = {
      .recipe = recipe, .book_path = book_path, .folder = folder, .arena = arena};
  if (recipe->planned_count == 0) return BE_OK;
  be_random_init(&maker.random, RECIPE_SEED, STREAM_TRIAL);
  enum be_status status = fix_plan(&maker, err);
  if (status == BE_OK) status = read_plan(&maker, err);
  if (status != BE_OK) return status;
  int evenings = (int)maker.trial->planned[maker.trial->planned_count - 1].block;
  for (int evening = 1; evening <= evenings && status == BE_OK; evening++) {
    status = pull_evening(&maker, evening, err);
    if (status == BE_OK && evening == 1) status = change_rule(&maker, err);
  }
  return status;
}
