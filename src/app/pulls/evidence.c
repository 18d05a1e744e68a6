/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/pulls/pulls.h"

#include <stdlib.h>
#include <string.h>

size_t be_evidence_of(const struct be_pull *pull, bool clip)
{
  size_t count = 0;
  for (size_t i = 0; i < pull->evidence_count; i++)
    count += pull->evidence[i].clip == clip && strcmp(pull->evidence[i].name, "none") != 0;
  return count;
}

static int by_session(const void *a, const void *b)
{
  const struct be_pull *const *first = a, *const *second = b;
  return strcmp((*first)->session, (*second)->session);
}

/* Marks the pulls of one session, of which one has a photo or a clip, that tell of neither. */
static void mark(const struct be_record *record, const struct be_pull *const *pulls, size_t count,
                 bool *missing)
{
  bool any = false;
  for (size_t i = 0; i < count; i++)
    any = any || be_evidence_of(pulls[i], false) || be_evidence_of(pulls[i], true);
  for (size_t i = 0; any && i < count; i++)
    missing[pulls[i] - record->pulls] = pulls[i]->evidence_count == 0;
}

enum be_status be_evidence_missing(const struct survey *survey, const struct be_pulls_found *found,
                                   size_t *missing, struct be_err *err)
{
  const struct be_record *record = &survey->record;
  size_t all = record->pulls_count, count = 0;
  const struct be_pull **pulls = be_arena_alloc(survey->arena, (all + 1) * sizeof *pulls);
  bool *lacks = be_arena_alloc(survey->arena, all + 1);
  if (!pulls || !lacks) return be_no_memory(err);
  for (size_t i = 0; i < all; i++)
    if (record->pulls[i].session) pulls[count++] = &record->pulls[i];
  if (count) qsort(pulls, count, sizeof *pulls, by_session);
  for (size_t i = 0, end; i < count; i = end) {
    for (end = i + 1; end < count && by_session(&pulls[i], &pulls[end]) == 0;) end++;
    mark(record, pulls + i, end - i, lacks);
  }
  *missing = 0;
  for (size_t i = 0; i < found->count; i++) *missing += lacks[found->pulls[i] - record->pulls];
  return BE_OK;
}
