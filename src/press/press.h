/* SPDX-License-Identifier: GPL-3.0-or-later */
/* press: a document of sentences, tables and figures, and its editions. One
 * document serves the terminal (aligned text), a program (JSON, CSV), a page
 * and the report (HTML), so that all of them say the same. */
#ifndef BE_PRESS_H
#define BE_PRESS_H

#include "base/base.h"
#include "chart/chart.h"

/* A document owns all it is given: texts are copied, figures change hands.
 * Failures of memory stick; every edition reports them. A null document or
 * table takes nothing, and every edition of a null document is BE_NO_MEMORY, so
 * that callers need only look at the status of the edition. */
struct be_doc;
struct be_table;

struct be_doc *be_doc_create(const char *name, const char *title); /* name: for programs */
void be_doc_free(struct be_doc *doc);

/* Sentences come before tables; the first sentence answers the question. */
void be_doc_sentence(struct be_doc *doc, const char *format, ...) BE_PRINTF(2, 3);
void be_doc_heading(struct be_doc *doc, const char *format, ...) BE_PRINTF(2, 3);
/* A muted remark: what was left out, what a figure was divided by, a doubt. */
void be_doc_note(struct be_doc *doc, const char *format, ...) BE_PRINTF(2, 3);
/* A hazard, in a heavy frame with its word. */
void be_doc_caution(struct be_doc *doc, const char *format, ...) BE_PRINTF(2, 3);
/* A named value: "seed" "1". Programs get it by its key, people as a line. */
void be_doc_fact(struct be_doc *doc, const char *key, const char *label, const char *format, ...)
    BE_PRINTF(4, 5);
/* Takes the figure, which must be complete: what it lost is lost to the document. */
void be_doc_figure(struct be_doc *doc, struct be_figure *figure);

/* The same of a drawing. */
void be_doc_drawing(struct be_doc *doc, struct be_drawing *drawing);

/* A picture, where there are pages: its address, and what it shows in words for who cannot see it.
 * Other editions do without. */
void be_doc_picture(struct be_doc *doc, const char *words, const char *format, ...) BE_PRINTF(3, 4);

/* The same of what has a shape in space: a script of the page may draw the lines at `shape` in its
 * place, which then turn. */
void be_doc_shape(struct be_doc *doc, const char *words, const char *picture, const char *shape);

/* Puts all of part behind what doc holds, and takes part over; null is one that had no
 * memory. So parts of a document can be written side by side. */
void be_doc_join(struct be_doc *doc, struct be_doc *part);

/* An answer that is known only at the end: note the place, write it, and put
 * all that was added since then before everything else. */
size_t be_doc_place(const struct be_doc *doc);
void be_doc_first(struct be_doc *doc, size_t place);

/* ---- tables ------------------------------------------------------------- */

enum be_column_kind {
  BE_COLUMN_TEXT,
  BE_COLUMN_NUMBER,   /* aligned on the decimal point */
  BE_COLUMN_INTERVAL, /* "[72, 88]", muted; programs get key_low and key_high */
  BE_COLUMN_COUNT     /* "3 of 10"; programs get key_k and key_n */
};

struct be_column {
  const char *key;  /* for programs: lower case, words joined by _, unit included */
  const char *head; /* for people: "mean (lb)" */
  enum be_column_kind kind;
  bool program_only; /* not shown to people */
};

/* columns and their texts are copied. name: for programs; title may be null. */
struct be_table *be_doc_table(struct be_doc *doc, const char *name, const char *title,
                              const struct be_column *columns, size_t count);

/* Cells are added from left to right; a row is done when every column has one.
 * Text may stand in any column ("not seen"); programs then get it as a string,
 * of an interval or a count under its first key. */
void be_table_text(struct be_table *table, const char *format, ...) BE_PRINTF(2, 3);
/* Not-a-number: "-". People read all of a column with as many decimals as the one that has most,
 * unless the rows of the table are of unlike units. */
void be_table_number(struct be_table *table, double value, int decimals);
/* A probability: people read "<0.0001" where its four decimals would be 0. */
void be_table_probability(struct be_table *table, double p);
void be_table_interval(struct be_table *table, double low, double high, int decimals);
void be_table_count(struct be_table *table, size_t k, size_t n);
void be_table_none(struct be_table *table); /* an empty cell: nothing to say */
void be_table_link(struct be_table *table, const char *format, ...)
    BE_PRINTF(2, 3); /* makes the last cell a link, where there are other pages */

/* Leaves the table out of CSV, where tables have no names: what only explains the
 * others to people. JSON keeps it. */
void be_table_unlike_units(struct be_table *table); /* before its first cell */
void be_table_people_only(struct be_table *table);
/* Folds the table away under its title where it can be opened again: on a page. */
void be_table_fold(struct be_table *table);
/* The same, if it gets more rows than one looks through at a glance. */
void be_table_fold_long(struct be_table *table);

/* Gives the rows room to write in, on a page; in a PDF the whole document lies on its side. */
void be_table_by_hand(struct be_table *table);

/* A row is a label to cut out: a page shows its first column large and the others below, each
 * behind its head, and prints 24 of them on a sheet of A4, each 63.5 mm by 33.9 mm, as a PDF does.
 * Other editions show the table. */
void be_table_labels(struct be_table *table);

/* ---- symbols (symbol.c) ------------------------------------------------- */

/* A text as Code 128 (ISO/IEC 15417) or as a QR code (ISO/IEC 18004), for a label of some 54 mm:
 * no module is finer than 0.19 mm in bars, 0.24 mm in a square of 15 mm. (Common practice; no
 * source.) */
enum be_symbol_kind { BE_SYMBOL_BARS, BE_SYMBOL_SQUARE };
enum { BE_SYMBOL_BARS_MAX = 264, BE_SYMBOL_SIDE_MAX = 53, BE_SYMBOL_TEXT_MAX = 1000 };
struct be_symbol {
  enum be_symbol_kind kind;
  size_t width, rows;                                          /* modules, without the light edge */
  unsigned char dark[BE_SYMBOL_SIDE_MAX * BE_SYMBOL_SIDE_MAX]; /* 1 or 0, row by row */
};
/* BE_BAD_INPUT, with the reason, for a text that it cannot hold: empty, too long, or, as bars, not
 * of Latin-1. */
enum be_status be_symbol_make(enum be_symbol_kind kind, const char *text, struct be_symbol *symbol,
                              struct be_err *err);
/* Draws the symbol, which is copied, in the label of the row that the last cell belongs to; other
 * editions than a page leave it out. */
void be_table_symbol(struct be_table *table, const struct be_symbol *symbol);

/* ---- editions ----------------------------------------------------------- */

/* Aligned text, at most `width` columns for prose (0: 78); tables are free. */
enum be_status be_doc_text(const struct be_doc *doc, size_t width, struct be_buf *out,
                           struct be_err *err);
/* Every table as RFC 4180 CSV (lines end with CR LF), point decimals, one header
 * row; tables apart by an empty line. The facts, if any, are a last table with the
 * columns key and value. Numbers in full precision, or with 15 digits when that is
 * less than 4 units in the last place away; not-a-number and none are empty,
 * infinity is inf. */
enum be_status be_doc_csv(const struct be_doc *doc, struct be_buf *out, struct be_err *err);
/* Texts that a program of spreadsheets would run as a formula (=, +, - or @ first) have a ' before
 * them, which says there that they are texts and which `enter` takes off; "-" alone has none. */
bool be_csv_runs(const char *text); /* or has such marks before one of them already */
/* All that a figure draws, by be_figure_data, as such a table. */
enum be_status be_figure_csv(const struct be_figure *figure, struct be_buf *out,
                             struct be_err *err);
/* Markdown (CommonMark, and pipe tables), to be pasted: what texts hold marks nothing. */
enum be_status be_doc_markdown(const struct be_doc *doc, struct be_buf *out, struct be_err *err);
/* {"program","version","format","document","title","sentences","notes",
 * "cautions","facts":{},"tables":[{"name","title","rows":[{}]}],
 * "figures":[{"title","subtitle","words"}]}. Facts are strings, numbers as in CSV. Not-a-number,
 * infinity and none are null. docs/formats.md describes it. */
enum be_status be_doc_json(const struct be_doc *doc, struct be_buf *out, struct be_err *err);

enum { BE_JSON_FORMAT = 1 }; /* raised when a key changes its meaning */
/* Its pieces: a string in quotes; a number as above, null unless it is finite. */
void be_json_string(struct be_buf *out, const char *text);
void be_json_number(struct be_buf *out, double value);

struct be_edition {
  const char *sheet_link; /* style sheet by address (pages: be_figure_style(), then the
                           * page's own sheet), or null to use: */
  const char *sheet;      /* the style sheet itself, put inside after be_figure_style() (report) */
  const char *site;       /* name above the title */
  const struct be_place *places; /* the ways to other pages; null in a report */
  size_t places_count;
  const char *here;   /* the address of this page among the places */
  const char *asking; /* a query that every way to another page keeps, such as "unit=kg", or null */
  const char *foot;   /* the notice under everything */
  const struct be_place *foot_ways; /* ways to pages that are not among the places */
  size_t foot_ways_count;
  const struct be_ways *ways; /* a row above the title, or null */
  const struct be_form *form; /* under the documents, or above them if folded; or null */
  const char *insert;         /* markup of the page's own behind the documents, or null */
  bool comma;                 /* numbers are to be shown so: be_html_comma; scripts are told */
  const char *script_link;    /* by address, or null: a page must do without as well */
  const char *moment; /* that a PDF says it was made at, "2026-03-01T09:30:00Z"; null: none */
};

struct be_place {
  const char *address;
  const char *name;
};

/* The same page looked at in another way. */
struct be_ways {
  const char *name; /* "ranked by" */
  const struct be_place *list;
  size_t count;
  const char *now; /* the address of one of them */
};

/* A page asked otherwise, or one that is told something: a form that works without script. Empty
 * fields are sent empty. */
struct be_field {
  const char *name, *label;       /* no label: sent along unseen */
  const char *value;              /* as asked; null: not asked */
  const struct be_place *choices; /* one of these, by its address; null: typed */
  size_t choices_count;
  bool proposed; /* the choices are but proposals: typed */
  bool required; /* never sent empty */
};
struct be_form {
  const char *title, *button;
  const char *address;
  const struct be_field *fields;
  size_t count;
  bool folded;      /* away, above the documents: for a long page */
  bool open;        /* though folded: what was sent was refused */
  const char *does; /* posted, with this word as "do", to the page it stands on; null: asked */
  const char *note; /* under its title, or null */
};
/* Writes it, with what every way keeps (may be null). `does` tells the forms of a page apart. */
void be_form_html(struct be_buf *out, const struct be_form *form, const char *asking);

/* A whole HTML page. Sections of a report are documents one after another
 * under one title. */
enum be_status be_doc_html(const struct be_doc *const *docs, size_t count,
                           const struct be_edition *edition, struct be_buf *out,
                           struct be_err *err);

/* The same documents on pages of A4 (pdf/), with an outline, page numbers and the notice at the
 * foot; what a page folds away is open. Of the edition it takes site, foot and moment. No clock:
 * the same documents give the same bytes. BE_FAILED without a font. */
enum be_status be_doc_pdf(const struct be_doc *const *docs, size_t count,
                          const struct be_edition *edition, struct be_buf *out, struct be_err *err);

/* The same page, without a style inside, for a reader who writes a comma before decimals: numbers
 * that stand alone in its texts, not those in names and attributes. */
void be_html_comma(const char *page, size_t size, struct be_buf *out);

/* ---- pictures (raster.c) ------------------------------------------------ */

/* An SVG with plain colours (BE_DRAWN_LIGHT, BE_DRAWN_DARK, BE_DRAWN_PRINT), so many px wide, as
 * PNG or as a page of PDF with its texts as texts. The same SVG gives the same bytes. BE_TOO_LARGE
 * past BE_RASTER_MAX px either way, BE_BAD_INPUT for what is no SVG, BE_FAILED without a font. */
enum { BE_RASTER_MAX = 10000 };
enum be_status be_png(const char *svg, size_t size, double width, struct be_buf *out,
                      struct be_err *err);
enum be_status be_pdf(const char *svg, size_t size, double width, const char *title,
                      struct be_buf *out, struct be_err *err);

/* Has every text of this program, also one that is drawn by cairo alone, set in the one family.
 * BE_FAILED without it. */
enum be_status be_font_ready(struct be_err *err);

/* The version that editions name. */
extern const char be_version[];

#endif
