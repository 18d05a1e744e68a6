/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What may be the same, proposed; and what each name there is called here, by what was answered. */
#include "app/merge/merge.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Part of a diameter by which two measurements of one line may differ. (Common practice; no
 * source.) */
static const double near_diameter = 0.1;

/* ---- proposals ---- */

struct proposing {
  struct merging *in;
  const struct item *item;
  const char *called;
  size_t made;
};

static enum be_status propose(struct proposing *to, const char *here, enum answer answer,
                              const char *why, struct be_err *err)
{
  const struct same_row match = {
      .kind = to->item->kind, .here = here, .there = to->called, .why = why, .answer = answer};
  for (size_t i = 0; i < to->in->matches_count; i++) {
    const struct same_row *told = &to->in->matches[i];
    if (told->kind == match.kind && be_text_same(told->there, match.there) &&
        be_text_same(told->here, match.here))
      return BE_OK;
  }
  to->made++;
  return be_match_add(to->in, &match, err);
}

static size_t row_of_line(const struct loaded *lines, const char *name)
{
  return be_loaded_find(lines, name);
}

static bool alike(const struct loaded *here, size_t a, const struct loaded *there, size_t b)
{
  const char *material = be_loaded_cell(here, a, "material"),
             *label = be_loaded_cell(here, a, "label");
  if (!*material || !be_text_same(material, be_loaded_cell(there, b, "material"))) return false;
  if (!*label || !be_text_same(label, be_loaded_cell(there, b, "label"))) return false;
  double x = atof(be_loaded_cell(here, a, "diameter (m)")),
         y = atof(be_loaded_cell(there, b, "diameter (m)"));
  return !(x > 0) || !(y > 0) || fabs(x - y) <= near_diameter * x;
}

static bool met_before(const struct loaded *lines, size_t row)
{
  return be_loaded_find(lines, lines->cells[row * lines->table->count]) < row;
}

static enum be_status propose_lines(struct proposing *to, struct be_err *err)
{
  const struct loaded *here = be_side_table(&to->in->here, "lines"),
                      *there = be_side_table(&to->in->there, "lines");
  size_t own = row_of_line(there, to->item->name);
  enum be_status status = BE_OK;
  for (size_t row = 0; row < here->rows && status == BE_OK; row++) {
    const char *name = here->cells[row * here->table->count];
    if (met_before(here, row)) continue;
    bool like = own != BE_NO_ROW && alike(here, row, there, own);
    if (be_text_same(name, to->item->name))
      status = propose(to, name, ANSWER_OPEN,
                       like ? "same name, material and label; diameters near" : "same name", err);
    else if (like)
      status = propose(to, name, ANSWER_OPEN, "same material and label; diameters near", err);
  }
  return status;
}

/* A list with commas between has the name. */
static bool lists(const char *aliases, const char *name)
{
  char one[256];
  for (const char *at = aliases; *at;) {
    size_t length = strcspn(at, ","), used = length;
    while (used && at[used - 1] == ' ') used--;
    if (used && used < sizeof one) {
      memcpy(one, at, used);
      one[used] = '\0';
      if (be_text_same(one, name)) return true;
    }
    at += length;
    at += strspn(at, ", ");
  }
  return false;
}

static enum be_status propose_knots(struct proposing *to, struct be_err *err)
{
  const struct loaded *here = be_side_table(&to->in->here, "knots"),
                      *there = be_side_table(&to->in->there, "knots");
  const struct item *item = to->item;
  size_t own = be_loaded_find(there, item->name);
  const char *others = own == BE_NO_ROW ? "" : be_loaded_cell(there, own, "aliases");
  const char *other_version = NULL;
  enum be_status status = BE_OK;
  for (size_t row = 0; row < here->rows && status == BE_OK; row++) {
    char **cells = here->cells + row * here->table->count;
    bool same = be_text_same(cells[0], item->name), part = be_text_same(cells[1], item->part);
    bool alias = lists(be_loaded_cell(here, row, "aliases"), item->name) || lists(others, cells[0]);
    const char *called = be_item_called(to->in, ITEM_KNOT, cells[0], cells[1]);
    if (same && part) status = propose(to, called, ANSWER_OPEN, "same name", err);
    else if (alias && part)
      status = propose(to, called, ANSWER_OPEN, "one is another name of the other", err);
    else if (same || alias) other_version = cells[0];
  }
  if (status != BE_OK || to->made || !other_version) return status;
  return propose(to, be_item_called(to->in, ITEM_KNOT, other_version, item->part), ANSWER_OPEN,
                 "would be another version of a knot here", err);
}

static enum be_status propose_by_name(struct proposing *to, struct be_err *err)
{
  const char *name = NULL, *part = NULL;
  if (!be_here_has(to->in, to->item->kind, to->called, &name, &part)) return BE_OK;
  return propose(to, be_item_called(to->in, to->item->kind, name, part), ANSWER_OPEN, "same name",
                 err);
}

/* The line of a spool by what was answered of it, or as it is proposed. */
static const char *line_here(const struct merging *in, const struct item *spool)
{
  const struct item *line = be_item_find(in, ITEM_LINE, spool->name, "");
  if (line && line->answer == ANSWER_YES) return line->new_name;
  if (line && line->answer == ANSWER_NO) return NULL;
  for (size_t i = 0; i < in->matches_count; i++)
    if (in->matches[i].kind == ITEM_LINE && be_text_same(in->matches[i].there, spool->name))
      return in->matches[i].here;
  return NULL;
}

static enum be_status propose_spools(struct proposing *to, struct be_err *err)
{
  const char *line = line_here(to->in, to->item), *name = NULL, *part = NULL;
  if (!line || !*line) return BE_OK;
  const char *called = be_item_called(to->in, ITEM_SPOOL, line, to->item->part);
  if (!be_here_has(to->in, ITEM_SPOOL, called, &name, &part)) return BE_OK;
  return propose(to, be_item_called(to->in, ITEM_SPOOL, name, part), ANSWER_OPEN,
                 "same spool, if the line is the same", err);
}

static enum be_status propose_any(struct proposing *to, struct be_err *err)
{
  switch (to->item->kind) {
  case ITEM_LINE: return propose_lines(to, err);
  case ITEM_SPOOL: return propose_spools(to, err);
  case ITEM_KNOT: return propose_knots(to, err);
  case ITEM_SPECIMEN: return BE_OK; /* by what they hold: specimens.c */
  default: return propose_by_name(to, err);
  }
}

/* ---- what was answered ---- */

static enum be_status take_yes(struct merging *in, struct item *item, const struct same_row *match,
                               struct be_err *err)
{
  const char *name = item->new_name, *part = item->new_part;
  be_match_here(in, match, item->part, &name, &part); /* looked at before */
  if (item->answer == ANSWER_YES) {
    be_fail(err, BE_BAD_INPUT, "yes is answered twice for the %s \"%.150s\" there",
            be_item_words[item->kind], match->there);
    be_fail_at(err, in->same_path, match->line, 0);
    return be_fail_remedy(err, "answer yes to one of them alone");
  }
  const struct item *line =
      item->kind == ITEM_SPOOL ? be_item_find(in, ITEM_LINE, item->name, "") : NULL;
  if (line && !be_text_same(name, line->new_name)) {
    be_fail(err, BE_BAD_INPUT,
            "the spool \"%.80s\" is said to be \"%.80s\" here, but its line is \"%.80s\" here",
            match->there, match->here, line->new_name);
    be_fail_at(err, in->same_path, match->line, 0);
    return be_fail_remedy(err, "answer no for the spool, or say of its line what you say of it");
  }
  item->answer = ANSWER_YES;
  item->new_name = name;
  item->new_part = part;
  return BE_OK;
}

static bool answers_otherwise(const struct same_row *a, const struct same_row *b)
{
  return a->kind == b->kind && be_text_same(a->there, b->there) && be_text_same(a->here, b->here) &&
         a->answer != ANSWER_OPEN && b->answer != ANSWER_OPEN && a->answer != b->answer;
}

static enum be_status contradicts(const struct merging *in, const struct same_row *match,
                                  struct be_err *err)
{
  be_fail(err, BE_BAD_INPUT, "the table says both yes and no of \"%.80s\" here and \"%.80s\" there",
          match->here, match->there);
  be_fail_at(err, in->same_path, match->line, 0);
  be_fail_remedy(err, "leave one of the two rows");
  return BE_BAD_INPUT;
}

/* *rows: how many the table has of it; *open: unanswered ones, where none says yes. */
static enum be_status hear(struct merging *in, struct item *item, const char *called, size_t *rows,
                           size_t *open, struct be_err *err)
{
  enum be_status status = BE_OK;
  *rows = *open = 0;
  for (size_t i = 0; i < in->matches_count && status == BE_OK; i++) {
    const struct same_row *match = &in->matches[i];
    bool of_it = match->kind == item->kind && be_text_same(match->there, called);
    if (!of_it || !*match->here) continue; /* that nothing was like it is no answer */
    ++*rows;
    for (size_t k = 0; k < i; k++)
      if (answers_otherwise(&in->matches[k], match)) return contradicts(in, match, err);
    *open += match->answer == ANSWER_OPEN;
    if (match->answer == ANSWER_YES) status = take_yes(in, item, match, err);
  }
  if (item->answer == ANSWER_YES) *open = 0;
  return status;
}

/* ---- names told apart ---- */

static bool name_is_taken(const struct merging *in, const struct item *item, const char *name,
                          const char *part)
{
  const char *a, *b;
  if (item->kind == ITEM_SPOOL)
    return be_here_has(in, ITEM_SPOOL, be_item_called(in, ITEM_SPOOL, name, part), &a, &b);
  if (item->kind != ITEM_KNOT) return be_here_has(in, item->kind, name, &a, &b);
  const struct loaded *knots = be_side_table(&in->here, "knots");
  for (size_t row = 0; row < knots->rows; row++)
    if (be_text_same(knots->cells[row * knots->table->count], name) ||
        lists(be_loaded_cell(knots, row, "aliases"), name))
      return true;
  return false;
}

/* "nylon 12 lb (shed)", or "(shed 2)" where that is taken too. */
static enum be_status tell_apart(struct merging *in, struct item *item, struct be_err *err)
{
  enum { TRIES = 1000 };
  bool spool = item->kind == ITEM_SPOOL;
  if (!name_is_taken(in, item, item->new_name, item->new_part)) return BE_OK;
  const char *old = spool ? item->part : item->name;
  for (int i = 1; i < TRIES; i++) {
    const char *name = i == 1 ? be_arena_format(in->arena, "%s (%s)", old, in->tag)
                              : be_arena_format(in->arena, "%s (%s %d)", old, in->tag, i);
    if (!name) return be_no_memory(err);
    bool taken = spool ? name_is_taken(in, item, item->new_name, name)
                       : name_is_taken(in, item, name, item->part);
    if (taken || be_item_find(in, item->kind, name, item->part)) continue;
    if (spool) item->new_part = name;
    else item->new_name = name;
    item->told_apart = true;
    return BE_OK;
  }
  return be_fail(err, BE_BAD_INPUT, "no name is free for \"%.150s\"", old);
}

/* What was told apart when the other book came in before is likely that. */
static enum be_status propose_told_apart(struct proposing *to, struct be_err *err)
{
  const struct item *item = to->item;
  bool spool = item->kind == ITEM_SPOOL;
  const char *name = be_arena_format(to->in->arena, "%s (%s)", spool ? item->part : item->name,
                                     to->in->tag),
             *found, *part;
  if (!name) return be_no_memory(err);
  const char *called = spool ? be_item_called(to->in, ITEM_SPOOL, item->new_name, name)
                             : be_item_called(to->in, item->kind, name, item->part);
  if (!be_here_has(to->in, item->kind, called, &found, &part)) return BE_OK;
  return propose(to, called, ANSWER_OPEN, "was told apart when that book came in before", err);
}

static enum be_status settle(struct merging *in, struct item *item, struct be_err *err)
{
  struct proposing to = {in, item, be_item_called(in, item->kind, item->name, item->part), 0};
  size_t rows = 0, open = 0;
  const struct item *line =
      item->kind == ITEM_SPOOL ? be_item_find(in, ITEM_LINE, item->name, "") : NULL;
  if (line) item->new_name = line->new_name;
  enum be_status status = hear(in, item, to.called, &rows, &open, err);
  if (status == BE_OK && line && line->answer == ANSWER_NO) {
    item->answer = ANSWER_NO;
    return BE_OK;
  }
  if (status == BE_OK && rows == 0) status = propose_any(&to, err);
  if (status == BE_OK && item->answer != ANSWER_YES && item->kind != ITEM_SPECIMEN)
    status = propose_told_apart(&to, err);
  bool shown = item->kind != ITEM_SPOOL && item->kind != ITEM_SPECIMEN;
  if (status == BE_OK && rows == 0 && to.made == 0 && shown)
    status = propose(&to, "", ANSWER_NO, "nothing here is like it: it comes in as new", err);
  else if (item->answer != ANSWER_YES) open += to.made;
  in->open += open;
  if (status != BE_OK || open || item->answer == ANSWER_YES) return status;
  if (item->kind == ITEM_SPECIMEN) return BE_OK; /* by what they hold: specimens.c */
  item->answer = ANSWER_NO;
  return tell_apart(in, item, err);
}

enum be_status be_matches_settle(struct merging *in, struct be_err *err)
{
  enum be_status status = BE_OK;
  for (size_t i = 0; i < in->items_count && status == BE_OK; i++)
    status = settle(in, &in->items[i], err);
  return status == BE_OK && be_arena_ran_out(in->arena) ? be_no_memory(err) : status;
}
