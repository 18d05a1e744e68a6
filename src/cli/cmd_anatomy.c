/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/cli.h"

#include <string.h>

enum {
  OPT_COMPARE = OPT_OWN,
  OPT_FEWEST,
  OPT_VIEW,
  OPT_STRIP,
  OPT_WIDTH,
  OPT_SVG,
  OPT_PNG,
  OPT_PDF,
  OPT_STL,
  OPT_GLB,
  OPT_POINTS
};

/* "30,20": turned and tilted by degrees. */
static enum be_status take_view(const char *value, struct be_anatomy *asked, struct be_err *err)
{
  size_t turn = be_number_scan(value, strcspn(value, ","), '.', &asked->turn_deg);
  const char *rest = value + turn;
  if (turn && *rest == ',' && rest[1] &&
      be_number_scan(rest + 1, strlen(rest + 1), '.', &asked->tilt_deg) == strlen(rest + 1)) {
    asked->turned = true;
    return BE_OK;
  }
  return be_fail(err, BE_WRONG_USE, "--view takes two angles such as 30,20, not \"%s\"", value);
}

static enum be_status take_own(int option, const char *value, struct be_anatomy *asked,
                               struct be_err *err)
{
  uint64_t number = 0;
  enum be_status status = BE_OK;
  switch (option) {
  case OPT_COMPARE: asked->compares = true; return BE_OK;
  case OPT_FEWEST: asked->fewest = true; return BE_OK;
  case OPT_VIEW: return take_view(value, asked, err);
  case OPT_STRIP:
    status = take_whole(value, "--strip", 2, 12, &number, err);
    asked->steps = (size_t)number;
    return status;
  case OPT_WIDTH:
    status = take_whole(value, "--width", 64, 8000, &number, err);
    asked->width = (size_t)number;
    return status;
  case OPT_SVG: asked->svg_path = value; return BE_OK;
  case OPT_PNG: asked->png_path = value; return BE_OK;
  case OPT_PDF: asked->pdf_path = value; return BE_OK;
  case OPT_STL: asked->stl_path = value; return BE_OK;
  case OPT_GLB: asked->glb_path = value; return BE_OK;
  case OPT_POINTS: asked->points_path = value; return BE_OK;
  default: return bad_option(value, err);
  }
}

static int run(int argc, char **argv)
{
  static const struct option options[] = {{"help", no_argument, NULL, OPT_HELP},
                                          {"json", no_argument, NULL, OPT_JSON},
                                          {"csv", no_argument, NULL, OPT_CSV},
                                          {"compare", no_argument, NULL, OPT_COMPARE},
                                          {"fewest", no_argument, NULL, OPT_FEWEST},
                                          {"view", required_argument, NULL, OPT_VIEW},
                                          {"strip", required_argument, NULL, OPT_STRIP},
                                          {"width", required_argument, NULL, OPT_WIDTH},
                                          {"svg", required_argument, NULL, OPT_SVG},
                                          {"png", required_argument, NULL, OPT_PNG},
                                          {"pdf", required_argument, NULL, OPT_PDF},
                                          {"stl", required_argument, NULL, OPT_STL},
                                          {"glb", required_argument, NULL, OPT_GLB},
                                          {"points", required_argument, NULL, OPT_POINTS},
                                          {NULL, 0, NULL, 0}};
  struct be_anatomy asked = {0};
  struct asked shared = {0};
  struct be_err err = {0};
  bool help = false;
  for (int option; (option = next_option(argc, argv, options)) != -1;) {
    enum be_status status = option >= OPT_OWN ? take_own(option, optarg, &asked, &err)
                                              : take_option(option, optarg, &shared, &help, &err);
    if (status != BE_OK) return print_usage(&cmd_anatomy, err.what);
  }
  if (help) return print_help(&cmd_anatomy);
  asked.words = (const char *const *)(argv + optind);
  asked.count = (size_t)(argc - optind);
  if (asked.compares && asked.count != 2)
    return print_usage(&cmd_anatomy, "give two ties to compare, each in quotes with its settings");
  struct be_doc *doc = NULL;
  progress_begin();
  if (be_app_anatomy(&asked, &doc, &err) != BE_OK) return print_error("anatomy", &err);
  return print_doc("anatomy", doc, shared.edition);
}

const struct command cmd_anatomy = {
    .name = "anatomy",
    .does = "How a knot runs: crossings, what lies on what, turns of wrap, what it is, pictures",
    .usage = "[TIE [SETTING=VALUE...]] [options]",
    .options =
        "  --compare       are two ties the same: anatomy --compare reef granny\n"
        "  --fewest        in the view with the fewest crossings, not the usual one\n"
        "  --view T,U      turned by T and tilted by U degrees\n"
        "  --svg FILE      write its picture; --png and --pdf the same\n"
        "  --strip N       the picture shows how it is tied, in N steps\n"
        "  --width PX      of the picture (PNG: 1200)\n"
        "  --stl FILE      write its shape, a diameter of the first line as 1 mm; --glb for glTF\n"
        "  --points FILE   write its lines as a table of x, y and z\n"
        "  --json          the same content for a program\n"
        "  --csv           the tables only, comma separated\n",
    .example =
        "  bitterend anatomy clinch turns=7 --svg clinch.svg\n"
        "  Says where the knot crosses itself and what lies on what, and writes its picture.\n"
        "  Without TIE it lists those that the program knows. TIE may also be a file with a tie\n"
        "  or a table of points in it, or a code: 'gauss 1 -2 3 -1 2 -3', 'dowker 4 6 2' or\n"
        "  'pd X[1,5,2,4] X[3,1,4,6] X[5,3,6,2]'.",
    .run = run,
};
