/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/cli.h"

static int run(int argc, char **argv)
{
  struct asked asked = {0};
  struct be_err err = {0};
  int exits = read_answer_options(&cmd_versus, argc, argv, 3, "give a book and two knots", &asked);
  if (exits >= 0) return exits;
  struct be_doc *doc = NULL;
  if (be_app_versus(argv[optind], argv[optind + 1], argv[optind + 2], &asked.how, &doc, &err) !=
      BE_OK)
    return print_error("versus", &err);
  return print_doc("versus", doc, asked.edition);
}

const struct command cmd_versus = {
    .name = "versus",
    .does = "Is the difference between two knots real, and how many more pulls would settle it",
    .usage = "BOOK KNOT KNOT [options]",
    .options = ANSWER_HELP,
    .example =
        "  bitterend versus build/demo.book palomar 'half blood'\n"
        "  Compares the two over the combinations both were tied in: loads, points of the\n"
        "  line's strength, and relative per cent. Part of a knot's name is enough if it is\n"
        "  the only one.",
    .run = run,
};
