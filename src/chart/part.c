/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A figure of many rows, or lines, in parts that have room in a frame. */
#include "chart/inside.h"

#include <assert.h>
#include <math.h>

enum { PARTS_MAX = 1000 };

/* Of which whole: number of parts, 1 where it is the whole itself. */
struct share {
  size_t from, count, number, parts;
};

static bool is_of_rows(const struct item *item, double first, double past)
{
  switch (item->kind) {
  case ITEM_RULE_X:
  case ITEM_KEY: return true;
  case ITEM_LINE: return false;
  case ITEM_BRACKET: return fmin(item->y2, past - 1) > fmax(item->y, first);
  case ITEM_MARK:
  case ITEM_BAR:
  case ITEM_SPAN:
  case ITEM_RULE_Y:
  case ITEM_NOTE:
  case ITEM_BOX:
  case ITEM_LABEL: break;
  }
  return item->y >= first - 0.5 && item->y < past - 0.5;
}

/* Rules, keys and what stands in these rows: or, of an x-y figure, belongs to these lines. */
static void copy_item(struct be_figure *part, const struct be_figure *figure,
                      const struct item *item, double from, double count)
{
  struct item copy = *item;
  copy.low = copy.high = NULL; /* the data are those of the whole */
  if (item->text) copy.text = be_figure_copy(part, item->text);
  part->aside = item->aside;
  if (item->kind == ITEM_LINE) {
    be_figure_line(part, item->points, item->points + item->count, item->count, item->tone,
                   item->stroke);
    return;
  }
  if (item->kind == ITEM_BRACKET) {
    copy.y = fmax(item->y, from);
    copy.y2 = fmin(item->y2, from + count - 1);
  }
  if (figure->row_count && item->kind != ITEM_RULE_X && item->kind != ITEM_KEY) {
    copy.y -= from;
    copy.y2 -= from;
  }
  be_figure_add(part, copy);
}

static void copy_items(struct be_figure *part, const struct be_figure *figure,
                       const struct share *share)
{
  size_t line = 0, from = share->from, count = share->count;
  bool whole = share->parts == 1;
  for (size_t i = 0; i < figure->item_count; i++) {
    const struct item *item = &figure->items[i];
    bool common = item->kind == ITEM_RULE_X || item->kind == ITEM_RULE_Y || item->kind == ITEM_KEY;
    bool wanted = figure->row_count ? is_of_rows(item, (double)from, (double)(from + count))
                                    : common || (line >= from && line < from + count);
    line += item->kind == ITEM_LABEL;
    if (whole || wanted) copy_item(part, figure, item, (double)from, (double)count);
  }
}

static const char *name_of(const struct be_figure *figure, size_t at)
{
  if (figure->row_count) return figure->rows[at].name;
  for (size_t i = 0; i < figure->item_count; i++)
    if (figure->items[i].kind == ITEM_LABEL && at-- == 0) return figure->items[i].text;
  return "";
}

/* Which part it is, before subtitle and words; what it holds, in these. */
static void write_heads(struct be_figure *part, const struct be_figure *figure,
                        const struct share *share)
{
  struct be_buf subtitle, words;
  be_buf_init(&subtitle, 1 << 20);
  be_buf_init(&words, 1 << 22);
  if (share->parts > 1) {
    be_buf_format(&subtitle, "Part %zu of %zu%s", share->number, share->parts,
                  *figure->subtitle ? "; " : "");
    be_buf_format(&words, "Part %zu of %zu, which shows ", share->number, share->parts);
    for (size_t i = share->from; i < share->from + share->count; i++)
      be_buf_format(&words, "%s%s", i > share->from ? "; " : "", name_of(figure, i));
    be_buf_text(&words, ". All parts: ");
  }
  be_buf_text(&subtitle, figure->subtitle);
  be_buf_text(&words, figure->words);
  if (subtitle.status == BE_OK && words.status == BE_OK) {
    part->subtitle = be_figure_copy(part, subtitle.data);
    part->words = be_figure_copy(part, words.data);
  } else part->status = BE_NO_MEMORY;
  be_buf_free(&subtitle);
  be_buf_free(&words);
}

/* These rows as a figure of its own, on the axes of the whole; null when out of memory. */
static struct be_figure *part_of(const struct be_figure *figure, const struct share *share)
{
  size_t past = share->from + share->count;
  struct be_figure *part = be_figure_create(figure->title, NULL, figure->width, figure->height);
  if (!part) return NULL;
  struct scale x = be_axis_range(figure, true), y = be_axis_range(figure, false);
  write_heads(part, figure, share);
  be_figure_x(part, figure->x.label, x.low, x.high, figure->x.integers);
  if (figure->row_count == 0) be_figure_y(part, figure->y.label, y.low, y.high);
  be_figure_scaling(part, figure->x.scaling, figure->y.scaling);
  if (figure->x.names) be_figure_names_x(part, figure->x.names, figure->x.names_count);
  part->foot = be_figure_copy(part, figure->foot);
  for (size_t i = share->from; i < past && i < figure->row_count; i++)
    be_figure_row(part, figure->rows[i].name, figure->rows[i].note);
  copy_items(part, figure, share);
  if (part->status == BE_OK) return part;
  be_figure_free(part);
  return NULL;
}

struct be_figure *be_figure_part(const struct be_figure *figure, size_t number, size_t parts)
{
  assert(number >= 1 && number <= parts);
  size_t rows = be_figure_rows(figure), from = rows * (number - 1) / parts;
  const struct share share = {from, rows * number / parts - from, number, parts};
  return part_of(figure, &share);
}

/* ---- how many rows have room ---- */

static enum be_status lay(const struct be_figure *part, enum be_frame frame, struct layout *layout)
{
  struct be_arena *arena = be_arena_create();
  enum be_status status =
      arena && part ? be_layout(part, frame, true, arena, layout) : BE_NO_MEMORY;
  be_arena_free(arena);
  return status;
}

static enum be_status has_room(const struct be_figure *figure, enum be_frame frame, int size,
                               size_t from, size_t count, bool *room)
{
  struct layout layout;
  const struct share share = {from, count, 1, count == be_figure_rows(figure) ? 1 : 10};
  struct be_figure *part = part_of(figure, &share);
  if (part) part->size = size;
  enum be_status status = lay(part, frame, &layout);
  *room = status == BE_OK && layout.used <= 1;
  be_figure_free(part);
  return status;
}

/* One has to have room. */
static enum be_status fit(const struct be_figure *figure, enum be_frame frame, int size,
                          size_t from, size_t *count)
{
  size_t left = be_figure_rows(figure) - from, too_many = left + 1, tried = left;
  *count = left > 0;
  while (*count + 1 < too_many) {
    bool room;
    enum be_status status = has_room(figure, frame, size, from, tried, &room);
    if (status != BE_OK) return status;
    if (room) *count = tried;
    else too_many = tried;
    tried = (*count + too_many) / 2;
  }
  /* As many in each part. */
  size_t parts = *count ? (left + *count - 1) / *count : 1;
  *count = (left + parts - 1) / parts;
  return BE_OK;
}

/* ---- all parts ---- */

/* The smallest text that any of them needs is that of all. */
static enum be_status set_one_size(struct be_figure *const *parts, size_t count,
                                   enum be_frame frame)
{
  int smallest = 0;
  enum be_status status = BE_OK;
  for (size_t i = 0; i < count && status == BE_OK; i++) {
    struct layout layout;
    status = lay(parts[i], frame, &layout);
    if (status == BE_OK && layout.size > smallest) smallest = layout.size;
  }
  for (size_t i = 0; i < count; i++) parts[i]->size = smallest;
  return status;
}

static enum be_status share_out(const struct be_figure *figure, enum be_frame frame, int size,
                                struct share *shares, size_t *parts)
{
  size_t rows = be_figure_rows(figure), from = 0;
  *parts = 0;
  do {
    size_t some = 0;
    if (*parts == PARTS_MAX) return BE_TOO_LARGE;
    enum be_status status = fit(figure, frame, size, from, &some);
    if (status != BE_OK) return status;
    shares[(*parts)++] = (struct share){.from = from, .count = some};
    from += some;
  } while (from < rows);
  return BE_OK;
}

/* Of the sizes of text that a tall frame may have, the largest of those with the fewest parts. */
static enum be_status choose_size(const struct be_figure *figure, enum be_frame frame,
                                  struct share *shares, size_t *parts, int *size)
{
  enum be_status status = share_out(figure, frame, 0, shares, parts);
  *size = 0;
  for (int smaller = 1; smaller<BE_TEXT_SIZES && * parts> 1; smaller++) {
    size_t fewer;
    if (status != BE_OK || frame != BE_FRAME_TALL) break;
    status = share_out(figure, frame, smaller, shares, &fewer);
    if (fewer < *parts) *size = smaller;
    if (fewer < *parts) *parts = fewer;
  }
  return status == BE_OK && *size ? share_out(figure, frame, *size, shares, parts) : status;
}

static enum be_status cut(const struct be_figure *figure, enum be_frame frame,
                          struct be_figure **parts, size_t *count)
{
  struct share shares[PARTS_MAX];
  size_t number = 0;
  int size;
  enum be_status status = choose_size(figure, frame, shares, &number, &size);
  for (size_t i = 0; i < number && status == BE_OK; i++) {
    shares[i].number = i + 1;
    shares[i].parts = number;
    parts[i] = part_of(figure, &shares[i]);
    if (!parts[i]) return BE_NO_MEMORY;
    parts[i]->size = size;
    *count = i + 1;
  }
  return status == BE_OK ? set_one_size(parts, number, frame) : status;
}

void be_figure_parts_free(struct be_figure **parts, size_t count)
{
  for (size_t i = 0; i < count; i++) be_figure_free(parts[i]);
  be_free(parts);
}

enum be_status be_figure_parts(const struct be_figure *figure, enum be_frame frame,
                               struct be_figure ***parts, size_t *count, struct be_err *err)
{
  enum be_status status = be_figure_status(figure);
  *parts = status == BE_OK ? be_alloc_array(PARTS_MAX, sizeof **parts) : NULL;
  *count = 0;
  if (status == BE_OK) status = *parts ? cut(figure, frame, *parts, count) : BE_NO_MEMORY;
  if (status == BE_OK) return BE_OK;
  be_figure_parts_free(*parts, *count);
  *parts = NULL;
  *count = 0;
  return be_fail(err, status,
                 status == BE_NO_MEMORY ? "no memory for a figure" : "a figure has too many parts");
}
