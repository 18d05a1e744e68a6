/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/cli.h"

/* A program gets its answer on standard output whatever it is; people are told of a
 * fault as of any other. */
static int check(const char *book, enum edition edition)
{
  struct be_err err = {0};
  struct be_doc *doc = NULL;
  progress_begin();
  enum be_status status = be_app_check(book, &doc, &err);
  if (status == BE_OK) return print_doc("check", doc, edition);
  if (status != BE_NO || edition == EDITION_TEXT) {
    be_doc_free(doc);
    return print_error("check", &err);
  }
  int printed = print_doc("check", doc, edition);
  return printed ? printed : be_status_exit(status);
}

static int run(int argc, char **argv)
{
  static const struct option options[] = {{"help", no_argument, NULL, OPT_HELP},
                                          {"json", no_argument, NULL, OPT_JSON},
                                          {NULL, 0, NULL, 0}};
  struct asked asked = {0};
  struct be_err err = {0};
  bool help = false;
  for (int option; (option = next_option(argc, argv, options)) != -1;)
    if (take_option(option, optarg, &asked, &help, &err) != BE_OK)
      return print_usage(&cmd_check, err.what);
  if (help) return print_help(&cmd_check);
  if (argc - optind != 1) return print_usage(&cmd_check, "give one book");
  return check(argv[optind], asked.edition);
}

const struct command cmd_check = {
    .name = "check",
    .does = "Is every byte, rule and derived figure in the book still right",
    .usage = "BOOK [--json]",
    .options = "  --json          the answer for a program, also when it is no\n",
    .example = "  bitterend check season.book\n"
               "  Ends with 0 when everything is right, with 1 and the first fault when it is not.",
    .run = run,
};
