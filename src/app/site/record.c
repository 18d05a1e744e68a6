/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The record as it was measured, for programs: SI units; a value, "none", or null for what was not
 * recorded. Rows name one another by their place in their list. */
#include "app/site/api.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { COUNT_USUAL = 200, COUNT_MOST = 10000 };

void be_api_text(struct be_buf *out, const char *key, const char *text)
{
  be_buf_format(out, ",\"%s\":", key);
  if (text) be_json_string(out, text);
  else be_buf_text(out, "null");
}

void be_api_number(struct be_buf *out, const char *key, double value)
{
  be_buf_format(out, ",\"%s\":", key);
  be_json_number(out, value);
}

void be_api_count(struct be_buf *out, const char *key, size_t count)
{
  be_buf_format(out, ",\"%s\":%zu", key, count);
}

/* The first value of every list of words is "not recorded". */
static void word(struct be_buf *out, const char *key, int value, const char *words)
{
  be_api_text(out, key, value == 0 ? NULL : words);
}

static void row_of(struct be_buf *out, const char *key, int row, const char *without)
{
  if (row < 0) be_api_text(out, key, without);
  else be_api_count(out, key, (size_t)row);
}

/* 0: there is none. */
static void id_of(struct be_buf *out, const char *key, int64_t id)
{
  if (id) be_api_count(out, key, (size_t)id);
  else be_api_text(out, key, NULL);
}

static void day_of(struct be_buf *out, const char *key, bool known, long day)
{
  char text[16];
  if (known) be_date_write(day, text);
  be_api_text(out, key, known ? text : NULL);
}

/* ---- lists ---- */

static void line_row(struct be_buf *out, const struct be_record *record, size_t i)
{
  const struct be_line *line = &record->lines[i];
  be_api_text(out, "name", line->name);
  be_api_text(out, "spool", line->spool);
  be_api_text(out, "material", line->material);
  be_api_text(out, "label", line->label);
  be_api_number(out, "label_N", line->label_N);
  be_api_number(out, "diameter_m", line->diameter_m);
  be_api_text(out, "size", line->size);
  be_api_text(out, "lot", line->lot);
  be_api_text(out, "source", line->source);
  be_api_text(out, "opened", line->opened);
  be_api_text(out, "construction", line->construction);
  be_api_number(out, "counted_m", line->counted_m);
  be_api_text(out, "counted", line->counted);
  be_api_number(out, "on_hand_m", line->on_hand_m);
  be_api_count(out, "used_since", line->used_since);
}

static void knot_row(struct be_buf *out, const struct be_record *record, size_t i)
{
  const struct be_knot *knot = &record->knots[i];
  be_api_text(out, "full", knot->full);
  be_api_text(out, "name", knot->name);
  be_api_text(out, "version", knot->version);
  be_api_text(out, "kind", knot->kind);
  be_api_number(out, "turns", knot->turns);
  be_api_text(out, "doubled", knot->doubled);
  be_api_text(out, "aliases", knot->aliases);
  be_api_number(out, "crossings_a", knot->crossings_a);
  be_api_number(out, "crossings_b", knot->crossings_b);
  be_api_number(out, "overlap_m", knot->overlap_m);
  be_api_text(out, "tie", knot->tie);
  be_api_number(out, "tie_s", knot->tie_s);
  be_api_text(out, "passes_guides", knot->guides);
  id_of(out, "picture", knot->picture);
}

static void bench_row(struct be_buf *out, const struct be_record *record, size_t i)
{
  const struct be_bench *bench = &record->benches[i];
  be_api_text(out, "name", bench->name);
  be_api_number(out, "calibration_share", bench->calibration);
  be_api_number(out, "resolution_N", bench->resolution_N);
  be_api_number(out, "drift_N", bench->drift_N);
  be_api_number(out, "missed_share", bench->missed);
  be_api_text(out, "certificate", bench->certificate);
  be_api_text(out, "calibrated", bench->calibrated);
}

static void calibration_row(struct be_buf *out, const struct be_record *record, size_t i)
{
  const struct be_kept_calibration *kept = &record->calibrations[i];
  const struct be_calibration *is = &kept->is;
  be_api_text(out, "name", is->name);
  row_of(out, "bench", kept->bench, NULL);
  be_api_text(out, "certificate", *is->certificate ? is->certificate : NULL);
  day_of(out, "date", is->dated, is->day);
  be_api_number(out, "months", is->months ? is->months : NAN);
  be_api_text(out, "unit", *is->unit ? is->unit : "none");
  be_api_text(out, "curve", be_calibration_curve_word(is->curve));
  be_api_number(out, "reference_share", is->reference_percent / 100);
  be_api_number(out, "resolution_N", is->resolution_N);
  be_buf_text(out, ",\"points\":[");
  for (size_t at = 0; at < is->points_count; at++) {
    const struct be_calibration_point *point = &is->points[at];
    be_buf_format(out, "%s{\"falling\":%s", at ? "," : "", point->falling ? "true" : "false");
    be_api_number(out, "load_N", point->load_N);
    be_api_number(out, "reading", point->reading);
    be_buf_char(out, '}');
  }
  be_buf_char(out, ']');
  be_api_text(out, "file", kept->file);
  be_api_count(out, "file_line", (size_t)kept->file_line);
}

static void weight_row(struct be_buf *out, const struct be_record *record, size_t i)
{
  const struct be_check_weight *weight = &record->weights[i];
  row_of(out, "bench", weight->bench, NULL);
  be_api_text(out, "date", weight->date);
  be_api_number(out, "weight_N", weight->weight_N);
  be_api_number(out, "reading", weight->reading);
  be_api_text(out, "unit", weight->unit ? weight->unit : "none");
  row_of(out, "calibration", weight->calibration, "none");
  be_api_text(out, "session", weight->session);
  be_api_text(out, "note", weight->note);
}

/* What a plan and a pull both tell. */
static void tied(struct be_buf *out, enum be_design design, int knot, int knot_b, int line_a,
                 int line_b)
{
  word(out, "design", (int)design, be_design_word(design));
  row_of(out, "knot", knot, design == BE_DESIGN_PLAIN ? "none" : NULL);
  row_of(out, "knot_b", knot_b, NULL);
  row_of(out, "line_a", line_a, NULL);
  row_of(out, "line_b", line_b, NULL);
}

static void handling(struct be_buf *out, const struct be_handled *handled)
{
  for (int i = 0; i < BE_HANDLINGS; i++) {
    enum be_handling one = (enum be_handling)i;
    if (be_handling_dimension(one) == BE_DIMENSIONS)
      be_api_text(out, be_handling_key(one), handled[i].text);
    else be_api_number(out, be_handling_key(one), handled[i].number);
  }
}

static void planned(struct be_buf *out, const struct be_record *record,
                    const struct be_planned *planned)
{
  be_api_text(out, "specimen", planned->code);
  be_api_number(out, "block", planned->block);
  be_api_number(out, "order", planned->order);
  tied(out, planned->design, planned->knot, planned->knot_b, planned->line_a, planned->line_b);
  be_api_text(out, "hardware", planned->hardware);
  word(out, "soak", (int)planned->soak, be_soak_word(planned->soak));
  be_api_text(out, "tyer", planned->tyer);
  handling(out, planned->handling);
  be_api_count(out, "pulled_before", planned->pulled_before);
  if (planned->pull < 0) be_api_text(out, "pull", "none");
  else be_api_count(out, "pull", (size_t)record->pulls[planned->pull].id);
}

/* The comma that every piece begins with is not wanted behind a bracket. */
static void begin_row(struct be_buf *out, size_t i, size_t at)
{
  be_buf_format(out, "%s{\"row\":%zu", i > 0 ? ",\n  " : "\n  ", at);
}

static void trial_row(struct be_buf *out, const struct be_record *record, size_t at)
{
  const struct be_trial *trial = &record->trials[at];
  be_api_text(out, "name", trial->name);
  be_api_text(out, "fixed_at", trial->fixed_at);
  be_buf_text(out, ",\"rules\":[");
  for (int i = 0, any = 0; i < BE_RULES; i++) {
    if (!trial->rule[i]) continue;
    be_buf_format(out, "%s{\"rule\":\"%s\"", any++ ? "," : "", be_rule_word((enum be_rule)i));
    be_api_text(out, "value", trial->rule[i]);
    be_buf_char(out, '}');
  }
  be_buf_text(out, "],\"changes\":[");
  for (size_t i = 0; i < trial->changes_count; i++) {
    const struct be_rule_change *change = &trial->changes[i];
    be_buf_format(out, "%s{\"rule\":\"%s\"", i ? "," : "", be_rule_word(change->rule));
    be_api_text(out, "from", change->from);
    be_api_text(out, "to", change->to);
    be_api_text(out, "reason", change->reason);
    be_api_text(out, "changed_at", change->changed_at);
    be_api_count(out, "pulled", change->pulled);
    be_buf_char(out, '}');
  }
  be_buf_text(out, "],\"planned\":[");
  for (size_t i = 0; i < trial->planned_count; i++) {
    begin_row(out, i, i);
    planned(out, record, &trial->planned[i]);
    be_buf_char(out, '}');
  }
  be_buf_char(out, ']');
}

static void pull_result(struct be_buf *out, const struct be_pull *pull)
{
  word(out, "result", (int)pull->kind, be_kind_word(pull->kind));
  be_api_text(out, "reason", pull->reason);
  be_api_number(out, "load_N", pull->load_N);
  be_api_text(out, "load_typed", pull->load_text);
  be_api_text(out, "load_unit", pull->load_unit);
  word(out, "what", (int)pull->what, be_what_word(pull->what));
  word(out, "where", (int)pull->where, be_where_word(pull->where));
  word(out, "which", (int)pull->which, be_which_word(pull->which));
  be_api_text(out, "judged_by", pull->judged_by);
  be_api_text(out, "note", pull->note);
  be_api_count(out, "result_id", (size_t)pull->result);
  be_api_count(out, "corrections", (size_t)pull->corrections);
  be_api_text(out, "file", pull->file);
  be_api_count(out, "file_line", (size_t)pull->file_line);
  be_api_count(out, "entering", (size_t)pull->entering);
}

static void pull_trace(struct be_buf *out, const struct be_pull *pull)
{
  id_of(out, "trace", pull->trace);
  be_api_number(out, "trace_peak_N", pull->trace_peak_N);
  be_api_number(out, "trace_zero_N", pull->trace_zero_N);
  if (pull->trace && isnan(pull->first_slip_N)) be_api_text(out, "first_slip_N", "none");
  else be_api_number(out, "first_slip_N", pull->first_slip_N);
  be_api_number(out, "trace_missed_N", pull->trace_missed_N);
  be_api_number(out, "trace_drift_N", pull->trace_drift_N);
  be_api_text(out, "flags", pull->flags && !*pull->flags ? "none" : pull->flags);
  be_api_number(out, "zero_before_N", pull->zero_before_N);
  be_api_number(out, "zero_after_N", pull->zero_after_N);
  be_api_text(out, "calibration_told", pull->calibration_told);
  row_of(out, "calibration", pull->calibration, "none");
}

/* A name "none" was told: there is none. */
static void pull_evidence(struct be_buf *out, const struct be_pull *pull)
{
  be_buf_text(out, ",\"evidence\":[");
  for (size_t i = 0; i < pull->evidence_count; i++) {
    const struct be_evidence *one = &pull->evidence[i];
    be_buf_format(out, "%s{\"kind\":\"%s\"", i ? "," : "", one->clip ? "clip" : "photo");
    be_api_text(out, "name", one->name);
    be_api_text(out, "note", one->note);
    be_buf_char(out, '}');
  }
  be_buf_char(out, ']');
}

static void pull_row(struct be_buf *out, const struct be_record *record, size_t i)
{
  const struct be_pull *pull = &record->pulls[i];
  be_api_count(out, "id", (size_t)pull->id);
  be_api_text(out, "specimen", pull->code);
  tied(out, pull->design, pull->knot, pull->knot_b, pull->line_a, pull->line_b);
  row_of(out, "trial", pull->trial, "none");
  row_of(out, "bench", pull->bench, NULL);
  be_api_text(out, "hardware", pull->hardware);
  word(out, "soak", (int)pull->soak, be_soak_word(pull->soak));
  be_api_number(out, "soak_s", pull->soak_s);
  be_api_number(out, "speed_m_s", pull->speed_m_s);
  be_api_number(out, "length_m", pull->length_m);
  be_api_text(out, "tyer", pull->tyer);
  be_api_text(out, "lubricant", pull->lubricant);
  handling(out, pull->handling);
  be_api_text(out, "session", pull->session);
  be_api_number(out, "order", pull->order);
  pull_result(out, pull);
  pull_trace(out, pull);
  pull_evidence(out, pull);
}

/* ---- a part of one ---- */

struct list {
  const char *name;
  size_t count;
  void (*write)(struct be_buf *out, const struct be_record *record, size_t i);
};
enum { LISTS = 7 };

static enum be_status read_count(const struct be_request *request, const char *name, size_t most,
                                 size_t *value, struct be_err *err)
{
  const char *asked = be_request_query(request, name);
  if (!asked || !*asked || be_index_read(asked, most + 1, value)) return BE_OK;
  return be_fail(err, BE_WRONG_USE, "%s takes a whole number up to %zu, not \"%.40s\"", name, most,
                 asked);
}

static void write_part(struct be_buf *out, const struct list *list, const struct be_record *record,
                       size_t from, size_t count)
{
  be_buf_format(out, "{\"format\":%d,\"of\":\"%s\"", BE_JSON_FORMAT, list->name);
  be_api_count(out, "from", from);
  be_api_count(out, "all", list->count);
  be_buf_text(out, ",\"rows\":[");
  for (size_t i = 0; i < count && from + i < list->count; i++) {
    begin_row(out, i, from + i);
    list->write(out, record, from + i);
    be_buf_char(out, '}');
  }
  be_buf_text(out, "]}\n");
}

enum be_status be_api_record(struct visit *visit, struct be_err *err)
{
  const struct be_record *record = &visit->survey.record;
  const struct list lists[LISTS] = {{"lines", record->lines_count, line_row},
                                    {"knots", record->knots_count, knot_row},
                                    {"benches", record->benches_count, bench_row},
                                    {"calibrations", record->calibrations_count, calibration_row},
                                    {"check_weights", record->weights_count, weight_row},
                                    {"trials", record->trials_count, trial_row},
                                    {"pulls", record->pulls_count, pull_row}};
  struct be_buf *out = &visit->reply->body;
  const char *of = be_request_query(visit->request, "of");
  size_t from = 0, count = COUNT_USUAL;
  enum be_status status = read_count(visit->request, "from", 1000000000, &from, err);
  if (status == BE_OK) status = read_count(visit->request, "count", COUNT_MOST, &count, err);
  if (status != BE_OK) return status;
  if (!of || !*of) {
    be_buf_format(out, "{\"format\":%d", BE_JSON_FORMAT);
    be_api_text(out, "unit", record->unit);
    for (size_t i = 0; i < LISTS; i++) be_api_count(out, lists[i].name, lists[i].count);
    be_buf_text(out, "}\n");
    return be_buf_status(out, err);
  }
  for (size_t i = 0; i < LISTS; i++)
    if (strcmp(of, lists[i].name) == 0) {
      write_part(out, &lists[i], record, from, count);
      return be_buf_status(out, err);
    }
  return be_fail(err, BE_WRONG_USE,
                 "the record has lines, knots, benches, calibrations, check_weights, trials and "
                 "pulls, not \"%.40s\"",
                 of);
}
