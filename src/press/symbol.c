/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Symbols that a machine reads, as modules in memory: libzint encodes them, and draws nothing. */
#include "press/inside.h"

#include <string.h>
#include <zint.h>

/* Levels of error correction of ISO/IEC 18004: about 15 % of a symbol may be spoilt, else 7 %. */
enum { LEVEL_L = 1, LEVEL_M = 2 };

/* Code 128 of Latin-1 has no other characters. */
static bool is_latin1(const char *text)
{
  uint32_t code;
  size_t size = strlen(text), length;
  for (; (length = be_utf8_next(text, size, &code)) > 0; text += length, size -= length)
    if (code > 0xFF) return false;
  return true;
}

static bool is_ascii(const char *text)
{
  for (; *text; text++)
    if ((unsigned char)*text > 0x7E) return false;
  return true;
}

static enum be_status cannot(enum be_symbol_kind kind, const char *why, struct be_err *err)
{
  return be_fail(err, BE_BAD_INPUT, "%s: %s",
                 kind == BE_SYMBOL_BARS ? "it cannot be printed as bars"
                                        : "it cannot be printed as a square",
                 why);
}

static enum be_status copy(const struct zint_symbol *made, struct be_symbol *symbol,
                           struct be_err *err)
{
  int most = symbol->kind == BE_SYMBOL_BARS ? BE_SYMBOL_BARS_MAX : BE_SYMBOL_SIDE_MAX;
  if (made->width > most || made->rows > BE_SYMBOL_SIDE_MAX)
    return cannot(symbol->kind, "it is too long for a label", err);
  symbol->width = (size_t)made->width;
  symbol->rows = (size_t)made->rows;
  for (size_t row = 0; row < symbol->rows; row++)
    for (size_t i = 0; i < symbol->width; i++)
      symbol->dark[row * symbol->width + i] = made->encoded_data[row][i / 8] >> i % 8 & 1;
  return BE_OK;
}

static enum be_status encode(const char *text, int level, struct be_symbol *symbol,
                             struct be_err *err)
{
  bool bars = symbol->kind == BE_SYMBOL_BARS;
  struct zint_symbol *made = ZBarcode_Create();
  if (!made) return be_fail(err, BE_NO_MEMORY, "no memory for a symbol");
  made->symbology = bars ? BARCODE_CODE128 : BARCODE_QRCODE;
  made->input_mode = UNICODE_MODE;
  if (!bars) made->option_1 = level;
  if (!bars && !is_ascii(text)) made->eci = 26; /* says that it is UTF-8 */
  int failed = ZBarcode_Encode(made, (const unsigned char *)text, (int)strlen(text));
  enum be_status status =
      failed == ZINT_ERROR_MEMORY     ? be_fail(err, BE_NO_MEMORY, "no memory for a symbol")
      : failed == ZINT_ERROR_TOO_LONG ? cannot(symbol->kind, "it is too long for a label", err)
      : failed >= ZINT_ERROR          ? cannot(symbol->kind, made->errtxt, err)
                                      : copy(made, symbol, err);
  ZBarcode_Delete(made);
  return status;
}

enum be_status be_symbol_make(enum be_symbol_kind kind, const char *text, struct be_symbol *symbol,
                              struct be_err *err)
{
  *symbol = (struct be_symbol){.kind = kind};
  if (!*text) return cannot(kind, "it is empty", err);
  if (!be_utf8_valid(text, strlen(text))) return cannot(kind, "it is not UTF-8", err);
  if (strlen(text) > BE_SYMBOL_TEXT_MAX) return cannot(kind, "it is too long for a label", err);
  if (kind == BE_SYMBOL_BARS && !is_latin1(text))
    return cannot(kind, "it has a character that is not of Latin-1, as Code 128 takes them", err);
  enum be_status status = encode(text, LEVEL_M, symbol, err);
  if (status == BE_BAD_INPUT && kind == BE_SYMBOL_SQUARE)
    status = encode(text, LEVEL_L, symbol, err);
  return status;
}

/* ---- drawing ---- */

/* 10 modules beside bars (ISO/IEC 15417), 4 all round a square (ISO/IEC 18004). */
struct be_symbol_edge be_symbol_edge(const struct be_symbol *symbol)
{
  bool bars = symbol->kind == BE_SYMBOL_BARS;
  return (struct be_symbol_edge){bars ? 10 : 4, bars ? 0 : 4};
}

/* Runs of dark modules as rectangles. */
void be_symbol_svg(const struct be_symbol *symbol, struct be_buf *out)
{
  bool bars = symbol->kind == BE_SYMBOL_BARS;
  struct be_symbol_edge edge = be_symbol_edge(symbol);
  size_t beside = edge.beside, above = edge.above;
  size_t width = symbol->width + 2 * beside, height = symbol->rows + 2 * above;
  be_buf_format(out, "<svg class=\"%s\" viewBox=\"0 0 %zu %zu\"%s ", bars ? "bars" : "square",
                width, height, bars ? " preserveAspectRatio=\"none\"" : "");
  be_buf_format(out,
                "role=\"img\" aria-label=\"its code as %s\"><rect width=\"%zu\" height=\"%zu\" ",
                bars ? "Code 128" : "QR", width, height);
  be_buf_text(out, "fill=\"#fff\"/><path fill=\"#000\" d=\"");
  for (size_t row = 0; row < symbol->rows; row++)
    for (size_t i = 0, run; i < symbol->width; i += run) {
      const unsigned char *dark = &symbol->dark[row * symbol->width + i];
      for (run = 1; i + run < symbol->width && dark[run] == *dark;) run++;
      if (*dark) be_buf_format(out, "M%zu %zuh%zuv1h-%zuz", i + beside, row + above, run, run);
    }
  be_buf_text(out, "\"/></svg>");
}
