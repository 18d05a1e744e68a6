/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Binary glTF: a head, a chunk of JSON, and one of numbers: all places, all normals, all triangles
 * (each line's counted from its own first vertex). Two accessors of vectors and one of triangles a
 * line. */
#include "knot/solid/inside.h"

#include <math.h>

enum { JSON_MOST = 64 * 1024, OF_VECTOR = 12, OF_TRIANGLE = 12, HEAD = 12, CHUNK_HEAD = 8 };

static void add_text(struct be_buf *json, const char *text)
{
  be_buf_char(json, '"');
  for (const char *c = text; *c; c++) {
    if ((unsigned char)*c < 0x20 || *c == '"' || *c == '\\')
      be_buf_format(json, "\\u%04x", (unsigned char)*c);
    else be_buf_char(json, *c);
  }
  be_buf_char(json, '"');
}

static void add_name(struct be_buf *json, const char *const *names, size_t line)
{
  const char own[] = {'l', 'i', 'n', 'e', ' ', (char)('A' + (int)line), 0};
  be_buf_text(json, "\"name\":");
  add_text(json, names && names[line] && be_utf8_valid(names[line], strlen(names[line]))
                     ? names[line]
                     : own);
}

/* Colours of a screen are not linear; those of glTF are (IEC 61966-2-1). */
static double linear(uint32_t colour, int shift)
{
  double c = (double)(colour >> shift & 0xFF) / 255;
  return c <= 0.04045 ? c / 12.92 : pow((c + 0.055) / 1.055, 2.4);
}

static void add_accessors(const struct be_solid *solid, double unit_m, struct be_buf *json)
{
  for (size_t g = 0; g < solid->groups; g++) {
    const struct be_solid_group *group = &solid->group[g];
    float least[3] = {INFINITY, INFINITY, INFINITY}, most[3] = {-INFINITY, -INFINITY, -INFINITY};
    for (size_t i = 0; i < group->vertices; i++) {
      struct be_point p = solid->vertex[group->vertex + i];
      const float at[3] = {(float)(p.x * unit_m), (float)(p.y * unit_m), (float)(p.z * unit_m)};
      for (int k = 0; k < 3; k++) {
        least[k] = fminf(least[k], at[k]);
        most[k] = fmaxf(most[k], at[k]);
      }
    }
    be_buf_format(json,
                  "%s{\"bufferView\":0,\"byteOffset\":%zu,\"componentType\":5126,\"count\":%zu,"
                  "\"type\":\"VEC3\",\"min\":[%.9g,%.9g,%.9g],\"max\":[%.9g,%.9g,%.9g]},",
                  g ? "," : "", group->vertex * OF_VECTOR, group->vertices, (double)least[0],
                  (double)least[1], (double)least[2], (double)most[0], (double)most[1],
                  (double)most[2]);
    be_buf_format(json,
                  "{\"bufferView\":1,\"byteOffset\":%zu,\"componentType\":5126,\"count\":%zu,"
                  "\"type\":\"VEC3\"},"
                  "{\"bufferView\":2,\"byteOffset\":%zu,\"componentType\":5125,\"count\":%zu,"
                  "\"type\":\"SCALAR\"}",
                  group->vertex * OF_VECTOR, group->vertices, group->triangle * OF_TRIANGLE,
                  3 * group->triangles);
  }
}

static void add_json(const struct be_solid *solid, const char *const *names,
                     const uint32_t *colours, double unit_m, struct be_buf *json)
{
  size_t vectors = solid->vertices * OF_VECTOR, triangles = solid->triangles * OF_TRIANGLE;
  be_buf_text(json, "{\"asset\":{\"version\":\"2.0\",\"generator\":\"bitterend\"},\"scene\":0,"
                    "\"scenes\":[{\"nodes\":[");
  for (size_t g = 0; g < solid->groups; g++) be_buf_format(json, "%s%zu", g ? "," : "", g);
  be_buf_text(json, "]}],\"nodes\":[");
  for (size_t g = 0; g < solid->groups; g++) {
    be_buf_format(json, "%s{\"mesh\":%zu,", g ? "," : "", g);
    add_name(json, names, g);
    be_buf_char(json, '}');
  }
  be_buf_text(json, "],\"meshes\":[");
  for (size_t g = 0; g < solid->groups; g++) {
    be_buf_text(json, g ? ",{" : "{");
    add_name(json, names, g);
    be_buf_format(json,
                  ",\"primitives\":[{\"attributes\":{\"POSITION\":%zu,\"NORMAL\":%zu},"
                  "\"indices\":%zu,\"material\":%zu}]}",
                  3 * g, 3 * g + 1, 3 * g + 2, g);
  }
  be_buf_text(json, "],\"materials\":[");
  for (size_t g = 0; g < solid->groups; g++) {
    be_buf_text(json, g ? ",{" : "{");
    add_name(json, names, g);
    be_buf_format(json,
                  ",\"pbrMetallicRoughness\":{\"baseColorFactor\":[%.6f,%.6f,%.6f,1],"
                  "\"metallicFactor\":0,\"roughnessFactor\":0.6}}",
                  linear(colours[g], 16), linear(colours[g], 8), linear(colours[g], 0));
  }
  be_buf_text(json, "],\"accessors\":[");
  add_accessors(solid, unit_m, json);
  be_buf_format(
      json,
      "],\"bufferViews\":["
      "{\"buffer\":0,\"byteOffset\":0,\"byteLength\":%zu,\"byteStride\":%d,\"target\":34962},"
      "{\"buffer\":0,\"byteOffset\":%zu,\"byteLength\":%zu,\"byteStride\":%d,\"target\":34962},"
      "{\"buffer\":0,\"byteOffset\":%zu,\"byteLength\":%zu,\"target\":34963}],"
      "\"buffers\":[{\"byteLength\":%zu}]}",
      vectors, OF_VECTOR, vectors, vectors, OF_VECTOR, 2 * vectors, triangles,
      2 * vectors + triangles);
  while (json->status == BE_OK && json->size % 4) be_buf_char(json, ' ');
}

static void add_numbers(const struct be_solid *solid, double unit_m, struct be_buf *out)
{
  for (size_t i = 0; i < solid->vertices; i++) add_point(out, solid->vertex[i], unit_m);
  for (size_t i = 0; i < solid->vertices; i++) add_point(out, solid->normal[i], 1);
  for (size_t g = 0; g < solid->groups; g++) {
    const struct be_solid_group *group = &solid->group[g];
    for (size_t t = group->triangle; t < group->triangle + group->triangles; t++)
      for (int k = 0; k < 3; k++) add_u32(out, solid->triangle[t][k] - (uint32_t)group->vertex);
  }
}

enum be_status be_solid_gltf(const struct be_solid *solid, const char *const *names,
                             const uint32_t *colours, double unit_m, struct be_buf *out,
                             struct be_err *err)
{
  struct be_buf json;
  be_buf_init(&json, JSON_MOST);
  add_json(solid, names, colours, unit_m, &json);
  enum be_status status = be_buf_status(&json, err);
  if (status == BE_OK) {
    size_t numbers = 2 * solid->vertices * OF_VECTOR + solid->triangles * OF_TRIANGLE;
    be_buf_text(out, "glTF");
    add_u32(out, 2);
    add_u32(out, (uint32_t)(HEAD + CHUNK_HEAD + json.size + CHUNK_HEAD + numbers));
    add_u32(out, (uint32_t)json.size);
    be_buf_text(out, "JSON");
    be_buf_add(out, json.data, json.size);
    add_u32(out, (uint32_t)numbers);
    be_buf_add(out, "BIN", 4);
    add_numbers(solid, unit_m, out);
    status = be_buf_status(out, err);
  }
  be_buf_free(&json);
  return status;
}
