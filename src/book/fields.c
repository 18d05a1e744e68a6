/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the columns of a sheet mean: by their heads, and by a mapping. */
#include "book/inside.h"

#include <stdio.h>
#include <string.h>

/* ---- headers ---- */

/* "load (lb)" or "load [lb]" is the name "load" and the unit lb. */
struct head {
  char name[128];
  char unit[32];
};

static void split_head(const char *text, struct head *head)
{
  size_t length = strlen(text);
  const char *open = strpbrk(text, "([");
  memset(head, 0, sizeof *head);
  if (open && length && (text[length - 1] == ')' || text[length - 1] == ']')) {
    size_t inner = (size_t)(text + length - 1 - (open + 1));
    if (inner < sizeof head->unit) memcpy(head->unit, open + 1, inner);
    length = (size_t)(open - text);
  }
  while (length && text[length - 1] == ' ') length--;
  if (length >= sizeof head->name) length = sizeof head->name - 1;
  for (size_t i = 0; i < length; i++) head->name[i] = text[i] == '_' ? ' ' : text[i];
}

/* Words have no unit, but one that stands beside them does no harm. */
static const struct be_unit *unit_of(enum field field, const char *text)
{
  enum be_dimension dimension = be_field_dimension(field);
  if (!*text) return NULL;
  return dimension == BE_DIMENSIONS ? be_unit_find(text, strlen(text))
                                    : be_unit_find_in(dimension, text, strlen(text));
}

/* ---- finding ---- */

/* The rules are gone through twice: what they name helps to tell the kind of
 * the sheet, and the kind tells what their names mean ("line" in a pull sheet
 * is line A). */
struct finding {
  struct sheet *sheet;
  struct fields *fields;
  struct be_arena *arena;
  bool kind_known;
  int sheets;    /* kinds of which a name was seen that no other kind has */
  bool has_line; /* a name means a line, were this a sheet of lines */
  bool has_bench, has_trial, has_rule, has_applied, has_weight, has_reading;
  bool measured; /* a load or a trace, which nothing but a pull has */
  bool of_pulls; /* a rule names something that pulls have */
  bool shown;    /* a photo, a clip, or how a specimen was handled */
  bool more;     /* a name that pulls have and evidence has not */
  bool taken[SHEET_COLUMNS_MAX];
};

/* A pull sheet has a load, a trace or specimens; a name that only lines, only
 * knots or only benches have tells those, and a trial without a load its plan or
 * its rules. */
static void count_name(struct finding *in, const char *name)
{
  int pulls = be_field_find(name, IN_PULLS), lines = be_field_find(name, IN_LINES),
      knots = be_field_find(name, IN_KNOTS), benches = be_field_find(name, IN_BENCHES);
  in->has_line |= lines == FIELD_LINE;
  in->has_bench |= benches == FIELD_BENCH;
  in->has_trial |= be_field_find(name, IN_TRIALS) == FIELD_TRIAL;
  in->has_rule |= be_field_find(name, IN_RULES) == FIELD_RULE;
  in->has_applied |= be_field_find(name, IN_CALIBRATIONS) == FIELD_APPLIED;
  in->has_weight |= be_field_find(name, IN_WEIGHTS) == FIELD_WEIGHT;
  in->has_reading |= be_field_find(name, IN_WEIGHTS) == FIELD_READING;
  in->measured |= pulls == FIELD_LOAD || pulls == FIELD_TRACE;
  in->shown |= pulls == FIELD_PHOTO || pulls == FIELD_CLIP ||
               (pulls >= FIELD_SOAK && pulls <= FIELD_HANDLING_LAST);
  in->more |= pulls >= 0 && be_field_find(name, IN_EVIDENCE) < 0;
  if (lines >= 0 && pulls < 0) in->sheets |= IN_LINES;
  if (knots >= 0 && pulls < 0) in->sheets |= IN_KNOTS;
  if (benches == FIELD_CALIBRATION || (benches >= 0 && pulls < 0)) in->sheets |= IN_BENCHES;
  if (pulls == FIELD_LOAD || pulls == FIELD_TRACE || pulls == FIELD_SPECIMEN)
    in->sheets |= IN_PULLS;
}

static int find_column(const struct sheet *sheet, const char *name)
{
  for (size_t i = 0; i < sheet->columns; i++)
    if (be_text_same(be_sheet_cell(sheet, 0, i), name)) return (int)i;
  return -1;
}

static enum be_status missed(struct finding *in, const char *rule, const char *name,
                             struct be_err *err)
{
  const char *near = be_name_near((const char *const *)in->sheet->cells, in->sheet->columns, name);
  in->fields->rule_missed = true;
  be_rule_bad(rule, "names a column that the sheet does not have", err);
  return be_rule_near(near, err);
}

/* A rule that names a column of the sheet and no field. */
static enum be_status apply_to_column(struct finding *in, const struct mapping_rule *rule,
                                      struct be_err *err)
{
  bool ignores = rule->kind == MAPPING_IGNORE, fills = rule->kind == MAPPING_ABOVE;
  const char *name = ignores || fills ? rule->value : rule->word;
  int column = find_column(in->sheet, name);
  if (column < 0) return missed(in, rule->whole, name, err);
  if (ignores) in->taken[column] = true;
  if (fills && in->kind_known) be_rows_fill_down(in->sheet, (size_t)column);
  if (ignores || fills || !in->kind_known) return BE_OK;
  size_t passed = be_rows_pass_over(in->sheet, (size_t)column, rule->value);
  in->fields->passed_over += passed;
  if (passed) return BE_OK;
  in->fields->idle_rule = be_arena_text(in->arena, rule->whole, strlen(rule->whole));
  return in->fields->idle_rule ? BE_OK : be_fail(err, BE_NO_MEMORY, "no memory for a rule");
}

/* "Pull 1 .. Pull 10": the name of the last column of several, the first being left in the value;
 * null: it is one. */
static const char *split_columns(const struct finding *in, struct mapping_rule *rule)
{
  char *dots = strstr(rule->value, "..");
  if (!dots || find_column(in->sheet, rule->value) >= 0) return NULL;
  const char *last = dots + 2 + strspn(dots + 2, ". ");
  while (dots > rule->value && dots[-1] == ' ') dots--;
  *dots = '\0';
  return last;
}

/* All of them must be loads, in one unit. */
static enum be_status take_loads(struct finding *in, const struct mapping_rule *rule, int first,
                                 int last, enum field field, struct be_err *err)
{
  struct head head, theirs;
  if (field != FIELD_LOAD)
    return be_rule_bad(rule->whole, "names several columns: only \"load\" may", err);
  if (last <= first)
    return be_rule_bad(rule->whole, "names several columns, the last one first", err);
  split_head(be_sheet_cell(in->sheet, 0, (size_t)first), &head);
  for (int i = first; i <= last; i++) {
    const char *text = be_sheet_cell(in->sheet, 0, (size_t)i);
    split_head(text, &theirs);
    int other = be_field_find(theirs.name, IN_PULLS);
    if (be_tells_sums(text))
      return be_rule_bad(rule->whole, "runs over a column of means or totals", err);
    if (other >= 0 && other != FIELD_LOAD)
      return be_rule_bad(rule->whole, "runs over a column that is another field", err);
    if (strcmp(head.unit, theirs.unit) != 0)
      return be_rule_bad(rule->whole, "runs over columns of different units", err);
    in->taken[i] = true;
  }
  in->fields->spread_last = last;
  return BE_OK;
}

static enum be_status take_column(struct finding *in, struct mapping_rule *rule,
                                  const struct head *head, enum field field, struct be_err *err)
{
  const char *last = split_columns(in, rule);
  int column = find_column(in->sheet, rule->value), end = last ? find_column(in->sheet, last) : -1;
  if (column < 0) return missed(in, rule->whole, rule->value, err);
  if (last && end < 0) return missed(in, rule->whole, last, err);
  if (last) {
    enum be_status status = take_loads(in, rule, column, end, field, err);
    if (status != BE_OK) return status;
  }
  in->taken[column] = true;
  if (!in->kind_known) return BE_OK;
  struct head theirs;
  split_head(rule->value, &theirs);
  const char *unit = *head->unit ? head->unit : theirs.unit;
  if (be_field_dimension(field) == BE_FORCE && strchr(rule->value, '%'))
    return be_rule_bad(rule->whole, "takes a share, in %, for a load", err);
  const char *order = be_day_order(field, unit);
  if (order) in->fields->days[field != FIELD_SESSION] = order, unit = "";
  int before = in->fields->column[field];
  if (before >= 0 && before != column) in->taken[before] = false;
  in->fields->column[field] = column;
  in->fields->unit[field] = unit_of(field, unit);
  if (!*unit || in->fields->unit[field]) return BE_OK;
  if (*head->unit)
    return be_rule_bad(rule->whole, "names a unit that is not known, or not one for it", err);
  return be_field_dimension(field) == BE_DIMENSIONS
             ? BE_OK
             : be_rule_bad(rule->whole, "takes a column whose unit is not known, or not one for it",
                           err);
}

static enum be_status no_field(const struct finding *in, const char *rule, const char *name,
                               struct be_err *err)
{
  const char *names[FIELDS];
  int sheets = in->kind_known ? 1 << in->fields->kind : IN_ANY;
  size_t count = 0;
  for (int i = 0; i < FIELDS; i++)
    if (be_field_on((enum field)i, sheets)) names[count++] = be_field_name((enum field)i);
  const char *near = be_name_near(names, count, name);
  be_rule_bad(rule,
              in->kind_known ? "names a field that this kind of sheet does not have"
                             : "names a field that does not exist",
              err);
  return be_rule_near(near, err);
}

static enum be_status take_titles(struct finding *in, const struct mapping_rule *rule,
                                  struct be_err *err)
{
  int field = be_field_find(rule->value, IN_PULLS);
  if (field < 0) return no_field(in, rule->whole, rule->value, err);
  if (in->kind_known) return BE_OK;
  in->of_pulls = true;
  in->fields->titled = field;
  count_name(in, rule->value);
  return BE_OK;
}

static enum be_status apply_rule(struct finding *in, struct mapping_rule *rule, struct be_err *err)
{
  struct head head;
  if (rule->kind == MAPPING_TITLES) return take_titles(in, rule, err);
  if (rule->kind == MAPPING_IGNORE || rule->kind == MAPPING_ABOVE || rule->kind == MAPPING_PASS)
    return apply_to_column(in, rule, err);
  split_head(rule->field, &head);
  int field = be_field_find(head.name, in->kind_known ? 1 << in->fields->kind : IN_ANY);
  if (field < 0) return no_field(in, rule->whole, head.name, err);
  if (rule->kind == MAPPING_WORD && in->kind_known)
    return be_word_add(in->fields, (enum field)field, rule->word, rule->value, in->arena, err);
  if (rule->kind == MAPPING_WORD) return BE_OK;
  if (!in->kind_known) {
    count_name(in, head.name);
    in->of_pulls |= be_field_find(head.name, IN_PULLS) >= 0;
  }
  if (rule->kind == MAPPING_COLUMN) return take_column(in, rule, &head, (enum field)field, err);
  if (!in->kind_known) return BE_OK;
  in->fields->constant[field] = be_arena_text(in->arena, rule->value, strlen(rule->value));
  return in->fields->constant[field] ? BE_OK : be_fail(err, BE_NO_MEMORY, "no memory for a rule");
}

static enum be_status apply_mapping(struct finding *in, const char *mapping, struct be_err *err)
{
  struct mapping_rule rule;
  enum be_status status = be_mapping_next(&mapping, &rule, err);
  while (status == BE_OK && rule.kind != MAPPING_END) {
    status = apply_rule(in, &rule, err);
    if (status == BE_OK) status = be_mapping_next(&mapping, &rule, err);
  }
  return status;
}

/* "Nr", "Knoten", ... as far as there is room. */
static void list_heads(const struct sheet *sheet, char *names, size_t size)
{
  size_t used = 0;
  names[0] = '\0';
  for (size_t i = 0; i < sheet->columns; i++) {
    const char *head = be_sheet_cell(sheet, 0, i);
    size_t length = strlen(head);
    bool fits = used + length + 9 < size;
    int put = snprintf(names + used, size - used, "%s%s%s%s", i ? ", " : "", fits ? "\"" : "...",
                       fits ? head : "", fits ? "\"" : "");
    used += put > 0 ? (size_t)put : 0;
    if (!fits) return;
  }
}

/* Codes are told once each, where a trace that names its specimen does so in every row. */
static bool has_codes(const struct sheet *sheet, size_t column)
{
  if (sheet->rows < 2) return sheet->rows == 1;
  return !be_text_same(be_sheet_cell(sheet, sheet->rows - 1, column),
                       be_sheet_cell(sheet, sheet->rows, column));
}

/* Words of what was tied and what became of it; a trace may have its day, its rig and remarks. */
static bool is_of_one_pull(enum field field)
{
  bool words = be_field_dimension(field) == BE_DIMENSIONS;
  return words && (field < FIELD_SESSION || (field >= FIELD_RESULT && field <= FIELD_WHICH));
}

/* A trace has a load too, so that a column which no sheet has does not tell the two apart. */
static bool is_of_pulls(const struct sheet *sheet)
{
  struct head head;
  int told = 0;
  for (size_t i = 0; i < sheet->columns; i++) {
    split_head(be_sheet_cell(sheet, 0, i), &head);
    int field = be_field_find(head.name, IN_PULLS);
    if (field == FIELD_KNOT || field == FIELD_WHAT) told += 2;
    else if (field == FIELD_SPECIMEN) told += 2 * has_codes(sheet, i);
    else if (field >= 0 && is_of_one_pull((enum field)field)) told++;
  }
  return told >= 2;
}

static enum be_status find_kind(struct finding *in, struct be_err *err)
{
  struct head head;
  for (size_t i = 0; i < in->sheet->columns; i++) {
    if (in->taken[i]) continue;
    split_head(be_sheet_cell(in->sheet, 0, i), &head);
    count_name(in, head.name);
  }
  in->kind_known = true;
  in->fields->of_pulls = in->measured && is_of_pulls(in->sheet);
  if (in->has_trial && !in->measured) in->fields->kind = in->has_rule ? SHEET_RULES : SHEET_TRIALS;
  else if (in->shown && !in->more) in->fields->kind = SHEET_EVIDENCE;
  else if (in->sheets & IN_PULLS) in->fields->kind = SHEET_PULLS;
  else if (in->has_reading && in->has_applied) in->fields->kind = SHEET_CALIBRATIONS;
  else if (in->has_reading && in->has_weight) in->fields->kind = SHEET_WEIGHTS;
  else if ((in->sheets & IN_LINES) && in->has_line) in->fields->kind = SHEET_LINES;
  else if ((in->sheets & IN_BENCHES) && in->has_bench) in->fields->kind = SHEET_BENCHES;
  else if (in->sheets & IN_KNOTS) in->fields->kind = SHEET_KNOTS;
  else if (in->of_pulls) in->fields->kind = SHEET_PULLS;
  else {
    char names[120];
    list_heads(in->sheet, names, sizeof names);
    be_fail(err, BE_BAD_INPUT,
            "the header, %s, is not one of a pull, line, knot, bench, trial, rule, calibration, "
            "check weight or evidence sheet",
            names);
    be_fail_at(err, NULL, in->sheet->lines[0], 0);
    return be_fail_remedy(
        err,
        "a pull sheet has a column \"load\" or \"trace\"; others: \"line\" and "
        "\"material\", \"knot\" and \"kind\", \"bench\" and \"calibration\", \"trial\" and "
        "\"specimen\", \"trial\" and \"rule\", \"load applied\" and \"reading\", \"weight\" and "
        "\"reading\", \"specimen\" and \"photo\", \"clip\" or \"temperature\"; or map your columns "
        "with "
        "--column "
        "'FIELD = COLUMN'");
  }
  return BE_OK;
}

/* Names every unknown column at once, so that they are mended in one go. */
static enum be_status unknown_columns(const struct finding *in, size_t first, struct be_err *err)
{
  char names[300] = "";
  size_t used = 0, count = 0;
  for (size_t i = first; i < in->sheet->columns && used < sizeof names - 1; i++) {
    struct head head;
    split_head(be_sheet_cell(in->sheet, 0, i), &head);
    if (in->taken[i] || be_field_find(head.name, 1 << in->fields->kind) >= 0) continue;
    int put = snprintf(names + used, sizeof names - used, "%s\"%s\"", count ? ", " : "",
                       be_sheet_cell(in->sheet, 0, i));
    used += put < 0 ? 0 : (size_t)put;
    count++;
  }
  const char *kind = be_sheet_kind_word(in->fields->kind),
             *text = be_sheet_cell(in->sheet, 0, first);
  const char *an = strchr("aeiou", *kind) ? "an" : "a";
  be_fail(err, BE_BAD_INPUT,
          count == 1 ? "column %s is not one that %s %s has"
                     : "columns %s are not ones that %s %s has",
          names, an, kind);
  be_fail_at(err, NULL, in->sheet->lines[0], first + 1);
  return be_fail_remedy(err,
                        "rename each, map it with --column 'FIELD = %s', or pass over it with "
                        "--ignore '%s'; docs/formats.md lists the fields",
                        text, text);
}

static enum be_status strange_unit(const struct finding *in, enum field field, size_t column,
                                   const char *unit, struct be_err *err)
{
  enum be_dimension dimension = be_field_dimension(field);
  const char *text = be_sheet_cell(in->sheet, 0, column);
  if (dimension >= BE_RATIO)
    be_fail(err, BE_BAD_INPUT, "\"%s\" in column \"%s\" is not a unit", unit, text);
  else
    be_fail(err, BE_BAD_INPUT, "\"%s\" in column \"%s\" is not a unit of %s", unit, text,
            be_dimension_word(dimension));
  be_fail_at(err, NULL, in->sheet->lines[0], column + 1);
  if (field == FIELD_OF(BE_HANDLED_TEMPERATURE))
    return be_fail_remedy(err, "write \"temperature (C)\" or \"temperature (F)\"");
  if (field == FIELD_OF(BE_HANDLED_HUMIDITY)) return be_fail_remedy(err, "write \"humidity (%%)\"");
  if (field == FIELD_CALIBRATION || field == FIELD_MISSED || field == FIELD_REFERENCE)
    return be_fail_remedy(err, "it is a share of the force: write \"%s (%%)\"",
                          be_field_name((enum field)field));
  return be_fail_remedy(err, dimension >= BE_RATIO
                                 ? "leave the brackets out of the head"
                                 : "write a unit such as N, lb, mm, mm/min or min, or map the "
                                   "column with --column 'FIELD (UNIT) = COLUMN'");
}

static enum be_status find_by_name(struct finding *in, struct be_err *err)
{
  for (size_t i = 0; i < in->sheet->columns; i++) {
    const char *text = be_sheet_cell(in->sheet, 0, i);
    if (in->taken[i]) continue;
    struct head head;
    split_head(text, &head);
    int field = be_field_find(head.name, 1 << in->fields->kind);
    if (field < 0) return unknown_columns(in, i, err);
    if (in->fields->constant[field]) {
      be_fail(err, BE_BAD_INPUT, "column \"%s\" and a rule \"%s := %s\" both say it", text,
              be_field_name((enum field)field), in->fields->constant[field]);
      be_fail_at(err, NULL, in->sheet->lines[0], i + 1);
      return be_fail_remedy(err, "leave out the rule, or pass over the column with --ignore '%s'",
                            text);
    }
    if (in->fields->column[field] >= 0) {
      be_fail(err, BE_BAD_INPUT, "columns \"%s\" and \"%s\" both mean %s",
              be_sheet_cell(in->sheet, 0, (size_t)in->fields->column[field]), text,
              be_field_name((enum field)field));
      be_fail_at(err, NULL, in->sheet->lines[0], i + 1);
      return be_fail_remedy(err, "pass over one of them with --ignore '%s'", text);
    }
    in->fields->column[field] = (int)i;
    in->fields->unit[field] = unit_of((enum field)field, head.unit);
    const char *order = be_day_order((enum field)field, head.unit);
    if (order) in->fields->days[field != FIELD_SESSION] = order;
    if (*head.unit && !order && !in->fields->unit[field])
      return strange_unit(in, (enum field)field, i, head.unit, err);
  }
  return BE_OK;
}

enum be_status be_fields_find(struct sheet *sheet, const char *mapping, struct be_arena *arena,
                              struct fields *fields, struct be_err *err)
{
  struct finding in = {.sheet = sheet, .fields = fields, .arena = arena};
  memset(fields, 0, sizeof *fields);
  fields->titled = fields->spread_last = -1;
  for (int i = 0; i < FIELDS; i++) fields->column[i] = -1;
  enum be_status status = apply_mapping(&in, mapping, err);
  if (status == BE_OK && fields->titled >= 0) /* before the rules that hang on rows */
    status = be_titles_take(sheet, fields, arena, err);
  if (status == BE_OK) status = find_kind(&in, err);
  if (status == BE_OK && fields->kind == SHEET_PULLS) be_headers_pass_over(sheet, fields);
  if (status == BE_OK) status = apply_mapping(&in, mapping, err);
  if (status == BE_OK) status = find_by_name(&in, err);
  if (status != BE_OK) return status;
  enum field missing = be_field_missing(fields);
  if (missing == FIELDS) {
    be_unit_row_take(sheet, fields);
    status = be_days_read(sheet, fields, arena, err);
    return status == BE_OK ? be_loads_unfold(sheet, fields, arena, err) : status;
  }
  be_fail(err, BE_BAD_INPUT, "there is no column \"%s\"", be_field_name(missing));
  be_fail_at(err, NULL, sheet->lines[0], 0);
  return be_fail_remedy(err, "add it, or map a column with --column '%s = COLUMN'",
                        be_field_name(missing));
}

enum be_status be_fields_resolve(struct sheet *sheet, const char **rules, struct be_arena *arena,
                                 struct fields *fields, struct be_err *err)
{
  struct fields plain;
  enum be_status status = be_fields_find(sheet, *rules, arena, fields, err);
  if (status == BE_OK || !fields->rule_missed) return status;
  if (be_fields_find(sheet, NULL, arena, &plain, NULL) != BE_OK) return status;
  *fields = plain;
  *rules = NULL;
  return BE_OK;
}

const char *be_field_text(const struct sheet *sheet, const struct fields *fields, size_t row,
                          enum field field)
{
  const char *text = fields->constant[field];
  int column = be_field_column(sheet, fields, row, field);
  bool titled = fields->titled == (int)field && sheet->above;
  if (column >= 0) text = be_sheet_cell(sheet, row, (size_t)column);
  if (titled && (!text || !*text)) text = sheet->above[row];
  if ((column >= 0 || titled) && fields->words && text) text = be_word_meant(fields, field, text);
  return text && *text ? text : NULL;
}
