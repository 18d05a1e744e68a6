/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/anatomy/picture.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double usual_width = 640, pad = 14, panel_gap = 18, thickest = 46, panel_least = 185;
enum { NUMBER_TEXT = 13, LETTER_TEXT = 16, STEP_TEXT = 14 };

/* What all panels of a drawing share. */
struct scene {
  const struct be_lines *lines;
  const struct be_anatomy_asked *asked;
  struct be_view view;
  const struct be_crossing *crossings;
  size_t crossings_count;
  struct be_picture_asked wanted;
  struct be_arena *arena;
  double left, right, bottom, top; /* with arrows and letters */
  double scale;                    /* px a unit */
};

/* Where a picture stands in the drawing: px of the left and of the top of its scene. */
struct panel {
  const struct scene *scene;
  const struct be_picture *picture;
  struct be_drawing *drawing;
  double x, y;
};

static double px_x(const struct panel *panel, double x)
{
  return panel->x + (x - panel->scene->left) * panel->scene->scale;
}

static double px_y(const struct panel *panel, double y)
{
  return panel->y + (panel->scene->top - y) * panel->scene->scale;
}

/* ---- tones ---- */

static bool is_hardware(const struct scene *scene, size_t line)
{
  return scene->wanted.hardware[line];
}

static enum be_tone tone_of(const struct scene *scene, size_t line)
{
  static const enum be_tone order[] = {BE_TONE_NYLON, BE_TONE_BRAID, BE_TONE_FLUOROCARBON};
  const enum be_tone *material = scene->asked->material;
  if (material && material[line] >= BE_TONE_NYLON && material[line] <= BE_TONE_FLUOROCARBON)
    return material[line];
  return order[line % 3];
}

static enum be_texture texture_of(const struct scene *scene, const struct be_span *span)
{
  if (span->to_come) return BE_TEXTURE_FAINT;
  if (is_hardware(scene, span->line)) return BE_TEXTURE_METAL;
  enum be_tone tone = tone_of(scene, span->line);
  return tone == BE_TONE_NYLON   ? BE_TEXTURE_SOLID
         : tone == BE_TONE_BRAID ? BE_TEXTURE_TWILL
                                 : BE_TEXTURE_DASH;
}

static char letter_of(const struct scene *scene, size_t line)
{
  if (scene->asked->letter) return scene->asked->letter[line];
  return is_hardware(scene, line) ? '\0' : (char)('A' + line);
}

/* ---- parts of a panel ---- */

static enum be_status draw_span(const struct panel *panel, const struct be_span *span,
                                struct be_err *err)
{
  double scale = panel->scene->scale;
  double *x = be_arena_alloc(panel->scene->arena, 2 * span->count * sizeof *x);
  if (!x) return be_fail(err, BE_NO_MEMORY, "no memory for the picture");
  double *y = x + span->count;
  for (size_t i = 0; i < span->count; i++) {
    x[i] = px_x(panel, span->points[i].x);
    y[i] = px_y(panel, span->points[i].y);
  }
  const struct be_tube tube = {
      .x = x,
      .y = y,
      .count = span->count,
      .width = span->width * scale,
      .gap = span->to_come ? 0 : span->width * BE_PICTURE_GAP / BE_PICTURE_TUBE * scale,
      .whole = {span->whole[0] * scale, span->whole[1] * scale},
      .start = span->drawn * scale,
      .tone = tone_of(panel->scene, span->line),
      .texture = texture_of(panel->scene, span),
  };
  be_drawing_tube(panel->drawing, &tube);
  return BE_OK;
}

/* A stroke from one place to another: so far outwards from an end, and so far to its left. */
static void end_points(const struct panel *panel, const struct be_end *end, const double out[2],
                       const double aside[2], double x[2], double y[2])
{
  for (int k = 0; k < 2; k++) {
    double ox = end->outward.x, oy = end->outward.y;
    x[k] = px_x(panel, end->at.x + out[k] * end->width * ox - aside[k] * end->width * oy);
    y[k] = px_y(panel, end->at.y + out[k] * end->width * oy + aside[k] * end->width * ox);
  }
}

/* Two slanting gaps close together. */
static void draw_break(const struct panel *panel, const struct be_end *end)
{
  double x[2], y[2], width = end->width * panel->scene->scale;
  for (int k = 0; k < 2; k++) {
    double middle = -0.5 - 0.34 * k;
    end_points(panel, end, (double[2]){middle - 0.2, middle + 0.2}, (double[2]){-0.62, 0.62}, x, y);
    be_drawing_rub_out(panel->drawing, x, y, 2, fmax(1.5, 0.13 * width));
  }
}

static void draw_end(const struct panel *panel, const struct be_end *end, bool lettered)
{
  double x[2], y[2], width = end->width * panel->scene->scale;
  if (end->cut) draw_break(panel, end);
  if (end->kind == BE_END_TAG) {
    end_points(panel, end, (double[2]){0, 0}, (double[2]){-0.68, 0.68}, x, y);
    be_drawing_stroke(panel->drawing, x, y, 2, fmin(4, fmax(2, 0.16 * width)), BE_TONE_INK, false);
  } else {
    end_points(panel, end, (double[2]){0.3, 1.25}, (double[2]){0, 0}, x, y);
    be_drawing_stroke(panel->drawing, x, y, 2, fmin(3, fmax(1.4, 0.1 * width)), BE_TONE_INK, true);
  }
  char letter[2] = {letter_of(panel->scene, end->line), '\0'};
  if (!lettered || !letter[0]) return;
  double out = end->kind == BE_END_TAG ? 0.35 : 1.25;
  double px = end->kind == BE_END_TAG ? 8 : 24; /* beyond bar, or the arrow's head */
  end_points(panel, end, (double[2]){out, out}, (double[2]){0, 0}, x, y);
  be_drawing_text(panel->drawing, x[0] + px * end->outward.x, y[0] - px * end->outward.y + 5.5,
                  LETTER_TEXT, letter, BE_ANCHOR_MIDDLE, BE_TONE_INK, true);
}

/* A letter stands once at each line: at a loaded end, or else at its first. */
static bool has_letter(const struct be_picture *picture, size_t e)
{
  const struct be_end *end = &picture->ends[e];
  for (size_t k = 0; k < picture->ends_count; k++) {
    const struct be_end *other = &picture->ends[k];
    if (k == e || other->line != end->line) continue;
    bool better = other->kind == BE_END_LOADED && end->kind != BE_END_LOADED;
    bool alike = (other->kind == BE_END_LOADED) == (end->kind == BE_END_LOADED);
    if (better || (alike && k < e)) return false;
  }
  return true;
}

static void draw_numbers(const struct panel *panel, const struct be_number_place *numbers)
{
  const struct scene *scene = panel->scene;
  for (size_t i = 0; i < scene->crossings_count; i++) {
    if (!numbers[i].leader) continue;
    double x[2] = {px_x(panel, scene->crossings[i].x), px_x(panel, numbers[i].x)};
    double y[2] = {px_y(panel, scene->crossings[i].y), px_y(panel, numbers[i].y)};
    be_drawing_rub_out(panel->drawing, x, y, 2, 3);
    be_drawing_stroke(panel->drawing, x, y, 2, 1, BE_TONE_INK, false);
  }
  for (size_t i = 0; i < scene->crossings_count; i++) {
    char text[24];
    snprintf(text, sizeof text, "%zu", i + 1);
    be_drawing_text(panel->drawing, px_x(panel, numbers[i].x), px_y(panel, numbers[i].y) + 4.5,
                    NUMBER_TEXT, text, BE_ANCHOR_MIDDLE, BE_TONE_INK, true);
  }
}

static enum be_status draw_panel(const struct panel *panel, bool lettered, struct be_err *err)
{
  const struct be_picture *picture = panel->picture;
  enum be_status status = BE_OK;
  for (size_t i = 0; i < picture->spans_count && status == BE_OK; i++)
    status = draw_span(panel, &picture->spans[i], err);
  for (size_t e = 0; e < picture->ends_count; e++)
    draw_end(panel, &picture->ends[e], lettered && has_letter(picture, e));
  return status;
}

/* ---- the scene ---- */

static enum be_status make(const struct scene *scene, const struct be_stretch *laid,
                           struct be_picture *picture, struct be_err *err)
{
  struct be_picture_asked wanted = scene->wanted;
  wanted.laid = laid;
  return be_picture_make(scene->lines, &scene->view, scene->crossings, scene->crossings_count,
                         &wanted, scene->arena, picture, err);
}

static enum be_status place_numbers(const struct scene *scene, const struct be_picture *picture,
                                    struct be_number_place **numbers, struct be_err *err)
{
  char widest[24];
  int digits = snprintf(widest, sizeof widest, "%zu", scene->crossings_count);
  return be_picture_numbers(picture, scene->crossings, scene->crossings_count,
                            (0.64 * NUMBER_TEXT * digits + 4) / scene->scale,
                            (NUMBER_TEXT + 2) / scene->scale, scene->arena, numbers, err);
}

static void take_in(struct scene *scene, double x, double y, double reach)
{
  scene->left = fmin(scene->left, x - reach);
  scene->right = fmax(scene->right, x + reach);
  scene->bottom = fmin(scene->bottom, y - reach);
  scene->top = fmax(scene->top, y + reach);
}

/* The frame round a picture with its arrows, letters (of so many units) and numbers, if any. */
static void frame(struct scene *scene, const struct be_picture *picture, double letter,
                  const struct be_number_place *numbers)
{
  scene->left = picture->left;
  scene->right = picture->right;
  scene->bottom = picture->bottom;
  scene->top = picture->top;
  for (size_t e = 0; e < picture->ends_count; e++) {
    const struct be_end *end = &picture->ends[e];
    double reach = end->kind == BE_END_LOADED ? 1.25 * end->width + 1.7 * letter : letter;
    take_in(scene, end->at.x + reach * end->outward.x, end->at.y + reach * end->outward.y,
            0.65 * letter);
  }
  for (size_t i = 0; numbers && i < scene->crossings_count; i++)
    take_in(scene, numbers[i].x, numbers[i].y, 0.6 * letter);
}

/* px a unit, so that the scene fills a width, is no higher than it is wide, and no line is fat. */
static double scale_for(const struct scene *scene, double width)
{
  double scale = width / fmax(scene->right - scene->left, scene->top - scene->bottom);
  double thick = 0;
  for (size_t l = 0; l < scene->lines->count; l++)
    if (!is_hardware(scene, l)) thick = fmax(thick, scene->lines->diameter[l]);
  return thick > 0 ? fmin(scale, thickest / thick) : scale;
}

/* Letters have a size in px, and need room in units: so twice, or with numbers a third time.
 * numbers: null where none are wanted. */
static enum be_status measure(struct scene *scene, double width, struct be_picture *picture,
                              struct be_number_place **numbers, struct be_err *err)
{
  enum be_status status = make(scene, NULL, picture, err);
  if (status != BE_OK) return status;
  frame(scene, picture, 0, NULL);
  scene->scale = scale_for(scene, width);
  frame(scene, picture, LETTER_TEXT / scene->scale, NULL);
  scene->scale = scale_for(scene, width);
  if (!numbers) return BE_OK;
  status = place_numbers(scene, picture, numbers, err);
  if (status != BE_OK) return status;
  frame(scene, picture, LETTER_TEXT / scene->scale, *numbers);
  scene->scale = scale_for(scene, width);
  return BE_OK;
}

/* ---- one picture, or a strip ---- */

static void say(const struct scene *scene, struct be_drawing *drawing)
{
  const struct be_anatomy_asked *asked = scene->asked;
  size_t lines = 0;
  for (size_t l = 0; l < scene->lines->count; l++) lines += !is_hardware(scene, l);
  if (asked->words) {
    be_drawing_twin(drawing, "%s", asked->words);
    return;
  }
  if (asked->steps)
    be_drawing_twin(drawing,
                    "The knot as it is tied, in %zu steps; what is still to come is faint. ",
                    asked->steps);
  be_drawing_twin(drawing, "%zu %s, %zu %s in this view.", lines, lines == 1 ? "line" : "lines",
                  scene->crossings_count, scene->crossings_count == 1 ? "crossing" : "crossings");
}

static enum be_status draw_one(struct scene *scene, double width, struct be_drawing **drawing,
                               struct be_err *err)
{
  struct be_picture picture;
  struct be_number_place *numbers = NULL;
  bool numbered = scene->asked->numbered;
  enum be_status status =
      measure(scene, width - 2 * pad, &picture, numbered ? &numbers : NULL, err);
  if (status != BE_OK) return status;
  double height = (scene->top - scene->bottom) * scene->scale + 2 * pad;
  *drawing = be_drawing_create(scene->asked->title, scene->asked->subtitle, width, ceil(height));
  double spare = width - (scene->right - scene->left) * scene->scale;
  const struct panel panel = {scene, &picture, *drawing, spare / 2, pad};
  status = draw_panel(&panel, true, err);
  if (status == BE_OK && numbers) draw_numbers(&panel, numbers);
  return status;
}

static enum be_status draw_strip(struct scene *scene, double width, struct be_drawing **drawing,
                                 struct be_err *err)
{
  size_t steps = scene->asked->steps, most = (size_t)((width - 2 * pad + panel_gap) / panel_least);
  size_t rows = (steps + most - 1) / most, columns = (steps + rows - 1) / rows;
  struct be_stretch *laid;
  struct be_picture picture;
  double wide = (width - 2 * pad - panel_gap * (double)(columns - 1)) / (double)columns;
  enum be_status status = measure(scene, wide, &picture, NULL, err);
  if (status == BE_OK)
    status = be_picture_steps(scene->lines, scene->crossings, scene->crossings_count,
                              &scene->wanted, steps, scene->arena, &laid, err);
  if (status != BE_OK) return status;
  double high = (scene->top - scene->bottom) * scene->scale + STEP_TEXT + 10 + panel_gap;
  double height = 2 * pad + high * (double)rows - panel_gap;
  *drawing = be_drawing_create(scene->asked->title, scene->asked->subtitle, width, ceil(height));
  double spare = wide - (scene->right - scene->left) * scene->scale;
  for (size_t s = 0; s < steps && status == BE_OK; s++) {
    double x = pad + (double)(s % columns) * (wide + panel_gap);
    double y = pad + (double)(s / columns) * high;
    char text[24];
    snprintf(text, sizeof text, "%zu", s + 1);
    be_drawing_text(*drawing, x, y + STEP_TEXT - 2, STEP_TEXT, text, BE_ANCHOR_START, BE_TONE_MUTED,
                    false);
    status = make(scene, &laid[s * scene->lines->count], &picture, err);
    const struct panel panel = {scene, &picture, *drawing, x + spare / 2, y + STEP_TEXT + 10};
    if (status == BE_OK) status = draw_panel(&panel, s + 1 == steps, err);
  }
  return status;
}

enum be_status be_anatomy_drawing(const struct be_lines *lines, const struct be_view *view,
                                  const struct be_anatomy_asked *asked, struct be_drawing **drawing,
                                  struct be_err *err)
{
  *drawing = NULL;
  double width = asked->width > 0 ? asked->width : usual_width;
  if (!(width >= 200 && width <= 4000))
    return be_fail(err, BE_WRONG_USE, "a picture is 200 to 4000 px wide, not %g", width);
  if (asked->steps > BE_ANATOMY_STEPS_MAX)
    return be_fail(err, BE_TOO_LARGE, "a sequence has %d steps at most, not %zu",
                   BE_ANATOMY_STEPS_MAX, asked->steps);
  struct scene scene = {.lines = lines, .asked = asked, .view = *view, .arena = be_arena_create()};
  struct be_crossing *crossings = NULL;
  if (!scene.arena) return be_fail(err, BE_NO_MEMORY, "no memory for the picture");
  scene.wanted.whole = asked->whole;
  for (size_t l = 0; l < lines->count; l++) {
    if (asked->hardware) scene.wanted.hardware[l] = asked->hardware[l];
    if (asked->loaded) memcpy(scene.wanted.loaded[l], asked->loaded[l], sizeof asked->loaded[l]);
  }
  enum be_status status =
      be_crossings_near(lines, &scene.view, scene.arena, &crossings, &scene.crossings_count, err);
  scene.crossings = crossings;
  if (status == BE_OK)
    status = asked->steps ? draw_strip(&scene, width, drawing, err)
                          : draw_one(&scene, width, drawing, err);
  if (status == BE_OK) say(&scene, *drawing);
  be_arena_free(scene.arena);
  if (status == BE_OK) return BE_OK;
  be_drawing_free(*drawing);
  *drawing = NULL;
  return status;
}

enum be_status be_anatomy_svg(const struct be_lines *lines, const struct be_view *view,
                              const struct be_anatomy_asked *asked, struct be_buf *svg,
                              struct be_err *err)
{
  struct be_drawing *drawing;
  enum be_status status = be_anatomy_drawing(lines, view, asked, &drawing, err);
  if (status != BE_OK) return status;
  status = be_drawing_svg(drawing, asked->how, asked->number, svg, err);
  be_drawing_free(drawing);
  return status;
}

