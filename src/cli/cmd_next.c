/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/cli.h"

#include <string.h>

enum {
  OPT_SPECIMENS = OPT_OWN,
  OPT_MINUTES,
  OPT_MINUTES_EACH,
  OPT_METRES_EACH,
  OPT_TOP,
  OPT_BETWEEN,
  OPT_AND,
  OPT_GROUP
};

static enum be_status take_number(const char *value, const char *name, double least, double most,
                                  double *number, struct be_err *err)
{
  size_t size = strlen(value);
  if (be_number_scan(value, size, '.', number) != size || !(*number >= least) || !(*number <= most))
    return be_fail(err, BE_WRONG_USE, "%s takes a number from %g to %g, not \"%s\"", name, least,
                   most, value);
  return BE_OK;
}

static enum be_status take_count(const char *value, const char *name, size_t *count,
                                 struct be_err *err)
{
  uint64_t number = 0;
  enum be_status status = take_whole(value, name, 1, 1000, &number, err);
  *count = (size_t)number;
  return status;
}

static enum be_status take_own(int option, const char *value, struct be_tying *asked,
                               struct asked *how, bool *help, struct be_err *err)
{
  switch (option) {
  case OPT_SPECIMENS: return take_count(value, "--specimens", &asked->specimens, err);
  case OPT_TOP: return take_count(value, "--top", &asked->top, err);
  case OPT_MINUTES: return take_number(value, "--minutes", 0.1, 100000, &asked->minutes, err);
  case OPT_MINUTES_EACH:
    return take_number(value, "--minutes-each", 0.1, 1440, &asked->minutes_each, err);
  case OPT_METRES_EACH:
    return take_number(value, "--metres-each", 0.1, 1000, &asked->metres_each, err);
  case OPT_BETWEEN: asked->a = value; return BE_OK;
  case OPT_AND: asked->b = value; return BE_OK;
  case OPT_GROUP: asked->group = value; return BE_OK;
  default: return take_option(option, value, how, help, err);
  }
}

static int run(int argc, char **argv)
{
  static const struct option options[] = {
      ANSWER_OPTIONS,
      {"specimens", required_argument, NULL, OPT_SPECIMENS},
      {"minutes", required_argument, NULL, OPT_MINUTES},
      {"minutes-each", required_argument, NULL, OPT_MINUTES_EACH},
      {"metres-each", required_argument, NULL, OPT_METRES_EACH},
      {"top", required_argument, NULL, OPT_TOP},
      {"between", required_argument, NULL, OPT_BETWEEN},
      {"and", required_argument, NULL, OPT_AND},
      {"group", required_argument, NULL, OPT_GROUP},
      {NULL, 0, NULL, 0}};
  struct asked how = {0};
  struct be_tying asked = {0};
  struct be_err err = {0};
  bool help = false;
  for (int option; (option = next_option(argc, argv, options)) != -1;)
    if (take_own(option, optarg, &asked, &how, &help, &err) != BE_OK)
      return print_usage(&cmd_next, err.what);
  if (help) return print_help(&cmd_next);
  if (argc - optind != 1) return print_usage(&cmd_next, "give one book");
  struct be_doc *doc = NULL;
  progress_begin();
  if (be_app_next(argv[optind], &asked, &how.how, &doc, &err) != BE_OK)
    return print_error("next", &err);
  return print_doc("next", doc, how.edition);
}

const struct command cmd_next = {
    .name = "next",
    .does = "Which specimens to tie next, to be sure soonest of who is first",
    .usage = "BOOK [options]",
    .options =
        "  --specimens N   how many to tie (12)\n"
        "  --minutes M     or how long to be at the bench\n"
        "  --minutes-each M\n"
        "                  tying and pulling one specimen (5; a plain line takes 3/5 of it)\n"
        "  --metres-each M line a specimen takes of each of its lines (its free length and 1 m)\n"
        "  --top K         which knots take the first K places (1: who is first)\n"
        "  --between A --and B\n"
        "                  or which of two knots is the stronger; part of a name will do\n"
        "  --group TEXT    only groups whose name has this part\n" ANSWER_HELP,
    .example =
        "  bitterend next build/demo.book --minutes 60 --group nylon\n"
        "  Of the groups with nylon in their name, takes the one whose first place is the most\n"
        "  likely to be wrong, and says what to tie and pull in an hour: how many of which knot\n"
        "  in which line, one by one, and how the chance of a wrong first place falls. Enter the\n"
        "  pulls and ask again.",
    .run = run,
};
