/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How surely the snap is found in made sound, by kind of noise, without and with the trace; how
 * often one is found where there is none; how far the stated probabilities can be believed; and how
 * long a track of two minutes takes. `bench_snap fit` prints the weights of src/trace/snap/weigh.c,
 * fitted on tracks of other seeds. Every figure can be made again: the seeds are fixed. */
#include "trace/snap/inside.h"

#include "../tests/snap_maker.h"

#include <gsl/gsl_multimin.h>
#include <stdio.h>

static const double near_s = 1.0 / 30;

/* ---- fitting ---- */

struct track {
  struct onset onsets[ONSETS_MAX];
  size_t count, right; /* right: count when there is no snap */
};

struct fit {
  struct track *tracks; /* count, then kept_out */
  size_t count, kept_out;
};

/* Minus the log likelihood, with a little ridge that keeps weights of no use small. */
static void likelihood(const gsl_vector *w, void *context, double *value, gsl_vector *slope)
{
  const struct fit *fit = context;
  double sum = 0;
  if (slope) gsl_vector_set_zero(slope);
  for (size_t l = 0; l < LOOKS_COUNT; l++) {
    double x = gsl_vector_get(w, l);
    sum += 0.005 * x * x;
    if (slope) gsl_vector_set(slope, l, 0.01 * x);
  }
  for (size_t t = 0; t < fit->count; t++) {
    const struct track *track = &fit->tracks[t];
    double weight[ONSETS_MAX], top = 0, all;
    for (size_t i = 0; i < track->count; i++) {
      weight[i] = 0;
      for (size_t l = 0; l < LOOKS_COUNT; l++)
        weight[i] += gsl_vector_get(w, l) * track->onsets[i].look[l];
      top = fmax(top, weight[i]);
    }
    all = exp(-top);
    for (size_t i = 0; i < track->count; i++) all += exp(weight[i] - top);
    sum += log(all) + top - (track->right < track->count ? weight[track->right] : 0);
    for (size_t i = 0; slope && i < track->count; i++)
      for (size_t l = 0; l < LOOKS_COUNT; l++)
        *gsl_vector_ptr(slope, l) +=
            (exp(weight[i] - top) / all - (i == track->right)) * track->onsets[i].look[l];
  }
  if (value) *value = sum;
}

static double likelihood_f(const gsl_vector *w, void *context)
{
  double value;
  likelihood(w, context, &value, NULL);
  return value;
}

static void likelihood_df(const gsl_vector *w, void *context, gsl_vector *slope)
{
  likelihood(w, context, NULL, slope);
}

static void likelihood_fdf(const gsl_vector *w, void *context, double *value, gsl_vector *slope)
{
  likelihood(w, context, value, slope);
}

/* Tracks behind those that were fitted. */
static void print_kept_out(const struct fit *fit, const gsl_vector *w)
{
  size_t right[2] = {0}, all[2] = {0}, best_right = 0;
  for (size_t t = fit->count; t < fit->count + fit->kept_out; t++) {
    const struct track *track = &fit->tracks[t];
    double weight[ONSETS_MAX], top = -1e9, sum = 1;
    size_t best = 0;
    for (size_t i = 0; i < track->count; i++) {
      weight[i] = 0;
      for (size_t l = 0; l < LOOKS_COUNT; l++)
        weight[i] += gsl_vector_get(w, l) * track->onsets[i].look[l];
      sum += exp(weight[i]);
      if (weight[i] > top) top = weight[best = i];
    }
    bool snaps = track->right<track->count, found = exp(top)> 0.5 * sum;
    all[snaps]++;
    right[snaps] += snaps ? found && best == track->right : !found;
    best_right += snaps && best == track->right;
  }
  printf("kept out: found %zu of %zu (likeliest %zu), none said of %zu of %zu\n", right[1], all[1],
         best_right, right[0], all[0]);
}

static void print_fit(struct fit *fit)
{
  static const char *const names[] = {
#define X(name) #name,
      LOOKS(X)
#undef X
  };
  gsl_multimin_function_fdf problem = {likelihood_f, likelihood_df, likelihood_fdf, LOOKS_COUNT,
                                       fit};
  gsl_vector *start = gsl_vector_calloc(LOOKS_COUNT);
  gsl_multimin_fdfminimizer *way =
      gsl_multimin_fdfminimizer_alloc(gsl_multimin_fdfminimizer_vector_bfgs2, LOOKS_COUNT);
  gsl_multimin_fdfminimizer_set(way, &problem, start, 0.1, 0.1);
  for (int i = 0; i < 2000; i++)
    if (gsl_multimin_fdfminimizer_iterate(way)) break;
  printf("%zu tracks, log likelihood %.1f\n", fit->count, -way->f);
  print_kept_out(fit, way->x);
  for (size_t l = 0; l < LOOKS_COUNT; l++)
    printf("    [%s] = %.3f,\n", names[l], gsl_vector_get(way->x, l));
  gsl_multimin_fdfminimizer_free(way);
  gsl_vector_free(start);
}

/* ---- hearing many ---- */

struct heard {
  bool snaps, hinted, found, likeliest, right; /* right: within a frame, or rightly none */
  double away_s, stated;                       /* stated: the probability of what was said */
  bool among;                                  /* the snap is among the onsets looked at */
};

struct job {
  size_t tracks; /* of each kind */
  uint64_t seed; /* of the first */
  double seconds;
  struct heard *heard; /* kind, track: without a snap and with, without the trace and with */
  struct track *kept;  /* for fitting; or null */
};

static void say(const struct shed *shed, bool hinted, struct heard *heard, struct track *kept)
{
  struct track *track = kept ? kept : be_alloc(sizeof *track);
  struct be_snaps snaps;
  if (!track || be_snap_hear(shed->sound, shed->n, shed->rate_Hz, hinted ? &shed->hint : NULL,
                             track->onsets, &track->count, NULL) != BE_OK)
    abort();
  be_onsets_decide(track->onsets, track->count, &snaps);
  *heard = (struct heard){.snaps = !isnan(shed->snap_s), .hinted = hinted, .found = snaps.found};
  heard->stated = snaps.found ? snaps.snap[0].probability : snaps.none;
  heard->away_s = heard->snaps && snaps.count ? snaps.snap[0].at_s - shed->snap_s : NAN;
  heard->likeliest = heard->snaps && fabs(heard->away_s) < near_s;
  heard->right = heard->snaps ? snaps.found && fabs(heard->away_s) < near_s : !snaps.found;
  track->right = track->count;
  for (size_t i = 0; heard->snaps && i < track->count; i++) {
    bool near = fabs(track->onsets[i].at_s - shed->snap_s) < near_s / 2;
    bool louder =
        track->right == track->count || track->onsets[i].high > track->onsets[track->right].high;
    if (near && louder) track->right = i;
  }
  heard->among = heard->snaps && track->right < track->count;
  if (!kept) be_free(track);
}

static void hear(void *context, size_t at)
{
  struct job *job = context;
  enum shed_kind kind = (enum shed_kind)(at / job->tracks);
  for (int snaps = 0; snaps < 2; snaps++) {
    struct shed shed;
    shed_make(&shed, kind, snaps, job->seconds, 48000, job->seed + at % job->tracks);
    for (int hinted = 0; hinted < 2; hinted++) {
      size_t place = 4 * at + 2 * (size_t)snaps + (size_t)hinted;
      say(&shed, hinted, &job->heard[place], job->kept ? &job->kept[place] : NULL);
    }
    be_free(shed.sound);
  }
}

static void print_found(const struct job *job, size_t from, size_t to, const char *name)
{
  printf("%-52s", name);
  for (int snaps = 1; snaps >= 0; snaps--)
    for (int hinted = 0; hinted < 2; hinted++) {
      size_t right = 0, all = 0, likeliest = 0;
      for (size_t at = 4 * from * job->tracks; at < 4 * to * job->tracks; at++) {
        const struct heard *heard = &job->heard[at];
        if (heard->snaps != (snaps == 1) || heard->hinted != (hinted == 1)) continue;
        right += heard->right;
        likeliest += heard->likeliest;
        all++;
      }
      printf(" %4zu/%zu", right, all);
      if (snaps) printf(" (%zu)", likeliest);
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
  size_t count = 4 * kinds * job->tracks, n = 0;
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

/* Every fourth track goes behind the others, and is not fitted. */
static void mix(struct fit *fit)
{
  for (size_t at = 0; at < fit->count; at += 3, fit->kept_out++) {
    struct track last = fit->tracks[--fit->count];
    fit->tracks[fit->count] = fit->tracks[at];
    fit->tracks[at] = last;
  }
}

/* bench_snap [fit] [TRACKS [SECONDS]] */
int main(int count, char **words)
{
  bool fits = count > 1 && strcmp(words[1], "fit") == 0;
  int first = fits ? 2 : 1;
  struct job job = {.seed = fits ? 100000 : 1, .seconds = fits ? 30 : 120};
  job.tracks = count > first ? strtoul(words[first], NULL, 10) : 0;
  if (count > first + 1) job.seconds = strtod(words[first + 1], NULL);
  if (job.tracks == 0) job.tracks = fits ? 150 : 10;
  size_t all = 4 * SHED_KINDS_COUNT * job.tracks;
  job.heard = be_alloc_array(all, sizeof *job.heard);
  job.kept = fits ? be_alloc_array(all, sizeof *job.kept) : NULL;
  if (!job.heard || (fits && !job.kept)) return 1;
  if (!fits) speed();
  be_parallel(SHED_KINDS_COUNT * job.tracks, 0, hear, &job);
  printf("%-52s found, with trace; none, with trace\n", "snap:");
  for (size_t kind = 0; kind < SHED_KINDS_COUNT; kind++)
    print_found(&job, kind, kind + 1, shed_names[kind]);
  print_found(&job, 0, SHED_USUAL, "all but the hard");
  print_belief(&job, SHED_KINDS_COUNT);
  if (fits) {
    struct fit fit = {job.kept, 0, 0};
    for (size_t at = 0; at < all; at++) { /* a snap among no onset teaches nothing */
      if (job.heard[at].snaps && !job.heard[at].among) continue;
      struct track *to = &job.kept[fit.count++];
      if (to != &job.kept[at]) *to = job.kept[at];
    }
    mix(&fit);
    print_fit(&fit);
  }
  be_free(job.kept);
  be_free(job.heard);
  return 0;
}
