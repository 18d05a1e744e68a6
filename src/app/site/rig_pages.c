/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The page of the rig, and the one on which an instrument is listened to and saved under a name. */
#include "app/find/find.h"
#include "app/rig/trust.h"
#include "app/site/site.h"

#include <stdio.h>
#include <string.h>

/* ---- forms ---- */

static const struct be_place *choices_of_frames(const struct visit *visit)
{
  struct be_place *list =
      be_arena_alloc(visit->survey.arena, (be_frame_kinds_count + 1) * sizeof *list);
  if (list) list[0] = (struct be_place){"", "it sends by itself"};
  for (size_t i = 0; list && i < be_frame_kinds_count; i++)
    list[i + 1] = (struct be_place){be_frame_kinds[i].name, be_frame_kinds[i].name};
  return list;
}

static const struct be_place *choices_of_sources(const struct visit *visit)
{
  struct be_place *list = be_arena_alloc(visit->survey.arena, be_rig_sources_count * sizeof *list);
  for (size_t i = 0; list && i < be_rig_sources_count; i++)
    list[i] = (struct be_place){be_rig_sources[i]->name, be_rig_sources[i]->name};
  return list;
}

static const char *posted(const struct visit *visit, const char *name, const char *else_)
{
  const char *value = be_request_form(visit->request, name);
  return value ? value : else_;
}

static enum be_status write_listen(struct visit *visit, const struct be_seeking *asked,
                                   struct be_err *err)
{
  const struct be_place *sources = choices_of_sources(visit), *frames = choices_of_frames(visit);
  if (!sources || !frames) return be_no_memory(err);
  const struct be_field fields[] = {
      {"source", "source", posted(visit, "source", asked->source), sources, be_rig_sources_count},
      {"settings", "its settings, such as path=/dev/ttyUSB0",
       posted(visit, "settings", asked->settings), NULL, 0},
      {"ask", "how it is asked", posted(visit, "ask", asked->ask), frames,
       be_frame_kinds_count + 1},
      {"ask settings", "with these settings, such as ask=W",
       posted(visit, "ask settings", asked->ask_settings), NULL, 0},
  };
  const struct be_form form = {.title = "Listen to an instrument",
                               .button = "Listen",
                               .fields = fields,
                               .count = sizeof fields / sizeof fields[0],
                               .does = "listen"};
  be_form_html(&visit->html, &form, NULL);
  return BE_OK;
}

static enum be_status write_save(struct visit *visit, const struct be_rig_found *found,
                                 struct be_err *err)
{
  const struct be_frame_detection *heard = &found->verdict.frames;
  struct be_place ways[BE_FRAME_CANDIDATES];
  if (found->verdict.found == BE_NO || heard->count == 0) return BE_OK;
  for (size_t i = 0; i < heard->count; i++) {
    const struct be_frame_candidate *kind = &heard->candidates[i];
    ways[i].address = be_arena_format(visit->survey.arena, "%zu", i);
    ways[i].name = be_arena_format(visit->survey.arena, "%s %s", kind->kind, kind->settings);
    if (!ways[i].address || !ways[i].name) return be_no_memory(err);
  }
  const struct be_field fields[] = {
      {"way", "read as", posted(visit, "way", NULL), ways, heard->count},
      {"more", "more settings of its frames, such as unit=kg", posted(visit, "more", NULL), NULL,
       0},
      {"name", "its name", posted(visit, "name", NULL), NULL, 0},
  };
  const struct be_form form = {.title = "Save it as a rig",
                               .button = "Save",
                               .fields = fields,
                               .count = sizeof fields / sizeof fields[0],
                               .does = "save"};
  be_form_html(&visit->html, &form, NULL);
  return BE_OK;
}

/* ---- the page ---- */

/* What is listened to, or what was heard. */
struct heard {
  enum be_seek_state state;
  struct be_seeking asked;
  struct be_rig_found found;
  struct be_err failed;
};

static struct heard *look(struct visit *visit, struct be_err *err)
{
  struct heard *heard = be_arena_alloc(visit->survey.arena, sizeof *heard);
  if (heard) heard->state = be_seek_look(visit->seek, &heard->asked, &heard->found, &heard->failed);
  else be_no_memory(err);
  return heard;
}

static void say_heard(struct be_doc *doc, const struct heard *heard)
{
  switch (heard->state) {
  case BE_SEEK_NONE:
    be_doc_sentence(doc, "Listen to an instrument to find out how it is read, then save it as a "
                         "rig under a name.");
    break;
  case BE_SEEK_LISTENING:
    be_doc_sentence(doc, "Listening to the %s rig (%s): up to two seconds at each speed.",
                    heard->asked.source, heard->asked.settings);
    break;
  case BE_SEEK_DONE:
    if (heard->failed.status != BE_OK)
      be_doc_sentence(doc, "The rig cannot be listened to: %s%s%s%s%s.", heard->failed.what,
                      *heard->failed.file ? ", " : "", heard->failed.file,
                      *heard->failed.remedy ? "; " : "", heard->failed.remedy);
    else be_say_found(doc, &heard->asked, &heard->found);
    break;
  }
}

enum be_status be_listen_page(struct visit *visit, struct be_doc **out, struct be_err *err)
{
  struct heard *heard = look(visit, err);
  struct be_rigs *rigs = be_arena_alloc(visit->survey.arena, sizeof *rigs);
  struct be_doc *doc = heard && rigs ? be_doc_create("found", "What the rig sends") : NULL;
  if (!doc) return be_no_memory(err);
  be_say_wrong(doc, visit);
  say_heard(doc, heard);
  struct be_err unread = {0};
  if (be_rigs_read(visit->rigs_path, rigs, &unread) == BE_OK) be_say_rigs(doc, rigs);
  else
    be_doc_note(doc, "The saved rigs cannot be read: %s (%s, line %d).", unread.what,
                visit->rigs_path, (int)unread.line);
  be_say_sources(doc);
  enum be_status status = BE_OK;
  if (heard->state == BE_SEEK_LISTENING) visit->again_s = 1;
  if (heard->state == BE_SEEK_DONE && heard->failed.status == BE_OK)
    status = write_save(visit, &heard->found, err);
  if (status == BE_OK && heard->state != BE_SEEK_LISTENING)
    status = write_listen(visit, &heard->asked, err);
  if (rigs->count)
    be_buf_text(&visit->html, "<p><a class=\"button\" href=\"/rig\">Use a saved rig at the bench"
                              "</a></p>\n");
  return be_doc_done(doc, status, out);
}

/* ---- what is posted ---- */

const char *const be_listen_takes[] = {"do",  "source", "settings", "ask", "ask settings",
                                       "way", "more",   "name",     NULL};

static enum be_status take(char *to, size_t room, const struct visit *visit, const char *name,
                           struct be_err *err)
{
  const char *value = be_request_form(visit->request, name);
  if (snprintf(to, room, "%s", value ? value : "") < (int)room) return BE_OK;
  return be_fail(err, BE_BAD_INPUT, "what stands in \"%s\" is too long", name);
}

static enum be_status listen_to(struct visit *visit, struct be_err *err)
{
  struct be_seeking asked = {0};
  enum be_status status = take(asked.source, sizeof asked.source, visit, "source", err);
  if (status == BE_OK) status = take(asked.settings, sizeof asked.settings, visit, "settings", err);
  if (status == BE_OK) status = take(asked.ask, sizeof asked.ask, visit, "ask", err);
  if (status == BE_OK)
    status = take(asked.ask_settings, sizeof asked.ask_settings, visit, "ask settings", err);
  return status == BE_OK ? be_seek_start(visit->seek, &asked, err) : status;
}

static enum be_status save(struct visit *visit, struct be_err *err)
{
  const char *way = be_request_form(visit->request, "way");
  char name[sizeof((struct be_rig_setup *)0)->name], more[200];
  struct be_rig_setup setup;
  size_t index = 0;
  struct heard *heard = look(visit, err);
  enum be_status status = heard ? take(name, sizeof name, visit, "name", err) : BE_NO_MEMORY;
  if (status == BE_OK) status = take(more, sizeof more, visit, "more", err);
  if (status == BE_OK && way && !be_index_read(way, BE_FRAME_CANDIDATES, &index))
    status = be_fail(err, BE_BAD_INPUT, "the form does not say how the rig is read");
  if (status == BE_OK && heard->state != BE_SEEK_DONE)
    status = be_fail(err, BE_WRONG_USE, "nothing was heard that could be saved");
  if (status == BE_OK)
    status = be_seek_setup(&heard->asked, &heard->found, index, name, &setup, err);
  if (status == BE_OK && *more) status = be_rig_setup_add(&setup, more, err);
  return status == BE_OK ? be_rigs_keep(visit->rigs_path, &setup, err) : status;
}

enum be_status be_listen_post(struct visit *visit, struct be_err *err)
{
  const char *what = be_request_form(visit->request, "do");
  if (what && strcmp(what, "listen") == 0) return listen_to(visit, err);
  if (what && strcmp(what, "save") == 0) return save(visit, err);
  return be_fail(err, BE_WRONG_USE, "the form does not say what is to be done");
}

/* ---- the rig ---- */

static void text(struct be_buf *html, const char *before, const char *value, const char *after)
{
  be_buf_text(html, before);
  be_markup_text(html, value);
  be_buf_text(html, after);
}

/* A button that sends which rig is to be used; name null: loads are typed. */
static void write_use(struct be_buf *html, const char *name, const char *words)
{
  be_buf_text(html, "<form method=\"post\">\n");
  text(html, "<input type=\"hidden\" name=\"do\" value=\"", name ? "use" : "type", "\">\n");
  if (name) text(html, "<input type=\"hidden\" name=\"rig\" value=\"", name, "\">\n");
  text(html, "<button>", words, "</button></form>");
}

static void write_row(struct be_buf *html, const char *name, const char *source)
{
  text(html, "<tr><td>", name, "</td><td>");
  text(html, "", source, "</td><td>");
}

/* The saved rigs, and which of them the bench uses. */
static enum be_status write_rigs(struct visit *visit, struct be_err *err)
{
  struct be_buf *html = &visit->html;
  struct be_err unread = {0};
  char used[64];
  struct be_rigs *rigs = be_arena_alloc(visit->arena, sizeof *rigs);
  if (!rigs) return be_no_memory(err);
  be_live_site_rig(visit->bench, used);
  be_buf_text(html,
              "<section aria-labelledby=\"at-bench\"><h2 id=\"at-bench\">At the bench</h2>\n");
  if (*used) text(html, "<p>Loads come from the rig \"", used, "\" now.</p>\n");
  else be_buf_text(html, "<p>Loads are typed now.</p>\n");
  if (be_rigs_read(visit->rigs_path, rigs, &unread) != BE_OK)
    text(html, "<p>The saved rigs cannot be read: ", unread.what, ".</p>\n");
  text(html, "<p class=\"note\">Saved rigs are kept in ", visit->rigs_path, ".</p>\n");
  be_buf_text(html, "<div class=\"table\" role=\"region\" tabindex=\"0\" aria-label=\"Saved "
                    "rigs\"><table><thead><tr><th>Saved rig</th><th>Source</th><th>At the "
                    "bench</th></tr></thead><tbody>\n");
  for (size_t i = 0; i < rigs->count; i++) {
    const struct be_rig_setup *setup = &rigs->setup[i];
    write_row(html, setup->name, setup->source);
    if (strcmp(setup->name, used) == 0) be_buf_text(html, "in use");
    else write_use(html, setup->name, "Use it at the bench");
    be_buf_text(html, "</td></tr>\n");
  }
  write_row(html, "none", "typed");
  if (*used) write_use(html, NULL, "Typed loads");
  else be_buf_text(html, "in use");
  be_buf_text(html, "</td></tr>\n</tbody></table></div></section>\n");
  return BE_OK;
}

enum be_status be_rig_page(struct visit *visit, struct be_doc **out, struct be_err *err)
{
  enum be_status status = be_rig_doc(&visit->survey, be_rig_today(), out, err);
  if (status != BE_OK) return status;
  size_t place = be_doc_place(*out);
  be_say_wrong(*out, visit);
  be_doc_first(*out, place);
  if (!visit->takes_posts) return BE_OK;
  status = write_rigs(visit, err);
  if (status == BE_OK) status = be_rig_form(&visit->survey, visit->request, &visit->html, err);
  if (status != BE_OK) return be_doc_done(*out, status, out);
  be_buf_text(&visit->html, "<p><a class=\"button\" href=\"/rig/listen\">Listen to an instrument"
                            "</a></p>\n");
  return status;
}

static enum be_status use(struct visit *visit, const char *name, struct be_err *err)
{
  struct be_live_rig *rig = name ? be_arena_alloc(visit->arena, sizeof *rig) : NULL;
  const struct be_serving serving = {.rig_path = visit->rigs_path, .rig = name};
  if (name && !rig) return be_no_memory(err);
  enum be_status status = name ? be_live_setup(visit->book_path, &serving, rig, err) : BE_OK;
  if (status == BE_OK) status = be_live_site_use(visit->bench, rig, err);
  if (status == BE_OK)
    snprintf(visit->reply->location, sizeof visit->reply->location, "/bench%s%s",
             *visit->unit ? "?" : "", visit->unit);
  return status;
}

enum be_status be_rig_log(struct visit *visit, struct be_err *err)
{
  const char *what = be_request_form(visit->request, "do");
  const char *name = be_request_form(visit->request, "rig");
  if (!what || strcmp(what, "log") == 0) return be_rig_post(visit->book_path, visit->request, err);
  if (strcmp(what, "type") == 0) return use(visit, NULL, err);
  if (strcmp(what, "use") != 0)
    return be_fail(err, BE_BAD_INPUT, "the rig does not know how to do \"%.40s\"", what);
  return name ? use(visit, name, err) : be_fail(err, BE_BAD_INPUT, "no saved rig is named");
}
