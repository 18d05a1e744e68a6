/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The sound of a clip into another file: its packets as they are where the file takes them, else
 * decoded and coded as AAC. */
#include "film/av/inside.h"

#include <libavutil/audio_fifo.h>
#include <libavutil/channel_layout.h>
#include <libavutil/samplefmt.h>
#include <libswresample/swresample.h>
#include <math.h>
#include <string.h>

struct be_av_carry {
  struct be_av_source source;
  AVFormatContext *out;
  AVStream *stream;
  AVPacket *packet;
  int64_t start; /* of the clip, in the unit of its sound */
  int64_t last;  /* when the packet written last is decoded */
  bool held;     /* the packet of the source is one that was read and not yet written */
  bool done;
  /* When it is coded anew: */
  AVCodecContext *coder;
  SwrContext *resample;
  AVAudioFifo *fifo;
  AVFrame *frame;
  int64_t next;           /* sample; where the next piece belongs */
  AVChannelLayout layout; /* of the sound that is read, as its format and rate */
  int format, rate;
};

static const char cannot[] = "the sound of the clip cannot be taken over";

/* ---- as it is ---- */

static enum be_status copy_until(struct be_av_carry *carry, double until_s, struct be_err *err)
{
  AVPacket *packet = carry->source.packet;
  const AVStream *from = carry->source.stream;
  while (!carry->done) {
    if (!carry->held && !be_av_packet(&carry->source)) {
      carry->done = true;
      break;
    }
    carry->held = true;
    if (packet->stream_index == from->index && packet->pts != AV_NOPTS_VALUE) {
      int64_t at = packet->pts - carry->start;
      if ((double)at * av_q2d(from->time_base) >= until_s) return BE_OK;
      packet->pts = at;
      packet->dts = packet->dts == AV_NOPTS_VALUE ? at : packet->dts - carry->start;
      packet->pos = -1;
      packet->stream_index = carry->stream->index;
      av_packet_rescale_ts(packet, from->time_base, carry->stream->time_base);
      /* Times that go back come of damage: no file holds them. */
      bool forth = packet->dts > carry->last && packet->pts >= packet->dts;
      if (forth) carry->last = packet->dts;
      int code = forth ? av_interleaved_write_frame(carry->out, packet) : 0;
      if (code < 0) return be_av_failed(err, BE_FAILED, code, NULL, cannot);
    }
    av_packet_unref(packet);
    carry->held = false;
  }
  return BE_OK;
}

/* ---- coded anew ---- */

static enum be_status write_coded(struct be_av_carry *carry, AVFrame *frame, struct be_err *err)
{
  int code = avcodec_send_frame(carry->coder, frame);
  while (code >= 0) {
    code = avcodec_receive_packet(carry->coder, carry->packet);
    if (code == AVERROR(EAGAIN) || code == AVERROR_EOF) return BE_OK;
    if (code < 0) break;
    carry->packet->stream_index = carry->stream->index;
    av_packet_rescale_ts(carry->packet, carry->coder->time_base, carry->stream->time_base);
    code = av_interleaved_write_frame(carry->out, carry->packet);
  }
  return be_av_failed(err, BE_FAILED, code, NULL, cannot);
}

static enum be_status code_full(struct be_av_carry *carry, bool last, struct be_err *err)
{
  AVFrame *frame = carry->frame;
  int most = carry->coder->frame_size;
  for (int held; (held = av_audio_fifo_size(carry->fifo)) >= (last ? 1 : most);) {
    av_frame_unref(frame);
    frame->nb_samples = held < most ? held : most;
    frame->format = carry->coder->sample_fmt;
    frame->sample_rate = carry->coder->sample_rate;
    int code = av_channel_layout_copy(&frame->ch_layout, &carry->coder->ch_layout);
    if (code >= 0) code = av_frame_get_buffer(frame, 0);
    if (code >= 0)
      code = av_audio_fifo_read(carry->fifo, (void **)frame->extended_data, frame->nb_samples);
    if (code < 0) return be_av_failed(err, BE_FAILED, code, NULL, cannot);
    frame->pts = carry->next;
    carry->next += frame->nb_samples;
    enum be_status status = write_coded(carry, frame, err);
    if (status != BE_OK) return status;
  }
  return BE_OK;
}

static enum be_status put_silence(struct be_av_carry *carry, int count, struct be_err *err)
{
  const AVCodecContext *coder = carry->coder;
  AVFrame *to = carry->frame;
  av_frame_unref(to);
  to->format = coder->sample_fmt;
  to->nb_samples = count;
  int code = av_channel_layout_copy(&to->ch_layout, &coder->ch_layout);
  if (code >= 0) code = av_frame_get_buffer(to, 0);
  if (code >= 0)
    code = av_samples_set_silence(to->extended_data, 0, count, coder->ch_layout.nb_channels,
                                  coder->sample_fmt);
  if (code >= 0) code = av_audio_fifo_write(carry->fifo, (void **)to->extended_data, count);
  if (code < 0) return be_av_failed(err, BE_FAILED, code, NULL, cannot);
  return code_full(carry, false, err);
}

/* Silence up to where the sound of a frame belongs, so that what is missing moves nothing. */
static enum be_status fill_gap(struct be_av_carry *carry, struct be_err *err)
{
  enum { ONCE = 4096, LONGEST_S = 3600 };
  int rate = carry->coder->sample_rate;
  int64_t at = carry->source.frame->best_effort_timestamp;
  int64_t due =
      at == AV_NOPTS_VALUE
          ? 0
          : av_rescale_q(at - carry->start, carry->source.stream->time_base, (AVRational){1, rate});
  if (carry->next == INT64_MIN) carry->next = due;
  if (at == AV_NOPTS_VALUE) return BE_OK;
  int64_t missing =
      due - carry->next - av_audio_fifo_size(carry->fifo) - swr_get_delay(carry->resample, rate);
  /* Times of files are rounded: only what is clearly missing is filled in. */
  if (missing < rate / 20 || missing > (int64_t)LONGEST_S * rate) return BE_OK;
  enum be_status status = BE_OK;
  for (; missing > 0 && status == BE_OK; missing -= ONCE)
    status = put_silence(carry, missing < ONCE ? (int)missing : ONCE, err);
  return status;
}

/* A frame of another kind comes of damage: in its place stands silence. */
static enum be_status resample(struct be_av_carry *carry, struct be_err *err)
{
  AVFrame *from = carry->source.frame, *to = carry->frame;
  if (from->ch_layout.order == AV_CHANNEL_ORDER_UNSPEC)
    av_channel_layout_default(&from->ch_layout, from->ch_layout.nb_channels);
  if (from->format != carry->format || from->sample_rate != carry->rate ||
      av_channel_layout_compare(&from->ch_layout, &carry->layout) != 0)
    return BE_OK;
  enum be_status status = fill_gap(carry, err);
  if (status != BE_OK) return status;
  av_frame_unref(to);
  to->format = carry->coder->sample_fmt;
  to->sample_rate = carry->coder->sample_rate;
  int code = av_channel_layout_copy(&to->ch_layout, &carry->coder->ch_layout);
  if (code >= 0) code = swr_convert_frame(carry->resample, to, from);
  if (code >= 0)
    code = av_audio_fifo_write(carry->fifo, (void **)to->extended_data, to->nb_samples);
  return code < 0 ? be_av_failed(err, BE_FAILED, code, NULL, cannot) : BE_OK;
}

static enum be_status recode_until(struct be_av_carry *carry, double until_s, struct be_err *err)
{
  double rate = carry->coder->sample_rate;
  enum be_status status = BE_OK;
  while (status == BE_OK && !carry->done && (double)carry->next / rate < until_s) {
    carry->done = be_av_next(&carry->source) == 0;
    if (!carry->done) status = resample(carry, err);
    if (status == BE_OK) status = code_full(carry, carry->done, err);
    if (status == BE_OK && carry->done) status = write_coded(carry, NULL, err);
  }
  return status;
}

static int open_coder(struct be_av_carry *carry)
{
  const AVCodecContext *from = carry->source.decoder;
  const AVCodec *codec = avcodec_find_encoder(AV_CODEC_ID_AAC);
  carry->coder = codec ? avcodec_alloc_context3(codec) : NULL;
  carry->packet = av_packet_alloc();
  carry->frame = av_frame_alloc();
  if (!carry->coder || !carry->packet || !carry->frame) return AVERROR(ENOMEM);
  AVCodecContext *coder = carry->coder;
  av_channel_layout_default(&coder->ch_layout, from->ch_layout.nb_channels == 1 ? 1 : 2);
  coder->sample_fmt = AV_SAMPLE_FMT_FLTP;
  coder->sample_rate = from->sample_rate == 44100 ? 44100 : 48000;
  coder->bit_rate = 192000;
  coder->time_base = (AVRational){1, coder->sample_rate};
  coder->flags |= AV_CODEC_FLAG_GLOBAL_HEADER | AV_CODEC_FLAG_BITEXACT;
  int code = avcodec_open2(coder, codec, NULL);
  carry->format = from->sample_fmt;
  carry->rate = from->sample_rate;
  if (code >= 0 && from->ch_layout.order == AV_CHANNEL_ORDER_UNSPEC)
    av_channel_layout_default(&carry->layout, from->ch_layout.nb_channels);
  else if (code >= 0) code = av_channel_layout_copy(&carry->layout, &from->ch_layout);
  if (code >= 0)
    code = swr_alloc_set_opts2(&carry->resample, &coder->ch_layout, coder->sample_fmt,
                               coder->sample_rate, &carry->layout, from->sample_fmt,
                               from->sample_rate, 0, NULL);
  if (code < 0) return code;
  carry->fifo = av_audio_fifo_alloc(coder->sample_fmt, coder->ch_layout.nb_channels, 4096);
  carry->next = INT64_MIN;
  return carry->fifo ? 0 : AVERROR(ENOMEM);
}

/* ---- both ---- */

/* What an MPEG-4 file may hold is more than what most players of one play. */
static bool may_copy(const AVFormatContext *out, enum AVCodecID codec)
{
  static const enum AVCodecID played[] = {AV_CODEC_ID_AAC,  AV_CODEC_ID_MP3,  AV_CODEC_ID_AC3,
                                          AV_CODEC_ID_EAC3, AV_CODEC_ID_ALAC, AV_CODEC_ID_OPUS};
  if (avformat_query_codec(out->oformat, codec, FF_COMPLIANCE_NORMAL) != 1) return false;
  if (strcmp(out->oformat->name, "mp4") != 0) return true;
  for (size_t i = 0; i < sizeof played / sizeof played[0]; i++)
    if (played[i] == codec) return true;
  return false;
}

enum be_status be_av_carry_create(const char *path, AVFormatContext *out, struct be_av_carry **made,
                                  struct be_err *err)
{
  struct be_av_carry *carry = be_alloc_array(1, sizeof *carry);
  *made = carry;
  if (!carry) return be_fail(err, BE_NO_MEMORY, "no memory for the film");
  *carry = (struct be_av_carry){.out = out, .last = INT64_MIN};
  enum be_status status = be_av_open(path, AVMEDIA_TYPE_AUDIO, &carry->source, err);
  if (status != BE_OK) return status;
  const AVCodecParameters *from = carry->source.stream->codecpar;
  carry->start = av_rescale_q(be_av_start(carry->source.file), AV_TIME_BASE_Q,
                              carry->source.stream->time_base);
  carry->stream = avformat_new_stream(out, NULL);
  int code = carry->stream ? 0 : AVERROR(ENOMEM);
  if (code >= 0 && may_copy(out, from->codec_id)) {
    code = avcodec_parameters_copy(carry->stream->codecpar, from);
    carry->stream->codecpar->codec_tag = 0;
    carry->stream->time_base = carry->source.stream->time_base;
  } else if (code >= 0) {
    code = open_coder(carry);
    if (code >= 0) code = avcodec_parameters_from_context(carry->stream->codecpar, carry->coder);
    if (code >= 0) carry->stream->time_base = carry->coder->time_base;
  }
  return code < 0 ? be_av_failed(err, BE_FAILED, code, path, cannot) : BE_OK;
}

enum be_status be_av_carry_until(struct be_av_carry *carry, double until_s, struct be_err *err)
{
  return carry->coder ? recode_until(carry, until_s, err) : copy_until(carry, until_s, err);
}

void be_av_carry_free(struct be_av_carry *carry)
{
  if (!carry) return;
  av_audio_fifo_free(carry->fifo);
  swr_free(&carry->resample);
  av_channel_layout_uninit(&carry->layout);
  avcodec_free_context(&carry->coder);
  av_frame_free(&carry->frame);
  av_packet_free(&carry->packet);
  be_av_close(&carry->source);
  be_free(carry);
}
