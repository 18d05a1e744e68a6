/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/clips/clips.h"

#include "app/clips/overlay.h"
#include "app/clips/reveal.h"

#include <math.h>
#include <string.h>

enum { TOLD_MAX = 64 * 1024 * 1024, FRAMES_MAX = 3600 * 120 };

struct making {
  const struct survey *survey;
  const struct be_publishing *asked;
  const struct be_film *film;
  struct clip clip;
  struct be_footage *footage;
  struct be_buf told;
  struct be_doc *doc;
};

/* ---- what is asked ---- */

/* What is asked of the clip's form, as far as no file tells it. */
static enum be_status take_form(const struct be_publishing *asked, struct be_film_form *form,
                                struct be_err *err)
{
  bool tall = asked->size && strcmp(asked->size, "tall") == 0;
  if (asked->size && !tall && strcmp(asked->size, "wide") != 0)
    return be_fail(err, BE_WRONG_USE, "the --size of a clip is wide or tall, not \"%.40s\"",
                   asked->size);
  form->width = tall ? 1080 : 1920;
  form->height = tall ? 1920 : 1080;
  enum be_status status = be_clip_kind(asked->clip_path, asked->clip_coding,
                                       asked->footage_path != NULL, &form->kind, err);
  if (status == BE_OK)
    status = be_film_rate(asked->clip_rate ? asked->clip_rate : "30", &form->rate, err);
  return status;
}

enum be_status be_clips_check(const struct be_publishing *asked, struct be_err *err)
{
  bool any = asked->clip_path || asked->clip_coding || asked->clip_rate || asked->footage_path ||
             asked->offset_told;
  if (asked->overlay && asked->reveal)
    return be_fail(err, BE_WRONG_USE, "one clip at a time: --overlay or --reveal");
  if (!asked->overlay && !asked->reveal) {
    if (!any) return BE_OK;
    return be_fail(err, BE_WRONG_USE,
                   "--to, --codec, --fps, --footage and --offset belong to --overlay or --reveal");
  }
  if (!asked->clip_path)
    return be_fail(err, BE_WRONG_USE, "say where the clip goes: --to FILE, or --to FOLDER/");
  if ((asked->overlay && !*asked->overlay) || (asked->reveal && !*asked->reveal))
    return be_fail(err, BE_WRONG_USE,
                   "say of what the clip is: the code of a specimen, or the name of a group");
  if (asked->footage_path && !asked->overlay)
    return be_fail(err, BE_WRONG_USE, "--footage is what an --overlay is laid over");
  if (asked->offset_told && !asked->footage_path)
    return be_fail(err, BE_WRONG_USE, "--offset is a moment of --footage");
  if (asked->footage_path && (asked->clip_rate || asked->size))
    return be_fail(err, BE_WRONG_USE,
                   "over footage the clip has its size and its frames: leave "
                   "out --size and --fps");
  struct be_film_form form;
  return take_form(asked, &form, err);
}

static enum be_status read_form(struct making *making, struct be_err *err)
{
  const struct be_publishing *asked = making->asked;
  struct be_film_form *form = &making->clip.form;
  enum be_status status = take_form(asked, form, err);
  if (status == BE_OK && (form->kind != BE_FILM_PNG || asked->footage_path))
    status = be_film_open(&making->film, err);
  const char *const spared[2] = {making->survey->book_path, asked->footage_path};
  if (status == BE_OK)
    status = be_clip_may_write(asked->clip_path, form->kind, making->film, spared, err);
  return status == BE_OK ? be_font_ready(err) : status;
}

static enum be_status open_footage(struct making *making, struct be_err *err)
{
  struct clip *clip = &making->clip;
  const char *path = making->asked->footage_path;
  if (!path) return BE_OK;
  be_progress_step("reading the footage", NULL, 0);
  enum be_status status = making->film->footage_open(path, &making->footage, &clip->over, err);
  if (status != BE_OK) return status;
  clip->footage_path = path;
  clip->form.width = clip->over->width;
  clip->form.height = clip->over->height;
  clip->form.rate = clip->over->rate;
  clip->form.frames = clip->over->frames;
  return BE_OK;
}

static enum be_status count_frames(struct clip *clip, double lasts_s, struct be_err *err)
{
  double frames = ceil(lasts_s * (double)clip->form.rate.num / (double)clip->form.rate.den - 1e-6);
  if (!(frames >= 1 && frames <= FRAMES_MAX))
    return be_fail(err, BE_TOO_LARGE, "a clip has 1 to %d frames, not %g", FRAMES_MAX, frames);
  clip->form.frames = (size_t)frames;
  clip->lasts_s = lasts_s;
  return BE_OK;
}

/* ---- where the overlay lies in footage ---- */

static void say_confidence(const struct snap_found *snap, struct be_doc *doc)
{
  static const double sure = 0.95;
  be_doc_fact(doc, "snap_confidence", "Confidence of that moment", "%.2f of 1", snap->confidence);
  if (snap->confidence >= sure) return;
  bool others = snap->others[0] != '\0';
  be_doc_note(doc,
              "That moment was heard, and it is not sure%s%s: look at the clip, and give another "
              "with --offset if the line lets go elsewhere.",
              others ? "; it may also be at " : "", snap->others);
}

static enum be_status place_over(struct making *making, const struct overlay *overlay,
                                 struct be_err *err)
{
  struct clip *clip = &making->clip;
  const struct be_footage_about *over = clip->over;
  double end_s = be_footage_s(over, over->frames);
  struct snap_found snap = {making->asked->offset_s, NAN, ""};
  enum be_status status = BE_OK;
  if (!making->asked->offset_told && overlay->held) {
    be_fail(err, BE_WRONG_USE, "nothing let go in this pull, so there is no snap to be heard");
    be_fail_remedy(err, "give with --offset where in the footage its load ends");
    return BE_WRONG_USE;
  }
  if (!making->asked->offset_told)
    status = be_snap_in_footage(making->film, clip->footage_path, overlay, &snap, err);
  if (status != BE_OK) return status;
  clip->starts_s = snap.at_s - overlay->breaks_s;
  clip->lasts_s = overlay->lasts_s;
  if (!(clip->starts_s < end_s && clip->starts_s + clip->lasts_s > 0)) {
    be_fail(err, BE_WRONG_USE,
            "the footage lasts %.2f s%s: nothing of the pull is in it when the line lets go at "
            "%.2f s",
            end_s, over->claimed > over->read ? ", as far as it can be read" : "", snap.at_s);
    be_fail_remedy(err, "give with --offset how many seconds into the footage it lets go");
    return BE_WRONG_USE;
  }
  be_doc_fact(making->doc, "snap_s", "Lets go in the footage at", "%.3f s", snap.at_s);
  if (isnan(snap.confidence)) be_doc_fact(making->doc, "snap_by", "Told by", "--offset");
  else say_confidence(&snap, making->doc);
  be_doc_fact(making->doc, "starts_s", "The overlay starts in the footage at", "%.3f s",
              clip->starts_s);
  return BE_OK;
}

/* ---- the two kinds of clips ---- */

static void say_made(struct making *making, const struct clip_made *made, const char *what)
{
  const struct be_film_form *form = &making->clip.form;
  bool sure = !making->clip.over;
  be_doc_sentence(making->doc, "%s: %zu frames of %d by %d px at %s%.6g a second, %s%s.", what,
                  form->frames, form->width, form->height, sure ? "" : "about ",
                  (double)form->rate.num / (double)form->rate.den, be_film_about[form->kind].name,
                  be_film_about[form->kind].transparent && sure && making->asked->overlay
                      ? ", transparent where nothing is drawn"
                      : "");
  if (made->kept)
    be_doc_note(making->doc, "%zu of its frames were there from a run that had been ended.",
                made->kept);
}

static enum be_status make_overlay(struct making *making, struct be_err *err)
{
  struct clip *clip = &making->clip;
  struct overlay overlay;
  struct clip_made made = {0};
  enum be_status status = open_footage(making, err);
  if (status == BE_OK)
    status = be_overlay_make(making->survey, making->asked->overlay, clip->form.width,
                             clip->form.height, making->doc, &overlay, err);
  if (status == BE_OK)
    status =
        clip->over ? place_over(making, &overlay, err) : count_frames(clip, overlay.lasts_s, err);
  if (status != BE_OK) return status;
  be_overlay_tell(&overlay, &making->told);
  clip->kind = &be_overlay_kind;
  clip->scene = &overlay;
  clip->note =
      be_arena_format(making->survey->arena, "bitterend: load of specimen %s", overlay.code);
  if (!clip->note) return be_no_memory(err);
  status = be_clip_make(clip, making->film, &made, err);
  if (status != BE_OK) return status;
  char words[LOAD_BYTES], trace[LOAD_BYTES];
  be_overlay_words(&overlay, overlay.peak_N, words);
  be_overlay_words(&overlay, overlay.trace_peak_N, trace);
  bool differ = !isnan(overlay.trace_peak_N);
  say_made(making, &made,
           be_arena_format(making->survey->arena, "The load of %s (%s; %s), %s %s%s%s, %s",
                           overlay.code, overlay.knot, overlay.lines, overlay.peak_word, words,
                           differ ? ", trace peak " : "", differ ? trace : "", overlay.let_go));
  if (clip->over) be_footage_say(clip, &made, &overlay, making->doc);
  if (clip->form.kind == BE_FILM_H264 && !clip->over)
    be_doc_note(making->doc,
                "H.264 has no transparency: what is not drawn on is black. A name that "
                "ends in .mov or .webm keeps it.");
  return BE_OK;
}

static enum be_status make_reveal(struct making *making, struct be_err *err)
{
  struct clip *clip = &making->clip;
  struct reveal reveal;
  struct clip_made made = {0};
  enum be_status status = be_reveal_make(making->survey, making->asked->reveal, clip->form.width,
                                         clip->form.height, making->doc, &reveal, err);
  if (status == BE_OK) status = count_frames(clip, reveal.lasts_s, err);
  if (status != BE_OK) return status;
  be_reveal_tell(&reveal, &making->told);
  clip->kind = &be_reveal_kind;
  clip->scene = &reveal;
  clip->note = be_arena_format(making->survey->arena, "bitterend: %.120s", reveal.place);
  if (!clip->note) return be_no_memory(err);
  status = be_clip_make(clip, making->film, &made, err);
  if (status == BE_OK)
    say_made(making, &made, be_arena_format(making->survey->arena, "%s", reveal.title));
  return status;
}

enum be_status be_clips_write(const struct survey *survey, const struct be_publishing *asked,
                              struct be_doc *doc, struct be_table *files, struct be_err *err)
{
  if (!asked->overlay && !asked->reveal) return BE_OK;
  struct making making = {.survey = survey, .asked = asked, .doc = doc};
  be_buf_init(&making.told, TOLD_MAX);
  making.clip.path = asked->clip_path;
  making.clip.told = &making.told;
  enum be_status status = read_form(&making, err);
  if (status == BE_OK)
    status = asked->overlay ? make_overlay(&making, err) : make_reveal(&making, err);
  if (making.footage) making.film->footage_close(making.footage);
  be_buf_free(&making.told);
  if (status != BE_OK) return status;
  be_table_text(files, asked->overlay ? "overlay" : "reveal");
  be_table_text(files, "%s", asked->clip_path);
  return BE_OK;
}
