/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The document that the tests of this room print, with odd values in it. */
#ifndef BE_TEST_SAMPLE_H
#define BE_TEST_SAMPLE_H

#include "press/press.h"
#include "test.h"

static const struct be_column sample_columns[] = {
    {"knot", "knot", BE_COLUMN_TEXT, false},
    {"mean_lb", "mean (lb)", BE_COLUMN_NUMBER, false},
    {"mean_ci_lb", "95 % interval", BE_COLUMN_INTERVAL, false},
    {"slipped", "slipped", BE_COLUMN_COUNT, false},
    {"code", "code", BE_COLUMN_TEXT, true},
};

static inline void sample_table(struct be_doc *doc)
{
  struct be_table *table = be_doc_table(doc, "strength", "Strength", sample_columns, 5);
  be_table_unlike_units(table);
  be_table_text(table, "F & G, \"%d\" wraps", 19);
  be_table_link(table, "/knots/%d?a=1&b=\"2\"", 37);
  be_table_number(table, 17.3, 2);
  be_table_interval(table, 15.9, 18.75, 1);
  be_table_count(table, 3, 10);
  be_table_text(table, "K<1>");
  be_table_text(table, "Zo\xC3\xAB's loop");
  be_table_number(table, 107.0, 0);
  be_table_interval(table, -INFINITY, NAN, 1);
  be_table_none(table);
  be_table_none(table);
  be_table_text(table, "bad \xFF byte");
  be_table_number(table, NAN, 1);
  be_table_interval(table, NAN, NAN, 1);
  be_table_text(table, "not seen");
  be_table_text(table, "%s", "");
}

static inline struct be_figure *sample_figure(void)
{
  struct be_figure *figure = be_figure_create("Holds & slips", "13 pulls", 613, 0);
  double row = be_figure_row(figure, "F & G", "n = 13");
  be_figure_mark(figure, 0.37, row, BE_SHAPE_ROUND, BE_FILL_SOLID, BE_TONE_NYLON);
  be_figure_twin(figure, "One knot, <one> pull at 37 %% and \a bell.");
  return figure;
}

static inline struct be_doc *sample(void)
{
  struct be_doc *doc = be_doc_create("sample", "How strong & how sure?");
  be_doc_sentence(doc, "The knot kept %d %% of the line, <between> 83 and 91.", 87);
  be_doc_caution(doc, "A stretched line whips back: \"stand clear\".");
  be_doc_fact(doc, "seed", "seed", "%d", 20260301);
  be_doc_fact(doc, "plain_line", "plain line", "25.3 lb & more");
  be_doc_heading(doc, "Strength of %s", "all");
  sample_table(doc);
  be_doc_note(doc, "Divided by the weaker line.");
  be_doc_figure(doc, sample_figure());
  return doc;
}

static inline void assert_printed(enum be_status status, const struct be_buf *out,
                                  const char *want)
{
  assert_int_equal(status, BE_OK);
  assert_string_equal(out->data, want);
}

#endif
