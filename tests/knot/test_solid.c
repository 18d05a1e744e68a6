/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "arena.h"
#include "knot/curve/vector.h"
#include "knot/solid/solid.h"
#include "test.h"

#include <jansson.h>

static const double pi = 3.14159265358979323846;
static struct be_curve curve_of(size_t count, bool closed, struct be_point (*at)(double))
{
  struct be_curve curve = {be_arena_alloc(arena, count * sizeof *curve.points), count, closed};
  assert_non_null(curve.points);
  for (size_t i = 0; i < count; i++)
    curve.points[i] = at((double)i / (double)(closed ? count : count - 1));
  return curve;
}

static struct be_point on_ring(double t)
{
  return (struct be_point){3 * cos(2 * pi * t), 3 * sin(2 * pi * t), 0.5};
}

static struct be_point on_trefoil(double t)
{
  double a = 2 * pi * t, r = 4 + 1.7 * cos(3 * a);
  return (struct be_point){r * cos(2 * a), r * sin(2 * a), 1.7 * sin(3 * a)};
}

static struct be_point on_helix(double t)
{
  return (struct be_point){4 * cos(5 * t), 4 * sin(5 * t), 7 * t};
}

static struct be_point upright(double t)
{
  return (struct be_point){0.3, -0.2, 5.5 * t};
}

static struct be_solid solid_of(const struct be_lines *lines, unsigned sides)
{
  struct be_solid solid;
  assert_int_equal(be_solid_make(lines, sides, arena, &solid, NULL), BE_OK);
  return solid;
}

/* Every directed edge once, and once the other way: one sorted list is the other. */
static int by_value(const void *a, const void *b)
{
  uint64_t x = *(const uint64_t *)a, y = *(const uint64_t *)b;
  return x < y ? -1 : x > y;
}

static void assert_watertight(const struct be_solid *solid)
{
  size_t count = 3 * solid->triangles;
  uint64_t *to = calloc(count, sizeof *to), *fro = calloc(count, sizeof *fro);
  assert_true(to && fro);
  for (size_t t = 0; t < solid->triangles; t++)
    for (int k = 0; k < 3; k++) {
      uint64_t a = solid->triangle[t][k], b = solid->triangle[t][(k + 1) % 3];
      assert_true(a < solid->vertices && b < solid->vertices && a != b);
      to[3 * t + (size_t)k] = a << 32 | b;
      fro[3 * t + (size_t)k] = b << 32 | a;
    }
  qsort(to, count, sizeof *to, by_value);
  qsort(fro, count, sizeof *fro, by_value);
  for (size_t i = 1; i < count; i++) assert_true(to[i] != to[i - 1]);
  assert_memory_equal(to, fro, count * sizeof *to);
  free(to);
  free(fro);
}

/* Normals are 1 long and on the outer side of each triangle that they belong to. */
static void assert_outwards(const struct be_solid *solid)
{
  for (size_t t = 0; t < solid->triangles; t++) {
    const uint32_t *c = solid->triangle[t];
    struct be_point a = solid->vertex[c[0]];
    struct be_point flat = cross(minus(solid->vertex[c[1]], a), minus(solid->vertex[c[2]], a));
    for (int k = 0; k < 3; k++) {
      struct be_point normal = solid->normal[c[k]];
      assert_near(norm(normal), 1, 1e-9);
      assert_true(dot(normal, flat) > 0);
    }
  }
}

/* By the divergence theorem. */
static double volume_of(const struct be_solid *solid, size_t g)
{
  double sum = 0;
  const struct be_solid_group *group = &solid->group[g];
  for (size_t t = group->triangle; t < group->triangle + group->triangles; t++) {
    const uint32_t *c = solid->triangle[t];
    sum += dot(solid->vertex[c[0]], cross(solid->vertex[c[1]], solid->vertex[c[2]])) / 6;
  }
  return sum;
}

static struct be_lines some_lines(void)
{
  return (struct be_lines){.count = 4,
                           .line = {curve_of(420, true, on_trefoil), curve_of(300, false, on_helix),
                                    curve_of(180, true, on_ring), curve_of(2, false, upright)},
                           .diameter = {1, 0.7, 1.3, 0.9}};
}

static void surfaces_are_closed_and_face_outwards(void **state)
{
  (void)state;
  static const unsigned sides[] = {3, 7, 16, 48};
  struct be_lines lines = some_lines();
  for (size_t i = 0; i < sizeof sides / sizeof sides[0]; i++) {
    struct be_solid solid = solid_of(&lines, sides[i]);
    size_t triangles = 0;
    assert_int_equal(solid.groups, 4);
    assert_watertight(&solid);
    assert_outwards(&solid);
    for (size_t g = 0; g < 4; g++) {
      assert_int_equal(solid.group[g].triangle, triangles);
      triangles += solid.group[g].triangles;
      assert_true(volume_of(&solid, g) > 0);
    }
    assert_int_equal(triangles, solid.triangles);
    /* Euler: vertices less edges and more faces are 0 for a ring, 2 for a ball. */
    for (size_t g = 0; g < 4; g++)
      assert_int_equal((long)solid.group[g].vertices - (long)solid.group[g].triangles / 2,
                       lines.line[g].closed ? 0 : 2);
  }
}

static void volumes_are_those_of_tubes_and_balls(void **state)
{
  (void)state;
  struct be_lines lines = some_lines();
  struct be_solid solid = solid_of(&lines, 64);
  for (size_t l = 0; l < lines.count; l++) {
    double r = lines.diameter[l] / 2, want = pi * r * r * be_curve_length(&lines.line[l]);
    if (!lines.line[l].closed) want += 4 * pi * r * r * r / 3;
    assert_near(volume_of(&solid, l) / want, 1, 0.01);
  }
  assert_near(volume_of(&solid, 2) / (2 * pi * pi * 3 * 0.65 * 0.65), 1, 0.004);
}

/* Each side runs on with the line: no more turn from ring to ring than closing it takes. */
static void rings_do_not_twist(void **state)
{
  (void)state;
  struct be_lines lines = some_lines();
  struct be_solid solid = solid_of(&lines, 24);
  const struct be_curve *line = &lines.line[0];
  for (size_t i = 0; i < line->count; i++) {
    struct be_point a = solid.normal[24 * i], b = solid.normal[24 * ((i + 1) % line->count)];
    struct be_point step = edge_of(line, i);
    double turn = dot(cross(a, b), step) / norm(step);
    assert_true(fabs(turn) < 1.05 * pi / (double)line->count);
  }
}

static uint32_t u32(const char *bytes)
{
  uint32_t value = 0;
  for (int i = 3; i >= 0; i--) value = value << 8 | (unsigned char)bytes[i];
  return value;
}

static float f32(const char *bytes)
{
  uint32_t bits = u32(bytes);
  float value;
  memcpy(&value, &bits, sizeof value);
  return value;
}

static void stl_holds_each_triangle(void **state)
{
  (void)state;
  struct be_lines lines = some_lines();
  struct be_solid solid = solid_of(&lines, 9);
  struct be_buf out;
  be_buf_init(&out, 1 << 24);
  be_solid_stl(&solid,
               "a name that is much longer than the eighty bytes which the head of such a "
               "file has for it",
               2.5, &out);
  assert_int_equal(be_buf_status(&out, NULL), BE_OK);
  assert_int_equal(out.size, 84 + 50 * solid.triangles);
  assert_true(memcmp(out.data, "solid", 5) != 0);
  assert_int_equal(u32(out.data + 80), solid.triangles);
  for (size_t t = 0; t < solid.triangles; t += 97) {
    const char *facet = out.data + 84 + 50 * t;
    const struct be_point *p = &solid.vertex[solid.triangle[t][1]];
    assert_near(f32(facet + 24), 2.5 * p->x, 1e-5);
    assert_near(f32(facet + 28), 2.5 * p->y, 1e-5);
    assert_near(f32(facet + 32), 2.5 * p->z, 1e-5);
    assert_near(hypot(hypot(f32(facet), f32(facet + 4)), f32(facet + 8)), 1, 1e-5);
  }
  be_buf_free(&out);
}

static size_t number(const json_t *object, const char *key)
{
  const json_t *value = json_object_get(object, key);
  assert_true(json_is_integer(value));
  return (size_t)json_integer_value(value);
}

/* Where an accessor's values begin, all of them inside its view, and that inside the numbers. */
static size_t accessor(const json_t *root, size_t i, size_t item, size_t *count)
{
  const json_t *a = json_array_get(json_object_get(root, "accessors"), i);
  const json_t *view =
      json_array_get(json_object_get(root, "bufferViews"), number(a, "bufferView"));
  size_t whole = number(json_array_get(json_object_get(root, "buffers"), 0), "byteLength");
  *count = number(a, "count");
  assert_true(number(a, "byteOffset") + *count * item <= number(view, "byteLength"));
  assert_true(number(view, "byteOffset") + number(view, "byteLength") <= whole);
  assert_int_equal((number(view, "byteOffset") + number(a, "byteOffset")) % 4, 0);
  return number(view, "byteOffset") + number(a, "byteOffset");
}

static void assert_bounds(const json_t *root, size_t i, const char *values, size_t count)
{
  const json_t *a = json_array_get(json_object_get(root, "accessors"), i);
  for (size_t k = 0; k < 3; k++) {
    float least = INFINITY, most = -INFINITY;
    for (size_t n = 0; n < count; n++) {
      least = fminf(least, f32(values + 12 * n + 4 * k));
      most = fmaxf(most, f32(values + 12 * n + 4 * k));
    }
    assert_near(json_number_value(json_array_get(json_object_get(a, "min"), k)), (double)least,
                1e-8);
    assert_near(json_number_value(json_array_get(json_object_get(a, "max"), k)), (double)most,
                1e-8);
  }
}

static void gltf_is_whole(void **state)
{
  (void)state;
  static const char *const names[] = {"a \"quoted\"\n\\name", NULL, "bad \xFF", "é"};
  static const uint32_t colours[] = {0xFF8000, 0x112233, 0, 0xFFFFFF};
  struct be_lines lines = some_lines();
  struct be_solid solid = solid_of(&lines, 10);
  struct be_buf out;
  json_error_t error;
  be_buf_init(&out, 1 << 24);
  assert_int_equal(be_solid_gltf(&solid, names, colours, 0.0004, &out, NULL), BE_OK);
  assert_memory_equal(out.data, "glTF", 4);
  assert_int_equal(u32(out.data + 4), 2);
  assert_int_equal(u32(out.data + 8), out.size);
  size_t text = u32(out.data + 12);
  assert_memory_equal(out.data + 16, "JSON", 4);
  assert_int_equal(text % 4, 0);
  const char *second = out.data + 20 + text, *numbers = second + 8;
  assert_int_equal(u32(second) + 28 + text, out.size);
  assert_memory_equal(second + 4, "BIN", 4);
  json_t *root = json_loadb(out.data + 20, text, 0, &error);
  assert_non_null(root);
  assert_int_equal(number(json_array_get(json_object_get(root, "buffers"), 0), "byteLength"),
                   u32(second));
  assert_int_equal(json_array_size(json_object_get(root, "meshes")), 4);
  assert_int_equal(json_array_size(json_object_get(root, "materials")), 4);
  for (size_t l = 0; l < 4; l++) {
    size_t places, normals, indices;
    const json_t *mesh = json_array_get(json_object_get(root, "meshes"), l);
    static const char *const told[] = {"a \"quoted\"\n\\name", "line B", "line C", "é"};
    assert_string_equal(json_string_value(json_object_get(mesh, "name")), told[l]);
    size_t at = accessor(root, 3 * l, 12, &places);
    accessor(root, 3 * l + 1, 12, &normals);
    assert_int_equal(places, normals);
    assert_bounds(root, 3 * l, numbers + at, places);
    size_t first = accessor(root, 3 * l + 2, 4, &indices);
    assert_int_equal(indices, 3 * solid.group[l].triangles);
    for (size_t i = 0; i < indices; i++) assert_true(u32(numbers + first + 4 * i) < places);
  }
  json_t *colour = json_array_get(json_object_get(root, "materials"), 0);
  colour = json_object_get(json_object_get(colour, "pbrMetallicRoughness"), "baseColorFactor");
  /* 128 of 255 on a screen is 0.2158605 in linear light (IEC 61966-2-1). */
  assert_near(json_number_value(json_array_get(colour, 0)), 1, 0);
  assert_near(json_number_value(json_array_get(colour, 1)), 0.2158605, 1e-6);
  json_decref(root);
  be_buf_free(&out);
}

static void what_is_no_tube_is_refused(void **state)
{
  (void)state;
  static const uint32_t colours[BE_LINES_MAX] = {0};
  struct be_lines lines = some_lines();
  struct be_solid solid;
  struct be_buf out;
  assert_int_equal(be_solid_make(&lines, 2, arena, &solid, NULL), BE_WRONG_USE);
  assert_int_equal(be_solid_make(&lines, 257, arena, &solid, NULL), BE_WRONG_USE);
  lines.diameter[1] = 0;
  assert_int_equal(be_solid_make(&lines, 8, arena, &solid, NULL), BE_BAD_INPUT);
  lines.diameter[1] = 1;
  lines.line[3].count = 1;
  assert_int_equal(be_solid_make(&lines, 8, arena, &solid, NULL), BE_BAD_INPUT);
  lines.line[3] = curve_of(9000, false, on_helix);
  assert_int_equal(be_solid_make(&lines, 256, arena, &solid, NULL), BE_TOO_LARGE);
  solid = solid_of(&lines, 5);
  be_buf_init(&out, 1000);
  assert_int_equal(be_solid_gltf(&solid, NULL, colours, 1, &out, NULL), BE_TOO_LARGE);
  be_buf_free(&out);
}

int main(void)
{
#define drawn(test) cmocka_unit_test_setup_teardown(test, start, end)
  const struct CMUnitTest tests[] = {
      drawn(surfaces_are_closed_and_face_outwards),
      drawn(volumes_are_those_of_tubes_and_balls),
      drawn(rings_do_not_twist),
      drawn(stl_holds_each_triangle),
      drawn(gltf_is_whole),
      drawn(what_is_no_tube_is_refused),
  };
  return be_tests("knot: solid", tests);
}
