/* SPDX-License-Identifier: GPL-3.0-or-later */
/* bench_figures BOOK [RUNS]: how long each figure of a book takes as SVG, and as PNG of 1920 x 1080
 * px, in time of the processor; of every kind the median, and the slowest. Aims: 5 ms, and 60 ms
 * with its SVG. */
#include "app/figures/gallery.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { TIMES_MAX = 20000 };

static void must(enum be_status status, const struct be_err *err)
{
  if (status == BE_OK) return;
  fprintf(stderr, "bench_figures: %s\n", err->what);
  exit(1);
}

/* Time of the processor, as others may want it too. */
static double processor_s(void)
{
  return (double)clock() / CLOCKS_PER_SEC;
}

static int by_size(const void *a, const void *b)
{
  double x = *(const double *)a, y = *(const double *)b;
  return x < y ? -1 : x > y;
}

static void measure(const struct be_figure *figure, double *svg_ms, double *png_ms)
{
  struct be_err err = {0};
  struct be_buf svg, png;
  be_buf_init(&svg, 1 << 26);
  be_buf_init(&png, 1 << 26);
  double start = processor_s();
  must(be_figure_svg(figure, BE_FRAME_WIDE, BE_DRAWN_LIGHT, 1, &svg, &err), &err);
  *svg_ms = 1e3 * (processor_s() - start);
  must(be_png(svg.data, svg.size, 1920, &png, &err), &err);
  *png_ms = 1e3 * (processor_s() - start);
  be_buf_free(&svg);
  be_buf_free(&png);
}

static void measure_kind(const struct gallery *gallery, size_t from, size_t past, size_t runs)
{
  static double svg_ms[TIMES_MAX], png_ms[TIMES_MAX];
  size_t n = 0;
  for (size_t run = 0; run < runs; run++)
    for (size_t i = from; i < past && n < TIMES_MAX; i++, n++)
      measure(gallery->list[i].figure, &svg_ms[n], &png_ms[n]);
  qsort(svg_ms, n, sizeof *svg_ms, by_size);
  qsort(png_ms, n, sizeof *png_ms, by_size);
  printf("| %s | %zu | %.2f (to %.2f) | %.1f (to %.1f) |\n", gallery->list[from].kind, past - from,
         svg_ms[n / 2], svg_ms[n - 1], png_ms[n / 2], png_ms[n - 1]);
}

int main(int argc, char **argv)
{
  const struct be_answering how = {0};
  struct be_err err = {0};
  struct survey survey;
  struct gallery gallery = {.survey = &survey};
  struct be_arena *arena = be_arena_create();
  if (argc < 2 || !arena) return 2;
  size_t runs = argc > 2 ? (size_t)strtoul(argv[2], NULL, 10) : 1;
  must(be_survey_read(argv[1], &how, arena, &survey, &err), &err);
  must(be_book_open(argv[1], false, &gallery.book, &err), &err);
  must(be_gallery_fill(&gallery, &err), &err);
  printf("| kind | figures | SVG (ms) | PNG with it (ms) |\n|---|---|---|---|\n");
  for (size_t i = 0, past; i < gallery.count; i = past) {
    for (past = i; past < gallery.count; past++)
      if (strcmp(gallery.list[past].kind, gallery.list[i].kind) != 0) break;
    measure_kind(&gallery, i, past, runs);
  }
  be_gallery_empty(&gallery);
  be_book_close(gallery.book);
  be_arena_free(arena);
  return 0;
}
