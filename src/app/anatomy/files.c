/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The picture of a tie and its shape, as files and for pages. */
#include "app/anatomy/anatomy.h"
#include "app/anatomy/picture.h"
#include "app/survey/survey.h"
#include "app/written.h"

#include <string.h>

/* Nylon, braid and fluorocarbon, as in pictures. */
static const uint32_t tones[] = {0x2273A8, 0x8A5A00, 0x46184F}, metal = 0x5B6166;
static const double unit_m = 0.001; /* a diameter of the first line */

static const struct be_ours svg_picture = {.what = "picture", .begins = "<svg"},
                            png_picture = {.what = "picture",
                                           .begins = "\x89PNG",
                                           .holds = {"tEXtSoftware", "bitterend"}},
                            pdf_picture = {.what = "picture", .begins = "%PDF"},
                            stl_shape = {.what = "shape", .begins = "STL mm"},
                            glb_shape = {.what = "shape", .begins = "glTF"},
                            point_table = {.what = "table of points", .begins = "# points"};

enum { SHAPE_MAX = 256 * 1024 * 1024, SIDES = 16, PNG_WIDTH = 1200, SVG_WIDTH = 640 };

enum be_status be_anatomy_picture(const struct anatomy *anatomy, const struct looks *looks,
                                  struct be_buf *svg, struct be_err *err)
{
  const struct be_tie *tie = &anatomy->tie;
  const struct seen *seen = &anatomy->seen;
  const char *subtitle = be_arena_format(anatomy->arena, "%zu crossing%s %s", seen->count,
                                         seen->count == 1 ? "" : "s", seen->words);
  const struct be_anatomy_asked wanted = {.title = anatomy->full,
                                          .subtitle = looks->steps ? "as it is tied" : subtitle,
                                          .loaded = tie->loaded,
                                          .hardware = tie->hardware,
                                          .letter = tie->letter,
                                          .material = looks->material,
                                          .numbered = looks->numbered,
                                          .steps = looks->steps,
                                          .width = looks->width,
                                          .how = looks->how,
                                          .number = looks->number};
  if (!subtitle) return be_no_memory(err);
  return be_anatomy_svg(&tie->lines, &seen->view, &wanted, svg, err);
}

static enum be_status write_picture(const struct anatomy *anatomy, const struct be_anatomy *asked,
                                    const char *path, char kind, struct be_err *err)
{
  double width = asked->width ? (double)asked->width : kind == 'n' ? PNG_WIDTH : SVG_WIDTH;
  const struct looks looks = {.numbered = true,
                              .steps = asked->steps,
                              .width = kind == 's' ? width : SVG_WIDTH,
                              .how = kind == 's' ? BE_DRAWN_FILE : BE_DRAWN_LIGHT,
                              .number = 1};
  struct be_buf svg, bytes;
  if (!path) return BE_OK;
  be_buf_init(&svg, SHAPE_MAX);
  be_buf_init(&bytes, SHAPE_MAX);
  enum be_status status = be_anatomy_picture(anatomy, &looks, &svg, err);
  if (status == BE_OK && kind == 's') status = be_write_ours(path, &svg_picture, &svg, err);
  if (status == BE_OK && kind == 'n') status = be_png(svg.data, svg.size, width, &bytes, err);
  if (status == BE_OK && kind == 'n') status = be_write_ours(path, &png_picture, &bytes, err);
  if (status == BE_OK && kind == 'p')
    status = be_pdf(svg.data, svg.size, width, anatomy->full, &bytes, err);
  if (status == BE_OK && kind == 'p') status = be_write_ours(path, &pdf_picture, &bytes, err);
  be_buf_free(&svg);
  be_buf_free(&bytes);
  return status;
}

static enum be_status write_shape(const struct anatomy *anatomy, const char *stl, const char *glb,
                                  struct be_err *err)
{
  struct be_solid solid;
  struct be_buf bytes;
  const char *names[BE_LINES_MAX];
  uint32_t colours[BE_LINES_MAX];
  if (!stl && !glb) return BE_OK;
  for (size_t i = 0; i < anatomy->tie.lines.count; i++) {
    names[i] = be_strand_words(anatomy, i);
    colours[i] = anatomy->tie.hardware[i] ? metal : tones[i % 3];
  }
  be_buf_init(&bytes, SHAPE_MAX);
  enum be_status status = be_solid_make(&anatomy->tie.lines, SIDES, anatomy->arena, &solid, err);
  if (status == BE_OK && stl) be_solid_stl(&solid, anatomy->full, 1, &bytes);
  if (status == BE_OK && stl) status = be_write_ours(stl, &stl_shape, &bytes, err);
  be_buf_free(&bytes);
  be_buf_init(&bytes, SHAPE_MAX);
  if (status == BE_OK && glb) status = be_solid_gltf(&solid, names, colours, unit_m, &bytes, err);
  if (status == BE_OK && glb) status = be_write_ours(glb, &glb_shape, &bytes, err);
  be_buf_free(&bytes);
  return status;
}

static enum be_status write_points(const struct anatomy *anatomy, const char *path,
                                   struct be_err *err)
{
  struct be_buf text;
  if (!path) return BE_OK;
  be_buf_init(&text, SHAPE_MAX);
  be_buf_format(&text, "# points of the %s\n", anatomy->full);
  be_points_write(&anatomy->tie.lines, &text);
  enum be_status status = be_write_ours(path, &point_table, &text, err);
  be_buf_free(&text);
  return status;
}

enum be_status be_anatomy_files(const struct anatomy *anatomy, const struct be_anatomy *asked,
                                struct be_err *err)
{
  enum be_status status = write_picture(anatomy, asked, asked->svg_path, 's', err);
  if (status == BE_OK) status = write_picture(anatomy, asked, asked->png_path, 'n', err);
  if (status == BE_OK) status = write_picture(anatomy, asked, asked->pdf_path, 'p', err);
  if (status == BE_OK) status = write_shape(anatomy, asked->stl_path, asked->glb_path, err);
  return status == BE_OK ? write_points(anatomy, asked->points_path, err) : status;
}
