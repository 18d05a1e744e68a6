/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/find/find.h"

#include <pthread.h>
#include <stdio.h>
#include <string.h>

struct be_seek {
  pthread_mutex_t lock;
  pthread_t thread;
  bool joinable, giving_up;
  enum be_seek_state state;
  int64_t given_up_ns;
  struct be_seeking asked;
  struct be_rig_found found;
  struct be_err failed;
};

/* ---- a clock that runs out when listening is given up ---- */

static int64_t now_ns(void *seek)
{
  struct be_seek *s = seek;
  pthread_mutex_lock(&s->lock);
  int64_t after = s->giving_up ? s->given_up_ns += INT64_C(10000000000) : 0;
  pthread_mutex_unlock(&s->lock);
  return after ? after : be_rig_clock_system.now_ns(be_rig_clock_system.host);
}

static void sleep_until(void *seek, int64_t ns)
{
  struct be_seek *s = seek;
  pthread_mutex_lock(&s->lock);
  bool hurry = s->giving_up;
  pthread_mutex_unlock(&s->lock);
  if (!hurry) be_rig_clock_system.sleep_until(be_rig_clock_system.host, ns);
}

static void *listen_to(void *seek)
{
  struct be_seek *s = seek;
  const struct be_rig_clock clock = {now_ns, sleep_until, s};
  struct be_err failed = {0};
  static _Thread_local struct be_rig_found found;
  const struct be_seeking *asked = &s->asked; /* stays while the state is LISTENING */
  be_rig_find(be_rig_source_find(asked->source), asked->settings, *asked->ask ? asked->ask : NULL,
              asked->ask_settings, &clock, &found, &failed);
  pthread_mutex_lock(&s->lock);
  s->found = found;
  s->failed = failed;
  s->state = BE_SEEK_DONE;
  pthread_mutex_unlock(&s->lock);
  return NULL;
}

struct be_seek *be_seek_create(struct be_err *err)
{
  struct be_seek *seek = be_alloc_array(1, sizeof *seek);
  if (seek) pthread_mutex_init(&seek->lock, NULL);
  else be_fail(err, BE_NO_MEMORY, "no memory to listen to a rig");
  return seek;
}

void be_seek_free(struct be_seek *seek)
{
  if (!seek) return;
  pthread_mutex_lock(&seek->lock);
  seek->giving_up = true;
  seek->given_up_ns = INT64_MAX / 4;
  pthread_mutex_unlock(&seek->lock);
  if (seek->joinable) pthread_join(seek->thread, NULL);
  pthread_mutex_destroy(&seek->lock);
  be_free(seek);
}

static enum be_status start(struct be_seek *seek, const struct be_seeking *asked,
                            struct be_err *err)
{
  if (seek->state == BE_SEEK_LISTENING)
    return be_fail(err, BE_WRONG_USE, "a rig is being listened to already; wait for the answer");
  if (seek->joinable) pthread_join(seek->thread, NULL);
  seek->asked = *asked;
  seek->state = BE_SEEK_LISTENING;
  seek->joinable = pthread_create(&seek->thread, NULL, listen_to, seek) == 0;
  if (seek->joinable) return BE_OK;
  seek->state = BE_SEEK_NONE;
  be_fail(err, BE_FAILED, "the thread that listens cannot be started");
  return be_fail_remedy(err, "end some programs and try again");
}

enum be_status be_seek_start(struct be_seek *seek, const struct be_seeking *asked,
                             struct be_err *err)
{
  if (!be_rig_source_find(asked->source)) {
    be_fail(err, BE_WRONG_USE, "there is no source \"%s\"", asked->source);
    be_fail_remedy(err, "sources are serial, tcp, file and simulated");
    return BE_WRONG_USE;
  }
  pthread_mutex_lock(&seek->lock);
  enum be_status status = start(seek, asked, err);
  pthread_mutex_unlock(&seek->lock);
  return status;
}

enum be_seek_state be_seek_look(struct be_seek *seek, struct be_seeking *asked,
                                struct be_rig_found *found, struct be_err *failed)
{
  pthread_mutex_lock(&seek->lock);
  enum be_seek_state state = seek->state;
  *asked = seek->asked;
  *failed = seek->failed;
  if (state == BE_SEEK_DONE) *found = seek->found;
  pthread_mutex_unlock(&seek->lock);
  return state;
}

static bool put(char *to, size_t room, const char *a, const char *blank, const char *b)
{
  int length = snprintf(to, room, "%s%s%s", a, blank, b);
  return length >= 0 && (size_t)length < room;
}

enum be_status be_seek_setup(const struct be_seeking *asked, const struct be_rig_found *found,
                             size_t index, const char *name, struct be_rig_setup *setup,
                             struct be_err *err)
{
  const struct be_frame_detection *frames = &found->verdict.frames;
  char speed[64] = "", forms[512];
  if (index >= frames->count) {
    be_fail(err, BE_WRONG_USE, "nothing was found that could be saved");
    return be_fail_remedy(err, "listen to the rig first, while it sends");
  }
  const struct be_frame_candidate *kind = &frames->candidates[index];
  const char *form = found->verdict.form ? found->verdict.form : "8N1";
  if (found->baud) snprintf(speed, sizeof speed, " baud=%d form=%s", found->baud, form);
  *setup = (struct be_rig_setup){0};
  bool asks = *asked->ask && *asked->ask_settings;
  bool whole =
      put(setup->name, sizeof setup->name, name, "", "") &&
      put(setup->source, sizeof setup->source, asked->source, "", "") &&
      put(setup->source_settings, sizeof setup->source_settings, asked->settings, "", speed) &&
      put(setup->frames, sizeof setup->frames, kind->kind, "", "") &&
      put(forms, sizeof forms, kind->settings, asks && *kind->settings ? " " : "",
          asks ? asked->ask_settings : "") &&
      put(setup->frame_settings, sizeof setup->frame_settings, forms, "", "");
  return whole ? BE_OK : be_fail(err, BE_WRONG_USE, "the settings of the rig are too long");
}
