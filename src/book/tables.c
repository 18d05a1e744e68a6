/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The record as tables, most of them sheets. The lists below are the data dictionary: what a column
 * is called, what it means, what may stand in it. */
#include "book/inside.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/* ---- words ---- */

#define WORDS(name, list)                                                                          \
  static void name(char *text, size_t size)                                                        \
  {                                                                                                \
    be_words_list(list, text, size);                                                               \
  }
WORDS(designs, WORDS_DESIGN)
WORDS(kinds, WORDS_KIND)
WORDS(whats, WORDS_WHAT)
WORDS(wheres, WORDS_WHERE)
WORDS(whiches, WORDS_WHICH)

static void rules(char *text, size_t size)
{
  size_t used = 0;
  for (int i = 0; i < BE_RULES && used < size; i++)
    used += (size_t)snprintf(text + used, size - used, "%s%s", i ? ", " : "",
                             be_rule_word((enum be_rule)i));
}

static void directions(char *text, size_t size)
{
  snprintf(text, size, "rising, falling");
}

static void curves(char *text, size_t size)
{
  snprintf(text, size, "straight, through zero, bent");
}

/* ---- columns ---- */

#define TEXT(name, means)                                                                          \
  {                                                                                                \
    name, means, false, false, false, BE_TABLE_PLAIN, NULL                                         \
  }
#define NUMBER(name, means)                                                                        \
  {                                                                                                \
    name, means, true, false, false, BE_TABLE_PLAIN, NULL                                          \
  }
#define WORD(name, means, words)                                                                   \
  {                                                                                                \
    name, means, false, false, false, BE_TABLE_PLAIN, words                                        \
  }
#define NAME(name, means, role)                                                                    \
  {                                                                                                \
    name, means, false, false, false, role, NULL                                                   \
  }
#define NEEDED(name, means, role)                                                                  \
  {                                                                                                \
    name, means, false, true, false, role, NULL                                                    \
  }
#define ONCE(name, means, role)                                                                    \
  {                                                                                                \
    name, means, false, true, true, role, NULL                                                     \
  }
#define NEEDED_NUMBER(name, means)                                                                 \
  {                                                                                                \
    name, means, true, true, false, BE_TABLE_PLAIN, NULL                                           \
  }

static const struct be_table_column lines[] = {
    NEEDED("line", "what the line is", BE_TABLE_LINE),
    NAME("spool", "which spool of it", BE_TABLE_SPOOL),
    TEXT("material", "what it is made of"),
    TEXT("label",
         "the strength on its label, as written, with its unit; in N where its mark could be taken "
         "for thousands"),
    TEXT("size", "its size, as written"),
    NUMBER("diameter (m)", "measured diameter"),
    TEXT("lot", "the maker's lot, as written"),
    TEXT("source", "bought, given by its maker, as written"),
    TEXT("opened", "when the spool was: a year, a month or a day; none: not yet"),
    TEXT("construction", "its strands, as written"),
};

static const struct be_table_column counts[] = {
    NEEDED("line", "what the line is", BE_TABLE_LINE),
    NAME("spool", "which spool of it", BE_TABLE_SPOOL),
    NEEDED_NUMBER("on hand (m)", "how much there was, as counted; the last count holds"),
    TEXT("counted", "when, as written"),
};

static const struct be_table_column knots[] = {
    NEEDED("knot", "its name", BE_TABLE_KNOT),
    NAME("version", "how it was tied, where there are several ways", BE_TABLE_VERSION),
    TEXT("kind", "bend, hitch, loop, stopper, as written"),
    NUMBER("turns", "how many turns; from 0 to 100"),
    TEXT("doubled", "whether the line was doubled, as written"),
    TEXT("aliases", "its other names, with commas between"),
    NUMBER("crossings A", "in the view with the fewest, over the length of line A"),
    NUMBER("crossings B", "the same over the length of line B"),
    NUMBER("overlap (m)", "in that drawing, how much of A lies on B"),
    TEXT("tie", "how it runs, in the notation of docs/ties.md"),
    NUMBER("time to tie (s)", "how long it takes"),
    TEXT("passes guides", "whether it passes the guides of a rod, as written"),
};

static const struct be_table_column benches[] = {
    ONCE("bench", "its name", BE_TABLE_BENCH),
    NUMBER("calibration (1)", "relative expanded uncertainty of the force, coverage factor 2"),
    NUMBER("resolution (N)", "the display step"),
    NUMBER("drift (N)", "half-width of what the zero may wander over a session"),
    NUMBER("peak missed (1)", "the most that sampling and filter may take off a peak, relative"),
    TEXT("certificate", "of its calibration, as written"),
    TEXT("calibrated", "when, as written"),
};

static const struct be_table_column calibrations[] = {
    NEEDED("bench", "of which bench", BE_TABLE_BENCH),
    NEEDED("calibration", "its name; a row is one reading of it", BE_TABLE_CALIBRATION),
    NEEDED("date", "the day it was done", BE_TABLE_PLAIN),
    NUMBER("months", "whole months until it is due"),
    TEXT("certificate", "as written"),
    NEEDED_NUMBER("load applied (N)", "the known load"),
    NEEDED_NUMBER("reading", "what the instrument showed, in the unit behind"),
    TEXT("unit", "of the reading; none: a bare number"),
    WORD("direction", "of loading", directions),
    NUMBER("reference (1)", "relative expanded uncertainty of the known loads, coverage factor 2"),
    NUMBER("resolution (N)", "the step of a reading, as a force"),
    WORD("curve", "which curve makes forces of readings", curves),
};

static const struct be_table_column weights[] = {
    NEEDED("bench", "of which bench", BE_TABLE_BENCH),
    NEEDED("date", "the day, perhaps with a time behind", BE_TABLE_PLAIN),
    NEEDED_NUMBER("weight (N)", "the known load"),
    NEEDED_NUMBER("reading", "what the instrument showed, in the unit behind"),
    TEXT("unit", "of the reading; none: a bare number"),
    TEXT("session", "as written"),
    TEXT("note", "anything"),
};

static const struct be_table_column rules_told[] = {
    NEEDED("trial", "of which trial", BE_TABLE_TRIAL),
    {"rule", "what is fixed", false, true, false, BE_TABLE_PLAIN, rules},
    NEEDED("value", "how; the last value of a rule is in force", BE_TABLE_PLAIN),
    TEXT("reason", "why it was told anew or late"),
};

#define MADE                                                                                       \
  TEXT("soak", "dry, soaked, or for how long"), NUMBER("free length (m)", "between the grips"),    \
      NUMBER("speed (m/s)", "of pulling"), TEXT("tyer", "who tied it"),                            \
      TEXT("lubricant", "what it was wetted with to tie"),                                         \
      NUMBER("seating load (N)", "that it was drawn up with; 0: with none"),                       \
      NUMBER("seating held (s)", "how long that was held"),                                        \
      NUMBER("tag end (m)", "length left standing"), TEXT("glue", "which; none: without"),         \
      TEXT("tied", "when, perhaps with a time"), TEXT("water", "of the soak: fresh, salt"),        \
      TEXT("grips", "what held the ends, and with how many wraps"),                                \
      NUMBER("temperature (K)", "of the air, in kelvin: 0 \u00B0C is 273.15"),                     \
      NUMBER("humidity (1)", "relative, of the air: a share")

#define TIED                                                                                       \
  WORD("design", "what the specimen is", designs),                                                 \
      NEEDED("knot", "which knot; none: a plain line", BE_TABLE_KNOT),                             \
      NAME("version", "of the knot", BE_TABLE_VERSION), NUMBER("turns", "of the knot"),            \
      NAME("knot B", "of two knots pulled against each other, the second", BE_TABLE_KNOT),         \
      NAME("version B", "of knot B", BE_TABLE_VERSION), NUMBER("turns B", "of knot B"),            \
      NEEDED("line A", "the line, or the first of two", BE_TABLE_LINE),                            \
      NAME("spool A", "which spool of it", BE_TABLE_SPOOL),                                        \
      NAME("line B", "the second line; not recorded: there is none", BE_TABLE_LINE),               \
      NAME("spool B", "which spool of it", BE_TABLE_SPOOL),                                        \
      TEXT("hardware", "ring, hook, swivel, as written"), MADE

static const struct be_table_column trials[] = {
    NEEDED("trial", "of which trial", BE_TABLE_TRIAL),
    ONCE("specimen", "its code", BE_TABLE_SPECIMEN),
    NEEDED_NUMBER("order", "of pulling, over the whole trial"),
    NUMBER("block", "pulled together"),
    TIED,
};

#define RESULT                                                                                     \
  NUMBER("load (N)", "typed; not recorded: that of the trace, if there is one"),                   \
      {"result",                                                                                   \
       "event: it let go at this load; lower bound: it held at least this; void: it does "         \
       "not count",                                                                                \
       false,                                                                                      \
       true,                                                                                       \
       false,                                                                                      \
       BE_TABLE_PLAIN,                                                                             \
       kinds},                                                                                     \
      TEXT("reason", "why it is void, or a lower bound"), WORD("what", "what happened", whats),    \
      WORD("where", "where it let go", wheres), WORD("which", "which part let go", whiches),       \
      TEXT("judged by", "who said what let go"), TEXT("note", "anything")

static const struct be_table_column pulls[] = {
    ONCE("specimen", "its code", BE_TABLE_SPECIMEN),
    TIED,
    TEXT("session", "as written; often a date"),
    NUMBER("order", "of pulling, within the session"),
    NAME("bench", "on which it was pulled", BE_TABLE_BENCH),
    NAME("calibration", "by which, where it is not the one in force", BE_TABLE_CALIBRATION),
    NUMBER("zero before (N)", "what the bench showed without load"),
    NUMBER("zero after (N)", "the same after the pull"),
    NAME("trace", "its file of load over time", BE_TABLE_TRACE),
    RESULT,
};

static const struct be_table_column corrections[] = {
    NEEDED("specimen", "whose result is replaced", BE_TABLE_SPECIMEN),
    NEEDED("correction", "why", BE_TABLE_PLAIN),
    RESULT,
};

static const struct be_table_column handling[] = {
    NEEDED("specimen", "of what", BE_TABLE_SPECIMEN),
    NEEDED("reason", "why it was told anew", BE_TABLE_PLAIN),
    TEXT("judged by", "who told it"),
    MADE,
};

static const struct be_table_column evidence[] = {
    NEEDED("specimen", "of what", BE_TABLE_SPECIMEN),
    TEXT("photo", "name of the file, which is not here; none: there is none"),
    TEXT("clip", "name of the file, which is not here; none: there is none"),
    TEXT("note", "anything"),
};

static const struct be_table_column results[] = {
    {"id", "number of the result, in the order entered", true, true, true, BE_TABLE_PLAIN, NULL},
    NEEDED("specimen", "of what", BE_TABLE_SPECIMEN),
    NUMBER("corrects", "number of the result that it replaced"),
    TEXT("correction", "why"),
    RESULT,
    TEXT("load typed", "as it was typed"),
    TEXT("unit typed", "the unit it was typed in"),
    NEEDED_NUMBER("file", "number of the file it came with"),
    NEEDED_NUMBER("file line", "and the line of it, from 1"),
    NEEDED("entered at", "when, UTC", BE_TABLE_PLAIN),
};

/* ---- tables ---- */

/* A mark before exactly three digits was told what it is when it was entered, and is not again. */
#define LABEL                                                                                      \
  "CASE WHEN label_N IS NOT NULL AND (label GLOB '*[.,][0-9][0-9][0-9]' OR label GLOB"             \
  " '*[.,][0-9][0-9][0-9][^0-9]*') THEN format('%.12f N', label_N) ELSE label END"
#define SOAK "CASE WHEN soak_s IS NOT NULL THEN soak_s ELSE soak END"
#define TIED_SQL                                                                                   \
  "design, ifnull(k.name, 'none'), k.version, k.turns, kb.name, kb.version, kb.turns, a.name,"     \
  " a.spool, b.name, b.spool, hardware, " SOAK                                                     \
  ", length_m, speed_m_s, tyer, lubricant" HANDLING_SQL
#define TIED_JOIN                                                                                  \
  " LEFT JOIN knot AS k ON k.id = t.knot LEFT JOIN knot AS kb ON kb.id = t.knot_b"                 \
  " LEFT JOIN line AS a ON a.id = t.line_a LEFT JOIN line AS b ON b.id = t.line_b"
#define RESULT_SQL "r.load_N, r.kind, r.reason, r.what, r.where_, r.which, r.judged_by, r.note"
#define OF_RESULT " JOIN pull AS p ON p.id = r.pull JOIN specimen AS t ON t.id = p.specimen"

#define COLUMNS(list) list, sizeof list / sizeof list[0]
#define ONE(column, table, field)                                                                  \
  {                                                                                                \
    {column, BE_NO_INDEX}, table,                                                                  \
    {                                                                                              \
      field, NULL                                                                                  \
    }                                                                                              \
  }
#define TWO(first, second, table, field, other)                                                    \
  {                                                                                                \
    {first, second}, table,                                                                        \
    {                                                                                              \
      field, other                                                                                 \
    }                                                                                              \
  }

const struct be_book_table be_book_tables[BE_BOOK_TABLES] = {
    {"lines",
     "Spools of line",
     COLUMNS(lines),
     {{{0}}},
     true,
     "SELECT name, spool, material, " LABEL ", size, diameter_m, lot,"
     " source, opened, construction FROM line ORDER BY id"},
    {"knots",
     "Knots",
     COLUMNS(knots),
     {{{0}}},
     true,
     "SELECT name, version, kind, turns, doubled, aliases, crossings_a, crossings_b, overlap_m, "
     "tie,"
     " tie_s, guides FROM knot ORDER BY id"},
    {"benches",
     "Benches, by which pulls are measured",
     COLUMNS(benches),
     {{{0}}},
     true,
     "SELECT name, calibration, resolution_N, drift_N, missed, certificate, calibrated FROM bench"
     " ORDER BY id"},
    {"calibrations",
     "Calibrations, a reading a row",
     COLUMNS(calibrations),
     {ONE(0, "benches", "bench")},
     true,
     "SELECT b.name, c.name, date, months, c.certificate, load_N, reading, ifnull(unit, 'none'),"
     " CASE WHEN falling THEN 'falling' ELSE 'rising' END, reference, c.resolution_N, curve FROM"
     " calibration_point AS p JOIN calibration AS c ON c.id = p.calibration JOIN bench AS b ON "
     "b.id ="
     " c.bench ORDER BY c.id, p.id"},
    {"check-weights",
     "Readings of check weights",
     COLUMNS(weights),
     {ONE(0, "benches", "bench")},
     true,
     "SELECT b.name, date, weight_N, reading, ifnull(unit, 'none'), session, note FROM check_weight"
     " AS w JOIN bench AS b ON b.id = w.bench ORDER BY w.id"},
    {"rules",
     "What trials fixed, and changed",
     COLUMNS(rules_told),
     {{{0}}},
     true,
     "SELECT trial.name, rule, value, reason FROM rule JOIN trial ON trial.id = trial ORDER BY"
     " rule.id"},
    {"trials",
     "Specimens planned in trials",
     COLUMNS(trials),
     {TWO(11, 12, "lines", "line", "spool"), TWO(13, 14, "lines", "line", "spool")},
     true,
     "SELECT (SELECT name FROM trial WHERE trial.id = t.trial), code, place, block, " TIED_SQL
     " FROM planned AS t" TIED_JOIN " ORDER BY t.id"},
    {"pulls",
     "Pulls, each with its first result",
     COLUMNS(pulls),
     {TWO(8, 9, "lines", "line", "spool"), TWO(10, 11, "lines", "line", "spool"),
      ONE(20 + BE_HANDLINGS, "benches", "bench")},
     true,
     "SELECT code, " TIED_SQL
     ", session, place, (SELECT name FROM bench WHERE bench.id = p.bench), p.calibration,"
     " zero_before_N, zero_after_N, p.trace, " RESULT_SQL " FROM result AS r" OF_RESULT TIED_JOIN
     " WHERE r.corrects IS NULL ORDER BY p.id"},
    {"corrections",
     "Results that replaced others",
     COLUMNS(corrections),
     {ONE(0, "pulls", "specimen")},
     true,
     "SELECT code, why, " RESULT_SQL " FROM result AS r" OF_RESULT
     " WHERE r.corrects IS NOT NULL ORDER BY r.id"},
    {"handling",
     "What was told anew of how specimens were tied and pulled; of each column the last holds",
     COLUMNS(handling),
     {ONE(0, "pulls", "specimen")},
     true,
     "SELECT (SELECT code FROM specimen WHERE specimen.id = handling.specimen), why, told_by, " SOAK
     ", length_m, speed_m_s, tyer, lubricant" HANDLING_SQL " FROM handling ORDER BY id"},
    {"evidence",
     "Names of photos and clips",
     COLUMNS(evidence),
     {ONE(0, "pulls", "specimen")},
     true,
     "SELECT code, CASE WHEN e.kind = 'photo' THEN e.name END, CASE WHEN e.kind = 'clip' THEN"
     " e.name END, e.note FROM evidence AS e JOIN pull AS p ON p.id = e.pull JOIN specimen AS t ON"
     " t.id = p.specimen ORDER BY e.id"},
    {"counts",
     "Line on hand, as counted",
     COLUMNS(counts),
     {TWO(0, 1, "lines", "line", "spool")},
     true,
     "SELECT name, spool, on_hand_m, counted FROM stock JOIN line ON line.id = line ORDER BY"
     " stock.id"},
    {"results",
     "Every result, those that were replaced too",
     COLUMNS(results),
     {ONE(1, "pulls", "specimen"), ONE(2, "results", "id")},
     false,
     "SELECT r.id, code, r.corrects, why, " RESULT_SQL
     ", load_text, load_unit, r.file, r.file_line, (SELECT entered_at FROM file WHERE file.id ="
     " r.file) FROM result AS r" OF_RESULT " ORDER BY r.id"},
};

#define FITS(columns)                                                                              \
  static_assert(sizeof(columns) / sizeof(columns)[0] <= BE_TABLE_COLUMNS, "a row has room for "    \
                                                                          "them")
FITS(lines);
FITS(counts);
FITS(knots);
FITS(benches);
FITS(calibrations);
FITS(weights);
FITS(rules_told);
FITS(trials);
FITS(pulls);
FITS(corrections);
FITS(handling);
FITS(evidence);
FITS(results);
#undef FITS

const struct be_book_table *be_book_table(const char *name)
{
  for (int i = 0; i < BE_BOOK_TABLES; i++)
    if (strcmp(be_book_tables[i].name, name) == 0) return &be_book_tables[i];
  return NULL;
}

/* ---- rows ---- */

static enum be_status read_cells(sqlite3_stmt *s, const struct be_book_table *table,
                                 struct be_table_cell *cells, struct be_err *err)
{
  for (size_t i = 0; i < table->count; i++) {
    int at = (int)i;
    bool none = sqlite3_column_type(s, at) == SQLITE_NULL;
    const struct be_table_column *column = &table->columns[i];
    bool number = column->number || column->role == BE_TABLE_TRACE ||
                  sqlite3_column_type(s, at) == SQLITE_FLOAT;
    cells[i] = (struct be_table_cell){.number = NAN};
    if (none) continue;
    if (number) cells[i].number = sqlite3_column_double(s, at);
    else cells[i].text = (const char *)sqlite3_column_text(s, at);
    if (!number && !cells[i].text) return be_fail(err, BE_NO_MEMORY, "no memory for the tables");
  }
  return BE_OK;
}

enum be_status be_book_table_read(struct be_book *book, const struct be_book_table *table,
                                  be_table_row *row, void *context, struct be_err *err)
{
  struct be_table_cell cells[BE_TABLE_COLUMNS];
  sqlite3_stmt *s = NULL;
  bool more = true;
  enum be_status status = be_sql_prepare(book->db, table->sql, &s, err);
  while (status == BE_OK) {
    status = be_sql_step(s, &more, err);
    if (status != BE_OK || !more) break;
    status = read_cells(s, table, cells, err);
    if (status == BE_OK) status = row(context, cells, err);
  }
  sqlite3_finalize(s);
  return status;
}
