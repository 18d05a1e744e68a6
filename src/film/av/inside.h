/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the files of the module share. */
#ifndef BE_FILM_AV_INSIDE_H
#define BE_FILM_AV_INSIDE_H

#include "film/film.h"

#include <libavcodec/avcodec.h>
#include <libavformat/avformat.h>

/* The codes of the libraries in our words: `what` failed, on `path` (may be null). */
enum be_status be_av_failed(struct be_err *err, enum be_status otherwise, int code,
                            const char *path, const char *what);

/* Opens a file and a decoder of its best stream of a kind. BE_NO without such a stream. */
struct be_av_source {
  AVFormatContext *file;
  AVCodecContext *decoder;
  AVStream *stream;
  AVPacket *packet;
  AVFrame *frame;
  bool ended; /* nothing more comes from the file */
};
enum be_status be_av_open(const char *path, enum AVMediaType kind, struct be_av_source *source,
                          struct be_err *err);
/* The next packet of the stream (of any that is not discarded), in source->packet; false at the
 * end.
 */
bool be_av_packet(struct be_av_source *source);
/* The next decoded frame, in source->frame: 1; 0 at the end; what cannot be decoded is passed
 * over. */
int be_av_next(struct be_av_source *source);
void be_av_close(struct be_av_source *source);
/* When a file starts for who plays it, in AV_TIME_BASE: its first frame, or without any its sound.
 */
int64_t be_av_start(const AVFormatContext *file);

/* Cairo's pixels made into those of a coder, into the same frame again and again: what is like in
 * the picture before is left as it stands there. */
struct be_av_pixels;
enum be_status be_av_pixels_create(int width, int height, enum AVPixelFormat made,
                                   struct be_av_pixels **pixels, struct be_err *err);
void be_av_pixels_into(struct be_av_pixels *pixels, const unsigned char *from, size_t stride,
                       AVFrame *to);
void be_av_pixels_free(struct be_av_pixels *pixels); /* null is fine */
/* By bands, of ten bits: whether any of these rows is another than before (and it is kept); the
 * rows from `first` on into a frame, the last again where there are no more; all were looked at. */
bool be_av_pixels_changed(struct be_av_pixels *pixels, const unsigned char *from, size_t stride,
                          int first, int past);
void be_av_pixels_band(struct be_av_pixels *pixels, const unsigned char *from, size_t stride,
                       int first, AVFrame *to);
void be_av_pixels_done(struct be_av_pixels *pixels);

/* ProRes coded by bands of rows. The frame that is given lasts until the next call. */
struct be_av_bands;
enum be_status be_av_bands_create(const struct be_film_form *form, struct be_av_bands **bands,
                                  struct be_err *err);
enum be_status be_av_bands_code(struct be_av_bands *bands, const unsigned char *pixels,
                                size_t stride, const struct be_buf **frame, struct be_err *err);
void be_av_bands_free(struct be_av_bands *bands); /* null is fine; also after create failed */

/* What a segment holds. Each piece has a head; of the first the bytes are the coder's extra data.
 */
struct be_av_piece {
  uint32_t size, side; /* bytes, then side bytes of what stands beside a frame */
  int64_t pts, dts;    /* in frames of the segment */
  uint32_t flags, kind;
};
enum { BE_PIECE_HEAD = 1, BE_PIECE_FRAME };

/* Video of one kind: which coder and file. */
struct be_av_kind {
  const char *coder, *container;
  enum AVPixelFormat pixels;
  const char *settings; /* "key=value:..." */
  int64_t bit_rate;
};
const struct be_av_kind *be_av_kind_of(enum be_film_kind kind);
/* A coder of that form, opened. */
enum be_status be_av_coder_open(const struct be_film_form *form, AVCodecContext **coder,
                                struct be_err *err);
/* An empty frame for it. */
enum be_status be_av_frame_create(const AVCodecContext *coder, AVFrame **frame, struct be_err *err);

/* The sound of `over` into `out`: as it is where the container takes it, else coded as AAC. */
struct be_av_carry;
enum be_status be_av_carry_create(const char *path, AVFormatContext *out,
                                  struct be_av_carry **carry, struct be_err *err);
/* All that is heard before the moment, in seconds. */
enum be_status be_av_carry_until(struct be_av_carry *carry, double until_s, struct be_err *err);
void be_av_carry_free(struct be_av_carry *carry);

/* Frames of high dynamic range (ITU-R BT.2100) made into those of BT.709. Null, and range too, for
 * what is of the usual one. Free with be_free. */
struct be_av_tones;
enum be_status be_av_tones_create(enum AVColorTransferCharacteristic as, struct be_av_tones **tones,
                                  const char **range, struct be_err *err);
void be_av_tones_apply(const struct be_av_tones *tones, unsigned char *pixels, size_t stride,
                       int width, int height);

const char *be_av_footage_path(const struct be_footage *footage);
const struct be_footage_about *be_av_footage_about(const struct be_footage *footage);

/* The functions of the table, as film.h has them. */
enum be_status be_av_code_begin(const struct be_film_form *form, be_film_take *take, void *context,
                                struct be_coder **coder, struct be_err *err);
enum be_status be_av_code_frame(struct be_coder *coder, const unsigned char *pixels, size_t stride,
                                struct be_err *err);
enum be_status be_av_code_end(struct be_coder *coder, struct be_err *err);
void be_av_code_drop(struct be_coder *coder);
enum be_status be_av_join_begin(const char *path, const struct be_film_form *form,
                                struct be_footage *over, const char *note,
                                struct be_joiner **joiner, struct be_err *err);
enum be_status be_av_join_segment(struct be_joiner *joiner, const char *bytes, size_t size,
                                  struct be_err *err);
enum be_status be_av_join_end(struct be_joiner *joiner, struct be_err *err);
void be_av_join_drop(struct be_joiner *joiner);
void be_av_comment(const char *path, char *text, size_t size);
enum be_status be_av_sound_read(const char *path, double rate_Hz, double most_s,
                                struct be_sound *sound, struct be_err *err);
void be_av_sound_free(struct be_sound *sound);
enum be_status be_av_footage_open(const char *path, struct be_footage **footage,
                                  const struct be_footage_about **about, struct be_err *err);
enum be_status be_av_footage_seek(struct be_footage *footage, size_t at, struct be_err *err);
enum be_status be_av_footage_next(struct be_footage *footage, unsigned char *pixels, size_t stride,
                                  bool *whole, struct be_err *err);
void be_av_footage_close(struct be_footage *footage);

#endif
