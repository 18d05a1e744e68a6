/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/cli.h"

#include <string.h>

enum { OPT_COLUMNS = OPT_OWN, OPT_FORCE_UNIT, OPT_SIGN, OPT_DECIMAL, OPT_RATE };

/* "force=2,time=1,extension=3": columns counted from 1. */
static enum be_status take_columns(const char *value, struct be_trace_options *options,
                                   struct be_err *err)
{
  static const char *const names[] = {"force=", "time=", "extension="};
  size_t *const columns[] = {&options->force_column, &options->time_column,
                             &options->extension_column};
  while (*value) {
    size_t length = strcspn(value, ","), found = 3;
    for (size_t i = 0; i < 3; i++)
      if (strncmp(value, names[i], strlen(names[i])) == 0) found = i;
    double column = 0;
    size_t skip = found < 3 ? strlen(names[found]) : 0;
    if (found == 3 || skip > length ||
        be_number_scan(value + skip, length - skip, '.', &column) != length - skip ||
        !(column >= 1) || column > BE_TRACE_COLUMNS_MAX)
      return be_fail(err, BE_WRONG_USE, "--columns takes words such as force=2,time=1, not \"%s\"",
                     value);
    *columns[found] = (size_t)column;
    value += length + (value[length] == ',');
  }
  return BE_OK;
}

static enum be_status take_own(int option, const char *value, struct be_trace_options *options,
                               struct be_err *err)
{
  size_t size = strlen(value);
  switch (option) {
  case OPT_COLUMNS: return take_columns(value, options, err);
  case OPT_FORCE_UNIT:
    options->force_unit = be_unit_find_in(BE_FORCE, value, size);
    if (options->force_unit) return BE_OK;
    return be_fail(err, BE_WRONG_USE, "--force-unit takes a unit such as N or lb, not \"%s\"",
                   value);
  case OPT_SIGN:
    options->sign = strcmp(value, "negative") == 0 ? -1 : strcmp(value, "positive") == 0 ? 1 : 0;
    if (options->sign) return BE_OK;
    return be_fail(err, BE_WRONG_USE, "--sign takes \"positive\" or \"negative\", not \"%s\"",
                   value);
  case OPT_DECIMAL:
    options->decimal = strcmp(value, "comma") == 0 ? ',' : strcmp(value, "point") == 0 ? '.' : 0;
    if (options->decimal) return BE_OK;
    return be_fail(err, BE_WRONG_USE, "--decimal takes \"comma\" or \"point\", not \"%s\"", value);
  case OPT_RATE:
    if (be_number_scan(value, size, '.', &options->rate_Hz) == size && options->rate_Hz > 0)
      return BE_OK;
    return be_fail(err, BE_WRONG_USE, "--rate takes samples a second, not \"%s\"", value);
  default: return bad_option(value, err);
  }
}

static int run(int argc, char **argv)
{
  static const struct option options[] = {ANSWER_OPTIONS,
                                          {"columns", required_argument, NULL, OPT_COLUMNS},
                                          {"force-unit", required_argument, NULL, OPT_FORCE_UNIT},
                                          {"sign", required_argument, NULL, OPT_SIGN},
                                          {"decimal", required_argument, NULL, OPT_DECIMAL},
                                          {"rate", required_argument, NULL, OPT_RATE},
                                          {NULL, 0, NULL, 0}};
  struct be_trace_options trace = {0};
  struct asked asked = {0};
  struct be_err err = {0};
  bool help = false;
  for (int option; (option = next_option(argc, argv, options)) != -1;) {
    enum be_status status = option >= OPT_OWN ? take_own(option, optarg, &trace, &err)
                                              : take_option(option, optarg, &asked, &help, &err);
    if (status != BE_OK) return print_usage(&cmd_read, err.what);
  }
  if (help) return print_help(&cmd_read);
  if (optind == argc) return print_usage(&cmd_read, "give at least one trace file");
  struct be_doc *doc = NULL;
  if (be_app_read((const char *const *)(argv + optind), (size_t)(argc - optind), &trace, &asked.how,
                  &doc, &err) != BE_OK)
    return print_error("read", &err);
  return print_doc("read", doc, asked.edition);
}

const struct command cmd_read = {
    .name = "read",
    .does = "Read load traces without a book: what was found, and what the program took it for",
    .usage = "FILE... [options]",
    .options = "  --columns LIST  such as force=2,time=1,extension=3, counted from 1\n"
               "  --force-unit U  the unit of the force column\n"
               "  --sign S        pulling is \"positive\" or \"negative\" in the file\n"
               "  --decimal M     the decimal mark is a \"comma\" or a \"point\"\n"
               "  --rate HZ       samples a second, when the file has no time\n"
               "  --json, --csv   one row a test, for a program\n",
    .example = "  bitterend read pull-17.csv\n"
               "  Prints the peak as the file writes it, where it stands, the first slip, how the\n"
               "  pull ended, and which columns were taken for what and why.",
    .run = run,
};
