/* SPDX-License-Identifier: GPL-3.0-or-later */
/* ProRes (SMPTE RDD 36:2015): every frame stands on its own, and in it every slice, of which a band
 * of 16 rows has some. A frame of an overlay is mostly like the one before it: only the bands that
 * are not are coded, each as a picture 16 rows high, and what their slices hold is put together:
 *
 *   size, "icpf", frame header | picture header | sizes of the slices | slices, from top to bottom
 *
 * The bytes of a band depend on its own pixels alone. */
#include "film/av/inside.h"

#include <string.h>

enum {
  BAND = 16,
  BANDS_MAX = (BE_FILM_SIDE_MAX + BAND - 1) / BAND,
  HEIGHT_AT = 18, /* of the picture, in the frame header */
  PICTURE_HEAD = 8,
  BYTES_MAX = 1 << 28
};

struct be_av_bands {
  AVCodecContext *codec;
  AVFrame *frame;
  AVPacket *packet;
  struct be_av_pixels *pixels;
  int height, count;
  size_t header; /* of the frame, with its size and name */
  struct be_buf head, out;
  struct band {
    struct be_buf bytes; /* sizes of its slices, then these */
    size_t slices;
  } bands[BANDS_MAX];
};

static size_t read_number(const unsigned char *at, int bytes)
{
  size_t value = 0;
  for (int i = 0; i < bytes; i++) value = value << 8 | at[i];
  return value;
}

static void write_number(char *at, size_t value, int bytes)
{
  for (int i = bytes - 1; i >= 0; i--, value >>= 8) at[i] = (char)(value & 255);
}

enum be_status be_av_bands_create(const struct be_film_form *form, struct be_av_bands **out,
                                  struct be_err *err)
{
  struct be_film_form form_of_band = *form;
  struct be_av_bands *bands = be_alloc_array(1, sizeof *bands);
  *out = bands;
  if (!bands) return be_fail(err, BE_NO_MEMORY, "no memory for the film");
  memset(bands, 0, sizeof *bands);
  bands->height = form->height;
  bands->count = (form->height + BAND - 1) / BAND;
  be_buf_init(&bands->head, BYTES_MAX);
  be_buf_init(&bands->out, BYTES_MAX);
  for (int i = 0; i < bands->count; i++) be_buf_init(&bands->bands[i].bytes, BYTES_MAX);
  form_of_band.height = BAND;
  enum be_status status = be_av_coder_open(&form_of_band, &bands->codec, err);
  if (status == BE_OK)
    status =
        be_av_pixels_create(form->width, form->height, bands->codec->pix_fmt, &bands->pixels, err);
  if (status == BE_OK) status = be_av_frame_create(bands->codec, &bands->frame, err);
  bands->packet = av_packet_alloc();
  if (status == BE_OK && !bands->packet)
    status = be_fail(err, BE_NO_MEMORY, "no memory for the film");
  return status;
}

/* What a packet of one band holds. */
static bool take_apart(struct be_av_bands *bands, struct band *band)
{
  const unsigned char *bytes = bands->packet->data;
  size_t size = (size_t)bands->packet->size;
  if (size < HEIGHT_AT + 2 || memcmp(bytes + 4, "icpf", 4) != 0 ||
      read_number(bytes + HEIGHT_AT, 2) != BAND)
    return false;
  size_t header = 8 + read_number(bytes + 8, 2);
  if (header + PICTURE_HEAD > size || bytes[header] >> 3 != PICTURE_HEAD) return false;
  size_t sizes = header + PICTURE_HEAD, past = header + read_number(bytes + header + 1, 4);
  band->slices = read_number(bytes + header + 5, 2);
  if (past > size || sizes + 2 * band->slices > past) return false;
  bands->header = header;
  bands->head.size = band->bytes.size = 0;
  be_buf_add(&bands->head, bytes, sizes);
  be_buf_add(&band->bytes, bytes + sizes, past - sizes);
  return true;
}

static enum be_status code_band(struct be_av_bands *bands, int i, const unsigned char *pixels,
                                size_t stride, struct be_err *err)
{
  int code = av_frame_make_writable(bands->frame);
  if (code >= 0) be_av_pixels_band(bands->pixels, pixels, stride, i * BAND, bands->frame);
  if (code >= 0) code = avcodec_send_frame(bands->codec, bands->frame);
  if (code >= 0) code = avcodec_receive_packet(bands->codec, bands->packet);
  if (code >= 0 && !take_apart(bands, &bands->bands[i])) code = AVERROR_BUG;
  bands->frame->pts++;
  av_packet_unref(bands->packet);
  return code < 0 ? be_av_failed(err, BE_FAILED, code, NULL, "a frame cannot be coded") : BE_OK;
}

static enum be_status put_together(struct be_av_bands *bands, struct be_err *err)
{
  struct be_buf *out = &bands->out;
  size_t slices = 0, header = bands->header;
  out->size = 0;
  be_buf_add(out, bands->head.data, bands->head.size);
  for (int i = 0; i < bands->count; i++) {
    be_buf_add(out, bands->bands[i].bytes.data, 2 * bands->bands[i].slices);
    slices += bands->bands[i].slices;
  }
  for (int i = 0; i < bands->count; i++) {
    const struct band *band = &bands->bands[i];
    be_buf_add(out, band->bytes.data + 2 * band->slices, band->bytes.size - 2 * band->slices);
    if (band->bytes.status != BE_OK) return be_buf_status(&band->bytes, err);
  }
  enum be_status status = be_buf_status(out, err);
  if (status != BE_OK) return status;
  write_number(out->data, out->size, 4);
  write_number(out->data + HEIGHT_AT, (size_t)bands->height, 2);
  write_number(out->data + header + 1, out->size - header, 4);
  /* More than 16 bits hold is not told: it follows from the size. */
  write_number(out->data + header + 5, slices > UINT16_MAX ? 0 : slices, 2);
  return BE_OK;
}

enum be_status be_av_bands_code(struct be_av_bands *bands, const unsigned char *pixels,
                                size_t stride, const struct be_buf **frame, struct be_err *err)
{
  enum be_status status = BE_OK;
  for (int i = 0; i < bands->count && status == BE_OK; i++) {
    int first = i * BAND, past = first + BAND < bands->height ? first + BAND : bands->height;
    if (be_av_pixels_changed(bands->pixels, pixels, stride, first, past))
      status = code_band(bands, i, pixels, stride, err);
  }
  be_av_pixels_done(bands->pixels);
  if (status == BE_OK) status = put_together(bands, err);
  *frame = &bands->out;
  return status;
}

void be_av_bands_free(struct be_av_bands *bands)
{
  if (!bands) return;
  av_packet_free(&bands->packet);
  av_frame_free(&bands->frame);
  be_av_pixels_free(bands->pixels);
  avcodec_free_context(&bands->codec);
  for (int i = 0; i < bands->count; i++) be_buf_free(&bands->bands[i].bytes);
  be_buf_free(&bands->head);
  be_buf_free(&bands->out);
  be_free(bands);
}
