/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/cli.h"

enum { OPT_REPORT = OPT_OWN, OPT_SHEETS, OPT_FIGURES, OPT_SIZE, OPT_GROUND };

static enum be_status take_own(int option, const char *value, struct be_publishing *asked,
                               struct be_err *err)
{
  switch (option) {
  case OPT_REPORT: asked->report_path = value; return BE_OK;
  case OPT_SHEETS: asked->sheets_path = value; return BE_OK;
  case OPT_FIGURES: asked->figures_path = value; return BE_OK;
  case OPT_SIZE: asked->figures_size = value; return BE_OK;
  case OPT_GROUND: asked->figures_ground = value; return BE_OK;
  default: return bad_option(value, err);
  }
}

static int run(int argc, char **argv)
{
  static const struct option options[] = {ANSWER_OPTIONS,
                                          {"report", required_argument, NULL, OPT_REPORT},
                                          {"sheets", required_argument, NULL, OPT_SHEETS},
                                          {"figures", required_argument, NULL, OPT_FIGURES},
                                          {"size", required_argument, NULL, OPT_SIZE},
                                          {"ground", required_argument, NULL, OPT_GROUND},
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
  if ((wanted.figures_size || wanted.figures_ground) && !wanted.figures_path)
    return print_usage(&cmd_publish,
                       "--size and --ground are of --figures: give a folder for them");
  if (!wanted.report_path && !wanted.figures_path && !wanted.sheets_path)
    wanted.report_path = "report.html";
  struct be_doc *doc = NULL;
  progress_begin();
  if (be_app_publish(argv[optind], &wanted, &asked.how, &doc, &err) != BE_OK)
    return print_error("publish", &err);
  return print_doc("publish", doc, asked.edition);
}

const struct command cmd_publish = {
    .name = "publish",
    .does = "Write the report in one file of HTML, or every figure for print and video",
    .usage = "BOOK [options]",
    .options =
        "  --report FILE   where to write it (report.html)\n"
        "  --sheets DIR    sheets to print for the bench: pull sheet, labels, plan, tie cards\n"
        "  --figures DIR   writes every figure there: SVG, PNG, words, data, and an index\n"
        "  --size WORD     screen, column (85 mm), wide (1920 x 1080) or tall (1080 x 1920)\n"
        "  --ground WORD   light, dark, print or clear (transparent)\n" ANSWER_HELP,
    .example = "  bitterend publish season.book --report season.html\n"
               "  Writes one file with everything inside; it opens in any browser, without a net.",
    .run = run,
};
