/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Factors: the pound-force is 0.45359237 kg under 9.80665 m/s2, exact by
 * definition (NIST SP 811, appendix B); tex is 1e-6 kg/m and denier a ninth of
 * it (ISO 1144); 0 degrees Celsius are 273.15 K, and a degree Fahrenheit is 5/9 K (SP 811). */
#include "units/units.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define G 9.80665
#define LB (0.45359237 * G)

/* The first unit of a dimension with factor 1 is its SI unit. Where two units
 * share a spelling, the earlier row wins unless a dimension is asked for. */
static const struct be_unit units[] = {
    {"N", "newton newtons newtonios 牛 牛顿 牛頓 ニュートン", BE_FORCE, 1},
    {"kN", "kilonewton kilonewtons 千牛 千牛顿 千牛頓 キロニュートン", BE_FORCE, 1e3},
    {"mN", "millinewton millinewtons 毫牛 ミリニュートン", BE_FORCE, 1e-3},
    {"daN", "dan decanewton decanewtons dekanewton décanewton", BE_FORCE, 10},
    {"cN", "centinewton centinewtons 厘牛 センチニュートン", BE_FORCE, 1e-2},
    {"MN", "meganewton meganewtons 兆牛", BE_FORCE, 1e6},
    {"lb",
     "lbs lbf pound pounds lb-f lbsf lb.f pound-force pounds-force # libra libras libbra libbre "
     "磅 磅力 ポンド",
     BE_FORCE, LB},
    {"oz", "ozf ounce ounces oz-f ounce-force onza onzas oncia 盎司 オンス", BE_FORCE, LB / 16},
    {"kg",
     "kgf kgs kp kilo kilos kilogram kilograms kg-f kg.f kgw kilogram-force kilopond kiloponds "
     "kilogramm kilogramme kilogrammes kilogramo kilogramos quilograma quilogramas chilogrammo "
     "chilogrammi 公斤 千克 公斤力 千克力 kg重 キロ キログラム 重量キログラム",
     BE_FORCE, G},
    {"g",
     "gf gram grams gr gram-force gramm gramme grammes gramo gramos grama gramas grammo grammi "
     "克 克力 g重 グラム",
     BE_FORCE, 1e-3 * G},
    {"mg", "mgf milligram milligrams 毫克", BE_FORCE, 1e-6 * G},
    {"m", "metre metres meter meters mètre mètres metro metros metri 米 メートル", BE_LENGTH, 1},
    {"mm",
     "millimetre millimetres millimeter millimeters millimètre millimètres milimetro milimetros "
     "milímetro milímetros millimetro millimetri 毫米 ミリ ミリメートル",
     BE_LENGTH, 1e-3},
    {"cm",
     "centimetre centimetres centimeter centimeters zentimeter centimètres centimetros "
     "centímetros centimetri 厘米 公分 センチ センチメートル",
     BE_LENGTH, 1e-2},
    {"um", "\u00B5m \u03BCm micron microns micrometre micrometer 微米 ミクロン", BE_LENGTH, 1e-6},
    {"in",
     "inch inches \" \u2033 zoll pouce pouces pulgada pulgadas polegada polegadas pollice pollici "
     "英寸 英吋 インチ",
     BE_LENGTH, 0.0254},
    {"ft", "foot feet", BE_LENGTH, 0.3048},
    {"s",
     "sec secs second seconds sek sekunde sekunden seconde secondes seg segundo segundos secondo "
     "secondi 秒 秒钟 秒鐘",
     BE_TIME, 1},
    {"ms",
     "msec msecs millisecond milliseconds millis millisekunde millisekunden millisecondes "
     "milisegundo milisegundos millisecondi 毫秒 ミリ秒",
     BE_TIME, 1e-3},
    {"us",
     "\u00B5s \u03BCs usec microsecond microseconds micros mikrosekunden microsecondes "
     "microsegundos microsecondi 微秒 マイクロ秒",
     BE_TIME, 1e-6},
    {"min", "mins minute minutes m minuten minuto minutos minuti 分 分钟 分鐘", BE_TIME, 60},
    {"h", "hr hrs hour hours stunde stunden heure heures hora horas 小时 小時", BE_TIME, 3600},
    {"day", "days tag tage jour jours día días 天", BE_TIME, 86400},
    {"m/s", "", BE_SPEED, 1},
    {"mm/s", "", BE_SPEED, 1e-3},
    {"mm/min", "mm/minute", BE_SPEED, 1e-3 / 60},
    {"in/min", "inch/min", BE_SPEED, 0.0254 / 60},
    {"kg/m", "", BE_LINEAR_DENSITY, 1},
    {"tex", "g/km", BE_LINEAR_DENSITY, 1e-6},
    {"dtex", "decitex", BE_LINEAR_DENSITY, 1e-7},
    {"den", "denier", BE_LINEAR_DENSITY, 1e-6 / 9},
    {"V", "volt volts", BE_VOLTAGE, 1},
    {"mV", "millivolt millivolts", BE_VOLTAGE, 1e-3},
    {"K", "kelvin", BE_TEMPERATURE, 1},
    {"\u00B0C",
     "c \u2103 \u00BAc degc degreesc celsius centigrade degreescelsius gradcelsius 摄氏度 摂氏度",
     BE_TEMPERATURE, 1, 273.15},
    {"\u00B0F", "f \u2109 \u00BAf degf degreesf fahrenheit degreesfahrenheit", BE_TEMPERATURE,
     5.0 / 9, 459.67 * 5 / 9},
    {"1", "", BE_RATIO, 1},
    {"%", "percent", BE_RATIO, 1e-2},
};
enum { UNITS = sizeof units / sizeof units[0] };

static char lower(char c)
{
  return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

static bool same(const char *text, size_t size, const char *word, size_t length, bool exactly)
{
  if (size != length) return false;
  for (size_t i = 0; i < size; i++)
    if (exactly ? text[i] != word[i] : lower(text[i]) != lower(word[i])) return false;
  return true;
}

static bool spelled(const struct be_unit *unit, const char *text, size_t size)
{
  for (const char *word = unit->words; *word;) {
    size_t length = strcspn(word, " ");
    if (same(text, size, word, length, false)) return true;
    word += length + (word[length] == ' ');
  }
  return false;
}

/* "deg C" and "degrees C" are written with a space, which no spelling above has. */
static const struct be_unit *find_spaced(const char *text, size_t size)
{
  char word[24];
  size_t used = 0;
  for (size_t i = 0; i < size; i++)
    if (text[i] != ' ' && used < sizeof word) word[used++] = text[i];
  return used < size && used < sizeof word ? be_unit_find_in(BE_TEMPERATURE, word, used) : NULL;
}

static const struct be_unit *find(const char *text, size_t size, bool any, enum be_dimension in)
{
  while (size && (*text == ' ' || *text == '\t')) text++, size--;
  while (size && (text[size - 1] == ' ' || text[size - 1] == '.')) size--;
  while (size > 2 && memcmp(text, "\u00A0", 2) == 0) text += 2, size -= 2;
  if (size == 0) return NULL;
  /* Exact symbols first, then other spellings, then symbols in any case. */
  for (int pass = 0; pass < 3; pass++)
    for (size_t i = 0; i < UNITS; i++) {
      const struct be_unit *unit = &units[i];
      if (any ? unit->dimension == BE_TEMPERATURE : unit->dimension != in) continue;
      bool found = pass == 1 ? spelled(unit, text, size)
                             : same(text, size, unit->name, strlen(unit->name), pass == 0);
      /* "Mm" is not the milli unit it looks like, nor "mn" the mega one. */
      if (found && pass == 2 && unit->name[0] == 'm' && text[0] == 'M' && strlen(unit->name) == 2 &&
          unit->name[1] != 'm' && unit->name[1] != 's')
        continue;
      if (found && pass == 2 && unit->name[0] == 'M') continue;
      if (found) return unit;
    }
  return !any && in == BE_TEMPERATURE ? find_spaced(text, size) : NULL;
}

double be_unit_to_si(double value, const struct be_unit *unit)
{
  return value * unit->factor + unit->zero;
}

double be_unit_from_si(double value, const struct be_unit *unit)
{
  return (value - unit->zero) / unit->factor;
}

const struct be_unit *be_unit_find(const char *text, size_t size)
{
  return find(text, size, true, BE_FORCE);
}

const struct be_unit *be_unit_find_in(enum be_dimension dimension, const char *text, size_t size)
{
  return find(text, size, false, dimension);
}

const struct be_unit *be_unit_si(enum be_dimension dimension)
{
  for (size_t i = 0; i < UNITS; i++)
    if (units[i].dimension == dimension) return &units[i];
  return NULL;
}

const char *be_dimension_word(enum be_dimension dimension)
{
  static const char *const words[BE_DIMENSIONS] = {
      "force", "length", "time", "speed", "linear density", "voltage", "temperature", "ratio"};
  return words[dimension];
}

/* ---- quantities ---- */

static bool in_number(char c)
{
  return (c >= '0' && c <= '9') || c == '.' || c == ',' || c == '-' || c == '+' || c == '\'';
}

/* Where the number ends and the unit starts. A space belongs to the number
 * only when three digits follow it; an "e" only when an exponent does. */
static size_t number_end(const char *text, size_t size)
{
  size_t i = 0;
  while (i < size) {
    unsigned char c = (unsigned char)text[i];
    bool digit_before = i > 0 && text[i - 1] >= '0' && text[i - 1] <= '9';
    bool digit_after = i + 1 < size && text[i + 1] >= '0' && text[i + 1] <= '9';
    bool sign_after = i + 2 < size && (text[i + 1] == '-' || text[i + 1] == '+') &&
                      text[i + 2] >= '0' && text[i + 2] <= '9';
    if (in_number(text[i])) i++;
    else if (c == ' ' && digit_before && digit_after) i++;
    else if ((c == 'e' || c == 'E') && digit_before && (digit_after || sign_after)) i++;
    else break;
  }
  return i;
}

/* "12lb4oz" and "12 lb 4 oz", from where the first number ends. */
static bool add_ounces(const char *rest, size_t size, enum be_dimension dimension, double pounds,
                       struct be_quantity *quantity)
{
  const struct be_unit *lb = be_unit_find_in(dimension, "lb", 2),
                       *oz = be_unit_find_in(dimension, "oz", 2);
  size_t first = 0, second;
  double ounces = 0;
  enum be_number_style style;
  while (first < size && !(rest[first] >= '0' && rest[first] <= '9')) first++;
  size_t name = first;
  while (name && rest[name - 1] == ' ') name--;
  if (!lb || first == size || be_unit_find_in(dimension, rest, name) != lb) return false;
  second = number_end(rest + first, size - first);
  if (be_number_parse(rest + first, second, '.', &ounces, &style, NULL) != BE_OK) return false;
  size_t at = first + second;
  while (at < size && rest[at] == ' ') at++;
  bool whole = floor(pounds) >= pounds && pounds >= 0 && ounces >= 0 && ounces < 16;
  if (!whole || be_unit_find_in(dimension, rest + at, size - at) != oz) return false;
  quantity->unit = lb;
  quantity->value = (pounds + ounces / 16) * lb->factor;
  return true;
}

enum be_status be_quantity_parse(const char *text, size_t size, enum be_dimension dimension,
                                 const struct be_unit *fallback, char usual,
                                 struct be_quantity *quantity, struct be_err *err)
{
  while (size && (*text == ' ' || *text == '\t')) text++, size--;
  while (size && (text[size - 1] == ' ' || text[size - 1] == '\t')) size--;
  size_t end = number_end(text, size);
  double value = 0;
  enum be_status status = be_number_parse(text, end, usual, &value, &quantity->style, err);
  if (status == BE_BAD_INPUT) {
    be_fail(err, status, "\"%.*s\" is not a %s", (int)(size > 40 ? 40 : size), text,
            be_dimension_word(dimension));
    be_fail_remedy(err, "write the number first, then its unit, such as \"12.5 %s\"",
                   (fallback ? fallback : be_unit_si(dimension))->name);
    return status;
  }
  if (status != BE_OK) return status;
  while (end < size && text[end] == ' ') end++;
  quantity->unit = fallback;
  if (end < size) quantity->unit = be_unit_find_in(dimension, text + end, size - end);
  if (!quantity->unit && add_ounces(text + end, size - end, dimension, value, quantity))
    return BE_OK;
  if (!quantity->unit) {
    if (end == size) be_fail(err, BE_BAD_INPUT, "\"%.*s\" has no unit", (int)size, text);
    else
      be_fail(err, BE_BAD_INPUT, "\"%.*s\" is not a unit of %s", (int)(size - end), text + end,
              be_dimension_word(dimension));
    return be_fail_remedy(err, "write the unit after the number or in the column's head, such as "
                               "\"load (lb)\"");
  }
  quantity->value = be_unit_to_si(value, quantity->unit);
  return BE_OK;
}

void be_quantity_print(char *text, size_t size, double value, const struct be_unit *unit,
                       int decimals)
{
  double shown = be_unit_from_si(value, unit);
  if (isnan(shown)) snprintf(text, size, "-");
  else snprintf(text, size, "%.*f", decimals, shown);
}

int be_quantity_decimals(double typical, const struct be_unit *unit)
{
  double shown = fabs(be_unit_from_si(typical, unit));
  return !(shown > 0) ? 1 : shown >= 100 ? 1 : shown >= 10 ? 2 : shown >= 1 ? 3 : 4;
}
