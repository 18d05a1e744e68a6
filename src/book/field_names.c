/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the columns of a sheet are called. The table is the documented header;
 * docs/formats.md explains each. */
#include "book/inside.h"

#include <stdio.h>
#include <string.h>

static const struct {
  const char *name;
  const char *others; /* '|' between */
  int sheets;
} table[FIELDS] = {
    [FIELD_SPECIMEN] = {"specimen", "code|specimen code", IN_TIED | IN_EVIDENCE},
    [FIELD_DESIGN] = {"design", "", IN_TIED},
    [FIELD_KNOT] = {"knot", "", IN_TIED | IN_KNOTS},
    [FIELD_VERSION] = {"version", "", IN_TIED | IN_KNOTS},
    [FIELD_TURNS] = {"turns", "wraps", IN_TIED | IN_KNOTS},
    [FIELD_KNOT_B] = {"knot B", "", IN_TIED},
    [FIELD_VERSION_B] = {"version B", "", IN_TIED},
    [FIELD_TURNS_B] = {"turns B", "wraps B", IN_TIED},
    [FIELD_LINE_A] = {"line A", "line|mainline|main line", IN_TIED},
    [FIELD_SPOOL_A] = {"spool A", "spool", IN_TIED},
    [FIELD_LINE_B] = {"line B", "leader", IN_TIED},
    [FIELD_SPOOL_B] = {"spool B", "", IN_TIED},
    [FIELD_HARDWARE] = {"hardware", "", IN_TIED},
    [FIELD_SOAK] = {"soak", "", IN_TIED | IN_EVIDENCE},
    [FIELD_SPEED] = {"speed", "", IN_TIED | IN_EVIDENCE},
    [FIELD_LENGTH] = {"free length", "gauge length", IN_TIED | IN_EVIDENCE},
    [FIELD_TYER] = {"tyer", "tied by", IN_TIED | IN_EVIDENCE},
    [FIELD_LUBRICANT] = {"lubricant", "", IN_TIED | IN_EVIDENCE},
#define HANDLED(code, others) [FIELD_HANDLING + code] = {NULL, others, IN_TIED | IN_EVIDENCE}
    HANDLED(BE_HANDLED_SEATING, "set load|drawn up with|seated with"),
    HANDLED(BE_HANDLED_HELD, "seated for|set load held"),
    HANDLED(BE_HANDLED_TAG, "tag length|tag end length"),
    HANDLED(BE_HANDLED_GLUE, "adhesive"),
    HANDLED(BE_HANDLED_TIED, "tied on|tied at|when tied"),
    HANDLED(BE_HANDLED_WATER, "soak water|soaked in|water type"),
    HANDLED(BE_HANDLED_GRIPS, "gripped with|gripped by"),
    HANDLED(BE_HANDLED_TEMPERATURE, "temp|air temperature|room temperature"),
    HANDLED(BE_HANDLED_HUMIDITY, "relative humidity|air humidity|rh"),
#undef HANDLED
    [FIELD_DATE] = {"date", "when", IN_CALIBRATIONS | IN_WEIGHTS},
    [FIELD_SESSION] = {"session", "date", IN_PULLS | IN_WEIGHTS},
    [FIELD_BENCH] = {"bench", "rig", IN_PULLS | IN_BENCHES | IN_CALIBRATIONS | IN_WEIGHTS},
    [FIELD_ORDER] = {"order", "", IN_TIED},
    [FIELD_LOAD] = {"load", "breaking force|breaking load", IN_PULLS},
    [FIELD_RESULT] = {"result", "", IN_PULLS},
    [FIELD_REASON] = {"reason", "", IN_PULLS | IN_RULES | IN_EVIDENCE},
    [FIELD_WHAT] = {"what", "what let go|let go", IN_PULLS},
    [FIELD_WHERE] = {"where", "", IN_PULLS},
    [FIELD_WHICH] = {"which", "", IN_PULLS},
    [FIELD_TRACE] = {"trace", "", IN_PULLS},
    [FIELD_JUDGED] = {"judged by", "told by", IN_PULLS | IN_EVIDENCE},
    [FIELD_PHOTO] = {"photo", "photos", IN_SHOWN},
    [FIELD_CLIP] = {"clip", "clips", IN_SHOWN},
    [FIELD_NOTE] = {"note", "notes|remark", IN_SHOWN | IN_WEIGHTS},
    [FIELD_CORRECTION] = {"correction", "", IN_PULLS},
    [FIELD_LINE] = {"line", "", IN_LINES},
    [FIELD_SPOOL] = {"spool", "", IN_LINES},
    [FIELD_MATERIAL] = {"material", "", IN_LINES},
    [FIELD_LABEL] = {"label", "label rating|rated strength", IN_LINES},
    [FIELD_SIZE] = {"size", "", IN_LINES},
    [FIELD_DIAMETER] = {"diameter", "", IN_LINES},
    [FIELD_LOT] = {"lot", "", IN_LINES},
    [FIELD_SOURCE] = {"source", "obtained|where from", IN_LINES},
    [FIELD_OPENED] = {"opened", "spool opened", IN_LINES},
    [FIELD_CONSTRUCTION] = {"construction", "strands", IN_LINES},
    [FIELD_ON_HAND] = {"on hand", "", IN_LINES},
    [FIELD_COUNTED] = {"counted", "", IN_LINES},
    [FIELD_KIND] = {"kind", "", IN_KNOTS},
    [FIELD_DOUBLED] = {"doubled", "", IN_KNOTS},
    [FIELD_ALIASES] = {"aliases", "also called", IN_KNOTS},
    [FIELD_CROSSINGS_A] = {"crossings A", "", IN_KNOTS},
    [FIELD_CROSSINGS_B] = {"crossings B", "", IN_KNOTS},
    [FIELD_OVERLAP] = {"overlap", "", IN_KNOTS},
    [FIELD_TIE] = {"tie", "", IN_KNOTS},
    [FIELD_TIE_TIME] = {"time to tie", "tying time", IN_KNOTS},
    [FIELD_GUIDES] = {"passes guides", "through guides", IN_KNOTS},
    [FIELD_PICTURE] = {"picture", "", IN_KNOTS},
    [FIELD_CALIBRATION] = {"calibration", "", IN_BENCHES},
    [FIELD_RESOLUTION] = {"resolution", "", IN_BENCHES | IN_CALIBRATIONS},
    [FIELD_DRIFT] = {"drift", "", IN_BENCHES},
    [FIELD_MISSED] = {"peak missed", "", IN_BENCHES},
    [FIELD_CERTIFICATE] = {"certificate", "", IN_BENCHES | IN_CALIBRATIONS},
    [FIELD_CALIBRATED] = {"calibrated", "", IN_BENCHES},
    [FIELD_TRIAL] = {"trial", "", IN_TRIALS | IN_RULES},
    [FIELD_BLOCK] = {"block", "", IN_TRIALS},
    [FIELD_RULE] = {"rule", "", IN_RULES},
    [FIELD_VALUE] = {"value", "", IN_RULES},
    [FIELD_CALIBRATION_NAME] = {"calibration", "", IN_PULLS | IN_CALIBRATIONS},
    [FIELD_ZERO_BEFORE] = {"zero before", "", IN_PULLS},
    [FIELD_ZERO_AFTER] = {"zero after", "", IN_PULLS},
    [FIELD_MONTHS] = {"months", "months until due", IN_CALIBRATIONS},
    [FIELD_UNIT] = {"unit", "unit of reading", IN_CALIBRATIONS | IN_WEIGHTS},
    [FIELD_APPLIED] = {"load applied", "applied load", IN_CALIBRATIONS},
    [FIELD_READING] = {"reading", "", IN_CALIBRATIONS | IN_WEIGHTS},
    [FIELD_DIRECTION] = {"direction", "", IN_CALIBRATIONS},
    [FIELD_REFERENCE] = {"reference", "reference uncertainty", IN_CALIBRATIONS},
    [FIELD_CURVE] = {"curve", "", IN_CALIBRATIONS},
    [FIELD_WEIGHT] = {"weight", "check weight|known load", IN_WEIGHTS},
};

const char *be_field_name(enum field field)
{
  bool handled = field >= FIELD_HANDLING && field <= FIELD_HANDLING_LAST;
  return handled ? be_handling_column((enum be_handling)(field - FIELD_HANDLING))
                 : table[field].name;
}

bool be_field_fits(enum sheet_kind kind, enum field field)
{
  return (table[field].sheets >> kind) & 1;
}

bool be_field_on(enum field field, int sheets)
{
  return (table[field].sheets & sheets) != 0;
}

const char *be_sheet_kind_word(enum sheet_kind kind)
{
  static const char *const words[SHEET_KINDS] = {
      "pull sheet", "line sheet",     "knot sheet",        "bench sheet",       "trial sheet",
      "rule sheet", "evidence sheet", "calibration sheet", "check weight sheet"};
  return words[kind];
}

static bool named(enum field field, const char *name)
{
  if (be_text_same(name, be_field_name(field))) return true;
  char word[64];
  for (const char *at = table[field].others; *at;) {
    size_t length = strcspn(at, "|");
    snprintf(word, sizeof word, "%.*s", (int)length, at);
    if (be_text_same(name, word)) return true;
    at += length + (at[length] == '|');
  }
  return false;
}

int be_field_find(const char *name, int sheets)
{
  for (int i = 0; i < FIELDS; i++)
    if ((table[i].sheets & sheets) && named((enum field)i, name)) return i;
  return -1;
}
