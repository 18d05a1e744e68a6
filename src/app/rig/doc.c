/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Can the rig be trusted on a day: bench by bench, and what speaks for it. */
#include "app/rig/trust.h"

#include <math.h>

enum verdict { TRUSTED, NOT_TRUSTED, NOT_KNOWN };

/* What is known of a bench on the day asked about. */
struct bench {
  int index;
  const char *name;
  const struct worked *worked; /* in force; null: none */
  struct checks *checks;
  size_t checks_count;
  const struct checks *last_of; /* the series of its last check weight; null: none since */
  bool has_due;
  long left; /* days */
  enum verdict verdict;
};

/* Words that the arena had no room for; the answer is then given up as a whole. */
static const char *or_lost(const char *words)
{
  return words ? words : "?";
}

static enum be_chart_mark last_mark(const struct checks *checks)
{
  return checks->charted ? checks->marks[checks->n - 1] : BE_CHART_FINE;
}

static const struct be_check_weight *last_weight(const struct checks *checks)
{
  return checks->list[checks->n - 1];
}

/* In date, in a class, and its last check weight not outside the limits. */
static enum verdict judge(const struct bench *bench)
{
  if (!bench->worked) return NOT_KNOWN;
  bool overdue = bench->has_due && bench->left < 0;
  bool off = bench->last_of && last_mark(bench->last_of) == BE_CHART_BEYOND;
  bool none = bench->worked->force_class == BE_FORCE_NO_CLASS;
  if (overdue || off) return NOT_TRUSTED;
  return !none ? TRUSTED : bench->worked->fit.df == 0 ? NOT_KNOWN : NOT_TRUSTED;
}

static enum be_status look_at(const struct survey *survey, const struct worked *worked, int index,
                              long day, struct bench *bench, struct be_err *err)
{
  *bench = (struct bench){.index = index,
                          .name = survey->record.benches[index].name,
                          .worked = be_rig_in_force(survey, worked, index, day)};
  enum be_status status = be_rig_checks(survey, &(const struct weighed){index, day, bench->worked},
                                        &bench->checks, &bench->checks_count, err);
  if (status != BE_OK) return status;
  for (size_t i = 0; i < bench->checks_count; i++)
    if (!bench->last_of || last_weight(&bench->checks[i]) > last_weight(bench->last_of))
      bench->last_of = &bench->checks[i];
  if (bench->worked)
    bench->has_due = be_calibration_due(&bench->worked->kept->is, day, &bench->left);
  bench->verdict = judge(bench);
  return BE_OK;
}

/* ---- words ---- */

static const char *due_words(const struct survey *survey, const struct bench *bench)
{
  const char *name = bench->worked->kept->is.name;
  if (!bench->has_due)
    return be_arena_format(survey->arena, "when calibration %s is due is not told", name);
  long days = bench->left < 0 ? -bench->left : bench->left;
  return be_arena_format(survey->arena, "calibration %s is %s %ld day%s", name,
                         bench->left < 0 ? "overdue by" : "in date for", days,
                         days == 1 ? "" : "s");
}

static const char *range_words(const struct survey *survey, const struct bench *bench)
{
  const struct worked *worked = bench->worked;
  if (worked->force_class == BE_FORCE_NO_CLASS) return be_rig_unverified(worked);
  return be_arena_format(survey->arena, "%s from %.*f to %.*f %s",
                         be_rig_class_words(worked->force_class), survey->decimals,
                         be_shown(survey, worked->range.from_N), survey->decimals,
                         be_shown(survey, worked->range.to_N), survey->how.unit->name);
}

static const char *check_words(const struct survey *survey, const struct bench *bench)
{
  const struct checks *of = bench->last_of;
  if (!of) return "no check weight was read since";
  const char *date = last_weight(of)->date;
  if (!of->charted)
    return be_arena_format(survey->arena,
                           "its check weight, last read %s, has no limits yet (error %.2f %%)",
                           date, 100 * (of->forces_N[of->n - 1] - of->weight_N) / of->weight_N);
  enum be_chart_mark mark = last_mark(of);
  const char *where = mark == BE_CHART_BEYOND ? "outside" : "inside";
  return be_arena_format(survey->arena, "its last check weight, of %s, is %s the limits%s%s", date,
                         where, mark == BE_CHART_RUN || mark == BE_CHART_JUMP ? ", but " : "",
                         mark == BE_CHART_RUN || mark == BE_CHART_JUMP ? be_chart_mark_words(mark)
                                                                       : "");
}

static void say_bench(struct be_doc *doc, const struct survey *survey, const struct bench *bench)
{
  if (!bench->worked) {
    be_doc_sentence(doc,
                    "Whether %s can be trusted is not known: no calibration of it is in force.",
                    bench->name);
    return;
  }
  static const struct {
    const char *before, *after;
  } verdicts[] = {{"", " can be trusted"},
                  {"", " cannot be trusted"},
                  {"Whether ", " can be trusted is not known"}};
  be_doc_sentence(doc, "%s%s%s: %s; %s; %s.", verdicts[bench->verdict].before, bench->name,
                  verdicts[bench->verdict].after, or_lost(due_words(survey, bench)),
                  or_lost(range_words(survey, bench)), or_lost(check_words(survey, bench)));
}

/* The answer where there are several benches. */
static void say_all(struct be_doc *doc, const struct survey *survey, const struct bench *benches,
                    size_t count, const char *date)
{
  const char *names = "";
  size_t trusted = 0;
  for (size_t i = 0; i < count && names; i++) {
    if (benches[i].verdict != TRUSTED) continue;
    names = be_arena_format(survey->arena, "%s%s%s", names, trusted++ ? ", " : "", benches[i].name);
  }
  if (trusted)
    be_doc_sentence(doc, "On %s %zu of %zu benches can be trusted: %s.", date, trusted, count,
                    or_lost(names));
  else be_doc_sentence(doc, "On %s none of %zu benches can be trusted.", date, count);
}

static void say_table(struct be_doc *doc, const struct survey *survey, const struct bench *benches,
                      size_t count)
{
  static const char *const words[] = {"yes", "no", "not known"};
  const struct be_column columns[] = {
      {"bench", "bench", BE_COLUMN_TEXT, false},
      {"trusted", "trusted", BE_COLUMN_TEXT, false},
      {"calibration", "calibration", BE_COLUMN_TEXT, false},
      {"days_left", "days left", BE_COLUMN_NUMBER, false},
      {"class", "class", BE_COLUMN_TEXT, false},
      {"verified", be_head(survey, "verified range"), BE_COLUMN_INTERVAL, false},
      {"last_check", "last check weight", BE_COLUMN_TEXT, false},
      {"last_mark", "in its chart", BE_COLUMN_TEXT, false},
  };
  struct be_table *table = be_doc_table(doc, "rig", "Benches", columns, 8);
  for (size_t i = 0; i < count; i++) {
    const struct bench *bench = &benches[i];
    const struct worked *worked = bench->worked;
    const struct checks *of = bench->last_of;
    be_table_text(table, "%s", bench->name);
    be_table_text(table, "%s", words[bench->verdict]);
    be_table_text(table, "%s", worked ? worked->kept->is.name : "none");
    be_table_number(table, bench->has_due ? (double)bench->left : NAN, 0);
    be_table_text(table, "%s", worked ? be_rig_class_words(worked->force_class) : "-");
    be_table_interval(table, worked ? be_shown(survey, worked->range.from_N) : NAN,
                      worked ? be_shown(survey, worked->range.to_N) : NAN, survey->decimals);
    be_table_text(table, "%s", of ? last_weight(of)->date : "none");
    be_table_text(table, "%s", of && of->charted ? be_chart_mark_words(last_mark(of)) : "-");
  }
}

static bool has_weights(const struct survey *survey, int bench)
{
  for (size_t i = 0; i < survey->record.weights_count; i++)
    if (survey->record.weights[i].bench == bench) return true;
  return false;
}

static enum be_status say_parts(struct be_doc *doc, const struct survey *survey,
                                const struct worked *worked, const struct bench *bench,
                                struct be_err *err)
{
  bool logged = has_weights(survey, bench->index);
  if (!bench->worked && !logged) return BE_OK;
  be_doc_heading(doc, "%s", bench->name);
  if (bench->worked) {
    be_doc_figure(doc, be_figure_of_errors(survey, bench->worked));
    be_say_steps(doc, survey, bench->worked);
    be_say_readings(doc, survey, bench->worked);
    be_say_uncertainty(doc, survey, bench->worked);
  }
  for (size_t i = 0; i < bench->checks_count; i++) {
    if (!bench->checks[i].charted) continue;
    be_doc_figure(doc, be_figure_of_checks(survey, &bench->checks[i]));
    be_doc_figure(doc, be_figure_of_ranges(survey, &bench->checks[i]));
  }
  return logged ? be_say_log(doc, survey, worked, bench->index, bench->checks, bench->checks_count,
                             err)
                : BE_OK;
}

static void say_pulls(struct be_doc *doc, const struct survey *survey, const struct worked *worked,
                      size_t unknown)
{
  size_t outside = 0, overdue = 0;
  for (size_t i = 0; i < survey->record.calibrations_count; i++) {
    outside += worked[i].outside;
    overdue += worked[i].overdue;
  }
  be_doc_heading(doc, "Calibrations");
  be_say_calibrations(doc, survey, worked, unknown);
  if (outside + overdue) be_say_doubtful(doc, survey, worked);
  be_doc_note(doc,
              "Pulls: %zu; with a load outside the verified range of their calibration: %zu; taken "
              "when it was overdue: %zu; whose calibration is not known: %zu. Each says so on its "
              "page; none is left out of any figure for it.",
              survey->record.pulls_count, outside, overdue, unknown);
}

enum be_status be_rig_doc(const struct survey *survey, long day, struct be_doc **out,
                          struct be_err *err)
{
  size_t count = survey->record.benches_count, unknown = 0;
  struct bench *benches = be_arena_alloc(survey->arena, (count + 1) * sizeof *benches);
  struct worked *worked = NULL;
  char date[16];
  struct be_doc *doc = be_doc_create("rig", "Rig");
  if (!doc || !benches) {
    be_doc_free(doc);
    return be_no_memory(err);
  }
  be_date_write(day, date);
  enum be_status status = be_rig_work_out(survey, &worked, &unknown, err);
  for (size_t i = 0; i < count && status == BE_OK; i++)
    status = look_at(survey, worked, (int)i, day, &benches[i], err);
  if (status != BE_OK) return be_doc_done(doc, status, out);
  if (count == 0)
    be_doc_sentence(doc, "Whether the rig can be trusted is not known: the book has no bench. A "
                         "calibration sheet tells of one.");
  if (count > 1) say_all(doc, survey, benches, count, date);
  for (size_t i = 0; i < count; i++) say_bench(doc, survey, &benches[i]);
  be_doc_fact(doc, "day", "Asked about", "%s", date);
  be_doc_fact(doc, "unit", "Unit", "%s", survey->how.unit->name);
  if (count) say_table(doc, survey, benches, count);
  for (size_t i = 0; i < count && status == BE_OK; i++)
    status = say_parts(doc, survey, worked, &benches[i], err);
  if (survey->record.calibrations_count || unknown) say_pulls(doc, survey, worked, unknown);
  if (survey->record.weights_count)
    be_doc_note(doc,
                "Limits of a chart: the mean and three deviations, from the mean moving range, "
                "of its first 20 readings, or of all but the last while there are fewer. A "
                "chart begins anew with each calibration.");
  return be_answer_done(survey, doc, status, out, err);
}
