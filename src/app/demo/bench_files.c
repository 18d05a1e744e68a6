/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The demonstration bench's files, written as testers write them: a sheet a
 * session, each in its own unit and number style, and a trace a pull. */
#include "app/demo/demo.h"

#include "assets/assets.h"
#include "rig/rig.h"
#include "units/units.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* The trial takes eight, the series one a bench. */
enum { TRIAL_SESSIONS = 8, SESSIONS = 11, FILE_MAX = 16 * 1024 * 1024 };

struct style {
  const char *date, *unit;
  int decimals;
  char delimiter, decimal;
  bool typed;         /* the load is written down, not left to the trace */
  bool unit_in_cells; /* "14.2 lb" instead of a unit in the header */
  const char *trace_header;
  const char *trace_unit;
  const char *air, *humidity, *grips; /* "": not written down */
  bool seated;                        /* with what knots were drawn up, and when, is written down */
};

static const struct style styles[SESSIONS] = {
    {"2026-03-02", "lb", 2, ',', '.', true, false, "time (s),load (N)", "N", "18 C", "52 %",
     "bollards 50 mm with 4 wraps", true},
    {"2026-03-05", "N", 1, ',', '.', true, false, "time (s),load (N)", "N", "17 C", "55 %",
     "bollards 50 mm with 4 wraps", true},
    {"2026-03-09", "kg", 2, ';', ',', true, false, "time [s];force [N]", "N", "64 F", "58 %",
     "bollards 50 mm with 4 wraps", true},
    {"2026-03-12", "lb", 2, ',', '.', false, false, "time (s),load (lb)", "lb", "", "", "", false},
    {"2026-03-16", "lb", 2, ',', '.', true, false, "time (ms)\tload (N)", "N", "19 C", "",
     "bollards 50 mm with 4 wraps", true},
    {"2026-03-19", "lb", 2, ',', '.', true, true, "time (s),load (N)", "N", "21 C", "47 %",
     "bollards 50 mm with 4 wraps", true},
    {"2026-03-23", "N", 1, ',', '.', true, false, "time (s);load (kg)", "kg", "", "", "", false},
    {"2026-03-26", "lb", 2, '\t', '.', true, false, "time (s),load (N)", "N", "12 C", "71 %",
     "bollards 50 mm with 4 wraps", false},
    {"2026-03-30", "N", 1, ',', '.', true, false, "time (s),load (N)", "N", "20 C", "50 %",
     "bollards 50 mm with 4 wraps", true},
    {"2026-04-02", "kg", 2, ',', '.', true, false, "time (s),load (kg)", "kg", "22 C", "44 %",
     "drums 30 mm with 6 wraps", false},
    {"2026-04-04", "lb", 1, ',', '.', true, false, "time (s),load (N)", "N", "", "", "", false},
};

static enum be_status no_memory(struct be_err *err)
{
  return be_fail(err, BE_NO_MEMORY, "no memory for the demonstration");
}

static const struct be_unit *force_unit(const char *name)
{
  return be_unit_find_in(BE_FORCE, name, strlen(name));
}

/* Writes a number in the style's decimal mark. */
static void put_number(struct be_buf *out, double value, int decimals, char mark)
{
  char text[64];
  snprintf(text, sizeof text, "%.*f", decimals, value);
  char *point = strchr(text, '.');
  if (point) *point = mark;
  be_buf_text(out, text);
}

/* ---- traces ---- */

static enum be_status write_samples(const struct style *style, const char *settings,
                                    struct be_buf *out, struct be_err *err)
{
  struct be_simulated_point points[256];
  struct be_simulated_pull *pull = NULL;
  size_t count = 0;
  enum be_status status = be_simulated_pull_create(settings, &pull, err);
  if (status != BE_OK) return status;
  const char *header = style->trace_header;
  char delimiter = strchr(header, '\t') ? '\t' : strchr(header, ';') ? ';' : ',';
  bool ms = strstr(header, "(ms)") != NULL;
  double factor = force_unit(style->trace_unit)->factor;
  int decimals = factor > 1 ? 3 : 2;
  be_buf_format(out, "%s\n", header);
  while ((count = be_simulated_pull_next(pull, points, 256)) > 0)
    for (size_t i = 0; i < count; i++) {
      put_number(out, points[i].time_s * (ms ? 1000 : 1), ms ? 0 : 2, style->decimal);
      be_buf_char(out, delimiter);
      put_number(out, points[i].force_N / factor, decimals, style->decimal);
      be_buf_char(out, '\n');
    }
  be_simulated_pull_free(pull);
  return be_buf_status(out, err);
}

static enum be_status write_trace(const char *folder, const struct style *style,
                                  const struct made_pull *pull, struct be_arena *arena,
                                  struct be_err *err)
{
  struct be_buf out;
  const char *path = be_arena_format(arena, "%s/traces/%s.csv", folder, pull->code);
  if (!path) return no_memory(err);
  be_buf_init(&out, FILE_MAX);
  enum be_status status = write_samples(style, pull->settings, &out, err);
  if (status == BE_OK) status = be_file_write(path, out.data, out.size, err);
  be_buf_free(&out);
  return status;
}

/* ---- sheets ---- */

static bool in_trouble(const struct made_pull *pull, const char *name)
{
  return strcmp(pull->trouble, name) == 0;
}

static double swap_digits(double load)
{
  int tens = (int)(load / 10) % 10, ones = (int)load % 10;
  return load - 10 * tens - ones + 10 * ones + tens;
}

/* The peak that the gauge held, as the tester typed it. */
static void put_load(struct be_buf *out, const struct style *style, const struct made_pull *pull)
{
  bool other = in_trouble(pull, "other-unit");
  const char *name = other ? (strcmp(style->unit, "N") == 0 ? "lb" : "N") : style->unit;
  double load = pull->load_N / force_unit(name)->factor;
  if (in_trouble(pull, "swapped")) load = swap_digits(load);
  bool comma = in_trouble(pull, "comma") && style->delimiter != ';';
  if (comma) be_buf_char(out, '"');
  put_number(out, load, comma ? 1 : style->decimals, comma ? ',' : style->decimal);
  if (other || style->unit_in_cells) be_buf_format(out, " %s", name);
  if (comma) be_buf_char(out, '"');
}

static bool needs_typing(const struct style *style, const struct made_pull *pull)
{
  bool clipped = in_trouble(pull, "saturated") || pull->kind == BE_KIND_VOID;
  return !clipped && (style->typed || in_trouble(pull, "fast") || in_trouble(pull, "swapped"));
}

/* As the session has it: no lot is drawn for it, so that loads stay as they are. */
static void put_handling(struct be_buf *out, const struct style *style, const struct trial_row *row)
{
  char d = style->delimiter;
  bool knotted = row->knot[0] != '\0', seated = style->seated && knotted;
  be_buf_format(out, "%c%s%c%s%c%s%c%s%c%s%c%s%c%s%c%s", d, seated ? "10 N" : "", d,
                seated ? "5 s" : "", d, knotted && style->air[0] ? "none" : "", d,
                seated ? style->date : "", d, strcmp(row->soak, "soaked") == 0 ? "fresh" : "", d,
                style->grips, d, style->air, d, style->humidity);
}

static void put_row(struct be_buf *out, const struct style *style, const struct made_pull *pull,
                    size_t order)
{
  const struct trial_row *row = pull->row;
  char d = style->delimiter;
  const char *result = pull->kind == BE_KIND_VOID ? "void" : "";
  be_buf_format(out, "%s%c%s%c%s%c%s%c%s%c%s%c", pull->code, d, row->design, d,
                row->knot[0] ? row->knot : "none", d, row->version, d, row->knot_b, d,
                row->version_b, d);
  be_buf_format(out, "%s%c%s%c%s%c%s%c", row->spool_a, d, row->spool_b, d, row->hardware, d,
                in_trouble(pull, "no-soak")        ? ""
                : strcmp(row->soak, "soaked") == 0 ? "120 min"
                                                   : row->soak,
                d);
  put_number(out, row->speed_mm_min, 0, style->decimal);
  be_buf_format(out, "%c%d%c%s%cwater%c%s%c%s%c%zu%c", d, row->length_mm, d, pull->tyer, d, d,
                style->date, d, row->bench, d, order, d);
  if (needs_typing(style, pull)) put_load(out, style, pull);
  put_handling(out, style, row);
  be_buf_format(out, "%c%s%c%s%c%s%c%s%c%s%ctraces/%s.csv%c%s\n", d, result, d, pull->reason, d,
                be_what_word(pull->what), d, pull->where ? be_where_word(pull->where) : "", d,
                be_which_word(pull->which), d, pull->code, d,
                in_trouble(pull, "fast") ? "pulled too fast" : "");
}

static const char *session_path(const char *folder, int session, struct be_arena *arena)
{
  return be_arena_format(arena, "%s/session-%d.csv", folder, session + 1);
}

static enum be_status write_session(const char *path, const char *folder, int session,
                                    const struct made_pull *pulls, size_t count,
                                    struct be_arena *arena, struct be_err *err)
{
  static const char *const heads[] = {
      "specimen",     "design",       "knot",     "version", "knot B",         "version B",
      "spool A",      "spool B",      "hardware", "soak",    "speed (mm/min)", "free length (mm)",
      "tyer",         "lubricant",    "session",  "bench",   "order",          NULL,
      "seating load", "seating held", "glue",     "tied",    "water",          "grips",
      "temperature",  "humidity",     "result",   "reason",  "what",           "where",
      "which",        "trace",        "note"};
  const struct style *style = &styles[session];
  struct be_buf out;
  be_buf_init(&out, FILE_MAX);
  for (size_t i = 0; i < sizeof heads / sizeof heads[0]; i++) {
    if (i) be_buf_char(&out, style->delimiter);
    if (heads[i]) be_buf_text(&out, heads[i]);
    else if (style->unit_in_cells) be_buf_text(&out, "load");
    else be_buf_format(&out, "load (%s)", style->unit);
  }
  be_buf_char(&out, '\n');
  enum be_status status = BE_OK;
  for (size_t i = 0; i < count && status == BE_OK; i++) {
    put_row(&out, style, &pulls[i], i + 1);
    status = write_trace(folder, style, &pulls[i], arena, err);
  }
  if (status == BE_OK) status = be_buf_status(&out, err);
  if (status == BE_OK) status = be_file_write(path, out.data, out.size, err);
  be_buf_free(&out);
  return status;
}

static const char *const sheet_assets[] = {"demo/lines.csv", "demo/knots.csv", "demo/benches.csv",
                                           "demo/calibrations.csv", "demo/check-weights.csv"};
enum { SHEET_ASSETS = sizeof sheet_assets / sizeof sheet_assets[0] };

static const char *asset_path(const char *folder, const char *name, struct be_arena *arena)
{
  return be_arena_format(arena, "%s%s", folder, strrchr(name, '/'));
}

static enum be_status write_asset(const char *path, const char *name, struct be_err *err)
{
  const struct be_asset *asset = be_asset_find(name);
  if (!asset) return be_fail(err, BE_FAILED, "the program lacks its part \"%s\"", name);
  return be_file_write(path, asset->text, asset->size, err);
}

/* Where the pulls of a session end: an equal share of the trial, or a bench's series. */
static size_t session_end(const struct made_pull *pulls, size_t count, int session, size_t from)
{
  size_t trial = 0, to = from;
  while (trial < count && !pulls[trial].row->in_series) trial++;
  if (session < TRIAL_SESSIONS) return trial * (size_t)(session + 1) / TRIAL_SESSIONS;
  while (to < count && strcmp(pulls[to].row->bench, pulls[from].row->bench) == 0) to++;
  return to;
}

enum be_status be_bench_write(const char *folder, const struct made_pull *pulls, size_t count,
                              struct be_arena *arena, const char *paths[SHEETS_MAX], size_t *sheets,
                              struct be_err *err)
{
  const char *traces = be_arena_format(arena, "%s/traces", folder);
  if (!traces) return no_memory(err);
  enum be_status status = be_dir_create(folder, err);
  if (status == BE_OK) status = be_dir_create(traces, err);
  *sheets = 0;
  for (int i = 0; i < SHEET_ASSETS && status == BE_OK; i++) {
    const char *path = paths[(*sheets)++] = asset_path(folder, sheet_assets[i], arena);
    status = path ? write_asset(path, sheet_assets[i], err) : no_memory(err);
  }
  size_t from = 0, to = 0;
  for (int i = 0; i < SESSIONS && status == BE_OK; i++, from = to) {
    to = session_end(pulls, count, i, from);
    const char *path = paths[(*sheets)++] = session_path(folder, i, arena);
    status =
        path ? write_session(path, folder, i, pulls + from, to - from, arena, err) : no_memory(err);
  }
  if (status == BE_OK && from < count)
    status =
        be_fail(err, BE_TOO_LARGE, "the recipe has series for more than %d sessions", SESSIONS);
  return status;
}

bool be_bench_is_there(const char *folder, struct be_arena *arena)
{
  bool there = false;
  for (int i = 0; i < SHEET_ASSETS + SESSIONS && !there; i++) {
    const char *path = i < SHEET_ASSETS ? asset_path(folder, sheet_assets[i], arena)
                                        : session_path(folder, i - SHEET_ASSETS, arena);
    there = !path || be_file_exists(path);
  }
  return there;
}
