/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A sheet as cells, what its columns mean, and the rules that tell it. */
#ifndef BE_BOOK_SHEET_H
#define BE_BOOK_SHEET_H

#include "book/book.h"

/* ---- csv.c: a sheet as cells ---- */

enum { SHEET_COLUMNS_MAX = 200, SHEET_ROWS_MAX = 2 * 1000 * 1000 };

struct sheet {
  size_t columns;
  size_t rows;        /* without the header */
  char **cells;       /* header first, then row by row; trimmed UTF-8, in the arena */
  size_t *lines;      /* 1-based line of each row, the header's first */
  size_t titles;      /* lines above the header that are none of it */
  const char *title;  /* the last of them, where it is one cell; or null */
  const char **above; /* shape.c: the title of each row's block, or null */
  size_t *spread;     /* shape.c: the column that each row's load stands in, or null */
  char delimiter;
  char usual; /* decimal mark that most numbers of the sheet have, or 0 */
};

/* coding.c: the bytes as UTF-8 (UTF-16 with its mark, else UTF-8, else
 * Latin-1) with line feeds, in the arena. */
enum be_status be_sheet_text(const char *bytes, size_t size, struct be_arena *arena, char **text,
                             size_t *length, struct be_err *err);
enum be_status be_sheet_read(const char *bytes, size_t size, struct be_arena *arena,
                             struct sheet *sheet, struct be_err *err);
const char *be_sheet_cell(const struct sheet *sheet, size_t row, size_t column);

/* ---- fields.c: what the columns mean ---- */

enum field {
  FIELD_SPECIMEN,
  FIELD_DESIGN,
  FIELD_KNOT,
  FIELD_VERSION,
  FIELD_TURNS,
  FIELD_KNOT_B,
  FIELD_VERSION_B,
  FIELD_TURNS_B,
  FIELD_LINE_A,
  FIELD_SPOOL_A,
  FIELD_LINE_B,
  FIELD_SPOOL_B,
  FIELD_DATE, /* before the session, which has its name in other sheets */
  FIELD_HARDWARE,
  FIELD_SOAK,
  FIELD_SPEED,
  FIELD_LENGTH,
  FIELD_TYER,
  FIELD_LUBRICANT,
  FIELD_HANDLING, /* the fields of BE_HANDLING_LIST, in its order */
  FIELD_HANDLING_LAST = FIELD_HANDLING + BE_HANDLINGS - 1,
  FIELD_SESSION,
  FIELD_BENCH,
  FIELD_ORDER,
  FIELD_LOAD,
  FIELD_RESULT,
  FIELD_REASON,
  FIELD_WHAT,
  FIELD_WHERE,
  FIELD_WHICH,
  FIELD_TRACE,
  FIELD_NOTE,
  FIELD_CORRECTION,
  FIELD_JUDGED,
  FIELD_PHOTO,
  FIELD_CLIP,
  FIELD_LINE,
  FIELD_SPOOL,
  FIELD_MATERIAL,
  FIELD_LABEL,
  FIELD_SIZE,
  FIELD_DIAMETER,
  FIELD_LOT,
  FIELD_SOURCE,
  FIELD_OPENED,
  FIELD_CONSTRUCTION,
  FIELD_ON_HAND,
  FIELD_COUNTED,
  FIELD_KIND,
  FIELD_DOUBLED,
  FIELD_ALIASES,
  FIELD_CROSSINGS_A,
  FIELD_CROSSINGS_B,
  FIELD_OVERLAP,
  FIELD_TIE,
  FIELD_TIE_TIME,
  FIELD_GUIDES,
  FIELD_PICTURE,
  FIELD_CALIBRATION,
  FIELD_RESOLUTION,
  FIELD_DRIFT,
  FIELD_MISSED,
  FIELD_CERTIFICATE,
  FIELD_CALIBRATED,
  FIELD_TRIAL,
  FIELD_BLOCK,
  FIELD_RULE,
  FIELD_VALUE,
  FIELD_CALIBRATION_NAME,
  FIELD_ZERO_BEFORE,
  FIELD_ZERO_AFTER,
  FIELD_MONTHS,
  FIELD_UNIT,
  FIELD_APPLIED,
  FIELD_READING,
  FIELD_DIRECTION,
  FIELD_REFERENCE,
  FIELD_CURVE,
  FIELD_WEIGHT,
  FIELDS
};

enum sheet_kind {
  SHEET_PULLS,
  SHEET_LINES,
  SHEET_KNOTS,
  SHEET_BENCHES,
  SHEET_TRIALS,
  SHEET_RULES,
  SHEET_EVIDENCE,
  SHEET_CALIBRATIONS,
  SHEET_WEIGHTS,
  SHEET_KINDS
};

struct fields {
  enum sheet_kind kind;
  int column[FIELDS];                 /* of the sheet, or -1 */
  const char *constant[FIELDS];       /* the same value in every row, or null */
  const struct be_unit *unit[FIELDS]; /* from the header, or null */
  const struct told_word *words;      /* what words of the sheet mean, or null */
  size_t passed_over;                 /* rows that rules say are no specimens */
  size_t unit_line;                   /* of units alone, under the header; 0: there is none */
  const char *idle_rule;              /* one that passes rows over and met none, or null */
  bool rule_missed;                   /* a rule names a column that is not there */
  bool of_pulls;                      /* the header is one of pulls, never of a trace */
  int titled;                         /* the field that titles of blocks tell, or -1 */
  size_t titles, headers;             /* of blocks, and headers that stand there again */
  int spread_last;                    /* loads stand from their column to this one; or -1 */
  size_t empty;                       /* of those cells, with no load in them */
  const char *days[2];                /* days.c: how session and tied are written, or null */
};

/* Kinds of sheet as a set. */
enum {
  IN_PULLS = 1 << SHEET_PULLS,
  IN_LINES = 1 << SHEET_LINES,
  IN_KNOTS = 1 << SHEET_KNOTS,
  IN_BENCHES = 1 << SHEET_BENCHES,
  IN_TRIALS = 1 << SHEET_TRIALS,
  IN_RULES = 1 << SHEET_RULES,
  IN_EVIDENCE = 1 << SHEET_EVIDENCE,
  IN_CALIBRATIONS = 1 << SHEET_CALIBRATIONS,
  IN_WEIGHTS = 1 << SHEET_WEIGHTS,
  IN_TIED = IN_PULLS | IN_TRIALS, /* known before the pull */
  IN_SHOWN = IN_PULLS | IN_EVIDENCE,
  IN_ANY = (1 << SHEET_KINDS) - 1
};

#define FIELD_OF(handling) ((enum field)(FIELD_HANDLING + (handling)))
const char *be_field_name(enum field field);
const char *be_sheet_kind_word(enum sheet_kind kind);
/* field_kinds.c: what the numbers of a field are, BE_DIMENSIONS for words; the first field that the
 * kind of sheet needs and lacks, FIELDS if none. */
enum be_dimension be_field_dimension(enum field field);
enum field be_field_missing(const struct fields *fields);
/* Whether a kind of sheet may have the field. */
bool be_field_fits(enum sheet_kind kind, enum field field);
/* field_names.c: the first field of these sheets with that name or another of its names; -1: none.
 */
int be_field_find(const char *name, int sheets);
bool be_field_on(enum field field, int sheets);
/* Finds what each column means, by the documented names and the mapping. */
enum be_status be_fields_find(struct sheet *sheet, const char *mapping, struct be_arena *arena,
                              struct fields *fields, struct be_err *err);
/* The same, but a header that needs no rules is read without those that name a
 * column it lacks: *rules is then null. */
enum be_status be_fields_resolve(struct sheet *sheet, const char **rules, struct be_arena *arena,
                                 struct fields *fields, struct be_err *err);
/* The text of a field in a row; null when it is not recorded. */
const char *be_field_text(const struct sheet *sheet, const struct fields *fields, size_t row,
                          enum field field);

/* ---- mapping.c: the rules of a sheet of one's own shape ---- */

enum mapping_kind {
  MAPPING_END,
  MAPPING_COLUMN, /* field = column */
  MAPPING_VALUE,  /* field := value */
  MAPPING_WORD,   /* field: word = value */
  MAPPING_IGNORE, /* ignore = column */
  MAPPING_ABOVE,  /* as above = column */
  MAPPING_TITLES, /* titles = field */
  MAPPING_PASS    /* pass over: column = value; the column is in word */
};
enum { MAPPING_RULE_MOST = 255 }; /* bytes */
struct mapping_rule {
  enum mapping_kind kind;
  const char *field, *word, *value;
  char whole[MAPPING_RULE_MOST + 1]; /* as written */
  char text[MAPPING_RULE_MOST + 1];  /* what the three point into */
};
/* Reads the next rule and moves *mapping behind it; MAPPING_END at its end. */
enum be_status be_mapping_next(const char **mapping, struct mapping_rule *rule, struct be_err *err);
enum be_status be_rule_bad(const char *rule, const char *why, struct be_err *err);

/* The name of a list that is likely meant, by the fewest letters that differ; null: none is near.
 */
const char *be_name_near(const char *const *names, size_t count, const char *meant);
enum be_status be_rule_near(const char *near, struct be_err *err); /* says so of a bad rule */

/* A cell of the field that holds theirs means ours; "not recorded" means that. */
enum be_status be_word_add(struct fields *fields, enum field field, const char *theirs,
                           const char *ours, struct be_arena *arena, struct be_err *err);
const char *be_word_meant(const struct fields *fields, enum field field, const char *text);
/* An empty cell of the column means what stands above it. */
void be_rows_fill_down(struct sheet *sheet, size_t column);
/* shape.c: what stands above a block as a row of one cell is its title, and tells a field. */
enum be_status be_titles_take(struct sheet *sheet, struct fields *fields, struct be_arena *arena,
                              struct be_err *err);
/* Rows that say the header again are none. */
void be_headers_pass_over(struct sheet *sheet, struct fields *fields);
/* A row with several loads becomes a row a load. */
enum be_status be_loads_unfold(struct sheet *sheet, struct fields *fields, struct be_arena *arena,
                               struct be_err *err);
const char *be_row_only(const struct sheet *sheet, size_t row); /* its one cell, or null */
void be_row_move(struct sheet *sheet, size_t to, size_t from);
/* The column that the field of a row is taken from, or -1. */
int be_field_column(const struct sheet *sheet, const struct fields *fields, size_t row,
                    enum field field);
/* Days as a mapping says they are written, "d/m/y", become 2026-03-01; what fits none stays. */
const char *be_day_order(enum field field, const char *unit);
bool be_day_is_unread(const char *text); /* "3/4/25", and no order is said */
enum be_status be_days_read(struct sheet *sheet, struct fields *fields, struct be_arena *arena,
                            struct be_err *err);
/* unit_row.c: a first row of units alone tells those of the columns of a pull sheet, and is no row.
 */
void be_unit_row_take(struct sheet *sheet, struct fields *fields);
/* Takes the rows out that have this text in a column; returns how many. */
size_t be_rows_pass_over(struct sheet *sheet, size_t column, const char *text);

#endif
