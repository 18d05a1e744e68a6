/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Codes that both books have: the same pull, told by all that it holds; or two pulls, which a
 * person must look at. */
#include "app/merge/merge.h"

#include <string.h>

static const struct item *item_of(const struct merging *in, const struct loaded *loaded,
                                  char *const *cells, size_t column)
{
  switch (loaded->table->columns[column].role) {
  case BE_TABLE_LINE: return be_item_find(in, ITEM_LINE, cells[column], "");
  case BE_TABLE_SPOOL:
    return *cells[column] ? be_item_find(in, ITEM_SPOOL, cells[column - 1], cells[column]) : NULL;
  case BE_TABLE_KNOT: return be_item_find(in, ITEM_KNOT, cells[column], cells[column + 1]);
  case BE_TABLE_VERSION: return be_item_find(in, ITEM_KNOT, cells[column - 1], cells[column]);
  case BE_TABLE_BENCH: return be_item_find(in, ITEM_BENCH, cells[column], "");
  case BE_TABLE_CALIBRATION: return be_item_find(in, ITEM_CALIBRATION, cells[column], "");
  case BE_TABLE_TRIAL: return be_item_find(in, ITEM_TRIAL, cells[column], "");
  case BE_TABLE_SPECIMEN: return be_item_find(in, ITEM_SPECIMEN, cells[column], "");
  default: return NULL;
  }
}

const char *be_cell_here(const struct merging *in, const struct loaded *loaded, size_t row,
                         size_t column)
{
  char **cells = loaded->cells + row * loaded->table->count;
  const struct item *item = item_of(in, loaded, cells, column);
  enum be_table_role role = loaded->table->columns[column].role;
  if (!item) return cells[column];
  return role == BE_TABLE_SPOOL || role == BE_TABLE_VERSION ? item->new_part : item->new_name;
}

/* ---- what two pulls hold ---- */

/* The first column in which they differ; as many as there are when in none. */
static size_t first_other(const struct merging *in, const struct loaded *here, size_t a,
                          const struct loaded *there, size_t b, size_t from)
{
  size_t i = from;
  for (; i < here->table->count; i++) {
    enum be_table_role role = here->table->columns[i].role;
    const char *x = here->cells[a * here->table->count + i], *y = be_cell_here(in, there, b, i);
    if (role == BE_TABLE_SPECIMEN) continue; /* whoever asks knows them */
    if (role != BE_TABLE_PLAIN ? !be_text_same(x, y) : strcmp(x, y) != 0) break;
  }
  return i;
}

bool be_same_row(const struct merging *in, const struct loaded *here, size_t a,
                 const struct loaded *there, size_t b, size_t from)
{
  return first_other(in, here, a, there, b, from) == here->table->count;
}

/* "load (N): 53.2 here, 56.1 there" of two pulls that may be one. */
static const char *tell_other(const struct merging *in, const char *called, const char *code)
{
  const struct loaded *here = be_side_table(&in->here, "pulls"),
                      *there = be_side_table(&in->there, "pulls");
  size_t a = be_loaded_of(here, called, 0), b = be_loaded_of(there, code, 0);
  size_t at = first_other(in, here, a, there, b, 0);
  if (at == here->table->count) return "other corrections";
  const char *x = here->cells[a * here->table->count + at], *y = be_cell_here(in, there, b, at);
  bool trace = here->table->columns[at].role == BE_TABLE_TRACE;
  const char *text =
      be_arena_format(in->arena, "%s: %s here, %s there", here->table->columns[at].name,
                      !*x     ? "not recorded"
                      : trace ? "one"
                              : x,
                      !*y     ? "not recorded"
                      : trace ? "another"
                              : y);
  return text ? text : "";
}

/* All rows of a specimen in a table, in order; what it is called here and there. */
static bool same_rows(const struct merging *in, const char *name, const char *called,
                      const char *code)
{
  const struct loaded *here = be_side_table(&in->here, name),
                      *there = be_side_table(&in->there, name);
  for (size_t nth = 0;; nth++) {
    size_t a = be_loaded_of(here, called, nth), b = be_loaded_of(there, code, nth);
    if (a == BE_NO_ROW || b == BE_NO_ROW) return a == b;
    if (!be_same_row(in, here, a, there, b, 0)) return false;
  }
}

static bool has(const struct side *side, const char *name, const char *code)
{
  return be_loaded_of(be_side_table(side, name), code, 0) != BE_NO_ROW;
}

/* ---- settling ---- */

static enum be_status ask_of(struct merging *in, const struct item *item, struct be_err *err)
{
  const struct same_row match = {
      .kind = ITEM_SPECIMEN,
      .here = item->name,
      .there = item->name,
      .why = be_arena_format(in->arena,
                             "one code, but %s; yes leaves the one there out, no gives it another "
                             "code",
                             tell_other(in, item->name, item->name))};
  if (!match.why) return be_no_memory(err);
  for (size_t i = 0; i < in->matches_count; i++)
    if (in->matches[i].kind == ITEM_SPECIMEN && be_text_same(in->matches[i].there, item->name)) {
      in->open += in->matches[i].answer == ANSWER_OPEN;
      return BE_OK;
    }
  in->open++;
  return be_match_add(in, &match, err);
}

static bool answered_no(const struct merging *in, const struct item *item)
{
  for (size_t i = 0; i < in->matches_count; i++)
    if (in->matches[i].kind == ITEM_SPECIMEN && in->matches[i].answer == ANSWER_NO &&
        be_text_same(in->matches[i].there, item->name))
      return true;
  return false;
}

/* A pull that came in under another code before stays what it is. */
static enum be_status rename_code(struct merging *in, struct item *item, struct be_err *err)
{
  enum { TRIES = 1000 };
  const char *name = NULL, *a, *b;
  for (int i = 1; i < TRIES; i++) {
    name = i == 1 ? be_arena_format(in->arena, "%s (%s)", item->name, in->tag)
                  : be_arena_format(in->arena, "%s (%s %d)", item->name, in->tag, i);
    if (!name) return be_no_memory(err);
    item->left_out = has(&in->here, "pulls", name) && same_rows(in, "pulls", name, item->name) &&
                     same_rows(in, "corrections", name, item->name);
    if (item->left_out) break;
    if (!be_here_has(in, ITEM_SPECIMEN, name, &a, &b) && !be_item_find(in, ITEM_SPECIMEN, name, ""))
      break;
  }
  item->new_name = name;
  item->told_apart = true;
  return BE_OK;
}

/* Whether the plan of a code is that of one trial in both. */
static bool same_plan(const struct merging *in, const char *code)
{
  return has(&in->there, "trials", code) && same_rows(in, "trials", code, code);
}

/* A person says that a pull has another code here: then it is in the book. */
static enum be_status leave_out(struct merging *in, struct item *item, struct be_err *err)
{
  const char *code = item->name, *called = item->new_name;
  if (!has(&in->here, "pulls", called) || !has(&in->there, "pulls", code)) {
    be_fail(err, BE_BAD_INPUT,
            "the specimens \"%.80s\" here and \"%.80s\" there are not both pulled, so that they "
            "cannot be one pull",
            called, code);
    be_fail_at(err, in->same_path, 0, 0);
    be_fail_remedy(err, "answer no in that row, or take it out");
    return BE_BAD_INPUT;
  }
  const char *what = tell_other(in, called, code);
  bool same = same_rows(in, "pulls", called, code) && same_rows(in, "corrections", called, code);
  const char *told =
      be_arena_format(in->arena, "is %s there%s%s", code, same ? "" : "; ", same ? "" : what);
  item->left_out = true;
  be_conflict(in, "specimen", called, "stays", told ? told : "", "left out");
  return BE_OK;
}

static enum be_status settle(struct merging *in, struct item *item, struct be_err *err)
{
  const char *code = item->name;
  if (item->answer == ANSWER_YES && !be_text_same(item->new_name, code))
    return leave_out(in, item, err);
  bool pulled_here = has(&in->here, "pulls", code), planned_here = has(&in->here, "trials", code);
  bool pulled_there = has(&in->there, "pulls", code);
  if (!pulled_here && !planned_here) return BE_OK;
  bool plan = same_plan(in, code);
  if (!pulled_here || !pulled_there) return plan ? BE_OK : rename_code(in, item, err);
  bool same = same_rows(in, "pulls", code, code) && same_rows(in, "corrections", code, code);
  if (!same && answered_no(in, item)) return rename_code(in, item, err);
  item->left_out = same || item->answer == ANSWER_YES;
  if (!same && item->left_out)
    be_conflict(in, "specimen", code, "stays", tell_other(in, code, code), "left out");
  return item->left_out ? BE_OK : ask_of(in, item, err);
}

enum be_status be_specimens_settle(struct merging *in, struct be_err *err)
{
  enum be_status status = BE_OK;
  for (size_t i = 0; i < in->items_count && status == BE_OK; i++)
    if (in->items[i].kind == ITEM_SPECIMEN) status = settle(in, &in->items[i], err);
  return status == BE_OK && be_arena_ran_out(in->arena) ? be_no_memory(err) : status;
}
