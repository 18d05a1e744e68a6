/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "knot/invariant/numbers.h"

#include <stdio.h>
#include <string.h>

struct side {
  struct be_diagram diagram; /* simplified */
  const struct be_marks *marks;
  struct be_canonical plain, marked;
  struct numbers *numbers; /* null: a strand is open */
};

/* The second as it is, seen from behind (over is under, signs stay), and the mirror images of
 * both. */
struct form {
  struct be_diagram diagram;
  struct be_canonical plain, marked;
};
enum { BEHIND = 1, MIRROR = 2, FORMS = 4 };

struct comparing {
  struct side a, b;
  struct form forms[FORMS];
  struct be_arena *arena;
  struct be_buf *certificate;
  struct be_same *same;
  struct be_err *err;
};

static void tell(struct comparing *w, const char *words)
{
  if (w->certificate) be_buf_text(w->certificate, words);
}

static enum be_status prepare(struct comparing *w, const struct be_diagram *diagram,
                              const struct be_marks *marks, size_t which, struct side *side)
{
  bool closed = true;
  for (size_t s = 0; s < diagram->strands; s++) closed = closed && diagram->strand[s].closed;
  side->marks = marks;
  tell(w, which ? "\nthe second: " : "the first: ");
  enum be_status status = be_diagram_copy(diagram, w->arena, &side->diagram, w->err);
  if (status == BE_OK)
    status = be_diagram_simplify(&side->diagram, w->arena, w->certificate, &w->same->moves[which],
                                 w->err);
  if (w->same->moves[which] == 0) tell(w, "nothing to take out; ");
  w->same->crossings[which] = side->diagram.crossings;
  if (status == BE_OK)
    status = be_diagram_canonical(&side->diagram, NULL, w->arena, &side->plain, w->err);
  if (status == BE_OK)
    status = be_diagram_canonical(&side->diagram, marks, w->arena, &side->marked, w->err);
  if (status != BE_OK || !closed) return status;
  side->numbers = be_arena_alloc(w->arena, sizeof *side->numbers);
  if (!side->numbers) return be_fail(w->err, BE_NO_MEMORY, "no memory for the comparison");
  return be_numbers_find(&side->diagram, w->arena, side->numbers, w->err);
}

static enum be_status make_forms(struct comparing *w)
{
  enum be_status status = BE_OK;
  for (int f = 0; f < FORMS && status == BE_OK; f++) {
    struct form *form = &w->forms[f];
    status = be_diagram_copy(&w->b.diagram, w->arena, &form->diagram, w->err);
    if (status != BE_OK) break;
    if (f & MIRROR) be_diagram_mirror(&form->diagram);
    for (size_t s = 0; (f & BEHIND) && s < form->diagram.strands; s++)
      for (size_t k = 0; k < form->diagram.strand[s].count; k++)
        form->diagram.strand[s].pass[k].over = !form->diagram.strand[s].pass[k].over;
    status = be_diagram_canonical(&form->diagram, NULL, w->arena, &form->plain, w->err);
    if (status == BE_OK)
      status = be_diagram_canonical(&form->diagram, w->b.marks, w->arena, &form->marked, w->err);
  }
  return status;
}

/* Whether the second, or its mirror image, from either side has the first's code. */
static bool has_code(const struct comparing *w, int mirror, bool marked)
{
  for (int f = mirror; f <= mirror + BEHIND; f++)
    if (marked ? be_canonical_same(&w->a.marked, &w->forms[f].marked)
               : be_canonical_same(&w->a.plain, &w->forms[f].plain))
      return true;
  return false;
}

/* Whether the numbers of two surely differ; words say which. */
static bool differ(const struct comparing *w, bool mirror)
{
  const struct numbers *a = w->a.numbers, *b = w->b.numbers;
  return a && b && be_numbers_differ(a, b, mirror, w->same->words, sizeof w->same->words);
}

static void say_found(struct comparing *w, enum be_verdict verdict, size_t moved)
{
  struct be_same *same = w->same;
  same->verdict = verdict;
  if (moved)
    snprintf(same->words, sizeof same->words,
             "%zu moves, and %zu with %zu more by a seeded stream, lead to one code",
             same->moves[0], same->moves[1], moved);
  else
    snprintf(same->words, sizeof same->words, "%zu moves and %zu moves lead to one code",
             same->moves[0], same->moves[1]);
}

/* ---- moving about ---- */

enum { MOVES = 30, ROOM = 12 };

/* The second (or its mirror image) moved about, then simplified; *found: it has the first's code.
 */
static enum be_status move_about(struct comparing *w, const struct be_diagram *from,
                                 const struct be_marks *marks, size_t stream, bool *found)
{
  struct be_arena *arena = be_arena_create();
  struct be_diagram moved;
  struct be_random random;
  struct be_canonical code = {0};
  if (!arena) return be_fail(w->err, BE_NO_MEMORY, "no memory for the moves");
  be_random_init(&random, 1, stream);
  enum be_status status = be_diagram_copy(from, arena, &moved, w->err);
  for (int i = 0; i < MOVES && status == BE_OK; i++) {
    bool up = moved.crossings < from->crossings + ROOM && i < 2 * MOVES / 3;
    status = be_diagram_move(&moved, &random, up, arena, NULL);
    if (status == BE_NO) status = BE_OK;
  }
  if (status == BE_OK) status = be_diagram_simplify(&moved, arena, NULL, NULL, w->err);
  if (status == BE_OK) status = be_diagram_canonical(&moved, NULL, arena, &code, w->err);
  *found = status == BE_OK && be_canonical_same(&code, &w->a.plain);
  if (*found) status = be_diagram_canonical(&moved, marks, arena, &code, w->err);
  if (*found && status == BE_OK) w->same->marked = be_canonical_same(&code, &w->a.marked);
  be_arena_free(arena);
  return status;
}

/* Both the second and its mirror image, where the numbers allow it. */
static enum be_status search(struct comparing *w, size_t tries, bool straight, bool mirror)
{
  enum be_status status = BE_OK;
  for (size_t i = 0; i < tries && status == BE_OK; i++) {
    bool found = false;
    if (straight) status = move_about(w, &w->b.diagram, w->b.marks, i, &found);
    enum be_verdict verdict = BE_SAME;
    if (status == BE_OK && !found && mirror) {
      status = move_about(w, &w->forms[MIRROR].diagram, w->b.marks, i, &found);
      verdict = BE_MIRROR;
    }
    if (status != BE_OK || !found) continue;
    if (w->certificate)
      be_buf_format(w->certificate, "%d moves of seed 1, stream %zu, then all that take out; ",
                    MOVES, i);
    say_found(w, verdict, MOVES);
    w->same->mirror_too = verdict == BE_MIRROR && !straight;
    break;
  }
  return status;
}

static enum be_status decide(struct comparing *w, size_t tries)
{
  struct be_same *same = w->same;
  bool found = has_code(w, 0, false), mirrored = has_code(w, MIRROR, false);
  bool mirror = !differ(w, true), straight = !differ(w, false);
  if (found || mirrored) {
    bool as_it_is = has_code(w, 0, true), as_mirror = has_code(w, MIRROR, true);
    say_found(w, found && (as_it_is || !as_mirror) ? BE_SAME : BE_MIRROR, 0);
    same->marked = as_it_is || as_mirror;
    same->mirror_too = same->verdict == BE_SAME ? mirrored : !straight;
    return BE_OK;
  }
  same->mirror_too = !mirror;
  same->verdict = straight ? BE_NOT_DECIDED : BE_APART;
  if (straight)
    snprintf(same->words, sizeof same->words, "%s, and no moves were found in %zu tries",
             w->a.numbers ? "nothing that was compared differs" : "their codes differ", tries);
  return search(w, tries, straight, mirror);
}

enum be_status be_diagrams_same(const struct be_diagram *a, const struct be_marks *of_a,
                                const struct be_diagram *b, const struct be_marks *of_b,
                                size_t tries, struct be_buf *certificate, struct be_same *same,
                                struct be_err *err)
{
  struct comparing w = {.certificate = certificate, .same = same, .err = err};
  *same = (struct be_same){.verdict = BE_NOT_DECIDED};
  w.arena = be_arena_create();
  if (!w.arena) return be_fail(err, BE_NO_MEMORY, "no memory for the comparison");
  enum be_status status = prepare(&w, a, of_a, 0, &w.a);
  if (status == BE_OK) status = prepare(&w, b, of_b, 1, &w.b);
  if (status == BE_OK) status = make_forms(&w);
  if (status == BE_OK) status = decide(&w, tries);
  if (status == BE_OK && certificate) status = be_buf_status(certificate, err);
  be_arena_free(w.arena);
  return status;
}
