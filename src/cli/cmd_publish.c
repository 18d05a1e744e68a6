/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/cli.h"

enum { OPT_REPORT = OPT_OWN, OPT_CARDS, OPT_SIZE, OPT_OF };

static enum be_status take_own(int option, const char *value, struct be_publishing *asked,
                               struct be_err *err)
{
  switch (option) {
  case OPT_REPORT: asked->report_path = value; return BE_OK;
  case OPT_CARDS: asked->cards_path = value; return BE_OK;
  case OPT_SIZE: asked->size = value; return BE_OK;
  case OPT_OF: asked->of = value; return BE_OK;
  default: return bad_option(value, err);
  }
}

static int run(int argc, char **argv)
{
  static const struct option options[] = {ANSWER_OPTIONS,
                                          {"report", required_argument, NULL, OPT_REPORT},
                                          {"cards", required_argument, NULL, OPT_CARDS},
                                          {"size", required_argument, NULL, OPT_SIZE},
                                          {"of", required_argument, NULL, OPT_OF},
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
  bool any = wanted.report_path || wanted.cards_path;
  if (!any) wanted.report_path = "report.html";
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
    .options = "  --report FILE   where to write it (report.html, if nothing else is asked for)\n"
               "  --cards DIR     cards as PNG, clear around, light and dark, each with its text: every "
               "result,\n"
               "                  table, standings and knot\n"
               "  --size SIZE     of cards: wide (1920 x 1080, usual), tall or square\n"
               "  --of CODE       cards of this specimen alone\n" ANSWER_HELP,
    .example = "  bitterend publish season.book --report season.html\n"
               "  Writes one file with everything inside; it opens in any browser, without a net.",
    .run = run,
};
