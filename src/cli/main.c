/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/cli.h"

#include <stdio.h>
#include <string.h>

static const struct command *const commands[] = {
    &cmd_read,      &cmd_new,     &cmd_enter,    &cmd_pull,  &cmd_rig,  &cmd_strength,
    &cmd_standings, &cmd_versus,  &cmd_findings, &cmd_plan,  &cmd_next, &cmd_anatomy,
    &cmd_merge,     &cmd_publish, &cmd_serve,    &cmd_check, &cmd_demo,
};
enum { COMMANDS = sizeof commands / sizeof commands[0] };

static int help(FILE *to)
{
  fprintf(to, "usage: bitterend COMMAND [options] [files]\n\n"
              "Break tests of fishing knots and lines: from pull files to standings.\n\n");
  for (int i = 0; i < COMMANDS; i++)
    fprintf(to, "  %-10s %s\n", commands[i]->name, commands[i]->does);
  fprintf(to,
          "\n`bitterend COMMAND --help` explains a command with an example.\n"
          "Exit status: 0 done, 1 the answer is no, 2 wrong use, 3 bad input, 4 the machine "
          "failed.\n\n%s\n",
          be_notice);
  return to == stdout ? 0 : 2;
}

int main(int argc, char **argv)
{
  be_memory_keep();
  if (argc < 2) return help(stderr);
  if (strcmp(argv[1], "--help") == 0 || strcmp(argv[1], "help") == 0) return help(stdout);
  if (strcmp(argv[1], "--version") == 0) {
    printf("bitterend %s\n", be_version);
    return 0;
  }
  for (int i = 0; i < COMMANDS; i++)
    if (strcmp(argv[1], commands[i]->name) == 0) return commands[i]->run(argc - 1, argv + 1);
  fprintf(stderr, "bitterend: there is no command \"%s\"\n", argv[1]);
  fprintf(stderr, "what to do: `bitterend --help` lists the commands\n");
  return 2;
}
