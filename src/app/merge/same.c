/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The table that a person confirms: kind, here, there, same, why. */
#include "app/merge/merge.h"
#include "app/written.h"

#include <string.h>

#define SAME_BEGINS "# what is the same in two books, written by bitterend merge"

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
  const char *path;
  int at[5]; /* kind, here, there, same; why, or -1 */
};

static enum be_status refuse(const struct reading *in, size_t line, const char *what,
                             const char *remedy, struct be_err *err)
{
  be_fail(err, BE_BAD_INPUT, "%s", what);
  be_fail_at(err, in->path, line, 0);
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
                           .why = ""};
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

enum be_status be_same_read(struct merging *in, const char *path, struct be_err *err)
{
  struct reading reading = {.in = in, .path = path, .at = {-2, -2, -2, -2, -2}};
  struct be_buf bytes;
  be_buf_init(&bytes, SAME_MAX);
  enum be_status status = be_file_read(path, &bytes, err);
  if (status == BE_OK) status = be_book_sheet(bytes.data, bytes.size, take_row, &reading, err);
  if (status != BE_OK && err && !err->file[0]) be_fail_at(err, path, err->line, err->column);
  be_buf_free(&bytes);
  return status;
}

/* ---- writing ---- */

enum be_status be_same_write(struct merging *in, const char *path, struct be_err *err)
{
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
  enum be_status status = be_write_ours(path, &ours, &out, err);
  be_buf_free(&out);
  return status;
}
