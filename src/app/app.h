/* SPDX-License-Identifier: GPL-3.0-or-later */
/* app: the use cases. Joins the rooms: reads a book or files, works out the
 * answer, and hands back a document that any edition can print. */
#ifndef BE_APP_H
#define BE_APP_H

#include "base/base.h"
#include "book/book.h"
#include "press/press.h"
#include "trace/trace.h"
#include "units/units.h"

/* What standings go by. */
enum be_by { BE_BY_STRENGTH, BE_BY_SLIPS, BE_BY_LOW, BE_BY_HELD };

/* What the one model of standings can hold fixed beside the knots. */
enum be_factor {
  BE_FACTOR_TURNS,
  BE_FACTOR_SOAK,
  BE_FACTOR_LUBRICANT,
  BE_FACTOR_TYER,
  BE_FACTOR_SPEED,
  BE_FACTOR_LENGTH,
  BE_FACTOR_ORDER,
  BE_FACTORS
};
extern const char *const be_factor_words[BE_FACTORS];
/* "turns", or several, "turns,soak": added to *factors, a bit (1 << factor) each. BE_WRONG_USE
 * for another word. */
enum be_status be_factors_read(const char *words, unsigned *factors, struct be_err *err);

/* How answers are worked out and shown. Zero fields take the usual value. */
struct be_answering {
  const struct be_unit *unit; /* of force; null: what the book's loads were typed in */
  double level;               /* of intervals; 0: 0.95 */
  uint64_t seed;              /* of resampling; 0: 1 */
  size_t resamples;           /* 0: 2000 */
  const char *relative_to;    /* strength: a knot to divide by and to compare with as well */
  enum be_by by;              /* standings */
  const char *since; /* standings: what moved since (be_book_moment); null: the last file */
  unsigned factors;  /* standings: held fixed, bits; then of the one model alone */
  double within;     /* versus: a difference too small to matter, of the line; 0: 0.05 */
  double power;      /* versus: of the pulls still needed; 0: 0.8 */
};

/* On BE_OK (and on BE_NO, where said) *doc is the caller's to free. */

/* What is said of the rig, and what else is wanted of `read`. Zero fields are not
 * known or not wanted; a null unit is that of the file. */
struct be_looking {
  double filter_Hz; /* corner of a single-pole low-pass */
  double device_peak, resolution;
  const struct be_unit *device_peak_unit, *resolution_unit;
  /* Where to write the figure as SVG; of several tests of the one file each gets
   * its number before the ending: pull-1.svg, pull-2.svg. */
  const char *chart_path;
  const char *layout;      /* read the files by this saved layout */
  const char *keep_layout; /* save under this name what was told for the one file */
};

/* Reads load traces without a book; how may be null. BE_WRONG_USE for a chart of
 * several files, or one that would replace what is no chart. BE_NO_MEMORY, BE_BAD_INPUT, BE_ASK
 * name the file: the first that could not be read. Of several, the others are read all the same,
 * and *doc says both what was found and what was refused. */
enum be_status be_app_read(const char *const *paths, size_t count,
                           const struct be_trace_options *options, const struct be_looking *how,
                           struct be_doc **doc, struct be_err *err);

/* Lists the user's saved layouts, after forgetting the one named; null: none. */
enum be_status be_app_layouts(const char *forget, struct be_doc **doc, struct be_err *err);

/* Lists the rules that a book keeps under names, after forgetting the one named; null: none. */
enum be_status be_app_mappings(const char *book_path, const char *forget, struct be_doc **doc,
                               struct be_err *err);

/* Enters a package by itself, or files, sheets of lines, knots and benches first, then calibrations
 * and check weights, then rules and trials, then pull sheets, then traces; each file whole or not
 * at all. "-" is standard input. All files are read before the first is entered, each once;
 * together they may have BE_BOOK_FILE_MAX bytes. Files before a bad one stay entered; *doc then
 * says what was done, and is left alone if nothing was. */
enum be_status be_app_enter(const char *book_path, const char *const *paths, size_t count,
                            const struct be_entering *how, struct be_doc **doc, struct be_err *err);
/* The same, and tells of each path how far it came: tried has count places. */
enum be_tried { BE_NOT_TRIED, BE_ENTERED, BE_REFUSED };
enum be_status be_app_enter_each(const char *book_path, const char *const *paths, size_t count,
                                 const struct be_entering *how, enum be_tried *tried,
                                 struct be_doc **doc, struct be_err *err);

/* What would be entered and which rows would be refused, each with its reason; the book stays as it
 * was. BE_NO when a row does not fit: *doc then says which. */
enum be_status be_app_preview(const char *book_path, const char *const *paths, size_t count,
                              const struct be_entering *how, struct be_doc **doc,
                              struct be_err *err);

enum be_status be_app_strength(const char *book_path, const struct be_answering *how,
                               struct be_doc **doc, struct be_err *err);
enum be_status be_app_standings(const char *book_path, const struct be_answering *how,
                                struct be_doc **doc, struct be_err *err);
/* a and b name knots: full names, or enough of them to be the only one. */
enum be_status be_app_versus(const char *book_path, const char *a, const char *b,
                             const struct be_answering *how, struct be_doc **doc,
                             struct be_err *err);

/* Can the rig be trusted on a day, "2026-03-01"; null: today. BE_WRONG_USE for what is no date. */
enum be_status be_app_rig(const char *book_path, const char *day, const struct be_answering *how,
                          struct be_doc **doc, struct be_err *err);

/* What the pulls of the book support, and what they do not. */
enum be_status be_app_findings(const char *book_path, const struct be_answering *how,
                               struct be_doc **doc, struct be_err *err);

/* What is asked of `next`. Zero fields take the usual value. */
struct be_tying {
  size_t specimens;    /* to tie; 0: 12, if no minutes are told */
  double minutes;      /* at the bench, instead of specimens */
  double minutes_each; /* of a specimen; 0: 5. A plain line takes three fifths of it */
  double metres_each;  /* of each of its lines that a specimen takes; 0: its free length and 1 m */
  size_t top;          /* which knots take the first places; 0: 1, who is first */
  const char *a, *b;   /* or which of two is stronger: enough of their names */
  const char *group;   /* only groups whose name has this part */
};
/* BE_WRONG_USE for what cannot be asked: both specimens and minutes, first places and a pair, more
 * first places than there are others, an unknown knot or group. */
enum be_status be_app_next(const char *book_path, const struct be_tying *asked,
                           const struct be_answering *how, struct be_doc **doc, struct be_err *err);

/* What is asked of `plan`. Zero fields take the usual value. */
struct be_planning {
  const char *trial;      /* its name; null: what trials there are */
  const char *knots, *on; /* of a new one: "A; B", "SPOOL; SPOOL + LINE; LINE + ring" */
  bool soaked;            /* else dry */
  size_t specimens;       /* of each knot in each combination; or */
  double within;          /* so that each efficiency is known within so many points; or */
  double difference;      /* so that a difference of so many points is found (power of how) */
  double cv;              /* relative scatter of one pull; 0: the book's, else 0.08 */
  bool plain_told;        /* plain lines of each spool: */
  size_t plain;
  size_t per_evening;         /* specimens of a block at most; or */
  double minutes;             /* how long a block may take; 0: 120 */
  double minutes_each;        /* 0: 5. A plain line takes three fifths of it */
  double metres_each;         /* 0: the free length of the book's pulls and 1 m */
  const char *tyers;          /* "A; B"; null: one */
  const char *rule[BE_RULES]; /* question, at a grip, clear, slips, voids, replaced, stops */
  const char *sheet_path;     /* writes the trial sheet, and the rule sheet beside it */
  const char *labels_path;    /* writes the labels and the list of what to tie */
  bool fix;                   /* enters both sheets */
};
/* BE_WRONG_USE for what cannot be planned, for a trial that is fixed otherwise, and for a file that
 * would replace what is not ours. */
enum be_status be_app_plan(const char *book_path, const struct be_planning *asked,
                           const struct be_answering *how, struct be_doc **doc, struct be_err *err);

/* What is asked of `anatomy`. Zero fields take the usual value. */
struct be_anatomy {
  const char *const *words; /* a tie, then its settings; none: what ties there are */
  size_t count;
  bool compares;             /* the two words are two ties: are they the same? */
  bool fewest;               /* looked at in the view with the fewest crossings, or */
  bool turned;               /* turned and tilted so */
  double turn_deg, tilt_deg; /* by be_view_of */
  size_t steps;              /* the picture is a strip of so many; 0: the knot as it is tied */
  size_t width;              /* of the picture, px; 0: 1200 */
  const char *svg_path, *png_path, *pdf_path, *stl_path, *glb_path, *points_path; /* or null */
};
/* No book is needed. A tie is a name of the library, a code behind its name, a text, or a file of
 * one or of points. BE_WRONG_USE for a file that would replace what is not ours. */
enum be_status be_app_anatomy(const struct be_anatomy *asked, struct be_doc **doc,
                              struct be_err *err);

/* What is asked of `publish`; a null path is not wanted. */
struct be_publishing {
  const char *report_path;  /* one file of HTML with everything inside */
  const char *pdf_path;     /* the same on pages of A4 */
  const char *as_of;        /* all from the book as it stood then (be_book_stood); null: now */
  const char *tables_path;  /* a folder: strengths as CSV and Markdown, by combination */
  const char *sheets_path;  /* a folder of sheets to print for the bench */
  const char *figures_path; /* a folder of every figure, as pictures, words and data */
  /* Of figures "light", "dark", "print" or "clear"; null: light, a column print. Of cards "light"
   * or "dark"; null: both. */
  const char *ground;
  const char *package_path; /* the record as open data: a folder, or NAME.zip */
  const char *licence;      /* of the package: "CC0-1.0"; null: CC-BY-4.0, which is said */
  const char *authors;      /* for its citation: "A; B"; null: not told, which is said */
  const char *cards_path;   /* a folder: cards as PNG, each with its text */
  const char *of;           /* cards of this specimen alone; null: of every result */
  const char *size; /* "wide", "tall"; of figures also "screen", "column", of cards "square" */
  /* A clip: the load of this specimen, or the standings of this group or combination. */
  const char *overlay, *reveal;
  const char *clip_path, *clip_coding, *clip_rate; /* coding, rate: null as usual */
  const char *footage_path;                        /* what the overlay is laid over */
  double offset_s; /* where in it the line lets go; else it is heard */
  bool offset_told;
};
/* *doc says what was written. With how.since the report also tells what moved since. BE_WRONG_USE
 * when a file would replace the book, or what is not ours, and for a moment still to come;
 * BE_BAD_INPUT for one before anything was entered. */
enum be_status be_app_publish(const char *book_path, const struct be_publishing *asked,
                              const struct be_answering *how, struct be_doc **doc,
                              struct be_err *err);

/* Brings the record of another book in, one transaction: nothing here is overwritten, what
 * contradicts is listed. same_path: a table of what is the same in both, confirmed by a person.
 * Where it is null or no file, or questions of it are open, it is written (null: same.csv) and
 * nothing is merged: BE_NO, and *doc then lists the questions. */
enum be_status be_app_merge(const char *book_path, const char *other_path, const char *same_path,
                            struct be_doc **doc, struct be_err *err);

/* BE_NO when something in the book is no longer right; err and *doc then both
 * say what. */
enum be_status be_app_check(const char *book_path, struct be_doc **doc, struct be_err *err);

/* Makes the demonstration book at book_path from the built-in recipe: pull
 * sheets and traces are written to bench_path by the simulated rig and entered
 * like anybody's. *made is false when the book was there already, made from
 * the same recipe. A book that holds anything but the demonstration's files, and
 * a folder that is not the demonstration's, are refused with BE_WRONG_USE. */
enum be_status be_app_demo(const char *book_path, const char *bench_path, bool *made,
                           struct be_err *err);

/* An instrument that is listened to, so as to find out how it is read. Null: not told. */
struct be_listening {
  const char *source, *settings;  /* "serial", "path=/dev/ttyUSB0" */
  const char *ask, *ask_settings; /* a kind of frames by which it is asked; null: it streams */
  const char *save_path, *name;   /* saves what was found under a name in a file of rigs */
};
/* Takes up to two seconds a speed. BE_NO when nothing reads what came: *doc then says what did. */
enum be_status be_app_listen(const struct be_listening *asked, struct be_doc **doc,
                             struct be_err *err);

/* How pages are served. Zero fields take the usual value; texts are borrowed until the end. Beyond
 * this machine only devices are served that were paired (docs/serving.md): BE_WRONG_USE there
 * without a certificate, unless `plain`. */
struct be_serving {
  const char *address;  /* in figures; null: 127.0.0.1 */
  uint16_t port;        /* 0: any free one */
  const char *rig_path; /* a file of rigs (docs/formats.md), or null: loads are typed */
  const char *rig;      /* which of them; null: the first */
  const char *certificate_path, *key_path; /* files of PEM, both or neither: speaks TLS */
  bool plain;                              /* what is sent may be read on the way */
  const char *const *names;                /* that this machine is reached by, beside its address */
  size_t names_count;
  /* Told of every code that a device may be paired by: for the screen here. Any thread; or null. */
  void (*say)(void *context, const char *line);
  void *context;
  /* For tests, null otherwise: the time in seconds, and whether an address is this machine's own.
   * Where that is told, others are paired, whatever address is listened on. */
  int64_t (*now)(void);
  bool (*is_here)(const char *peer);
};
/* The pages, until be_app_serve_end; serving may be null. The book is opened anew for each page, so
 * that pages always show what is entered. What is pulled on the page of the bench is entered. */
struct be_site;
enum be_status be_app_serve(const char *book_path, const struct be_serving *serving,
                            const struct be_answering *how, struct be_site **site,
                            struct be_err *err);
uint16_t be_app_serve_port(const struct be_site *site);
/* Whether others than this machine are served. */
bool be_app_serve_is_beyond(const struct be_serving *serving);
/* In a sentence or two, what somebody at the terminal ought to know of the bench now: that a pull
 * is not in the book yet, or why the bench cannot be used. False when there is nothing. */
enum { BE_WORD_MAX = 1000 };
bool be_app_serve_word(const struct be_site *site, char words[BE_WORD_MAX]);
void be_app_serve_end(struct be_site *site);

/* Pulls taken in a terminal, one after the other, from the rig or typed. Whoever talks: say prints
 * a line; show, which may be null, prints the load in place, thirty times a second at most; ask
 * puts a question and reads one line into answer, and is false at the end of all answers; ended,
 * which may be null, tells while nothing is asked that the talk is to end. */
struct be_talk {
  void (*say)(void *context, const char *line);
  void (*show)(void *context, const char *words);
  bool (*ask)(void *context, const char *question, char *answer, size_t size);
  bool (*ended)(void *context);
  void *context;
};
/* specimen: the code of the first; null: what the plan has next, or asked. Ends when an answer is
 * "q" or none comes any more: BE_OK, with every pull that was answered in the book; of one that was
 * not, it is said where it is kept. */
enum be_status be_app_pull(const char *book_path, const char *specimen,
                           const struct be_serving *serving, const struct be_answering *how,
                           const struct be_talk *talk, struct be_err *err);

/* What stands under every output: angling only, and the usual cautions. */
extern const char be_notice[];

#endif
