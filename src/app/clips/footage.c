/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is missing in footage, and what of the pull it does not show: said, never passed over. */
#include "app/clips/overlay.h"

#include <math.h>

/* A cut shorter than this is the rounding of a file that tells its length in whole milliseconds, or
 * by another stream; ours, no source. */
static const double rounding_s = 0.05;
/* Footage of uneven frames has gaps of some frames; ours, no source. */
static const double gap_s = 0.5, gap_frames = 5;

double be_footage_s(const struct be_footage_about *about, size_t frame)
{
  return (double)(about->time[frame] * about->unit.num) / (double)about->unit.den;
}

/* Of what it tells of itself: how many seconds, and whether that or frames are missing. */
static bool is_cut(const struct be_footage_about *about, double ends_s)
{
  double frame_s = ends_s / (double)about->frames;
  return about->claimed > about->read || about->claimed_s > ends_s + rounding_s + 1.5 * frame_s;
}

static void say_cut(const struct be_footage_about *about, struct be_doc *doc)
{
  double ends_s = be_footage_s(about, about->frames);
  if (!is_cut(about, ends_s)) return;
  bool shorter = about->claimed_s > ends_s;
  if (about->claimed > about->read && shorter)
    be_doc_sentence(doc,
                    "The footage is cut off or damaged: of the %zu frames (%.2f s) that the file "
                    "tells of, %zu (%.2f s) can be read, and only these are in the clip.",
                    about->claimed, about->claimed_s, about->read, ends_s);
  else if (about->claimed > about->read)
    be_doc_sentence(doc,
                    "The footage is cut off or damaged: of the %zu frames that the file tells of, "
                    "%zu can be read, and only these are in the clip.",
                    about->claimed, about->read);
  else
    be_doc_sentence(doc,
                    "The footage is cut off or damaged: of the %.2f s that the file tells of, %.2f "
                    "s (%zu frames) can be read, and only these are in the clip.",
                    about->claimed_s, ends_s, about->frames);
  if (about->claimed > about->read)
    be_doc_fact(doc, "footage_frames_missing", "Frames of the footage that are missing", "%zu",
                about->claimed - about->read);
  if (shorter)
    be_doc_fact(doc, "footage_s_missing", "Seconds of the footage that are missing", "%.2f s",
                about->claimed_s - ends_s);
}

static void say_gaps(const struct be_footage_about *about, struct be_doc *doc)
{
  double mean_s = be_footage_s(about, about->frames) / (double)about->frames, worst_s = 0;
  size_t gaps = 0, at = 0;
  for (size_t i = 0; i + 1 < about->frames; i++) {
    double step_s = be_footage_s(about, i + 1) - be_footage_s(about, i);
    if (step_s < gap_s || step_s < gap_frames * mean_s) continue;
    gaps++;
    if (step_s > worst_s) worst_s = step_s, at = i;
  }
  if (gaps)
    be_doc_note(doc,
                "The footage has no frame for %.2f s from %.2f s on%s: the one before stands "
                "for so long.",
                worst_s, be_footage_s(about, at), gaps > 1 ? ", and other such gaps" : "");
}

/* What of the file is not as it is there. */
static void say_taken(const struct be_footage_about *about, struct be_doc *doc)
{
  if (about->pictures > 1)
    be_doc_note(doc, "The footage has %u tracks of frames: the clip is made of the main one.",
                about->pictures);
  if (about->sounds > 1)
    be_doc_note(doc,
                "The footage has %u tracks of sound: the snap was sought in the main one, and the "
                "clip has that one alone.",
                about->sounds);
  if (about->range)
    be_doc_note(doc,
                "The footage is of high dynamic range (%s), the clip of the usual one, which every "
                "screen shows: its lights are drawn in.",
                about->range);
}

void be_footage_say(const struct clip *clip, const struct clip_made *made,
                    const struct overlay *overlay, struct be_doc *doc)
{
  const struct be_footage_about *about = clip->over;
  double ends_s = be_footage_s(about, about->frames);
  double rises_s = clip->starts_s + overlay->rises_s, breaks_s = clip->starts_s + overlay->breaks_s;
  say_cut(about, doc);
  say_taken(about, doc);
  if (made->bad)
    be_doc_sentence(doc,
                    "%zu frame%s of the footage, between %.2f and %.2f s, could not be read whole: "
                    "what is missing in %s is taken from the frames before.",
                    made->bad, made->bad == 1 ? "" : "s", made->bad_from_s, made->bad_to_s,
                    made->bad == 1 ? "it" : "them");
  say_gaps(about, doc);
  if (rises_s < 0)
    be_doc_note(doc, "The load rises %.2f s before the footage begins: that is not shown.",
                -rises_s);
  if (breaks_s > ends_s)
    be_doc_note(doc, "The footage ends %.2f s before %s: that is not shown.", breaks_s - ends_s,
                overlay->held ? "the record of the load" : "the line lets go");
  else if (clip->starts_s + clip->lasts_s > ends_s + 0.5)
    be_doc_note(doc, "The footage ends %.2f s after %s: what let go is shown no longer.",
                ends_s - breaks_s, overlay->held ? "the record of the load" : "the line lets go");
}
