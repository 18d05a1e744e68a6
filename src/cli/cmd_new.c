/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/cli.h"

#include <stdio.h>

static int run(int argc, char **argv)
{
  static const struct option options[] = {{"help", no_argument, NULL, OPT_HELP},
                                          {NULL, 0, NULL, 0}};
  struct be_err err = {0};
  for (int option; (option = next_option(argc, argv, options)) != -1;) {
    if (option == OPT_HELP) return print_help(&cmd_new);
    bad_option(optarg, &err);
    return print_usage(&cmd_new, err.what);
  }
  if (argc - optind != 1) return print_usage(&cmd_new, "give the name of one new book");
  if (be_book_create(argv[optind], &err) != BE_OK) return print_error("new", &err);
  printf("%s is a new, empty book.\n", argv[optind]);
  return 0;
}

const struct command cmd_new = {
    .name = "new",
    .does = "Start a book",
    .usage = "BOOK",
    .example = "  bitterend new season.book\n"
               "  Makes an empty record; `bitterend enter season.book FILE...` fills it.",
    .run = run,
};
