/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/cli.h"

#include <string.h>

enum {
  OPT_TRIAL = OPT_OWN,
  OPT_KNOTS,
  OPT_ON,
  OPT_SOAKED,
  OPT_SPECIMENS,
  OPT_WITHIN,
  OPT_DIFFERENCE,
  OPT_POWER,
  OPT_CV,
  OPT_PLAIN,
  OPT_PER_EVENING,
  OPT_MINUTES,
  OPT_MINUTES_EACH,
  OPT_METRES_EACH,
  OPT_TYERS,
  OPT_SHEET,
  OPT_LABELS,
  OPT_FIX,
  OPT_RULE /* and the rule's number */
};

static enum be_status take_number(const char *value, const char *name, double least, double most,
                                  double *number, struct be_err *err)
{
  size_t size = strlen(value);
  if (be_number_scan(value, size, '.', number) != size || !(*number >= least) || !(*number <= most))
    return be_fail(err, BE_WRONG_USE, "%s takes a number from %g to %g, not \"%s\"", name, least,
                   most, value);
  return BE_OK;
}

static enum be_status take_per_cent(const char *value, const char *name, double least, double most,
                                    double *share, struct be_err *err)
{
  enum be_status status = take_number(value, name, least, most, share, err);
  *share /= 100;
  return status;
}

static enum be_status take_count(const char *value, const char *name, uint64_t least, size_t *count,
                                 struct be_err *err)
{
  uint64_t number = 0;
  enum be_status status = take_whole(value, name, least, 2500, &number, err);
  *count = (size_t)number;
  return status;
}

static enum be_status take_own(int option, const char *value, struct be_planning *asked,
                               struct asked *how, bool *help, struct be_err *err)
{
  if (option >= OPT_RULE && option < OPT_RULE + (int)BE_RULES) {
    asked->rule[option - OPT_RULE] = value;
    return BE_OK;
  }
  switch (option) {
  case OPT_TRIAL: asked->trial = value; return BE_OK;
  case OPT_KNOTS: asked->knots = value; return BE_OK;
  case OPT_ON: asked->on = value; return BE_OK;
  case OPT_SOAKED: asked->soaked = true; return BE_OK;
  case OPT_SPECIMENS: return take_count(value, "--specimens", 1, &asked->specimens, err);
  case OPT_WITHIN: return take_number(value, "--within", 0.01, 99, &asked->within, err);
  case OPT_DIFFERENCE: return take_number(value, "--difference", 0.01, 99, &asked->difference, err);
  case OPT_POWER: return take_per_cent(value, "--power", 5, 99.99, &how->how.power, err);
  case OPT_CV: return take_per_cent(value, "--cv", 0.01, 99, &asked->cv, err);
  case OPT_PLAIN:
    asked->plain_told = true;
    return take_count(value, "--plain", 0, &asked->plain, err);
  case OPT_PER_EVENING: return take_count(value, "--per-evening", 1, &asked->per_evening, err);
  case OPT_MINUTES: return take_number(value, "--minutes", 0.1, 100000, &asked->minutes, err);
  case OPT_MINUTES_EACH:
    return take_number(value, "--minutes-each", 0.1, 1440, &asked->minutes_each, err);
  case OPT_METRES_EACH:
    return take_number(value, "--metres-each", 0.01, 1000, &asked->metres_each, err);
  case OPT_TYERS: asked->tyers = value; return BE_OK;
  case OPT_SHEET: asked->sheet_path = value; return BE_OK;
  case OPT_LABELS: asked->labels_path = value; return BE_OK;
  case OPT_FIX: asked->fix = true; return BE_OK;
  default: return take_option(option, value, how, help, err);
  }
}

static const struct option options[] = {
    ANSWER_OPTIONS,
    {"trial", required_argument, NULL, OPT_TRIAL},
    {"knots", required_argument, NULL, OPT_KNOTS},
    {"on", required_argument, NULL, OPT_ON},
    {"soaked", no_argument, NULL, OPT_SOAKED},
    {"specimens", required_argument, NULL, OPT_SPECIMENS},
    {"within", required_argument, NULL, OPT_WITHIN},
    {"difference", required_argument, NULL, OPT_DIFFERENCE},
    {"power", required_argument, NULL, OPT_POWER},
    {"cv", required_argument, NULL, OPT_CV},
    {"plain", required_argument, NULL, OPT_PLAIN},
    {"per-evening", required_argument, NULL, OPT_PER_EVENING},
    {"minutes", required_argument, NULL, OPT_MINUTES},
    {"minutes-each", required_argument, NULL, OPT_MINUTES_EACH},
    {"metres-each", required_argument, NULL, OPT_METRES_EACH},
    {"tyers", required_argument, NULL, OPT_TYERS},
    {"sheet", required_argument, NULL, OPT_SHEET},
    {"labels", required_argument, NULL, OPT_LABELS},
    {"fix", no_argument, NULL, OPT_FIX},
    {"question", required_argument, NULL, OPT_RULE + BE_RULE_QUESTION},
    {"interests", required_argument, NULL, OPT_RULE + BE_RULE_INTERESTS},
    {"grip", required_argument, NULL, OPT_RULE + BE_RULE_GRIP},
    {"clear", required_argument, NULL, OPT_RULE + BE_RULE_CLEAR},
    {"slips", required_argument, NULL, OPT_RULE + BE_RULE_SLIP},
    {"void", required_argument, NULL, OPT_RULE + BE_RULE_VOID},
    {"replace", required_argument, NULL, OPT_RULE + BE_RULE_REPLACE},
    {"stop", required_argument, NULL, OPT_RULE + BE_RULE_STOP},
    {NULL, 0, NULL, 0}};

static int run(int argc, char **argv)
{
  struct asked how = {0};
  struct be_planning asked = {0};
  struct be_err err = {0};
  bool help = false;
  for (int option; (option = next_option(argc, argv, options)) != -1;)
    if (take_own(option, optarg, &asked, &how, &help, &err) != BE_OK)
      return print_usage(&cmd_plan, err.what);
  if (help) return print_help(&cmd_plan);
  if (argc - optind != 1) return print_usage(&cmd_plan, "give one book");
  struct be_doc *doc = NULL;
  progress_begin();
  if (be_app_plan(argv[optind], &asked, &how.how, &doc, &err) != BE_OK)
    return print_error("plan", &err);
  return print_doc("plan", doc, how.edition);
}

const struct command cmd_plan = {
    .name = "plan",
    .does = "Plan a trial, and see how it goes",
    .usage = "BOOK [--trial NAME] [--knots LIST --on LIST] [options]",
    .options =
        "  --trial NAME    a trial of the book, or a new one to be planned\n"
        "  --knots LIST    knots of a new one, ; between; part of a name will do\n"
        "  --on LIST       what they are tied on: SPOOL; SPOOL + SPOOL; LINE + ring\n"
        "  --soaked        soaked lines (dry)\n"
        "  --specimens N   of each knot in each combination (5)\n"
        "  --within PTS    or as many as make each efficiency known within so many points\n"
        "  --difference PTS\n"
        "                  or as many as find such a difference between two knots\n"
        "  --power P       how surely that, in per cent (80)\n"
        "  --cv P          scatter of one pull, relative per cent (the book's, else 8)\n"
        "  --plain N       plain lines of each spool (as many as narrow the intervals most)\n"
        "  --minutes M     how long an evening is at most (120)\n"
        "  --per-evening N or how many specimens it holds\n"
        "  --minutes-each M\n"
        "                  tying and pulling one specimen (5; a plain line takes 3/5 of it)\n"
        "  --metres-each M line a specimen takes (the free length and 1 m)\n"
        "  --tyers LIST    who ties, ; between: shared out over all\n"
        "  --question TEXT what the trial is to answer\n"
        "  --interests TEXT\n"
        "                  who pays, who gave the line, and what else a reader may weigh\n"
        "  --grip RULE     what parts at a grip is a \"lower bound\" or \"void\"\n"
        "  --clear RULE    what parts clear of the knot is a \"lower bound\" or an \"event\"\n"
        "  --slips RULE    what slips out is an \"event\" or \"void\"\n"
        "  --void TEXT     what else is void, ; between\n"
        "  --replace RULE  voids are replaced: \"yes\" or \"no\"\n"
        "  --stop RULE     \"when all are pulled\" or \"as soon as apart\"\n"
        "  --sheet FILE    writes the trial sheet, and FILE-rules.csv\n"
        "  --labels FILE   writes labels to print (HTML), and the list of what to tie\n"
        "  --fix           enters the plan into the book: it then stands\n" ANSWER_HELP,
    .example =
        "  bitterend plan build/demo.book --trial spring --knots \"palomar; grinner\" \\\n"
        "    --on \"N12-1; N12-1 + ring\" --within 4 --labels spring.html --fix\n"
        "  Works out how many specimens of each are needed for efficiencies within 4 points,\n"
        "  deals them out over evenings, draws order and codes by lot, writes labels that do\n"
        "  not tell the knot, and fixes all of it in the book. `plan build/demo.book --trial\n"
        "  spring` later says how far it is, and where it went otherwise than planned.",
    .run = run,
};
