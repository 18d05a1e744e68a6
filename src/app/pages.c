/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The pages: the same documents as the commands, with ways between them. Each
 * request reads the record anew, in one snapshot. The page of a pull opens the book
 * once more for its trace and corrections, which only ever grow. site.c serves them. */
#include "app/pages.h"

#include "app/read/found.h"
#include "app/rig/trust.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { KNOTS_PAIRED_MAX = 40 };

/* What the address asks for is not there: BE_NO, told apart from what went wrong
 * on the way to a page that is. */
static enum be_status not_there(struct be_err *err, const char *what)
{
  return be_fail(err, BE_NO, "%s", what);
}

/* Digits alone, below `end`. */
static bool read_index(const char *text, size_t end, size_t *index)
{
  size_t value = 0;
  if (!*text || strlen(text) > 18) return false;
  for (; *text >= '0' && *text <= '9'; text++) value = value * 10 + (size_t)(*text - '0');
  *index = value;
  return !*text && value < end;
}

/* ---- the documents that only pages have ---- */

static void pair_row(struct be_table *table, const struct survey *survey, size_t a, size_t b)
{
  be_table_text(table, "%s", be_knot_name(survey, (int)a));
  be_table_text(table, "%s", be_knot_name(survey, (int)b));
  be_table_link(table, "/versus?a=%zu&b=%zu", a, b);
}

static const struct be_column pair_columns[] = {
    {"first", "first", BE_COLUMN_TEXT, false},
    {"second", "compare with", BE_COLUMN_TEXT, false},
};

/* All pairs, or, where they would be too many to look through, all knots. */
static enum be_status versus_list(const struct survey *survey, struct be_doc **out,
                                  struct be_err *err)
{
  static const struct be_column knots[] = {{"knot", "compare", BE_COLUMN_TEXT, false}};
  size_t count = survey->record.knots_count;
  struct be_doc *doc = be_doc_create("versus", "Versus");
  if (!doc) return be_no_memory(err);
  be_doc_sentence(doc, "Choose two knots to see whether the difference between them is real.");
  if (count > KNOTS_PAIRED_MAX) {
    struct be_table *table = be_doc_table(doc, "knots", "The first of the two", knots, 1);
    for (size_t a = 0; a < count; a++) {
      be_table_text(table, "%s", be_knot_name(survey, (int)a));
      be_table_link(table, "/versus?a=%zu", a);
    }
    return be_doc_done(doc, BE_OK, out);
  }
  struct be_table *table = be_doc_table(doc, "pairs", "Pairs of knots", pair_columns, 2);
  for (size_t a = 0; a < count; a++)
    for (size_t b = a + 1; b < count; b++) pair_row(table, survey, a, b);
  return be_doc_done(doc, BE_OK, out);
}

static enum be_status versus_others(const struct survey *survey, size_t a, struct be_doc **out,
                                    struct be_err *err)
{
  struct be_doc *doc = be_doc_create("versus", "Versus");
  if (!doc) return be_no_memory(err);
  be_doc_sentence(doc, "Choose the knot to compare the %s with.", be_knot_name(survey, (int)a));
  struct be_table *table = be_doc_table(doc, "pairs", "The second of the two", pair_columns, 2);
  for (size_t b = 0; b < survey->record.knots_count; b++)
    if (b != a) pair_row(table, survey, a, b);
  return be_doc_done(doc, BE_OK, out);
}

static enum be_status versus_page(const struct survey *survey, const struct be_request *request,
                                  struct be_doc **out, struct asking *asking, struct be_err *err)
{
  const char *a = be_request_query(request, "a"), *b = be_request_query(request, "b");
  size_t first = 0, second = 0, count = survey->record.knots_count;
  enum be_status status = be_asking_versus(survey, request, asking, err);
  if (status != BE_OK) return status;
  if (!a && !b) return versus_list(survey, out, err);
  if (!a || !read_index(a, count, &first))
    return not_there(err, "the address does not name a knot of the book");
  if (!b) return versus_others(survey, first, out, err);
  if (!read_index(b, count, &second) || first == second)
    return not_there(err, "the address does not name two different knots");
  return be_versus_doc(survey, (int)first, (int)second, out, err);
}

static enum be_status next_page(const struct survey *survey, const struct be_request *request,
                                struct be_doc **out, struct asking *asking, struct be_err *err)
{
  struct be_tying tying;
  enum be_status status = be_asking_next(survey, request, asking, err);
  if (status == BE_OK) status = be_asking_tying(request, &tying, err);
  return status == BE_OK ? be_next_doc(survey, &tying, out, err) : status;
}

/* Cells are told by their place, which is the same as long as nothing is entered. */
static enum be_status cell_page(const struct survey *survey, const struct be_request *request,
                                struct be_doc **out, struct be_err *err)
{
  const char *at = be_request_query(request, "at");
  size_t cell = 0;
  if (!at || !read_index(at, survey->cells_count, &cell))
    return not_there(err, "the address does not name a knot in a combination");
  return be_cell_doc(survey, &survey->cells[cell], out, err);
}

/* All trials, one of them, or its labels: told by its place in the record. */
static enum be_status plan_page(const struct survey *survey, const struct be_request *request,
                                bool labels, struct be_doc **out, struct be_err *err)
{
  const char *asked = be_request_query(request, "trial");
  size_t trial = 0;
  if (!asked && !labels) return be_trials_doc(survey, out, err);
  if (!asked || !read_index(asked, survey->record.trials_count, &trial))
    return not_there(err, "the address does not name a trial of the book");
  const struct be_trial *of = &survey->record.trials[trial];
  return labels ? be_trial_labels_doc(survey, of, out, err) : be_trial_doc(survey, of, out, err);
}

/* The number that a query has under this name; `end` or more is not there. *has: whether it was
 * asked. */
static enum be_status read_query(const struct be_request *request, const char *name, size_t end,
                                 size_t *value, bool *has, struct be_err *err)
{
  const char *asked = be_request_query(request, name);
  *has = asked != NULL;
  if (!asked || read_index(asked, end, value)) return BE_OK;
  return not_there(err, "the book does not hold so many");
}

static enum be_status pulls_page(const struct survey *survey, const struct be_request *request,
                                 struct be_doc **out, struct be_err *err)
{
  size_t from = 0, knot = 0, all = survey->record.pulls_count;
  bool has_from, has_knot;
  enum be_status status = read_query(request, "from", all ? all : 1, &from, &has_from, err);
  if (status == BE_OK)
    status = read_query(request, "knot", survey->record.knots_count, &knot, &has_knot, err);
  return status == BE_OK ? be_pulls_doc(survey, has_knot ? (int)knot : -1, from, out, err) : status;
}

static enum be_status findings_page(const struct survey *survey, const struct be_request *request,
                                    struct be_doc **out, struct be_err *err)
{
  size_t at = 0, from = 0, all = survey->record.pulls_count;
  bool has_at, has_from;
  enum be_status status = read_query(request, "at", SIZE_MAX, &at, &has_at, err);
  if (status == BE_OK) status = read_query(request, "from", all ? all : 1, &from, &has_from, err);
  if (status != BE_OK) return status;
  return has_at ? be_finding_doc(survey, at, from, out, err) : be_findings_doc(survey, out, err);
}

/* ---- one pull ---- */

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

static enum be_status pull_page(const char *book_path, const struct survey *survey,
                                const char *path, struct be_doc **out, struct be_err *err)
{
  const struct be_pull *pull = NULL;
  size_t id = 0;
  bool named = read_index(path + strlen("/pull/"), SIZE_MAX, &id);
  for (size_t i = 0; named && i < survey->record.pulls_count; i++)
    if (survey->record.pulls[i].id == (int64_t)id) pull = &survey->record.pulls[i];
  if (!pull) return not_there(err, "there is no such pull");
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
  enum be_status status = be_book_open(book_path, false, &book, err);
  if (status == BE_OK && pull->trace) status = draw_trace(doc, survey, book, pull, err);
  say_pull(doc, survey, pull);
  if (status == BE_OK) status = be_say_calibration(doc, survey, pull, err);
  if (status == BE_OK && pull->corrections) status = say_corrections(doc, survey, book, pull, err);
  be_book_close(book);
  return be_doc_done(doc, status, out);
}

/* ---- routes ---- */

enum be_status be_page_find(const char *book_path, const struct survey *survey,
                            const struct be_request *request, struct be_doc **doc,
                            const char **here, struct asking *asking, struct be_err *err)
{
  const char *path = request->path;
  *here = path;
  if (strcmp(path, "/") == 0) {
    enum be_status status = be_asking_standings(survey, request, asking, err);
    return status == BE_OK ? be_standings_doc(survey, doc, err) : status;
  }
  if (strcmp(path, "/strength") == 0) return be_strength_doc(survey, doc, err);
  if (strcmp(path, "/versus") == 0) return versus_page(survey, request, doc, asking, err);
  if (strcmp(path, "/findings") == 0) return findings_page(survey, request, doc, err);
  if (strcmp(path, "/next") == 0) return next_page(survey, request, doc, asking, err);
  *here = "/plan";
  if (strcmp(path, "/plan") == 0) return plan_page(survey, request, false, doc, err);
  if (strcmp(path, "/labels") == 0) return plan_page(survey, request, true, doc, err);
  if (strcmp(path, "/cell") == 0) {
    *here = "/strength";
    return cell_page(survey, request, doc, err);
  }
  *here = "/pulls";
  if (strcmp(path, "/pulls") == 0) return pulls_page(survey, request, doc, err);
  if (strncmp(path, "/pull/", 6) == 0) return pull_page(book_path, survey, path, doc, err);
  return be_fail(err, BE_NO, "there is no page at %.200s", path);
}
