/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/cli.h"

#include <string.h>

enum { OPT_BY = OPT_OWN, OPT_SINCE, OPT_FACTOR };

static enum be_status take_by(const char *value, enum be_by *by, struct be_err *err)
{
  static const char *const words[] = {"strength", "slips", "low", "held"};
  for (int i = 0; i < 4; i++)
    if (strcmp(value, words[i]) == 0) {
      *by = (enum be_by)i;
      return BE_OK;
    }
  return be_fail(err, BE_WRONG_USE, "--by takes strength, slips, low or held, not \"%s\"", value);
}

static int run(int argc, char **argv)
{
  static const struct option options[] = {ANSWER_OPTIONS,
                                          {"by", required_argument, NULL, OPT_BY},
                                          {"since", required_argument, NULL, OPT_SINCE},
                                          {"factor", required_argument, NULL, OPT_FACTOR},
                                          {NULL, 0, NULL, 0}};
  struct asked asked = {0};
  struct be_err err = {0};
  bool help = false;
  for (int option; (option = next_option(argc, argv, options)) != -1;) {
    if (option == OPT_SINCE) {
      asked.how.since = optarg;
      continue;
    }
    enum be_status status = option == OPT_BY ? take_by(optarg, &asked.how.by, &err)
                            : option == OPT_FACTOR
                                ? be_factors_read(optarg, &asked.how.factors, &err)
                                : take_option(option, optarg, &asked, &help, &err);
    if (status != BE_OK) return print_usage(&cmd_standings, err.what);
  }
  if (help) return print_help(&cmd_standings);
  if (argc - optind != 1) return print_usage(&cmd_standings, "give one book");
  struct be_doc *doc = NULL;
  progress_begin();
  if (be_app_standings(argv[optind], &asked.how, &doc, &err) != BE_OK)
    return print_error("standings", &err);
  return print_doc("standings", doc, asked.edition);
}

const struct command cmd_standings = {
    .name = "standings",
    .does = "Rankings per combination and group, with rank ranges and what cannot be separated",
    .usage = "BOOK [options]",
    .options =
        "  --by WORD       rank by strength, slips, low (how low a pull may go) or held\n"
        "                  (strength when it holds)\n"
        "  --since WHEN    what moved since a day or time (2026-10-01, 2026-10-01T18:00, UTC),\n"
        "                  or since before a file of this name was entered\n"
        "  --factor WORD   what turns, soak, lubricant, tyer, speed, length or order do,\n"
        "                  and the knots by one model with it held fixed; may be given "
        "again\n" ANSWER_HELP,
    .example =
        "  bitterend standings build/demo.book --seed 7\n"
        "  Ranks the knots of each group over the combinations that all of them share, then\n"
        "  each combination by itself. The seed is printed; the same seed gives the same chances.",
    .run = run,
};
