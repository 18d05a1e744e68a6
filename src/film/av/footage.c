/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Frames of a clip as a player shows them: turned upright, each at its own time, of whatever
 * length. All times are read first, without decoding; decoded frames are then put where their times
 * say. */
#include "film/av/inside.h"

#include <libavutil/display.h>
#include <libavutil/pixdesc.h>
#include <libswscale/swscale.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { FRAMES_MAX = 20 * 1000 * 1000 };

struct be_footage {
  char path[4096];
  struct be_av_source source;
  struct be_footage_about about;
  int64_t *time;
  size_t capacity;
  int64_t first;  /* the time of frame 0 in the file */
  int quarter;    /* turns clockwise that make it upright, 0 to 3 */
  bool mirrored;  /* after that */
  int wide, high; /* before it is turned */
  struct SwsContext *scaler;
  unsigned char *lying; /* the frame before it is turned */
  struct be_av_tones *tones;
  AVFrame *now, *then; /* shown, and the next one that was decoded */
  int64_t last;        /* the time of what was decoded last */
  size_t at;
  bool sought; /* nothing was shown since */
};

/* ---- through the file ---- */

/* The last frame that is decoded may have no time: it follows the one before it. */
static void decode_next(struct be_footage *footage)
{
  AVFrame *frame = footage->source.frame;
  av_frame_unref(footage->then);
  while (be_av_next(&footage->source) == 1) {
    bool timed = frame->best_effort_timestamp != AV_NOPTS_VALUE;
    bool last = footage->source.ended && footage->last != AV_NOPTS_VALUE;
    if (!timed && last && frame->pkt_duration > 0)
      frame->best_effort_timestamp = footage->last + frame->pkt_duration;
    else if (!timed) continue;
    footage->last = frame->best_effort_timestamp;
    av_frame_move_ref(footage->then, frame);
    return;
  }
}

/* start: to the first byte, for a file whose index leads past its first frames, or that has none.
 */
static void jump(struct be_footage *footage, int64_t time, bool start)
{
  struct be_av_source *source = &footage->source;
  if (start) av_seek_frame(source->file, -1, 0, AVSEEK_FLAG_BYTE);
  else if (av_seek_frame(source->file, source->stream->index, time, AVSEEK_FLAG_BACKWARD) < 0)
    av_seek_frame(source->file, source->stream->index, INT64_MIN, AVSEEK_FLAG_BACKWARD);
  avcodec_flush_buffers(source->decoder);
  source->ended = false;
  footage->last = AV_NOPTS_VALUE;
  av_frame_unref(footage->now);
  decode_next(footage);
}

/* ---- what it is ---- */

static int compare(const void *a, const void *b)
{
  int64_t x = *(const int64_t *)a, y = *(const int64_t *)b;
  return (x > y) - (x < y);
}

/* What only other frames are told by is not shown: so VP8 has it (RFC 6386, 9.1). */
static bool is_shown(const AVStream *stream, const AVPacket *packet)
{
  bool hidden = stream->codecpar->codec_id == AV_CODEC_ID_VP8 && packet->size > 0 &&
                !(packet->data[0] >> 4 & 1);
  return !hidden && !(packet->flags & AV_PKT_FLAG_DISCARD);
}

static enum be_status keep_time(struct be_footage *footage, int64_t time, struct be_err *err)
{
  void *block = footage->time;
  enum be_status status = be_grow(&block, &footage->capacity, sizeof(int64_t),
                                  footage->about.frames + 2, FRAMES_MAX, err);
  footage->time = block;
  if (status == BE_OK) footage->time[footage->about.frames++] = time;
  return status;
}

/* Of its own stream, or of the whole file; 0: not told. */
static double told_length(const struct be_footage *footage, bool *own)
{
  const AVFormatContext *file = footage->source.file;
  const AVStream *stream = footage->source.stream;
  *own = stream->duration != AV_NOPTS_VALUE && stream->duration > 0;
  if (*own) return (double)stream->duration * av_q2d(stream->time_base);
  /* Not an estimate that was made of what is there. */
  if (file->duration_estimation_method != AVFMT_DURATION_FROM_STREAM || file->duration <= 0)
    return 0;
  return (double)file->duration / AV_TIME_BASE;
}

/* The index of a whole file, or a count in its head. */
static size_t told_frames(const struct be_footage *footage)
{
  const AVStream *stream = footage->source.stream;
  int count = avformat_index_get_entries_count(stream);
  if (strstr(footage->source.file->iformat->name, "mov")) return count > 0 ? (size_t)count : 0;
  return stream->nb_frames > 0 ? (size_t)stream->nb_frames : 0;
}

/* All packets, without being decoded. ends_s: of all streams. */
static enum be_status read_packets(struct be_footage *footage, int64_t *last_length, double *ends_s,
                                   bool *told, struct be_err *err)
{
  const struct be_av_source *source = &footage->source;
  AVPacket *packet = source->packet;
  enum be_status status = BE_OK;
  while (status == BE_OK && be_av_packet(&footage->source)) {
    const AVStream *stream = source->file->streams[packet->stream_index];
    int64_t time = packet->pts != AV_NOPTS_VALUE ? packet->pts : packet->dts;
    bool ours = stream == source->stream;
    if (ours) footage->about.read++;
    if (ours && packet->pts == AV_NOPTS_VALUE) *told = false;
    if (time != AV_NOPTS_VALUE)
      *ends_s = fmax(*ends_s, (double)(time + packet->duration) * av_q2d(stream->time_base));
    if (ours && time != AV_NOPTS_VALUE && is_shown(stream, packet)) {
      status = keep_time(footage, time, err);
      if (packet->duration > 0) *last_length = packet->duration;
    }
    av_packet_unref(packet);
  }
  return status;
}

/* Where frames stand in another order than they are shown in, and not all have a time, only what
 * decodes them can tell. */
static enum be_status decode_times(struct be_footage *footage, struct be_err *err)
{
  enum be_status status = BE_OK;
  const AVStream *stream = footage->source.stream;
  bool runs = footage->source.file->iformat->flags & AVFMT_TS_DISCONT;
  footage->about.frames = 0;
  jump(footage, stream->start_time == AV_NOPTS_VALUE ? 0 : stream->start_time, runs);
  for (; footage->then->data[0] && status == BE_OK; decode_next(footage))
    status = keep_time(footage, footage->then->best_effort_timestamp, err);
  return status;
}

static void sort_times(struct be_footage *footage, int64_t last_length)
{
  size_t frames = footage->about.frames;
  qsort(footage->time, frames, sizeof(int64_t), compare);
  footage->first = footage->time[0];
  size_t kept = 0;
  for (size_t i = 0; i < frames; i++)
    if (i == 0 || footage->time[i] - footage->first > footage->time[kept - 1])
      footage->time[kept++] = footage->time[i] - footage->first;
  footage->about.frames = kept;
  int64_t mean = kept > 1 ? footage->time[kept - 1] / (int64_t)(kept - 1) : 0;
  int64_t length = last_length > 0 ? last_length : mean > 0 ? mean : 1;
  footage->time[kept] = footage->time[kept - 1] + length;
  footage->about.time = footage->time;
}

static enum be_status read_times(struct be_footage *footage, struct be_err *err)
{
  struct be_footage_about *about = &footage->about;
  AVFormatContext *file = footage->source.file;
  int64_t last_length = 0;
  double ends_s = 0;
  bool own, told = true;
  about->claimed = told_frames(footage);
  about->claimed_s = told_length(footage, &own);
  /* Where only the whole file tells how long it is, its sound may be what lasts so long. */
  if (!own)
    for (unsigned i = 0; i < file->nb_streams; i++) file->streams[i]->discard = AVDISCARD_DEFAULT;
  enum be_status status = read_packets(footage, &last_length, &ends_s, &told, err);
  for (unsigned i = 0; i < file->nb_streams; i++)
    if (file->streams[i] != footage->source.stream) file->streams[i]->discard = AVDISCARD_ALL;
  if (status == BE_OK && !told && footage->source.stream->codecpar->video_delay > 0)
    status = decode_times(footage, err);
  if (status != BE_OK) return status;
  if (!about->frames && about->claimed)
    return be_fail(err, BE_BAD_INPUT, "the file is cut off: none of its %zu frames can be read",
                   about->claimed);
  if (!about->frames) return be_fail(err, BE_BAD_INPUT, "the clip has no frames");
  if (about->frames == 1 && about->claimed < 2) {
    be_fail(err, BE_BAD_INPUT, "this is one picture, no clip");
    be_fail_remedy(err, "give the film of the pull");
    return BE_BAD_INPUT;
  }
  sort_times(footage, last_length);
  double unit_s = av_q2d(footage->source.stream->time_base);
  double first_s = (double)footage->first * unit_s;
  double lasts_s = (double)footage->time[about->frames] * unit_s;
  if (!own && about->claimed_s > 0) {
    /* Told from the start of time, of all streams. */
    about->claimed_s -= first_s;
    if (ends_s - first_s > lasts_s) about->claimed_s -= ends_s - first_s - lasts_s;
  }
  return BE_OK;
}

static void say_shape(struct be_footage *footage)
{
  const AVStream *stream = footage->source.stream;
  const AVCodecParameters *as = stream->codecpar;
  const uint8_t *matrix = av_stream_get_side_data(stream, AV_PKT_DATA_DISPLAYMATRIX, NULL);
  double turned = 0;
  if (matrix) {
    int32_t upright[9];
    memcpy(upright, matrix, sizeof upright);
    footage->mirrored = (double)upright[0] * upright[4] - (double)upright[1] * upright[3] < 0;
    av_display_matrix_flip(upright, footage->mirrored, 0);
    turned = av_display_rotation_get(upright);
  }
  footage->quarter = isfinite(turned) ? (int)(((lround(-turned / 90) % 4) + 4) % 4) : 0;
  AVRational shape =
      stream->sample_aspect_ratio.num ? stream->sample_aspect_ratio : as->sample_aspect_ratio;
  double stretch = shape.num > 0 && shape.den > 0 ? av_q2d(shape) : 1;
  footage->wide = stretch == 1 ? as->width / 2 * 2 : (int)lround(as->width * stretch / 2) * 2;
  footage->high = as->height / 2 * 2;
  bool lies = footage->quarter % 2;
  footage->about.width = lies ? footage->high : footage->wide;
  footage->about.height = lies ? footage->wide : footage->high;
  footage->about.unit = (struct be_fraction){stream->time_base.num, stream->time_base.den};
  AVRational rate = stream->avg_frame_rate.num > 0 ? stream->avg_frame_rate : stream->r_frame_rate;
  if (rate.num <= 0 || rate.den <= 0) rate = (AVRational){30, 1};
  footage->about.rate = (struct be_fraction){rate.num, rate.den};
}

static void say_streams(struct be_footage *footage)
{
  const AVFormatContext *file = footage->source.file;
  for (unsigned i = 0; i < file->nb_streams; i++) {
    const AVStream *stream = file->streams[i];
    enum AVMediaType type = stream->codecpar->codec_type;
    bool picture = stream->disposition & AV_DISPOSITION_ATTACHED_PIC;
    footage->about.pictures += type == AVMEDIA_TYPE_VIDEO && !picture;
    footage->about.sounds += type == AVMEDIA_TYPE_AUDIO;
  }
}

static enum be_status set_up(struct be_footage *footage, const char *path, struct be_err *err)
{
  if (strlen(path) >= sizeof footage->path)
    return be_fail(err, BE_WRONG_USE, "the file name is too long");
  strcpy(footage->path, path);
  enum be_status status = be_av_open(path, AVMEDIA_TYPE_VIDEO, &footage->source, err);
  if (status == BE_NO) {
    status = be_fail(err, BE_BAD_INPUT, "the file has no frames");
    be_fail_remedy(err, "give the film of the pull: sound alone has nothing to lay the load over");
  }
  if (status != BE_OK) return status;
  say_shape(footage);
  say_streams(footage);
  int side = footage->wide > footage->high ? footage->wide : footage->high;
  if (footage->wide < 16 || footage->high < 16 || side > BE_FILM_SIDE_MAX)
    return be_fail(err, BE_TOO_LARGE, "a clip is 16 to %d px wide and high, not %d by %d",
                   BE_FILM_SIDE_MAX, footage->wide, footage->high);
  footage->lying = be_alloc_array((size_t)footage->wide * (size_t)footage->high, 4);
  footage->now = av_frame_alloc();
  footage->then = av_frame_alloc();
  if (!footage->lying || !footage->now || !footage->then)
    return be_fail(err, BE_NO_MEMORY, "no memory for the clip");
  status = be_av_tones_create(footage->source.stream->codecpar->color_trc, &footage->tones,
                              &footage->about.range, err);
  if (status != BE_OK) return status;
  return read_times(footage, err);
}

enum be_status be_av_footage_open(const char *path, struct be_footage **out,
                                  const struct be_footage_about **about, struct be_err *err)
{
  *out = NULL;
  struct be_footage *footage = be_alloc_array(1, sizeof *footage);
  if (!footage) return be_fail(err, BE_NO_MEMORY, "no memory for the clip");
  *footage = (struct be_footage){0};
  enum be_status status = set_up(footage, path, err);
  if (status == BE_OK) status = be_av_footage_seek(footage, 0, err);
  if (status != BE_OK) {
    be_fail_at(err, path, 0, 0);
    be_av_footage_close(footage);
    return status;
  }
  *about = &footage->about;
  *out = footage;
  return BE_OK;
}

const char *be_av_footage_path(const struct be_footage *footage)
{
  return footage->path;
}

const struct be_footage_about *be_av_footage_about(const struct be_footage *footage)
{
  return &footage->about;
}

/* ---- its frames ---- */

static bool is_due(const struct be_footage *footage, int64_t time)
{
  return footage->then->data[0] && footage->then->best_effort_timestamp - footage->first <= time;
}

enum be_status be_av_footage_seek(struct be_footage *footage, size_t at, struct be_err *err)
{
  int64_t time = footage->time[at];
  (void)err;
  footage->at = at;
  footage->sought = true;
  /* More tries, from the start: some files lead past the frame that is asked for. */
  jump(footage, time + footage->first, false);
  if (!is_due(footage, time) && at > 0) jump(footage, footage->first, false);
  if (!is_due(footage, time) && (footage->source.file->iformat->flags & AVFMT_TS_DISCONT))
    jump(footage, footage->first, true);
  return BE_OK;
}

/* To the right by quarter turns, then as in a mirror. */
static void turn(const struct be_footage *footage, unsigned char *pixels, size_t stride)
{
  int wide = footage->wide, high = footage->high;
  for (int y = 0; y < high; y++) {
    const unsigned char *from = footage->lying + (size_t)y * (size_t)wide * 4;
    for (int x = 0; x < wide; x++, from += 4) {
      const int xs[4] = {x, high - 1 - y, wide - 1 - x, y};
      const int ys[4] = {y, x, high - 1 - y, wide - 1 - x};
      int to_x = xs[footage->quarter], to_y = ys[footage->quarter];
      if (footage->mirrored) to_x = footage->about.width - 1 - to_x;
      memcpy(pixels + (size_t)to_y * stride + (size_t)to_x * 4, from, 4);
    }
  }
}

static enum be_status show(struct be_footage *footage, unsigned char *pixels, size_t stride,
                           struct be_err *err)
{
  const AVFrame *frame = footage->now;
  /* An odd last column or row is left out, so that nothing is blurred for it. */
  int wide = frame->width - (frame->width == footage->wide + 1);
  int high = frame->height - (frame->height == footage->high + 1);
  footage->scaler = sws_getCachedContext(
      footage->scaler, wide, high, (enum AVPixelFormat)frame->format, footage->wide, footage->high,
      AV_PIX_FMT_BGRA, SWS_BILINEAR | SWS_ACCURATE_RND | SWS_FULL_CHR_H_INT | SWS_BITEXACT, NULL,
      NULL, NULL);
  if (!footage->scaler) return be_fail(err, BE_NO_MEMORY, "no memory for a frame of the clip");
  /* Untold colours are those of common practice: small pictures have the old ones. */
  int space = frame->colorspace != AVCOL_SPC_UNSPECIFIED ? (int)frame->colorspace
              : frame->height < 720                      ? SWS_CS_ITU601
                                                         : SWS_CS_ITU709;
  sws_setColorspaceDetails(footage->scaler, sws_getCoefficients(space),
                           frame->color_range == AVCOL_RANGE_JPEG,
                           sws_getCoefficients(SWS_CS_DEFAULT), 1, 0, 1 << 16, 1 << 16);
  bool lies = footage->quarter || footage->mirrored;
  unsigned char *into = lies ? footage->lying : pixels;
  size_t step = lies ? (size_t)footage->wide * 4 : stride;
  uint8_t *rows[4] = {into};
  const int steps[4] = {(int)step};
  int code = sws_scale(footage->scaler, (const uint8_t *const *)frame->data, frame->linesize, 0,
                       high, rows, steps);
  if (code < 0) return be_av_failed(err, BE_FAILED, code, footage->path, "a frame cannot be shown");
  for (int y = 0; y < footage->high; y++)
    for (int x = 0; x < footage->wide; x++) into[(size_t)y * step + (size_t)x * 4 + 3] = 255;
  if (footage->tones) be_av_tones_apply(footage->tones, into, step, footage->wide, footage->high);
  if (lies) turn(footage, pixels, stride);
  return BE_OK;
}

/* Whether what is shown is the frame of this time, with all its parts. */
static bool is_whole(const struct be_footage *footage, int64_t time, int64_t next, bool moved)
{
  const AVFrame *now = footage->now;
  int64_t late = time - (now->best_effort_timestamp - footage->first);
  if (now->decode_error_flags || (now->flags & AV_FRAME_FLAG_CORRUPT)) return false;
  if (footage->at <= (size_t)footage->source.decoder->has_b_frames) return true;
  /* Times of some files are a little off: one frame for one time is right all the same. */
  return late == 0 || (moved && (!footage->sought || (late > 0 && late < next - time)));
}

enum be_status be_av_footage_next(struct be_footage *footage, unsigned char *pixels, size_t stride,
                                  bool *whole, struct be_err *err)
{
  bool moved = false;
  int64_t time = footage->time[footage->at++];
  while (is_due(footage, time)) {
    moved = true;
    av_frame_unref(footage->now);
    av_frame_move_ref(footage->now, footage->then);
    decode_next(footage);
  }
  /* None is due before the first that can be decoded: it stands for those before it. */
  if (!footage->now->data[0] && footage->then->data[0]) av_frame_ref(footage->now, footage->then);
  if (!footage->now->data[0]) {
    be_fail(err, BE_BAD_INPUT, "none of its frames can be decoded");
    return be_fail_at(err, footage->path, 0, 0), BE_BAD_INPUT;
  }
  *whole = is_whole(footage, time, footage->time[footage->at], moved);
  footage->sought = false;
  return show(footage, pixels, stride, err);
}

void be_av_footage_close(struct be_footage *footage)
{
  if (!footage) return;
  sws_freeContext(footage->scaler);
  av_frame_free(&footage->now);
  av_frame_free(&footage->then);
  be_av_close(&footage->source);
  be_free(footage->lying);
  be_free(footage->tones);
  be_free(footage->time);
  be_free(footage);
}
