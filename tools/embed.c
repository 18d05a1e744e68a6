/* SPDX-License-Identifier: GPL-3.0-or-later */
/* embed OUT FILE...: writes a C file that holds the given files, each under
 * the name of its folder and its own: "demo/knots.csv". Runs at build time. */
#include <stdio.h>
#include <string.h>

static int embed(FILE *out, const char *path, int number)
{
  FILE *in = fopen(path, "rb");
  if (!in) {
    perror(path);
    return 1;
  }
  fprintf(out, "static const char body_%d[] = {", number);
  long size = 0;
  for (int c; (c = getc(in)) != EOF; size++) fprintf(out, size % 24 ? "%d," : "\n%d,", (char)c);
  fprintf(out, "\n0};\n");
  return fclose(in);
}

static const char *last_two(const char *path)
{
  const char *at = path + strlen(path);
  for (int slashes = 0; at > path; at--)
    if (at[-1] == '/' && ++slashes == 2) break;
  return at;
}

int main(int argc, char **argv)
{
  if (argc < 2) return 2;
  FILE *out = fopen(argv[1], "w");
  if (!out) {
    perror(argv[1]);
    return 1;
  }
  fprintf(out, "#include \"assets/assets.h\"\n#include <string.h>\n");
  for (int i = 2; i < argc; i++)
    if (embed(out, argv[i], i)) return 1;
  fprintf(out, "static const struct be_asset list[] = {\n");
  for (int i = 2; i < argc; i++)
    fprintf(out, "  {\"%s\", body_%d, sizeof body_%d - 1},\n", last_two(argv[i]), i, i);
  fprintf(out, "};\n\nconst struct be_asset *be_asset_find(const char *name)\n{\n"
               "  for (size_t i = 0; i < sizeof list / sizeof list[0]; i++)\n"
               "    if (strcmp(list[i].name, name) == 0) return &list[i];\n"
               "  return NULL;\n}\n");
  return fclose(out) ? 1 : 0;
}
