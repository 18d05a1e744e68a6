/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The sound of a file as one channel. Each decoded piece is put where its own time says, so that
 * what is missing in the file is silence, and nothing is moved. */
#include "film/av/inside.h"

#include <libavutil/channel_layout.h>
#include <libswresample/swresample.h>
#include <math.h>
#include <string.h>

enum { MORE = 1 << 16, SAMPLES_MAX = 192000 * 3600 };

struct reading {
  struct be_av_source source;
  SwrContext *resample;
  struct be_sound *sound;
  size_t capacity, most;
  double rate_Hz, most_s;
  bool started;
};

/* No more samples than the file has: above half of its rate there is nothing to be heard. */
static void set_rate(struct reading *reading, int of_file)
{
  const double least_Hz = 8000;
  if (of_file > 0 && of_file < reading->rate_Hz) reading->rate_Hz = fmax(of_file, least_Hz);
  reading->sound->rate_Hz = reading->rate_Hz;
  double most = reading->most_s * reading->rate_Hz;
  reading->most = most < SAMPLES_MAX ? (size_t)ceil(most) : SAMPLES_MAX;
}

static enum be_status set_up(struct reading *reading, struct be_err *err)
{
  AVChannelLayout one = AV_CHANNEL_LAYOUT_MONO;
  const AVFrame *frame = reading->source.frame;
  AVChannelLayout layout = {0};
  if (frame->ch_layout.order == AV_CHANNEL_ORDER_UNSPEC)
    av_channel_layout_default(&layout, frame->ch_layout.nb_channels);
  else av_channel_layout_copy(&layout, &frame->ch_layout);
  int code =
      swr_alloc_set_opts2(&reading->resample, &one, AV_SAMPLE_FMT_FLT, (int)reading->rate_Hz,
                          &layout, (enum AVSampleFormat)frame->format, frame->sample_rate, 0, NULL);
  if (code >= 0) code = swr_init(reading->resample);
  av_channel_layout_uninit(&layout);
  return code < 0 ? be_av_failed(err, BE_BAD_INPUT, code, NULL, "its sound cannot be converted")
                  : BE_OK;
}

static enum be_status room_for(struct reading *reading, size_t more, struct be_err *err)
{
  void *block = reading->sound->samples;
  enum be_status status =
      be_grow(&block, &reading->capacity, sizeof(float), reading->sound->count + more,
              reading->most + 4 * (size_t)MORE, err);
  reading->sound->samples = block;
  return status;
}

/* Silence up to where the frame belongs; at the very start its time is the start of all. */
static enum be_status place(struct reading *reading, struct be_err *err)
{
  const AVFrame *frame = reading->source.frame;
  struct be_sound *sound = reading->sound;
  int64_t first = be_av_start(reading->source.file);
  if (frame->best_effort_timestamp == AV_NOPTS_VALUE) return BE_OK;
  double at_s = (double)frame->best_effort_timestamp * av_q2d(reading->source.stream->time_base) -
                (double)first / AV_TIME_BASE;
  if (!reading->started) sound->start_s = at_s;
  reading->started = true;
  double due = (at_s - sound->start_s) * reading->rate_Hz -
               (double)swr_get_delay(reading->resample, (int64_t)reading->rate_Hz);
  /* Times of files are rounded: only what is clearly missing is filled in. */
  double missing = due - (double)sound->count;
  if (!(missing > reading->rate_Hz * 0.02)) return BE_OK;
  size_t silent = missing < (double)(reading->most - sound->count) ? (size_t)missing
                                                                   : reading->most - sound->count;
  enum be_status status = room_for(reading, silent, err);
  if (status != BE_OK) return status;
  memset(sound->samples + sound->count, 0, silent * sizeof(float));
  sound->count += silent;
  return BE_OK;
}

static enum be_status add(struct reading *reading, const AVFrame *frame, struct be_err *err)
{
  struct be_sound *sound = reading->sound;
  int count = swr_get_out_samples(reading->resample, frame ? frame->nb_samples : 0);
  if (count <= 0) return BE_OK;
  enum be_status status = room_for(reading, (size_t)count, err);
  if (status != BE_OK) return status;
  uint8_t *to = (uint8_t *)(sound->samples + sound->count);
  int made = swr_convert(reading->resample, &to, count,
                         frame ? (const uint8_t **)(uintptr_t)frame->extended_data : NULL,
                         frame ? frame->nb_samples : 0);
  if (made < 0) return be_av_failed(err, BE_BAD_INPUT, made, NULL, "its sound cannot be converted");
  sound->count += (size_t)made;
  return BE_OK;
}

static enum be_status read_all(struct reading *reading, struct be_err *err)
{
  enum be_status status = BE_OK;
  while (status == BE_OK && reading->sound->count < reading->most &&
         be_av_next(&reading->source) == 1) {
    if (!reading->resample) status = set_up(reading, err);
    if (status == BE_OK) status = place(reading, err);
    if (status == BE_OK) status = add(reading, reading->source.frame, err);
  }
  if (status == BE_OK && reading->resample) status = add(reading, NULL, err);
  if (status == BE_OK && !reading->sound->count)
    status = be_fail(err, BE_BAD_INPUT, "nothing of its sound can be decoded");
  if (reading->sound->count > reading->most) reading->sound->count = reading->most;
  return status;
}

enum be_status be_av_sound_read(const char *path, double rate_Hz, double most_s,
                                struct be_sound *sound, struct be_err *err)
{
  *sound = (struct be_sound){.rate_Hz = rate_Hz};
  struct reading reading = {.sound = sound, .rate_Hz = rate_Hz, .most_s = most_s};
  enum be_status status = be_av_open(path, AVMEDIA_TYPE_AUDIO, &reading.source, err);
  if (status != BE_OK) return status;
  set_rate(&reading, reading.source.decoder->sample_rate);
  status = read_all(&reading, err);
  if (status != BE_OK) {
    be_fail_at(err, path, 0, 0);
    be_av_sound_free(sound);
  }
  swr_free(&reading.resample);
  be_av_close(&reading.source);
  return status;
}

void be_av_sound_free(struct be_sound *sound)
{
  be_free(sound->samples);
  *sound = (struct be_sound){0};
}
