/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/clips/overlay.h"

#include "app/clips/paint.h"

#include "app/pulls/pulls.h"

#include <math.h>
#include <string.h>

/* From before the load rises to after it let go; common practice, no source. */
static const double before_s = 1, after_s = 2;
static const double longest_s = 3600;
/* Two readings of one peak agree better than this, as on the page of a pull. */
static const double doubt_share = 0.02;

static enum be_status find_pull(const struct survey *survey, const char *code,
                                const struct be_pull **pull, struct be_err *err)
{
  *pull = be_pull_find(survey, code, err);
  if (!*pull) return BE_WRONG_USE;
  if ((*pull)->trace) return BE_OK;
  be_fail(err, BE_BAD_INPUT, "specimen %.60s has no trace: there is no load to show as it goes",
          (*pull)->code);
  be_fail_remedy(err, "enter the trace of that pull, or choose another specimen");
  return BE_BAD_INPUT;
}

/* ---- words ---- */

static const char *name_knots(const struct survey *survey, const struct be_pull *pull)
{
  if (pull->knot_b < 0) return be_knot_name(survey, pull->knot);
  return be_arena_format(survey->arena, "%s against %s", be_knot_name(survey, pull->knot),
                         be_knot_name(survey, pull->knot_b));
}

static const char *name_lines(const struct survey *survey, const struct be_pull *pull)
{
  const struct be_line *lines = survey->record.lines;
  const char *other = pull->line_b >= 0 ? lines[pull->line_b].name : pull->hardware;
  const char *soak = be_soak_word(pull->soak);
  bool joined = other && *other && strcmp(other, "none") != 0;
  return be_arena_format(survey->arena, "%s%s%s, %s", lines[pull->line_a].name,
                         joined ? " to " : "", joined ? other : "", soak);
}

/* The load that was recorded and the peak of the trace may differ: then it is said which is shown.
 */
static const char *name_peak(const struct be_pull *pull, double trace_peak_N)
{
  static const char *const words[][3] = {
      [BE_KIND_EVENT] = {"peak", "recorded peak", "trace peak"},
      [BE_KIND_BOUND] = {"at least", "recorded: at least", "trace: at least"},
      [BE_KIND_VOID] = {"void, peak", "void, recorded peak", "void, trace peak"}};
  size_t kind =
      pull->kind == BE_KIND_EVENT || pull->kind == BE_KIND_BOUND ? pull->kind : BE_KIND_VOID;
  return words[kind][isnan(pull->load_N) ? 2 : !isnan(trace_peak_N)];
}

static double other_peak(const struct be_pull *pull)
{
  double zero_N = isnan(pull->trace_zero_N) ? 0 : pull->trace_zero_N;
  double peak_N = pull->trace_peak_N - zero_N;
  bool differ = !isnan(pull->load_N) && fabs(pull->load_N - peak_N) > doubt_share * fabs(peak_N);
  return differ ? peak_N : NAN;
}

static void say_result(const struct survey *survey, const struct be_pull *pull,
                       struct overlay *overlay)
{
  char words[BE_LET_GO_WORDS];
  be_let_go_words(pull->what, pull->where, pull->which, words);
  bool told = strcmp(words, "not recorded") != 0;
  overlay->trace_peak_N = other_peak(pull);
  overlay->peak_word = name_peak(pull, overlay->trace_peak_N);
  if (pull->kind != BE_KIND_EVENT && pull->kind != BE_KIND_BOUND) {
    overlay->let_go = be_arena_format(survey->arena, "void: %s",
                                      pull->reason ? pull->reason : "reason not recorded");
    return;
  }
  overlay->held = pull->what == BE_WHAT_NOTHING;
  if (pull->what == BE_WHAT_NOTHING) overlay->let_go = "nothing let go";
  else
    overlay->let_go =
        told ? be_arena_text(survey->arena, words, strlen(words)) : "what let go: not recorded";
}

/* ---- the trace ---- */

static enum be_status refuse(const struct be_pull *pull, const char *why, struct be_err *err)
{
  return be_fail(err, BE_BAD_INPUT, "the trace of %.60s %s: its frames cannot be timed", pull->code,
                 why);
}

/* Where it let go: the last row before the final drop; of what held, the end of the record. */
static size_t break_row(const struct be_trace *trace, const struct be_trace_events *events)
{
  if (events->end_row < trace->n && events->end_row > 0) return events->end_row - 1;
  return trace->n - 1;
}

static enum be_status take_rows(const struct survey *survey, const struct be_pull *pull,
                                const struct be_trace *trace, struct overlay *overlay,
                                struct be_err *err)
{
  struct be_trace_events events;
  if (trace->n < 2 || !trace->time_s) return refuse(pull, "has no times", err);
  enum be_status status = be_trace_find(trace, &events, err);
  if (status != BE_OK) return status;
  double zero_N = isnan(pull->trace_zero_N) ? 0 : pull->trace_zero_N;
  size_t onset = events.onset_row < trace->n ? events.onset_row : 0;
  double from_s = trace->time_s[onset] - before_s;
  double *at_s = be_arena_alloc(survey->arena, trace->n * sizeof *at_s);
  double *force_N = be_arena_alloc(survey->arena, trace->n * sizeof *force_N);
  if (!at_s || !force_N) return be_no_memory(err);
  for (size_t i = 0; i < trace->n; i++) {
    at_s[i] = trace->time_s[i] - from_s;
    if (i > 0 && !(at_s[i] >= at_s[i - 1])) at_s[i] = at_s[i - 1];
    force_N[i] = trace->force_N[i] - zero_N;
  }
  overlay->at_s = at_s;
  overlay->force_N = force_N;
  overlay->rows = trace->n;
  overlay->rises_s = before_s;
  overlay->breaks_s = at_s[break_row(trace, &events)];
  overlay->lasts_s = overlay->breaks_s + after_s;
  overlay->peak_N = isnan(pull->load_N) ? events.peak_N - zero_N : pull->load_N;
  /* A load that is small beside the others of the book has two figures all the same. */
  int figures = be_quantity_decimals(overlay->peak_N, overlay->unit) - 2;
  overlay->decimals = figures > survey->decimals ? figures : survey->decimals;
  overlay->low_N = 0;
  overlay->high_N = overlay->peak_N > 0 ? overlay->peak_N : 0;
  for (size_t i = 0; i < overlay->rows; i++) {
    if (force_N[i] < overlay->low_N) overlay->low_N = force_N[i];
    if (force_N[i] > overlay->high_N) overlay->high_N = force_N[i];
  }
  if (!(overlay->high_N > 0)) return refuse(pull, "has no load above its zero", err);
  if (!(overlay->lasts_s > before_s)) return refuse(pull, "has times that stand still", err);
  if (overlay->lasts_s > longest_s)
    return be_fail(err, BE_TOO_LARGE, "the pull of %.60s lasts %.0f s; a clip at most %.0f s",
                   pull->code, overlay->lasts_s, longest_s);
  return BE_OK;
}

static void add_dot(struct overlay *overlay, size_t row)
{
  overlay->dots[overlay->dots_count++] = (struct dot){overlay->at_s[row], overlay->force_N[row]};
}

/* Of each column of pixels its first and last row, and between them its lowest and highest. */
static enum be_status decimate(const struct survey *survey, struct overlay *overlay,
                               struct be_err *err)
{
  size_t columns = (size_t)overlay->shape.plot.wide + 1;
  double column_s = overlay->lasts_s / (double)columns;
  size_t row = 0;
  overlay->dots = be_arena_alloc(survey->arena, (columns + 2) * 4 * sizeof *overlay->dots);
  if (!overlay->dots) return be_no_memory(err);
  while (row < overlay->rows && overlay->at_s[row] < 0) row++;
  for (size_t c = 0; c <= columns; c++) {
    size_t first = row, low = row, high = row;
    while (row < overlay->rows && overlay->at_s[row] < (double)(c + 1) * column_s &&
           overlay->at_s[row] <= overlay->lasts_s) {
      low = overlay->force_N[row] < overlay->force_N[low] ? row : low;
      high = overlay->force_N[row] > overlay->force_N[high] ? row : high;
      row++;
    }
    if (row == first) continue;
    size_t early = low < high ? low : high, late = low < high ? high : low;
    add_dot(overlay, first);
    if (early > first) add_dot(overlay, early);
    if (late > early) add_dot(overlay, late);
    if (row - 1 > late) add_dot(overlay, row - 1);
  }
  return BE_OK;
}

double be_overlay_load(const struct overlay *overlay, double at_s)
{
  size_t low = 0, high = overlay->rows;
  if (!(at_s >= overlay->at_s[0]) || at_s > overlay->at_s[overlay->rows - 1]) return NAN;
  while (high - low > 1) {
    size_t middle = low + (high - low) / 2;
    if (overlay->at_s[middle] <= at_s) low = middle;
    else high = middle;
  }
  if (high == overlay->rows) return overlay->force_N[low];
  double step_s = overlay->at_s[high] - overlay->at_s[low];
  double share = step_s > 0 ? (at_s - overlay->at_s[low]) / step_s : 0;
  return overlay->force_N[low] + share * (overlay->force_N[high] - overlay->force_N[low]);
}

/* ---- the whole ---- */

static void say_doubts(const struct survey *survey, const struct overlay *overlay,
                       struct be_doc *doc)
{
  if (isnan(overlay->trace_peak_N)) return;
  be_doc_note(doc,
              "The load recorded for %s, which is shown as its peak, is %.*f %s; the trace reaches "
              "%.*f %s less its zero.",
              overlay->code, overlay->decimals, be_shown(survey, overlay->peak_N),
              survey->how.unit->name, overlay->decimals, be_shown(survey, overlay->trace_peak_N),
              survey->how.unit->name);
}

enum be_status be_overlay_make(const struct survey *survey, const char *code, int width, int height,
                               struct be_doc *doc, struct overlay *overlay, struct be_err *err)
{
  const struct be_pull *pull = NULL;
  struct be_book *book = NULL;
  struct be_trace_file *file = NULL;
  enum be_status status = find_pull(survey, code, &pull, err);
  if (status != BE_OK) return status;
  *overlay = (struct overlay){.width = width,
                              .height = height,
                              .code = pull->code,
                              .knot = name_knots(survey, pull),
                              .lines = name_lines(survey, pull),
                              .tone = be_look_of_pull(survey, pull).tone,
                              .unit = survey->how.unit};
  say_result(survey, pull, overlay);
  if (!overlay->knot || !overlay->lines || !overlay->let_go) return be_no_memory(err);
  status = be_book_open(survey->book_path, false, &book, err);
  if (status == BE_OK) status = be_book_trace(book, pull->trace, &file, err);
  if (status == BE_OK && !file->count) status = refuse(pull, "holds no rows", err);
  if (status == BE_OK) status = take_rows(survey, pull, &file->tests[0], overlay, err);
  if (status == BE_OK) status = be_overlay_lay_out(overlay, err);
  if (status == BE_OK) status = decimate(survey, overlay, err);
  be_trace_file_free(file);
  be_book_close(book);
  if (status != BE_OK) return status;
  const char *const texts[] = {overlay->code, overlay->knot, overlay->lines, overlay->let_go};
  for (size_t i = 0; i < 4; i++) be_paint_say_lacks(texts[i], doc);
  say_doubts(survey, overlay, doc);
  return status;
}

void be_overlay_tell(const struct overlay *overlay, struct be_buf *told)
{
  be_buf_format(told, "%d\n%s\n%s\n%s\n%s\n%s\n%s %d\n%.17g %.17g %.17g %.17g\n",
                (int)overlay->tone, overlay->code, overlay->knot, overlay->lines, overlay->let_go,
                overlay->peak_word, overlay->unit->name, overlay->decimals, overlay->peak_N,
                overlay->trace_peak_N, overlay->breaks_s, overlay->lasts_s);
  for (size_t i = 0; i < overlay->rows; i++)
    be_buf_format(told, "%.17g %.17g\n", overlay->at_s[i], overlay->force_N[i]);
}
