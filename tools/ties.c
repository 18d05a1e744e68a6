/* SPDX-License-Identifier: GPL-3.0-or-later */
/* ties OUT FILE...: writes a C file with the ties of the given files, each of which begins at a
 * line "tie NAME". Runs at build time. */
#include <stdio.h>
#include <string.h>

enum { TEXT_MAX = 1000000, TIES_MAX = 500 };
static char text[TEXT_MAX];

/* A line of the tie that begins with a word: its rest, as a C string. */
static void write_rest(FILE *out, const char *at, const char *end, const char *word)
{
  size_t length = strlen(word);
  for (; at && at < end; at = memchr(at, '\n', (size_t)(end - at)), at = at ? at + 1 : end) {
    while (at < end && *at == ' ') at++;
    if ((size_t)(end - at) <= length || strncmp(at, word, length) != 0 || at[length] != ' ')
      continue;
    for (at += length; *at == ' ';) at++;
    size_t size = strcspn(at, "#\n");
    while (size && at[size - 1] == ' ') size--;
    fprintf(out, "\"%.*s\"", (int)size, at);
    return;
  }
  fprintf(out, "\"\"");
}

static const char *next_tie(const char *at)
{
  while (at && strncmp(at, "tie ", 4) != 0) {
    at = strchr(at, '\n');
    if (at) at++;
  }
  return at;
}

/* Bodies as numbers: a C string of such a length need not be borne. */
static void write_body(FILE *out, const char *at, const char *end, int number)
{
  fprintf(out, "static const char body_%d[] = {", number);
  for (long i = 0; at + i < end; i++) fprintf(out, i % 24 ? "%d," : "\n%d,", at[i]);
  fprintf(out, "\n0};\n");
}

int main(int argc, char **argv)
{
  static const char *begin[TIES_MAX + 1];
  int ties = 0;
  size_t size = 0;
  for (int i = 2; i < argc; i++) {
    FILE *in = fopen(argv[i], "rb");
    if (!in) {
      perror(argv[i]);
      return 1;
    }
    size += fread(text + size, 1, TEXT_MAX - 2 - size, in);
    text[size++] = '\n';
    if (fclose(in)) return 1;
  }
  for (const char *at = next_tie(text); at && ties < TIES_MAX; at = next_tie(at + 1))
    begin[ties++] = at;
  begin[ties] = text + size;
  FILE *out = argc > 2 && ties && size < TEXT_MAX - 2 ? fopen(argv[1], "w") : NULL;
  if (!out) return 2;
  fprintf(out, "#include \"knot/tie/tie.h\"\n");
  for (int i = 0; i < ties; i++) write_body(out, begin[i], begin[i + 1], i);
  fprintf(out, "static const struct be_tie_entry list[] = {\n");
  for (int i = 0; i < ties; i++) {
    static const char *const words[] = {"tie", "also", "kind"};
    fprintf(out, "  {");
    for (int w = 0; w < 3; w++) {
      write_rest(out, begin[i], begin[i + 1], words[w]);
      fprintf(out, ", ");
    }
    fprintf(out, "body_%d, sizeof body_%d - 1},\n", i, i);
  }
  fprintf(out, "};\n\nconst struct be_tie_entry *be_tie_library(size_t *count)\n{\n"
               "  *count = sizeof list / sizeof list[0];\n  return list;\n}\n");
  return fclose(out) ? 1 : 0;
}
