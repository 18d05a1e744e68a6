/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/cli.h"

enum { OPT_REPORT = OPT_OWN, OPT_PACKAGE, OPT_LICENCE, OPT_AUTHOR };

static enum be_status take_own(int option, const char *value, struct be_publishing *asked,
                               struct be_err *err)
{
  switch (option) {
  case OPT_REPORT: asked->report_path = value; return BE_OK;
  case OPT_PACKAGE: asked->package_path = value; return BE_OK;
  case OPT_LICENCE: asked->licence = value; return BE_OK;
  case OPT_AUTHOR: asked->authors = value; return BE_OK;
  default: return bad_option(value, err);
  }
}

/* Whether any output was named; without one the report is written. */
static bool asks_for_anything(const struct be_publishing *asked)
{
  return asked->report_path || asked->package_path;
}

static int run(int argc, char **argv)
{
  static const struct option options[] = {ANSWER_OPTIONS,
                                          {"report", required_argument, NULL, OPT_REPORT},
                                          {"package", required_argument, NULL, OPT_PACKAGE},
                                          {"licence", required_argument, NULL, OPT_LICENCE},
                                          {"author", required_argument, NULL, OPT_AUTHOR},
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
  if (!asks_for_anything(&wanted)) wanted.report_path = "report.html";
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
    .options = "  --report FILE   where to write it (report.html)\n"
               "  --package PATH  the record as open data: a folder, or NAME.zip\n"
               "  --licence NAME  of the package: CC0-1.0, ODbL-1.0 ... (CC-BY-4.0)\n"
               "  --author NAMES  for its citation, with \";\" between\n" ANSWER_HELP,
    .example = "  bitterend publish season.book --report season.html\n"
               "  Writes one file with everything inside; it opens in any browser, without a net.",
    .run = run,
};
