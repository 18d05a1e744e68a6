/* SPDX-License-Identifier: GPL-3.0-or-later */
/* peers FOLDER: writes pulls.csv, points.csv, books.csv and figures.csv. */
#include "books.h"

#include <stdlib.h>

static const char *const tolerances[] = {"estimate", "quantile", "p", "fitted", "margin"};

void tell(const struct peers *peers, enum tolerance tolerance, const char *figure, double value)
{
  fprintf(peers->figures, "%s,%s,%.17g,%s\n", peers->name, figure, value, tolerances[tolerance]);
}

void tell_at(const struct peers *peers, enum tolerance tolerance, const char *figure, double at,
             double value)
{
  fprintf(peers->figures, "%s,%s @%g,%.17g,%s\n", peers->name, figure, at, value,
          tolerances[tolerance]);
}

void tell_point(struct peers *peers, enum tolerance tolerance, const char *kind,
                const double argument[4], double value)
{
  static int number = 0;
  char name[40];
  snprintf(name, sizeof name, "point %d", ++number);
  peers->name = name;
  fprintf(peers->points, "%s,%s,%.17g,%.17g,%.17g,%.17g\n", name, kind, argument[0], argument[1],
          argument[2], argument[3]);
  tell(peers, tolerance, kind, value);
}

static FILE *open_in(const char *folder, const char *name, const char *header)
{
  char path[2000];
  snprintf(path, sizeof path, "%s/%s", folder, name);
  FILE *file = fopen(path, "w");
  if (!file || fprintf(file, "%s\n", header) < 0) {
    fprintf(stderr, "peers: cannot write %s\n", path);
    exit(3);
  }
  return file;
}

int main(int argc, char **argv)
{
  if (argc != 2) {
    fprintf(stderr, "usage: peers FOLDER\n");
    return 2;
  }
  struct peers peers = {
      open_in(argv[1], "pulls.csv", "case,kind,set,load,bound,cause,links"),
      open_in(argv[1], "points.csv", "case,kind,a,b,c,d"),
      open_in(argv[1], "books.csv", "book,terms,y,knot,turns,line,spool,cell,day,tyer"),
      open_in(argv[1], "figures.csv", "case,figure,value,tolerance"), NULL};
  each_case(&peers);
  number_room(&peers);
  rates_and_plans(&peers);
  each_book(&peers);
  int failed = fclose(peers.pulls) != 0;
  failed |= fclose(peers.points) != 0;
  failed |= fclose(peers.books) != 0;
  failed |= fclose(peers.figures) != 0;
  if (failed) fprintf(stderr, "peers: cannot write to %s\n", argv[1]);
  return failed ? 3 : 0;
}
