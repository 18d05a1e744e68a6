/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/survey/survey.h"

#include <stdio.h>

void be_let_go_words(enum be_what what, enum be_where where, enum be_which which,
                     char said[BE_LET_GO_WORDS])
{
  const char *words[3];
  size_t count = 0;
  if (what != BE_WHAT_UNKNOWN) words[count++] = be_what_word(what);
  if (where != BE_WHERE_UNKNOWN) words[count++] = be_where_word(where);
  if (which != BE_WHICH_UNKNOWN && which != BE_WHICH_NONE) words[count++] = be_which_word(which);
  snprintf(said, BE_LET_GO_WORDS, "%s%s%s%s%s", count ? words[0] : "not recorded",
           count > 1 ? ", " : "", count > 1 ? words[1] : "", count > 2 ? ", " : "",
           count > 2 ? words[2] : "");
}

void be_let_go_cell(struct be_table *table, enum be_what what, enum be_where where,
                    enum be_which which)
{
  char said[BE_LET_GO_WORDS];
  be_let_go_words(what, where, which, said);
  be_table_text(table, "%s", said);
}
