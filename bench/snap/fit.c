/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Most likelihood by steps of Adam (Kingma and Ba 2015) over batches of tracks, with the decay of
 * weights kept apart from them (Loshchilov and Hutter 2019) and a rate that falls as half a cosine.
 * A snap counts as found by any onset within half a frame of film of it. */
#include "snap/fit.h"

#include <stdio.h>

enum { PARAMETERS = sizeof(struct net) / sizeof(float), BATCH = 24 };
static const double near_s = 1.0 / 60, frame_s = 1.0 / 30;

struct learner {
  const struct tracks *tracks;
  const size_t *order; /* of track and, in the lowest bit, whether without the trace */
  size_t count, epochs, number;
  double offset; /* log odds of a snap among the tracks */
  struct net net;
};

static float mean[LOOKS_PADDED], spread[LOOKS_PADDED];

/* The looks on a scale of their own deviation. */
static void scale(struct tracks *tracks)
{
  double sum[LOOKS_COUNT] = {0}, squares[LOOKS_COUNT] = {0}, n = 0;
  for (int pass = 0; pass < 2; pass++) {
    for (size_t t = 0; t < tracks->count; t++)
      for (int i = 0; i < tracks->track[t].count; i++) {
        float *look = &tracks->track[t].looks[i * LOOKS_PADDED];
        n += pass == 0;
        for (size_t l = 0; l < LOOKS_COUNT; l++) {
          if (pass) look[l] = (look[l] - mean[l]) / spread[l];
          sum[l] += (double)look[l];
          squares[l] += (double)look[l] * (double)look[l];
        }
      }
    for (size_t l = 0; l < LOOKS_COUNT && pass == 0; l++) {
      mean[l] = (float)(sum[l] / n);
      spread[l] = (float)sqrt(fmax(squares[l] / n - sum[l] / n * (sum[l] / n), 0));
      if (spread[l] < 1e-6f) spread[l] = 1;
    }
  }
}

static float dot(const float *a, const float *b)
{
  float part[8] = {0};
  for (size_t l = 0; l < LOOKS_PADDED; l += 8)
    for (size_t k = 0; k < 8; k++) part[k] += a[l + k] * b[l + k];
  return ((part[0] + part[1]) + (part[2] + part[3])) + ((part[4] + part[5]) + (part[6] + part[7]));
}

static double weigh(const struct net *net, const float *look, float out[NET_UNITS])
{
  float sum = net->constant + dot(net->direct, look);
  for (size_t u = 0; u < NET_UNITS; u++) {
    out[u] = tanhf(net->bias[u] + dot(net->unit[u], look));
    sum += net->counts[u] * out[u];
  }
  return (double)sum;
}

static void learn(const struct net *net, const float *look, const float out[NET_UNITS], float slope,
                  struct net *slopes)
{
  for (size_t u = 0; u < NET_UNITS; u++) {
    float in = slope * net->counts[u] * (1 - out[u] * out[u]);
    slopes->counts[u] += slope * out[u];
    slopes->bias[u] += in;
    for (size_t l = 0; l < LOOKS_PADDED; l++) slopes->unit[u][l] += in * look[l];
  }
  for (size_t l = 0; l < LOOKS_PADDED; l++) slopes->direct[l] += slope * look[l];
  slopes->constant += slope;
}

/* The looks of an onset, those of the trace at nothing where it is not told. */
static void look_at(const struct track *track, int i, bool alone, float look[LOOKS_PADDED])
{
  memcpy(look, &track->looks[i * LOOKS_PADDED], LOOKS_PADDED * sizeof *look);
  for (size_t l = LOOKS_COUNT - HINTED; alone && l < LOOKS_COUNT; l++)
    look[l] = -mean[l] / spread[l];
}

static bool is_near(const struct track *track, int i)
{
  return track->snaps && fabs((double)track->away_s[i]) < near_s;
}

/* Minus the log likelihood. */
static double track_learn(const struct learner *learner, const struct track *track, bool alone,
                          struct net *slopes)
{
  static _Thread_local float look[ONSETS_MAX][LOOKS_PADDED], out[ONSETS_MAX][NET_UNITS];
  double weight[ONSETS_MAX], top = 0, sum, near = 0;
  for (int i = 0; i < track->count; i++) {
    look_at(track, i, alone, look[i]);
    weight[i] = learner->offset + weigh(&learner->net, look[i], out[i]);
    top = fmax(top, weight[i]);
  }
  sum = exp(-top);
  if (!track->snaps) near = sum;
  for (int i = 0; i < track->count; i++) {
    sum += exp(weight[i] - top);
    if (is_near(track, i)) near += exp(weight[i] - top);
  }
  for (int i = 0; slopes && i < track->count; i++) {
    double part = exp(weight[i] - top);
    double slope = part / sum - (is_near(track, i) ? part / near : 0);
    if (fabs(slope) > 1e-6) learn(&learner->net, look[i], out[i], (float)(slope / BATCH), slopes);
  }
  return log(sum) - log(near + 1e-12 * sum);
}

static void begin(struct net *net, struct be_random *random)
{
  *net = (struct net){.constant = -4};
  for (size_t u = 0; u < NET_UNITS; u++) {
    net->counts[u] = (float)(be_random_normal(random) / sqrt(NET_UNITS));
    for (size_t l = 0; l < LOOKS_COUNT; l++)
      net->unit[u][l] = (float)(0.7 * be_random_normal(random) / sqrt(LOOKS_COUNT));
  }
}

static void step(struct net *net, const struct net *slopes, float *first, float *second, size_t n,
                 size_t all)
{
  static const double decay = 0.1, one = 0.9, two = 0.999;
  static const double pi = 3.14159265358979323846;
  const float *slope = (const float *)slopes;
  float *value = (float *)net;
  double cosine = 0.5 + 0.5 * cos(pi * (double)n / (double)all);
  double rate = 0.004 * fmin(1, (double)n / 300) * (0.02 + 0.98 * cosine);
  float c1 = (float)(1 - pow(one, (double)n)), c2 = (float)(1 - pow(two, (double)n));
  for (size_t i = 0; i < PARAMETERS; i++) {
    first[i] = (float)one * first[i] + (float)(1 - one) * slope[i];
    second[i] = (float)two * second[i] + (float)(1 - two) * slope[i] * slope[i];
    float way = first[i] / c1 / (sqrtf(second[i] / c2) + 1e-7f);
    bool decays = i != PARAMETERS - 1 && (value + i < net->bias || value + i >= net->counts);
    value[i] -= (float)rate * (way + (decays ? (float)decay * value[i] : 0));
  }
}

static void learn_all(void *context, size_t number)
{
  struct learner *learner = (struct learner *)context + number;
  static _Thread_local float first[PARAMETERS], second[PARAMETERS];
  static _Thread_local struct net slopes;
  struct be_random random;
  size_t *order = be_alloc_array(learner->count, sizeof *order), n = 0;
  if (!order) abort();
  memcpy(order, learner->order, learner->count * sizeof *order);
  memset(first, 0, sizeof first);
  memset(second, 0, sizeof second);
  be_random_init(&random, 20260101, number);
  begin(&learner->net, &random);
  for (size_t epoch = 0; epoch < learner->epochs; epoch++) {
    double loss = 0;
    for (size_t i = learner->count - 1; i > 0; i--) {
      size_t k = (size_t)be_random_below(&random, i + 1), held = order[i];
      order[i] = order[k];
      order[k] = held;
    }
    for (size_t i = 0; i + BATCH <= learner->count; i += BATCH) {
      memset(&slopes, 0, sizeof slopes);
      for (size_t k = i; k < i + BATCH; k++)
        loss += track_learn(learner, &learner->tracks->track[order[k] / 2], order[k] & 1, &slopes);
      step(&learner->net, &slopes, first, second, ++n, learner->epochs * (learner->count / BATCH));
    }
    if (epoch % 10 == 9)
      fprintf(stderr, "net %zu, round %zu: %.4f a track\n", number, epoch + 1,
              loss / (double)learner->count);
  }
  be_free(order);
}

/* ---- how it does on what it was not fitted to ---- */

struct told {
  double best, none; /* probabilities, at even odds */
  bool right;
};

static struct told tell(const struct learner *learners, const struct track *track, bool alone)
{
  double weight[ONSETS_MAX], sum = 1, group = 0;
  float look[LOOKS_PADDED], out[NET_UNITS];
  int best = -1;
  for (int i = 0; i < track->count; i++) {
    weight[i] = 0;
    look_at(track, i, alone, look);
    for (int k = 0; k < NETS; k++) weight[i] += weigh(&learners[k].net, look, out) / NETS;
    sum += exp(weight[i]);
    if (best < 0 || weight[i] > weight[best]) best = i;
  }
  if (best < 0) return (struct told){0, 1, false};
  for (int i = 0; i < track->count; i++)
    if (i == best || fabs((double)(track->away_s[i] - track->away_s[best])) < near_s)
      group += exp(weight[i]);
  if (!track->snaps) group = exp(weight[best]);
  return (struct told){group / sum, 1 / sum,
                       track->snaps && fabs((double)track->away_s[best]) < frame_s};
}

static void say(const struct learner *learners, const struct tracks *tracks, int kind, int again,
                bool alone)
{
  int snaps = 0, right[2] = {0}, likeliest = 0, none = 0, said[2] = {0};
  for (size_t t = 0; t < tracks->count; t++) {
    const struct track *track = &tracks->track[t];
    if (track->kind != kind || track->again != again || track->seed % 6) continue;
    struct told told = tell(learners, track, alone);
    double odds[2] = {1, 19};
    for (int k = 0; k < 2; k++) {
      bool found = odds[k] * told.best / (told.none + odds[k] * (1 - told.none)) > 0.5;
      right[k] += track->snaps && found && told.right;
      said[k] += !track->snaps && !found;
    }
    snaps += track->snaps;
    none += !track->snaps;
    likeliest += told.right;
  }
  fprintf(stderr,
          "kind %2d%s%s: at even odds %d, at 19 to 1 %d, likeliest %d of %d; none %d, %d of %d\n",
          kind, again ? " again" : "", alone ? " alone" : "", right[0], right[1], likeliest, snaps,
          said[0], said[1], none);
}

/* Three digits, of small numbers four places: what is left out of 92 such terms is nothing. */
static void print_number(double x, bool exact)
{
  if (fabs(x) < 0.001) printf("%.4f", x);
  else printf("%.*g", exact || fabs(x) >= 1000 ? 6 : 3, x);
  printf(", ");
}

static void print_row(const float *scaled, float constant, const float *after)
{
  double zero = (double)constant;
  printf("{");
  for (size_t l = 0; l < LOOKS_COUNT; l++) zero -= (double)(scaled[l] * mean[l] / spread[l]);
  for (size_t l = 0; l < LOOKS_COUNT; l++)
    print_number((double)(scaled[l] / spread[l]) + (l == LOOK_ONE ? zero : 0), l == LOOK_ONE);
  if (after) printf("%.4g", (double)*after / NETS);
  printf("}");
}

static void print_table(const struct learner *learners)
{
  struct net direct = {.constant = 0};
  printf("/* SPDX-License-Identifier: GPL-3.0-or-later */\n"
         "/* Made by `bench_snap fit`: data, not to be changed by hand. */\n"
         "#include \"trace/snap/inside.h\"\n\nconst double be_snap_direct[LOOKS_COUNT] = ");
  for (int k = 0; k < NETS; k++) {
    direct.constant += learners[k].net.constant / NETS;
    for (size_t l = 0; l < LOOKS_COUNT; l++) direct.direct[l] += learners[k].net.direct[l] / NETS;
  }
  print_row(direct.direct, direct.constant, NULL);
  printf(";\nconst double be_snap_units[UNITS][LOOKS_COUNT + 1] = {\n");
  for (int k = 0; k < NETS; k++)
    for (int u = 0; u < NET_UNITS; u++) {
      print_row(learners[k].net.unit[u], learners[k].net.bias[u], &learners[k].net.counts[u]);
      printf(",\n");
    }
  printf("};\n");
}

void fit(struct tracks *tracks, bool all, const bool left_out[TRACK_KINDS], size_t epochs)
{
  static struct learner learners[NETS];
  size_t *order = be_alloc_array(2 * tracks->count + 2, sizeof *order), count = 0;
  double snaps = 0;
  if (!order) abort();
  scale(tracks);
  for (size_t t = 0; t < tracks->count; t++) {
    const struct track *track = &tracks->track[t];
    bool among = !track->snaps;
    for (int i = 0; i < track->count; i++) among |= is_near(track, i);
    if (!among)
      fprintf(stderr, "not among the onsets: kind %d, seed %d\n", track->kind, track->seed);
    if (!among || left_out[track->kind] || (!all && track->seed % 6 == 0)) continue;
    snaps += track->snaps;
    order[count++] = 2 * t;
    order[count++] = 2 * t + 1;
  }
  double odds = snaps / ((double)count / 2 - snaps);
  for (int k = 0; k < NETS; k++)
    learners[k] = (struct learner){tracks, order, count, epochs, 0, log(odds), {.constant = 0}};
  be_parallel(NETS, 0, learn_all, learners);
  for (int kind = 0; kind < TRACK_KINDS; kind++)
    for (int k = 0; k < 4; k++) say(learners, tracks, kind, k / 2, k & 1);
  print_table(learners);
  be_free(order);
}
