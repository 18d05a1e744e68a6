/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What let go: of the pulls of each knot the share of each way, told by pattern, tone and word. */
#include "app/figures/gallery.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum way { IN_KNOT, CLEAR, BROKE, SLIPPED, SLIPPED_BROKE, ELSEWHERE, HELD, UNTOLD, WAYS };
static const struct {
  const char *words;
  enum be_pattern pattern;
  enum be_tone tone;
} looks[WAYS] = {{"broke at the knot", BE_PATTERN_SOLID, BE_TONE_NYLON},
                 {"broke clear of it", BE_PATTERN_DOTS, BE_TONE_ACT},
                 {"broke, where not told", BE_PATTERN_FALLING, BE_TONE_NYLON},
                 {"slipped out", BE_PATTERN_RISING, BE_TONE_STOP},
                 {"slipped then broke", BE_PATTERN_CROSSED, BE_TONE_BRAID},
                 {"something else", BE_PATTERN_UPRIGHT, BE_TONE_FLUOROCARBON},
                 {"held", BE_PATTERN_NONE, BE_TONE_INK},
                 {"not recorded", BE_PATTERN_LEVEL, BE_TONE_MUTED}};

static enum way way_of(const struct be_pull *pull)
{
  switch (pull->what) {
  case BE_WHAT_UNKNOWN: return UNTOLD;
  case BE_WHAT_SLIPPED_OUT: return SLIPPED;
  case BE_WHAT_SLIPPED_BROKE: return SLIPPED_BROKE;
  case BE_WHAT_NOTHING: return HELD;
  case BE_WHAT_STRAND:
  case BE_WHAT_HARDWARE: return ELSEWHERE;
  case BE_WHAT_BROKE: break;
  }
  switch (pull->where) {
  case BE_WHERE_KNOT:
  case BE_WHERE_ENTRY: return IN_KNOT;
  case BE_WHERE_CLEAR: return CLEAR;
  case BE_WHERE_GRIP:
  case BE_WHERE_EYE: return ELSEWHERE;
  case BE_WHERE_UNKNOWN:
  case BE_WHERE_NOT_SEEN: break;
  }
  return BROKE;
}

struct counts {
  size_t of[WAYS], n, voids;
};

static void count_cell(const struct cell *cell, struct counts *counts)
{
  for (size_t i = 0; i < cell->count; i++) {
    if (cell->pulls[i]->kind == BE_KIND_VOID) {
      counts->voids++;
      continue;
    }
    counts->of[way_of(cell->pulls[i])]++;
    counts->n++;
  }
}

static void draw_row(struct be_figure *figure, const struct survey *survey, const char *name,
                     const struct counts *counts, struct be_buf *words)
{
  char note[48];
  snprintf(note, sizeof note, "n = %zu", counts->n);
  double y = be_figure_row(figure, name, note), before = 0;
  be_figure_tell_number(figure, "n", (double)counts->n);
  for (enum way way = IN_KNOT; way < WAYS; way++) {
    char word[32];
    double part = 100 * (double)counts->of[way] / (double)counts->n;
    struct be_interval rate = be_rate_exact(counts->of[way], counts->n, survey->how.level);
    const double low = 100 * rate.low, high = 100 * rate.high;
    if (counts->of[way] == 0) continue;
    snprintf(word, sizeof word, "%zu", counts->of[way]);
    be_figure_means(figure, "%s", looks[way].words);
    be_figure_tell_number(figure, "count", (double)counts->of[way]);
    be_figure_tell_number(figure, "share_percent", part);
    be_figure_box(figure, before, y - 0.38, before + part, y + 0.38, looks[way].pattern,
                  looks[way].tone, word);
    be_figure_within(figure, true, &low, &high);
    be_buf_format(words, "%s %s %s", before > 0 ? "," : "", word, looks[way].words);
    if (way == SLIPPED) be_buf_format(words, " (%.0f %% [%.0f, %.0f])", part, low, high);
    before += part;
  }
}

/* Rows with their counts, of one combination or of all. */
struct rows {
  const char **name;
  struct counts *counts;
  size_t count;
};

static const char *title_of(const struct survey *survey, const struct rows *rows)
{
  size_t most = 0;
  struct counts all = {0};
  for (size_t i = 0; i < rows->count; i++) {
    const struct counts *own = &rows->counts[i], *top = &rows->counts[most];
    all.of[SLIPPED] += own->of[SLIPPED];
    all.n += own->n - own->of[UNTOLD];
    if (own->of[SLIPPED] * top->n > top->of[SLIPPED] * own->n) most = i;
  }
  const struct counts *top = &rows->counts[most];
  size_t told = top->n - top->of[UNTOLD];
  bool none = all.of[SLIPPED] == 0;
  /* "At most" is one end: its interval has the other end's share of doubt too. */
  double level = survey->how.level;
  struct be_interval rate =
      be_rate_exact(none ? 0 : top->of[SLIPPED], none ? all.n : told, none ? 2 * level - 1 : level);
  const char *title =
      all.n == 0 ? "What let go was not recorded"
      : none     ? be_arena_format(survey->arena,
                                   "None of %zu slipped out: at most %.0f %% would, at %g %%", all.n,
                                   100 * rate.high, 100 * level)
                 : be_arena_format(survey->arena,
                                   "%s: %zu of %zu slipped out, %.0f\xC2\xA0%% [%.0f,\xC2\xA0%.0f]",
                                   rows->name[most], top->of[SLIPPED], told,
                                   100.0 * (double)top->of[SLIPPED] / (double)told, 100 * rate.low,
                                   100 * rate.high);
  return title ? title : "";
}

static struct be_figure *draw(const struct survey *survey, const struct rows *rows,
                              const char *place, const char *row_key)
{
  size_t voids = 0;
  bool used[WAYS] = {false};
  struct be_buf words;
  const char *subtitle =
      be_arena_format(survey->arena, "%s: what let go, counts of n pulls", place);
  struct be_figure *figure =
      be_figure_create(title_of(survey, rows), subtitle ? subtitle : place, FIGURE_WIDTH, 0);
  be_figure_x(figure, "share of the pulls (%)", 0, 100, false);
  be_figure_columns(figure, row_key, "share", NULL);
  if (strcmp(row_key, "knot") == 0) be_figure_tell(figure, "combination", place);
  for (size_t i = 0; i < rows->count; i++) {
    voids += rows->counts[i].voids;
    for (enum way way = IN_KNOT; way < WAYS; way++) used[way] |= rows->counts[i].of[way] > 0;
  }
  for (enum way way = IN_KNOT; way < WAYS; way++)
    if (used[way]) be_figure_key_box(figure, looks[way].pattern, looks[way].tone, looks[way].words);
  be_buf_init(&words, 1 << 20);
  for (size_t i = 0; i < rows->count; i++) {
    be_buf_format(&words, "%s%s, n = %zu:", i ? "; " : "", rows->name[i], rows->counts[i].n);
    draw_row(figure, survey, rows->name[i], &rows->counts[i], &words);
  }
  be_buf_format(&words, ". Brackets hold the %g %% interval of what slipped out.",
                100 * survey->how.level);
  if (voids) {
    be_figure_foot(figure, "%zu void pull%s left out.", voids, voids == 1 ? " is" : "s are");
    be_buf_format(&words, " %zu void pull%s left out.", voids, voids == 1 ? " is" : "s are");
  }
  return be_with_twin(figure, &words);
}

static enum be_status show_combination(struct gallery *gallery, const struct combination *where,
                                       struct rows *rows, struct be_err *err)
{
  const struct survey *survey = gallery->survey;
  rows->count = 0;
  for (size_t i = where->first_cell; i < where->first_cell + where->cells_count; i++) {
    struct counts counts = {0};
    count_cell(&survey->cells[i], &counts);
    if (counts.n == 0) continue;
    rows->name[rows->count] = be_cell_name(survey, &survey->cells[i]);
    rows->counts[rows->count++] = counts;
  }
  return rows->count
             ? be_gallery_add(gallery, where->name, draw(survey, rows, where->name, "knot"), err)
             : BE_OK;
}

enum be_status be_show_let_go(struct gallery *gallery, struct be_err *err)
{
  const struct survey *survey = gallery->survey;
  size_t most = survey->cells_count + survey->combinations_count + 1;
  struct rows rows = {be_arena_alloc(survey->arena, most * sizeof *rows.name),
                      be_arena_alloc(survey->arena, most * sizeof *rows.counts), 0};
  if (!rows.name || !rows.counts) return be_no_memory(err);
  gallery->why = "the book has no pull of a knot that is not void";
  enum be_status status = BE_OK;
  for (size_t c = 0; c < survey->combinations_count; c++) {
    const struct combination *where = &survey->combinations[c];
    struct counts counts = {0};
    if (be_is_plain(where)) continue;
    for (size_t i = 0; i < where->cells_count; i++)
      count_cell(&survey->cells[where->first_cell + i], &counts);
    if (counts.n == 0) continue;
    rows.name[rows.count] = where->name;
    rows.counts[rows.count++] = counts;
  }
  if (rows.count > 1)
    status =
        be_gallery_add(gallery, "", draw(survey, &rows, "every combination", "combination"), err);
  for (size_t c = 0; c < survey->combinations_count && status == BE_OK; c++)
    if (!be_is_plain(&survey->combinations[c]))
      status = show_combination(gallery, &survey->combinations[c], &rows, err);
  return status;
}
