/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The page of one pull. It opens the book once more for its trace and corrections, which only ever
 * grow. */
#include "app/site/site.h"

#include "app/read/found.h"
#include "app/rig/trust.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static void known(struct be_table *table, const char *what, const char *value)
{
  be_table_text(table, "%s", what);
  be_table_text(table, "%s", value ? value : "not recorded");
}

static void known_number(struct be_table *table, const char *what, double value, int decimals,
                         const char *unit)
{
  char text[64];
  snprintf(text, sizeof text, "%.*f %s", decimals, value, unit);
  known(table, what, isnan(value) ? NULL : text);
}

static void say_loads(struct be_table *table, const struct survey *survey,
                      const struct be_pull *pull)
{
  const char *unit = survey->how.unit->name;
  int decimals = survey->decimals + 1;
  bool bare = pull->load_text && strspn(pull->load_text, "0123456789.,") == strlen(pull->load_text);
  be_table_text(table, "load as typed");
  be_table_text(table, "%s%s%s", pull->load_text ? pull->load_text : "not recorded",
                bare && pull->load_unit ? " " : "", bare && pull->load_unit ? pull->load_unit : "");
  if (!pull->trace) return;
  known_number(table, "peak of the trace", be_shown(survey, pull->trace_peak_N), decimals, unit);
  known_number(table, "zero of the trace", be_shown(survey, pull->trace_zero_N), decimals, unit);
  if (isnan(pull->first_slip_N)) known(table, "first slip", "none seen");
  else known_number(table, "first slip", be_shown(survey, pull->first_slip_N), decimals, unit);
}

/* Two readings of one peak, by the gauge and in the trace, agree better than this. */
static const double doubt_share = 0.02;

/* A slip of the pen shows when the trace says otherwise. */
static void say_doubt(struct be_doc *doc, const struct survey *survey, const struct be_pull *pull)
{
  if (!pull->load_text || !pull->trace || isnan(pull->trace_peak_N)) return;
  double zero = isnan(pull->trace_zero_N) ? 0 : pull->trace_zero_N;
  double peak = pull->trace_peak_N - zero, apart = fabs(pull->load_N - peak);
  if (!(apart > doubt_share * fabs(peak))) return;
  int decimals = survey->decimals + 1;
  be_doc_caution(doc,
                 "The load typed, %.*f %s, is not the peak of the trace, %.*f %s less its zero: "
                 "one of them is wrong by %.1f %%.",
                 decimals, be_shown(survey, pull->load_N), survey->how.unit->name, decimals,
                 be_shown(survey, peak), survey->how.unit->name, 100 * apart / fabs(peak));
}

static void say_pull(struct be_doc *doc, const struct survey *survey, const struct be_pull *pull)
{
  static const struct be_column columns[] = {
      {"field", "recorded", BE_COLUMN_TEXT, false},
      {"value", "", BE_COLUMN_TEXT, false},
  };
  const struct be_line *a = &survey->record.lines[pull->line_a];
  const struct be_line *b = pull->line_b < 0 ? NULL : &survey->record.lines[pull->line_b];
  struct be_handled made[BE_MADES];
  struct be_table *table = be_doc_table(doc, "pull", "The record of this pull", columns, 2);
  known(table, "knot", be_knot_name(survey, pull->knot));
  if (pull->knot_b >= 0) known(table, "knot B", be_knot_name(survey, pull->knot_b));
  known(table, "design", be_design_word(pull->design));
  known(table, "line A", a->name);
  known(table, "spool A", a->spool);
  if (b) known(table, "line B", b->name);
  if (b) known(table, "spool B", b->spool);
  known(table, "hardware", pull->hardware);
  known(table, "bench", pull->bench < 0 ? NULL : survey->record.benches[pull->bench].name);
  be_pull_made(pull, made);
  for (int i = 0; i < BE_MADES; i++) {
    int which = (BE_MADE_SOAK + i) % BE_MADES; /* the soak first */
    known(table, be_made_column(which), be_made_words(survey, made, which));
  }
  known(table, "session", pull->session);
  known(table, "judged by", pull->judged_by);
  say_loads(table, survey, pull);
  known(table, "note", pull->note);
  be_doc_note(doc, "From %s, line %d.", pull->file, pull->file_line);
}

static void result_row(struct be_table *table, const struct survey *survey,
                       const struct be_pull *pull, const struct be_result *result)
{
  be_table_text(table, "%s", be_kind_word(result->kind));
  if (isnan(result->load_N) && pull->trace && result->kind != BE_KIND_VOID)
    be_table_text(table, "of the trace");
  else be_table_number(table, be_shown(survey, result->load_N), survey->decimals);
  be_let_go_cell(table, result->what, result->where, result->which);
  be_table_text(table, "%s", result->reason ? result->reason : "-");
  be_table_text(table, "%s", result->judged_by ? result->judged_by : "not recorded");
  bool dated = strlen(result->entered_at) > 11;
  be_table_text(table, "%.10s %.5s", result->entered_at, dated ? result->entered_at + 11 : "");
  be_table_text(table, "%s", result->why ? result->why : "first entered");
}

/* All that was said of this pull: what replaces stands above what it replaces. */
static enum be_status say_results(struct be_doc *doc, const struct survey *survey,
                                  struct be_book *book, const struct be_pull *pull,
                                  struct be_err *err)
{
  const struct be_column columns[] = {
      {"result", "result", BE_COLUMN_TEXT, false},
      {"load", be_head(survey, "load"), BE_COLUMN_NUMBER, false},
      {"let_go", "what let go", BE_COLUMN_TEXT, false},
      {"reason", "reason", BE_COLUMN_TEXT, false},
      {"judged_by", "judged by", BE_COLUMN_TEXT, false},
      {"entered_at", "entered (UTC)", BE_COLUMN_TEXT, false},
      {"why", "why it replaced the one below", BE_COLUMN_TEXT, false},
  };
  struct be_result *list = NULL;
  size_t count = 0;
  enum be_status status = be_book_results(book, pull->id, survey->arena, &list, &count, err);
  if (status != BE_OK) return status;
  be_doc_note(doc, "Corrected %d time%s: the newest result holds, the others stay on record.",
              pull->corrections, pull->corrections == 1 ? "" : "s");
  struct be_table *table = be_doc_table(doc, "results", "Its results, the newest first", columns,
                                        sizeof columns / sizeof columns[0]);
  for (size_t i = 0; i < count; i++) result_row(table, survey, pull, &list[i]);
  return BE_OK;
}

static void say_evidence(struct be_doc *doc, const struct be_pull *pull)
{
  static const struct be_column columns[] = {
      {"kind", "", BE_COLUMN_TEXT, false},
      {"name", "name of the file", BE_COLUMN_TEXT, false},
      {"note", "note", BE_COLUMN_TEXT, false},
  };
  if (!pull->evidence_count) return;
  struct be_table *table = be_doc_table(doc, "evidence", "Photos and clips", columns, 3);
  for (size_t i = 0; i < pull->evidence_count; i++) {
    const struct be_evidence *one = &pull->evidence[i];
    if (strcmp(one->name, "none") == 0 && be_evidence_of(pull, one->clip)) continue;
    be_table_text(table, "%s", one->clip ? "clip" : "photo");
    be_table_text(table, "%s", one->name);
    be_table_text(table, "%s", one->note ? one->note : "-");
  }
  be_doc_note(doc, "Photos and clips are kept by name alone: the files stay where they are.");
}

static enum be_status draw_trace(struct be_doc *doc, const struct survey *survey,
                                 struct be_book *book, const struct be_pull *pull,
                                 struct be_err *err)
{
  struct be_trace_file *file = NULL;
  struct be_trace_events events;
  enum be_status status = be_book_trace(book, pull->trace, &file, err);
  if (status == BE_OK && file->count) {
    status = be_trace_find(&file->tests[0], &events, err);
    struct be_figure *figure =
        status == BE_OK
            ? be_figure_of_trace(&file->tests[0], &events, "The force trace", survey->how.unit)
            : NULL;
    if (status == BE_OK) be_doc_figure(doc, figure);
    if (status == BE_OK) be_say_flags(doc, &file->tests[0], &events);
  }
  be_trace_file_free(file);
  return status;
}

const struct be_pull *be_pull_at(const struct visit *visit)
{
  const struct be_record *record = &visit->survey.record;
  size_t id = 0;
  bool named = be_index_read(visit->request->path + strlen("/pull/"), SIZE_MAX, &id);
  for (size_t i = 0; named && i < record->pulls_count; i++)
    if (record->pulls[i].id == (int64_t)id) return &record->pulls[i];
  return NULL;
}

/* What is not recorded is said once, or left out. */
static const char *let_go_words(const struct survey *survey, const struct be_pull *pull)
{
  const char *words = "what let go is not recorded";
  if (pull->what != BE_WHAT_UNKNOWN)
    words = be_arena_format(survey->arena, "what let go: %s", be_what_word(pull->what));
  if (words && pull->where != BE_WHERE_UNKNOWN)
    words = be_arena_format(survey->arena, "%s, where: %s", words, be_where_word(pull->where));
  if (words && pull->which != BE_WHICH_UNKNOWN)
    words = be_arena_format(survey->arena, "%s, which: %s", words, be_which_word(pull->which));
  return words;
}

static enum be_status say_result(struct be_doc *doc, const struct survey *survey,
                                 const struct be_pull *pull, struct be_err *err)
{
  const char *let_go = let_go_words(survey, pull);
  if (!let_go) return be_no_memory(err);
  const char *at_least = pull->kind == BE_KIND_BOUND ? "at least " : "";
  if (pull->kind == BE_KIND_VOID)
    be_doc_sentence(doc, "Void: %s.", pull->reason ? pull->reason : "no reason recorded");
  else
    be_doc_sentence(doc, "The %s held %s%.*f %s; %s.", be_knot_name(survey, pull->knot), at_least,
                    survey->decimals, be_shown(survey, pull->load_N), survey->how.unit->name,
                    let_go);
  return BE_OK;
}

enum be_status be_pull_page(struct visit *visit, struct be_doc **out, struct be_err *err)
{
  const struct survey *survey = &visit->survey;
  const struct be_err *wrong = &visit->wrong;
  const struct be_pull *pull = be_pull_at(visit);
  if (!pull) return be_fail(err, BE_NO, "there is no such pull");
  const char *title = be_arena_format(survey->arena, "Specimen %s", pull->code);
  struct be_doc *doc = title ? be_doc_create("pull", title) : NULL;
  if (!doc) return be_no_memory(err);
  if (wrong->status != BE_OK)
    be_doc_sentence(doc, "%s: %s%s%s.", be_pull_handles(visit) ? "Not kept" : "Not corrected",
                    wrong->what, *wrong->remedy ? "; " : "", wrong->remedy);
  enum be_status status = say_result(doc, survey, pull, err);
  say_doubt(doc, survey, pull);
  struct be_book *book = NULL;
  if (status == BE_OK) status = be_book_open(visit->book_path, false, &book, err);
  if (status == BE_OK && pull->trace) status = draw_trace(doc, survey, book, pull, err);
  say_pull(doc, survey, pull);
  if (status == BE_OK) status = be_say_calibration(doc, survey, pull, err);
  say_evidence(doc, pull);
  if (status == BE_OK && pull->corrections) status = say_results(doc, survey, book, pull, err);
  if (status == BE_OK) status = be_say_retold(doc, survey, book, pull, err);
  be_book_close(book);
  if (visit->api)
    be_doc_fact(doc, "corrects", "The result that holds", "%lld", (long long)pull->result);
  be_correct_form(visit, pull);
  be_handle_form(visit, pull);
  if (status == BE_OK) status = be_buf_status(&visit->html, err);
  return be_doc_done(doc, status, out);
}
