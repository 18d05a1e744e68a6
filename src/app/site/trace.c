/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One trace for programs, all of the rows that are kept or its lows and highs. */
#include "app/site/api.h"

#include <string.h>

/* The rows to write, by buckets: of each the lowest and the highest, in their order. */
struct picked {
  size_t *row;
  size_t count;
};

static void pick(struct picked *picked, const double *force, size_t from, size_t past)
{
  size_t low = from, high = from;
  for (size_t i = from + 1; i < past; i++) {
    low = force[i] < force[low] ? i : low;
    high = force[i] > force[high] ? i : high;
  }
  picked->row[picked->count++] = low < high ? low : high;
  if (low != high) picked->row[picked->count++] = low < high ? high : low;
}

static void pick_all(struct picked *picked, const struct be_trace *trace, size_t most)
{
  size_t buckets = most / 2;
  picked->count = 0;
  if (trace->n <= most)
    for (size_t i = 0; i < trace->n; i++) picked->row[picked->count++] = i;
  else
    for (size_t i = 0; i < buckets; i++)
      pick(picked, trace->force_N, trace->n * i / buckets, trace->n * (i + 1) / buckets);
}

static void write_array(struct be_buf *out, const char *key, const double *values,
                        const struct picked *picked)
{
  be_buf_format(out, ",\n \"%s\":%s", key, values ? "[" : "null");
  for (size_t i = 0; values && i < picked->count; i++) {
    if (i > 0) be_buf_char(out, ',');
    be_json_number(out, values[picked->row[i]]);
  }
  if (values) be_buf_char(out, ']');
}

/* points 0: all. */
static enum be_status write_trace(const struct be_trace *trace, const struct be_pull *pull,
                                  size_t points, struct be_buf *out, struct be_err *err)
{
  struct picked picked = {be_alloc_array(trace->n + 1, sizeof *picked.row), 0};
  if (!picked.row) return be_no_memory(err);
  pick_all(&picked, trace, points ? points : trace->n);
  be_buf_format(out, "{\"format\":%d", BE_JSON_FORMAT);
  be_api_count(out, "trace", (size_t)pull->trace);
  be_api_count(out, "pull", (size_t)pull->id);
  be_api_text(out, "specimen", pull->code);
  be_api_count(out, "rows", trace->rows);
  be_api_count(out, "kept", trace->n);
  write_array(out, "time_s", trace->time_s, &picked);
  write_array(out, "force_N", trace->force_N, &picked);
  be_buf_text(out, "}\n");
  be_free(picked.row);
  return be_buf_status(out, err);
}

static enum be_status read_points(const struct be_request *request, size_t *points,
                                  struct be_err *err)
{
  const char *asked = be_request_query(request, "points");
  if (!asked || !*asked || (be_index_read(asked, 1000001, points) && *points > 1)) return BE_OK;
  return be_fail(err, BE_WRONG_USE, "points takes a whole number from 2 to 1000000, not \"%.40s\"",
                 asked);
}

enum be_status be_api_trace(struct visit *visit, struct be_err *err)
{
  const struct be_record *record = &visit->survey.record;
  const struct be_pull *pull = NULL;
  size_t id = 0, points = 0;
  bool named = be_index_read(visit->request->path + strlen("/trace/"), INT64_MAX, &id) && id > 0;
  for (size_t i = 0; named && i < record->pulls_count; i++)
    if (record->pulls[i].trace == (int64_t)id) pull = &record->pulls[i];
  if (!pull) return be_fail(err, BE_NO, "there is no such trace");
  struct be_book *book = NULL;
  struct be_trace_file *file = NULL;
  enum be_status status = read_points(visit->request, &points, err);
  if (status == BE_OK) status = be_book_open(visit->book_path, false, &book, err);
  if (status == BE_OK) status = be_book_trace(book, pull->trace, &file, err);
  if (status == BE_OK && !file->count) status = be_fail(err, BE_NO, "the trace holds no rows");
  if (status == BE_OK)
    status = write_trace(&file->tests[0], pull, points, &visit->reply->body, err);
  be_trace_file_free(file);
  be_book_close(book);
  return status;
}
