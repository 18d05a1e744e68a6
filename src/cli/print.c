/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/cli.h"

#include <stdio.h>

enum { OUTPUT_MAX = 512 * 1024 * 1024 };

int print_help(const struct command *command)
{
  printf("usage: bitterend %s %s\n\n%s.\n", command->name, command->usage, command->does);
  if (command->options) printf("\noptions\n%s  --help          this text\n", command->options);
  printf("\nexample\n%s\n", command->example);
  return 0;
}

int print_usage(const struct command *command, const char *wrong)
{
  fprintf(stderr, "bitterend %s: %s\n", command->name, wrong);
  fprintf(stderr, "usage: bitterend %s %s\n", command->name, command->usage);
  fprintf(stderr, "what to do: `bitterend %s --help` explains it\n", command->name);
  return 2;
}

int print_error(const char *command, const struct be_err *err)
{
  progress_end();
  fprintf(stderr, "bitterend %s: ", command);
  if (err->file[0]) fprintf(stderr, "%s: ", err->file);
  if (err->line) fprintf(stderr, "line %zu: ", err->line);
  if (err->column) fprintf(stderr, "column %zu: ", err->column);
  fprintf(stderr, "%s\n", err->what);
  if (err->remedy[0]) fprintf(stderr, "what to do: %s\n", err->remedy);
  return be_status_exit(err->status);
}

int print_doc(const char *command, struct be_doc *doc, enum edition edition)
{
  struct be_buf out;
  struct be_err err = {0};
  be_buf_init(&out, OUTPUT_MAX);
  be_doc_caution(doc, "%s", be_notice);
  enum be_status status = edition == EDITION_JSON  ? be_doc_json(doc, &out, &err)
                          : edition == EDITION_CSV ? be_doc_csv(doc, &out, &err)
                                                   : be_doc_text(doc, 0, &out, &err);
  be_doc_free(doc);
  progress_end();
  bool written = status != BE_OK || !out.size || fwrite(out.data, 1, out.size, stdout) == out.size;
  if (status == BE_OK && (!written || fflush(stdout) != 0))
    status = be_fail(&err, BE_FAILED, "cannot write to standard output");
  be_buf_free(&out);
  return status == BE_OK ? 0 : print_error(command, &err);
}
