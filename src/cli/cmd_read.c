/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/cli.h"

#include <string.h>

enum {
  OPT_COLUMNS = OPT_OWN,
  OPT_FILE_UNIT,
  OPT_EXTENSION_UNIT,
  OPT_TIME,
  OPT_SIGN,
  OPT_DECIMAL,
  OPT_SCALE,
  OPT_SCALE_ZERO,
  OPT_CHART,
  OPT_FILTER,
  OPT_DEVICE_PEAK,
  OPT_RESOLUTION,
  OPT_LAYOUT,
  OPT_KEEP_LAYOUT,
  OPT_FORGET_LAYOUT,
  OPT_LAYOUTS
};

struct reading {
  struct be_trace_options trace;
  struct be_looking look;
  bool layouts; /* only list the saved layouts */
  const char *forget;
};

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

static enum be_status take_unit(const char *value, const char *name, enum be_dimension dimension,
                                const struct be_unit **unit, struct be_err *err)
{
  *unit = be_unit_find_in(dimension, value, strlen(value));
  if (*unit) return BE_OK;
  return be_fail(err, BE_WRONG_USE, "%s takes a unit of %s, not \"%s\"", name,
                 be_dimension_word(dimension), value);
}

/* The unit of the time column, or "50Hz" when there is none. */
static enum be_status take_time(const char *value, struct be_trace_options *options,
                                struct be_err *err)
{
  size_t digits = be_number_scan(value, strlen(value), '.', &options->rate_Hz);
  const char *rest = value + digits + strspn(value + digits, " ");
  if (!digits) return take_unit(value, "--time", BE_TIME, &options->time_unit, err);
  if (options->rate_Hz > 0 && be_text_same(rest, "Hz")) return BE_OK;
  return be_fail(err, BE_WRONG_USE,
                 "--time takes a unit such as ms, or a rate such as 50Hz, not \"%s\"", value);
}

static enum be_status take_number(const char *value, const char *name, double *number,
                                  struct be_err *err)
{
  size_t size = strlen(value);
  if (size && be_number_scan(value, size, '.', number) == size) return BE_OK;
  return be_fail(err, BE_WRONG_USE, "%s takes a number, not \"%s\"", name, value);
}

/* One of two words: +first for the first, second for the second. */
static enum be_status take_word(const char *value, const char *name, const char *first,
                                const char *second, bool *is_first, struct be_err *err)
{
  *is_first = strcmp(value, first) == 0;
  if (*is_first || strcmp(value, second) == 0) return BE_OK;
  return be_fail(err, BE_WRONG_USE, "%s takes \"%s\" or \"%s\", not \"%s\"", name, first, second,
                 value);
}

/* A force above zero, with a unit or in the unit of the file. */
static enum be_status take_force(const char *value, const char *name, double *number,
                                 const struct be_unit **unit, struct be_err *err)
{
  size_t digits = be_number_scan(value, strlen(value), '.', number);
  const char *rest = value + digits + strspn(value + digits, " ");
  *unit = *rest ? be_unit_find_in(BE_FORCE, rest, strlen(rest)) : NULL;
  if (digits && *number > 0 && (!*rest || *unit)) return BE_OK;
  return be_fail(err, BE_WRONG_USE, "%s takes a force above 0 such as 0.05 or 0.05lb, not \"%s\"",
                 name, value);
}

static enum be_status take_look(int option, const char *value, struct be_looking *look,
                                struct be_err *err)
{
  enum be_status status = BE_OK;
  switch (option) {
  case OPT_CHART: look->chart_path = value; return BE_OK;
  case OPT_DEVICE_PEAK:
    return take_force(value, "--device-peak", &look->device_peak, &look->device_peak_unit, err);
  case OPT_RESOLUTION:
    return take_force(value, "--resolution", &look->resolution, &look->resolution_unit, err);
  case OPT_FILTER:
    status = take_number(value, "--filter-hz", &look->filter_Hz, err);
    if (status != BE_OK || look->filter_Hz > 0) return status;
    return be_fail(err, BE_WRONG_USE, "--filter-hz takes a frequency above 0, not \"%s\"", value);
  default: return bad_option(value, err);
  }
}

static enum be_status take_own(int option, const char *value, struct reading *reading,
                               struct be_err *err)
{
  struct be_trace_options *options = &reading->trace;
  bool first = false;
  enum be_status status = BE_OK;
  switch (option) {
  case OPT_COLUMNS: return take_columns(value, options, err);
  case OPT_FILE_UNIT: return take_unit(value, "--unit", BE_FORCE, &options->force_unit, err);
  case OPT_EXTENSION_UNIT:
    return take_unit(value, "--extension-unit", BE_LENGTH, &options->extension_unit, err);
  case OPT_TIME: return take_time(value, options, err);
  case OPT_SCALE: return take_number(value, "--scale", &options->force_scale_N, err);
  case OPT_SCALE_ZERO: return take_number(value, "--scale-zero", &options->force_zero, err);
  case OPT_SIGN:
    status = take_word(value, "--sign", "positive", "negative", &first, err);
    options->sign = first ? 1 : -1;
    return status;
  case OPT_DECIMAL:
    status = take_word(value, "--decimal", "comma", "point", &first, err);
    options->decimal = first ? ',' : '.';
    return status;
  case OPT_LAYOUT: reading->look.layout = value; return BE_OK;
  case OPT_KEEP_LAYOUT: reading->look.keep_layout = value; return BE_OK;
  case OPT_FORGET_LAYOUT: reading->forget = value; return BE_OK;
  case OPT_LAYOUTS: reading->layouts = true; return BE_OK;
  default: return take_look(option, value, &reading->look, err);
  }
}

static int run(int argc, char **argv)
{
  static const struct option options[] = {
      {"help", no_argument, NULL, OPT_HELP},
      {"json", no_argument, NULL, OPT_JSON},
      {"csv", no_argument, NULL, OPT_CSV},
      {"columns", required_argument, NULL, OPT_COLUMNS},
      {"unit", required_argument, NULL, OPT_FILE_UNIT},
      {"extension-unit", required_argument, NULL, OPT_EXTENSION_UNIT},
      {"time", required_argument, NULL, OPT_TIME},
      {"sign", required_argument, NULL, OPT_SIGN},
      {"decimal", required_argument, NULL, OPT_DECIMAL},
      {"scale", required_argument, NULL, OPT_SCALE},
      {"scale-zero", required_argument, NULL, OPT_SCALE_ZERO},
      {"chart", required_argument, NULL, OPT_CHART},
      {"filter-hz", required_argument, NULL, OPT_FILTER},
      {"device-peak", required_argument, NULL, OPT_DEVICE_PEAK},
      {"resolution", required_argument, NULL, OPT_RESOLUTION},
      {"layout", required_argument, NULL, OPT_LAYOUT},
      {"keep-layout", required_argument, NULL, OPT_KEEP_LAYOUT},
      {"forget-layout", required_argument, NULL, OPT_FORGET_LAYOUT},
      {"layouts", no_argument, NULL, OPT_LAYOUTS},
      {NULL, 0, NULL, 0}};
  struct reading reading = {0};
  struct asked asked = {0};
  struct be_err err = {0};
  bool help = false;
  for (int option; (option = next_option(argc, argv, options)) != -1;) {
    enum be_status status = option >= OPT_OWN ? take_own(option, optarg, &reading, &err)
                                              : take_option(option, optarg, &asked, &help, &err);
    if (status != BE_OK) return print_usage(&cmd_read, err.what);
  }
  if (help) return print_help(&cmd_read);
  bool listing = reading.layouts || reading.forget;
  if (optind == argc && !listing) return print_usage(&cmd_read, "give at least one trace file");
  if (optind < argc && listing) return print_usage(&cmd_read, "give no trace file with --layouts");
  struct be_doc *doc = NULL;
  enum be_status status =
      listing ? be_app_layouts(reading.forget, &doc, &err)
              : be_app_read((const char *const *)(argv + optind), (size_t)(argc - optind),
                            &reading.trace, &reading.look, &doc, &err);
  int exits = doc ? print_doc("read", doc, asked.edition) : 0;
  return status == BE_OK ? exits : print_error("read", &err);
}

const struct command cmd_read = {
    .name = "read",
    .does = "Read load traces without a book: what was found, and what the program took it for",
    .usage = "FILE... [options]",
    .options = "  --columns LIST     such as force=2,time=1,extension=3, counted from 1\n"
               "  --unit U           the unit of the force column: N, lb, kg, ...\n"
               "  --extension-unit U the unit of the extension column\n"
               "  --time U           the unit of the time column, or a rate such as 50Hz\n"
               "  --sign S           pulling is \"positive\" or \"negative\" in the file\n"
               "  --decimal M        the decimal mark is a \"comma\" or a \"point\"\n"
               "  --scale N          newtons of one volt, for a column in volts\n"
               "  --scale-zero V     the reading of no load, for a column in volts (0)\n"
               "  --chart FILE       write the trace with its marks as SVG; takes one trace file,\n"
               "                     whose tests are numbered when there are several\n"
               "  --filter-hz HZ     corner of the rig's single-pole low-pass filter\n"
               "  --device-peak F    the peak that the device held, such as 14.2 or 14.2lb\n"
               "  --resolution F     the smallest step of the device (as seen in the trace)\n"
               "  --keep-layout NAME save what is told of this file; files with the same columns\n"
               "                     are then recognised\n"
               "  --layout NAME      read by that saved layout, recognised or not\n"
               "  --layouts          list the saved layouts; --forget-layout NAME drops one\n"
               "  --json, --csv      one row a test, for a program\n",
    .example = "  bitterend read pull-17.csv\n"
               "  Prints the peak as the file writes it, where it stands, the first slip, how the\n"
               "  pull ended, and which columns were taken for what and why.",
    .run = run,
};
