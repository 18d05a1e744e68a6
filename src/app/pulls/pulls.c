/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pulls as rows that lead to their pages, so many a page. */
#include "app/pulls/pulls.h"

#include <stdio.h>

enum { PULLS_A_PAGE = 200 };

/* "flat top; gaps" of "flat-top gaps": what each means stands on the page of the pull. */
static void flags_cell(struct be_table *table, const struct be_pull *pull)
{
  struct be_buf words;
  be_buf_init(&words, 1 << 16);
  for (const char *at = pull->flags ? pull->flags : ""; *at; at++)
    be_buf_text(&words, *at == ' ' ? "; " : (const char[]){*at == '-' ? ' ' : *at, '\0'});
  if (words.size && words.status == BE_OK) be_table_text(table, "%s", words.data);
  else if (pull->flags && *pull->flags) be_table_text(table, "%s", pull->flags);
  else be_table_none(table);
  be_buf_free(&words);
}

static void corrected_cell(struct be_table *table, const struct be_pull *pull)
{
  if (pull->corrections == 0) be_table_none(table);
  else if (pull->corrections == 1) be_table_text(table, "corrected");
  else be_table_text(table, "corrected, %d times", pull->corrections);
}

static void evidence_cell(struct be_table *table, const struct be_pull *pull)
{
  size_t photos = be_evidence_of(pull, false), clips = be_evidence_of(pull, true);
  const char *photo = photos == 1 ? "photo" : "photos", *clip = clips == 1 ? "clip" : "clips";
  if (photos && clips) be_table_text(table, "%zu %s, %zu %s", photos, photo, clips, clip);
  else if (photos) be_table_text(table, "%zu %s", photos, photo);
  else if (clips) be_table_text(table, "%zu %s", clips, clip);
  else if (pull->evidence_count) be_table_text(table, "none");
  else be_table_none(table);
}

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
  be_let_go_cell(table, pull->what, pull->where, pull->which);
  corrected_cell(table, pull);
  evidence_cell(table, pull);
  flags_cell(table, pull);
}

/* The ways to the pages of all of them. */
static void say_pages(struct be_doc *doc, size_t count, size_t from, const char *address)
{
  static const struct be_column ways[] = {{"pages", "more pulls", BE_COLUMN_TEXT, false},
                                          {"place", "", BE_COLUMN_TEXT, false}};
  struct be_table *more = be_doc_table(doc, "pages", "More pulls", ways, 2);
  for (size_t i = 0; i < count; i += PULLS_A_PAGE) {
    size_t end = i + PULLS_A_PAGE < count ? i + PULLS_A_PAGE : count;
    bool these = from >= i && from < end;
    be_table_text(more, "%zu to %zu", i + 1, end);
    be_table_link(more, "%sfrom=%zu", address, i);
    be_table_text(more, "%s", these ? "these" : i < from ? "earlier" : "later");
  }
}

void be_table_of_pulls(struct be_doc *doc, const struct survey *survey,
                       const struct be_pull *const *pulls, size_t count, size_t from,
                       const char *address)
{
  size_t end = count - from < PULLS_A_PAGE ? count : from + PULLS_A_PAGE;
  bool flags = false, corrected = false, evidence = false;
  for (size_t i = from; i < end; i++) {
    flags = flags || (pulls[i]->flags && *pulls[i]->flags);
    corrected = corrected || pulls[i]->corrections;
    evidence = evidence || pulls[i]->evidence_count;
  }
  const struct be_column columns[] = {
      {"specimen", "specimen", BE_COLUMN_TEXT, false},
      {"knot", "knot", BE_COLUMN_TEXT, false},
      {"lines", "lines", BE_COLUMN_TEXT, false},
      {"soak", "soak", BE_COLUMN_TEXT, false},
      {"result", "result", BE_COLUMN_TEXT, false},
      {"load", be_head(survey, "load"), BE_COLUMN_NUMBER, false},
      {"let_go", "what let go", BE_COLUMN_TEXT, false},
      {"corrected", "corrected", BE_COLUMN_TEXT, !corrected},
      {"evidence", "photos, clips", BE_COLUMN_TEXT, !evidence},
      {"flags", "flags of the trace", BE_COLUMN_TEXT, !flags},
  };
  struct be_table *table =
      be_doc_table(doc, "pulls", "Pulls", columns, sizeof columns / sizeof columns[0]);
  for (size_t i = from; i < end; i++) pull_row(table, survey, pulls[i]);
  if (count > PULLS_A_PAGE) say_pages(doc, count, from, address);
}

static void say_how_many(struct be_doc *doc, const struct survey *survey,
                         const struct be_pulls_found *found, size_t from)
{
  size_t all = survey->record.pulls_count, count = found->count;
  size_t end = count - from < PULLS_A_PAGE ? count : from + PULLS_A_PAGE;
  if (!all) be_doc_sentence(doc, "The book holds no pulls yet.");
  else if (all == 1 && !*found->said) be_doc_sentence(doc, "The book holds one pull.");
  else if (!*found->said)
    be_doc_sentence(doc, "The book holds %zu pulls; these are %zu to %zu, in the order entered.",
                    all, from + 1, end);
  else if (!count)
    be_doc_sentence(doc, "None of the %zu pulls of the book match (%s).", all, found->said);
  else
    be_doc_sentence(doc,
                    "%zu of the %zu pulls of the book match (%s); these are %zu to %zu, in the "
                    "order entered.",
                    count, all, found->said, from + 1, end);
}

static enum be_status say_evidence(struct be_doc *doc, const struct survey *survey,
                                   const struct be_pulls_found *found, struct be_err *err)
{
  size_t missing = 0, named = 0;
  enum be_status status = be_evidence_missing(survey, found, &missing, err);
  if (status != BE_OK) return status;
  for (size_t i = 0; i < found->count; i++) named += found->pulls[i]->evidence_count > 0;
  if (missing)
    be_doc_note(doc,
                "Missing evidence: %zu of %s %zu name neither a photo nor a clip, though other "
                "pulls of their sessions do.",
                missing, *found->said ? "these" : "all", found->count);
  if (named)
    be_doc_note(doc, "Photos and clips are kept by name alone: the files stay where they are.");
  return BE_OK;
}

enum be_status be_pulls_doc(const struct survey *survey, const struct be_pulls_asked *asked,
                            size_t from, struct be_doc **out, struct be_err *err)
{
  struct be_pulls_found found;
  enum be_status status = be_pulls_find(survey, asked, &found, err);
  if (status != BE_OK) return status;
  if (from && from >= found.count)
    return be_fail(err, BE_NO, "the book does not hold so many pulls");
  struct be_doc *doc = be_doc_create("pulls", "Book");
  if (!doc) return be_no_memory(err);
  say_how_many(doc, survey, &found, from);
  be_table_of_pulls(doc, survey, found.pulls, found.count, from, found.address);
  status = say_evidence(doc, survey, &found, err);
  return be_answer_done(survey, doc, status, out, err);
}
