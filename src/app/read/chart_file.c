/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/read/found.h"

#include "chart/chart.h"

#include <stdio.h>
#include <string.h>

enum { CHART_MAX = 64 * 1024 * 1024, CHART_START = 64, PATH_ROOM = 4096 };

/* "pull.svg", or "pull-3.svg" for the third of several tests. */
static enum be_status name_of(char *name, size_t size, const char *path, size_t number,
                              struct be_err *err)
{
  const char *dot = strrchr(path, '.'), *slash = strrchr(path, '/');
  if (!dot || (slash && dot < slash)) dot = path + strlen(path);
  int put = number ? snprintf(name, size, "%.*s-%zu%s", (int)(dot - path), path, number, dot)
                   : snprintf(name, size, "%s", path);
  if (put >= 0 && (size_t)put < size) return BE_OK;
  return be_fail(err, BE_WRONG_USE, "the name of the chart is too long");
}

static enum be_status may_write(const char *path, const char *trace_path, struct be_err *err)
{
  char start[CHART_START + 1];
  size_t got = 0;
  enum be_status status = BE_OK;
  if (be_file_same(trace_path, path))
    status = be_fail(err, BE_WRONG_USE, "the chart would be written over the trace");
  else if (be_file_exists(path)) {
    status = be_file_start(path, start, CHART_START, &got, err);
    start[got] = '\0';
    if (status == BE_OK && got && strncmp(start, "<svg", 4) != 0)
      status = be_fail(err, BE_WRONG_USE, "the file exists, and it is no chart of this program");
  }
  if (status == BE_OK) return BE_OK;
  be_fail_at(err, path, 0, 0);
  be_fail_remedy(err, "give another name with --chart, or move the file away");
  return status;
}

enum be_status be_chart_write(const struct be_figure *figure, const char *path, size_t number,
                              const char *trace_path, struct be_err *err)
{
  char name[PATH_ROOM];
  struct be_buf svg;
  be_buf_init(&svg, CHART_MAX);
  enum be_status status = name_of(name, sizeof name, path, number, err);
  if (status == BE_OK) status = may_write(name, trace_path, err);
  if (status == BE_OK) status = be_figure_svg(figure, true, 1, &svg, err);
  if (status == BE_OK) status = be_file_write(name, svg.data, svg.size, err);
  be_buf_free(&svg);
  return status;
}
