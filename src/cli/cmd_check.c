/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/cli.h"

static int run(int argc, char **argv)
{
  struct asked asked = {0};
  struct be_err err = {0};
  int exits = read_answer_options(&cmd_check, argc, argv, 1, "give one book", &asked);
  if (exits >= 0) return exits;
  struct be_doc *doc = NULL;
  if (be_app_check(argv[optind], &doc, &err) != BE_OK) return print_error("check", &err);
  return print_doc("check", doc, asked.edition);
}

const struct command cmd_check = {
    .name = "check",
    .does = "Is every byte, rule and derived figure in the book still right",
    .usage = "BOOK [--json]",
    .example = "  bitterend check season.book\n"
               "  Ends with 0 when everything is right, with 1 and the first fault when it is not.",
    .run = run,
};
