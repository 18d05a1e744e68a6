/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/cli.h"

#include <string.h>

int next_option(int argc, char **argv, const struct option *options)
{
  opterr = 0;
  int option = getopt_long(argc, argv, "", options, NULL);
  if (option == '?') optarg = argv[optind - 1];
  return option;
}

enum be_status bad_option(const char *text, struct be_err *err)
{
  return be_fail(err, BE_WRONG_USE, "\"%s\" is not an option of this command, or lacks its value",
                 text);
}

enum be_status take_whole(const char *value, const char *name, uint64_t least, uint64_t most,
                          uint64_t *number, struct be_err *err)
{
  uint64_t got = 0;
  const char *at = value;
  for (; *at >= '0' && *at <= '9' && got <= most; at++) got = got * 10 + (uint64_t)(*at - '0');
  if (at == value || *at || got < least || got > most)
    return be_fail(err, BE_WRONG_USE, "%s takes a whole number from %llu to %llu, not \"%s\"", name,
                   (unsigned long long)least, (unsigned long long)most, value);
  *number = got;
  return BE_OK;
}

/* Past the upper end the quantiles leave what a double can tell from 1. */
static enum be_status take_level(const char *value, double *level, struct be_err *err)
{
  size_t size = strlen(value);
  if (be_number_scan(value, size, '.', level) != size || !(*level >= 0.5) || !(*level <= 0.9999))
    return be_fail(err, BE_WRONG_USE, "--level takes a number from 0.5 to 0.9999, not \"%s\"",
                   value);
  return BE_OK;
}

static enum be_status take_edition(enum edition edition, struct asked *asked, struct be_err *err)
{
  if (asked->edition != EDITION_TEXT && asked->edition != edition)
    return be_fail(err, BE_WRONG_USE, "--json and --csv cannot both be given");
  asked->edition = edition;
  return BE_OK;
}

enum be_status take_option(int option, const char *value, struct asked *asked, bool *help,
                           struct be_err *err)
{
  uint64_t number = 0;
  enum be_status status = BE_OK;
  switch (option) {
  case OPT_HELP: *help = true; return BE_OK;
  case OPT_JSON: return take_edition(EDITION_JSON, asked, err);
  case OPT_CSV: return take_edition(EDITION_CSV, asked, err);
  case OPT_LEVEL: return take_level(value, &asked->how.level, err);
  case OPT_SEED: return take_whole(value, "--seed", 1, UINT64_C(1) << 62, &asked->how.seed, err);
  case OPT_RESAMPLES:
    status = take_whole(value, "--resamples", 100, 10000000, &number, err);
    asked->how.resamples = (size_t)number;
    return status;
  case OPT_UNIT:
    asked->how.unit = be_unit_find_in(BE_FORCE, value, strlen(value));
    if (asked->how.unit) return BE_OK;
    return be_fail(err, BE_WRONG_USE,
                   "--unit takes a unit of force such as lb, kg or N, not \"%s\"", value);
  default: return bad_option(value, err);
  }
}

int read_answer_options(const struct command *command, int argc, char **argv, int words,
                        const char *wrong, struct asked *asked)
{
  static const struct option options[] = {ANSWER_OPTIONS, {NULL, 0, NULL, 0}};
  struct be_err err = {0};
  bool help = false;
  for (int option; (option = next_option(argc, argv, options)) != -1;)
    if (take_option(option, optarg, asked, &help, &err) != BE_OK)
      return print_usage(command, err.what);
  if (help) return print_help(command);
  return argc - optind == words ? -1 : print_usage(command, wrong);
}
