/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How surely the snap is found in made sound, by kind of noise, without and with the trace, at even
 * odds beforehand and at the 19 to 1 of footage of a pull that broke; how often one is found where
 * there is none; how far the stated probabilities can be believed; and how long a track of two
 * minutes takes. Every figure can be made again: the seeds are fixed.
 *   bench_snap [TRACKS [SECONDS [FIRST]]]        measures, TRACKS of each kind of seeds from FIRST
 * on bench_snap hear FILE FIRST TRACKS [plain]    writes what is to be fitted, of other seeds
 *   bench_snap fit FILE... [all] [rounds N] [without KIND]...   prints src/trace/snap/weights.c */
#include "snap/fit.h"

#include <stdio.h>

static const double near_s = 1.0 / 30, odds[] = {1, 19};

/* ---- hearing many ---- */

enum { SAME = 10, MEASURED = SHED_KINDS_COUNT + SHED_USUAL + SAME };

struct heard {
  bool snaps, hinted, likely;   /* likely: 19 to 1 beforehand */
  bool found, likeliest, right; /* right: within a frame, or rightly none */
  double away_s, stated;        /* stated: the probability of what was said */
};

enum { OF_ONE = 8 }; /* without a snap and with, without the trace and with, at both odds */

struct job {
  size_t tracks; /* of each kind */
  uint64_t seed; /* of the first */
  double seconds;
  struct heard *heard; /* by kind and track, OF_ONE each */
};

static void say(const struct shed *shed, bool hinted, struct heard *heard)
{
  struct onset onsets[ONSETS_MAX], weighed[ONSETS_MAX];
  size_t count;
  if (be_snap_hear(shed->sound, shed->n, shed->rate_Hz, hinted ? &shed->hint : NULL, onsets, &count,
                   NULL) != BE_OK)
    abort();
  for (int k = 0; k < 2; k++, heard++) {
    struct be_snaps snaps;
    memcpy(weighed, onsets, count * sizeof onsets[0]);
    for (size_t i = 0; i < count; i++) weighed[i].log_weight += log(odds[k]);
    be_onsets_decide(weighed, count, &snaps);
    *heard = (struct heard){.snaps = !isnan(shed->snap_s), .hinted = hinted, .likely = k};
    heard->found = snaps.found;
    heard->stated = snaps.found ? snaps.snap[0].probability : snaps.none;
    heard->away_s = heard->snaps && snaps.count ? snaps.snap[0].at_s - shed->snap_s : NAN;
    heard->likeliest = heard->snaps && fabs(heard->away_s) < near_s;
    heard->right = heard->snaps ? snaps.found && heard->likeliest : !snaps.found;
  }
}

/* The kinds of the shed, then the usual ones through another recorder, then plain tracks. */
static void hear(void *context, size_t at)
{
  static const double rates_Hz[SAME] = {8000,  11025, 16000, 22050, 32000,
                                        44100, 48000, 48000, 88200, 96000};
  struct job *job = context;
  size_t kind = at / job->tracks;
  uint64_t seed = job->seed + at % job->tracks;
  for (int snaps = 0; snaps < 2; snaps++) {
    struct shed shed;
    if (kind < SHED_KINDS_COUNT)
      shed_make(&shed, (enum shed_kind)kind, snaps, job->seconds, 48000, seed);
    else if (kind < SHED_KINDS_COUNT + SHED_USUAL) {
      kind -= SHED_KINDS_COUNT;
      shed_make(&shed, (enum shed_kind)kind, snaps, job->seconds, rates_Hz[seed % SAME],
                777 + seed);
      kind += SHED_KINDS_COUNT;
      recorded(&shed);
    } else {
      size_t row = kind - SHED_KINDS_COUNT - SHED_USUAL;
      plain_make(&shed, snaps, job->seconds, rates_Hz[row], seed * SAME + row);
      recorded_level(&shed);
    }
    for (int hinted = 0; hinted < 2; hinted++)
      say(&shed, hinted, &job->heard[OF_ONE * at + 4 * (size_t)snaps + 2 * (size_t)hinted]);
    be_free(shed.sound);
  }
}

static void print_found(const struct job *job, size_t from, size_t to, const char *name)
{
  printf("%-51s", name);
  for (int at = 0; at < OF_ONE; at++) {
    bool snaps = at < 4, likely = at % 4 / 2, hinted = at % 2;
    size_t right = 0, all = 0, likeliest = 0;
    for (size_t i = OF_ONE * from * job->tracks; i < OF_ONE * to * job->tracks; i++) {
      const struct heard *heard = &job->heard[i];
      if (heard->snaps != snaps || heard->hinted != hinted || heard->likely != likely) continue;
      right += heard->right;
      likeliest += heard->likeliest;
      all++;
    }
    printf("%s%4zu", at == 4 ? "  | " : "", right);
    if (snaps && likely) printf(" (%zu)", likeliest);
    if (at == OF_ONE - 1) printf(" of %zu", all);
  }
  printf("\n");
}

static int rising(const void *a, const void *b)
{
  double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

static void print_belief(const struct job *job, size_t kinds)
{
  static const double edges[] = {0, 0.5, 0.7, 0.9, 0.97, 0.99, 1.01};
  size_t count = OF_ONE * kinds * job->tracks, n = 0;
  double *away = be_alloc_array(count, sizeof *away);
  if (!away) abort();
  for (int k = 0; k < 6; k++) {
    size_t right = 0, all = 0;
    double stated = 0;
    for (size_t at = 0; at < count; at++) {
      const struct heard *heard = &job->heard[at];
      if (heard->stated < edges[k] || heard->stated >= edges[k + 1]) continue;
      right += heard->right;
      stated += heard->stated;
      all++;
    }
    if (all)
      printf("snap: stated %.2f on the mean: right in %.3f of %zu\n", stated / (double)all,
             (double)right / (double)all, all);
  }
  for (size_t at = 0; at < count; at++)
    if (job->heard[at].snaps && job->heard[at].right)
      away[n++] = 1000 * fabs(job->heard[at].away_s);
  qsort(away, n, sizeof *away, rising);
  if (n)
    printf("snap: onset off by %.2f ms (median), %.2f (99 of 100), %.2f (most) where right\n",
           away[n / 2], away[n * 99 / 100], away[n - 1]);
  be_free(away);
}

static void speed(void)
{
  enum { ROUNDS = 9 };
  double took[ROUNDS];
  struct shed shed;
  struct be_snaps snaps;
  shed_make(&shed, SHED_ALL, true, 120, 48000, 3);
  for (int i = 0; i < ROUNDS; i++) {
    double start = be_clock_s();
    if (be_snap_find(shed.sound, shed.n, shed.rate_Hz, &shed.hint, &snaps, NULL) != BE_OK) abort();
    took[i] = be_clock_s() - start;
  }
  qsort(took, ROUNDS, sizeof took[0], rising);
  printf("snap: two minutes of 48,000 samples a second: %.0f ms (%.0f to %.0f, %d runs)\n",
         1000 * took[ROUNDS / 2], 1000 * took[0], 1000 * took[ROUNDS - 1], ROUNDS);
  be_free(shed.sound);
}

static int fit_files(int count, char **words)
{
  static struct tracks tracks;
  bool all = false, left_out[TRACK_KINDS] = {false};
  size_t rounds = 40;
  for (int i = 0; i < count; i++) {
    if (strcmp(words[i], "all") == 0) all = true;
    else if (strcmp(words[i], "without") == 0 && i + 1 < count)
      left_out[strtoul(words[++i], NULL, 10) % TRACK_KINDS] = true;
    else if (strcmp(words[i], "rounds") == 0 && i + 1 < count)
      rounds = strtoul(words[++i], NULL, 10);
    else if (!tracks_read(words[i], &tracks)) {
      fprintf(stderr, "%s: no looks of this kind\n", words[i]);
      return 1;
    }
  }
  fprintf(stderr, "%zu tracks\n", tracks.count);
  fit(&tracks, all, left_out, rounds);
  return 0;
}

static int measure(size_t tracks, double seconds, uint64_t first)
{
  struct job job = {.tracks = tracks, .seconds = seconds, .seed = first};
  job.heard = be_alloc_array(OF_ONE * MEASURED * tracks, sizeof *job.heard);
  if (!job.heard) return 1;
  speed();
  be_parallel(MEASURED * tracks, 0, hear, &job);
  printf("%-51s found at even odds alone, with trace; at 19 to 1 (likeliest) | none, the same\n",
         "snap:");
  for (size_t kind = 0; kind < SHED_KINDS_COUNT; kind++)
    print_found(&job, kind, kind + 1, shed_names[kind]);
  print_found(&job, 0, SHED_USUAL, "all but the hard");
  size_t again = SHED_KINDS_COUNT + SHED_USUAL;
  print_found(&job, SHED_KINDS_COUNT, again, "the same, other recorders, 8 to 96 kHz");
  print_found(&job, again, MEASURED, "plain, 8 to 96 kHz");
  print_belief(&job, MEASURED);
  be_free(job.heard);
  return 0;
}

int main(int count, char **words)
{
  if (count > 2 && strcmp(words[1], "fit") == 0) return fit_files(count - 2, words + 2);
  if (count > 4 && strcmp(words[1], "hear") == 0) {
    tracks_hear(words[2], strtoul(words[3], NULL, 10), strtoul(words[4], NULL, 10),
                count > 5 ? PLAIN : 0);
    return 0;
  }
  size_t tracks = count > 1 ? strtoul(words[1], NULL, 10) : 10;
  double seconds = count > 2 ? strtod(words[2], NULL) : 120;
  if (tracks == 0 || !(seconds >= 4)) {
    fprintf(stderr, "usage: bench_snap [TRACKS [SECONDS [FIRST]]]\n");
    return 1;
  }
  return measure(tracks, seconds, count > 3 ? strtoul(words[3], NULL, 10) : 1);
}
