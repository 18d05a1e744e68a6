/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/cli.h"

#include <string.h>

enum { OPT_RELATIVE = OPT_OWN };

static int run(int argc, char **argv)
{
  static const struct option options[] = {
      ANSWER_OPTIONS, {"relative-to", required_argument, NULL, OPT_RELATIVE}, {NULL, 0, NULL, 0}};
  struct asked asked = {0};
  struct be_err err = {0};
  bool help = false;
  for (int option; (option = next_option(argc, argv, options)) != -1;) {
    if (option == OPT_RELATIVE) asked.how.relative_to = optarg;
    else if (take_option(option, optarg, &asked, &help, &err) != BE_OK)
      return print_usage(&cmd_strength, err.what);
  }
  if (help) return print_help(&cmd_strength);
  if (argc - optind != 1) return print_usage(&cmd_strength, "give one book");
  struct be_doc *doc = NULL;
  progress_begin();
  if (be_app_strength(argv[optind], &asked.how, &doc, &err) != BE_OK)
    return print_error("strength", &err);
  return print_doc("strength", doc, asked.edition);
}

const struct command cmd_strength = {
    .name = "strength",
    .does = "What each line and knot held: intervals, slips, low end, causes, alarms, benches",
    .usage = "BOOK [options]",
    .options =
        "  --relative-to K also divide by knot K (never an efficiency), and compare each knot\n"
        "                  with it (Dunnett)\n" ANSWER_HELP,
    .example =
        "  bitterend strength build/demo.book --unit lb\n"
        "  Prints, for each line combination, n, mean, deviation and the share of the weaker\n"
        "  line's measured strength that each knot kept, with two kinds of interval; then the\n"
        "  low end, the shape of the loads, what let go first, the knots all at once and pair by\n"
        "  pair, alarms, benches, and where the doubt comes from.",
    .run = run,
};
