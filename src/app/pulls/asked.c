/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Each row of the table is one thing that pulls can be asked by. */
#include "app/pulls/pulls.h"

#include <stdio.h>
#include <string.h>

/* What was asked by one thing, understood. */
struct wanted {
  const char *text;      /* null: any */
  int id;                /* of what it names */
  const char *from, *to; /* of dates; "" for an open end, null for a session as it is written */
};

/* ---- texts ---- */

static char lower(char c)
{
  return c >= 'A' && c <= 'Z' ? (char)(c | 0x20) : c;
}

static bool begins(const char *text, const char *part)
{
  for (; *part; part++, text++)
    if (lower(*text) != lower(*part)) return false;
  return true;
}

static bool holds(const char *text, const char *part)
{
  do {
    if (begins(text, part)) return true;
  } while (*text++);
  return false;
}

static bool same(const char *text, const char *other)
{
  return text && be_text_same(text, other);
}

/* "2026-03-01", with anything behind it. */
static bool is_date(const char *text)
{
  static const char shape[] = "dddd-dd-dd";
  for (size_t i = 0; shape[i]; i++)
    if (shape[i] == 'd' ? text[i] < '0' || text[i] > '9' : text[i] != shape[i]) return false;
  int month = (text[5] - '0') * 10 + text[6] - '0', day = (text[8] - '0') * 10 + text[9] - '0';
  return month >= 1 && month <= 12 && day >= 1 && day <= 31;
}

/* ---- what is asked ---- */

typedef enum be_status take(const struct survey *, const char *text, struct wanted *,
                            struct be_err *);
typedef bool fits(const struct survey *, const struct be_pull *, const struct wanted *);

static enum be_status take_knot(const struct survey *survey, const char *text,
                                struct wanted *wanted, struct be_err *err)
{
  size_t digits = strspn(text, "0123456789"), at = 0;
  if (text[digits]) {
    wanted->id = be_knot_find(survey, text, err);
    return wanted->id < 0 ? BE_WRONG_USE : BE_OK;
  }
  for (size_t i = 0; i < digits && at < survey->record.knots_count; i++)
    at = at * 10 + (size_t)(text[i] - '0');
  if (at >= survey->record.knots_count)
    return be_fail(err, BE_NO, "the book does not hold so many knots");
  wanted->id = (int)at;
  return BE_OK;
}

static enum be_status not_in_the_book(const char *what, const char *text, struct be_err *err)
{
  be_fail(err, BE_WRONG_USE, "the book has no %s \"%.80s\"", what, text);
  return be_fail_remedy(err, "choose one from the list");
}

static enum be_status take_line(const struct survey *survey, const char *text,
                                struct wanted *wanted, struct be_err *err)
{
  (void)wanted;
  for (size_t i = 0; i < survey->record.lines_count; i++) {
    const struct be_line *line = &survey->record.lines[i];
    if (same(line->name, text) || same(line->spool, text)) return BE_OK;
  }
  return not_in_the_book("line or spool", text, err);
}

static enum be_status take_trial(const struct survey *survey, const char *text,
                                 struct wanted *wanted, struct be_err *err)
{
  for (size_t i = 0; i < survey->record.trials_count; i++)
    if (same(survey->record.trials[i].name, text)) {
      wanted->id = (int)i;
      return BE_OK;
    }
  return not_in_the_book("trial", text, err);
}

static enum be_status take_bench(const struct survey *survey, const char *text,
                                 struct wanted *wanted, struct be_err *err)
{
  for (size_t i = 0; i < survey->record.benches_count; i++)
    if (same(survey->record.benches[i].name, text)) {
      wanted->id = (int)i;
      return BE_OK;
    }
  return not_in_the_book("bench", text, err);
}

/* "2026-03-01..2026-03-31", either end open; anything else is a session as it is written. */
static enum be_status take_session(const struct survey *survey, const char *text,
                                   struct wanted *wanted, struct be_err *err)
{
  const char *dots = strstr(text, "..");
  if (!dots) return BE_OK;
  size_t size = (size_t)(dots - text);
  const char *from = be_arena_text(survey->arena, text, size), *to = dots + 2;
  if (!from) return be_no_memory(err);
  bool from_fine = !*from || (size == 10 && is_date(from));
  bool to_fine = !*to || (strlen(to) == 10 && is_date(to));
  if (!from_fine || !to_fine || (!*from && !*to)) {
    be_fail(err, BE_WRONG_USE, "\"%.60s\" is not from one date to another", text);
    return be_fail_remedy(err, "write 2026-03-01..2026-03-31, or leave out one of the two");
  }
  if (*from && *to && strcmp(from, to) > 0)
    return be_fail(err, BE_WRONG_USE, "\"%.60s\" ends before it begins", text);
  wanted->from = from;
  wanted->to = to;
  return BE_OK;
}

static enum be_status take_text(const struct survey *survey, const char *text,
                                struct wanted *wanted, struct be_err *err)
{
  (void)survey, (void)text, (void)wanted, (void)err;
  return BE_OK;
}

/* ---- what fits ---- */

static bool fits_code(const struct survey *survey, const struct be_pull *pull,
                      const struct wanted *wanted)
{
  (void)survey;
  return holds(pull->code, wanted->text);
}

static bool fits_knot(const struct survey *survey, const struct be_pull *pull,
                      const struct wanted *wanted)
{
  (void)survey;
  return pull->knot == wanted->id || pull->knot_b == wanted->id;
}

static bool fits_line(const struct survey *survey, const struct be_pull *pull,
                      const struct wanted *wanted)
{
  const int lines[] = {pull->line_a, pull->line_b};
  for (int i = 0; i < 2; i++) {
    if (lines[i] == BE_NO_INDEX) continue;
    const struct be_line *line = &survey->record.lines[lines[i]];
    if (same(line->name, wanted->text) || same(line->spool, wanted->text)) return true;
  }
  return false;
}

static bool fits_what(const struct survey *survey, const struct be_pull *pull,
                      const struct wanted *wanted)
{
  (void)survey;
  return (int)pull->what == wanted->id;
}

static bool fits_where(const struct survey *survey, const struct be_pull *pull,
                       const struct wanted *wanted)
{
  (void)survey;
  return (int)pull->where == wanted->id;
}

static bool fits_result(const struct survey *survey, const struct be_pull *pull,
                        const struct wanted *wanted)
{
  (void)survey;
  return (int)pull->kind == wanted->id + BE_KIND_EVENT;
}

static bool fits_trial(const struct survey *survey, const struct be_pull *pull,
                       const struct wanted *wanted)
{
  (void)survey;
  return pull->trial == wanted->id;
}

static bool fits_bench(const struct survey *survey, const struct be_pull *pull,
                       const struct wanted *wanted)
{
  (void)survey;
  return pull->bench == wanted->id;
}

static bool fits_session(const struct survey *survey, const struct be_pull *pull,
                         const struct wanted *wanted)
{
  (void)survey;
  const char *session = pull->session;
  if (!session) return false;
  if (!wanted->from)
    return same(session, wanted->text) || (is_date(wanted->text) && begins(session, wanted->text));
  return is_date(session) && (!*wanted->from || strncmp(session, wanted->from, 10) >= 0) &&
         (!*wanted->to || strncmp(session, wanted->to, 10) <= 0);
}

static bool fits_tyer(const struct survey *survey, const struct be_pull *pull,
                      const struct wanted *wanted)
{
  (void)survey;
  return same(pull->tyer, wanted->text);
}

/* The four that are with or without; with is the first of the words. */
static bool fits_flags(const struct survey *survey, const struct be_pull *pull,
                       const struct wanted *wanted)
{
  (void)survey;
  return (pull->flags && *pull->flags) == (wanted->id == 0);
}

static bool fits_corrected(const struct survey *survey, const struct be_pull *pull,
                           const struct wanted *wanted)
{
  (void)survey;
  return (pull->corrections > 0) == (wanted->id == 0);
}

static bool fits_trace(const struct survey *survey, const struct be_pull *pull,
                       const struct wanted *wanted)
{
  (void)survey;
  return (pull->trace != 0) == (wanted->id == 0);
}

static bool fits_photo(const struct survey *survey, const struct be_pull *pull,
                       const struct wanted *wanted)
{
  (void)survey;
  return (be_evidence_of(pull, false) > 0) == (wanted->id == 0);
}

/* ---- the table ---- */

static const char *what_word(int at)
{
  return at <= BE_WHAT_NOTHING ? be_what_word((enum be_what)at) : NULL;
}

static const char *where_word(int at)
{
  return at <= BE_WHERE_NOT_SEEN ? be_where_word((enum be_where)at) : NULL;
}

static const char *kind_word(int at)
{
  return at + BE_KIND_EVENT <= BE_KIND_VOID ? be_kind_word((enum be_kind)(at + BE_KIND_EVENT))
                                            : NULL;
}

static const char *with_word(int at)
{
  return at == 0 ? "with" : at == 1 ? "without" : NULL;
}

static const struct {
  const char *name, *label, *before, *after; /* the last two: round it in a sentence */
  take *take;
  fits *fits;
  const char *(*word)(int);
} table[BE_PULLS_BY] = {
    [BE_PULLS_CODE] = {"code", "part of the code", "code with \"", "\"", take_text, fits_code,
                       NULL},
    [BE_PULLS_KNOT] = {"knot", "knot", "the ", "", take_knot, fits_knot, NULL},
    [BE_PULLS_LINE] = {"line", "line or spool", "on ", "", take_line, fits_line, NULL},
    [BE_PULLS_WHAT] = {"what", "what let go", "what let go: ", "", NULL, fits_what, what_word},
    [BE_PULLS_WHERE] = {"where", "where", "where: ", "", NULL, fits_where, where_word},
    [BE_PULLS_RESULT] = {"result", "result", "result: ", "", NULL, fits_result, kind_word},
    [BE_PULLS_TRIAL] = {"trial", "trial", "trial ", "", take_trial, fits_trial, NULL},
    [BE_PULLS_BENCH] = {"bench", "bench", "bench ", "", take_bench, fits_bench, NULL},
    [BE_PULLS_SESSION] = {"session", "session (a date, or from..to)", "session ", "", take_session,
                          fits_session, NULL},
    [BE_PULLS_TYER] = {"tyer", "tied by", "tied by ", "", take_text, fits_tyer, NULL},
    [BE_PULLS_FLAGS] = {"flags", "flags of the trace", "", " flags", NULL, fits_flags, with_word},
    [BE_PULLS_CORRECTED] = {"corrections", "corrections", "", " corrections", NULL, fits_corrected,
                            with_word},
    [BE_PULLS_TRACE] = {"trace", "trace", "", " a trace", NULL, fits_trace, with_word},
    [BE_PULLS_PHOTO] = {"photo", "photo", "", " a photo", NULL, fits_photo, with_word},
};

const char *be_pulls_by_name(enum be_pulls_by by)
{
  return table[by].name;
}

const char *be_pulls_by_label(enum be_pulls_by by)
{
  return table[by].label;
}

const char *be_pulls_by_word(enum be_pulls_by by, int at)
{
  return table[by].word ? table[by].word(at) : NULL;
}

static enum be_status take_word(enum be_pulls_by by, const char *text, struct wanted *wanted,
                                struct be_err *err)
{
  char list[300] = "";
  size_t used = 0;
  for (int i = 0; table[by].word(i); i++) {
    if (be_text_same(table[by].word(i), text)) {
      wanted->id = i;
      return BE_OK;
    }
    used +=
        (size_t)snprintf(list + used, sizeof list - used, "%s%s", i ? ", " : "", table[by].word(i));
  }
  be_fail(err, BE_WRONG_USE, "%s does not take \"%.60s\"", table[by].name, text);
  return be_fail_remedy(err, "it takes %s", list);
}

/* Letters, digits and -._~ stand for themselves (RFC 3986, section 2.3). */
static void add_encoded(struct be_buf *address, const char *text)
{
  for (; *text; text++) {
    char c = lower(*text);
    bool plain = (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || strchr("-._~", c);
    if (plain) be_buf_char(address, *text);
    else be_buf_format(address, "%%%02X", (unsigned)(unsigned char)*text);
  }
}

/* Words and address of what is asked. */
static enum be_status say_asked(const struct survey *survey, const struct wanted *wanted,
                                struct be_pulls_found *found, struct be_err *err)
{
  enum { SAID_MAX = 1 << 20 };
  struct be_buf said, address;
  be_buf_init(&said, SAID_MAX);
  be_buf_init(&address, SAID_MAX);
  be_buf_text(&said, "");
  be_buf_text(&address, "/pulls?");
  for (int by = 0; by < BE_PULLS_BY; by++) {
    if (!wanted[by].text) continue;
    const char *text = by == BE_PULLS_KNOT ? be_knot_name(survey, wanted[by].id) : wanted[by].text;
    be_buf_format(&said, "%s%s%.200s%s", said.size ? "; " : "", table[by].before, text,
                  table[by].after);
    be_buf_format(&address, "%s=", table[by].name);
    add_encoded(&address, wanted[by].text);
    be_buf_char(&address, '&');
  }
  enum be_status status = be_buf_status(&said, err);
  if (status == BE_OK) status = be_buf_status(&address, err);
  if (status == BE_OK) {
    found->said = be_arena_text(survey->arena, said.size ? said.data : "", said.size);
    found->address = be_arena_text(survey->arena, address.data, address.size);
    if (!found->said || !found->address) status = be_no_memory(err);
  }
  be_buf_free(&said);
  be_buf_free(&address);
  return status;
}

static bool fits_all(const struct survey *survey, const struct be_pull *pull,
                     const struct wanted *wanted)
{
  for (int by = 0; by < BE_PULLS_BY; by++)
    if (wanted[by].text && !table[by].fits(survey, pull, &wanted[by])) return false;
  return true;
}

enum be_status be_pulls_find(const struct survey *survey, const struct be_pulls_asked *asked,
                             struct be_pulls_found *found, struct be_err *err)
{
  struct wanted wanted[BE_PULLS_BY] = {{0}};
  size_t all = survey->record.pulls_count;
  enum be_status status = BE_OK;
  *found = (struct be_pulls_found){.count = 0};
  for (int by = 0; by < BE_PULLS_BY && status == BE_OK; by++) {
    const char *text = asked->text[by];
    if (!text || !*text) continue;
    wanted[by].text = text;
    status = table[by].word ? take_word((enum be_pulls_by)by, text, &wanted[by], err)
                            : table[by].take(survey, text, &wanted[by], err);
  }
  if (status == BE_OK) status = say_asked(survey, wanted, found, err);
  if (status != BE_OK) return status;
  found->pulls = be_arena_alloc(survey->arena, (all + 1) * sizeof *found->pulls);
  if (!found->pulls) return be_no_memory(err);
  for (size_t i = 0; i < all; i++)
    if (fits_all(survey, &survey->record.pulls[i], wanted))
      found->pulls[found->count++] = &survey->record.pulls[i];
  return BE_OK;
}
