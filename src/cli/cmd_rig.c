/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/cli.h"

enum { OPT_DAY = OPT_OWN, OPT_LISTEN, OPT_SETTINGS, OPT_ASK, OPT_ASK_SETTINGS, OPT_SAVE, OPT_NAME };

/* What of an instrument is told by this option; null for any other. */
static const char **told_by(int option, struct be_listening *listening)
{
  switch (option) {
  case OPT_LISTEN: return &listening->source;
  case OPT_SETTINGS: return &listening->settings;
  case OPT_ASK: return &listening->ask;
  case OPT_ASK_SETTINGS: return &listening->ask_settings;
  case OPT_SAVE: return &listening->save_path;
  case OPT_NAME: return &listening->name;
  default: return NULL;
  }
}

static const char *wrong_with(const struct be_listening *told, const char *day, int words)
{
  bool any = told->settings || told->ask || told->ask_settings || told->save_path || told->name;
  if (!told->source && any) return "what is told of an instrument goes with --listen";
  if (!told->source) return words == 1 ? NULL : "give one book";
  if (words || day) return "--listen takes neither a book nor a day";
  if (told->ask_settings && !told->ask) return "--ask-settings goes with --ask";
  return !told->save_path == !told->name ? NULL : "--save and --name go together";
}

static int listen_to(const struct be_listening *listening, enum edition edition)
{
  struct be_doc *doc = NULL;
  struct be_err err = {0};
  enum be_status status = be_app_listen(listening, &doc, &err);
  if (!doc) return print_error("rig", &err);
  int printed = print_doc("rig", doc, edition);
  return printed ? printed : be_status_exit(status);
}

static int run(int argc, char **argv)
{
  static const struct option options[] = {
      ANSWER_OPTIONS,
      {"day", required_argument, NULL, OPT_DAY},
      {"listen", required_argument, NULL, OPT_LISTEN},
      {"settings", required_argument, NULL, OPT_SETTINGS},
      {"ask", required_argument, NULL, OPT_ASK},
      {"ask-settings", required_argument, NULL, OPT_ASK_SETTINGS},
      {"save", required_argument, NULL, OPT_SAVE},
      {"name", required_argument, NULL, OPT_NAME},
      {NULL, 0, NULL, 0}};
  struct be_listening listening = {0};
  struct asked asked = {0};
  struct be_err err = {0};
  const char *day = NULL;
  bool help = false;
  for (int option; (option = next_option(argc, argv, options)) != -1;) {
    const char **told = told_by(option, &listening);
    if (told) *told = optarg;
    else if (option == OPT_DAY) day = optarg;
    else if (take_option(option, optarg, &asked, &help, &err) != BE_OK)
      return print_usage(&cmd_rig, err.what);
  }
  if (help) return print_help(&cmd_rig);
  const char *wrong = wrong_with(&listening, day, argc - optind);
  if (wrong) return print_usage(&cmd_rig, wrong);
  if (listening.source) return listen_to(&listening, asked.edition);
  struct be_doc *doc = NULL;
  if (be_app_rig(argv[optind], day, &asked.how, &doc, &err) != BE_OK)
    return print_error("rig", &err);
  return print_doc("rig", doc, asked.edition);
}

const struct command cmd_rig = {
    .name = "rig",
    .does = "Can the rig be trusted: calibrations, check weights; or what does it send",
    .usage = "BOOK [options] | --listen SOURCE [options]",
    .options = "  --day DATE      on that day, such as 2026-03-01 (today)\n"
               "  --listen S      find out what an instrument sends: serial, tcp, file, simulated\n"
               "  --settings T    of the source, such as path=/dev/ttyUSB0\n"
               "  --ask KIND      it does not send by itself: ask it by frames of this kind\n"
               "  --ask-settings T  how it is asked, such as ask=W\n"
               "  --save FILE --name N  save it as a rig in a file of rigs\n" ANSWER_HELP,
    .example =
        "  bitterend rig build/demo.book --day 2026-04-10\n"
        "  Says of each bench whether its forces can be trusted on that day: the calibration in\n"
        "  force and when it is due, its class and verified range, and whether the last check\n"
        "  weight lies inside its limits; then the readings behind it, and how many pulls were\n"
        "  taken outside the range or too late.\n"
        "  bitterend rig --listen serial --settings path=/dev/ttyUSB0 --save rigs --name shed\n"
        "  Tries speeds and kinds of frames, shows the first loads, and saves what fits.",
    .run = run,
};
