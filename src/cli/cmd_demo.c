/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/cli.h"

#include <stdio.h>
#include <string.h>

enum { OPT_ONCE = OPT_OWN, OPT_REPORT, OPT_PORT };

static int show(const char *book, const struct be_answering *how)
{
  struct be_err err = {0};
  struct be_doc *doc = NULL;
  progress_begin();
  if (be_app_strength(book, how, &doc, &err) != BE_OK) return print_error("demo", &err);
  int exits = print_doc("demo", doc, EDITION_TEXT);
  if (exits) return exits;
  progress_begin();
  if (be_app_standings(book, how, &doc, &err) != BE_OK) return print_error("demo", &err);
  return print_doc("demo", doc, EDITION_TEXT);
}

static int serve(const char *book, uint16_t port, const struct be_answering *how)
{
  struct be_err err = {0};
  struct be_site *site = NULL;
  be_memory_return();
  be_end_hold();
  const struct be_serving serving = {.port = port};
  enum be_status status = be_app_serve(book, &serving, how, &site, &err);
  /* A taken port is no reason to disappoint a newcomer. */
  if (status != BE_OK && port) status = be_app_serve(book, NULL, how, &site, &err);
  if (status != BE_OK) return print_error("demo", &err);
  printf("The pages are at http://127.0.0.1:%u/ (Ctrl-C ends)\n",
         (unsigned)be_app_serve_port(site));
  char words[BE_WORD_MAX];
  fflush(stdout);
  be_end_wait();
  if (be_app_serve_word(site, words)) fprintf(stderr, "%s\n", words);
  be_app_serve_end(site);
  return 0;
}

static int make(const char *book)
{
  bool made = false;
  struct be_err err = {0};
  struct be_arena *arena = be_arena_create();
  const char *bench = arena ? be_arena_format(arena, "%s-bench", book) : NULL;
  progress_begin();
  enum be_status status = bench ? be_app_demo(book, bench, &made, &err)
                                : be_fail(&err, BE_NO_MEMORY, "no memory for the demonstration");
  progress_end();
  if (status == BE_OK)
    printf("%s %s the demonstration book; its pull files are in %s\n\n", book,
           made ? "is now" : "was already", bench);
  be_arena_free(arena);
  return status == BE_OK ? 0 : print_error("demo", &err);
}

static int demo(const char *book, const char *report, uint16_t port, bool once)
{
  struct be_answering how = {.unit = be_unit_find_in(BE_FORCE, "lb", 2)};
  struct be_err err = {0};
  int exits = make(book);
  if (!exits) exits = show(book, &how);
  if (exits) return exits;
  if (report) {
    const struct be_publishing asked = {.report_path = report};
    struct be_doc *doc = NULL;
    progress_begin();
    if (be_app_publish(book, &asked, &how, &doc, &err) != BE_OK) return print_error("demo", &err);
    progress_end();
    be_doc_free(doc);
    printf("\nThe report is %s\n", report);
  }
  return once ? 0 : serve(book, port, &how);
}

static int run(int argc, char **argv)
{
  static const struct option options[] = {{"help", no_argument, NULL, OPT_HELP},
                                          {"once", no_argument, NULL, OPT_ONCE},
                                          {"report", required_argument, NULL, OPT_REPORT},
                                          {"port", required_argument, NULL, OPT_PORT},
                                          {NULL, 0, NULL, 0}};
  struct be_err err = {0};
  const char *report = NULL;
  bool once = false;
  uint64_t port = 8765;
  for (int option; (option = next_option(argc, argv, options)) != -1;) {
    if (option == OPT_HELP) return print_help(&cmd_demo);
    if (option == OPT_ONCE) once = true;
    else if (option == OPT_REPORT) report = optarg;
    else if ((option == OPT_PORT ? take_whole(optarg, "--port", 0, 65535, &port, &err)
                                 : bad_option(optarg, &err)) != BE_OK)
      return print_usage(&cmd_demo, err.what);
  }
  if (argc - optind > 1) return print_usage(&cmd_demo, "give one book at most");
  return demo(optind < argc ? argv[optind] : "demo.book", report, (uint16_t)port, once);
}

const struct command cmd_demo = {
    .name = "demo",
    .does = "Make the demonstration book, show it, and serve its pages",
    .usage = "[BOOK] [options]",
    .options = "  --once          end after the report; no pages\n"
               "  --report FILE   write the report too\n"
               "  --port N        the port of the pages (8765, or a free one)\n",
    .example =
        "  bitterend demo demo.book --once --report demo.html\n"
        "  Pulls an invented trial on the simulated rig, enters its files, prints strengths\n"
        "  and standings, and writes the report.",
    .run = run,
};
