/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Files that the libraries read, and what they say when they cannot. */
#include "film/av/inside.h"

#include <libavutil/log.h>
#include <string.h>

enum be_status be_av_failed(struct be_err *err, enum be_status otherwise, int code,
                            const char *path, const char *what)
{
  char words[AV_ERROR_MAX_STRING_SIZE] = "";
  enum be_status status = code == AVERROR(ENOMEM) ? BE_NO_MEMORY : otherwise;
  av_strerror(code, words, sizeof words);
  be_fail(err, status, "%s: %s", what, words);
  if (path) be_fail_at(err, path, 0, 0);
  if (code == AVERROR(ENOSPC)) be_fail_remedy(err, "make room on the disk, then run it again");
  return status;
}

int64_t be_av_start(const AVFormatContext *file)
{
  int64_t start = AV_NOPTS_VALUE;
  int best =
      av_find_best_stream((AVFormatContext *)(uintptr_t)file, AVMEDIA_TYPE_VIDEO, -1, -1, NULL, 0);
  if (best >= 0 && !(file->streams[best]->disposition & AV_DISPOSITION_ATTACHED_PIC)) {
    const AVStream *stream = file->streams[best];
    if (stream->start_time != AV_NOPTS_VALUE)
      start = av_rescale_q(stream->start_time, stream->time_base, AV_TIME_BASE_Q);
  }
  if (start != AV_NOPTS_VALUE) return start;
  /* Sound alone: what a coder put before its start is never heard. */
  return file->start_time == AV_NOPTS_VALUE || file->start_time < 0 ? 0 : file->start_time;
}

static enum be_status open_decoder(const char *path, struct be_av_source *source,
                                   struct be_err *err)
{
  const AVCodec *codec = avcodec_find_decoder(source->stream->codecpar->codec_id);
  if (!codec) {
    be_fail(err, BE_BAD_INPUT, "there is no decoder for its %s",
            avcodec_get_name(source->stream->codecpar->codec_id));
    return be_fail_at(err, path, 0, 0), BE_BAD_INPUT;
  }
  source->decoder = avcodec_alloc_context3(codec);
  source->packet = av_packet_alloc();
  source->frame = av_frame_alloc();
  if (!source->decoder || !source->packet || !source->frame)
    return be_fail(err, BE_NO_MEMORY, "no memory to read the film");
  int code = avcodec_parameters_to_context(source->decoder, source->stream->codecpar);
  source->decoder->pkt_timebase = source->stream->time_base;
  if (code >= 0) code = avcodec_open2(source->decoder, codec, NULL);
  return code < 0 ? be_av_failed(err, BE_BAD_INPUT, code, path, "it cannot be decoded") : BE_OK;
}

/* MPEG-4 and QuickTime files have an index, at the end where they were not made for the web: parts
 * with a size and a name each (ISO/IEC 14496-12, 4.2). Whether there are pictures and no index. */
static bool lacks_index(const char *path)
{
  enum { HEAD = 16, PARTS_MAX = 64 };
  AVIOContext *io = NULL;
  bool pictures = false, index = false;
  if (avio_open(&io, path, AVIO_FLAG_READ) < 0) return false;
  int64_t at = 0, whole = avio_size(io);
  for (int i = 0; i < PARTS_MAX && at >= 0 && at + 8 <= whole; i++) {
    if (avio_seek(io, at, SEEK_SET) < 0) break;
    uint64_t size = avio_rb32(io);
    uint32_t name = avio_rb32(io);
    if (size == 1) size = avio_rb64(io);
    pictures |= name == MKBETAG('m', 'd', 'a', 't');
    index |= name == MKBETAG('m', 'o', 'o', 'v');
    if (size == 0 || size > (uint64_t)whole) break;
    at += size < 8 ? 8 : (int64_t)size;
  }
  avio_closep(&io);
  return pictures && !index;
}

static enum be_status cannot_open(const char *path, int code, struct be_err *err)
{
  AVIOContext *io = NULL;
  int64_t size = avio_open(&io, path, AVIO_FLAG_READ) < 0 ? -1 : avio_size(io);
  avio_closep(&io);
  enum be_status status = BE_BAD_INPUT;
  if (size == 0) be_fail(err, status, "the file is empty: nothing was recorded into it");
  else if (size > 0 && lacks_index(path))
    be_fail(err, status,
            "the file is cut off: the index that tells where its frames are is missing, so that "
            "none of its %.1f MB can be read",
            (double)size / 1e6);
  else status = be_av_failed(err, status, code, path, "this cannot be read as film or sound");
  be_fail_at(err, path, 0, 0);
  be_fail_remedy(err, size >= 0
                          ? "copy it again from the camera, or give a clip that a player shows"
                          : "look whether the name is right");
  return status;
}

enum be_status be_av_open(const char *path, enum AVMediaType kind, struct be_av_source *source,
                          struct be_err *err)
{
  *source = (struct be_av_source){0};
  int code = avformat_open_input(&source->file, path, NULL, NULL);
  if (code >= 0) code = avformat_find_stream_info(source->file, NULL);
  if (code < 0) {
    be_av_close(source);
    return cannot_open(path, code, err);
  }
  int best = av_find_best_stream(source->file, kind, -1, -1, NULL, 0);
  enum be_status status = BE_NO;
  if (best >= 0 && !(source->file->streams[best]->disposition & AV_DISPOSITION_ATTACHED_PIC)) {
    source->stream = source->file->streams[best];
    for (unsigned i = 0; i < source->file->nb_streams; i++)
      if ((int)i != best) source->file->streams[i]->discard = AVDISCARD_ALL;
    status = open_decoder(path, source, err);
  } else {
    be_fail(err, BE_NO, "the file has no %s", kind == AVMEDIA_TYPE_AUDIO ? "sound" : "frames");
    be_fail_at(err, path, 0, 0);
  }
  if (status != BE_OK) be_av_close(source);
  return status;
}

/* Over what is damaged it reads on, as long as anything comes. */
bool be_av_packet(struct be_av_source *source)
{
  enum { TRIES = 64 };
  for (int i = 0; i < TRIES; i++) {
    int code = av_read_frame(source->file, source->packet);
    if (code >= 0) return true;
    if (code == AVERROR_EOF) return false;
  }
  return false;
}

int be_av_next(struct be_av_source *source)
{
  for (;;) {
    int code = avcodec_receive_frame(source->decoder, source->frame);
    if (code >= 0) return 1;
    if (code == AVERROR_EOF || source->ended) return 0;
    do {
      av_packet_unref(source->packet);
      source->ended = !be_av_packet(source);
    } while (!source->ended && source->packet->stream_index != source->stream->index);
    avcodec_send_packet(source->decoder, source->ended ? NULL : source->packet);
    av_packet_unref(source->packet);
  }
}

void be_av_close(struct be_av_source *source)
{
  av_frame_free(&source->frame);
  av_packet_free(&source->packet);
  avcodec_free_context(&source->decoder);
  avformat_close_input(&source->file);
}
