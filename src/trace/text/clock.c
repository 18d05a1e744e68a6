/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Clock text: "12:03:07.25", "12:03:07:250", "3:07.25", with a date before it
 * and AM, PM, Z or an offset after it. Dates are passed over: a pull is shorter
 * than a day, and a reading keeps its full precision so. */
#include "trace/text/text.h"

#include <string.h>

enum { PART_DIGITS = 4, HALF_DAY = 43200, DAY = 86400 };

static bool starts_with(struct be_span text, const char *word)
{
  size_t length = strlen(word);
  return text.size >= length && be_span_is((struct be_span){text.text, length}, word);
}

static struct be_span after(struct be_span text, size_t bytes)
{
  return (struct be_span){text.text + bytes, text.size - bytes};
}

/* Bytes of a month at the start of text: "Mar", "März", "Okt". */
static size_t month_at(struct be_span text)
{
  static const char *const months[] = {"jan", "feb", "mar", "apr", "may", "jun", "jul",
                                       "aug", "sep", "oct", "nov", "dec", "mai", "okt",
                                       "dez", "ene", "abr", "ago", "dic", "fev", "avr",
                                       "mrz", "mär", "gen", "giu", "lug", "set", "ott"};
  for (size_t i = 0; i < sizeof months / sizeof months[0]; i++) {
    if (!starts_with(text, months[i])) continue;
    size_t size = strlen(months[i]);
    while (size < text.size && (text.text[size] | 0x20) >= 'a' && (text.text[size] | 0x20) <= 'z')
      size++;
    return size;
  }
  return 0;
}

/* Is this nothing but the parts of a date? */
static bool is_date_text(struct be_span text, size_t *digits)
{
  *digits = 0;
  while (text.size) {
    size_t step = be_is_digit(text.text[0]) || strchr("-./ T,", text.text[0]) ? 1 : month_at(text);
    *digits += be_is_digit(text.text[0]);
    for (size_t i = 0; !step && i < 3; i++)
      if (starts_with(text, (const char *const[]){"年", "月", "日"}[i])) step = 3;
    if (!step) return false;
    text = after(text, step);
  }
  return true;
}

/* Three numbers of one, two or four digits with the same mark between. */
static bool is_numeric_date(struct be_span cell)
{
  char mark = '\0';
  size_t parts = 0, years = 0;
  for (size_t i = 0; i < cell.size;) {
    size_t size = 0;
    while (i < cell.size && be_is_digit(cell.text[i])) i++, size++;
    if (size == 0 || size == 3 || size > 4 || ++parts > 3) return false;
    years += size == 4;
    if (i == cell.size) break;
    if (!strchr("-./", cell.text[i]) || (mark && cell.text[i] != mark)) return false;
    mark = cell.text[i++];
  }
  return parts == 3 && years <= 1;
}

static bool has_letter(struct be_span text)
{
  for (size_t i = 0; i < text.size; i++) {
    unsigned char c = (unsigned char)text.text[i];
    if (c >= 0x80 || ((c | 0x20) >= 'a' && (c | 0x20) <= 'z')) return true;
  }
  return false;
}

bool be_span_is_date(struct be_span cell)
{
  size_t digits, named = 0;
  if (cell.size < 6 || cell.size > 24) return false;
  if (is_numeric_date(cell)) return true;
  if (!be_is_digit(cell.text[0]) || !has_letter(cell) || !is_date_text(cell, &digits) ||
      digits < 3 || digits > 8)
    return false;
  for (size_t i = 0; i < cell.size && !named; i++)
    named = (unsigned char)cell.text[i] >= 0x80 ? 1 : month_at(after(cell, i));
  return named > 0;
}

/* ---- the parts ---- */

static size_t scan_part(struct be_span text, double *value)
{
  size_t i = 0;
  *value = 0;
  while (i < text.size && i < PART_DIGITS && be_is_digit(text.text[i]))
    *value = *value * 10 + (text.text[i++] - '0');
  return i;
}

/* "07", "07.25", "07,25" or "07:250", where the last is in milliseconds. */
static size_t scan_seconds(struct be_span text, double *seconds, bool *exact)
{
  double whole, ms;
  size_t size = scan_part(text, &whole);
  *seconds = whole;
  *exact = false;
  if (size == 0 || size > 2 || size == text.size) return size > 2 ? 0 : size;
  char mark = text.text[size];
  if (mark == '.' || mark == ',') {
    *exact = true;
    return be_number_scan(text.text, text.size, mark, seconds);
  }
  if (mark != ':') return size;
  size_t more = scan_part(after(text, size + 1), &ms);
  *seconds = whole + ms / 1000;
  *exact = true;
  return more == 0 || more > 3 ? 0 : size + 1 + more;
}

enum half { WHOLE_DAY, MORNING, AFTERNOON };

static const struct {
  const char *word;
  enum half half;
} halves[] = {{"am", MORNING},    {"pm", AFTERNOON},    {"a.m.", MORNING}, {"p.m.", AFTERNOON},
              {"a. m.", MORNING}, {"p. m.", AFTERNOON}, {"上午", MORNING}, {"下午", AFTERNOON},
              {"午前", MORNING},  {"午後", AFTERNOON}};
enum { HALVES = sizeof halves / sizeof halves[0] };

/* What may follow: nothing, AM or PM, Z, UTC, "+02:00". */
static bool read_tail(struct be_span tail, enum half *half)
{
  tail = be_span_trim(tail);
  for (size_t i = 0; i < HALVES; i++)
    if (be_span_is(tail, halves[i].word)) {
      *half = halves[i].half;
      return true;
    }
  if (tail.size == 0 || be_span_is(tail, "z") || be_span_is(tail, "utc")) return true;
  if (tail.text[0] != '+' && tail.text[0] != '-') return false;
  for (size_t i = 1; i < tail.size; i++)
    if (!be_is_digit(tail.text[i]) && !(i == 3 && tail.text[i] == ':')) return false;
  return tail.size == 3 || tail.size == 5 || tail.size == 6;
}

/* Takes "下午" off the end of what stands before the hours. */
static struct be_span without_half(struct be_span head, enum half *half)
{
  head = be_span_trim(head);
  for (size_t i = 0; i < HALVES; i++) {
    size_t length = strlen(halves[i].word);
    if (head.size < length || !be_span_is(after(head, head.size - length), halves[i].word))
      continue;
    *half = halves[i].half;
    head.size -= length;
  }
  return head;
}

bool be_clock_read(struct be_span cell, struct be_clock *clock)
{
  const char *colon = cell.size ? memchr(cell.text, ':', cell.size) : NULL;
  enum half half = WHOLE_DAY;
  double first, second, third = 0;
  bool exact = false;
  size_t digits;
  if (!colon) return false;
  size_t at = (size_t)(colon - cell.text);
  while (at > 0 && be_is_digit(cell.text[at - 1])) at--;
  struct be_span date = without_half((struct be_span){cell.text, at}, &half);
  if (!is_date_text(date, &digits)) return false;
  struct be_span rest = after(cell, at);
  size_t size = scan_part(rest, &first);
  if (size == 0 || size >= rest.size || rest.text[size] != ':') return false;
  rest = after(rest, size + 1);
  size_t plain = scan_part(rest, &second);
  bool three = plain > 0 && plain < rest.size && rest.text[plain] == ':';
  if (three) rest = after(rest, plain + 1);
  size = scan_seconds(rest, three ? &third : &second, &exact);
  if (size == 0 || !read_tail(after(rest, size), &half)) return false;
  bool hours = three || half != WHOLE_DAY || (digits > 0 && !exact);
  clock->bare = !hours && !exact;
  clock->seconds = hours ? first * 3600 + second * 60 + third : first * 60 + second;
  if (hours && half == MORNING && first >= 12) clock->seconds -= HALF_DAY;
  if (hours && half == AFTERNOON && first < 12) clock->seconds += HALF_DAY;
  return second < (three ? 60 : 61) && third < 61 && (half == WHOLE_DAY || first <= 12);
}

/* ---- past midnight ---- */

/* A clock falls back by a day less one step at midnight, and a clock of twelve
 * hours from 12:59 to 1:00. An hour, or a minute there, allows for a gap. */
double be_clock_go_on(struct be_clock_run *run, double seconds)
{
  enum { HOUR = 3600, MINUTE = 60 };
  double fall = run->started ? run->last - seconds : 0;
  if (fall >= DAY - HOUR) run->add += DAY;
  else if (fall > HALF_DAY - MINUTE && run->last >= HALF_DAY + HOUR - MINUTE &&
           run->last < HALF_DAY + HOUR && seconds >= HOUR && seconds < HOUR + MINUTE)
    run->add += HALF_DAY;
  run->started = true;
  run->last = seconds;
  return seconds + run->add;
}
