/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "rig/line/line.h"

bool be_rig_pace_due(const struct be_rig_pace *pace, double due_s, int64_t wait_ns)
{
  /* A century, which nobody waits for, and which still is a number. */
  static const double never_ns = 3e18;
  const struct be_rig_clock *clock = pace->clock;
  if (!(pace->speed > 0)) return true;
  int64_t now = clock->now_ns(clock->host);
  double wait = due_s / pace->speed * 1e9;
  int64_t due = pace->start_ns + (int64_t)(wait < never_ns ? wait : never_ns);
  if (due <= now) return true;
  bool in_time = due - now <= wait_ns;
  clock->sleep_until(clock->host, in_time ? due : now + wait_ns);
  return in_time;
}
