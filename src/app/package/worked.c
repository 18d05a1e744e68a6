/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tables that are worked out from the record: they may be thrown away, and made again. */
#include "app/package/inside.h"

#include <jansson.h>
#include <math.h>
#include <string.h>

#define TEXT(name, means)                                                                          \
  {                                                                                                \
    name, means, false, false, false, BE_TABLE_PLAIN, NULL                                         \
  }
#define NUMBER(name, means)                                                                        \
  {                                                                                                \
    name, means, true, false, false, BE_TABLE_PLAIN, NULL                                          \
  }
#define NEEDED(name, means, once, role)                                                            \
  {                                                                                                \
    name, means, false, true, once, role, NULL                                                     \
  }

static const struct be_table_column loads[] = {
    NEEDED("specimen", "its code", true, BE_TABLE_SPECIMEN),
    NEEDED("knot", "with turns and version; plain line where there is none", false, BE_TABLE_PLAIN),
    NEEDED("result", "the one that holds: event, lower bound or void", false, BE_TABLE_PLAIN),
    NUMBER("load (N)", "typed, or from the trace, less its zero"),
    NUMBER("peak (N)", "highest load of the trace, zero not taken off"),
    NUMBER("zero (N)", "of the trace, before the pull"),
    NUMBER("first slip (N)", "load at which it first slipped before the peak"),
    NUMBER("missed (N)", "the most that sampling may have missed at the peak"),
    TEXT("flags", "of the trace"),
    NUMBER("corrections", "how many results it replaced"),
};

static const struct be_table_column strength[] = {
    NEEDED("combination", "the lines and hardware tested together", false, BE_TABLE_PLAIN),
    NEEDED("group", "combinations of one kind", false, BE_TABLE_PLAIN),
    NEEDED("knot", "with turns and version; plain line where there is none", false, BE_TABLE_PLAIN),
    NUMBER("n", "events"),
    NUMBER("lower bounds", "pulls that held at least so much"),
    NUMBER("voids", "pulls that do not count"),
    NUMBER("mean (N)", "mean load, lower bounds counted in where that can be done"),
    NUMBER("mean low (N)", "lower end of its interval"),
    NUMBER("mean high (N)", "upper end of its interval"),
    NUMBER("sd (N)", "standard deviation of the events"),
    TEXT("divided by", "plain line of which line, and how well it is matched"),
    NUMBER("plain mean (N)", "mean load of that plain line"),
    NUMBER("plain n", "its events"),
    NUMBER("efficiency (%)", "mean load over that of the plain line of the weaker line"),
    NUMBER("efficiency low (%)", "lower end of its interval"),
    NUMBER("efficiency high (%)", "upper end of its interval"),
    NUMBER("level (%)", "of the intervals"),
};

static const struct be_table_column standings[] = {
    NEEDED("place", "the combination or group that is ranked", false, BE_TABLE_PLAIN),
    NUMBER("rank", "1 is the strongest"),
    TEXT("rank range", "ranks that it may have, at the level"),
    NEEDED("knot", "with turns and version", false, BE_TABLE_PLAIN),
    NUMBER("n", "events"),
    NUMBER("lower bounds", "pulls that held at least so much"),
    NUMBER("load (N)", "mean load; of a group the geometric mean over its combinations"),
    NUMBER("efficiency (%)", "mean over the combinations"),
    NUMBER("efficiency low (%)", "lower end of its interval"),
    NUMBER("efficiency high (%)", "upper end of its interval"),
    TEXT("letters", "two knots share one where they cannot be separated"),
    TEXT("cannot separate from", "ranks of those that could be as strong"),
    NUMBER("first (%)", "chance of being first"),
    NUMBER("slipped out", "events in which it slipped out"),
};
/* Where each stands in the document of the standings. */
static const char *const standing_keys[] = {"place",
                                            "rank",
                                            "rank_range",
                                            "knot",
                                            "n",
                                            "lower_bounds",
                                            "load",
                                            "efficiency_percent",
                                            "efficiency_percent_low",
                                            "efficiency_percent_high",
                                            "letters",
                                            "cannot_separate_from",
                                            "first_percent",
                                            "slipped_out_k"};

#define TABLE(name, title)                                                                         \
  {                                                                                                \
#name, title, name, sizeof name / sizeof name[0], {{{0 } } }, false, NULL                      \
  }
static const struct be_book_table loads_table = TABLE(loads, "Load of each pull");
static const struct be_book_table strength_table =
    TABLE(strength, "Strength of each knot in each combination");
static const struct be_book_table standings_table =
    TABLE(standings, "Standings of knots in each combination and group");

const char *be_package_worked_by(const struct package *package)
{
  const struct be_answering *how = &package->survey->how;
  return be_arena_format(package->arena,
                         "Worked out by bitterend %s with seed %llu and %zu resamples, intervals "
                         "at %g %%; loads in N",
                         be_version, (unsigned long long)how->seed, how->resamples,
                         100 * how->level);
}

static struct piece *begin(struct package *package, const struct be_book_table *table,
                           struct be_err *err)
{
  const char *path = be_arena_format(package->arena, "worked/%s.csv", table->name);
  struct piece *piece = path ? be_piece_add(package, path, table->title, "text/csv", err) : NULL;
  if (!piece) return NULL;
  piece->table = table;
  piece->worked = true;
  for (size_t i = 0; i < table->count; i++) {
    if (i) be_buf_char(&piece->bytes, ',');
    be_csv_text(&piece->bytes, table->columns[i].name);
  }
  be_buf_text(&piece->bytes, "\r\n");
  return piece;
}

static void put_text(struct be_buf *out, const char *text)
{
  be_csv_text(out, text);
  be_buf_char(out, ',');
}

static void put_number(struct be_buf *out, double value)
{
  if (isfinite(value)) be_csv_number(out, value);
  be_buf_char(out, ',');
}

static void end_row(struct be_buf *out)
{
  if (out->status != BE_OK) return;
  out->size--; /* the last comma */
  be_buf_text(out, "\r\n");
}

/* ---- loads ---- */

static enum be_status write_loads(struct package *package, struct be_err *err)
{
  const struct survey *survey = package->survey;
  struct piece *piece = begin(package, &loads_table, err);
  if (!piece) return be_no_memory(err);
  struct be_buf *out = &piece->bytes;
  for (size_t i = 0; i < survey->record.pulls_count; i++) {
    const struct be_pull *pull = &survey->record.pulls[i];
    put_text(out, pull->code);
    put_text(out, be_knot_name(survey, pull->knot));
    put_text(out, be_kind_word(pull->kind));
    put_number(out, pull->load_N);
    put_number(out, pull->trace_peak_N);
    put_number(out, pull->trace_zero_N);
    put_number(out, pull->first_slip_N);
    put_number(out, pull->trace_missed_N);
    put_text(out, pull->flags);
    put_number(out, pull->corrections);
    end_row(out);
  }
  return be_piece_close(package, piece, err);
}

/* ---- strength ---- */

static void write_cell(struct package *package, struct be_buf *out, const struct cell *cell)
{
  const struct survey *survey = package->survey;
  const struct combination *where = &survey->combinations[cell->combination];
  struct be_interval interval = be_load_interval(&cell->load, survey->how.level);
  bool divided = cell->plain.match != MATCH_NONE && !be_is_plain(where);
  const struct be_ratio *ratio = &cell->efficiency;
  bool known = divided && ratio->shape == BE_RATIO_PIECE;
  put_text(out, where->name);
  put_text(out, where->group);
  put_text(out, be_cell_name(survey, cell));
  put_number(out, (double)cell->n);
  put_number(out, (double)cell->bounds);
  put_number(out, (double)cell->voids);
  put_number(out, cell->n ? cell->load.value : NAN);
  put_number(out, interval.low);
  put_number(out, interval.high);
  put_number(out, cell->summary.sd);
  put_text(out,
           divided ? be_arena_format(package->arena, "%s, %s", survey->line_names[cell->plain.line],
                                     be_match_words(survey, cell))
                   : NULL);
  put_number(out, divided ? cell->plain.estimate.value : NAN);
  put_number(out, divided ? (double)cell->plain.estimate.n : NAN);
  put_number(out, divided ? 100 * ratio->value : NAN);
  put_number(out, known ? 100 * ratio->interval.low : NAN);
  put_number(out, known ? 100 * ratio->interval.high : NAN);
  put_number(out, 100 * survey->how.level);
  end_row(out);
}

static enum be_status write_strength(struct package *package, struct be_err *err)
{
  struct piece *piece = begin(package, &strength_table, err);
  if (!piece) return be_no_memory(err);
  for (size_t i = 0; i < package->survey->cells_count; i++)
    write_cell(package, &piece->bytes, &package->survey->cells[i]);
  if (be_arena_ran_out(package->survey->arena)) return be_no_memory(err);
  return be_piece_close(package, piece, err);
}

/* ---- standings ---- */

static void write_standing(struct be_buf *out, const json_t *row)
{
  for (size_t i = 0; i < standings_table.count; i++) {
    const json_t *value = json_object_get(row, standing_keys[i]);
    if (standings[i].number)
      put_number(out, json_is_number(value) ? json_number_value(value) : NAN);
    else put_text(out, json_string_value(value));
  }
  end_row(out);
}

static void write_places(struct be_buf *out, const json_t *document)
{
  const json_t *tables = json_object_get(document, "tables"), *row;
  size_t at, k;
  for (at = 0; at < json_array_size(tables); at++) {
    const json_t *table = json_array_get(tables, at);
    const char *name = json_string_value(json_object_get(table, "name"));
    if (!name || strcmp(name, "standings") != 0) continue;
    json_array_foreach(json_object_get(table, "rows"), k, row) write_standing(out, row);
  }
}

/* What `standings --json` says, in newtons. */
static enum be_status write_standings(struct package *package, struct be_err *err)
{
  struct survey survey = *package->survey;
  struct be_doc *doc = NULL;
  struct be_buf text;
  json_error_t why;
  be_package_json_begin();
  survey.how.unit = be_unit_find("N", 1);
  survey.how.by = BE_BY_STRENGTH;
  survey.book_path = NULL; /* what moved is not of it */
  be_buf_init(&text, BE_PACKAGE_LIST_MAX);
  enum be_status status = be_standings_doc(&survey, &doc, err);
  if (status == BE_OK) status = be_doc_json(doc, &text, err);
  json_t *document = status == BE_OK ? json_loadb(text.data, text.size, 0, &why) : NULL;
  if (status == BE_OK && !document) status = be_no_memory(err);
  struct piece *piece = status == BE_OK ? begin(package, &standings_table, err) : NULL;
  if (piece) write_places(&piece->bytes, document);
  if (status == BE_OK) status = piece ? be_piece_close(package, piece, err) : be_no_memory(err);
  json_decref(document);
  be_doc_free(doc);
  be_buf_free(&text);
  return status;
}

enum be_status be_package_worked(struct package *package, struct be_err *err)
{
  enum be_status status = write_loads(package, err);
  if (status == BE_OK) status = write_strength(package, err);
  return status == BE_OK ? write_standings(package, err) : status;
}
