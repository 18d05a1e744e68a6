/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lanes, one a processor, each with an easel of its own, take segments in turn. A segment is drawn
 * and coded on its own, so that its bytes depend neither on the lane nor on what was there. */
#include "app/clips/clip.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { SEGMENT_MAX = 1 << 30, LANES_MAX = 16 };

struct job {
  const struct clip *clip;
  const struct be_film *film;
  struct kept kept;
  size_t each, segments; /* frames of a segment */
  atomic_size_t next, done, kept_frames;
  atomic_bool failed;
  struct lane {
    struct job *job;
    struct easel easel;
    struct be_footage *footage;
    size_t bad; /* frames of it that were not whole, of the item that is made */
    enum be_status status;
    struct be_err err;
  } lanes[LANES_MAX];
};

/* ---- one frame ---- */

static enum be_status surfaces_ready(const struct easel *easel, struct be_err *err)
{
  if (cairo_status(easel->frame) == CAIRO_STATUS_SUCCESS &&
      cairo_status(easel->ground) == CAIRO_STATUS_SUCCESS)
    return BE_OK;
  return be_fail(err, BE_NO_MEMORY, "no memory for a frame of the clip");
}

static enum be_status open_easel(const struct be_film_form *form, struct easel *easel,
                                 struct be_err *err)
{
  *easel = (struct easel){0};
  easel->frame_surface = cairo_image_surface_create(CAIRO_FORMAT_ARGB32, form->width, form->height);
  easel->ground_surface =
      cairo_image_surface_create(CAIRO_FORMAT_ARGB32, form->width, form->height);
  easel->frame = cairo_create(easel->frame_surface);
  easel->ground = cairo_create(easel->ground_surface);
  return surfaces_ready(easel, err);
}

static void close_easel(struct easel *easel)
{
  if (easel->frame) cairo_destroy(easel->frame);
  if (easel->ground) cairo_destroy(easel->ground);
  if (easel->frame_surface) cairo_surface_destroy(easel->frame_surface);
  if (easel->ground_surface) cairo_surface_destroy(easel->ground_surface);
}

static void clear_ground(struct easel *easel)
{
  cairo_save(easel->ground);
  cairo_set_operator(easel->ground, CAIRO_OPERATOR_CLEAR);
  cairo_paint(easel->ground);
  cairo_restore(easel->ground);
  easel->drawn = 0;
}

/* Exact: the whole numbers are divided only here. */
static double moment_of(const struct clip *clip, size_t frame)
{
  if (!clip->over)
    return (double)((int64_t)frame * clip->form.rate.den) / (double)clip->form.rate.num;
  return (double)(clip->over->time[frame] * clip->over->unit.num) / (double)clip->over->unit.den;
}

static enum be_status draw_frame(struct lane *lane, size_t frame)
{
  const struct clip *clip = lane->job->clip;
  struct easel *easel = &lane->easel;
  double at_s = moment_of(clip, frame) - clip->starts_s;
  bool seen = !clip->over || (at_s >= 0 && at_s <= clip->lasts_s);
  enum be_status status = BE_OK;
  cairo_surface_flush(easel->frame_surface);
  if (clip->over) {
    bool whole = true;
    status = lane->job->film->footage_next(
        lane->footage, cairo_image_surface_get_data(easel->frame_surface),
        (size_t)cairo_image_surface_get_stride(easel->frame_surface), &whole, &lane->err);
    cairo_surface_mark_dirty(easel->frame_surface);
    lane->bad += !whole;
  }
  if (status != BE_OK || !seen) return status;
  clip->kind->grow(clip->scene, easel, at_s);
  cairo_set_operator(easel->frame, clip->over ? CAIRO_OPERATOR_OVER : CAIRO_OPERATOR_SOURCE);
  cairo_set_source_surface(easel->frame, easel->ground_surface, 0, 0);
  cairo_paint(easel->frame);
  cairo_set_operator(easel->frame, CAIRO_OPERATOR_OVER);
  clip->kind->show(clip->scene, easel, at_s);
  cairo_surface_flush(easel->frame_surface);
  return surfaces_ready(easel, &lane->err);
}

/* ---- one segment ---- */

static enum be_status keep_bytes(void *context, const void *bytes, size_t size)
{
  struct be_buf *buf = context;
  be_buf_add(buf, bytes, size);
  return buf->status;
}

static enum be_status start_segment(struct lane *lane, size_t first)
{
  const struct clip *clip = lane->job->clip;
  clear_ground(&lane->easel);
  clip->kind->start(clip->scene, &lane->easel);
  return clip->over ? lane->job->film->footage_seek(lane->footage, first, &lane->err) : BE_OK;
}

static void count_frame(struct job *job)
{
  be_progress_at(atomic_fetch_add(&job->done, 1) + 1);
}

static enum be_status code_frames(struct lane *lane, struct be_coder *coder, size_t first,
                                  size_t past)
{
  const struct be_film *film = lane->job->film;
  enum be_status status = start_segment(lane, first);
  lane->bad = 0;
  for (size_t i = first; i < past && status == BE_OK; i++) {
    if (atomic_load(&lane->job->failed)) return BE_NO;
    status = draw_frame(lane, i);
    if (status == BE_OK)
      status = film->code_frame(coder, cairo_image_surface_get_data(lane->easel.frame_surface),
                                (size_t)cairo_image_surface_get_stride(lane->easel.frame_surface),
                                &lane->err);
    count_frame(lane->job);
  }
  return status == BE_OK ? film->code_end(coder, &lane->err) : status;
}

static enum be_status make_segment(struct lane *lane, size_t segment, size_t first, size_t past)
{
  struct job *job = lane->job;
  struct be_coder *coder = NULL;
  struct be_buf bytes;
  if (be_kept_has(&job->kept, segment)) {
    atomic_fetch_add(&job->kept_frames, past - first);
    be_progress_at(atomic_fetch_add(&job->done, past - first) + past - first);
    return BE_OK;
  }
  be_buf_init(&bytes, SEGMENT_MAX);
  enum be_status status =
      job->film->code_begin(&job->clip->form, keep_bytes, &bytes, &coder, &lane->err);
  if (status == BE_OK) status = code_frames(lane, coder, first, past);
  job->film->code_drop(coder);
  if (status == BE_OK) status = be_buf_status(&bytes, &lane->err);
  if (status == BE_OK) status = be_kept_write(&job->kept, segment, &bytes, lane->bad, &lane->err);
  be_buf_free(&bytes);
  return status;
}

static enum be_status write_picture(struct lane *lane, size_t frame)
{
  const struct be_film_form *form = &lane->job->clip->form;
  struct be_buf png;
  be_buf_init(&png, SEGMENT_MAX);
  enum be_status status =
      be_film_png(cairo_image_surface_get_data(lane->easel.frame_surface),
                  (size_t)cairo_image_surface_get_stride(lane->easel.frame_surface), form->width,
                  form->height, &png, &lane->err);
  if (status == BE_OK) status = be_kept_write(&lane->job->kept, frame, &png, lane->bad, &lane->err);
  be_buf_free(&png);
  return status;
}

static enum be_status make_pictures(struct lane *lane, size_t first, size_t past)
{
  struct job *job = lane->job;
  bool all = true;
  for (size_t i = first; i < past; i++) all &= be_kept_has(&job->kept, i);
  enum be_status status = all ? BE_OK : start_segment(lane, first);
  for (size_t i = first; i < past && status == BE_OK; i++) {
    if (atomic_load(&job->failed)) return BE_NO;
    if (be_kept_has(&job->kept, i)) atomic_fetch_add(&job->kept_frames, 1);
    lane->bad = 0;
    if (!all) status = draw_frame(lane, i);
    if (status == BE_OK && !be_kept_has(&job->kept, i)) status = write_picture(lane, i);
    count_frame(job);
  }
  return status;
}

/* ---- all of them ---- */

static enum be_status open_lane(struct lane *lane)
{
  const struct clip *clip = lane->job->clip;
  const struct be_footage_about *about;
  enum be_status status = open_easel(&clip->form, &lane->easel, &lane->err);
  if (status == BE_OK && clip->over)
    status = lane->job->film->footage_open(clip->footage_path, &lane->footage, &about, &lane->err);
  return status;
}

static void run_lane(void *context, size_t i)
{
  struct job *job = context;
  struct lane *lane = &job->lanes[i];
  size_t frames = job->clip->form.frames;
  lane->job = job;
  lane->status = open_lane(lane);
  while (lane->status == BE_OK && !atomic_load(&job->failed)) {
    size_t segment = atomic_fetch_add(&job->next, 1);
    if (segment >= job->segments) break;
    size_t first = segment * job->each, past = first + job->each;
    if (past > frames) past = frames;
    lane->status = job->kept.pictures ? make_pictures(lane, first, past)
                                      : make_segment(lane, segment, first, past);
  }
  if (lane->status != BE_OK) atomic_store(&job->failed, true);
  close_easel(&lane->easel);
  if (lane->footage) job->film->footage_close(lane->footage);
}

static enum be_status run_lanes(struct job *job, struct be_err *err)
{
  size_t lanes = be_processors();
  if (lanes > LANES_MAX) lanes = LANES_MAX;
  if (lanes > job->segments) lanes = job->segments;
  be_progress_step("drawing the clip", "frames", job->clip->form.frames);
  be_parallel(lanes, (unsigned)lanes, run_lane, job);
  /* BE_NO: another lane failed first, and says why. */
  for (size_t i = 0; i < lanes; i++) {
    if (job->lanes[i].status == BE_OK || job->lanes[i].status == BE_NO) continue;
    if (err) *err = job->lanes[i].err;
    return job->lanes[i].status;
  }
  return BE_OK;
}

static enum be_status add_segment(struct job *job, struct be_joiner *joiner, size_t segment,
                                  struct be_err *err)
{
  struct be_buf bytes;
  char path[4200];
  be_buf_init(&bytes, SEGMENT_MAX);
  be_kept_path(&job->kept, segment, path);
  enum be_status status = be_file_read(path, &bytes, err);
  if (status == BE_OK) status = job->film->join_segment(joiner, bytes.data, bytes.size, err);
  be_buf_free(&bytes);
  return status;
}

static enum be_status join(struct job *job, struct be_err *err)
{
  const struct clip *clip = job->clip;
  const char *ending = strrchr(clip->path, '.');
  struct be_joiner *joiner = NULL;
  char path[4200];
  snprintf(path, sizeof path, "%s/joined%s", job->kept.folder, ending ? ending : "");
  be_progress_step("joining the clip", "segments", job->segments);
  struct be_footage *over = NULL;
  const struct be_footage_about *about;
  enum be_status status =
      clip->over ? job->film->footage_open(clip->footage_path, &over, &about, err) : BE_OK;
  if (status == BE_OK)
    status = job->film->join_begin(path, &clip->form, over, clip->note, &joiner, err);
  for (size_t i = 0; i < job->segments && status == BE_OK; i++) {
    status = add_segment(job, joiner, i, err);
    be_progress_at(i + 1);
  }
  if (status == BE_OK) status = job->film->join_end(joiner, err);
  if (joiner) job->film->join_drop(joiner);
  if (over) job->film->footage_close(over);
  if (status == BE_OK) return be_file_rename(path, clip->path, err);
  be_file_remove(path, NULL);
  return status;
}

static void say_kept(const struct kept *kept, struct be_err *err)
{
  char first[200] = "";
  if (err && err->remedy[0]) snprintf(first, sizeof first, "%.190s; ", err->remedy);
  be_fail_remedy(err, "%swhat is made so far is kept in %.150s: run the same again, and it goes on",
                 first, kept->folder);
}

/* Frames of footage that were not whole, and the time of the items that they are in. */
static void count_bad(const struct job *job, struct clip_made *made)
{
  const struct clip *clip = job->clip;
  size_t each = job->kept.pictures ? 1 : job->each;
  for (size_t i = 0; i < job->kept.items; i++) {
    size_t bad = job->kept.told[i].bad, past = (i + 1) * each;
    if (!bad) continue;
    if (!made->bad) made->bad_from_s = moment_of(clip, i * each);
    made->bad += bad;
    made->bad_to_s = moment_of(clip, past < clip->form.frames ? past : clip->form.frames);
  }
}

/* A segment lasts about a second: little is lost with one, and a film can be sought by it. */
enum be_status be_clip_make(const struct clip *clip, const struct be_film *film,
                            struct clip_made *made, struct be_err *err)
{
  struct job *job = be_alloc_array(1, sizeof *job);
  if (!job) return be_fail(err, BE_NO_MEMORY, "no memory for the clip");
  memset(job, 0, sizeof *job);
  job->clip = clip;
  job->film = film;
  job->each = (size_t)ceil((double)clip->form.rate.num / (double)clip->form.rate.den);
  job->segments = (clip->form.frames + job->each - 1) / job->each;
  bool pictures = clip->form.kind == BE_FILM_PNG;
  enum be_status status = be_kept_open(
      clip, film ? film->coder : "", pictures ? clip->form.frames : job->segments, &job->kept, err);
  if (status == BE_OK) status = run_lanes(job, err);
  if (status == BE_OK && !pictures) status = join(job, err);
  if (status == BE_OK && clip->over) count_bad(job, made);
  if (status == BE_OK) status = be_kept_end(&job->kept, err);
  else if (status == BE_FAILED) say_kept(&job->kept, err);
  made->kept = atomic_load(&job->kept_frames);
  be_kept_close(&job->kept);
  be_free(job);
  return status;
}
