/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/cli.h"

#include <string.h>

enum {
  OPT_REPORT = OPT_OWN,
  OPT_CARDS,
  OPT_OF,
  OPT_OVERLAY,
  OPT_REVEAL,
  OPT_TO,
  OPT_CODEC,
  OPT_FPS,
  OPT_FOOTAGE,
  OPT_OFFSET,
  OPT_SIZE
};

static enum be_status take_offset(const char *value, double *offset_s, struct be_err *err)
{
  size_t size = strlen(value);
  if (size && be_number_scan(value, size, '.', offset_s) == size) return BE_OK;
  return be_fail(err, BE_WRONG_USE, "--offset takes seconds, such as 12.48, not \"%.40s\"", value);
}

static enum be_status take_own(int option, const char *value, struct be_publishing *asked,
                               struct be_err *err)
{
  switch (option) {
  case OPT_REPORT: asked->report_path = value; return BE_OK;
  case OPT_CARDS: asked->cards_path = value; return BE_OK;
  case OPT_OF: asked->of = value; return BE_OK;
  case OPT_OVERLAY: asked->overlay = value; return BE_OK;
  case OPT_REVEAL: asked->reveal = value; return BE_OK;
  case OPT_TO: asked->clip_path = value; return BE_OK;
  case OPT_CODEC: asked->clip_coding = value; return BE_OK;
  case OPT_FPS: asked->clip_rate = value; return BE_OK;
  case OPT_FOOTAGE: asked->footage_path = value; return BE_OK;
  case OPT_SIZE: asked->size = value; return BE_OK;
  case OPT_OFFSET: asked->offset_told = true; return take_offset(value, &asked->offset_s, err);
  default: return bad_option(value, err);
  }
}

static int run(int argc, char **argv)
{
  static const struct option options[] = {ANSWER_OPTIONS,
                                          {"report", required_argument, NULL, OPT_REPORT},
                                          {"cards", required_argument, NULL, OPT_CARDS},
                                          {"of", required_argument, NULL, OPT_OF},
                                          {"overlay", required_argument, NULL, OPT_OVERLAY},
                                          {"reveal", required_argument, NULL, OPT_REVEAL},
                                          {"to", required_argument, NULL, OPT_TO},
                                          {"codec", required_argument, NULL, OPT_CODEC},
                                          {"fps", required_argument, NULL, OPT_FPS},
                                          {"footage", required_argument, NULL, OPT_FOOTAGE},
                                          {"offset", required_argument, NULL, OPT_OFFSET},
                                          {"size", required_argument, NULL, OPT_SIZE},
                                          {NULL, 0, NULL, 0}};
  struct be_publishing wanted = {0};
  struct asked asked = {0};
  struct be_err err = {0};
  bool help = false;
  for (int option; (option = next_option(argc, argv, options)) != -1;) {
    enum be_status status = option >= OPT_OWN ? take_own(option, optarg, &wanted, &err)
                                              : take_option(option, optarg, &asked, &help, &err);
    if (status != BE_OK) return print_usage(&cmd_publish, err.what);
  }
  if (help) return print_help(&cmd_publish);
  if (argc - optind != 1) return print_usage(&cmd_publish, "give one book");
  bool nothing = !wanted.report_path && !wanted.cards_path && !wanted.overlay && !wanted.reveal;
  if (nothing && !wanted.clip_path) wanted.report_path = "report.html";
  struct be_doc *doc = NULL;
  progress_begin();
  if (be_app_publish(argv[optind], &wanted, &asked.how, &doc, &err) != BE_OK)
    return print_error("publish", &err);
  return print_doc("publish", doc, asked.edition);
}

const struct command cmd_publish = {
    .name = "publish",
    .does = "Write the report: findings, standings, strengths and charts in one file of HTML",
    .usage = "BOOK [options]",
    .options =
        "  --report FILE   where to write it (report.html)\n"
        "  --cards DIR     cards as PNG, clear around, light and dark, each with its text: every\n"
        "                  result, table, standings and knot\n"
        "  --of CODE       cards of this specimen alone\n"
        "  --overlay CODE  a clip of the load of that specimen, transparent\n"
        "  --reveal WHICH  a clip of standings, row by row: of a group or combination by\n"
        "                  its name, or \"standings\", the first group\n"
        "  --to FILE       where the clip goes: .mov (lossless), .webm, .mp4, or FOLDER/\n"
        "  --codec WORD    how it is coded: qtrle, vp9, prores, h264 or png (by the ending)\n"
        "  --fps N         frames a second: 24, 25, 29.97, 30, 50, 60 ... (30)\n"
        "  --size WORD     wide (1920 by 1080 px) or tall (1080 by 1920 px); of cards also square\n"
        "  --footage FILE  lays the overlay over your own clip, which keeps its sound\n"
        "  --offset S      the line lets go S seconds into it (else it is heard)\n" ANSWER_HELP,
    .example = "  bitterend publish season.book --report season.html\n"
               "  Writes one file with everything inside; it opens in any browser, without a net.",
    .run = run,
};
