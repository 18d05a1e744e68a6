/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A tie, said: the answer first. */
#include "app/anatomy/anatomy.h"
#include "app/survey/survey.h"

static const char *lines_words(const struct anatomy *anatomy)
{
  static const char *const numbers[] = {"", "one line", "two lines", "three lines", "four lines"};
  size_t lines = 0, hardware = 0;
  for (size_t i = 0; i < anatomy->tie.lines.count; i++)
    anatomy->tie.hardware[i] ? hardware++ : lines++;
  return hardware ? be_arena_format(anatomy->arena, "%s on hardware", numbers[lines])
                  : numbers[lines];
}

/* An end that lies inside the drawing can be led out over it or under it. */
static const char *by_way(const struct closing *closing)
{
  return closing->closed.led ? ", by the way out that is told below" : "";
}

/* "closed on itself far away it is consistent with 3_1, trefoil" */
static void say_consistent(struct be_doc *doc, const struct anatomy *anatomy)
{
  const struct closing *closing = &anatomy->closing[0];
  size_t strands = closing->diagram.strands;
  if (!anatomy->closings) return;
  if (strands == 1) {
    be_doc_sentence(doc, "With its ends joined far away it is consistent with %s%s.",
                    be_part_words(anatomy, &closing->part[0]), by_way(closing));
    return;
  }
  const char *words = "", *before = "";
  for (size_t i = 0; i < strands && words; i++) {
    size_t line = closing->closed.of[i];
    if (anatomy->tie.hardware[line]) continue;
    words =
        be_arena_format(anatomy->arena, "%s%sline %c alone is consistent with %s", words, before,
                        anatomy->tie.letter[line], be_part_words(anatomy, &closing->part[1 + i]));
    before = "; ";
  }
  be_doc_sentence(doc, "With the ends of each line joined far away, %s%s.", words ? words : "?",
                  by_way(closing));
}

static void say_answer(struct be_doc *doc, const struct anatomy *anatomy)
{
  const struct seen *seen = &anatomy->seen, *fewest = &anatomy->fewest;
  const struct be_load_counts *load = &anatomy->load;
  if (seen->words == fewest->words || seen->count <= fewest->count)
    be_doc_sentence(doc, "The %s, of %s, has %zu crossing%s %s.", anatomy->full,
                    lines_words(anatomy), seen->count, seen->count == 1 ? "" : "s", seen->words);
  else
    be_doc_sentence(doc, "The %s, of %s, has %zu crossing%s %s, and %zu %s.", anatomy->full,
                    lines_words(anatomy), seen->count, seen->count == 1 ? "" : "s", seen->words,
                    fewest->count, fewest->words);
  say_consistent(doc, anatomy);
  if (!anatomy->pulled || !seen->count) return;
  be_doc_sentence(doc,
                  "Of the crossings, %zu lie%s in the knot with both strands, %zu with one; %zu on "
                  "tags, %zu on standing parts.",
                  load->inside, load->inside == 1 ? "s" : "", load->half, load->tags,
                  load->standing);
}

enum be_status be_anatomy_doc(const struct anatomy *anatomy, struct be_doc **out,
                              struct be_err *err)
{
  struct be_doc *doc = be_doc_create("anatomy", anatomy->full);
  if (!doc) return be_no_memory(err);
  say_answer(doc, anatomy);
  if (anatomy->picture && !*anatomy->shape)
    be_doc_note(doc, "Its text is too long for a picture on a page: the command `anatomy` draws "
                     "it.");
  else if (anatomy->picture)
    be_doc_shape(doc, be_arena_format(anatomy->arena, "The %s, as it is tied", anatomy->full),
                 anatomy->picture, anatomy->shape);
  be_say_lines(doc, anatomy);
  be_say_counts(doc, anatomy);
  be_say_overlaps(doc, anatomy);
  be_say_wraps(doc, anatomy);
  be_say_crossings(doc, anatomy);
  be_say_closings(doc, anatomy);
  be_say_space(doc, anatomy);
  be_say_bend(doc, anatomy);
  be_say_settings(doc, anatomy);
  be_doc_fact(doc, "gauss", "Gauss code", "%s", anatomy->gauss ? anatomy->gauss : "none");
  if (anatomy->pd) be_doc_fact(doc, "pd", "Planar-diagram code, closed", "%s", anatomy->pd);
  if (anatomy->dowker)
    be_doc_fact(doc, "dowker", "Dowker-Thistlethwaite code, closed", "%s", anatomy->dowker);
  be_doc_fact(doc, "seed", "Seed of the views tried", "1");
  return be_doc_done(doc, be_arena_ran_out(anatomy->arena) ? be_no_memory(err) : BE_OK, out);
}
