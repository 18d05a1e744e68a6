/* SPDX-License-Identifier: GPL-3.0-or-later */
/* bench_film BUILD_DIR [KIND]: frames of an overlay a second of one core, drawn and as each kind,
 * and the time of processor and clock that a reveal takes. Times of the processor, for the machine
 * may be shared; median of several. */
#include "app/clips/overlay.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { TIMES = 3, WIDE = 1920, HIGH = 1080 };

static double processor_s(void)
{
  return (double)clock() / CLOCKS_PER_SEC;
}

static int compare(const void *a, const void *b)
{
  double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

static enum be_status drop(void *context, const void *bytes, size_t size)
{
  (void)bytes;
  *(size_t *)context += size;
  return BE_OK;
}

static void draw(const struct overlay *overlay, struct easel *easel, double at_s)
{
  be_overlay_kind.grow(overlay, easel, at_s);
  cairo_set_operator(easel->frame, CAIRO_OPERATOR_SOURCE);
  cairo_set_source_surface(easel->frame, easel->ground_surface, 0, 0);
  cairo_paint(easel->frame);
  cairo_set_operator(easel->frame, CAIRO_OPERATOR_OVER);
  be_overlay_kind.show(overlay, easel, at_s);
  cairo_surface_flush(easel->frame_surface);
}

/* kind BE_FILM_KINDS: only drawn. Frames a second. */
static double run(const struct be_film *film, const struct overlay *overlay, int kind)
{
  struct easel easel = {0};
  struct be_coder *coder = NULL;
  struct be_buf png;
  size_t bytes = 0, frames = kind == BE_FILM_PRORES ? 30 : 120;
  const struct be_film_form form = {(enum be_film_kind)kind, WIDE, HIGH, {30, 1}, frames};
  easel.frame_surface = cairo_image_surface_create(CAIRO_FORMAT_ARGB32, WIDE, HIGH);
  easel.ground_surface = cairo_image_surface_create(CAIRO_FORMAT_ARGB32, WIDE, HIGH);
  easel.frame = cairo_create(easel.frame_surface);
  easel.ground = cairo_create(easel.ground_surface);
  const unsigned char *pixels = cairo_image_surface_get_data(easel.frame_surface);
  double began = processor_s();
  be_overlay_kind.start(overlay, &easel);
  if (kind < BE_FILM_PNG) film->code_begin(&form, drop, &bytes, &coder, NULL);
  for (size_t i = 0; i < frames; i++) {
    draw(overlay, &easel, (double)i / 30);
    if (coder) film->code_frame(coder, pixels, WIDE * 4, NULL);
    if (kind != BE_FILM_PNG) continue;
    be_buf_init(&png, 1 << 26);
    be_film_png(pixels, WIDE * 4, WIDE, HIGH, &png, NULL);
    bytes += png.size;
    be_buf_free(&png);
  }
  if (coder) film->code_end(coder, NULL);
  double rate = (double)frames / (processor_s() - began);
  if (coder) film->code_drop(coder);
  cairo_destroy(easel.frame);
  cairo_destroy(easel.ground);
  cairo_surface_destroy(easel.frame_surface);
  cairo_surface_destroy(easel.ground_surface);
  return rate;
}

static void reveal(const char *book, const char *build)
{
  char path[600];
  struct be_err err = {0};
  snprintf(path, sizeof path, "%s/bench-reveal.mp4", build);
  const struct be_publishing asked = {.reveal = "standings", .clip_path = path};
  const struct be_answering how = {0};
  for (int i = 0; i < 3; i++) {
    struct be_doc *doc = NULL;
    double began = processor_s(), clock_s = be_clock_s();
    if (be_app_publish(book, &asked, &how, &doc, &err) != BE_OK) printf("%s\n", err.what);
    printf("reveal, with reading the book: %.2f s of processors, %.2f s\n", processor_s() - began,
           be_clock_s() - clock_s);
    be_doc_free(doc);
  }
}

int main(int argc, char **argv)
{
  static const char *const names[] = {"qtrle", "vp9", "prores", "h264", "png", "drawn only"};
  static const int order[] = {BE_FILM_KINDS, BE_FILM_QTRLE, BE_FILM_PNG,
                              BE_FILM_H264,  BE_FILM_VP9,   BE_FILM_PRORES};
  char book[600];
  struct survey survey;
  struct overlay overlay;
  const struct be_film *film;
  struct be_err err = {0};
  const struct be_answering how = {0};
  setvbuf(stdout, NULL, _IOLBF, 0);
  snprintf(book, sizeof book, "%s/demo.book", argc > 1 ? argv[1] : "build");
  struct be_arena *arena = be_arena_create();
  struct be_doc *doc = be_doc_create("b", "b");
  if (be_survey_read(book, &how, arena, &survey, &err) != BE_OK || be_font_ready(&err) != BE_OK ||
      be_film_open(&film, &err) != BE_OK ||
      be_overlay_make(&survey, "K117", WIDE, HIGH, doc, &overlay, &err) != BE_OK) {
    fprintf(stderr, "%s\n", err.what);
    return 1;
  }
  for (int k = 0; k <= BE_FILM_KINDS; k++) {
    int kind = order[k];
    double rates[TIMES];
    if (argc > 2 && strcmp(argv[2], names[kind == BE_FILM_KINDS ? 5 : kind]) != 0) continue;
    for (int i = 0; i < TIMES; i++) rates[i] = run(film, &overlay, kind);
    qsort(rates, TIMES, sizeof *rates, compare);
    printf("overlay of %d by %d, %s: %.0f frames a second of one core (%.0f to %.0f)\n", WIDE, HIGH,
           names[kind == BE_FILM_KINDS ? 5 : kind], rates[TIMES / 2], rates[0], rates[TIMES - 1]);
  }
  if (argc < 3 || strcmp(argv[2], "reveal") == 0) reveal(book, argc > 1 ? argv[1] : "build");
  be_doc_free(doc);
  be_arena_free(arena);
  return 0;
}
