/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/cli.h"

#include <stdio.h>
#include <string.h>

enum {
  OPT_COLUMN = OPT_OWN,
  OPT_VALUE,
  OPT_WORD,
  OPT_PASS,
  OPT_IGNORE,
  OPT_ABOVE,
  OPT_TITLES,
  OPT_MAPPING,
  OPT_MAPPING_FILE,
  OPT_SAVE,
  OPT_MAPPINGS,
  OPT_FORGET,
  OPT_SPECIMEN,
  OPT_DECIMAL,
  OPT_PREVIEW,
  RULES_MAX = 64 * 1024
};

/* One rule of a mapping from an option: "FIELD = THEIRS" with the mark given. */
static enum be_status add_rule(struct be_buf *rules, const char *text, const char *mark,
                               struct be_err *err)
{
  const char *equals = strchr(text, '=');
  if (!equals)
    return be_fail(err, BE_WRONG_USE, "\"%s\" is not of the form 'FIELD = SOMETHING'", text);
  be_buf_add(rules, text, (size_t)(equals - text));
  be_buf_format(rules, "%s%s\n", mark, equals + 1);
  return be_buf_status(rules, err);
}

/* Rules from a file, which may begin with the mark of UTF-8. */
static enum be_status read_rules(const char *path, struct be_buf *rules, struct be_err *err)
{
  struct be_buf text;
  be_buf_init(&text, RULES_MAX);
  enum be_status status = be_file_read(path, &text, err);
  size_t mark = text.size >= 3 && memcmp(text.data, "\xEF\xBB\xBF", 3) == 0 ? 3 : 0;
  if (status == BE_OK && !be_utf8_valid(text.data, text.size)) {
    status = be_fail(err, BE_BAD_INPUT, "the rules are not UTF-8");
    be_fail_at(err, path, 0, 0);
    be_fail_remedy(err, "save them so");
  }
  if (status == BE_OK) be_buf_add(rules, text.data + mark, text.size - mark);
  if (status == BE_OK && text.size > mark) be_buf_text(rules, "\n");
  be_buf_free(&text);
  return status == BE_OK ? be_buf_status(rules, err) : status;
}

static enum be_status take_own(int option, const char *value, struct be_entering *how,
                               struct be_buf *rules, struct be_err *err)
{
  switch (option) {
  case OPT_COLUMN: return add_rule(rules, value, "=", err);
  case OPT_VALUE: return add_rule(rules, value, ":=", err);
  case OPT_WORD: be_buf_format(rules, "%s\n", value); return be_buf_status(rules, err);
  case OPT_PASS: be_buf_format(rules, "pass over: %s\n", value); return be_buf_status(rules, err);
  case OPT_IGNORE: be_buf_format(rules, "ignore = %s\n", value); return be_buf_status(rules, err);
  case OPT_ABOVE: be_buf_format(rules, "as above = %s\n", value); return be_buf_status(rules, err);
  case OPT_TITLES: be_buf_format(rules, "titles = %s\n", value); return be_buf_status(rules, err);
  case OPT_MAPPING_FILE: return read_rules(value, rules, err);
  case OPT_MAPPING: how->mapping_of = value; return BE_OK;
  case OPT_SAVE: how->save_as = value; return BE_OK;
  case OPT_SPECIMEN: how->specimen = value; return BE_OK;
  case OPT_DECIMAL:
    how->decimal = strcmp(value, "comma") == 0 ? ',' : strcmp(value, "point") == 0 ? '.' : 0;
    if (how->decimal) return BE_OK;
    return be_fail(err, BE_WRONG_USE, "--decimal takes \"comma\" or \"point\", not \"%s\"", value);
  default: return bad_option(value, err);
  }
}

/* After a refusal: what became of the file at fault, and of those after it. */
static void print_rest(char **paths, const enum be_tried *tried, size_t count)
{
  bool refused = false, untried = false;
  for (size_t i = 0; i < count; i++) refused = refused || tried[i] == BE_REFUSED;
  if (!refused) return;
  fprintf(stderr, "nothing of this file was entered; the book is as it was before it\n");
  for (size_t i = 0; i < count; i++) {
    if (tried[i] != BE_NOT_TRIED) continue;
    fprintf(stderr, "%s%s", untried ? ", " : "not tried: ", paths[i]);
    untried = true;
  }
  if (untried) fprintf(stderr, "\n");
}

static int enter(const char *book, char **paths, size_t count, const struct be_entering *how,
                 enum edition edition)
{
  struct be_err err = {0};
  struct be_doc *doc = NULL;
  enum be_tried *tried = be_alloc_array(count, sizeof *tried);
  progress_begin();
  enum be_status status =
      tried ? be_app_enter_each(book, (const char *const *)paths, count, how, tried, &doc, &err)
            : be_fail(&err, BE_NO_MEMORY, "no memory for the list of files");
  int exits = doc ? print_doc("enter", doc, edition) : 0;
  if (status != BE_OK) exits = print_error("enter", &err);
  if (status != BE_OK && tried) print_rest(paths, tried, count);
  be_free(tried);
  return exits;
}

static int preview(const char *book, char **paths, size_t count, const struct be_entering *how,
                   enum edition edition)
{
  struct be_err err = {0};
  struct be_doc *doc = NULL;
  progress_begin();
  enum be_status status = be_app_preview(book, (const char *const *)paths, count, how, &doc, &err);
  int exits = doc ? print_doc("enter", doc, edition) : 0;
  if (status != BE_OK && status != BE_NO) return print_error("enter", &err);
  return exits ? exits : be_status_exit(status);
}

static int mappings(const char *book, const char *forget, enum edition edition)
{
  struct be_err err = {0};
  struct be_doc *doc = NULL;
  enum be_status status = be_app_mappings(book, forget, &doc, &err);
  return status == BE_OK ? print_doc("enter", doc, edition) : print_error("enter", &err);
}

/* What is wrong with the words that are no options; null: nothing. */
static const char *wrong_files(size_t files, bool lists, const struct be_entering *how)
{
  if (lists) return files == 1 ? NULL : "give a book and no files with --mappings";
  if (files < 2) return "give a book and files";
  bool rules = how->mapping || how->mapping_of;
  return how->save_as && !rules ? "there are no rules that --save-mapping could keep" : NULL;
}

static int run(int argc, char **argv)
{
  static const struct option options[] = {
      {"help", no_argument, NULL, OPT_HELP},
      {"json", no_argument, NULL, OPT_JSON},
      {"csv", no_argument, NULL, OPT_CSV},
      {"column", required_argument, NULL, OPT_COLUMN},
      {"value", required_argument, NULL, OPT_VALUE},
      {"ignore", required_argument, NULL, OPT_IGNORE},
      {"as-above", required_argument, NULL, OPT_ABOVE},
      {"titles", required_argument, NULL, OPT_TITLES},
      {"word", required_argument, NULL, OPT_WORD},
      {"pass-over", required_argument, NULL, OPT_PASS},
      {"mapping", required_argument, NULL, OPT_MAPPING},
      {"mapping-file", required_argument, NULL, OPT_MAPPING_FILE},
      {"save-mapping", required_argument, NULL, OPT_SAVE},
      {"mappings", no_argument, NULL, OPT_MAPPINGS},
      {"forget-mapping", required_argument, NULL, OPT_FORGET},
      {"specimen", required_argument, NULL, OPT_SPECIMEN},
      {"decimal", required_argument, NULL, OPT_DECIMAL},
      {"preview", no_argument, NULL, OPT_PREVIEW},
      {NULL, 0, NULL, 0}};
  struct be_entering how = {0};
  struct asked asked = {0};
  struct be_err err = {0};
  struct be_buf rules;
  bool help = false, looks = false, lists = false;
  const char *forget = NULL;
  int exits = -1;
  be_buf_init(&rules, RULES_MAX);
  for (int option; exits < 0 && (option = next_option(argc, argv, options)) != -1;) {
    looks = looks || option == OPT_PREVIEW;
    lists = lists || option == OPT_MAPPINGS || option == OPT_FORGET;
    if (option == OPT_FORGET) forget = optarg;
    if (option == OPT_PREVIEW || option == OPT_MAPPINGS || option == OPT_FORGET) continue;
    enum be_status status = option >= OPT_OWN ? take_own(option, optarg, &how, &rules, &err)
                                              : take_option(option, optarg, &asked, &help, &err);
    if (status == BE_WRONG_USE) exits = print_usage(&cmd_enter, err.what);
    else if (status != BE_OK) exits = print_error("enter", &err);
  }
  if (rules.size) how.mapping = rules.data;
  if (exits < 0 && help) exits = print_help(&cmd_enter);
  const char *wrong = wrong_files((size_t)(argc - optind), lists, &how);
  if (exits < 0 && wrong) exits = print_usage(&cmd_enter, wrong);
  if (exits < 0 && lists) exits = mappings(argv[optind], forget, asked.edition);
  if (exits < 0)
    exits = (looks ? preview : enter)(argv[optind], argv + optind + 1, (size_t)(argc - optind - 1),
                                      &how, asked.edition);
  be_buf_free(&rules);
  return exits;
}

const struct command cmd_enter = {
    .name = "enter",
    .does = "Enter sheets of pulls, lines, knots, benches, trials and their rules, and traces",
    .usage = "BOOK FILE... [options], BOOK PACKAGE, or BOOK --mappings",
    .options =
        "  --column 'FIELD = COLUMN'  take a field from a column of your own\n"
        "                             ('load (lb) = Pull 1 .. Pull 10': several loads a row;\n"
        "                             'session (d/m/y) = Date': days written 3/4/25)\n"
        "  --value 'FIELD = TEXT'     the same value in every row\n"
        "  --ignore COLUMN            pass over a column\n"
        "  --as-above COLUMN          an empty cell of it means the one above\n"
        "  --titles FIELD             rows of one cell are titles of what is below, and tell it\n"
        "  --word 'FIELD: WORD = MEANING'  what a word of your own means, such as\n"
        "                             'what: snapped = broke', 'soak: ? = not recorded'\n"
        "  --pass-over 'COLUMN = WORD'  pass over rows with this word, such as means\n"
        "  --mapping-file FILE        rules such as these, one a line\n"
        "  --save-mapping NAME        keep the rules in the book under a name\n"
        "  --mapping NAME             use rules kept before\n"
        "  --mappings                 list the rules that the book keeps;\n"
        "  --forget-mapping NAME      drops one\n"
        "  --decimal comma|point      what a mark in a number means\n"
        "  --preview                  enter nothing: show what each field is taken from and\n"
        "                             every row that does not fit\n"
        "  --specimen CODE            the specimen that a trace belongs to\n"
        "  --json, --csv              what was entered, for a program\n",
    .example =
        "  bitterend enter season.book lines.csv knots.csv monday.csv\n"
        "  Enters each file whole or not at all. What `plan --sheet may.csv` wrote is entered\n"
        "  with its rules first, then pulls by their codes alone:\n"
        "  bitterend enter season.book may-rules.csv may.csv first-evening.csv\n"
        "  What `publish --package` wrote, a folder or a zip, makes a new book of its record:\n"
        "  bitterend new again.book && bitterend enter again.book season.zip\n"
        "  A sheet of your own shape is mapped once:\n"
        "  bitterend enter season.book old.csv --column 'line A = string' --ignore page \\\n"
        "    --word 'what: pulled through = slipped out' --save-mapping notebook",
    .run = run,
};
