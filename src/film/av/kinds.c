/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How each kind is coded. One thread a coder, so that the bytes do not depend on the machine:
 * segments are coded side by side instead. No frame is told by a later one, so that every time is
 * that of its frame and nothing has to be shifted. */
#include "film/av/inside.h"

#include <libavutil/dict.h>
#include <libavutil/opt.h>
#include <libavutil/pixdesc.h>

static const struct be_av_kind kinds[BE_FILM_KINDS] = {
    [BE_FILM_QTRLE] = {"qtrle", "mov", AV_PIX_FMT_ARGB, "", 0},
    [BE_FILM_VP9] =
        {"libvpx-vp9", "webm", AV_PIX_FMT_YUVA420P,
         "deadline=realtime:cpu-used=8:static-thresh=1:auto-alt-ref=0:lag-in-frames=0:crf=20", 0},
    [BE_FILM_PRORES] = {"prores_aw", "mov", AV_PIX_FMT_YUVA444P10, "vendor=apl0", 0},
    [BE_FILM_H264] = {"libx264", "mp4", AV_PIX_FMT_YUV420P,
                      "preset=superfast:crf=17:sc_threshold=0", 0},
};

const struct be_av_kind *be_av_kind_of(enum be_film_kind kind)
{
  return &kinds[kind];
}

static void set_up(AVCodecContext *coder, const struct be_film_form *form)
{
  const struct be_av_kind *kind = &kinds[form->kind];
  coder->width = form->width;
  coder->height = form->height;
  coder->pix_fmt = kind->pixels;
  coder->time_base = (AVRational){(int)form->rate.den, (int)form->rate.num};
  coder->framerate = (AVRational){(int)form->rate.num, (int)form->rate.den};
  coder->sample_aspect_ratio = (AVRational){1, 1};
  coder->thread_count = 1;
  coder->max_b_frames = 0;
  coder->bit_rate = kind->bit_rate;
  coder->flags |= AV_CODEC_FLAG_GLOBAL_HEADER | AV_CODEC_FLAG_BITEXACT | AV_CODEC_FLAG_CLOSED_GOP;
  if (kind->pixels == AV_PIX_FMT_ARGB) return;
  coder->color_range = AVCOL_RANGE_MPEG;
  coder->colorspace = AVCOL_SPC_BT709;
  coder->color_primaries = AVCOL_PRI_BT709;
  coder->color_trc = AVCOL_TRC_BT709;
  if (form->kind == BE_FILM_PRORES) coder->bits_per_coded_sample = 32; /* players look for alpha */
  else coder->chroma_sample_location = AVCHROMA_LOC_CENTER;
}

enum be_status be_av_frame_create(const AVCodecContext *coder, AVFrame **out, struct be_err *err)
{
  AVFrame *frame = *out = av_frame_alloc();
  if (!frame) return be_fail(err, BE_NO_MEMORY, "no memory for the film");
  frame->format = coder->pix_fmt;
  frame->width = coder->width;
  frame->height = coder->height;
  frame->color_range = coder->color_range;
  frame->colorspace = coder->colorspace;
  frame->color_primaries = coder->color_primaries;
  frame->color_trc = coder->color_trc;
  frame->chroma_location = coder->chroma_sample_location;
  frame->pts = 0;
  return av_frame_get_buffer(frame, 0) < 0 ? be_fail(err, BE_NO_MEMORY, "no memory for the film")
                                           : BE_OK;
}

enum be_status be_av_coder_open(const struct be_film_form *form, AVCodecContext **out,
                                struct be_err *err)
{
  const struct be_av_kind *kind = &kinds[form->kind];
  const AVCodec *codec = avcodec_find_encoder_by_name(kind->coder);
  if (!codec) {
    be_fail(err, BE_FAILED, "the FFmpeg libraries here have no coder named %s", kind->coder);
    be_fail_remedy(err, "choose another kind with --codec, or install FFmpeg with %s", kind->coder);
    return BE_FAILED;
  }
  AVCodecContext *coder = avcodec_alloc_context3(codec);
  AVDictionary *settings = NULL;
  int code = coder ? av_dict_parse_string(&settings, kind->settings, "=", ":", 0) : AVERROR(ENOMEM);
  if (code >= 0) set_up(coder, form);
  if (code >= 0) code = avcodec_open2(coder, codec, &settings);
  av_dict_free(&settings);
  if (code < 0) {
    avcodec_free_context(&coder);
    return be_av_failed(err, BE_FAILED, code, NULL, "the film cannot be coded");
  }
  *out = coder;
  return BE_OK;
}
