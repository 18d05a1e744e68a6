/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/cli.h"

static int run(int argc, char **argv)
{
  static const struct option options[] = {ANSWER_OPTIONS, {NULL, 0, NULL, 0}};
  struct asked asked = {0};
  struct be_err err = {0};
  bool help = false;
  for (int option; (option = next_option(argc, argv, options)) != -1;)
    if (take_option(option, optarg, &asked, &help, &err) != BE_OK)
      return print_usage(&cmd_check, err.what);
  if (help) return print_help(&cmd_check);
  if (argc - optind != 1) return print_usage(&cmd_check, "give one book");
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
