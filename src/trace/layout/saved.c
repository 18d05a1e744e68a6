/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Layouts that the user saved: as text, one section each, and recognised by the
 * names of their columns.
 *
 *   [deck scale]
 *   delimiter = semicolon
 *   decimal = comma
 *   column = t
 *   column = kanal 2
 *   force = 2
 *   unit = kg */
#include "trace/layout/layout.h"

#include <stdio.h>
#include <string.h>

enum { LAYOUTS_MAX = 1000, VALUE_MAX = 200 };

static const struct {
  char c;
  const char *word;
} marks[] = {{',', "comma"}, {';', "semicolon"}, {'\t', "tab"}, {' ', "spaces"}, {'.', "point"}};

static const char *mark_word(char c)
{
  for (size_t i = 0; i < sizeof marks / sizeof marks[0]; i++)
    if (marks[i].c == c) return marks[i].word;
  return "";
}

/* ---- writing ---- */

static void write_number(struct be_buf *text, const char *key, double value)
{
  if (value < 0 || value > 0) be_buf_format(text, "%s = %.17g\n", key, value);
}

static void write_unit(struct be_buf *text, const char *key, const struct be_unit *unit)
{
  if (unit) be_buf_format(text, "%s = %s\n", key, unit->name);
}

void be_trace_saved_set(struct be_trace_saved *saved, const char *name,
                        const struct be_trace_layout *layout, const struct be_trace_options *told)
{
  *saved = (struct be_trace_saved){.delimiter = layout->delimiter,
                                   .decimal = layout->decimal,
                                   .columns_count = layout->columns_count,
                                   .told = *told};
  saved->told.layouts = NULL;
  snprintf(saved->name, sizeof saved->name, "%s", name);
  for (size_t c = 0; c < layout->columns_count; c++)
    memcpy(saved->columns[c], layout->columns[c].name, sizeof saved->columns[c]);
}

void be_trace_saved_write(struct be_buf *text, const struct be_trace_saved *saved)
{
  const struct be_trace_options *told = &saved->told;
  be_buf_format(text, "[%s]\ndelimiter = %s\ndecimal = %s\n", saved->name,
                mark_word(saved->delimiter), mark_word(saved->decimal));
  for (size_t c = 0; c < saved->columns_count; c++)
    be_buf_format(text, "column = %s\n", saved->columns[c]);
  write_number(text, "force", (double)told->force_column);
  write_number(text, "time", (double)told->time_column);
  write_number(text, "extension", (double)told->extension_column);
  write_unit(text, "unit", told->force_unit);
  write_unit(text, "time-unit", told->time_unit);
  write_unit(text, "extension-unit", told->extension_unit);
  if (told->sign) be_buf_format(text, "sign = %s\n", told->sign > 0 ? "positive" : "negative");
  if (told->decimal) be_buf_format(text, "told-decimal = %s\n", mark_word(told->decimal));
  write_number(text, "rate-hz", told->rate_Hz);
  write_number(text, "scale", told->force_scale_N);
  write_number(text, "scale-zero", told->force_zero);
}

/* ---- reading ---- */

static bool take_column(struct be_trace_saved *saved, const char *value)
{
  if (saved->columns_count == BE_TRACE_COLUMNS_MAX) return false;
  snprintf(saved->columns[saved->columns_count++], sizeof saved->columns[0], "%s", value);
  return true;
}

static bool take_mark(const char *value, char *mark)
{
  for (size_t i = 0; i < sizeof marks / sizeof marks[0]; i++)
    if (strcmp(marks[i].word, value) == 0) *mark = marks[i].c;
  return *mark != '\0';
}

static bool take_number(const char *value, double least, double most, double *number)
{
  size_t size = strlen(value);
  return size > 0 && be_number_scan(value, size, '.', number) == size && *number >= least &&
         *number <= most;
}

static bool take_index(const char *value, size_t *column)
{
  double number = 0;
  bool good = take_number(value, 1, BE_TRACE_COLUMNS_MAX, &number);
  *column = good ? (size_t)number : 0;
  return good;
}

static bool take_unit(const char *value, enum be_dimension dimension, const struct be_unit **unit)
{
  *unit = be_unit_find_in(dimension, value, strlen(value));
  return *unit != NULL;
}

static bool take_sign(const char *value, int *sign)
{
  *sign = strcmp(value, "positive") == 0 ? 1 : strcmp(value, "negative") == 0 ? -1 : 0;
  return *sign != 0;
}

/* False when the key is not known or its value is not one of its kind. */
static bool take(struct be_trace_saved *saved, const char *key, const char *value)
{
  struct be_trace_options *told = &saved->told;
  if (!strcmp(key, "column")) return take_column(saved, value);
  if (!strcmp(key, "delimiter")) return take_mark(value, &saved->delimiter);
  if (!strcmp(key, "decimal")) return take_mark(value, &saved->decimal);
  if (!strcmp(key, "told-decimal")) return take_mark(value, &told->decimal);
  if (!strcmp(key, "force")) return take_index(value, &told->force_column);
  if (!strcmp(key, "time")) return take_index(value, &told->time_column);
  if (!strcmp(key, "extension")) return take_index(value, &told->extension_column);
  if (!strcmp(key, "unit")) return take_unit(value, BE_FORCE, &told->force_unit);
  if (!strcmp(key, "time-unit")) return take_unit(value, BE_TIME, &told->time_unit);
  if (!strcmp(key, "extension-unit")) return take_unit(value, BE_LENGTH, &told->extension_unit);
  if (!strcmp(key, "sign")) return take_sign(value, &told->sign);
  if (!strcmp(key, "rate-hz")) return take_number(value, 1e-9, 1e9, &told->rate_Hz);
  if (!strcmp(key, "scale")) return take_number(value, -1e15, 1e15, &told->force_scale_N);
  if (!strcmp(key, "scale-zero")) return take_number(value, -1e15, 1e15, &told->force_zero);
  return false;
}

static enum be_status start_section(struct be_trace_layouts *layouts, struct be_span name,
                                    struct be_err *err)
{
  size_t capacity = be_block_size(layouts->saved) / sizeof *layouts->saved;
  void *saved = layouts->saved;
  enum be_status status =
      be_grow(&saved, &capacity, sizeof *layouts->saved, layouts->count + 1, LAYOUTS_MAX, err);
  layouts->saved = saved;
  if (status != BE_OK) return status;
  struct be_trace_saved *now = &layouts->saved[layouts->count++];
  memset(now, 0, sizeof *now);
  be_span_copy(name, now->name, sizeof now->name);
  return BE_OK;
}

static enum be_status wrong_line(struct be_span line, size_t number, struct be_err *err)
{
  be_fail(err, BE_BAD_INPUT, "\"%.*s\" says nothing of a layout",
          (int)(line.size > 60 ? 60 : line.size), line.text);
  be_fail_at(err, NULL, number, 0);
  return be_fail_remedy(err, "mend or remove that line of the saved layouts");
}

static enum be_status read_line(struct be_trace_layouts *layouts, struct be_span line,
                                size_t number, struct be_err *err)
{
  char key[32], value[VALUE_MAX];
  line = be_span_trim(line);
  if (line.size == 0 || line.text[0] == '#') return BE_OK;
  if (line.text[0] == '[' && line.size > 2 && line.text[line.size - 1] == ']')
    return start_section(layouts, (struct be_span){line.text + 1, line.size - 2}, err);
  const char *equals = memchr(line.text, '=', line.size);
  if (!equals || layouts->count == 0) {
    wrong_line(line, number, err);
    return BE_BAD_INPUT;
  }
  size_t left = (size_t)(equals - line.text);
  be_span_copy(be_span_trim((struct be_span){line.text, left}), key, sizeof key);
  be_span_copy(be_span_trim((struct be_span){equals + 1, line.size - left - 1}), value,
               sizeof value);
  if (take(&layouts->saved[layouts->count - 1], key, value)) return BE_OK;
  wrong_line(line, number, err);
  return BE_BAD_INPUT;
}

enum be_status be_trace_layouts_parse(const char *text, size_t size, struct be_trace_layouts **out,
                                      struct be_err *err)
{
  struct be_lines lines = {text, text + size, 0, '\n'};
  struct be_span line;
  *out = NULL;
  struct be_trace_layouts *layouts = be_alloc_array(1, sizeof *layouts);
  enum be_status status =
      layouts ? BE_OK : be_fail(err, BE_NO_MEMORY, "no memory for the saved layouts");
  while (status == BE_OK && be_lines_next(&lines, &line))
    status = read_line(layouts, line, lines.number, err);
  if (status == BE_OK) *out = layouts;
  else be_trace_layouts_free(layouts);
  return status;
}

void be_trace_layouts_free(struct be_trace_layouts *layouts)
{
  if (!layouts) return;
  be_free(layouts->saved);
  be_free(layouts);
}

/* ---- recognising ---- */

bool be_layout_fits(const struct be_trace_saved *saved, const struct be_block *block)
{
  char delimiter = block->columns_count == 1 ? ',' : block->delimiter;
  if (saved->delimiter != delimiter || saved->decimal != block->decimal ||
      saved->columns_count != block->columns_count)
    return false;
  for (size_t c = 0; c < block->columns_count; c++)
    if (strcmp(saved->columns[c], block->headings[c].name) != 0) return false;
  return true;
}

bool be_trace_told(const struct be_trace_options *options)
{
  bool numbers = options->rate_Hz > 0 || options->force_scale_N < 0 || options->force_scale_N > 0 ||
                 options->force_zero < 0 || options->force_zero > 0;
  return numbers || options->force_column || options->time_column || options->extension_column ||
         options->force_unit || options->time_unit || options->extension_unit || options->sign ||
         options->decimal;
}
