/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/cli.h"

#include <stdio.h>

enum { OPT_PORT = OPT_OWN, OPT_ADDRESS };

static int serve(const char *book, const char *address, uint16_t port,
                 const struct be_answering *how)
{
  struct be_err err = {0};
  struct be_site *site = NULL;
  be_end_hold();
  if (be_app_serve(book, address, port, how, &site, &err) != BE_OK)
    return print_error("serve", &err);
  printf("The pages of %s are at http://%s:%u/ (Ctrl-C ends)\n", book,
         address ? address : "127.0.0.1", (unsigned)be_app_serve_port(site));
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
                                          {NULL, 0, NULL, 0}};
  struct asked asked = {0};
  struct be_err err = {0};
  bool help = false;
  uint64_t port = 8765;
  const char *address = NULL;
  for (int option; (option = next_option(argc, argv, options)) != -1;) {
    enum be_status status = BE_OK;
    if (option == OPT_PORT) status = take_whole(optarg, "--port", 0, 65535, &port, &err);
    else if (option == OPT_ADDRESS) address = optarg;
    else status = take_option(option, optarg, &asked, &help, &err);
    if (status != BE_OK) return print_usage(&cmd_serve, err.what);
  }
  if (help) return print_help(&cmd_serve);
  if (argc - optind != 1) return print_usage(&cmd_serve, "give one book");
  return serve(argv[optind], address, (uint16_t)port, &asked.how);
}

const struct command cmd_serve = {
    .name = "serve",
    .does = "The pages: standings, strength, versus and the book, in a browser",
    .usage = "BOOK [options]",
    .options = "  --port N        the port; 0 takes a free one (8765)\n"
               "  --address A     the address in figures to listen on (127.0.0.1)\n" FIGURE_HELP,
    .example = "  bitterend serve season.book\n"
               "  Serves this machine only, until Ctrl-C.",
    .run = run,
};
