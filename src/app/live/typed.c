/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What spares typing to who has no rig, or no plan. */
#include "app/live/live.h"
#include "app/survey/survey.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const struct be_pull *pull_of(const struct survey *survey, const char *code)
{
  for (size_t i = survey->record.pulls_count; *code && i-- > 0;)
    if (be_text_same(survey->record.pulls[i].code, code)) return &survey->record.pulls[i];
  return NULL;
}

struct alike {
  const char *knot, *version, *line_a, *spool_a, *line_b, *spool_b, *hardware, *tyer, *bench;
  char turns[32], soak[32], length[32], speed[32];
};

static void number(char text[32], double value, const char *unit)
{
  if (!isnan(value)) snprintf(text, 32, "%.6g%s", value, unit);
}

static void look(const struct survey *survey, const struct be_pull *pull, struct alike *alike)
{
  const struct be_record *record = &survey->record;
  const struct be_line *a = &record->lines[pull->line_a];
  alike->knot = "none";
  if (pull->knot >= 0) {
    alike->knot = record->knots[pull->knot].name;
    alike->version = record->knots[pull->knot].version;
    number(alike->turns, record->knots[pull->knot].turns, "");
  }
  alike->line_a = a->name;
  alike->spool_a = a->spool;
  if (pull->line_b >= 0) {
    alike->line_b = record->lines[pull->line_b].name;
    alike->spool_b = record->lines[pull->line_b].spool;
  }
  alike->hardware = pull->hardware;
  alike->tyer = pull->tyer;
  if (pull->bench >= 0) alike->bench = record->benches[pull->bench].name;
  if (pull->soak == BE_SOAK_SOAKED && !isnan(pull->soak_s))
    number(alike->soak, pull->soak_s / 60, " min");
  else if (pull->soak != BE_SOAK_UNKNOWN)
    snprintf(alike->soak, sizeof alike->soak, "%s", be_soak_word(pull->soak));
  number(alike->length, pull->length_m * 1000, " mm");
  number(alike->speed, pull->speed_m_s * 60000, " mm/min");
}

void be_write_alike(struct be_buf *html, const struct survey *survey, const struct be_request *sent,
                    const char *last, be_field_writer *field)
{
  struct alike alike = {0};
  const struct be_pull *pull = pull_of(survey, last);
  if (pull) look(survey, pull, &alike);
  if (pull) be_buf_text(html, "<p class=\"note\">Filled in as the last one was.</p>\n");
  field(html, sent, "knot", "Knot", "knots", alike.knot);
  field(html, sent, "version", "Version of the knot", NULL, alike.version);
  field(html, sent, "turns", "Turns", NULL, alike.turns);
  field(html, sent, "line A", "Line A", "lines", alike.line_a);
  field(html, sent, "spool A", "Spool A", "spools", alike.spool_a);
  field(html, sent, "line B", "Line B, of a joint", "lines", alike.line_b);
  field(html, sent, "spool B", "Spool B", "spools", alike.spool_b);
  field(html, sent, "hardware", "Hardware", NULL, alike.hardware);
  field(html, sent, "soak", "Soak: dry, or minutes", NULL, alike.soak);
  field(html, sent, "tyer", "Tied by", NULL, alike.tyer);
  field(html, sent, "free length", "Free length (500 mm)", NULL, alike.length);
  field(html, sent, "speed", "Speed (500 mm/min)", NULL, alike.speed);
  field(html, sent, "bench", "Bench, or scale", NULL, alike.bench);
  be_write_handling(html, survey, sent, pull, field);
}

void be_write_handling(struct be_buf *html, const struct survey *survey,
                       const struct be_request *sent, const struct be_pull *alike,
                       be_field_writer *field)
{
  char now[32];
  be_now(now);
  bool today = alike && alike->session && strncmp(alike->session, now, 10) == 0;
  static const char *const labels[BE_HANDLINGS] = {
      [BE_HANDLED_SEATING] = "Drawn up with, a load with its unit",
      [BE_HANDLED_HELD] = "Held for, in seconds",
      [BE_HANDLED_TAG] = "Tag end left standing, in mm",
      [BE_HANDLED_GLUE] = "Glue, or none",
      [BE_HANDLED_TIED] = "Tied on (2026-03-01, perhaps with a time)",
      [BE_HANDLED_WATER] = "Water of the soak: fresh, salt",
      [BE_HANDLED_GRIPS] = "Grips, and how many wraps",
      [BE_HANDLED_TEMPERATURE] = "Temperature, with C or F",
      [BE_HANDLED_HUMIDITY] = "Humidity, in %"};
  for (int i = 0; i < BE_HANDLINGS; i++) {
    enum be_handling one = (enum be_handling)i;
    bool of_day = one == BE_HANDLED_TEMPERATURE || one == BE_HANDLED_HUMIDITY;
    bool fill = alike && one != BE_HANDLED_TIED && (today || !of_day);
    field(html, sent, be_handling_column(one), labels[i], NULL,
          fill ? be_handled_words(survey, alike->handling, one) : NULL);
  }
}

/* ---- loads without a unit ---- */

void be_write_unit(struct be_buf *html, const struct survey *survey)
{
  bool any = false;
  for (size_t i = 0; i < survey->record.pulls_count && !any; i++)
    any = survey->record.pulls[i].load_unit != NULL;
  if (!any) return;
  be_buf_text(html, "<input type=\"hidden\" name=\"unit\" value=\"");
  be_markup_text(html, survey->how.unit->name);
  be_buf_text(html, "\">\n<p class=\"note\">A load typed without its unit is taken as ");
  be_markup_text(html, survey->how.unit->name);
  be_buf_text(html, ".</p>\n");
}

const char *be_load_with_unit(const char *load, const char *unit, char room[64])
{
  bool bare = strspn(load, "0123456789.,") == strlen(load) && strlen(load) < 32;
  bool known = unit && be_unit_find_in(BE_FORCE, unit, strlen(unit));
  if (!bare || !known || strlen(unit) > 16) return load;
  snprintf(room, 64, "%s %s", load, unit);
  return room;
}
