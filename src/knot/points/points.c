/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "knot/points/points.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const size_t points_most = 1000000;
enum { WORD_MOST = 64 };

struct reading {
  const char *text, *at, *end;
  size_t row;
  const char *row_start;
  struct be_arena *arena;
  struct be_lines *lines;
  size_t first_row[BE_LINES_MAX];
  bool begun;      /* a line to which points and words belong */
  size_t capacity; /* of its points */
  struct be_err *err;
};

static enum be_status bad(const struct reading *r, const char *at, const char *what)
{
  be_fail(r->err, BE_BAD_INPUT, "%s", what);
  be_fail_at(r->err, NULL, r->row, (size_t)(at - r->row_start) + 1);
  return BE_BAD_INPUT;
}

static struct be_curve *line_of(const struct reading *r)
{
  return &r->lines->line[r->lines->count - 1];
}

static enum be_status begin_line(struct reading *r, const char *at)
{
  if (r->lines->count == BE_LINES_MAX) {
    be_fail(r->err, BE_TOO_LARGE, "there may be %d lines: here begins one more", BE_LINES_MAX);
    be_fail_at(r->err, NULL, r->row, (size_t)(at - r->row_start) + 1);
    return BE_TOO_LARGE;
  }
  r->first_row[r->lines->count] = r->row;
  r->lines->diameter[r->lines->count] = 1;
  r->lines->line[r->lines->count++] = (struct be_curve){0};
  r->capacity = 0;
  r->begun = true;
  return BE_OK;
}

static enum be_status add_point(struct reading *r, struct be_point point)
{
  struct be_curve *line = line_of(r);
  if (line->count == points_most)
    return be_fail(r->err, BE_TOO_LARGE, "a line may have %zu points: row %zu has one more",
                   points_most, r->row);
  if (line->count == r->capacity) {
    size_t capacity = r->capacity ? 2 * r->capacity : 64;
    struct be_point *points = be_arena_alloc(r->arena, capacity * sizeof *points);
    if (!points) return be_fail(r->err, BE_NO_MEMORY, "no memory for the points");
    if (line->count) memcpy(points, line->points, line->count * sizeof *points);
    line->points = points;
    r->capacity = capacity;
  }
  line->points[line->count++] = point;
  return BE_OK;
}

/* ---- words ---- */

/* Copies the next word of the row; false at its end. */
static bool next_word(struct reading *r, char word[WORD_MOST], const char **start)
{
  while (r->at < r->end && *r->at && strchr(" \t,;\r", *r->at)) r->at++;
  *start = r->at;
  if (r->at == r->end || *r->at == '\n' || *r->at == '#') return false;
  size_t n = 0;
  while (r->at < r->end && !(*r->at && strchr(" \t,;\r\n#", *r->at))) {
    if (n + 1 < WORD_MOST) word[n++] = *r->at;
    r->at++;
  }
  word[n] = 0;
  return true;
}

static bool is_number(const char *word, double *value)
{
  char *rest;
  if (!strchr("+-.0123456789", word[0]) || strchr(word, 'x') || strchr(word, 'X')) return false;
  *value = strtod(word, &rest);
  return rest != word && *rest == 0 && isfinite(*value);
}

/* "line B closed diameter 0.7", from a word that is no number. */
static enum be_status read_words(struct reading *r, char word[WORD_MOST], const char *start)
{
  enum be_status status = BE_OK;
  bool more = true;
  if (be_text_same(word, "line")) {
    status = begin_line(r, start);
    more = next_word(r, word, &start);
    /* Its name, unless that is a word of ours. */
    if (more && !be_text_same(word, "closed") && !be_text_same(word, "diameter"))
      more = next_word(r, word, &start);
  }
  for (; more && status == BE_OK; more = next_word(r, word, &start)) {
    if (!r->begun) status = begin_line(r, start);
    if (status != BE_OK) break;
    double *diameter = &r->lines->diameter[r->lines->count - 1];
    if (be_text_same(word, "closed")) line_of(r)->closed = true;
    else if (be_text_same(word, "diameter")) {
      if (!next_word(r, word, &start) || !is_number(word, diameter) || !(*diameter > 0))
        status = bad(r, start, "the word \"diameter\" is followed by a number above 0");
    } else
      status = bad(r, start, "this is neither a number nor \"line\", \"closed\" or \"diameter\"");
  }
  return status;
}

static enum be_status read_numbers(struct reading *r, char word[WORD_MOST], const char *start)
{
  double number[3];
  size_t count = 0;
  bool more = true;
  for (; more; more = next_word(r, word, &start)) {
    if (count == 3) return bad(r, start, "a point has three numbers, x, y and z: this is one more");
    if (!is_number(word, &number[count++])) return bad(r, start, "this is no number");
  }
  if (count < 3) return bad(r, start, "a point has three numbers, x, y and z: some are missing");
  enum be_status status = r->begun ? BE_OK : begin_line(r, start);
  return status == BE_OK ? add_point(r, (struct be_point){number[0], number[1], number[2]})
                         : status;
}

/* "x,y,z" above the first point. */
static bool is_head(struct reading *r, char word[WORD_MOST])
{
  const char *start, *at = r->at;
  bool head = r->lines->count == 0 && be_text_same(word, "x") && next_word(r, word, &start) &&
              be_text_same(word, "y") && next_word(r, word, &start) && be_text_same(word, "z") &&
              !next_word(r, word, &start);
  if (!head) r->at = at;
  return head;
}

static enum be_status read_row(struct reading *r)
{
  char word[WORD_MOST];
  const char *start;
  double value;
  r->row_start = r->at;
  if (!next_word(r, word, &start)) {
    bool remark = r->at < r->end && *r->at == '#';
    if (!remark && r->begun && line_of(r)->count > 0) r->begun = false;
    return BE_OK;
  }
  if (is_number(word, &value)) return read_numbers(r, word, start);
  char head[WORD_MOST];
  memcpy(head, word, sizeof head);
  return is_head(r, head) ? BE_OK : read_words(r, word, start);
}

enum be_status be_points_read(const char *text, size_t size, struct be_arena *arena,
                              struct be_lines *lines, struct be_err *err)
{
  struct reading r = {.text = text, .at = text, .end = text + size, .arena = arena, .err = err};
  r.lines = lines;
  *lines = (struct be_lines){0};
  if (size >= 3 && memcmp(text, "\xEF\xBB\xBF", 3) == 0) r.at += 3;
  while (r.at < r.end) {
    r.row++;
    enum be_status status = read_row(&r);
    if (status != BE_OK) return status;
    while (r.at < r.end && *r.at != '\n') r.at++;
    if (r.at < r.end) r.at++;
  }
  if (lines->count == 0) return be_fail(err, BE_BAD_INPUT, "there is no point in this table");
  for (size_t l = 0; l < lines->count; l++) {
    enum be_status status = be_curve_check(&lines->line[l], err);
    if (status == BE_OK) continue;
    be_fail_at(err, NULL, r.first_row[l], 1);
    return status;
  }
  return BE_OK;
}

void be_points_write(const struct be_lines *lines, struct be_buf *out)
{
  for (size_t l = 0; l < lines->count; l++) {
    const struct be_curve *line = &lines->line[l];
    be_buf_format(out, "%sline %c%s diameter %.17g\n", l ? "\n" : "", (char)('A' + (int)l),
                  line->closed ? " closed" : "", lines->diameter[l]);
    for (size_t i = 0; i < line->count; i++)
      be_buf_format(out, "%.17g %.17g %.17g\n", line->points[i].x, line->points[i].y,
                    line->points[i].z);
  }
}
