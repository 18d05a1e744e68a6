/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Segments become a file. Every frame has its own length, also the last, which players would
 * otherwise cut; nothing in the file tells when or where it was made. */
#include "film/av/inside.h"

#include <libavutil/dict.h>
#include <libavutil/avstring.h>
#include <libavutil/mathematics.h>
#include <math.h>
#include <string.h>

struct be_joiner {
  char path[4096];
  struct be_film_form form;
  const struct be_footage_about *over; /* null: frames of one length */
  AVFormatContext *file;
  AVStream *stream;
  AVPacket *packet;
  struct be_av_carry *carry;
  AVRational unit; /* of the times that are put in */
  int64_t frames;  /* so far */
  bool begun, opened;
};

static enum be_status add_stream(struct be_joiner *joiner, const char *note, struct be_err *err)
{
  AVCodecContext *coder = NULL;
  enum be_status status = be_av_coder_open(&joiner->form, &coder, err);
  if (status != BE_OK) return status;
  AVStream *stream = joiner->stream = avformat_new_stream(joiner->file, NULL);
  int code = stream ? avcodec_parameters_from_context(stream->codecpar, coder) : AVERROR(ENOMEM);
  if (code >= 0) {
    stream->time_base = joiner->unit;
    stream->avg_frame_rate = stream->r_frame_rate = coder->framerate;
    stream->sample_aspect_ratio = coder->sample_aspect_ratio;
    if (joiner->form.kind == BE_FILM_VP9)
      code = av_dict_set(&stream->metadata, "alpha_mode", "1", 0);
  }
  if (code >= 0) code = av_dict_set(&joiner->file->metadata, "comment", note, 0);
  avcodec_free_context(&coder);
  return code < 0 ? be_av_failed(err, BE_FAILED, code, joiner->path, "the film cannot be begun")
                  : BE_OK;
}

/* A file of ours with the ending ".mov" holds any sound. */
static const char *container_of(const struct be_joiner *joiner)
{
  size_t length = strlen(joiner->path);
  bool mov = joiner->form.kind == BE_FILM_H264 && length > 4 &&
             be_text_same(joiner->path + length - 4, ".mov");
  return mov ? "mov" : be_av_kind_of(joiner->form.kind)->container;
}

static enum be_status begin_file(struct be_joiner *joiner, struct be_err *err)
{
  AVDictionary *settings = NULL;
  joiner->file->flags |= AVFMT_FLAG_BITEXACT;
  int code = avio_open(&joiner->file->pb, joiner->path, AVIO_FLAG_WRITE);
  joiner->opened = code >= 0;
  if (code >= 0) code = av_dict_set(&settings, "movflags", "+faststart", 0);
  if (code >= 0) code = avformat_write_header(joiner->file, &settings);
  av_dict_free(&settings);
  joiner->begun = code >= 0;
  return code < 0 ? be_av_failed(err, BE_FAILED, code, joiner->path, "the film cannot be begun")
                  : BE_OK;
}

enum be_status be_av_join_begin(const char *path, const struct be_film_form *form,
                                struct be_footage *over, const char *note, struct be_joiner **out,
                                struct be_err *err)
{
  struct be_joiner *joiner = be_alloc_array(1, sizeof *joiner);
  *out = joiner;
  if (!joiner) return be_fail(err, BE_NO_MEMORY, "no memory for the film");
  *joiner = (struct be_joiner){.form = *form, .over = over ? be_av_footage_about(over) : NULL};
  if (strlen(path) >= sizeof joiner->path)
    return be_fail(err, BE_WRONG_USE, "the file name is too long");
  strcpy(joiner->path, path);
  struct be_fraction unit = {form->rate.den, form->rate.num};
  if (joiner->over) unit = joiner->over->unit;
  joiner->unit = (AVRational){(int)unit.num, (int)unit.den};
  joiner->packet = av_packet_alloc();
  int code = avformat_alloc_output_context2(&joiner->file, NULL, container_of(joiner), path);
  if (code < 0 || !joiner->packet)
    return be_av_failed(err, BE_FAILED, code, path, "the film cannot be begun");
  enum be_status status = add_stream(joiner, note, err);
  if (status == BE_OK && joiner->over && joiner->over->sounds)
    status = be_av_carry_create(be_av_footage_path(over), joiner->file, &joiner->carry, err);
  return status == BE_OK ? begin_file(joiner, err) : status;
}

static int64_t time_of(const struct be_joiner *joiner, int64_t frame)
{
  if (!joiner->over) return frame;
  size_t last = joiner->over->frames;
  return joiner->over->time[(size_t)frame < last ? (size_t)frame : last];
}

static enum be_status put_frame(struct be_joiner *joiner, const struct be_av_piece *piece,
                                const char *bytes, struct be_err *err)
{
  AVPacket *packet = joiner->packet;
  int code = av_new_packet(packet, (int)piece->size);
  if (code >= 0) memcpy(packet->data, bytes, piece->size);
  if (code >= 0 && piece->side) {
    uint8_t *side =
        av_packet_new_side_data(packet, AV_PKT_DATA_MATROSKA_BLOCKADDITIONAL, piece->side);
    if (side) memcpy(side, bytes + piece->size, piece->side);
    else code = AVERROR(ENOMEM);
  }
  if (code >= 0) {
    packet->pts = packet->dts = time_of(joiner, joiner->frames);
    packet->duration = time_of(joiner, joiner->frames + 1) - packet->pts;
    packet->flags = (int)piece->flags;
    packet->stream_index = joiner->stream->index;
    joiner->frames++;
    double until_s = (double)packet->pts * av_q2d(joiner->unit);
    enum be_status status = joiner->carry ? be_av_carry_until(joiner->carry, until_s, err) : BE_OK;
    if (status != BE_OK) return status;
    av_packet_rescale_ts(packet, joiner->unit, joiner->stream->time_base);
    code = av_interleaved_write_frame(joiner->file, packet);
  }
  av_packet_unref(packet);
  return code < 0 ? be_av_failed(err, BE_FAILED, code, joiner->path, "the film cannot be written")
                  : BE_OK;
}

enum be_status be_av_join_segment(struct be_joiner *joiner, const char *bytes, size_t size,
                                  struct be_err *err)
{
  enum be_status status = BE_OK;
  const AVCodecParameters *as = joiner->stream->codecpar;
  while (status == BE_OK && size >= sizeof(struct be_av_piece)) {
    struct be_av_piece piece;
    memcpy(&piece, bytes, sizeof piece);
    bytes += sizeof piece;
    size -= sizeof piece;
    size_t holds = (size_t)piece.size + piece.side;
    if (holds > size) break;
    if (piece.kind == BE_PIECE_FRAME) status = put_frame(joiner, &piece, bytes, err);
    else if ((int)piece.size != as->extradata_size ||
             (piece.size && memcmp(bytes, as->extradata, piece.size) != 0))
      return be_fail(err, BE_BAD_INPUT, "a segment of the film was coded in another way");
    bytes += holds;
    size -= holds;
  }
  if (status == BE_OK && size) status = be_fail(err, BE_BAD_INPUT, "a segment of the film is cut");
  return status;
}

enum be_status be_av_join_end(struct be_joiner *joiner, struct be_err *err)
{
  enum be_status status = BE_OK;
  if ((size_t)joiner->frames != joiner->form.frames)
    return be_fail(err, BE_BAD_INPUT, "the segments of the film hold %lld frames instead of %zu",
                   (long long)joiner->frames, joiner->form.frames);
  if (joiner->carry) status = be_av_carry_until(joiner->carry, INFINITY, err);
  int code = status == BE_OK ? av_write_trailer(joiner->file) : 0;
  joiner->begun = false;
  if (code >= 0 && joiner->file->pb->error < 0) code = joiner->file->pb->error;
  int closed = avio_closep(&joiner->file->pb);
  joiner->opened = false;
  if (code >= 0) code = closed;
  if (status == BE_OK && code < 0)
    status = be_av_failed(err, BE_FAILED, code, joiner->path, "the film cannot be written");
  return status;
}

void be_av_join_drop(struct be_joiner *joiner)
{
  if (!joiner) return;
  be_av_carry_free(joiner->carry);
  if (joiner->opened) avio_closep(&joiner->file->pb);
  avformat_free_context(joiner->file);
  av_packet_free(&joiner->packet);
  be_free(joiner);
}

void be_av_comment(const char *path, char *text, size_t size)
{
  AVFormatContext *file = NULL;
  text[0] = '\0';
  if (avformat_open_input(&file, path, NULL, NULL) < 0) return;
  const AVDictionaryEntry *entry = av_dict_get(file->metadata, "comment", NULL, 0);
  const AVDictionaryEntry *writer = av_dict_get(file->metadata, "encoder", NULL, 0);
  /* Who changes a film puts a name of its own into it; we put none. */
  bool ours = !writer || strcmp(writer->value, "Lavf") == 0;
  if (entry && ours) av_strlcpy(text, entry->value, size);
  avformat_close_input(&file);
}
