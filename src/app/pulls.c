/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pulls as rows that lead to their pages, so many a page. */
#include "app/survey.h"

enum { PULLS_A_PAGE = 200 };

static void pull_row(struct be_table *table, const struct survey *survey,
                     const struct be_pull *pull)
{
  const struct be_line *a = &survey->record.lines[pull->line_a];
  be_table_text(table, "%s", pull->code);
  be_table_link(table, "/pull/%lld", (long long)pull->id);
  be_table_text(table, "%s", be_knot_name(survey, pull->knot));
  be_table_text(table, "%s%s%s", a->name,
                pull->line_b >= 0 ? " to "
                : pull->hardware  ? " to "
                                  : "",
                pull->line_b >= 0 ? survey->record.lines[pull->line_b].name
                : pull->hardware  ? pull->hardware
                                  : "");
  be_table_text(table, "%s", be_soak_word(pull->soak));
  be_table_text(table, "%s", be_kind_word(pull->kind));
  be_table_number(table, be_shown(survey, pull->load_N), survey->decimals);
  be_table_text(table, "%s, %s", be_what_word(pull->what), be_where_word(pull->where));
}

void be_table_of_pulls(struct be_doc *doc, const struct survey *survey,
                       const struct be_pull *const *pulls, size_t count, size_t from,
                       const char *address)
{
  const struct be_column columns[] = {
      {"specimen", "specimen", BE_COLUMN_TEXT, false},
      {"knot", "knot", BE_COLUMN_TEXT, false},
      {"lines", "lines", BE_COLUMN_TEXT, false},
      {"soak", "soak", BE_COLUMN_TEXT, false},
      {"result", "result", BE_COLUMN_TEXT, false},
      {"load", be_head(survey, "load"), BE_COLUMN_NUMBER, false},
      {"let_go", "what let go", BE_COLUMN_TEXT, false},
  };
  static const struct be_column ways[] = {{"pages", "more pulls", BE_COLUMN_TEXT, false}};
  struct be_table *table = be_doc_table(doc, "pulls", "Pulls", columns, 7);
  for (size_t i = from; i < count && i < from + PULLS_A_PAGE; i++)
    pull_row(table, survey, pulls[i]);
  if (count <= PULLS_A_PAGE) return;
  struct be_table *more = be_doc_table(doc, "pages", "More pulls", ways, 1);
  for (size_t i = 0; i < count; i += PULLS_A_PAGE) {
    be_table_text(more, "%zu to %zu", i + 1, i + PULLS_A_PAGE < count ? i + PULLS_A_PAGE : count);
    be_table_link(more, "%sfrom=%zu", address, i);
  }
}

/* All of the record, or those of one knot. */
enum be_status be_pulls_doc(const struct survey *survey, int knot, size_t from, struct be_doc **out,
                            struct be_err *err)
{
  size_t count = 0, all = survey->record.pulls_count;
  const struct be_pull **pulls = be_arena_alloc(survey->arena, (all + 1) * sizeof *pulls);
  if (!pulls) return be_no_memory(err);
  for (size_t i = 0; i < all; i++) {
    const struct be_pull *pull = &survey->record.pulls[i];
    if (knot < 0 || pull->knot == knot || pull->knot_b == knot) pulls[count++] = pull;
  }
  if (from && from >= count) return be_fail(err, BE_NO, "the book does not hold so many pulls");
  struct be_doc *doc = be_doc_create("pulls", "Book");
  if (!doc) return be_no_memory(err);
  size_t end = count - from < PULLS_A_PAGE ? count : from + PULLS_A_PAGE;
  if (knot >= 0)
    be_doc_sentence(doc, "The book holds %zu pulls of the %s; these are %zu to %zu.", count,
                    be_knot_name(survey, knot), count ? from + 1 : 0, end);
  else if (all)
    be_doc_sentence(doc, "The book holds %zu pulls; these are %zu to %zu, in the order entered.",
                    all, from + 1, end);
  else be_doc_sentence(doc, "The book holds no pulls yet.");
  const char *address =
      knot < 0 ? "/pulls?" : be_arena_format(survey->arena, "/pulls?knot=%d&", knot);
  be_table_of_pulls(doc, survey, pulls, count, from, address ? address : "");
  return be_answer_done(survey, doc, BE_OK, out, err);
}
