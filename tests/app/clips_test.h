/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A book of a few pulls, one with a trace. */
#ifndef BE_APP_CLIPS_TEST_H
#define BE_APP_CLIPS_TEST_H

#include "app_test.h"

static char book[512];
#define ASK(...)                                                                                   \
  (struct be_publishing)                                                                           \
  {                                                                                                \
    __VA_ARGS__                                                                                    \
  }

/* Rises by 20 N a second from 1.5 s on and lets go at 4.5 s, at 60 N over a zero of 0.5 N. */
static inline void write_trace(const char *into, const char *code)
{
  struct be_buf text;
  char path[512], name[60];
  be_buf_init(&text, 1 << 20);
  be_buf_text(&text, "time (s),load (N)\n");
  be_buf_format(&text, "0.00,0.5%02d\n", code[1]); /* no two traces are the same */
  for (int i = 1; i < 300; i++) {
    double at = i * 0.02, load = at < 1.5 || at > 4.5 ? 0 : (at - 1.5) * 20;
    be_buf_format(&text, "%.2f,%.3f\n", at, 0.5 + load + 0.01 * (i % 3));
  }
  snprintf(name, sizeof name, "%s.csv", code);
  test_path(path, name);
  test_write(path, text.data);
  be_buf_free(&text);
  const char *const paths[] = {path};
  struct be_doc *doc = NULL;
  struct be_err err = {0};
  const struct be_entering how = {0};
  if (be_app_enter(into, paths, 1, &how, &doc, &err) != BE_OK) fail_msg("%s", err.what);
  be_doc_free(doc);
}

static inline void clips_book(char path[512], const char *name)
{
  test_book(path, name,
            TEST_HEAD "p1,none,nylon 12 lb,S1,,dry,500,81.3,broke,clear of it,,\n"
                      "p2,none,nylon 12 lb,S1,,dry,500,79.9,broke,clear of it,,\n"
                      "p3,none,nylon 12 lb,S1,,dry,500,80.6,broke,clear of it,,\n"
                      "Q7,palomar,nylon 12 lb,S1,,dry,500,59.95,broke,in the knot,,\n"
                      "Q8,palomar,nylon 12 lb,S1,,dry,500,61.9,broke,in the knot,,\n"
                      "Q9,palomar,nylon 12 lb,S1,,dry,500,63.2,broke,in the knot,,\n"
                      "R1,half blood,nylon 12 lb,S1,,dry,500,50.1,slipped,,,\n"
                      "R2,half blood,nylon 12 lb,S1,,dry,500,48.7,broke,in the knot,,\n"
                      "R3,half blood,nylon 12 lb,S1,,dry,500,52.6,broke,in the knot,,\n",
            NULL);
  write_trace(path, "Q7");
}

static inline enum be_status publish(const struct be_publishing *asked, struct be_doc **doc,
                                     struct be_err *err)
{
  const struct be_answering how = {0};
  *err = (struct be_err){0};
  *doc = NULL;
  return be_app_publish(book, asked, &how, doc, err);
}

static inline void refuses(struct be_publishing asked, enum be_status want, const char *words)
{
  struct be_doc *doc = NULL;
  struct be_err err;
  enum be_status status = publish(&asked, &doc, &err);
  be_doc_free(doc);
  if (status != want || !strstr(err.what, words)) fail_msg("%d: %s", status, err.what);
}

#endif
