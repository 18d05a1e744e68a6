/* SPDX-License-Identifier: GPL-3.0-or-later */
#define _POSIX_C_SOURCE 200809L
#include "cli/cli.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

enum { OPT_RIG = OPT_OWN, OPT_RIG_NAME };

/* On a terminal the load stands in one line, which what is said next takes the place of. */
static bool load_stands;

static void say(void *context, const char *line)
{
  (void)context;
  printf("%s%s\n", load_stands ? "\r\033[K" : "", line);
  load_stands = false;
  fflush(stdout);
}

static void show(void *context, const char *words)
{
  (void)context;
  printf("\r%s  ", words);
  load_stands = true;
  fflush(stdout);
}

static bool ask(void *context, const char *question, char *answer, size_t size)
{
  (void)context;
  printf("%s%s", load_stands ? "\r\033[K" : "", question);
  load_stands = false;
  fflush(stdout);
  if (!fgets(answer, (int)size, stdin)) {
    printf("\n");
    return false;
  }
  size_t length = strcspn(answer, "\r\n");
  for (int c = answer[length]; c != '\n' && c != EOF;) c = getchar();
  answer[length] = '\0';
  return true;
}

static int run(int argc, char **argv)
{
  static const struct option options[] = {FIGURE_OPTIONS,
                                          {"rig", required_argument, NULL, OPT_RIG},
                                          {"rig-name", required_argument, NULL, OPT_RIG_NAME},
                                          {NULL, 0, NULL, 0}};
  struct asked asked = {0};
  struct be_serving serving = {0};
  struct be_err err = {0};
  bool help = false;
  for (int option; (option = next_option(argc, argv, options)) != -1;) {
    enum be_status status = BE_OK;
    if (option == OPT_RIG) serving.rig_path = optarg;
    else if (option == OPT_RIG_NAME) serving.rig = optarg;
    else status = take_option(option, optarg, &asked, &help, &err);
    if (status != BE_OK) return print_usage(&cmd_pull, err.what);
  }
  if (help) return print_help(&cmd_pull);
  if (argc - optind < 1 || argc - optind > 2)
    return print_usage(&cmd_pull, "give one book, and perhaps the code of a specimen");
  if (serving.rig && !serving.rig_path)
    return print_usage(&cmd_pull, "--rig-name names one of the rigs in the file of --rig");
  const struct be_talk talk = {say, isatty(STDOUT_FILENO) ? show : NULL, ask, NULL};
  const char *specimen = argc - optind == 2 ? argv[optind + 1] : NULL;
  if (be_app_pull(argv[optind], specimen, &serving, &asked.how, &talk, &err) != BE_OK)
    return print_error("pull", &err);
  return 0;
}

const struct command cmd_pull = {
    .name = "pull",
    .does = "Take pulls live from the rig, in the terminal; q ends",
    .usage = "BOOK [SPECIMEN] [options]",
    .options = "  --rig FILE      where loads come from: a file of rigs; without, they are typed\n"
               "  --rig-name N    which rig of the file (the first)\n" FIGURE_HELP,
    .example =
        "  bitterend pull season.book --rig rigs\n"
        "  Asks for the next specimen of the plan, waits for the load, and asks what let go.\n"
        "  Each pull is in the book before it is said to be kept.",
    .run = run,
};
