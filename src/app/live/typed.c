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
  char turns[32];
  const char *soak;
};

static void look(const struct survey *survey, const struct be_pull *pull, struct alike *alike)
{
  const struct be_record *record = &survey->record;
  const struct be_line *a = &record->lines[pull->line_a];
  alike->knot = "none";
  if (pull->knot >= 0) {
    alike->knot = record->knots[pull->knot].name;
    alike->version = record->knots[pull->knot].version;
    if (!isnan(record->knots[pull->knot].turns))
      snprintf(alike->turns, sizeof alike->turns, "%.6g", record->knots[pull->knot].turns);
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
  struct be_handled made[BE_MADES];
  be_pull_made(pull, made);
  alike->soak = be_made_words(survey, made, BE_MADE_SOAK);
}

void be_write_alike(struct be_buf *html, const struct survey *survey, const struct be_request *sent,
                    const struct be_session_view *view, be_field_writer *field)
{
  struct alike alike = {0};
  const struct be_pull *pull = pull_of(survey, view->last);
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
  field(html, sent, "soak", "Soak, if not that of the evening: dry, or minutes", NULL,
        be_evening_tells(&view->evening, "soak") ? NULL : alike.soak);
  field(html, sent, "tyer", "Tied by, if not as in the evening", NULL,
        be_evening_tells(&view->evening, "tyer") ? NULL : alike.tyer);
  field(html, sent, "bench", "Bench, or scale", NULL, alike.bench);
}

void be_write_handling(struct be_buf *html, const struct be_request *sent, be_field_writer *field)
{
  for (int i = 0; i < BE_HANDLINGS; i++)
    field(html, sent, be_made_column(i), be_made_label(i), NULL, NULL);
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
