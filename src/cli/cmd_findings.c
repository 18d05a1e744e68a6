/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/cli.h"

static int run(int argc, char **argv)
{
  struct asked asked = {0};
  int done = read_answer_options(&cmd_findings, argc, argv, 1, "give one book", &asked);
  if (done >= 0) return done;
  struct be_doc *doc = NULL;
  struct be_err err = {0};
  progress_begin();
  if (be_app_findings(argv[optind], &asked.how, &doc, &err) != BE_OK)
    return print_error("findings", &err);
  return print_doc("findings", doc, asked.edition);
}

const struct command cmd_findings = {
    .name = "findings",
    .does = "What the pulls support, in plain sentences with their evidence, and what they do not",
    .usage = "BOOK [options]",
    .options = ANSWER_HELP,
    .example =
        "  bitterend findings build/demo.book\n"
        "  Which line lets go, what turns, soaking, the tyer and the order of pulling go with, "
        "who\n"
        "  slips, and whether the build of knots goes with their strength: each with n and its\n"
        "  interval, all tested together; then what cannot be said, and what would settle it.",
    .run = run,
};
