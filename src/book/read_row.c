/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A row of a pull sheet as values. */
#include "book/inside.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const char *text_of(const struct entering *in, enum field field)
{
  return be_field_text(&in->sheet, &in->fields, in->row, field);
}

static size_t line_of(const struct entering *in)
{
  return in->sheet.lines[in->row];
}

static enum be_status read_word(struct entering *in, enum field field, enum words list, int *value,
                                struct be_err *err)
{
  const char *text = text_of(in, field);
  *value = 0;
  if (!text) return BE_OK;
  *value = be_words_find(list, text);
  if (*value >= 0) return BE_OK;
  char known[300];
  be_words_list(list, known, sizeof known);
  be_fail(err, BE_BAD_INPUT, "\"%s\" is not one of the words for it", text);
  be_fail_remedy(err, "write one of: %s; or say what it means with --word '%s: %.40s = ...'", known,
                 be_field_name(field), text);
  return be_fail_here(in, field, err);
}

enum be_status be_soak_read(struct entering *in, int *soak, double *soak_s, struct be_err *err)
{
  const char *text = text_of(in, FIELD_SOAK);
  struct be_quantity quantity;
  *soak_s = NAN;
  *soak = text ? be_words_find(WORDS_SOAK, text) : BE_SOAK_UNKNOWN;
  if (*soak >= 0) return BE_OK;
  enum be_status status = be_field_number(in, FIELD_SOAK, BE_TIME, NULL, &quantity, err);
  if (status == BE_BAD_INPUT)
    be_fail_remedy(err, "write dry, soaked, or how long, such as \"120 min\"");
  if (status != BE_OK) return status;
  *soak_s = quantity.value;
  *soak = quantity.value > 0 ? BE_SOAK_SOAKED : BE_SOAK_DRY;
  return BE_OK;
}

static enum be_status read_soak(struct entering *in, const struct known *known, struct row *row,
                                struct be_err *err)
{
  if (!known->planned || text_of(in, FIELD_SOAK))
    return be_soak_read(in, &row->soak, &row->soak_s, err);
  row->soak = known->soak;
  row->soak_s = known->soak_s;
  return BE_OK;
}

static bool names_no_knot(const char *text)
{
  return be_text_same(text, "none") || be_text_same(text, "plain line") ||
         be_text_same(text, "plain");
}

static enum be_status find_knot(struct entering *in, const char *name, enum field field,
                                int64_t *id, struct be_err *err)
{
  bool second = field == FIELD_KNOT_B;
  struct knot_named knot = {.name = name,
                            .version = text_of(in, second ? FIELD_VERSION_B : FIELD_VERSION),
                            .crossings_a = NAN,
                            .crossings_b = NAN,
                            .overlap_m = NAN,
                            .tie_s = NAN};
  enum be_status status = be_turns_read(in, second ? FIELD_TURNS_B : FIELD_TURNS, &knot.turns, err);
  return status == BE_OK ? be_knot_resolve(in, &knot, field, id, err) : status;
}

/* A row that names no knot means the one that was planned; a design that it tells
 * goes before. */
static enum be_status take_planned_knot(struct entering *in, const struct known *known,
                                        struct row *row, struct be_err *err)
{
  enum field more = text_of(in, FIELD_VERSION) ? FIELD_VERSION : FIELD_TURNS;
  const char *said = text_of(in, more);
  if (said && !be_text_same(said, "none")) {
    be_fail(err, BE_BAD_INPUT, "\"%s\" is given, but no knot is named", said);
    be_fail_remedy(err, "name it in the column \"knot\", or leave the cell empty");
    return be_fail_here(in, more, err);
  }
  if (row->design != BE_DESIGN_PLAIN) row->knot = known->knot;
  if (!row->knot && row->design == BE_DESIGN_UNKNOWN) row->design = BE_DESIGN_PLAIN;
  return BE_OK;
}

/* A row above names it: the cell may be one of several that were merged. */
static bool stands_above(const struct entering *in, enum field field)
{
  size_t row = in->row;
  while (row > 1 && !be_field_text(&in->sheet, &in->fields, row - 1, field)) row--;
  return in->fields.column[field] >= 0 && row > 1;
}

/* Merged cells and rows of totals are told by what is empty in them. */
static enum be_status refuse_no_knot(struct entering *in, struct be_err *err)
{
  int column = in->fields.column[FIELD_KNOT], coded = in->fields.column[FIELD_SPECIMEN];
  const char *code =
      in->fields.kind == SHEET_PULLS && coded >= 0 ? text_of(in, FIELD_SPECIMEN) : NULL;
  bool lined = text_of(in, FIELD_LINE_A) || text_of(in, FIELD_SPOOL_A);
  char above[140] = "", totals[220] = "", planned[160] = "";
  if (stands_above(in, FIELD_KNOT))
    snprintf(above, sizeof above,
             "; where an empty cell means the one above, say --as-above '%.60s'",
             be_sheet_cell(&in->sheet, 0, (size_t)column));
  if (code && !lined)
    snprintf(totals, sizeof totals,
             "; a row of totals or means is passed over with --pass-over '%.60s = %.60s'",
             be_sheet_cell(&in->sheet, 0, (size_t)coded), code);
  if (code)
    snprintf(planned, sizeof planned,
             "; if it was planned, look at its code, \"%.60s\", or enter its trial sheet first",
             code);
  be_fail(err, BE_BAD_INPUT, "the knot is not named");
  be_fail_remedy(err, "write \"none\" for a plain line%s%s%s", above, totals, planned);
  return be_fail_here(in, FIELD_KNOT, err);
}

static enum be_status read_knot(struct entering *in, const struct known *known, struct row *row,
                                struct be_err *err)
{
  const char *name = text_of(in, FIELD_KNOT);
  if (row->corrects && !name) {
    row->knot = known->knot;
    return BE_OK;
  }
  if (known->planned && !name) {
    enum be_status status = take_planned_knot(in, known, row, err);
    if (status != BE_OK || row->knot || row->design == BE_DESIGN_PLAIN) return status;
  }
  if (name && names_no_knot(name)) {
    if (row->design == BE_DESIGN_UNKNOWN) row->design = BE_DESIGN_PLAIN;
    name = NULL;
    if (row->design == BE_DESIGN_PLAIN) return BE_OK;
  }
  if (!name && row->design == BE_DESIGN_PLAIN) return BE_OK;
  if (!name) return refuse_no_knot(in, err);
  if (row->design == BE_DESIGN_PLAIN) {
    be_fail(err, BE_BAD_INPUT, "a plain line has no knot, but \"%s\" is named", name);
    be_fail_remedy(err, "write \"none\" for the knot, or another design");
    return be_fail_here(in, FIELD_KNOT, err);
  }
  return find_knot(in, name, FIELD_KNOT, &row->knot, err);
}

/* Whether a design can have these knots. */
static bool design_fits(int design, int64_t knot, int64_t knot_b)
{
  if ((design == BE_DESIGN_PLAIN) != (knot == 0)) return false;
  if (!knot_b || design == BE_DESIGN_UNKNOWN) return true;
  if (design == BE_DESIGN_TWO_SAME) return knot_b == knot;
  if (design == BE_DESIGN_TWO_DIFFERENT) return knot_b != knot;
  return design == BE_DESIGN_PROOF || design == BE_DESIGN_CYCLIC;
}

/* Two of the same stay so when the row names another knot; what does not go with the
 * design or the knot that the row tells is dropped. */
static int64_t planned_knot_b(const struct known *known, const struct row *row)
{
  int64_t knot_b = known->knot_b && known->knot_b == known->knot ? row->knot : known->knot_b;
  return row->knot && design_fits(row->design, row->knot, knot_b) ? knot_b : 0;
}

/* The design of the plan, unless the row tells one or knots that have another. */
static void take_planned_design(struct entering *in, const struct known *known, struct row *row)
{
  bool two = known->design == BE_DESIGN_TWO_SAME || known->design == BE_DESIGN_TWO_DIFFERENT;
  bool no_second = two && !row->knot_b && text_of(in, FIELD_KNOT_B);
  if (row->design == BE_DESIGN_UNKNOWN && !no_second &&
      design_fits(known->design, row->knot, row->knot_b))
    row->design = known->design;
}

/* Of two knots pulled against each other, the second; 0: none is named. */
static enum be_status read_knot_b(struct entering *in, const struct known *known, struct row *row,
                                  struct be_err *err)
{
  const char *name = text_of(in, FIELD_KNOT_B);
  if (name && names_no_knot(name)) return BE_OK;
  if (row->corrects && !name) {
    row->knot_b = known->knot_b;
    return BE_OK;
  }
  if (name) return find_knot(in, name, FIELD_KNOT_B, &row->knot_b, err);
  enum field more = text_of(in, FIELD_VERSION_B) ? FIELD_VERSION_B : FIELD_TURNS_B;
  const char *said = text_of(in, more);
  if (!said || be_text_same(said, "none")) {
    if (known->planned) row->knot_b = planned_knot_b(known, row);
    return BE_OK;
  }
  be_fail(err, BE_BAD_INPUT, "\"%s\" is given, but no knot B is named", said);
  be_fail_remedy(err, "name it in the column \"knot B\", or leave the cell empty");
  return be_fail_here(in, more, err);
}

/* Knot B tells a design that is not stated, and must fit one that is. A
 * correction is held to the specimen of the book instead (rows.c). */
static enum be_status fit_design(struct entering *in, struct row *row, struct be_err *err)
{
  if (row->corrects) return BE_OK;
  bool same = row->knot_b == row->knot;
  if (row->knot_b && row->design == BE_DESIGN_UNKNOWN)
    row->design = same ? BE_DESIGN_TWO_SAME : BE_DESIGN_TWO_DIFFERENT;
  if (!row->knot_b) {
    if (row->design == BE_DESIGN_TWO_DIFFERENT)
      be_note_here(in, line_of(in),
                   "of two different knots the second is not recorded; a column "
                   "\"knot B\" names it");
    return BE_OK;
  }
  const char *name = text_of(in, FIELD_KNOT_B);
  if (row->design == BE_DESIGN_PLAIN || row->design == BE_DESIGN_SINGLE)
    be_fail(err, BE_BAD_INPUT, "a %s has no knot B, but \"%s\" is named",
            be_design_word((enum be_design)row->design), name);
  else if (row->design == BE_DESIGN_TWO_SAME && !same)
    be_fail(err, BE_BAD_INPUT, "the design is two same, but \"%s\" is another knot", name);
  else if (row->design == BE_DESIGN_TWO_DIFFERENT && same)
    be_fail(err, BE_BAD_INPUT, "the design is two different, but \"%s\" is the same knot", name);
  else return BE_OK;
  be_fail_remedy(err,
                 "leave out the design, which then follows from the knots, or mend one of them");
  return be_fail_here(in, FIELD_KNOT_B, err);
}

static bool has_second_knot(const struct row *row)
{
  return row->knot_b || row->design == BE_DESIGN_TWO_SAME || row->design == BE_DESIGN_TWO_DIFFERENT;
}

/* What a correction leaves out is what the book has; what a planned specimen's row
 * leaves out is its plan. */
static enum be_status read_lines(struct entering *in, const struct known *known, struct row *row,
                                 struct be_err *err)
{
  bool held = row->corrects || known->planned;
  bool said_a = text_of(in, FIELD_LINE_A) || text_of(in, FIELD_SPOOL_A);
  bool said_b = text_of(in, FIELD_LINE_B) || text_of(in, FIELD_SPOOL_B);
  enum be_status status = BE_OK;
  row->line_a = known->line_a;
  row->line_b = known->line_b;
  if (said_a || !held)
    status = be_line_resolve(in, FIELD_LINE_A, FIELD_SPOOL_A, &known->told_a, &row->line_a, err);
  if (status == BE_OK && (said_b || !held))
    status = be_line_resolve(in, FIELD_LINE_B, FIELD_SPOOL_B, &known->told_b, &row->line_b, err);
  return status;
}

static enum be_status expect_line(struct entering *in, const struct row *row, struct be_err *err)
{
  if (row->line_a) return BE_OK;
  be_fail(err, BE_BAD_INPUT, "the line is not named");
  be_fail_remedy(err, "every specimen needs \"line A\" or \"spool A\"; a row of totals or means is "
                      "passed over with --pass-over");
  return be_fail_here(in, FIELD_LINE_A, err);
}

/* In a correction a rule's value says nothing: it is for rows that are new. */
static enum be_status read_bench(struct entering *in, const struct known *known, struct row *row,
                                 struct be_err *err)
{
  bool told = in->fields.column[FIELD_BENCH] >= 0 && text_of(in, FIELD_BENCH);
  row->bench = known->bench;
  return row->corrects && !told ? BE_OK : be_bench_resolve(in, &row->bench, err);
}

static const double load_most_N = 1e6, load_least_N = 1e-3;

enum be_status be_load_possible(double load_N, struct be_err *err)
{
  if (load_N >= load_least_N && load_N <= load_most_N) return BE_OK;
  be_fail(err, BE_BAD_INPUT, "%g N is not a load that a %s", load_N,
          load_N > load_most_N ? "line can bear" : "rig can read");
  return be_fail_remedy(err, "check the number, its decimal mark and its unit");
}

static enum be_status read_zero(struct entering *in, enum field field, double *zero_N,
                                struct be_err *err)
{
  struct be_quantity quantity;
  enum be_status status = be_field_signed(in, field, BE_FORCE, NULL, &quantity, err);
  *zero_N = quantity.value;
  if (status != BE_OK || !(fabs(quantity.value) > load_most_N)) return status;
  be_fail(err, BE_BAD_INPUT, "%g N is not a zero of a rig", quantity.value);
  be_fail_remedy(err, "check the number and its unit");
  return be_fail_here(in, field, err);
}

enum be_status be_speed_read(struct entering *in, struct be_quantity *speed, struct be_err *err)
{
  return be_field_number(in, FIELD_SPEED, BE_SPEED, be_unit_find_in(BE_SPEED, "mm/min", 6), speed,
                         err);
}

enum be_status be_length_read(struct entering *in, struct be_quantity *length, struct be_err *err)
{
  return be_field_number(in, FIELD_LENGTH, BE_LENGTH, be_unit_find_in(BE_LENGTH, "mm", 2), length,
                         err);
}

static enum be_status read_numbers(struct entering *in, const struct known *known, struct row *row,
                                   struct be_err *err)
{
  enum be_status status = be_field_number(in, FIELD_LOAD, BE_FORCE, NULL, &row->load, err);
  if (status == BE_OK) status = be_speed_read(in, &row->speed, err);
  if (status == BE_OK) status = be_length_read(in, &row->length, err);
  if (status == BE_OK)
    status = be_field_number(in, FIELD_ORDER, BE_RATIO, be_unit_si(BE_RATIO), &row->order, err);
  if (status == BE_OK) status = read_zero(in, FIELD_ZERO_BEFORE, &row->zero_before_N, err);
  if (status == BE_OK) status = read_zero(in, FIELD_ZERO_AFTER, &row->zero_after_N, err);
  if (status != BE_OK) return status;
  if (known->planned && !text_of(in, FIELD_SPEED)) row->speed.value = known->speed_m_s;
  if (known->planned && !text_of(in, FIELD_LENGTH)) row->length.value = known->length_m;
  if (row->load.value <= 0) {
    be_fail(err, BE_BAD_INPUT, "a load must be above zero");
    be_fail_remedy(err, "leave the cell empty where there is none");
    return be_fail_here(in, FIELD_LOAD, err);
  }
  if (!isnan(row->load.value) && be_load_possible(row->load.value, err) != BE_OK)
    return be_fail_here(in, FIELD_LOAD, err);
  return BE_OK;
}

/* In a correction the specimen is not told again. */
static void read_texts(struct entering *in, const struct known *known, struct row *row)
{
  const char *hardware = text_of(in, FIELD_HARDWARE), *tyer = text_of(in, FIELD_TYER),
             *lubricant = text_of(in, FIELD_LUBRICANT);
  row->hardware = hardware ? hardware : known->hardware;
  row->tyer = tyer ? tyer : known->tyer;
  row->lubricant = lubricant ? lubricant : known->lubricant;
}

/* Where a sheet does not say: a break clear of the knot, a break at the grip,
 * failed hardware and nothing at all only show that the knot held so much. A
 * plain line may part anywhere but at the grip, and what slips there is the
 * grip. (Common practice; no source.) The rules of its trial go before. */
static int kind_by_rule(const struct row *row)
{
  bool knotted = row->design != BE_DESIGN_PLAIN;
  if (row->what == BE_WHAT_NOTHING || row->what == BE_WHAT_HARDWARE) return BE_KIND_BOUND;
  if (row->what == BE_WHAT_SLIPPED_OUT && !knotted) return BE_KIND_BOUND;
  if (row->where == BE_WHERE_GRIP) return row->rules.void_at_grip ? BE_KIND_VOID : BE_KIND_BOUND;
  if (row->what == BE_WHAT_SLIPPED_OUT && row->rules.void_slip) return BE_KIND_VOID;
  if (row->where == BE_WHERE_CLEAR && knotted && !row->rules.event_clear) return BE_KIND_BOUND;
  if (row->design == BE_DESIGN_PROOF) return BE_KIND_BOUND;
  return BE_KIND_EVENT;
}

/* Takes the kind that the sheet does not say, and says where it says another. */
static void settle_kind(struct entering *in, struct row *row)
{
  int by_rule = kind_by_rule(row), said = row->kind;
  bool slipped = row->what == BE_WHAT_SLIPPED_OUT, grip = row->where == BE_WHERE_GRIP;
  const char *what = be_what_word((enum be_what)row->what),
             *where = be_where_word((enum be_where)row->where);
  if (said == BE_KIND_UNKNOWN) row->kind = by_rule;
  if (said == BE_KIND_UNKNOWN && by_rule == BE_KIND_VOID && !row->reason)
    row->reason = slipped && grip ? "slipped out at a grip: void by the trial's rules"
                  : slipped       ? "slipped out: void by the trial's rules"
                                  : "parted at a grip: void by the trial's rules";
  else if (said == BE_KIND_EVENT && by_rule == BE_KIND_BOUND)
    be_note_here(in, line_of(in),
                 "taken as an event because the sheet says so; \"%s, %s\" is "
                 "usually a lower bound",
                 what, where);
  else if ((said == BE_KIND_EVENT || said == BE_KIND_BOUND) && by_rule == BE_KIND_VOID)
    be_note_here(in, line_of(in),
                 "taken as %s because the sheet says so; \"%s, %s\" is void by the "
                 "trial's rules",
                 said == BE_KIND_EVENT ? "an event" : "a lower bound", what, where);
}

static enum be_status read_result(struct entering *in, const struct known *known, struct row *row,
                                  struct be_err *err)
{
  enum be_status status = read_word(in, FIELD_RESULT, WORDS_KIND, &row->kind, err);
  if (status == BE_OK) status = read_word(in, FIELD_WHAT, WORDS_WHAT, &row->what, err);
  if (status == BE_OK) status = read_word(in, FIELD_WHERE, WORDS_WHERE, &row->where, err);
  if (status == BE_OK) status = read_word(in, FIELD_WHICH, WORDS_WHICH, &row->which, err);
  if (status != BE_OK) return status;
  if (row->which == BE_WHICH_KNOT_B && !has_second_knot(row)) {
    be_fail(err, BE_BAD_INPUT, "knot B let go, but the specimen has no knot B");
    be_fail_remedy(err, "name it in the column \"knot B\", or write which other part let go");
    return be_fail_here(in, FIELD_WHICH, err);
  }
  row->reason = text_of(in, FIELD_REASON);
  settle_kind(in, row);
  if (row->kind == BE_KIND_VOID && !row->reason) {
    be_fail(err, BE_BAD_INPUT, "a void needs its reason");
    be_fail_remedy(err, "say in the column \"reason\" why the pull does not count");
    return be_fail_here(in, FIELD_RESULT, err);
  }
  bool traced = row->trace || (row->corrects && known->trace);
  if (isnan(row->load.value) && !traced && row->kind != BE_KIND_VOID) {
    be_fail(err, BE_BAD_INPUT, "there is no load");
    be_fail_remedy(err, "give the load or a trace, or make the result void with a reason");
    return be_fail_here(in, FIELD_LOAD, err);
  }
  return BE_OK;
}

/* What was tied, but its lines. */
static enum be_status read_tied(struct entering *in, const struct known *known, struct row *row,
                                struct be_err *err)
{
  enum be_status status = read_word(in, FIELD_DESIGN, WORDS_DESIGN, &row->design, err);
  if (status == BE_OK) status = read_knot(in, known, row, err);
  if (row->corrects && !row->design) row->design = known->design;
  if (status == BE_OK) status = read_knot_b(in, known, row, err);
  if (status == BE_OK && known->planned) take_planned_design(in, known, row);
  if (status == BE_OK) status = fit_design(in, row, err);
  if (status == BE_OK) status = read_soak(in, known, row, err);
  if (status == BE_OK) status = read_numbers(in, known, row, err);
  read_texts(in, known, row);
  if (status == BE_OK && !row->corrects)
    status = be_handling_read(in, known->planned ? known->handling : NULL, row->handling, err);
  return status;
}

enum be_status be_row_read(struct entering *in, const struct known *known, struct row *row,
                           struct be_err *err)
{
  row->trace = text_of(in, FIELD_TRACE);
  if (row->trace && be_text_same(row->trace, "none")) row->trace = NULL;
  enum be_status status = read_tied(in, known, row, err);
  if (status == BE_OK) status = read_result(in, known, row, err);
  if (status == BE_OK) status = read_lines(in, known, row, err);
  if (status == BE_OK) status = read_bench(in, known, row, err);
  if (status == BE_OK) status = be_calibration_look(in, row->bench, &row->calibration, err);
  return status == BE_OK ? expect_line(in, row, err) : status;
}

enum be_status be_row_read_planned(struct entering *in, struct row *row, struct be_err *err)
{
  static const struct known nothing;
  enum be_status status = read_tied(in, &nothing, row, err);
  if (status == BE_OK) status = read_lines(in, &nothing, row, err);
  return status == BE_OK ? expect_line(in, row, err) : status;
}
