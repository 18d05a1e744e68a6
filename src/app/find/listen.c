/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/find/find.h"
#include "app/survey/survey.h"

#include <stdio.h>

static enum be_status take(const struct be_listening *asked, struct be_seeking *seeking,
                           struct be_err *err)
{
  const struct {
    char *to;
    size_t room;
    const char *text;
  } texts[] = {{seeking->source, sizeof seeking->source, asked->source},
               {seeking->settings, sizeof seeking->settings, asked->settings},
               {seeking->ask, sizeof seeking->ask, asked->ask},
               {seeking->ask_settings, sizeof seeking->ask_settings, asked->ask_settings}};
  for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++)
    if (snprintf(texts[i].to, texts[i].room, "%s", texts[i].text ? texts[i].text : "") >=
        (int)texts[i].room)
      return be_fail(err, BE_WRONG_USE, "the settings of the rig are too long");
  return BE_OK;
}

static enum be_status listen_to(const struct be_seeking *seeking, struct be_rig_found *found,
                                struct be_err *err)
{
  const struct be_rig_source *source = be_rig_source_find(seeking->source);
  if (!source) {
    be_fail(err, BE_WRONG_USE, "there is no source \"%s\"", seeking->source);
    be_fail_remedy(err, "sources are serial, tcp, file and simulated");
    return BE_WRONG_USE;
  }
  return be_rig_find(source, seeking->settings, *seeking->ask ? seeking->ask : NULL,
                     seeking->ask_settings, &be_rig_clock_system, found, err);
}

static enum be_status save(const struct be_listening *asked, const struct be_seeking *seeking,
                           const struct be_rig_found *found, struct be_doc *doc, struct be_err *err)
{
  struct be_rig_setup setup;
  enum be_status status = be_seek_setup(seeking, found, 0, asked->name, &setup, err);
  if (status == BE_OK) status = be_rigs_keep(asked->save_path, &setup, err);
  if (status == BE_OK) be_doc_sentence(doc, "Saved as \"%s\" in %s.", setup.name, asked->save_path);
  return status;
}

enum be_status be_app_listen(const struct be_listening *asked, struct be_doc **out,
                             struct be_err *err)
{
  struct be_seeking seeking;
  struct be_rig_found *found = be_alloc_array(1, sizeof *found);
  if (!found) return be_no_memory(err);
  enum be_status status = take(asked, &seeking, err);
  if (status == BE_OK) status = listen_to(&seeking, found, err);
  struct be_doc *doc = status == BE_OK ? be_doc_create("found", "What the rig sends") : NULL;
  if (status == BE_OK && !doc) status = be_no_memory(err);
  if (status == BE_OK) be_say_found(doc, &seeking, found);
  bool heard = status == BE_OK && found->verdict.found != BE_NO;
  if (heard && asked->save_path) status = save(asked, &seeking, found, doc, err);
  be_free(found);
  if (status != BE_OK) {
    be_doc_free(doc);
    return status;
  }
  *out = doc;
  return heard ? BE_OK : be_fail(err, BE_NO, "nothing that was heard can be read as loads");
}
