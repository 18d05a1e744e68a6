/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "film/film.h"

#include <string.h>

const struct be_film_about be_film_about[BE_FILM_KINDS] = {
    [BE_FILM_QTRLE] = {"qtrle", ".mov", "QuickTime animation", true},
    [BE_FILM_VP9] = {"vp9", ".webm", "VP9", true},
    [BE_FILM_PRORES] = {"prores", ".mov", "ProRes 4444", true},
    [BE_FILM_H264] = {"h264", ".mp4", "H.264", false},
    [BE_FILM_PNG] = {"png", "/", "PNG pictures", true},
};

static const struct {
  const char *words;
  struct be_fraction rate;
} rates[] = {
    {"24", {24, 1}},
    {"25", {25, 1}},
    {"30", {30, 1}},
    {"48", {48, 1}},
    {"50", {50, 1}},
    {"60", {60, 1}},
    {"100", {100, 1}},
    {"120", {120, 1}},
    {"23.976", {24000, 1001}},
    {"23.98", {24000, 1001}},
    {"29.97", {30000, 1001}},
    {"47.95", {48000, 1001}},
    {"59.94", {60000, 1001}},
    {"119.88", {120000, 1001}},
    {"24000/1001", {24000, 1001}},
    {"30000/1001", {30000, 1001}},
    {"48000/1001", {48000, 1001}},
    {"60000/1001", {60000, 1001}},
    {"120000/1001", {120000, 1001}},
};

enum be_status be_film_rate(const char *words, struct be_fraction *rate, struct be_err *err)
{
  for (size_t i = 0; i < sizeof rates / sizeof rates[0]; i++)
    if (strcmp(rates[i].words, words) == 0) {
      *rate = rates[i].rate;
      return BE_OK;
    }
  return be_fail(err, BE_WRONG_USE,
                 "frames a second are 24, 25, 30, 48, 50, 60, 100 or 120, or one of 23.976, 29.97, "
                 "47.95, 59.94 and 119.88, not \"%.40s\"",
                 words);
}
