/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Why a knot moved, in words that the two records bear out. */
#include "app/moved/moved.h"

#include <math.h>
#include <string.h>

enum { NAMED_MAX = 3, WORDS_MAX = 1 << 20 };

static void begin(struct be_buf *out)
{
  if (out->size) be_buf_text(out, "; ");
}

/* "+1.3", or "less than 0.1". */
static void add_change(struct be_buf *out, double value, int decimals)
{
  double last = pow(10, -decimals);
  if (value == 0) be_buf_char(out, '0');
  else if (fabs(value) < last / 2) be_buf_format(out, "less than %.*f", decimals, last);
  else be_buf_format(out, "%+.*f", decimals, value);
}

/* How much of the change it was, where that is known. */
static void add_part(struct be_buf *out, const struct moved *moved, const struct move *move,
                     enum moved_part part)
{
  const struct survey *now = moved->step[STEP_NOW];
  double value = move->part[part];
  if (isnan(value)) return;
  be_buf_text(out, " (");
  if (move->by_load) add_change(out, be_shown(now, value), now->decimals + 1);
  else add_change(out, 100 * value, 1);
  be_buf_format(out, " %s)", move->by_load ? now->how.unit->name : "pts");
}

static void say_own(struct be_buf *out, const struct moved *moved, const struct move *move)
{
  if (move->corrections) {
    begin(out);
    be_buf_format(out, "%zu correction%s of its own", move->corrections,
                  move->corrections == 1 ? "" : "s");
    add_part(out, moved, move, PART_CORRECTIONS);
  }
  if (move->pulls && move->then != NOT_RANKED) {
    begin(out);
    be_buf_format(out, "%zu new pull%s of its own", move->pulls, move->pulls == 1 ? "" : "s");
    add_part(out, moved, move, PART_PULLS);
  }
}

/* ---- plain lines ---- */

/* Plain pulls of a line and soak, that are new or corrected. */
static void count_plain(const struct moved *moved, int line, enum be_soak soak, size_t *added,
                        size_t *corrected)
{
  const struct survey *now = moved->step[STEP_NOW];
  *added = *corrected = 0;
  for (size_t i = 0; i < now->record.pulls_count; i++) {
    const struct be_pull *pull = &now->record.pulls[i];
    if (pull->design != BE_DESIGN_PLAIN || now->name_of_line[pull->line_a] != line ||
        pull->soak != soak)
      continue;
    *added += be_moved_is_new(moved, pull) && pull->kind != BE_KIND_VOID;
    *corrected += be_moved_is_corrected(moved, pull);
  }
}

/* The line of one combination: the same pulls of the knot, over the old and over the new. */
static void say_line(struct be_buf *out, const struct moved *moved, const char *combination,
                     const struct move *move)
{
  const struct survey *now = moved->step[STEP_NOW];
  const struct cell *was = be_moved_cell(moved->step[STEP_PULLED], combination, move->knot);
  const struct cell *is = be_moved_cell(now, combination, move->knot);
  size_t added, corrected;
  if (!was || !is || !was->shares || !is->shares) return;
  const char *name = now->line_names[is->plain.line];
  begin(out);
  if (was->plain.line != is->plain.line)
    be_buf_format(out, "now divided by %s, the weaker line by its plain pulls", name);
  else {
    count_plain(moved, is->plain.line, is->events[0]->soak, &added, &corrected);
    be_buf_format(out, "the plain line %s moved by ", name);
    add_change(out, 100 * (was->efficiency.value / is->efficiency.value - 1), 1);
    be_buf_text(out, " %");
    if (added) be_buf_format(out, ", %zu new plain pull%s", added, added == 1 ? "" : "s");
    if (corrected)
      be_buf_format(out, ", %zu plain pull%s corrected", corrected, corrected == 1 ? "" : "s");
    if (is->plain.match < was->plain.match) be_buf_text(out, ", matched more closely");
  }
  add_part(out, moved, move, PART_PLAIN);
}

static void say_plain(struct be_buf *out, const struct moved *moved,
                      const struct moved_place *place, const struct move *move)
{
  const struct grid *block = &place->then->block;
  if (move->by_load && isnan(place->then->efficiency[move->then]) &&
      !isnan(place->now->efficiency[move->now])) {
    begin(out);
    be_buf_text(out, "there was no plain line to divide by then");
  }
  if (move->by_load || move->part[PART_PLAIN] == 0) return;
  if (isnan(move->part[PART_PLAIN])) {
    bool unknown = !isnan(move->was) && isnan(move->part[PART_PULLS]) && move->pulls > 0;
    begin(out);
    be_buf_text(out, unknown ? "no plain line before to divide its new pulls by: not split"
                             : "not split between pulls and plain lines");
    return;
  }
  if (block->combinations == 1) {
    say_line(out, moved, block->where[0]->name, move);
    return;
  }
  begin(out);
  be_buf_text(out, "plain lines of its combinations");
  add_part(out, moved, move, PART_PLAIN);
}

/* ---- the ranked block ---- */

static bool has_combination(const struct grid *block, const char *name)
{
  for (size_t c = 0; c < block->combinations; c++)
    if (strcmp(block->where[c]->name, name) == 0) return true;
  return false;
}

static size_t say_missing(struct be_buf *out, const struct grid *of, const struct grid *in,
                          const char *words)
{
  size_t count = 0;
  for (size_t c = 0; c < of->combinations; c++) {
    const char *name = of->where[c]->name;
    if (has_combination(in, name)) continue;
    if (++count > NAMED_MAX) continue;
    if (count == 1) begin(out);
    be_buf_format(out, "%s%s", count == 1 ? words : " and ", name);
  }
  if (count > NAMED_MAX) be_buf_format(out, " and %zu more", count - NAMED_MAX);
  return count;
}

static void say_block(struct be_buf *out, const struct moved *moved,
                      const struct moved_place *place, const struct move *move)
{
  const struct grid *then = &place->then->block, *now = &place->now->block;
  size_t changed = say_missing(out, now, then, "ranked over more: ");
  changed += say_missing(out, then, now, "no longer ranked over ");
  if (changed && move->then != NOT_RANKED && move->now != NOT_RANKED)
    add_part(out, moved, move, PART_BLOCK);
}

/* ---- other knots ---- */

/* Names that are gathered for one reason. */
struct names {
  struct be_buf text;
  size_t count;
};

static void add_name(struct names *names, const char *name)
{
  if (++names->count > NAMED_MAX) return;
  be_buf_format(&names->text, "%s%s", names->count > 1 ? " and " : "", name);
}

static void say_names(struct be_buf *out, const char *before, struct names *names,
                      const char *after)
{
  if (names->count) {
    begin(out);
    be_buf_format(out, "%s%s", before, names->text.data ? names->text.data : "?");
    if (names->count > NAMED_MAX) be_buf_format(out, " and %zu more", names->count - NAMED_MAX);
    be_buf_text(out, after);
  }
  if (names->text.status != BE_OK) out->status = names->text.status;
  be_buf_free(&names->text);
}

enum other {
  PASSED,
  PASSED_BY,
  CAME_ABOVE,
  CAME_BELOW,
  WENT_ABOVE,
  WENT_BELOW,
  NOW_APART,
  NOW_TOGETHER,
  OTHERS
};

static void add_shared(const struct moved_place *place, const struct move *move, int then_b,
                       int now_b, const char *name, struct names names[OTHERS])
{
  const struct ranking *then = place->then, *now = place->now;
  bool was_above = then->rank[then_b].rank < then->rank[move->then].rank;
  bool is_above = now->rank[now_b].rank < now->rank[move->now].rank;
  int was = be_moved_verdict(then, move->then, then_b);
  int is = be_moved_verdict(now, move->now, now_b);
  if (was_above != is_above) add_name(&names[was_above ? PASSED : PASSED_BY], name);
  if (was != is) add_name(&names[is ? NOW_APART : NOW_TOGETHER], name);
}

static void add_other(const struct moved_place *place, const struct move *move, int knot,
                      const char *name, struct names names[OTHERS])
{
  const struct ranking *then = place->then, *now = place->now;
  int then_b = be_moved_index(then, knot), now_b = be_moved_index(now, knot);
  if (then_b != NOT_RANKED && now_b != NOT_RANKED)
    add_shared(place, move, then_b, now_b, name, names);
  else if (now_b != NOT_RANKED)
    add_name(&names[now->rank[now_b].rank < now->rank[move->now].rank ? CAME_ABOVE : CAME_BELOW],
             name);
  else if (then_b != NOT_RANKED)
    add_name(
        &names[then->rank[then_b].rank < then->rank[move->then].rank ? WENT_ABOVE : WENT_BELOW],
        name);
}

/* Verdicts of a table are adjusted to each other: more pairs ask more of each. */
static void say_pairs(struct be_buf *out, const struct moved_place *place)
{
  size_t then = place->then->block.knots, now = place->now->block.knots;
  if (then != now)
    be_buf_format(out, " (%zu pair%s judged at once now, %zu then)", now * (now - 1) / 2,
                  now == 2 ? "" : "s", then * (then - 1) / 2);
}

static void say_others(struct be_buf *out, const struct survey *now,
                       const struct moved_place *place, const struct move *move)
{
  static const struct {
    const char *before, *after;
  } words[OTHERS] = {
      [PASSED] = {"passed the ", ""},
      [PASSED_BY] = {"passed by the ", ""},
      [CAME_ABOVE] = {"the ", " came in above it"},
      [CAME_BELOW] = {"the ", " came in below it"},
      [WENT_ABOVE] = {"the ", " left from above it"},
      [WENT_BELOW] = {"the ", " left from below it"},
      [NOW_APART] = {"now apart from the ", ""},
      [NOW_TOGETHER] = {"no longer apart from the ", ""},
  };
  struct names names[OTHERS];
  for (int i = 0; i < OTHERS; i++) {
    names[i].count = 0;
    be_buf_init(&names[i].text, WORDS_MAX);
  }
  for (size_t k = 0; k < now->record.knots_count; k++)
    if ((int)k != move->knot) add_other(place, move, (int)k, be_knot_name(now, (int)k), names);
  const struct rank *was = &place->then->rank[move->then], *is = &place->now->rank[move->now];
  /* Who comes below or leaves changes a range only by where it ends. */
  bool same_place = was->rank == is->rank && was->low == is->low && was->high == is->high;
  for (int i = 0; i < OTHERS; i++) {
    bool tells = i < CAME_ABOVE || i > WENT_BELOW || !same_place;
    bool of_verdicts = (i == NOW_APART || i == NOW_TOGETHER) && names[i].count > 0;
    if (!tells) names[i].count = 0;
    say_names(out, words[i].before, &names[i], words[i].after);
    if (of_verdicts) say_pairs(out, place);
  }
}

const char *be_moved_why(const struct moved *moved, const struct moved_place *place,
                         const struct move *move)
{
  const struct survey *now = moved->step[STEP_NOW];
  struct be_buf out;
  be_buf_init(&out, WORDS_MAX);
  if (move->then == NOT_RANKED)
    be_buf_format(&out, "%zu of its %zu pulls are new", move->pulls, move->n_is);
  if (move->now == NOT_RANKED)
    be_buf_text(&out, place->group ? "not tied in all the combinations that are ranked over now"
                                   : "no event of it is left here");
  say_own(&out, moved, move);
  if (move->then != NOT_RANKED && move->now != NOT_RANKED) say_plain(&out, moved, place, move);
  say_block(&out, moved, place, move);
  if (move->then != NOT_RANKED && move->now != NOT_RANKED) say_others(&out, now, place, move);
  const char *text = out.status == BE_OK ? be_arena_text(now->arena, out.data, out.size) : NULL;
  be_buf_free(&out);
  return text;
}
