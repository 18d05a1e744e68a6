/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/cli.h"

#include <stdio.h>

enum { OPT_PORT = OPT_OWN, OPT_ADDRESS, OPT_RIG, OPT_RIG_NAME };

static int serve(const char *book, const struct be_serving *serving, const struct be_answering *how)
{
  struct be_err err = {0};
  struct be_site *site = NULL;
  be_memory_return();
  be_end_hold();
  if (be_app_serve(book, serving, how, &site, &err) != BE_OK) return print_error("serve", &err);
  printf("The pages of %s are at http://%s:%u/ (Ctrl-C ends)\n", book,
         serving->address ? serving->address : "127.0.0.1", (unsigned)be_app_serve_port(site));
  fflush(stdout);
  be_end_wait();
  be_app_serve_end(site);
  return 0;
}

static int run(int argc, char **argv)
{
  static const struct option options[] = {FIGURE_OPTIONS,
                                          {"port", required_argument, NULL, OPT_PORT},
                                          {"address", required_argument, NULL, OPT_ADDRESS},
                                          {"rig", required_argument, NULL, OPT_RIG},
                                          {"rig-name", required_argument, NULL, OPT_RIG_NAME},
                                          {NULL, 0, NULL, 0}};
  struct asked asked = {0};
  struct be_err err = {0};
  bool help = false;
  uint64_t port = 8765;
  struct be_serving serving = {0};
  for (int option; (option = next_option(argc, argv, options)) != -1;) {
    enum be_status status = BE_OK;
    if (option == OPT_PORT) status = take_whole(optarg, "--port", 0, 65535, &port, &err);
    else if (option == OPT_ADDRESS) serving.address = optarg;
    else if (option == OPT_RIG) serving.rig_path = optarg;
    else if (option == OPT_RIG_NAME) serving.rig = optarg;
    else status = take_option(option, optarg, &asked, &help, &err);
    if (status != BE_OK) return print_usage(&cmd_serve, err.what);
  }
  if (help) return print_help(&cmd_serve);
  if (argc - optind != 1) return print_usage(&cmd_serve, "give one book");
  if (serving.rig && !serving.rig_path)
    return print_usage(&cmd_serve, "--rig-name names one of the rigs in the file of --rig");
  serving.port = (uint16_t)port;
  return serve(argv[optind], &serving, &asked.how);
}

const struct command cmd_serve = {
    .name = "serve",
    .does = "The pages: the bench, standings, findings, plans and the book, in a browser",
    .usage = "BOOK [options]",
    .options = "  --port N        the port; 0 takes a free one (8765)\n"
               "  --address A     the address in figures to listen on (127.0.0.1); the bench is\n"
               "                  served to this machine alone\n"
               "  --rig FILE      where loads come from: a file of rigs; without, they are typed\n"
               "  --rig-name N    which rig of the file (the first)\n" FIGURE_HELP,
    .example = "  bitterend serve season.book\n"
               "  Serves this machine only, until Ctrl-C.",
    .run = run,
};
