/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Days of the Gregorian calendar, of the years 1 to 9999. */
#include "rig/calibration/calibration.h"

#include <stdio.h>

enum { YEAR_MAX = 9999 };

struct date {
  long year, month, day;
};

static bool is_leap(long year)
{
  return (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
}

static long month_days(long year, long month)
{
  static const int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  return days[month - 1] + (month == 2 && is_leap(year));
}

/* From 1970-01-01 to the first of a year: 719162 days lie between it and year 1. */
static long year_start(long year)
{
  long before = year - 1;
  return before * 365 + before / 4 - before / 100 + before / 400 - 719162;
}

static long day_of(struct date date)
{
  long day = year_start(date.year) + date.day - 1;
  for (long month = 1; month < date.month; month++) day += month_days(date.year, month);
  return day;
}

static struct date date_of(long day)
{
  /* A year has 365 or 366 days, so that this is not too late. */
  struct date date = {.year = 1970 + (day < 0 ? day / 365 - 1 : day / 366), .month = 1};
  if (date.year < 1) date.year = 1;
  while (date.year < YEAR_MAX && year_start(date.year + 1) <= day) date.year++;
  date.day = day - year_start(date.year) + 1;
  while (date.month < 12 && date.day > month_days(date.year, date.month))
    date.day -= month_days(date.year, date.month++);
  return date;
}

static bool digits(const char *text, size_t count, long *number)
{
  *number = 0;
  for (size_t i = 0; i < count; i++) {
    if (text[i] < '0' || text[i] > '9') return false;
    *number = 10 * *number + (text[i] - '0');
  }
  return true;
}

enum be_status be_date_read(const char *text, size_t size, long *day, struct be_err *err)
{
  struct date date = {0};
  bool written = size == 10 && text[4] == '-' && text[7] == '-' && digits(text, 4, &date.year) &&
                 digits(text + 5, 2, &date.month) && digits(text + 8, 2, &date.day);
  if (written && date.year >= 1 && date.month >= 1 && date.month <= 12 && date.day >= 1 &&
      date.day <= month_days(date.year, date.month)) {
    *day = day_of(date);
    return BE_OK;
  }
  be_fail(err, BE_BAD_INPUT, "\"%.*s\" is not a date", (int)(size > 20 ? 20 : size), text);
  be_fail_remedy(err, "write it as year-month-day, such as 2026-03-01");
  return BE_BAD_INPUT;
}

void be_date_write(long day, char text[16])
{
  struct date date = date_of(day);
  snprintf(text, 16, "%04ld-%02ld-%02ld", date.year % 10000, date.month % 100, date.day % 100);
}

long be_date_months_later(long day, int months)
{
  struct date date = date_of(day);
  long month = date.year * 12 + date.month - 1 + months;
  date.year = month / 12;
  date.month = month % 12 + 1;
  long last = month_days(date.year, date.month);
  if (date.day > last) date.day = last;
  return day_of(date);
}

bool be_calibration_due(const struct be_calibration *calibration, long today, long *days_left)
{
  if (!calibration->dated || calibration->months <= 0) return false;
  *days_left = be_date_months_later(calibration->day, calibration->months) - today;
  return true;
}
