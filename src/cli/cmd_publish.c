/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/cli.h"

#include <string.h>

enum {
  OPT_REPORT = OPT_OWN,
  OPT_PDF,
  OPT_TABLES,
  OPT_AS_OF,
  OPT_SINCE,
  OPT_SHEETS,
  OPT_FIGURES,
  OPT_SIZE,
  OPT_GROUND,
  OPT_PACKAGE,
  OPT_LICENCE,
  OPT_AUTHOR,
  OPT_CARDS,
  OPT_OF,
  OPT_OVERLAY,
  OPT_REVEAL,
  OPT_TO,
  OPT_CODEC,
  OPT_FPS,
  OPT_FOOTAGE,
  OPT_OFFSET
};

/* Seconds, or as a player shows them: minutes:seconds, hours:minutes:seconds. */
static enum be_status take_offset(const char *value, double *offset_s, struct be_err *err)
{
  static const double most_s = 1e6;
  bool minus = *value == '-';
  double all = 0, part = 0;
  size_t used = 0, parts = 0;
  for (const char *at = value + minus; parts < 3; at += used + 1, parts++) {
    used = strcspn(at, ":");
    bool last = !at[used], figure = *at >= '0' && *at <= '9';
    if (!figure || be_number_scan(at, used, '.', &part) != used || (parts > 0 && part >= 60) ||
        (!last && part != (double)(int64_t)part))
      break;
    all = 60 * all + part;
    if (!last) continue;
    if (!(all <= most_s)) break;
    *offset_s = minus ? -all : all;
    return BE_OK;
  }
  return be_fail(err, BE_WRONG_USE,
                 "--offset takes seconds, such as 12.48, or 1:12.48, not \"%.40s\"", value);
}

static enum be_status take_own(int option, const char *value, struct be_publishing *asked,
                               struct be_answering *how, struct be_err *err)
{
  switch (option) {
  case OPT_REPORT: asked->report_path = value; return BE_OK;
  case OPT_SHEETS: asked->sheets_path = value; return BE_OK;
  case OPT_FIGURES: asked->figures_path = value; return BE_OK;
  case OPT_SIZE: asked->size = value; return BE_OK;
  case OPT_GROUND: asked->ground = value; return BE_OK;
  case OPT_PDF: asked->pdf_path = value; return BE_OK;
  case OPT_AS_OF: asked->as_of = value; return BE_OK;
  case OPT_SINCE: how->since = value; return BE_OK;
  case OPT_TABLES: asked->tables_path = value; return BE_OK;
  case OPT_PACKAGE: asked->package_path = value; return BE_OK;
  case OPT_LICENCE: asked->licence = value; return BE_OK;
  case OPT_AUTHOR: asked->authors = value; return BE_OK;
  case OPT_CARDS: asked->cards_path = value; return BE_OK;
  case OPT_OF: asked->of = value; return BE_OK;
  case OPT_OVERLAY: asked->overlay = value; return BE_OK;
  case OPT_REVEAL: asked->reveal = value; return BE_OK;
  case OPT_TO: asked->clip_path = value; return BE_OK;
  case OPT_CODEC: asked->clip_coding = value; return BE_OK;
  case OPT_FPS: asked->clip_rate = value; return BE_OK;
  case OPT_FOOTAGE: asked->footage_path = value; return BE_OK;
  case OPT_OFFSET: asked->offset_told = true; return take_offset(value, &asked->offset_s, err);
  default: return bad_option(value, err);
  }
}

/* Whether any output was named; without one the report is written. */
static bool asks_for_anything(const struct be_publishing *asked)
{
  return asked->report_path || asked->pdf_path || asked->tables_path || asked->figures_path ||
         asked->package_path || asked->sheets_path || asked->cards_path || asked->overlay ||
         asked->reveal || asked->clip_path;
}

static int run(int argc, char **argv)
{
  static const struct option options[] = {ANSWER_OPTIONS,
                                          {"report", required_argument, NULL, OPT_REPORT},
                                          {"sheets", required_argument, NULL, OPT_SHEETS},
                                          {"figures", required_argument, NULL, OPT_FIGURES},
                                          {"size", required_argument, NULL, OPT_SIZE},
                                          {"ground", required_argument, NULL, OPT_GROUND},
                                          {"as-of", required_argument, NULL, OPT_AS_OF},
                                          {"pdf", required_argument, NULL, OPT_PDF},
                                          {"since", required_argument, NULL, OPT_SINCE},
                                          {"tables", required_argument, NULL, OPT_TABLES},
                                          {"package", required_argument, NULL, OPT_PACKAGE},
                                          {"licence", required_argument, NULL, OPT_LICENCE},
                                          {"author", required_argument, NULL, OPT_AUTHOR},
                                          {"cards", required_argument, NULL, OPT_CARDS},
                                          {"of", required_argument, NULL, OPT_OF},
                                          {"overlay", required_argument, NULL, OPT_OVERLAY},
                                          {"reveal", required_argument, NULL, OPT_REVEAL},
                                          {"to", required_argument, NULL, OPT_TO},
                                          {"codec", required_argument, NULL, OPT_CODEC},
                                          {"fps", required_argument, NULL, OPT_FPS},
                                          {"footage", required_argument, NULL, OPT_FOOTAGE},
                                          {"offset", required_argument, NULL, OPT_OFFSET},
                                          {NULL, 0, NULL, 0}};
  struct be_publishing wanted = {0};
  struct asked asked = {0};
  struct be_err err = {0};
  bool help = false;
  for (int option; (option = next_option(argc, argv, options)) != -1;) {
    enum be_status status = option >= OPT_OWN ? take_own(option, optarg, &wanted, &asked.how, &err)
                                              : take_option(option, optarg, &asked, &help, &err);
    if (status != BE_OK) return print_usage(&cmd_publish, err.what);
  }
  if (help) return print_help(&cmd_publish);
  if (argc - optind != 1) return print_usage(&cmd_publish, "give one book");
  if (wanted.size && !wanted.figures_path && !wanted.cards_path && !wanted.overlay &&
      !wanted.reveal)
    return print_usage(&cmd_publish, "--size is of --figures, --cards and clips: give one of them");
  if ((wanted.licence || wanted.authors) && !wanted.package_path)
    return print_usage(&cmd_publish, "--licence and --author are of --package: give it too");
  if (wanted.ground && !wanted.figures_path && !wanted.cards_path)
    return print_usage(&cmd_publish,
                       "--ground is of --figures and --cards: give a folder for them");
  if (!asks_for_anything(&wanted)) wanted.report_path = "report.html";
  struct be_doc *doc = NULL;
  progress_begin();
  if (be_app_publish(argv[optind], &wanted, &asked.how, &doc, &err) != BE_OK)
    return print_error("publish", &err);
  return print_doc("publish", doc, asked.edition);
}

const struct command cmd_publish = {
    .name = "publish",
    .does = "Write the report in one file of HTML or on pages, tables, figures, sheets to print",
    .usage = "BOOK [options]",
    .options =
        "  --report FILE   one file of HTML with everything inside (report.html, if nothing else\n"
        "                  is asked for)\n"
        "  --pdf FILE      the same on pages of A4\n"
        "  --tables DIR    strengths by combination, each as CSV and Markdown\n"
        "  --figures DIR   every figure: SVG, PNG, words, data, and an index\n"
        "  --size WORD     wide (1920 x 1080) or tall (1080 x 1920); of figures also screen and\n"
        "                  column (85 mm), of cards square\n"
        "  --ground WORD   light, dark, print or clear (transparent); of cards light or dark "
        "alone\n"
        "  --cards DIR     cards as PNG, clear around, light and dark, each with its text: every\n"
        "                  result, table, standings and knot\n"
        "  --of CODE       cards of this specimen alone\n"
        "  --overlay CODE  a clip of the load of that specimen, transparent\n"
        "  --reveal WHICH  a clip of standings, row by row: of a group or combination by\n"
        "                  its name, or \"standings\", the first group\n"
        "  --to FILE       where the clip goes: .mov (lossless), .webm, .mp4, or FOLDER/\n"
        "  --codec WORD    how it is coded: qtrle, vp9, prores, h264 or png (by the ending)\n"
        "  --fps N         frames a second: 24, 25, 29.97, 30, 50, 60 ... (30)\n"
        "  --footage FILE  lays the overlay over your own clip, which keeps its sound\n"
        "  --offset S      the line lets go S seconds into it, or M:S (else it is heard)\n"
        "  --package PATH  the record as open data: a folder, or NAME.zip\n"
        "  --licence NAME  of the package: CC0-1.0, ODbL-1.0 ... (CC-BY-4.0)\n"
        "  --author NAMES  for its citation, with \";\" between\n"
        "  --sheets DIR    sheets to print for the bench: pull sheet, labels, plan, tie cards,\n"
        "                  each as HTML and on pages of A4 (PDF)\n"
        "  --as-of WHEN    all from the book as it stood at the end of a day or minute\n"
        "                  (2026-10-01, 2026-10-01T18:00, UTC), or after a file of this name\n"
        "  --since WHEN    also what moved since, and why; or since before a file\n" ANSWER_HELP,
    .example = "  bitterend publish season.book --report season.html\n"
               "  Writes one file with everything inside; it opens in any browser, without a net.",
    .run = run,
};
