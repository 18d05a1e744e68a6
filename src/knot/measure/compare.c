/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "knot/measure/inside.h"

enum { TRIES = 40 };
enum kind { KIND_ONE_PULLED, KIND_HARDWARE, KIND_BOTH_PULLED, KIND_NONE_PULLED };

struct ties {
  enum be_closure closure;
  struct be_arena *arena;
  struct be_err *err;
};

static enum be_status draw(const struct ties *w, const struct be_lines *lines,
                           const struct be_view *view, struct be_diagram *diagram)
{
  struct be_crossing *crossings;
  struct be_view aside = *view;
  size_t count;
  enum be_status status = be_crossings_near(lines, &aside, w->arena, &crossings, &count, w->err);
  if (status != BE_OK) return status;
  return be_crossings_diagram(lines, crossings, count, w->arena, diagram, w->err);
}

static void mark(const struct be_ends *ends, size_t line, size_t strand, struct be_marks *marks)
{
  bool first = ends->loaded[line][0], last = ends->loaded[line][1];
  marks->direction[strand] = (signed char)(first == last ? 0 : last ? 1 : -1);
  marks->kind[strand] = ends->hardware[line] ? KIND_HARDWARE
                        : first != last      ? KIND_ONE_PULLED
                        : first              ? KIND_BOTH_PULLED
                                             : KIND_NONE_PULLED;
}

/* Ends held where they are. */
static enum be_status compare_held(const struct ties *w, const struct be_tied *const ties[2],
                                   struct be_buf *certificate, struct be_same *same)
{
  struct be_diagram diagrams[2];
  struct be_marks marks[2] = {{{0}, {0}}, {{0}, {0}}};
  enum be_status status = BE_OK;
  for (int k = 0; k < 2 && status == BE_OK; k++) {
    status = draw(w, ties[k]->lines, ties[k]->view, &diagrams[k]);
    for (size_t l = 0; l < ties[k]->lines->count; l++) mark(ties[k]->ends, l, l, &marks[k]);
  }
  if (status != BE_OK) return status;
  return be_diagrams_same(&diagrams[0], &marks[0], &diagrams[1], &marks[1], 0, certificate, same,
                          w->err);
}

static enum be_status compare_closed(const struct ties *w, const struct be_tied *const ties[2],
                                     struct be_buf *certificate, struct be_same *same)
{
  struct be_diagram diagrams[2];
  struct be_marks marks[2] = {{{0}, {0}}, {{0}, {0}}};
  enum be_status status = BE_OK;
  for (int k = 0; k < 2 && status == BE_OK; k++) {
    struct be_closed closed;
    status = be_close(ties[k]->lines, ties[k]->ends, ties[k]->view, w->closure, w->arena, &closed,
                      w->err);
    if (status == BE_OK) status = draw(w, &closed.lines, ties[k]->view, &diagrams[k]);
    for (size_t s = 0; status == BE_OK && s < closed.lines.count; s++)
      if (!be_closures[w->closure].for_two) mark(ties[k]->ends, closed.of[s], s, &marks[k]);
  }
  if (status != BE_OK) return status;
  return be_diagrams_same(&diagrams[0], &marks[0], &diagrams[1], &marks[1], TRIES, certificate,
                          same, w->err);
}

static enum be_status count_bend(const struct ties *w, const struct be_tied *tie, bool *counted,
                                 struct be_bend_counts *counts)
{
  struct be_crossing *crossings;
  struct be_view view = *tie->view;
  size_t count;
  enum be_status status =
      be_crossings_near(tie->lines, &view, w->arena, &crossings, &count, w->err);
  if (status != BE_OK) return status;
  status = be_bend_counts(tie->lines, tie->ends, crossings, count, w->arena, counts, w->err);
  *counted = status == BE_OK;
  return status == BE_NO ? BE_OK : status;
}

static bool is_found(const struct be_same *same)
{
  return same->verdict == BE_SAME || same->verdict == BE_MIRROR;
}

enum be_status be_ties_compare(const struct be_tied *a, const struct be_tied *b,
                               enum be_closure closure, struct be_arena *arena,
                               struct be_buf *certificate, struct be_compared *compared,
                               struct be_err *err)
{
  const struct be_tied *const ties[2] = {a, b};
  const struct ties w = {closure, arena, err};
  *compared = (struct be_compared){.closure = closure};
  if (certificate) be_buf_text(certificate, "With the ends held: ");
  enum be_status status = compare_held(&w, ties, certificate, &compared->held);
  if (certificate) be_buf_format(certificate, "\nClosed (%s): ", be_closures[closure].words);
  if (status == BE_OK) status = compare_closed(&w, ties, certificate, &compared->closed);
  for (int k = 0; k < 2 && status == BE_OK; k++)
    status = count_bend(&w, ties[k], &compared->counted[k], &compared->counts[k]);
  if (is_found(&compared->held)) compared->other_ends = !compared->held.marked;
  else if (is_found(&compared->closed)) compared->other_ends = !compared->closed.marked;
  return status;
}
