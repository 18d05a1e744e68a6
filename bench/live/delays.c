/* SPDX-License-Identifier: GPL-3.0-or-later */
#define _POSIX_C_SOURCE 200809L
#include "live/live.h"

#include <errno.h>
#include <time.h>

int64_t bench_now_ns(void)
{
  struct timespec now;
  clock_gettime(CLOCK_MONOTONIC, &now);
  return (int64_t)now.tv_sec * 1000000000 + now.tv_nsec;
}

void bench_sleep_until(int64_t ns)
{
  const struct timespec until = {.tv_sec = (time_t)(ns / 1000000000), .tv_nsec = ns % 1000000000};
  while (clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, &until, NULL) == EINTR) continue;
}

void delays_add(struct delays *delays, int64_t ns)
{
  size_t step = ns < 0 ? 0 : (size_t)(ns / DELAY_STEP_NS);
  if (step < DELAY_STEPS) delays->counts[step]++;
  else delays->late++;
  delays->n++;
  if (ns > delays->most_ns) delays->most_ns = ns;
}

double delays_ms(const struct delays *delays, double share)
{
  uint64_t sum = 0;
  for (size_t i = 0; i < DELAY_STEPS; i++) {
    sum += delays->counts[i];
    if (sum > 0 && (double)sum >= share * (double)delays->n)
      return (double)(i + 1) * DELAY_STEP_NS * 1e-6;
  }
  return (double)delays->most_ns * 1e-6;
}
