/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The table that a person confirms: kind, here, there, same, why. */
#include "app/merge/merge.h"
#include "app/written.h"

#include <string.h>

/* Spreadsheet programs take its comma for the end of a cell, and write another. */
#define SAME_STARTS "# what is the same in two books"
#define SAME_BEGINS SAME_STARTS ", written by bitterend merge"

enum { SAME_MAX = 16 * 1024 * 1024, MATCHES_MAX = 1000 * 1000 };

enum be_status be_match_add(struct merging *in, const struct same_row *match, struct be_err *err)
{
  void *block = in->matches;
  enum be_status status = be_grow(&block, &in->matches_capacity, sizeof *in->matches,
                                  in->matches_count + 1, MATCHES_MAX, err);
  in->matches = block;
  if (status == BE_OK) in->matches[in->matches_count++] = *match;
  return status;
}

/* ---- reading ---- */

struct reading {
  struct merging *in;
  int at[5]; /* kind, here, there, same; why, or -1 */
};

static enum be_status refuse(const struct reading *in, size_t line, const char *what,
                             const char *remedy, struct be_err *err)
{
  be_fail(err, BE_BAD_INPUT, "%s", what);
  be_fail_at(err, in->in->same_path, line, 0);
  return be_fail_remedy(err, "%s", remedy);
}

static enum be_status read_head(struct reading *in, char *const *cells, size_t count, size_t line,
                                struct be_err *err)
{
  static const char *const names[] = {"kind", "here", "there", "same", "why"};
  for (int k = 0; k < 5; k++) {
    in->at[k] = -1;
    for (size_t i = 0; i < count; i++)
      if (be_text_same(cells[i], names[k])) in->at[k] = (int)i;
    if (in->at[k] < 0 && k < 4)
      return refuse(in, line, "the table needs the columns kind, here, there and same",
                    "leave its head as `bitterend merge` wrote it", err);
  }
  return BE_OK;
}

static bool read_answer(const char *text, enum answer *answer)
{
  *answer = be_text_same(text, "yes")  ? ANSWER_YES
            : be_text_same(text, "no") ? ANSWER_NO
                                       : ANSWER_OPEN;
  return *answer != ANSWER_OPEN || !*text;
}

static enum be_status take_row(void *context, char *const *cells, size_t count, size_t line,
                               struct be_err *err)
{
  struct reading *in = context;
  struct merging *merging = in->in;
  if (in->at[0] == -2) return read_head(in, cells, count, line, err);
  const char *kind = cells[in->at[0]], *here = cells[in->at[1]], *there = cells[in->at[2]];
  struct same_row match = {.here = be_arena_text(merging->arena, here, strlen(here)),
                           .there = be_arena_text(merging->arena, there, strlen(there)),
                           .why = "",
                           .line = line};
  if (in->at[4] >= 0)
    match.why = be_arena_text(merging->arena, cells[in->at[4]], strlen(cells[in->at[4]]));
  while (match.kind < ITEM_KINDS && !be_text_same(kind, be_item_words[match.kind])) match.kind++;
  if (match.kind == ITEM_KINDS)
    return refuse(in, line, "the kind is line, spool, knot, bench, calibration, trial or specimen",
                  "leave the column as it was written", err);
  if (!read_answer(cells[in->at[3]], &match.answer))
    return refuse(in, line, "the column \"same\" takes yes or no", "write one of them", err);
  if (!match.here || !match.there || !match.why) return be_no_memory(err);
  if (!*there) return refuse(in, line, "the row names nothing there", "take the row out", err);
  if (match.answer == ANSWER_YES && !*here)
    return refuse(in, line, "the same as what? the column \"here\" is empty",
                  "name it as it is called in this book", err);
  return be_match_add(merging, &match, err);
}

static bool starts_as_ours(const struct be_buf *bytes)
{
  static const char mark[] = "\xEF\xBB\xBF";
  size_t from = bytes->size >= 3 && memcmp(bytes->data, mark, 3) == 0 ? 3 : 0;
  size_t size = sizeof SAME_STARTS - 1;
  return bytes->size >= from + size && memcmp(bytes->data + from, SAME_STARTS, size) == 0;
}

enum be_status be_same_read(struct merging *in, struct be_err *err)
{
  struct reading reading = {.in = in, .at = {-2, -2, -2, -2, -2}};
  struct be_buf bytes;
  if (!be_file_exists(in->same_path)) return BE_OK;
  in->answered = true;
  be_buf_init(&bytes, SAME_MAX);
  enum be_status status = be_file_read(in->same_path, &bytes, err);
  in->own_table = status == BE_OK && starts_as_ours(&bytes);
  if (status == BE_OK) status = be_book_sheet(bytes.data, bytes.size, take_row, &reading, err);
  if (status != BE_OK && err && !err->file[0])
    be_fail_at(err, in->same_path, err->line, err->column);
  be_buf_free(&bytes);
  return status;
}

/* ---- checking ---- */

static const struct item *item_there(const struct merging *in, const struct same_row *match)
{
  if (match->kind != ITEM_SPOOL && match->kind != ITEM_KNOT)
    return be_item_find(in, match->kind, match->there, "");
  for (size_t i = 0; i < in->items_count; i++) {
    const struct item *item = &in->items[i];
    if (item->kind == match->kind &&
        be_text_same(be_item_called(in, item->kind, item->name, item->part), match->there))
      return item;
  }
  return NULL;
}

static enum be_status names_none(const struct merging *in, const struct same_row *match, bool there,
                                 struct be_err *err)
{
  be_fail(err, BE_BAD_INPUT, "%s has no %s \"%.150s\"", there ? "the other book" : "this book",
          be_item_words[match->kind], there ? match->there : match->here);
  be_fail_at(err, in->same_path, match->line, 0);
  be_fail_remedy(err,
                 "write it as that book calls it: `bitterend merge` with --same and the name of a "
                 "new file lists what may be the same");
  return BE_BAD_INPUT;
}

bool be_match_here(const struct merging *in, const struct same_row *match, const char *there_part,
                   const char **name, const char **part)
{
  if (be_here_has(in, match->kind, match->here, name, part)) return true;
  const struct loaded *knots = be_side_table(&in->here, "knots");
  for (size_t row = 0; match->kind == ITEM_KNOT && row < knots->rows; row++) {
    *name = knots->cells[row * knots->table->count];
    *part = there_part; /* a version that this book has not */
    if (be_text_same(be_item_called(in, ITEM_KNOT, *name, *part), match->here)) return true;
  }
  return false;
}

enum be_status be_same_check(const struct merging *in, struct be_err *err)
{
  for (size_t i = 0; i < in->matches_count; i++) {
    const struct same_row *match = &in->matches[i];
    const char *name, *part;
    const struct item *item = item_there(in, match);
    if (!item) return names_none(in, match, true, err);
    if (*match->here && !be_match_here(in, match, item->part, &name, &part))
      return names_none(in, match, false, err);
  }
  return BE_OK;
}

/* ---- writing ---- */

/* A table of another hand is not added to. */
static enum be_status refuse_open(const struct merging *in, struct be_err *err)
{
  size_t at = in->matches_count;
  while (at > 1 && in->matches[at - 1].answer != ANSWER_OPEN) at--;
  const struct same_row *open = at ? &in->matches[at - 1] : NULL;
  be_fail(err, BE_WRONG_USE, "open questions: %zu, such as of the %s \"%.80s\"", in->open,
          open ? be_item_words[open->kind] : "", open ? open->there : "");
  be_fail_at(err, in->same_path, 0, 0);
  be_fail_remedy(err, "give --same the name of a new file: the whole table is written there; this "
                      "one, which lacks the first line of ours, stays as it is");
  return BE_WRONG_USE;
}

enum be_status be_same_write(struct merging *in, struct be_err *err)
{
  if (in->answered && !in->own_table && in->open) return refuse_open(in, err);
  static const char *const answers[] = {"", "yes", "no"};
  const struct be_ours ours = {
      .what = "table of what is the same", .begins = SAME_BEGINS, .option = "--same"};
  struct be_buf out;
  be_buf_init(&out, SAME_MAX);
  be_buf_format(&out, SAME_BEGINS "\r\nkind,here,there,same,why\r\n");
  for (size_t i = 0; i < in->matches_count; i++) {
    const struct same_row *match = &in->matches[i];
    const char *const cells[] = {be_item_words[match->kind], match->here, match->there,
                                 answers[match->answer], match->why};
    for (int k = 0; k < 5; k++) {
      if (k) be_buf_char(&out, ',');
      be_csv_person_text(&out, cells[k]);
    }
    be_buf_text(&out, "\r\n");
  }
  enum be_status status = in->own_table ? be_buf_status(&out, err) : BE_OK;
  if (status == BE_OK && in->own_table)
    status = be_file_write(in->same_path, out.data, out.size, err);
  else if (status == BE_OK) status = be_write_ours(in->same_path, &ours, &out, err);
  be_buf_free(&out);
  return status;
}
