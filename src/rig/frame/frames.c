/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "rig/frame/inside.h"

#include <math.h>
#include <string.h>

static const struct {
  const char *word, *meaning;
} flag_words[] = {
#define X(name, word, meaning) {word, meaning},
    BE_SAMPLE_FLAGS(X)
#undef X
};

const char *be_sample_flag_word(enum be_sample_bit bit)
{
  return flag_words[bit].word;
}

const char *be_sample_flag_meaning(enum be_sample_bit bit)
{
  return flag_words[bit].meaning;
}

/* ---- life ---- */

static enum be_status compile_patterns(struct be_frames *frames, struct be_err *err)
{
  const struct be_setting_text *told = &frames->options.pattern;
  const char *const *known = frames->way->patterns;
  while (frames->patterns_count < PATTERNS_MAX && known[frames->patterns_count])
    frames->patterns_count++;
  bool own = frames->way->byte == be_text_byte && frames->patterns_count == 0;
  if (own) frames->patterns_count = 1;
  if (frames->patterns_count == 0) return BE_OK;
  frames->patterns = be_alloc_array(frames->patterns_count, sizeof *frames->patterns);
  if (!frames->patterns) return be_fail(err, BE_NO_MEMORY, "no memory for a pattern of frames");
  if (own) return be_pattern_compile(told->bytes, told->size, &frames->patterns[0], err);
  enum be_status status = BE_OK;
  for (size_t i = 0; i < frames->patterns_count && status == BE_OK; i++)
    status = be_pattern_compile(known[i], strlen(known[i]), &frames->patterns[i], err);
  return status;
}

static enum be_status set_up(struct be_frames *frames, const struct be_frame_kind *row,
                             const char *settings, struct be_err *err)
{
  struct frame_options *options = &frames->options;
  const struct frame_way *way = frames->way;
  *options = (struct frame_options){
      .field = 1, .every_s = 0.1, .timeout_s = 1, .device = 1, .function = 3};
  if (way->ask) memcpy(options->ask.bytes, way->ask, options->ask.size = strlen(way->ask));
  enum be_status status =
      be_settings_read(settings, way->settings, way->settings_count, options, row->help, err);
  if (status != BE_OK) return status;
  if (options->unit.size) {
    frames->told = be_unit_find(options->unit.bytes, options->unit.size);
    if (!frames->told) {
      be_fail(err, BE_WRONG_USE, "\"%s\" is no unit", options->unit.bytes);
      be_fail_remedy(err, "write unit=N, unit=kg, unit=lb or another unit of force");
      return BE_WRONG_USE;
    }
  }
  frames->held = be_alloc(way->held_max);
  if (!frames->held) return be_fail(err, BE_NO_MEMORY, "no memory for a frame");
  return compile_patterns(frames, err);
}

enum be_status be_frames_create(const char *kind, const char *settings, struct be_frames **out,
                                struct be_err *err)
{
  const struct be_frame_kind *row = NULL;
  const struct frame_way *way = be_frame_way_find(kind, &row);
  *out = NULL;
  if (!way) {
    be_fail(err, BE_WRONG_USE, "\"%s\" is no kind of frames", kind);
    be_fail_remedy(err, "kinds are number, header, pattern and others: docs/formats.md lists them");
    return BE_WRONG_USE;
  }
  struct be_frames *frames = be_alloc_array(1, sizeof *frames);
  if (!frames) return be_fail(err, BE_NO_MEMORY, "no memory to read frames");
  frames->way = way;
  frames->last_count = NAN;
  enum be_status status = set_up(frames, row, settings, err);
  if (status == BE_OK) *out = frames;
  else be_frames_free(frames);
  return status;
}

void be_frames_free(struct be_frames *frames)
{
  if (!frames) return;
  be_free(frames->patterns);
  be_free(frames->held);
  be_free(frames);
}

void be_frames_restart(struct be_frames *frames, bool whole)
{
  bool half = frames->held_size > 0 || frames->passing;
  frames->counts.halves += half;
  be_frames_garbage(frames, frames->held_size);
  if (frames->counts.samples) frames->pending |= BE_SAMPLE_AFTER_GAP;
  frames->framed = frames->after_check = frames->passing = false;
  frames->block_left = 0;
  frames->after_cut = !whole;
  frames->last_count = NAN;
}

void be_frames_mark(struct be_frames *frames, unsigned flags)
{
  frames->pending |= flags;
}

struct be_frame_counts be_frames_counted(const struct be_frames *frames)
{
  return frames->counts;
}

size_t be_frames_request(struct be_frames *frames, char *bytes)
{
  return frames->way->request(frames, bytes);
}

double be_frames_every_s(const struct be_frames *frames)
{
  return frames->options.every_s;
}

double be_frames_timeout_s(const struct be_frames *frames)
{
  return frames->options.timeout_s;
}

size_t be_ask_request(struct be_frames *frames, char *bytes)
{
  const struct be_setting_text *ask = &frames->options.ask;
  memcpy(bytes, ask->bytes, ask->size);
  return ask->size;
}

/* ---- bytes ---- */

void be_frames_feed(struct be_frames *frames, const char *bytes, size_t size, int64_t host_ns,
                    be_sample_give *give, void *context)
{
  frames->host_ns = host_ns;
  frames->give = give;
  frames->context = context;
  for (size_t i = 0; i < size; i++) {
    frames->counts.bytes++;
    frames->way->byte(frames, bytes[i]);
  }
}

bool be_frames_hold(struct be_frames *frames, char byte)
{
  if (frames->held_size == frames->way->held_max) {
    frames->counts.too_long++;
    be_frames_garbage(frames, frames->held_size);
    frames->passing = true;
    return false;
  }
  if (frames->held_size == 0) frames->held_at = frames->counts.bytes - 1;
  frames->held[frames->held_size++] = byte;
  return true;
}

void be_frames_drop(struct be_frames *frames, size_t size)
{
  frames->held_size -= size;
  frames->held_at += size;
  if (size) memmove(frames->held, frames->held + size, frames->held_size);
}

void be_frames_garbage(struct be_frames *frames, size_t size)
{
  if (size == 0) return;
  frames->counts.garbage += size;
  frames->pending |= BE_SAMPLE_AFTER_GARBAGE;
  be_frames_drop(frames, size);
}

/* ---- samples ---- */

struct frame_said be_frame_said_of(double value)
{
  unsigned said = isnan(value)    ? BE_SAMPLE_NO_VALUE
                  : !isinf(value) ? 0
                  : value > 0     ? BE_SAMPLE_OVER
                                  : BE_SAMPLE_UNDER;
  return (struct frame_said){
      .value = said ? NAN : value, .time_s = NAN, .count = NAN, .flags = said};
}

/* The instrument's own count tells what never came. */
static void look_at_count(struct be_frames *frames, double count)
{
  double step = count - frames->last_count;
  if (step > 1) frames->counts.missing += (uint64_t)step - 1;
  if (step > 1 || step < 1) frames->pending |= BE_SAMPLE_AFTER_LOSS;
  frames->last_count = count;
}

void be_frames_say(struct be_frames *frames, const struct frame_said *said, size_t size)
{
  if (!isnan(said->count)) look_at_count(frames, said->count);
  if (said->unit && frames->last_unit && said->unit != frames->last_unit)
    frames->pending |= BE_SAMPLE_UNIT_CHANGED;
  if (said->unit) frames->last_unit = said->unit;
  struct be_rig_sample sample = {
      .sequence = frames->counts.samples++,
      .rig_time_s = said->time_s,
      .host_ns = frames->host_ns,
      .value = said->value,
      .unit = frames->last_unit ? frames->last_unit : frames->told,
      .force_N = NAN,
      .flags = said->flags | frames->pending,
      .offset = frames->held_at,
      .length = (uint32_t)size,
  };
  /* "Past the range" is more than a row of nines. */
  if (sample.flags & (BE_SAMPLE_OVER | BE_SAMPLE_UNDER)) sample.flags &= ~(unsigned)BE_SAMPLE_NINES;
  bool usable = !(sample.flags & BE_SAMPLE_UNUSABLE);
  if (usable && sample.unit && sample.unit->dimension == BE_FORCE)
    sample.force_N = sample.value * sample.unit->factor;
  frames->pending = 0;
  frames->give(frames->context, &sample);
}
