/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a line of the head states of all rows: the step from one to the next, as
 * in "Interval,0.0005", "Sample rate: 2000 Hz", "Abtastrate;50;Hz", and units of
 * columns that have none, as in "Force unit: kgf". */
#include "trace/layout/layout.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* Whole keys only: "rest interval between pulls: 60 s" is no sampling interval. */
static const char *const interval_keys =
    "|interval|time interval|sample interval|sampling interval|sample period|sampling period|"
    "scan interval|log interval|logging interval|measurement interval|measuring interval|"
    "data interval|recording interval|acquisition interval|update interval|sampling time|"
    "time step|timestep|dt|delta t|Δt|δt|∆t|time increment|"
    "intervall|abtastintervall|messintervall|zeitintervall|abtastzeit|zeitschritt|"
    "aufzeichnungsintervall|abtastperiode|"
    "intervalle|intervalle de temps|intervalle d'echantillonnage|periode d'echantillonnage|"
    "pas de temps|"
    "intervalo|intervalo de muestreo|intervalo de tiempo|periodo de muestreo|paso de tiempo|"
    "intervalo de amostragem|periodo de amostragem|intervalo de tempo|"
    "intervallo|intervallo di campionamento|periodo di campionamento|passo temporale|"
    "サンプリング間隔|サンプリング周期|測定間隔|収録間隔|間隔|"
    "采样间隔|采样周期|採樣間隔|取樣間隔|采样时间间隔|时间间隔|時間間隔|间隔|";
static const char *const rate_keys =
    "|rate|sample rate|sampling rate|samplerate|samples per second|sampling frequency|"
    "sample frequency|data rate|acquisition rate|logging rate|scan rate|recording rate|fs|"
    "abtastrate|messrate|abtastfrequenz|messfrequenz|aufzeichnungsrate|"
    "frequence d'echantillonnage|taux d'echantillonnage|"
    "frecuencia de muestreo|tasa de muestreo|velocidad de muestreo|"
    "frequencia de amostragem|taxa de amostragem|"
    "frequenza di campionamento|"
    "サンプリング周波数|サンプリングレート|サンプリング速度|采样频率|采样率|採樣頻率|取樣頻率|";

static bool is_key(const char *keys, const char *folded)
{
  size_t length = strlen(folded);
  for (const char *at = keys; length && (at = strchr(at, '|')) && at[1]; at++)
    if (strncmp(at + 1, folded, length) == 0 && at[1 + length] == '|') return true;
  return false;
}

static bool is_between(char c)
{
  return strchr(" \t:=,;\"()[]", c) != NULL;
}

/* Parts of a line such as `Interval (ms): 20` and `"Rate",50,"Hz"`. */
struct pair {
  char key[BE_NAME_MAX];
  struct be_span key_unit, value, unit;
};

static struct be_span trim_between(struct be_span text)
{
  while (text.size && is_between(text.text[0])) text.text++, text.size--;
  while (text.size && is_between(text.text[text.size - 1])) text.size--;
  return text;
}

static bool split_pair(struct be_span line, struct pair *pair)
{
  size_t at = 0, end;
  while (at < line.size && !(line.text[at] >= '0' && line.text[at] <= '9')) at++;
  if (at == 0 || at == line.size) return false;
  if (line.text[at - 1] == '-' || line.text[at - 1] == '.') at--;
  struct be_span key = {line.text, at};
  const char *open = memchr(line.text, '(', at);
  if (!open) open = memchr(line.text, '[', at);
  if (open) {
    size_t bracket = (size_t)(open - line.text);
    pair->key_unit = trim_between((struct be_span){open, at - bracket});
    key.size = bracket;
  }
  key = trim_between(key);
  while (key.size && (key.text[0] == '#' || key.text[0] == '%')) key.text++, key.size--;
  be_words_fold(be_span_trim(key), pair->key, sizeof pair->key);
  for (end = at; end < line.size && strchr("0123456789.,eE+-", line.text[end]); end++)
    if ((line.text[end] | 0x20) == 'e' && end + 1 < line.size && is_between(line.text[end + 1]))
      break;
  pair->value = (struct be_span){line.text + at, end - at};
  while (end < line.size && is_between(line.text[end])) end++;
  size_t stop = end;
  while (stop < line.size && !is_between(line.text[stop])) stop++;
  pair->unit = (struct be_span){line.text + end, stop - end};
  return true;
}

/* Hertz of one of a unit of rate; 0: it is none. */
static double rate_of(struct be_span unit)
{
  static const struct {
    const char *words;
    double hertz;
  } units[] = {{"|hz|1/s|/s|s/s|sps|samples/s|sample/s|pts/s|hertz|赫兹|赫茲|ヘルツ|", 1},
               {"|khz|ks/s|ksps|", 1e3},
               {"|1/min|/min|", 1.0 / 60}};
  char folded[BE_UNIT_MAX];
  be_words_fold(unit, folded, sizeof folded);
  for (size_t i = 0; i < sizeof units / sizeof units[0]; i++)
    if (is_key(units[i].words, folded)) return units[i].hertz;
  return 0;
}

/* The whole of the number, in the decimal mark of the rows, or with a point
 * where commas lie between columns. */
static bool read_value(struct be_span value, const struct be_block *block, double *number)
{
  while (value.size && strchr(".,+-", value.text[value.size - 1])) value.size--;
  const char *comma = value.size ? memchr(value.text, ',', value.size) : NULL;
  if (comma && block->delimiter == ',' && block->decimal == '.')
    value.size = (size_t)(comma - value.text);
  size_t read = be_number_scan(value.text, value.size, block->decimal, number);
  if (read != value.size) read = be_number_scan(value.text, value.size, '.', number);
  return value.size > 0 && read == value.size && *number > 0 && isfinite(*number);
}

static void read_interval(struct be_span line, size_t number, struct be_block *block)
{
  struct pair pair = {0};
  double value, step = 0;
  if (block->interval_s > 0 || !split_pair(line, &pair)) return;
  bool interval = is_key(interval_keys, pair.key), rate = is_key(rate_keys, pair.key);
  if ((!interval && !rate) || !read_value(pair.value, block, &value)) return;
  struct be_span unit = pair.unit.size ? pair.unit : pair.key_unit;
  double hertz = rate_of(unit);
  const struct be_unit *time = be_unit_find_in(BE_TIME, unit.text, unit.size);
  if (hertz > 0) step = 1 / (value * hertz);
  else if (interval && time) step = value * time->factor;
  else if (interval && unit.size == 0 && value < 1) step = value;
  else if (rate && unit.size == 0 && strcmp(pair.key, "rate") != 0) step = 1 / value;
  const char *taken = unit.size > 0 || step <= 0 ? "" : rate ? ", hertz taken" : ", seconds taken";
  if (step > 0 && isfinite(step))
    snprintf(block->interval_why, sizeof block->interval_why, "line %zu of the file states it%s",
             number, taken);
  else if (interval && unit.size == 0)
    snprintf(block->interval_why, sizeof block->interval_why,
             "line %zu of the file states %.6g without a unit: not used", number, value);
  block->interval_s = isfinite(step) ? step : 0;
}

/* ---- units ---- */

static const char *const unit_keys[BE_ROLES] = {
    [BE_ROLE_TIME] = "|time unit|time units|unit of time|zeiteinheit|unite de temps|"
                     "unidad de tiempo|unidade de tempo|unita di tempo|時間単位|时间单位|",
    [BE_ROLE_FORCE] =
        "|unit|units|force unit|force units|load unit|load units|unit of force|unit of load|"
        "einheit|krafteinheit|einheit kraft|lasteinheit|unite|unites|unite de force|"
        "unidad|unidades|unidad de fuerza|unidade|unidades|unidade de forca|"
        "unita|unita di forza|unita di misura|単位|荷重単位|力単位|单位|單位|力单位|力值单位|",
    [BE_ROLE_EXTENSION] =
        "|extension unit|extension units|displacement unit|displacement units|length unit|"
        "travel unit|position unit|wegeinheit|langeneinheit|unite de longueur|"
        "unidad de longitud|unidade de comprimento|unita di lunghezza|変位単位|位移单位|"};

static void read_unit(struct be_span line, size_t number, struct be_block *block)
{
  char folded[BE_NAME_MAX];
  size_t at = 0;
  while (at < line.size && !strchr(":=,;\t", line.text[at])) at++;
  if (at == 0 || at >= line.size) return;
  struct be_span value = trim_between((struct be_span){line.text + at, line.size - at});
  struct be_span key = trim_between((struct be_span){line.text, at});
  while (key.size && strchr("#% ", key.text[0])) key.text++, key.size--;
  be_words_fold(key, folded, sizeof folded);
  for (int role = BE_ROLE_TIME; role < BE_ROLES; role++) {
    if (block->stated_unit[role] || !is_key(unit_keys[role], folded)) continue;
    block->stated_unit[role] = be_unit_find_in(be_role_dimension[role], value.text, value.size);
    block->stated_line[role] = number;
  }
}

void be_stated_read(struct be_span line, size_t number, struct be_block *block)
{
  read_interval(line, number, block);
  read_unit(line, number, block);
}
