/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/cli.h"

static int run(int argc, char **argv)
{
  struct asked asked = {0};
  struct be_err err = {0};
  int exits = read_answer_options(&cmd_standings, argc, argv, 1, "give one book", &asked);
  if (exits >= 0) return exits;
  struct be_doc *doc = NULL;
  if (be_app_standings(argv[optind], &asked.how, &doc, &err) != BE_OK)
    return print_error("standings", &err);
  return print_doc("standings", doc, asked.edition);
}

const struct command cmd_standings = {
    .name = "standings",
    .does = "Rankings per combination and group, with rank ranges and what cannot be separated",
    .usage = "BOOK [options]",
    .options = ANSWER_HELP,
    .example =
        "  bitterend standings build/demo.book --seed 7\n"
        "  Ranks the knots of each group over the combinations that all of them share, then\n"
        "  each combination by itself. The seed is printed; the same seed gives the same ranges.",
    .run = run,
};
