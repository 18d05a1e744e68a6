/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "snap/tracks.h"

#include <pthread.h>
#include <stdio.h>

struct writing {
  FILE *file;
  uint64_t first;
  size_t from_kind;
  pthread_mutex_t lock;
};

static const double rates_Hz[] = {48000, 48000, 44100, 44100, 32000,
                                  22050, 16000, 11025, 8000,  96000};

/* A good half of the shed's tracks as they are, the others at all rates and through a recorder. */
static void make(struct shed *shed, int kind, uint64_t seed, struct track *track)
{
  struct be_random random;
  be_random_init(&random, seed, 5000 + (uint64_t)kind);
  bool snaps = be_random_unit(&random) < 0.62;
  bool as_is = be_random_unit(&random) < 0.55 && kind < PLAIN;
  double seconds = 7 + 7 * be_random_unit(&random);
  if (be_random_unit(&random) < 0.08) seconds *= 4;
  double rate_Hz = as_is ? 48000 : rates_Hz[be_random_below(&random, 10)];
  if (kind < PLAIN) shed_make(shed, (enum shed_kind)kind, snaps, seconds, rate_Hz, seed);
  else plain_make(shed, snaps, seconds, rate_Hz, seed * PLAINS + (uint64_t)(kind - PLAIN));
  if (!as_is && be_random_unit(&random) < 0.7) recorded(shed);
  for (size_t i = 0; i < shed->n; i++)
    shed->sound[i] = fminf(fmaxf(rintf(shed->sound[i] * 32768), -32768), 32767) / 32768;
  *track = (struct track){.kind = kind, .again = !as_is, .snaps = snaps, .seed = (int32_t)seed};
}

static void hear(void *context, size_t at)
{
  struct writing *writing = context;
  struct shed shed;
  struct track track;
  struct onset *onsets = be_alloc_array(ONSETS_MAX, sizeof *onsets);
  size_t count;
  size_t kinds = TRACK_KINDS - writing->from_kind;
  make(&shed, (int)(writing->from_kind + at % kinds), writing->first + at / kinds, &track);
  if (!onsets ||
      be_snap_hear(shed.sound, shed.n, shed.rate_Hz, &shed.hint, onsets, &count, NULL) != BE_OK)
    abort();
  track.count = (int32_t)count;
  pthread_mutex_lock(&writing->lock);
  fwrite(&track, 5 * sizeof track.kind, 1, writing->file);
  for (size_t i = 0; i < count; i++) {
    float row[1 + LOOKS_COUNT] = {shed.snap_s >= 0 ? (float)(onsets[i].at_s - shed.snap_s) : 9};
    for (size_t l = 0; l < LOOKS_COUNT; l++) row[1 + l] = (float)onsets[i].look[l];
    fwrite(row, sizeof row, 1, writing->file);
  }
  pthread_mutex_unlock(&writing->lock);
  be_free(onsets);
  be_free(shed.sound);
}

void tracks_hear(const char *path, uint64_t first, size_t count, size_t from_kind)
{
  struct writing writing = {.file = fopen(path, "wb"), .first = first, .from_kind = from_kind};
  int32_t looks = LOOKS_COUNT;
  if (!writing.file) abort();
  pthread_mutex_init(&writing.lock, NULL);
  fwrite(&looks, sizeof looks, 1, writing.file);
  be_parallel((TRACK_KINDS - writing.from_kind) * count, 0, hear, &writing);
  pthread_mutex_destroy(&writing.lock);
  if (fclose(writing.file)) abort();
}

bool tracks_read(const char *path, struct tracks *tracks)
{
  FILE *file = fopen(path, "rb");
  int32_t looks = 0;
  struct track track = {0};
  if (!file || fread(&looks, sizeof looks, 1, file) != 1 || looks != LOOKS_COUNT) return false;
  while (fread(&track, 5 * sizeof track.kind, 1, file) == 1) {
    size_t count = track.count > 0 && track.count <= ONSETS_MAX ? (size_t)track.count : 0;
    track.away_s = be_alloc_array(count + 1, sizeof(float));
    track.looks = be_alloc_array((count + 1) * LOOKS_PADDED, sizeof(float));
    if (tracks->count == TRACKS_MAX || !track.away_s || !track.looks) abort();
    memset(track.looks, 0, (count + 1) * LOOKS_PADDED * sizeof(float));
    for (size_t i = 0; i < count; i++)
      if (fread(&track.away_s[i], sizeof(float), 1, file) != 1 ||
          fread(&track.looks[i * LOOKS_PADDED], sizeof(float), LOOKS_COUNT, file) != LOOKS_COUNT)
        abort();
    tracks->track[tracks->count++] = track;
  }
  fclose(file);
  return true;
}
