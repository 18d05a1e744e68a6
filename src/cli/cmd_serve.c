/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/cli.h"

#include <stdio.h>
#include <string.h>

enum {
  OPT_PORT = OPT_OWN,
  OPT_ADDRESS,
  OPT_RIG,
  OPT_RIG_NAME,
  OPT_CERTIFICATE,
  OPT_KEY,
  OPT_PLAIN,
  OPT_NAME
};
enum { NAMES_MAX = 16 };

static void say(void *context, const char *line)
{
  (void)context;
  printf("%s\n", line);
  fflush(stdout);
}

/* Where the pages are, as one types it. */
static void print_address(const char *book, const struct be_serving *serving, uint16_t port)
{
  const char *address = serving->address ? serving->address : "127.0.0.1";
  const char *scheme = serving->certificate_path ? "https" : "http";
  bool every = strcmp(address, "0.0.0.0") == 0 || strcmp(address, "::") == 0;
  bool newer = strchr(address, ':') != NULL;
  if (serving->names_count)
    printf("The pages of %s are at %s://%s:%u/ (Ctrl-C ends)\n", book, scheme, serving->names[0],
           (unsigned)port);
  else if (every)
    printf("The pages of %s are at %s://localhost:%u/ and at every address of this machine (Ctrl-C "
           "ends)\n",
           book, scheme, (unsigned)port);
  else
    printf("The pages of %s are at %s://%s%s%s:%u/ (Ctrl-C ends)\n", book, scheme, newer ? "[" : "",
           address, newer ? "]" : "", (unsigned)port);
  if (be_app_serve_is_beyond(serving) && !serving->certificate_path)
    printf("What is sent can be read on this network, since it is not served by TLS\n");
  fflush(stdout);
}

static int serve(const char *book, const struct be_serving *serving, const struct be_answering *how)
{
  struct be_err err = {0};
  struct be_site *site = NULL;
  be_memory_return();
  be_end_hold();
  if (be_app_serve(book, serving, how, &site, &err) != BE_OK) return print_error("serve", &err);
  print_address(book, serving, be_app_serve_port(site));
  char words[BE_WORD_MAX];
  if (be_app_serve_word(site, words)) fprintf(stderr, "%s\n", words);
  fflush(stdout);
  be_end_wait();
  if (be_app_serve_word(site, words)) fprintf(stderr, "%s\n", words);
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
                                          {"certificate", required_argument, NULL, OPT_CERTIFICATE},
                                          {"key", required_argument, NULL, OPT_KEY},
                                          {"plain", no_argument, NULL, OPT_PLAIN},
                                          {"name", required_argument, NULL, OPT_NAME},
                                          {NULL, 0, NULL, 0}};
  const char *names[NAMES_MAX];
  struct asked asked = {0};
  struct be_err err = {0};
  bool help = false;
  uint64_t port = 8765;
  struct be_serving serving = {.names = names, .say = say};
  for (int option; (option = next_option(argc, argv, options)) != -1;) {
    enum be_status status = BE_OK;
    if (option == OPT_PORT) status = take_whole(optarg, "--port", 0, 65535, &port, &err);
    else if (option == OPT_ADDRESS) serving.address = optarg;
    else if (option == OPT_RIG) serving.rig_path = optarg;
    else if (option == OPT_RIG_NAME) serving.rig = optarg;
    else if (option == OPT_CERTIFICATE) serving.certificate_path = optarg;
    else if (option == OPT_KEY) serving.key_path = optarg;
    else if (option == OPT_PLAIN) serving.plain = true;
    else if (option == OPT_NAME && serving.names_count == NAMES_MAX)
      status = be_fail(&err, BE_WRONG_USE, "--name may be given %d times", NAMES_MAX);
    else if (option == OPT_NAME) names[serving.names_count++] = optarg;
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
               "  --address A     the address in figures to listen on (127.0.0.1); other machines\n"
               "                  are then served once each was paired by a code shown here\n"
               "  --certificate F --key F  files of PEM: pages by TLS, https://\n"
               "  --plain         beyond this machine without TLS, on a network that you trust\n"
               "  --name HOST     a name this machine is reached by, such as bench.local; again\n"
               "                  for more\n"
               "  --rig FILE      where loads come from: a file of rigs; without, they are typed\n"
               "  --rig-name N    which rig of the file (the first)\n" FIGURE_HELP,
    .example = "  bitterend serve season.book\n"
               "  Serves this machine only, until Ctrl-C.",
    .run = run,
};
