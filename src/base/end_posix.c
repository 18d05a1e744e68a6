/* SPDX-License-Identifier: GPL-3.0-or-later */
#define _POSIX_C_SOURCE 200809L
#include "base/base.h"

#include <errno.h>
#include <signal.h>
#include <sys/select.h>

static volatile sig_atomic_t asked;

static void note(int signal)
{
  (void)signal;
  asked = 1;
}

static sigset_t end_signals(void)
{
  sigset_t ends;
  sigemptyset(&ends);
  sigaddset(&ends, SIGINT);
  sigaddset(&ends, SIGTERM);
  return ends;
}

void be_end_hold(void)
{
  sigset_t ends = end_signals();
  pthread_sigmask(SIG_BLOCK, &ends, NULL);
}

void be_end_wait(void)
{
  sigset_t ends = end_signals();
  int got;
  while (sigwait(&ends, &got) != 0) continue;
}

bool be_end_asked(void)
{
  sigset_t waiting;
  return asked || (sigpending(&waiting) == 0 &&
                   (sigismember(&waiting, SIGINT) == 1 || sigismember(&waiting, SIGTERM) == 1));
}

/* The signals are let in while it waits, and at no other time: none comes between the asking and
 * the waiting. */
bool be_end_or_input(int fd)
{
  const struct sigaction noting = {.sa_handler = note};
  sigset_t let_in;
  sigaction(SIGINT, &noting, NULL);
  sigaction(SIGTERM, &noting, NULL);
  pthread_sigmask(SIG_BLOCK, NULL, &let_in);
  sigdelset(&let_in, SIGINT);
  sigdelset(&let_in, SIGTERM);
  while (!asked) {
    fd_set input;
    FD_ZERO(&input);
    FD_SET(fd, &input);
    if (pselect(fd + 1, &input, NULL, NULL, NULL, &let_in) >= 0 || errno != EINTR) break;
  }
  return !asked;
}
