/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/cli.h"

enum { OPT_DAY = OPT_OWN };

static int run(int argc, char **argv)
{
  static const struct option options[] = {
      ANSWER_OPTIONS, {"day", required_argument, NULL, OPT_DAY}, {NULL, 0, NULL, 0}};
  struct asked asked = {0};
  struct be_err err = {0};
  const char *day = NULL;
  bool help = false;
  for (int option; (option = next_option(argc, argv, options)) != -1;) {
    if (option == OPT_DAY) day = optarg;
    else if (take_option(option, optarg, &asked, &help, &err) != BE_OK)
      return print_usage(&cmd_rig, err.what);
  }
  if (help) return print_help(&cmd_rig);
  if (argc - optind != 1) return print_usage(&cmd_rig, "give one book");
  struct be_doc *doc = NULL;
  if (be_app_rig(argv[optind], day, &asked.how, &doc, &err) != BE_OK)
    return print_error("rig", &err);
  return print_doc("rig", doc, asked.edition);
}

const struct command cmd_rig = {
    .name = "rig",
    .does = "Can the rig be trusted: calibrations, uncertainty, check weights",
    .usage = "BOOK [options]",
    .options = "  --day DATE      on that day, such as 2026-03-01 (today)\n" ANSWER_HELP,
    .example =
        "  bitterend rig build/demo.book --day 2026-04-10\n"
        "  Says of each bench whether its forces can be trusted on that day: the calibration in\n"
        "  force and when it is due, its class and verified range, and whether the last check\n"
        "  weight lies inside its limits; then the readings behind it, and how many pulls were\n"
        "  taken outside the range or too late.",
    .run = run,
};
