/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/cli.h"

#include <string.h>

enum { OPT_WITHIN = OPT_OWN, OPT_POWER };

/* Both are per cent, of the line and of trials. */
static enum be_status take_percent(const char *value, const char *name, double least, double most,
                                   double *share, struct be_err *err)
{
  double got = 0;
  size_t size = strlen(value);
  if (be_number_scan(value, size, '.', &got) != size || !(got >= least) || !(got <= most))
    return be_fail(err, BE_WRONG_USE, "%s takes a number from %g to %g, not \"%s\"", name, least,
                   most, value);
  *share = got / 100;
  return BE_OK;
}

static enum be_status take_own(int option, const char *value, struct asked *asked, bool *help,
                               struct be_err *err)
{
  if (option == OPT_WITHIN)
    return take_percent(value, "--within", 0.1, 50, &asked->how.within, err);
  if (option == OPT_POWER) return take_percent(value, "--power", 10, 99.9, &asked->how.power, err);
  return take_option(option, value, asked, help, err);
}

static int run(int argc, char **argv)
{
  static const struct option options[] = {ANSWER_OPTIONS,
                                          {"within", required_argument, NULL, OPT_WITHIN},
                                          {"power", required_argument, NULL, OPT_POWER},
                                          {NULL, 0, NULL, 0}};
  struct asked asked = {0};
  struct be_err err = {0};
  bool help = false;
  for (int option; (option = next_option(argc, argv, options)) != -1;)
    if (take_own(option, optarg, &asked, &help, &err) != BE_OK)
      return print_usage(&cmd_versus, err.what);
  if (help) return print_help(&cmd_versus);
  if (argc - optind != 3) return print_usage(&cmd_versus, "give a book and two knots");
  struct be_doc *doc = NULL;
  progress_begin();
  if (be_app_versus(argv[optind], argv[optind + 1], argv[optind + 2], &asked.how, &doc, &err) !=
      BE_OK)
    return print_error("versus", &err);
  return print_doc("versus", doc, asked.edition);
}

const struct command cmd_versus = {
    .name = "versus",
    .does = "Is the difference between two knots real, and how many more pulls would settle it",
    .usage = "BOOK KNOT KNOT [options]",
    .options = "  --within P      a difference too small to matter, in points of the line (5)\n"
               "  --power P       per cent of trials in which the pulls still needed would do "
               "(80)\n" ANSWER_HELP,
    .example =
        "  bitterend versus build/demo.book palomar 'half blood'\n"
        "  Compares the two over the combinations both were tied in: loads, points of the\n"
        "  line's strength, and relative per cent. Part of a knot's name is enough if it is\n"
        "  the only one.",
    .run = run,
};
