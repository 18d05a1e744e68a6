/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is read back from pages of PDF, by pdftotext; a test that needs it ends as skipped where it
 * is not installed. */
#ifndef BE_TEST_PAGES_H
#define BE_TEST_PAGES_H

#include "base/base.h"
#include "test.h"

#include <ctype.h>
#include <math.h>
#include <string.h>
#include <stdio.h>
#include <stdlib.h>

static inline void pages_need_reader(void)
{
  if (system("command -v pdftotext >/dev/null 2>&1") == 0) return;
  print_message("pdftotext is not installed (poppler-utils)\n");
  skip();
}

static inline void pages_path(char path[512])
{
  const char *build = getenv("BUILD_DIR");
  snprintf(path, 512, "%.400s/tests/pages-%ld.pdf", build ? build : "/tmp", (long)getpid());
}

/* What a reader's program says of it: "pdftotext -raw", "-". */
static inline void pages_ask(const struct be_buf *pdf, const char *program, const char *behind,
                             struct be_buf *text)
{
  char path[512], command[700], piece[4096];
  size_t got;
  pages_path(path);
  assert_int_equal(be_file_write(path, pdf->data, pdf->size, NULL), BE_OK);
  snprintf(command, sizeof command, "%s '%s' %s", program, path, behind);
  FILE *pipe = popen(command, "r");
  assert_non_null(pipe);
  be_buf_init(text, 1 << 26);
  while ((got = fread(piece, 1, sizeof piece, pipe)) > 0) be_buf_add(text, piece, got);
  assert_int_equal(pclose(pipe), 0);
  assert_int_equal(be_buf_status(text, NULL), BE_OK);
  be_file_remove(path, NULL);
}

static inline void pages_read(const struct be_buf *pdf, const char *options, struct be_buf *text)
{
  char program[80];
  snprintf(program, sizeof program, "pdftotext %s", options);
  pages_ask(pdf, program, "-", text);
}

/* The size of the smallest letters, in points: the boxes of words are as high as the font's line,
 * 1.164 times that (DejaVu Sans: ascent 0.928, descent 0.236). */
static inline double pages_smallest(const struct be_buf *pdf)
{
  struct be_buf boxes;
  double smallest = HUGE_VAL, low, high;
  pages_read(pdf, "-bbox", &boxes);
  for (const char *at = boxes.data; (at = strstr(at, "<word ")) != NULL; at++) {
    assert_int_equal(
        sscanf(at, "<word xMin=\"%*f\" yMin=\"%lf\" xMax=\"%*f\" yMax=\"%lf\"", &low, &high), 2);
    smallest = fmin(smallest, (high - low) / 1.164);
  }
  be_buf_free(&boxes);
  return smallest;
}

/* One space for any run of white space, none at the ends. */
static inline void pages_squeeze(char *text)
{
  char *to = text;
  for (char *at = text; *at; at++) {
    bool space = isspace((unsigned char)*at) != 0;
    if (!space) *to++ = *at;
    else if (to > text && to[-1] != ' ') *to++ = ' ';
  }
  if (to > text && to[-1] == ' ') to--;
  *to = '\0';
}

/* Takes out the feet, "Page 3 of 73" and the notice behind it, and tells how many there were. */
static inline size_t pages_cut_feet(char *text, const char *foot)
{
  size_t count = 0;
  for (char *at = text; (at = strstr(at, "Page ")) != NULL;) {
    char *end = at + 5 + strspn(at + 5, "0123456789");
    bool is = end > at + 5 && strncmp(end, " of ", 4) == 0;
    if (is) end += 4 + strspn(end + 4, "0123456789") + 1;
    if (is && strncmp(end, foot, strlen(foot)) == 0) {
      memmove(at, end + strlen(foot), strlen(end + strlen(foot)) + 1);
      count++;
    } else at++;
  }
  pages_squeeze(text);
  return count;
}

/* Without spaces, for lines may be broken behind a dash too; and without dashes, for a reader that
 * takes one at the end of a line for a hyphen. */
static inline void pages_bare(char *text, bool dashes)
{
  char *to = text;
  for (char *at = text; *at; at++)
    if (strncmp(at, "\xC2\xA0", 2) == 0) at++; /* a blank that no line ends at */
    else if (!isspace((unsigned char)*at) && (dashes || *at != '-')) *to++ = *at;
  *to = '\0';
}

#endif
