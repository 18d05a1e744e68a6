/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/cli.h"

enum { OPT_SAME = OPT_OWN };

static int merge(const char *book, const char *other, const char *same, enum edition edition)
{
  struct be_err err = {0};
  struct be_doc *doc = NULL;
  progress_begin();
  enum be_status status = be_app_merge(book, other, same, &doc, &err);
  if (status != BE_OK && status != BE_NO) return print_error("merge", &err);
  int printed = print_doc("merge", doc, edition);
  return printed ? printed : be_status_exit(status);
}

static int run(int argc, char **argv)
{
  static const struct option options[] = {{"help", no_argument, NULL, OPT_HELP},
                                          {"json", no_argument, NULL, OPT_JSON},
                                          {"csv", no_argument, NULL, OPT_CSV},
                                          {"same", required_argument, NULL, OPT_SAME},
                                          {NULL, 0, NULL, 0}};
  struct asked asked = {0};
  struct be_err err = {0};
  const char *same = NULL;
  bool help = false;
  for (int option; (option = next_option(argc, argv, options)) != -1;) {
    if (option == OPT_SAME) same = optarg;
    else if (take_option(option, optarg, &asked, &help, &err) != BE_OK)
      return print_usage(&cmd_merge, err.what);
  }
  if (help) return print_help(&cmd_merge);
  if (argc - optind != 2) return print_usage(&cmd_merge, "give a book, and the one to bring in");
  return merge(argv[optind], argv[optind + 1], same, asked.edition);
}

const struct command cmd_merge = {
    .name = "merge",
    .does = "Bring the pulls of another book in; what is the same in both is for you to confirm",
    .usage = "BOOK OTHER [--same FILE] [options]",
    .options = "  --same FILE     what is the same, answered; written first where it is not there\n"
               "                  or not answered (same.csv)\n"
               "  --json, --csv   what came in, or what is asked, for a program\n",
    .example =
        "  bitterend merge season.book theirs.book --same same.csv\n"
        "  Writes same.csv with what may be the same, and merges nothing (exit 1). Write yes\n"
        "  or no in its column \"same\", and give the same command again.",
    .run = run,
};
