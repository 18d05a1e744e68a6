/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The kinds of frames: rows of data. */
#include "rig/frame/inside.h"

#include <string.h>

#define PLACE(field) offsetof(struct frame_options, field)
#define UNIT                                                                                       \
  {                                                                                                \
    "unit", BE_SETTING_TEXT, PLACE(unit)                                                           \
  }
#define TIMES                                                                                      \
  {"every_s", BE_SETTING_NUMBER, PLACE(every_s), 0, 3600},                                         \
  {                                                                                                \
    "timeout_s", BE_SETTING_NUMBER, PLACE(timeout_s), 0.001, 3600                                  \
  }
#define ASK {"ask", BE_SETTING_TEXT, PLACE(ask)}, TIMES
#define DECIMAL                                                                                    \
  {                                                                                                \
    "decimal", BE_SETTING_WORD, PLACE(decimal), .words = "either point comma"                      \
  }
#define COUNT(table) sizeof table / sizeof table[0]

static const struct be_setting of_text[] = {UNIT, DECIMAL, ASK};
static const struct be_setting of_pattern[] = {
    {"pattern", BE_SETTING_TEXT, PLACE(pattern)}, UNIT, DECIMAL, ASK};
static const struct be_setting of_scpi[] = {
    UNIT,
    ASK,
    {"field", BE_SETTING_WHOLE, PLACE(field), 1, 1000},
    {"block", BE_SETTING_WORD, PLACE(block), .words = "real32 real64"},
    {"border", BE_SETTING_WORD, PLACE(border), .words = "normal swapped"}};
static const struct be_setting of_modbus[] = {
    UNIT,
    TIMES,
    {"device", BE_SETTING_WHOLE, PLACE(device), 0, 247},
    {"register", BE_SETTING_WHOLE, PLACE(reg), 0, 65534},
    {"function", BE_SETTING_WHOLE, PLACE(function), 3, 4},
    {"order", BE_SETTING_WORD, PLACE(order), .words = "abcd cdab badc dcba"}};

#define TEXT_SETTINGS "unit=N, decimal=either|point|comma, ask=\"...\", every_s, timeout_s"
#define MODBUS_SETTINGS                                                                            \
  "settings: device (1-247), register (on the wire, from 0: one less than most manuals count), "   \
  "function=3|4, order=abcd|cdab|badc|dcba, unit=N, every_s, timeout_s"
#define LETTERS "G=gross N=net O=over U=under M=moving E=error"

const struct be_frame_kind be_frame_kinds[] = {
    {"number", "one reading a line, with or without its unit; settings: " TEXT_SETTINGS,
     "+0012.34 kg"},
    {"counted", "a count that rises by one, then the reading; settings: " TEXT_SETTINGS,
     "1207,12.34"},
    {"timed-s", "seconds, then the reading; settings: " TEXT_SETTINGS, "3.025;12.34 N"},
    {"timed-ms", "milliseconds, then the reading; settings: " TEXT_SETTINGS, "3025\t12.34"},
    {"timed-us", "microseconds, then the reading; settings: " TEXT_SETTINGS, "3025117,12.34"},
    {"header", "words of status, then the reading; settings: " TEXT_SETTINGS, "ST,GS,+0012.340,kg"},
    {"letters", "the reading, then letters of status; settings: " TEXT_SETTINGS,
     "\x02 0012.34LG\x03"},
    {"pattern", "a frame of your own; settings: pattern=\"...\", " TEXT_SETTINGS, "F= 12.34 N #17"},
    {"scpi",
     "numbers of IEEE 488.2, asked for; settings: ask=\"READ?\\n\", field (which number of a "
     "list), block=real32|real64 and border=normal|swapped (of blocks), unit=N, every_s, timeout_s",
     "+1.234E+01"},
    {"modbus-rtu", "a float in two registers, asked for, with CRC-16; " MODBUS_SETTINGS, ""},
    {"modbus-tcp", "a float in two registers, asked for, with a header; " MODBUS_SETTINGS, ""},
};
const size_t be_frame_kinds_count = COUNT(be_frame_kinds);

#define COLUMNS(first)                                                                             \
  {                                                                                                \
    first ",{force}{unit?}", first ";{force}{unit?}", first ":{force}{unit?}",                     \
        first " {force}{unit?}"                                                                    \
  }
#define LINES of_text, COUNT(of_text), BE_FRAME_TEXT_MAX, be_text_byte, be_ask_request

/* In the order of be_frame_kinds. */
static const struct frame_way ways[] = {
    {{"{force}{unit?}", "{force},{unit}", "{force};{unit}"}, LINES},
    {COLUMNS("{count}"), LINES},
    {COLUMNS("{time s}"), LINES},
    {COLUMNS("{time ms}"), LINES},
    {COLUMNS("{time us}"), LINES},
    {{"{status},{status},{force}{unit?}", "{status},{status},{force},{unit}",
      "{status},{force}{unit?}", "{status},{force},{unit}", "{status} {status} {force}{unit?}",
      "{status} {force}{unit?}"},
     LINES},
    {{"{force}{unit? L=lb K=kg}{status " LETTERS "}", "{force}{unit}{status " LETTERS "}",
      "{status " LETTERS "}{force}{unit?}", "{force}{unit L=lb K=kg}", "{force}{unit?}"},
     LINES},
    {{NULL}, of_pattern, COUNT(of_pattern), BE_FRAME_TEXT_MAX, be_text_byte, be_ask_request},
    {{NULL}, of_scpi, COUNT(of_scpi), BE_FRAME_BLOCK_MAX, be_scpi_byte, be_ask_request, "READ?\n"},
    {{NULL}, of_modbus, COUNT(of_modbus), BE_FRAME_TEXT_MAX, be_rtu_byte, be_rtu_request},
    {{NULL}, of_modbus, COUNT(of_modbus), BE_FRAME_TEXT_MAX, be_mbap_byte, be_mbap_request},
};

const struct frame_way *be_frame_way_find(const char *kind, const struct be_frame_kind **row)
{
  _Static_assert(COUNT(ways) == COUNT(be_frame_kinds), "a way for each kind");
  for (size_t i = 0; i < COUNT(ways); i++)
    if (strcmp(be_frame_kinds[i].name, kind) == 0) {
      *row = &be_frame_kinds[i];
      return &ways[i];
    }
  return NULL;
}
