/* SPDX-License-Identifier: GPL-3.0-or-later */
/* layout: what a text looks like: its coding, its delimiter and decimal mark, its
 * head, and which column is what.
 *
 *   layout.c -> one block: delimiter, decimal mark (comma.c), head (head.c, stated.c)
 *   words.c  -> what the heading of a column says (heading.c)
 *   columns.c -> which column is force, time and extension, and why
 *               (lanes.c, guess.c by shape.c, settle.c, beside.c) */
#ifndef BE_TRACE_LAYOUT_H
#define BE_TRACE_LAYOUT_H

#include "trace/text/text.h"

/* ---- coding.c ---- */

/* The name by which the system's recoder knows a coding. */
const char *be_coding_name(enum be_text_coding coding);
/* By a mark in front, of *mark bytes, or by zeros; else UTF-8. */
enum be_text_coding be_coding_of_front(const char *bytes, size_t size, size_t *mark);
/* The older coding in which text that is not UTF-8 makes most sense. */
enum be_text_coding be_coding_guess(const char *bytes, size_t size);

/* ---- words.c, heading.c ---- */

enum { BE_NAME_MAX = 96 };

enum be_unit_place {
  BE_UNIT_NOWHERE,
  BE_UNIT_IN_BRACKETS,
  BE_UNIT_IN_LINE, /* the units line below the names */
  BE_UNIT_IN_NAME,
};

extern const enum be_dimension be_role_dimension[BE_ROLES]; /* columns.c */

/* What words say of a column. */
struct be_speech {
  int score[BE_ROLES]; /* how strongly they speak for a role; 0: not at all */
  bool other;          /* they name another quantity: stress, speed, Fmax */
  bool figure;         /* they name a figure or setting: peak, mean, setpoint */
  bool counter;        /* they number the rows or name the specimen, and no more */
};

struct be_heading {
  char name[BE_NAME_MAX];
  struct be_speech says;
  const struct be_unit *unit;
  enum be_unit_place place;
  char strange_unit[BE_UNIT_MAX]; /* a unit is written that is not known */
  bool gap;                       /* the name says a gap: it closes when pressed */
  int direction;                  /* -1: named for pressing, +1: for pulling, 0: neither */
};

/* Lower case without accents, cut to fit. */
void be_words_fold(struct be_span text, char *out, size_t size);
bool be_words_have(const char *folded, const char *word, bool part);
void be_words_score(const char *folded, struct be_speech *speech);

void be_heading_read(struct be_span name, struct be_span unit, struct be_heading *heading);
/* True when every cell that is filled reads as a unit and one is known. */
bool be_cells_are_units(const struct be_cells *cells);
/* True when the text says something that a heading of a trace would. */
bool be_text_is_heading(struct be_span text);

/* ---- layout.c, head.c ---- */

/* One block: its head and where its rows start. */
struct be_block {
  char delimiter, decimal;
  size_t columns_count;
  size_t header_lines;
  struct be_heading headings[BE_TRACE_COLUMNS_MAX];
  bool has_names;
  bool mixed; /* its rows hold words beside numbers */
  char title[BE_NAME_MAX];
  char delimiter_why[120], decimal_why[120];
  double interval_s; /* from row to row, as the head states it; 0 if not */
  char interval_why[120];
  const struct be_unit *stated_unit[BE_ROLES]; /* for a column without; null: none */
  size_t stated_line[BE_ROLES];
  struct be_span head_line; /* the line with the names, or the last of the head */
  size_t head_line_number;
  struct be_lines rows; /* positioned before the first row */
};

/* Finds the first block at or after `from`. BE_BAD_INPUT when there are no
 * rows of numbers; BE_ASK when the decimal mark can be read two ways. */
enum be_status be_block_find(struct be_lines from, const struct be_trace_options *options,
                             struct be_block *block, struct be_err *err);
/* Finds the next block of a file whose delimiter and decimal mark are known;
 * BE_NO when only text follows. */
enum be_status be_block_next(struct be_lines from, const struct be_block *before,
                             struct be_block *block);

/* One way to cut the first lines into rows. */
struct be_candidate {
  char delimiter, decimal;
  bool mixed;
  size_t columns;
  size_t rows;           /* of that many cells in the window */
  size_t broken;         /* of these, rows with cells that only start like a number */
  size_t grouped;        /* cells with a space between thousands, in the first of them */
  struct be_lines first; /* before the first of them */
};

/* Can the commas, points and spaces of the best candidate be read in another
 * way that is as good? May change *best; BE_ASK shows both readings; comma.c. */
enum be_status be_marks_settle(struct be_lines from, const struct be_candidate *one_column,
                               const struct be_trace_options *options, struct be_candidate *best,
                               struct be_err *err);
/* Says in block->decimal_why what the decimal mark was seen in. */
void be_marks_explain(const struct be_trace_options *options, struct be_block *block);

/* Reads the lines [from, block->rows) into headings, units and a title. */
void be_head_read(struct be_lines from, struct be_block *block);
/* "sep=;" */
bool be_line_names_delimiter(struct be_span line, char *delimiter);
/* Takes block->interval_s and the stated units from a line of the head; stated.c. */
void be_stated_read(struct be_span line, size_t number, struct be_block *block);
/* Cuts a line of names; a comment mark before them is dropped. */
void be_head_split(struct be_span line, const struct be_block *block, struct be_cells *cells);

/* ---- saved.c ---- */

/* Does the block have the columns of a saved layout? */
bool be_layout_fits(const struct be_trace_saved *saved, const struct be_block *block);

/* ---- shape.c ---- */

/* The first rows of a block in numbers, not-a-number where there is none. */
struct be_sample {
  size_t rows, columns;
  double *value; /* row by row; the sample's own */
  size_t clocks[BE_TRACE_COLUMNS_MAX];
  size_t bare_clocks[BE_TRACE_COLUMNS_MAX]; /* "10:11": of these, hours or minutes first */
};

/* The bytes behind block->rows are those of a feed (rows.h). */
enum be_status be_sample_take(const struct be_block *block, struct be_sample *sample,
                              struct be_err *err);
void be_sample_free(struct be_sample *sample);

/* How the numbers of one column behave. */
struct be_shape {
  size_t numbers;
  size_t rises, falls, level;
  size_t turns; /* changes of direction */
  double step;  /* median of the steps that are not 0 */
  bool even;    /* it rises all the way in equal steps */
  bool counts;  /* whole numbers, one more each row */
  bool steady;  /* it never or hardly ever steps back */
  bool whole;
  bool constant;
  double first, last, least, most;
};

enum be_status be_shape_of(const struct be_sample *sample, size_t column, struct be_shape *shape,
                           struct be_err *err);
/* "1.5, 2.5, 9 ... up to 17": what a column would give. */
void be_sample_words(const struct be_sample *sample, size_t column, char *text, size_t size);

/* ---- columns.c ---- */

/* Where each role is found; BE_NOWHERE if it is not. */
enum { BE_NOWHERE = BE_TRACE_COLUMNS_MAX };
struct be_roles {
  size_t column[BE_ROLES];
  double scale[BE_ROLES]; /* SI = scale * as written */
  double force_zero;      /* taken off the force as written first */
  /* "12.3 kg" or "12.3,kg": the unit that each number carries, and the column
   * where it stands; null where none does. */
  const struct be_unit *written[BE_ROLES];
  size_t written_at[BE_ROLES];
  bool watched; /* one of them is set: be_unit_same must see every row */
};

/* Tests or signals side by side in one block: each lane is a test of its own. */
enum { BE_LANES_MAX = 8 };
struct be_lanes {
  size_t count;
  struct be_roles roles[BE_LANES_MAX];
};

/* Gives the columns their roles, in *layout, whose columns have room for all, and
 * *lanes; lane 0 is the leftmost. Looks for units beside the numbers too. BE_ASK
 * and BE_BAD_INPUT as be_trace_read. */
enum be_status be_columns_assign(const struct be_block *block, const struct be_sample *sample,
                                 const struct be_trace_options *options,
                                 struct be_trace_layout *layout, struct be_lanes *lanes,
                                 struct be_err *err);

/* A block whose columns are being given roles, one lane after another. */
struct be_table {
  const struct be_block *block;
  const struct be_sample *sample;
  const struct be_trace_options *options;
  struct be_trace_layout *layout;
  struct be_lanes *lanes;
  struct be_roles *roles; /* of the lane at hand */
  size_t lane, from, to;  /* which lane, and its columns [from, to) */
  size_t columns;
  struct be_shape shape[BE_TRACE_COLUMNS_MAX];
};

/* How strongly the heading of a free column speaks for a role; 0: not at all. */
int be_heading_score(const struct be_table *table, size_t column, enum be_role role);
/* A free column with numbers whose heading says nothing of any role. */
bool be_column_is_mute(const struct be_table *table, size_t column);
void be_column_give(struct be_table *table, size_t column, enum be_role role,
                    enum be_sureness sureness, const char *why);
/* Lowers how sure a column is, and adds why. */
void be_column_doubt(struct be_trace_column *column, enum be_sureness sureness, const char *why);
/* BE_ASK: both columns can have the role; what each would give is shown. */
enum be_status be_column_ask(const struct be_table *table, size_t a, size_t b, enum be_role role,
                             const char *why, struct be_err *err);
/* The line that names the columns, or else the first row. */
size_t be_table_line(const struct be_table *table);

/* ---- guess.c ---- */

/* Roles for columns that say nothing, from the shape of their numbers. */
enum be_status be_guess_roles(struct be_table *table, struct be_err *err);
/* Do the numbers of a column fit the role that its name gave it? Lowers the
 * sureness, takes the role away, or asks. */
enum be_status be_guess_doubts(struct be_table *table, struct be_err *err);

/* ---- lanes.c ---- */

/* Where each lane starts, left to right; returns how many there are. */
size_t be_lanes_find(struct be_table *table, size_t from[BE_LANES_MAX]);

/* ---- settle.c ---- */

/* The unit and the scale of a role of the lane at hand. */
enum be_status be_unit_settle(struct be_table *table, enum be_role role, struct be_err *err);

/* ---- beside.c ---- */

/* Finds units that stand with the numbers, in their cells or in the column right
 * of the force, in the first rows. BE_BAD_INPUT when the heading says another. */
enum be_status be_unit_beside(const struct be_block *block, struct be_trace_layout *layout,
                              struct be_roles *roles, struct be_err *err);
/* BE_BAD_INPUT when a row's units are not those found, or it has one and the rows
 * before have none. For every row when roles->watched, else for those that are
 * more than plain numbers. */
enum be_status be_unit_same(const struct be_roles *roles, char decimal,
                            const struct be_cells *cells, size_t line, struct be_err *err);

#endif
