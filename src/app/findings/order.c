/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Does the load drift with the order of pulling within a session, and from session to session of
 * one tyer. */
#include "app/findings/findings.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---- within sessions ---- */

static enum be_status find_drift(struct findings *findings, struct be_err *err)
{
  const struct survey *survey = findings->survey;
  struct sample sample;
  enum be_status status = be_sample_gather(survey, SAMPLE_PLAIN | SAMPLE_SESSIONS, &sample, err);
  if (status != BE_OK) return status;
  for (size_t i = 0; i < sample.n; i++) sample.x[i] = sample.pull[i]->order / 10;
  size_t strata;
  be_within(sample.x, sample.y, sample.stratum, sample.n, &strata);
  if (strata == 0) return BE_OK;
  struct finding *finding = be_finding_add(findings, err);
  if (!finding) return BE_NO_MEMORY;
  be_finding_within(finding, survey, &sample);
  finding->says = be_arena_format(survey->arena, "Loads %s with the order of pulling in a session",
                                  finding->value > 0 ? "rose" : "fell");
  finding->asks = "whether loads drift with the order of pulling in a session";
  finding->more = "for ten pulls later";
  finding->place = be_arena_format(survey->arena,
                                   "%zu place%s with two pulls or more of one kind in one session",
                                   strata, be_plural(strata));
  return BE_OK;
}

/* ---- from session to session ---- */

enum { ROUNDS = 200 };

/* The sessions of one tyer, in the order of their names, and how far each lies off. */
struct sessions {
  const char **name;
  double *place, *off, *sum;
  size_t *n;
  size_t count;
};

static int by_name(const void *a, const void *b)
{
  return strcmp(*(const char *const *)a, *(const char *const *)b);
}

static size_t session_of(const struct sessions *sessions, const char *name)
{
  size_t i = 0;
  while (strcmp(sessions->name[i], name) != 0) i++;
  return i;
}

static enum be_status list_sessions(const struct survey *survey, const struct sample *own,
                                    struct sessions *sessions, struct be_err *err)
{
  struct be_arena *arena = survey->arena;
  size_t most = own->n + 1;
  *sessions = (struct sessions){.name = be_arena_alloc(arena, most * sizeof *sessions->name),
                                .place = be_arena_alloc(arena, most * sizeof(double)),
                                .off = be_arena_alloc(arena, most * sizeof(double)),
                                .sum = be_arena_alloc(arena, most * sizeof(double)),
                                .n = be_arena_alloc(arena, most * sizeof(size_t))};
  if (!sessions->name || !sessions->place || !sessions->off || !sessions->sum || !sessions->n)
    return be_no_memory(err);
  size_t all = 0;
  for (size_t i = 0; i < own->n; i++) sessions->name[i] = own->pull[i]->session;
  qsort(sessions->name, own->n, sizeof *sessions->name, by_name);
  for (size_t i = 0; i < own->n; i++)
    if (i == 0 || strcmp(sessions->name[all - 1], sessions->name[i]) != 0)
      sessions->name[all++] = sessions->name[i];
  sessions->count = all;
  for (size_t i = 0; i < all; i++) sessions->place[i] = (double)i;
  for (size_t i = 0; i < own->n; i++)
    own->x[i] = (double)session_of(sessions, own->pull[i]->session);
  return BE_OK;
}

/* A level for each stratum and one for each session, by least squares: one of the two in turn,
 * the other held, which comes to rest in a few rounds (the rounds are a ceiling). */
static void fit_levels(const struct sample *own, struct sessions *sessions)
{
  for (int round = 0; round < ROUNDS; round++) {
    double moved = 0;
    for (size_t s = 0; s < sessions->count; s++) sessions->sum[s] = 0, sessions->n[s] = 0;
    for (size_t i = 0, end; i < own->n; i = end) {
      double level = 0;
      for (end = i; end < own->n && own->stratum[end] == own->stratum[i]; end++)
        level += own->y[end] - sessions->off[(size_t)own->x[end]];
      for (size_t k = i; k < end; k++) {
        sessions->sum[(size_t)own->x[k]] += own->y[k] - level / (double)(end - i);
        sessions->n[(size_t)own->x[k]]++;
      }
    }
    for (size_t s = 0; s < sessions->count; s++) {
      double off = sessions->sum[s] / (double)sessions->n[s];
      moved = fmax(moved, fabs(off - sessions->off[s]));
      sessions->off[s] = off;
    }
    if (moved < 1e-12) return;
  }
}

/* Pulls of one tyer in strata of more than one session. */
static void take_own(const struct sample *all, const char *tyer, struct sample *own)
{
  own->n = 0;
  for (size_t i = 0, end; i < all->n; i = end) {
    size_t from = own->n;
    bool several = false;
    for (end = i; end < all->n && all->stratum[end] == all->stratum[i]; end++) {
      const struct be_pull *pull = all->pull[end];
      if (!pull->session || !be_same_words(pull->tyer, tyer)) continue;
      several |= own->n > from && strcmp(own->pull[from]->session, pull->session) != 0;
      own->pull[own->n] = pull;
      own->stratum[own->n] = i;
      own->y[own->n++] = all->y[end];
    }
    if (!several) own->n = from;
  }
}

static void say_learning(const struct survey *survey, const char *tyer,
                         const struct sessions *sessions, const struct be_rank_order *order,
                         struct finding *finding)
{
  finding->value = 100 * expm1(order->slope.value);
  finding->interval.low = 100 * expm1(order->slope.interval.low);
  finding->interval.high = 100 * expm1(order->slope.interval.high);
  finding->unit = "% relative";
  finding->decimals = 1;
  finding->p = order->p;
  finding->least_p = order->least_p;
  finding->says = be_arena_format(survey->arena, "From session to session what %s tied held %s",
                                  tyer, finding->value > 0 ? "more" : "less");
  finding->asks = be_arena_format(
      survey->arena, "whether what %s tied held more or less from session to session", tyer);
  const char *chance = be_order_words(survey, order);
  finding->more = be_arena_format(survey->arena, "from one to the next, over %zu sessions; %s",
                                  sessions->count, chance ? chance : "");
  finding->units = "sessions";
  finding->settle = "more sessions would tell";
  finding->place = be_arena_format(survey->arena, "%s, %zu sessions", tyer, sessions->count);
}

/* A day shifts all its pulls alike, so that sessions, not pulls, are what is put in order. */
static enum be_status find_learning(struct findings *findings, const struct sample *all,
                                    struct sample *own, const char *tyer, struct be_err *err)
{
  const struct survey *survey = findings->survey;
  struct sessions sessions;
  struct be_rank_order order;
  take_own(all, tyer, own);
  enum be_status status = list_sessions(survey, own, &sessions, err);
  if (status != BE_OK || sessions.count < 3 || sessions.count > BE_RANK_ORDER_MAX) return status;
  fit_levels(own, &sessions);
  const struct be_resampling how = {
      .seed = survey->how.seed, .times = survey->how.resamples, .level = survey->how.level};
  status = be_permute_rank(sessions.place, sessions.off, sessions.count, &how, &order, err);
  if (status != BE_OK || isnan(order.p)) return status;
  struct finding *finding = be_finding_add(findings, err);
  if (!finding) return BE_NO_MEMORY;
  for (size_t i = 0; i < own->n; i++) be_finding_pull(finding, survey, own->pull[i]);
  say_learning(survey, tyer, &sessions, &order, finding);
  return BE_OK;
}

enum be_status be_find_order(struct findings *findings, struct be_err *err)
{
  const struct survey *survey = findings->survey;
  struct sample all, own;
  enum be_status status = find_drift(findings, err);
  if (status == BE_OK) status = be_sample_gather(survey, 0, &all, err);
  if (status == BE_OK) status = be_sample_gather(survey, 0, &own, err);
  if (status != BE_OK) return status;
  const char **tyers;
  size_t count;
  status = be_sample_tyers(survey, &all, &tyers, &count, err);
  for (size_t i = 0; status == BE_OK && i < count; i++)
    status = find_learning(findings, &all, &own, tyers[i], err);
  return status;
}
