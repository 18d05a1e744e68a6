/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/read/found.h"

#include "app/written.h"
#include "chart/chart.h"

#include <stdio.h>
#include <string.h>

enum { CHART_MAX = 64 * 1024 * 1024, PATH_ROOM = 4096 };

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

enum be_status be_chart_write(const struct be_figure *figure, const char *path, size_t number,
                              const char *trace_path, struct be_err *err)
{
  char name[PATH_ROOM];
  struct be_buf svg;
  be_buf_init(&svg, CHART_MAX);
  enum be_status status = name_of(name, sizeof name, path, number, err);
  const struct be_ours chart = {.what = "chart",
                                .begins = "<svg",
                                .spared = trace_path,
                                .spared_what = "trace",
                                .option = "--chart"};
  if (status == BE_OK) status = be_figure_svg(figure, BE_FRAME_SCREEN, BE_DRAWN_FILE, 1, &svg, err);
  if (status == BE_OK) status = be_write_ours(name, &chart, &svg, err);
  be_buf_free(&svg);
  return status;
}
