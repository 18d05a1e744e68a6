/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A segment: the coder's extra data, then its frames, each with its place and what stands beside
 * it. */
#include "film/av/inside.h"

struct be_coder {
  struct be_av_bands *bands; /* of ProRes; else null, and: */
  AVCodecContext *codec;
  struct be_av_pixels *pixels;
  AVFrame *frame;
  AVPacket *packet;
  be_film_take *take;
  void *context;
  int64_t frames;
};

static enum be_status hand_over(struct be_coder *coder, const struct be_av_piece *piece,
                                const void *bytes, const void *side, struct be_err *err)
{
  enum be_status status = coder->take(coder->context, piece, sizeof *piece);
  if (status == BE_OK && piece->size) status = coder->take(coder->context, bytes, piece->size);
  if (status == BE_OK && piece->side) status = coder->take(coder->context, side, piece->side);
  return status == BE_OK ? BE_OK : be_fail(err, status, "no memory for a segment of the film");
}

static enum be_status hand_over_head(struct be_coder *coder, struct be_err *err)
{
  const struct be_av_piece head = {.size = (uint32_t)coder->codec->extradata_size,
                                   .kind = BE_PIECE_HEAD};
  return hand_over(coder, &head, coder->codec->extradata, NULL, err);
}

enum be_status be_av_code_begin(const struct be_film_form *form, be_film_take *take, void *context,
                                struct be_coder **out, struct be_err *err)
{
  struct be_coder *coder = be_alloc_array(1, sizeof *coder);
  *out = coder;
  if (!coder) return be_fail(err, BE_NO_MEMORY, "no memory for the film");
  *coder = (struct be_coder){.take = take, .context = context};
  if (form->kind == BE_FILM_PRORES) return be_av_bands_create(form, &coder->bands, err);
  enum be_status status = be_av_coder_open(form, &coder->codec, err);
  if (status != BE_OK) return status;
  status =
      be_av_pixels_create(form->width, form->height, coder->codec->pix_fmt, &coder->pixels, err);
  if (status == BE_OK) status = be_av_frame_create(coder->codec, &coder->frame, err);
  if (status != BE_OK) return status;
  coder->packet = av_packet_alloc();
  if (!coder->packet) return be_fail(err, BE_NO_MEMORY, "no memory for the film");
  return hand_over_head(coder, err);
}

static enum be_status take_coded(struct be_coder *coder, struct be_err *err)
{
  for (;;) {
    AVPacket *packet = coder->packet;
    int code = avcodec_receive_packet(coder->codec, packet);
    if (code == AVERROR(EAGAIN) || code == AVERROR_EOF) return BE_OK;
    if (code < 0) return be_av_failed(err, BE_FAILED, code, NULL, "a frame cannot be coded");
    size_t side_size = 0;
    const uint8_t *side =
        av_packet_get_side_data(packet, AV_PKT_DATA_MATROSKA_BLOCKADDITIONAL, &side_size);
    const struct be_av_piece piece = {.size = (uint32_t)packet->size,
                                      .side = side ? (uint32_t)side_size : 0,
                                      .pts = packet->pts,
                                      .dts = packet->dts,
                                      .flags = (uint32_t)packet->flags,
                                      .kind = BE_PIECE_FRAME};
    enum be_status status = hand_over(coder, &piece, packet->data, side, err);
    av_packet_unref(packet);
    if (status != BE_OK) return status;
  }
}

static enum be_status code_bands(struct be_coder *coder, const unsigned char *pixels, size_t stride,
                                 struct be_err *err)
{
  const struct be_buf *frame = NULL;
  enum be_status status = be_av_bands_code(coder->bands, pixels, stride, &frame, err);
  if (status != BE_OK) return status;
  const struct be_av_piece piece = {.size = (uint32_t)frame->size,
                                    .pts = coder->frames,
                                    .dts = coder->frames,
                                    .flags = AV_PKT_FLAG_KEY,
                                    .kind = BE_PIECE_FRAME};
  coder->frames++;
  return hand_over(coder, &piece, frame->data, NULL, err);
}

enum be_status be_av_code_frame(struct be_coder *coder, const unsigned char *pixels, size_t stride,
                                struct be_err *err)
{
  if (coder->bands) return code_bands(coder, pixels, stride, err);
  int code = av_frame_make_writable(coder->frame);
  if (code < 0) return be_av_failed(err, BE_FAILED, code, NULL, "a frame cannot be coded");
  be_av_pixels_into(coder->pixels, pixels, stride, coder->frame);
  coder->frame->pts = coder->frames++;
  code = avcodec_send_frame(coder->codec, coder->frame);
  if (code < 0) return be_av_failed(err, BE_FAILED, code, NULL, "a frame cannot be coded");
  return take_coded(coder, err);
}

enum be_status be_av_code_end(struct be_coder *coder, struct be_err *err)
{
  if (coder->bands) return BE_OK;
  int code = avcodec_send_frame(coder->codec, NULL);
  if (code < 0) return be_av_failed(err, BE_FAILED, code, NULL, "the film cannot be ended");
  return take_coded(coder, err);
}

void be_av_code_drop(struct be_coder *coder)
{
  if (!coder) return;
  av_packet_free(&coder->packet);
  av_frame_free(&coder->frame);
  be_av_bands_free(coder->bands);
  be_av_pixels_free(coder->pixels);
  avcodec_free_context(&coder->codec);
  be_free(coder);
}
