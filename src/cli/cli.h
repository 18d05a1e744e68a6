/* SPDX-License-Identifier: GPL-3.0-or-later */
/* cli: the commands. Each reads its options, asks app, and prints the
 * document in the edition that was asked for. */
#ifndef BE_CLI_H
#define BE_CLI_H

#include "app/app.h"

#include <getopt.h>

/* One command, one file. run returns the exit status of the program. */
struct command {
  const char *name;
  const char *does;    /* one line */
  const char *usage;   /* after the name */
  const char *options; /* a line each, for --help */
  const char *example; /* one worked example */
  int (*run)(int argc, char **argv);
};

extern const struct command cmd_anatomy, cmd_read, cmd_merge, cmd_new, cmd_enter, cmd_strength,
    cmd_standings, cmd_versus, cmd_findings, cmd_plan, cmd_next, cmd_pull, cmd_rig, cmd_publish,
    cmd_serve, cmd_check, cmd_demo;

/* ---- shared by the commands (options.c, print.c) ---- */

enum edition { EDITION_TEXT, EDITION_JSON, EDITION_CSV };

/* Options of the commands that work out figures, and of those that also print them
 * for a program; values of getopt_long. */
enum { OPT_HELP = 1000, OPT_JSON, OPT_CSV, OPT_UNIT, OPT_LEVEL, OPT_SEED, OPT_RESAMPLES, OPT_OWN };
#define FIGURE_OPTIONS                                                                             \
  {"help", no_argument, NULL, OPT_HELP}, {"unit", required_argument, NULL, OPT_UNIT},              \
      {"level", required_argument, NULL, OPT_LEVEL}, {"seed", required_argument, NULL, OPT_SEED},  \
  {                                                                                                \
    "resamples", required_argument, NULL, OPT_RESAMPLES                                            \
  }
#define ANSWER_OPTIONS                                                                             \
  FIGURE_OPTIONS, {"json", no_argument, NULL, OPT_JSON},                                           \
  {                                                                                                \
    "csv", no_argument, NULL, OPT_CSV                                                              \
  }
#define FIGURE_HELP                                                                                \
  "  --unit U        show forces in U: lb, kg, N, ... (as typed)\n"                                \
  "  --level P       level of intervals, from 0.5 to 0.9999 (0.95)\n"                              \
  "  --seed N        seed of resampling (1)\n"                                                     \
  "  --resamples N   how often pulls are resampled or dealt out by chance (2000)\n"
#define ANSWER_HELP                                                                                \
  FIGURE_HELP "  --json          the same content for a program\n"                                 \
              "  --csv           the tables only, comma separated\n"

struct asked {
  struct be_answering how;
  enum edition edition;
};

/* getopt_long without its own messages: for '?' optarg is the word at fault. */
int next_option(int argc, char **argv, const struct option *options);
enum be_status bad_option(const char *text, struct be_err *err);

/* Takes one of the options above; BE_WRONG_USE for a bad value. *help is set
 * by --help. */
enum be_status take_option(int option, const char *value, struct asked *asked, bool *help,
                           struct be_err *err);
/* All options of a command that takes no others, and so many words after them.
 * Returns -1 to go on at argv[optind], or the exit status. */
int read_answer_options(const struct command *command, int argc, char **argv, int words,
                        const char *wrong, struct asked *asked);
enum be_status take_whole(const char *value, const char *name, uint64_t least, uint64_t most,
                          uint64_t *number, struct be_err *err);

/* progress_posix.c: from now on, what takes over a second is said on standard error, if that is a
 * terminal, until progress_end, which must come before anything else is printed. Printing a
 * document or an error ends it. */
void progress_begin(void);
void progress_end(void);

/* --help of a command; returns 0. */
int print_help(const struct command *command);
/* Prints the error to standard error; returns the exit status. */
int print_error(const char *command, const struct be_err *err);
/* Wrong use of a command: what is wrong, then how it is used; returns 2. */
int print_usage(const struct command *command, const char *wrong);
/* Prints a document and frees it; returns the exit status. */
int print_doc(const char *command, struct be_doc *doc, enum edition edition);

#endif
