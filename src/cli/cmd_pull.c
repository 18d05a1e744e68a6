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

/* One character of standard input; -1 at its end, or when the program is asked to end. */
static int read_byte(void)
{
  static unsigned char bytes[4096];
  static ssize_t got, at;
  if (at < got) return bytes[at++];
  at = got = 0;
  if (be_end_or_input(STDIN_FILENO)) got = read(STDIN_FILENO, bytes, sizeof bytes);
  return got > 0 ? bytes[at++] : -1;
}

/* What of the line does not fit is passed over. False when nothing came any more. */
static bool read_line(char *line, size_t size)
{
  size_t length = 0;
  int c = read_byte();
  bool any = c >= 0;
  for (; c >= 0 && c != '\n'; c = read_byte())
    if (c != '\r' && length + 1 < size) line[length++] = (char)c;
  line[length] = '\0';
  return any;
}

static bool ask(void *context, const char *question, char *answer, size_t size)
{
  (void)context;
  printf("%s%s", load_stands ? "\r\033[K" : "", question);
  load_stands = false;
  fflush(stdout);
  bool got = read_line(answer, size);
  if (!got) printf("\n");
  return got;
}

static bool ended(void *context)
{
  (void)context;
  return be_end_asked();
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
  const struct be_talk talk = {say, isatty(STDOUT_FILENO) ? show : NULL, ask, ended, NULL};
  const char *specimen = argc - optind == 2 ? argv[optind + 1] : NULL;
  be_end_hold();
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
        "  What stays the same for an evening (air, grips, speed, who ties) is asked once, and\n"
        "  every pull has it; e at \"Specimen\" changes it.\n"
        "  Each pull is in the book before it is said to be kept.",
    .run = run,
};
