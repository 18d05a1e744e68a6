/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The page of one pull. It opens the book once more for its trace and corrections, which only ever
 * grow. */
#include "app/site/site.h"

#include "app/read/found.h"

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
  struct be_table *table = be_doc_table(doc, "pull", "The record of this pull", columns, 2);
  known(table, "knot", be_knot_name(survey, pull->knot));
  if (pull->knot_b >= 0) known(table, "knot B", be_knot_name(survey, pull->knot_b));
  known(table, "design", be_design_word(pull->design));
  known(table, "line A", a->name);
  known(table, "spool A", a->spool);
  if (b) known(table, "line B", b->name);
  if (b) known(table, "spool B", b->spool);
  known(table, "hardware", pull->hardware);
  known(table, "soak", be_soak_word(pull->soak));
  known_number(table, "soaked for", pull->soak_s / 60, 0, "min");
  known_number(table, "speed", pull->speed_m_s * 60000, 0, "mm/min");
  known_number(table, "free length", pull->length_m * 1000, 0, "mm");
  known(table, "bench", pull->bench < 0 ? NULL : survey->record.benches[pull->bench].name);
  known(table, "tyer", pull->tyer);
  known(table, "lubricant", pull->lubricant);
  known(table, "session", pull->session);
  say_loads(table, survey, pull);
  known(table, "note", pull->note);
  be_doc_note(doc, "From %s, line %d.", pull->file, pull->file_line);
}

static enum be_status say_corrections(struct be_doc *doc, const struct survey *survey,
                                      struct be_book *book, const struct be_pull *pull,
                                      struct be_err *err)
{
  struct be_correction *list = NULL;
  size_t count = 0;
  enum be_status status = be_book_corrections(book, pull->id, survey->arena, &list, &count, err);
  for (size_t i = 0; status == BE_OK && i < count; i++) {
    const struct be_correction *old = &list[i];
    if (isnan(old->load_N))
      be_doc_note(doc, "Corrected on %s: was %s, %s; %s.", old->entered_at, be_kind_word(old->kind),
                  pull->trace && old->kind != BE_KIND_VOID ? "its load from the trace"
                                                           : "no load recorded",
                  old->why);
    else
      be_doc_note(doc, "Corrected on %s: was %s, %.*f %s; %s.", old->entered_at,
                  be_kind_word(old->kind), survey->decimals, be_shown(survey, old->load_N),
                  survey->how.unit->name, old->why);
  }
  return status;
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
  }
  be_trace_file_free(file);
  return status;
}

enum be_status be_pull_page(struct visit *visit, struct be_doc **out, struct be_err *err)
{
  const struct survey *survey = &visit->survey;
  const struct be_pull *pull = NULL;
  size_t id = 0;
  bool named = be_index_read(visit->request->path + strlen("/pull/"), SIZE_MAX, &id);
  for (size_t i = 0; named && i < survey->record.pulls_count; i++)
    if (survey->record.pulls[i].id == (int64_t)id) pull = &survey->record.pulls[i];
  if (!pull) return be_fail(err, BE_NO, "there is no such pull");
  const char *title = be_arena_format(survey->arena, "Specimen %s", pull->code);
  struct be_doc *doc = title ? be_doc_create("pull", title) : NULL;
  if (!doc) return be_no_memory(err);
  const char *at_least = pull->kind == BE_KIND_BOUND ? "at least " : "";
  if (pull->kind == BE_KIND_VOID)
    be_doc_sentence(doc, "Void: %s.", pull->reason ? pull->reason : "no reason recorded");
  else
    be_doc_sentence(doc, "The %s held %s%.*f %s; what let go: %s, where: %s, which: %s.",
                    be_knot_name(survey, pull->knot), at_least, survey->decimals,
                    be_shown(survey, pull->load_N), survey->how.unit->name,
                    be_what_word(pull->what), be_where_word(pull->where),
                    be_which_word(pull->which));
  say_doubt(doc, survey, pull);
  struct be_book *book = NULL;
  enum be_status status = be_book_open(visit->book_path, false, &book, err);
  if (status == BE_OK && pull->trace) status = draw_trace(doc, survey, book, pull, err);
  say_pull(doc, survey, pull);
  if (status == BE_OK && pull->corrections) status = say_corrections(doc, survey, book, pull, err);
  be_book_close(book);
  return be_doc_done(doc, status, out);
}
