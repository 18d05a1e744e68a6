/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/cli.h"

#include <stdio.h>

enum { OPT_REPORT = OPT_OWN };

static int run(int argc, char **argv)
{
  static const struct option options[] = {
      FIGURE_OPTIONS, {"report", required_argument, NULL, OPT_REPORT}, {NULL, 0, NULL, 0}};
  struct asked asked = {0};
  struct be_err err = {0};
  bool help = false;
  const char *report = "report.html";
  for (int option; (option = next_option(argc, argv, options)) != -1;) {
    if (option == OPT_REPORT) report = optarg;
    else if (take_option(option, optarg, &asked, &help, &err) != BE_OK)
      return print_usage(&cmd_publish, err.what);
  }
  if (help) return print_help(&cmd_publish);
  if (argc - optind != 1) return print_usage(&cmd_publish, "give one book");
  progress_begin();
  if (be_app_publish(argv[optind], report, &asked.how, &err) != BE_OK)
    return print_error("publish", &err);
  progress_end();
  printf("The report is %s.\n", report);
  return 0;
}

const struct command cmd_publish = {
    .name = "publish",
    .does = "Write the report: findings, standings, strengths and charts in one file of HTML",
    .usage = "BOOK [options]",
    .options = "  --report FILE   where to write it (report.html)\n" FIGURE_HELP,
    .example = "  bitterend publish season.book --report season.html\n"
               "  Writes one file with everything inside; it opens in any browser, without a net.",
    .run = run,
};
