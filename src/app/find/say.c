/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/find/find.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { HEARD_SHOWN = 96 };

/* Bytes as they came; what cannot be printed as \xHH. */
static void put_bytes(struct be_table *table, const char *bytes, size_t size)
{
  char text[4 * HEARD_SHOWN + 8];
  size_t used = 0;
  for (size_t i = 0; i < size && i < HEARD_SHOWN; i++) {
    unsigned char byte = (unsigned char)bytes[i];
    if (byte >= ' ' && byte < 0x7F && byte != '\\') text[used++] = (char)byte;
    else used += (size_t)snprintf(text + used, 5, "\\x%02X", byte);
  }
  text[used] = '\0';
  be_table_text(table, "%s%s", text, size > HEARD_SHOWN ? " ..." : "");
}

static void put_flags(struct be_table *table, unsigned flags)
{
  char text[200] = "";
  size_t used = 0;
  for (int bit = 0; bit < BE_SAMPLE_BITS; bit++)
    if (flags >> bit & 1 && used < sizeof text - 24)
      used += (size_t)snprintf(text + used, sizeof text - used, "%s%s", used ? ", " : "",
                               be_sample_flag_word((enum be_sample_bit)bit));
  be_table_text(table, "%s", used ? text : "-");
}

static void say_preview(struct be_doc *doc, const struct be_rig_found *found)
{
  static const struct be_column columns[] = {
      {"received", "as received", BE_COLUMN_TEXT, false},
      {"reading", "reading", BE_COLUMN_NUMBER, false},
      {"unit", "unit", BE_COLUMN_TEXT, false},
      {"load_N", "load (N)", BE_COLUMN_NUMBER, false},
      {"marks", "marks", BE_COLUMN_TEXT, false},
  };
  const struct be_frame_candidate *first = &found->verdict.frames.candidates[0];
  struct be_table *table = be_doc_table(doc, "preview", "The first of its frames", columns, 5);
  for (size_t i = 0; i < first->preview_count; i++) {
    const struct be_rig_sample *sample = &first->preview[i];
    bool held = sample->offset + sample->length <= found->size;
    put_bytes(table, found->bytes + (held ? sample->offset : 0), held ? sample->length : 0);
    be_table_number(table, sample->value, 3);
    be_table_text(table, "%s", sample->unit ? sample->unit->name : "-");
    be_table_number(table, sample->force_N, 2);
    put_flags(table, sample->flags);
  }
}

static void say_candidates(struct be_doc *doc, const struct be_frame_detection *frames)
{
  static const struct be_column columns[] = {
      {"frames", "frames", BE_COLUMN_TEXT, false},
      {"settings", "settings", BE_COLUMN_TEXT, false},
      {"understood_percent", "understood (%)", BE_COLUMN_NUMBER, false},
      {"samples", "samples", BE_COLUMN_NUMBER, false},
      {"why", "why", BE_COLUMN_TEXT, false},
  };
  struct be_table *table = be_doc_table(doc, "ways", "Ways to read it", columns, 5);
  for (size_t i = 0; i < frames->count; i++) {
    const struct be_frame_candidate *kind = &frames->candidates[i];
    be_table_text(table, "%s", kind->kind);
    be_table_text(table, "%s", *kind->settings ? kind->settings : "-");
    be_table_number(table, 100 * kind->understood, 0);
    be_table_number(table, (double)kind->samples, 0);
    be_table_text(table, "%s", kind->why);
  }
}

static void say_nothing(struct be_doc *doc, const struct be_rig_found *found)
{
  static const struct be_column columns[] = {{"heard", "heard last", BE_COLUMN_TEXT, false}};
  if (found->size == 0) {
    be_doc_sentence(doc, "Nothing came from the rig: is it on, and does it send by itself? If it "
                         "must be asked, say how.");
    return;
  }
  be_doc_sentence(doc, "The rig sends, but nothing here reads it: %s.", found->verdict.why);
  be_doc_note(doc, "Frames of your own are told by a pattern; docs/formats.md shows how.");
  struct be_table *table = be_doc_table(doc, "heard", NULL, columns, 1);
  put_bytes(table, found->bytes, found->size);
}

/* Readings without a unit of force are no loads yet. */
static void say_unit(struct be_doc *doc, const struct be_frame_candidate *first)
{
  for (size_t i = 0; i < first->preview_count; i++)
    if (isfinite(first->preview[i].force_N)) return;
  be_doc_sentence(doc,
                  "Its readings have no unit of force: add unit=kg or the like to the settings "
                  "of its frames, or name a calibration.");
}

void be_say_found(struct be_doc *doc, const struct be_seeking *asked,
                  const struct be_rig_found *found)
{
  const struct be_rate_verdict *verdict = &found->verdict;
  const struct be_frame_detection *frames = &verdict->frames;
  char speed[64] = "";
  if (verdict->found == BE_NO || frames->count == 0) {
    say_nothing(doc, found);
    return;
  }
  const struct be_frame_candidate *first = &frames->candidates[0];
  if (found->baud)
    snprintf(speed, sizeof speed, " at %d baud, %s", found->baud,
             verdict->form ? verdict->form : "8N1");
  if (verdict->found == BE_OK)
    be_doc_sentence(doc,
                    "The %s rig sends frames of the kind %s%s: %zu were heard, and %.0f %% of "
                    "their bytes are understood.",
                    asked->source, first->kind, speed, first->samples, 100 * first->understood);
  else
    be_doc_sentence(doc, "The %s rig can be read%s in two ways, %s or %s: %s.", asked->source,
                    speed, first->kind, frames->candidates[frames->count > 1].kind,
                    *frames->why ? frames->why : verdict->why);
  say_unit(doc, first);
  say_preview(doc, found);
  say_candidates(doc, frames);
}

void be_say_rigs(struct be_doc *doc, const struct be_rigs *rigs)
{
  static const struct be_column columns[] = {
      {"name", "rig", BE_COLUMN_TEXT, false},
      {"source", "source", BE_COLUMN_TEXT, false},
      {"source_settings", "its settings", BE_COLUMN_TEXT, false},
      {"frames", "frames", BE_COLUMN_TEXT, false},
      {"frame_settings", "their settings", BE_COLUMN_TEXT, false},
      {"calibration", "calibration", BE_COLUMN_TEXT, false},
  };
  if (rigs->count == 0) return;
  struct be_table *table = be_doc_table(doc, "rigs", "Saved rigs", columns, 6);
  for (size_t i = 0; i < rigs->count; i++) {
    const struct be_rig_setup *setup = &rigs->setup[i];
    const char *const texts[] = {setup->name,   setup->source,         setup->source_settings,
                                 setup->frames, setup->frame_settings, setup->calibration};
    for (size_t k = 0; k < sizeof texts / sizeof texts[0]; k++)
      be_table_text(table, "%s", *texts[k] ? texts[k] : "-");
  }
}

void be_say_sources(struct be_doc *doc)
{
  static const struct be_column columns[] = {{"source", "source", BE_COLUMN_TEXT, false},
                                             {"settings", "its settings", BE_COLUMN_TEXT, false}};
  struct be_table *table = be_doc_table(doc, "sources", "What can be listened to", columns, 2);
  for (size_t i = 0; i < be_rig_sources_count; i++) {
    be_table_text(table, "%s", be_rig_sources[i]->name);
    be_table_text(table, "%s", be_rig_sources[i]->help);
  }
  be_table_fold(table);
}
