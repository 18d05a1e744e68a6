/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Every error of the notation, with its line and column. */
#include "arena.h"
#include "knot/knot.h"
#include "test.h"

struct fault {
  const char *text, *words;
  size_t line, column;
};

static void refused(const struct fault *fault, size_t faults)
{
  for (size_t i = 0; i < faults; i++, fault++) {
    struct be_tie tie;
    struct be_err err = {0};
    enum be_status status = be_tie_read(fault->text, strlen(fault->text), NULL, arena, &tie, &err);
    if (status != BE_BAD_INPUT) fail_msg("read as %d: %s: %s", status, fault->text, err.what);
    if (!strstr(err.what, fault->words)) fail_msg("%s: %s", fault->text, err.what);
    if (err.line != fault->line || err.column != fault->column)
      fail_msg("%s: %s: at %zu:%zu", fault->text, err.what, err.line, err.column);
  }
}

static void words_that_make_no_sense(void **state)
{
  (void)state;
  static const struct fault faults[] = {
      {"line A 0,0 9,0", "it begins with: tie", 1, 1},
      {"", "it begins with: tie", 1, 1},
      {"tie x", "there is no line", 1, 1},
      {"tie x\nring R round 0,0 facing x radius 3", "there is no line", 1, 1},
      {"tie\nline A 0,0 9,0", "has nothing behind it", 1, 1},
      {"tie x\nalso", "has nothing behind it", 2, 1},
      {"tie x\ntie y", "a second begins", 2, 1},
      {"tie x\nkind twist", "no kind", 2, 6},
      {"tie x\nline A 0,0 9,0\nknit", "not known here", 3, 1},
      {"tie x\nline a 0,0 9,0", "capital letter", 2, 6},
      {"tie x\nline AB 0,0 9,0", "capital letter", 2, 6},
      {"tie x\nline", "capital letter", 2, 5},
      {"tie x\nline A 0,0 9,0\nline A 0,3 9,3", "a line A already", 3, 6},
      {"tie x\nline A 0,0 9,0\nline B A turned\nline C A turned\nline D A turned\nline E A beside",
       "more than 4 lines", 6, 6},
      {"tie x\nline A 0,0", "fewer than two points", 2, 6},
      {"tie x\nline A 0,0\nline B 0,3 9,3", "fewer than two points", 2, 6},
      {"tie x\nline A thick 0.01 0,0 9,0", "a thickness is", 2, 8},
      {"tie x\nline A 0,0 9,0\nend", "ends no block", 3, 1},
      {"tie x\npulled\nline A 0,0 9,0", "as in: pulled", 2, 1},
      {"tie x\nline A 0,0 9,0\npulled B first", "no line \"B\"", 3, 8},
      {"tie x\nline A 0,0 9,0\npulled A", "which end", 3, 8},
      {"tie x\nline A 0,0 9,0\npulled A, first", "no line \"A,\"", 3, 8},
      {"tie x\nline A 0,0 9,0\nrod R 0,5 9,5\npulled R first", "hardware", 4, 8},
      {"tie x\n3,4", "no line is begun that runs", 2, 1},
      {"tie x\no", "no line is begun that runs", 2, 1},
      {"tie x\ncoil 2 right along 0,0 to 5,0 at 2", "no line is begun that is coiled", 2, 1},
      {"tie x\ndoubled 0,0 5,0 end", "no line is begun that is doubled", 2, 1},
  };
  refused(faults, sizeof faults / sizeof faults[0]);
}

static void numbers_that_are_none(void **state)
{
  (void)state;
  static const struct fault faults[] = {
      {"tie x\nline A 0,0 9,", "no point", 2, 12},
      {"tie x\nline A 0,0 9", "no point", 2, 12},
      {"tie x\nline A 0,0 9,1,2,3", "no point", 2, 12},
      {"tie x\nline A 0,0 9,1x", "no point", 2, 12},
      {"tie x\nline A 0,0 9,(1+2", "a bracket is not closed", 2, 18},
      {"tie x\nline A 0,0 9,1..2", "is no number", 2, 14},
      {"tie x\nline A 0,0 9,0.1234567890123456789012345678901234567", "is no number", 2, 14},
      {"tie x\nline A 0,0 9,far", "no name of a number", 2, 14},
      {"tie x\nset hand right or left\nline A 0,0 9,hand", "a choice, no number", 3, 14},
      {"tie x\nline A 0,0 9,sin", "needs a bracket", 2, 17},
      {"tie x\nline A 0,0 9,1/(2-2)", "divided by 0", 2, 21},
      {"tie x\nline A 0,0 9,1000*1000", "larger than a million", 2, 12},
      {"tie x\nline A 0,0 9,((((((((((((((((((((((((((((((((((((((((((((((1))))))))))))))))))))))",
       "too many brackets", 2, 55},
      {"tie x\nlet far", "a number is missing", 2, 8},
      {"tie x\nlet far 2x", "is no number", 2, 9},
      {"tie x\nlet 2 3", "is no name", 2, 5},
      {"tie x\nlet end 3", "a meaning of its own", 2, 5},
      {"tie x\nlet ou 3", "a meaning of its own", 2, 5},
      {"tie x\nlet far-off 3", "is no name", 2, 5},
  };
  refused(faults, sizeof faults / sizeof faults[0]);
  struct be_buf text;
  be_buf_init(&text, 10000);
  be_buf_text(&text, "tie x\n");
  for (int i = 0; i < 70; i++) be_buf_format(&text, "let n%d %d\n", i, i);
  const struct fault many = {text.data, "more than 64 names", 66, 5};
  refused(&many, 1);
  be_buf_free(&text);
}

static void crossings_that_are_not_told(void **state)
{
  (void)state;
  static const struct fault faults[] = {
      {"tie x\nline A\n-9,0 9,0\n9,5 2.1,5\n2.1,-5",
       "crossing 1 of line A, with itself near 2.1,0: it is not said which runs over", 5, 1},
      {"tie x\nline A -9,0 o. 9,0\nline B -4,-5 . -4,5\nline C 4,5 . 4,-5",
       "crossing 2 of line A, with line C near 4,0: it is not said", 4, 14},
      {"tie x\nline A -9,0 o 9,0\nline B 0,-5 o 0,5", "both run over", 3, 13},
      {"tie x\nline A -9,0 u 9,0\nline B 0,-5\n.. 0,5", "2 letters, but 1 crossing", 4, 1},
      {"tie x\nline A -9,0 u 9,0", "1 letter, but 0 crossings", 2, 13},
      {"tie x\nline A -9,0 9,0 o", "no point follows", 2, 17},
      {"tie x\nline A o -9,0 9,0", "none is here", 2, 8},
      {"tie x\nline A -9,0 o 9,0,0", "only between two points of x,y", 2, 13},
      {"tie x\nline A -9,0 o 9,0\nline B 0,-5 0,0", "draw it a little aside", 3, 13},
      {"tie x\nline A -9,0 o 9,0\nline B -5,0 -4,4", "draw it a little aside", 3, 13},
      {"tie x\nline A -9,0 0,0 0,0 9,0", "stands still", 2, 17},
      {"tie x\nline A -9,0,0 9,0,0\nline B 0,-5,0 0,5,0", "run through one another", 0, 0},
      {"tie x\nline A -9,0 -1,0 0,9\nline B -9,-0.1 9,-0.1\nline C -3,-6 uo -3,6",
       "does not cross as", 0, 0},
  };
  refused(faults, sizeof faults / sizeof faults[0]);
}

static void shapes_that_are_none(void **state)
{
  (void)state;
  static const struct fault faults[] = {
      {"tie x\nline A coil 2 round", "right or left", 2, 15},
      {"tie x\nline A coil 2 right 0,0 to 5,0 at 1", "\"along\" is missing", 2, 21},
      {"tie x\nline A coil 2 right along 0,0 5,0 at 1", "\"to\" is missing", 2, 31},
      {"tie x\nline A coil 2 right along 0,0 to 5,0 1", "\"at\" is missing", 2, 38},
      {"tie x\nline A coil 0 right along 0,0 to 5,0 at 1", "more than no turns", 2, 13},
      {"tie x\nline A coil 2 right along 0,0 to 5,0 at 0", "at a radius", 2, 13},
      {"tie x\nline A coil 2 right along 1,0 to 1,0 at 2", "from one point to another", 2, 13},
      {"tie x\nring R round 0,0 radius 3\nline A -9,0\n o 9,1",
       "line A has 1 letter, but 2 crossings", 4, 2},
      {"tie x\nring R round 0,0 radius 3\nline A -9,0 9,1", "crossing 2 of line A, with line R", 3,
       13},
      {"tie x\nring R at 0,0", "\"round\" is missing", 2, 8},
      {"tie x\nring R round 0,0 x radius 3", "\"radius\" is missing", 2, 18},
      {"tie x\nring R round 0,0 facing x 3", "\"radius\" is missing", 2, 27},
      {"tie x\nring R round 0,0 facing 0,0 radius 3", "a ring faces somewhere", 2, 8},
      {"tie x\nline A A turned", "not there yet", 2, 8},
      {"tie x\nline A 0,0 9,0\nline B A bent", "turned, mirrored or beside", 3, 10},
      {"tie x\nline A 0,0 9,0\nline B A turned about w", "an axis is x, y or z", 3, 23},
      {"tie x\nline A 0,0 9,0\nline B A beside\nline C B beside", "itself", 4, 10},
      {"tie x\nline A 0,0 9,0\nline B A beside\nline C B turned", "itself", 4, 10},
      {"tie x\nline A doubled 0,0 9,0 end 0,-3\nline B A beside", "doubled itself", 3, 10},
  };
  refused(faults, sizeof faults / sizeof faults[0]);
}

static void blocks_that_do_not_end(void **state)
{
  (void)state;
  static const struct fault faults[] = {
      {"tie x\nrepeat 2\nline A 0,0 9,0", "its \"end\" is missing", 2, 1},
      {"tie x\nrepeat 2\nline A 0,0 9,0 end", "a line A already", 3, 6},
      {"tie x\nline A 0,0\nrepeat 2 i,1", "its \"end\" is missing", 3, 1},
      {"tie x\nline A 0,0\nrepeat 2 i,1 else end", "has no part \"else\"", 3, 14},
      {"tie x\nline A 0,0\nrepeat 1.5 i,1 end", "from 0 to 1000 times", 3, 1},
      {"tie x\nline A 0,0\nrepeat 1001 i,1 end", "from 0 to 1000 times", 3, 1},
      {"tie x\nline A 0,0\nrepeat 2 as end i,1 end", "a meaning of its own", 3, 13},
      {"tie x\nline A 0,0\nrepeat 999 repeat 999 let k 1 end end", "too much to draw", 3, 23},
      {"tie x\nline A 0,0 9,0\nwhen lay over", "no setting", 3, 6},
      {"tie x\nset lay over or side\nwhen lay under end\nline A 0,0 9,0", "none of the choices", 3,
       10},
      {"tie x\nset lay over or side\nwhen lay over\nline A 0,0 9,0", "is missing", 3, 1},
      {"tie x\nset lay over or side\nwhen lay over\nline A 0,0 9,0 tip", "no part \"tip\"", 4, 16},
      {"tie x\nline A doubled 0,0 9,0", "is missing", 2, 8},
      {"tie x\nline A doubled 0,0 end 9,0", "at least two points", 2, 8},
      {"tie x\nline A doubled 0,0 9,0 tip end", "has a point", 2, 8},
      {"tie x\nline A doubled 0,0 9,0 tip 12,3 else end", "has no part", 2, 33},
  };
  refused(faults, sizeof faults / sizeof faults[0]);
  struct be_buf text;
  be_buf_init(&text, 10000);
  be_buf_text(&text, "tie x\nset lay over or side\n");
  for (int i = 0; i < 40; i++) be_buf_text(&text, "when lay over\n");
  const struct fault deep = {text.data, "too deep", 33, 1};
  refused(&deep, 1);
  be_buf_free(&text);
}

static void settings_that_are_none(void **state)
{
  (void)state;
  static const struct fault faults[] = {
      {"tie x\nset turns", "a name and a usual value", 2, 1},
      {"tie x\nset turns 5", "as in: set turns", 2, 5},
      {"tie x\nset turns 5 from 1", "as in: set turns", 2, 5},
      {"tie x\nset turns 5 from 6 to 9\n", "5 is not from 6 to 9", 2, 5},
      {"tie x\nset turns 5 from 1 to 9\nset turns a or b", "already", 3, 5},
      {"tie x\nset sin a or b", "a meaning of its own", 2, 5},
      {"tie x\nset a1 b\nset a2 b\nset a3 b\nset a4 b\nset a5 b\nset a6 b\nset a7 b\nset a8 b\n"
       "set a9 b\nset b1 b\nset b2 b\nset b3 b\nset b4 b\nset b5 b\nset b6 b\nset b7 b\nset b8 b",
       "more than 16 settings", 18, 1},
  };
  refused(faults, sizeof faults / sizeof faults[0]);
}

static void values_that_cannot_be(void **state)
{
  (void)state;
  static const struct {
    const char *settings, *words;
  } asked[] = {
      {"turns=11", "turns is a whole number from 1 to 10, not \"11\""},
      {"turns=2.5", "a whole number"},
      {"turns=x", "not \"x\""},
      {"turns=", "is no setting: write it as in turns=7"},
      {"=7", "is no setting"},
      {"turns 7", "is no setting"},
      {"slack=2.5", "slack is a number from 0 to 2"},
      {"hand=up", "hand is one of right, left, not \"up\""},
      {"turns=7 hnad=left", "no setting \"hnad\"; it has these: turns (1 to 10), slack (0 to 2), "
                            "hand (right, left)"},
      {"a=1 b=1 c=1 d=1 e=1 f=1 g=1 h=1 i=1 j=1 k=1 l=1 m=1 n=1 o=1 p=1 q=1", "more than 16"},
  };
  static const char text[] = "tie x\nset turns 5 from 1 to 10\nset slack 0.5 from 0 to 2\n"
                             "set hand right or left\nline A 0,0 9,0";
  struct be_tie tie;
  struct be_err err;
  for (size_t i = 0; i < sizeof asked / sizeof asked[0]; i++) {
    assert_int_equal(be_tie_read(text, sizeof text - 1, asked[i].settings, arena, &tie, &err),
                     BE_BAD_INPUT);
    if (!strstr(err.what, asked[i].words)) fail_msg("%s: %s", asked[i].settings, err.what);
  }
  assert_int_equal(be_tie_read("tie x\nline A 0,0 9,0", 20, "turns=7", arena, &tie, &err),
                   BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "it has none"));
}

static void too_much(const char *text, size_t size, const char *words)
{
  struct be_tie tie;
  struct be_err err = {0};
  enum be_status status = be_tie_read(text, size, NULL, arena, &tie, &err);
  if (status != BE_TOO_LARGE || !strstr(err.what, words)) fail_msg("%d: %s", status, err.what);
}

static void ties_have_a_largest_size(void **state)
{
  (void)state;
  char *text = be_arena_alloc(arena, BE_TIE_TEXT_MAX + 2);
  memset(text, ' ', BE_TIE_TEXT_MAX + 1);
  too_much(text, BE_TIE_TEXT_MAX + 1, "at most 65536 bytes");
  const char *way = "tie x\nline A 0,0 3000,0";
  too_much(way, strlen(way), "longer than 2000");
  const char *many = "tie x\nline A 0,0 repeat 900 i,1 end repeat 900 i,3 end repeat 900 i,5 end";
  too_much(many, strlen(many), "straight pieces");
  const char *more = "tie x\nline A repeat 1000 repeat 30 i*0.1,k,i end end";
  struct be_tie tie;
  assert_int_not_equal(be_tie_read(more, strlen(more), NULL, arena, &tie, NULL), BE_OK);
}

int main(void)
{
#define with_arena(test) cmocka_unit_test_setup_teardown(test, start, end)
  const struct CMUnitTest tests[] = {
      with_arena(words_that_make_no_sense),    with_arena(numbers_that_are_none),
      with_arena(crossings_that_are_not_told), with_arena(shapes_that_are_none),
      with_arena(blocks_that_do_not_end),      with_arena(settings_that_are_none),
      with_arena(values_that_cannot_be),       with_arena(ties_have_a_largest_size),
  };
  return be_tests("knot: errors of a tie", tests);
}
