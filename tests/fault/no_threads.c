/* SPDX-License-Identifier: GPL-3.0-or-later */
/* In place of pthread_create, in programs that are linked so (meson.build): a copy of a process has
 * none of its threads, so while calls fail in copies none is started. */
#include "fault/failing.h"

#include <errno.h>
#include <pthread.h>

int __real_pthread_create(pthread_t *, const pthread_attr_t *, void *(*)(void *), void *);
int __wrap_pthread_create(pthread_t *, const pthread_attr_t *, void *(*)(void *), void *);

int __wrap_pthread_create(pthread_t *thread, const pthread_attr_t *how, void *(*run)(void *),
                          void *context)
{
  return be_failing_apart() ? EAGAIN : __real_pthread_create(thread, how, run, context);
}
