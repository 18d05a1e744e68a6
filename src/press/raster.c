/* SPDX-License-Identifier: GPL-3.0-or-later */
/* PNG and PDF of an SVG by librsvg and cairo. They read fonts from the system, which is all that
 * this room knows of a disk: a configuration of our own, kept in memory, lets them see one family,
 * so that a picture is the same on every machine, and behind it, for letters that it lacks, the
 * usual ones of Chinese, Japanese and Korean, and of emoji, where they are installed. */
#include "press/raster.h"

#include "press/png.h"
#include "press/press.h"

#include <cairo-pdf.h>
#include <cairo.h>
#include <fontconfig/fontconfig.h>
#include <librsvg/rsvg.h>
#include <math.h>
#include <string.h>

static const char fonts[] =
    "<?xml version=\"1.0\"?><!DOCTYPE fontconfig SYSTEM \"urn:fontconfig:fonts.dtd\"><fontconfig>"
    "<dir>/usr/share/fonts/truetype/dejavu</dir><dir>/usr/share/fonts/dejavu-sans-fonts</dir>"
    "<dir>/usr/share/fonts/TTF</dir><dir>/usr/share/fonts/truetype/droid</dir>"
    "<dir>/usr/share/fonts/opentype/noto</dir><dir>/usr/share/fonts/truetype/noto</dir>"
    "<dir>/usr/share/fonts/google-noto-color-emoji-fonts</dir><dir>/usr/share/fonts/noto</dir>"
    "<cachedir>/var/cache/fontconfig</cachedir>"
    "<selectfont><acceptfont><glob>*/DejaVuSans.ttf</glob><glob>*/DejaVuSans-Bold.ttf</glob>"
    "<glob>*/DroidSansFallbackFull.ttf</glob><glob>*/NotoSansCJK-Regular.ttc</glob>"
    "<glob>*/NotoColorEmoji.ttf</glob></"
    "acceptfont><rejectfont><glob>*</glob></rejectfont></selectfont>"
    "<match target=\"pattern\"><edit name=\"family\" mode=\"assign\" binding=\"strong\">"
    "<string>DejaVu Sans</string></edit></match>"
    /* Emoji are pictures of one size: scaled to that of the letters beside them. */
    "<match target=\"font\"><test name=\"outline\"><bool>false</bool></test>"
    "<edit name=\"pixelsizefixupfactor\" mode=\"assign\"><divide>"
    "<name target=\"pattern\">pixelsize</name><name "
    "target=\"font\">pixelsize</name></divide></edit>"
    "<edit name=\"matrix\" mode=\"assign\"><times><name>matrix</name><matrix>"
    "<name>pixelsizefixupfactor</name><double>0</double><double>0</double>"
    "<name>pixelsizefixupfactor</name></matrix></times></edit></match></fontconfig>";

static bool has_family(const FcFontSet *set)
{
  FcChar8 *name;
  for (int i = 0; set && i < set->nfont; i++)
    if (FcPatternGetString(set->fonts[i], FC_FAMILY, 0, &name) == FcResultMatch &&
        strcmp((const char *)name, "DejaVu Sans") == 0)
      return true;
  return false;
}

/* Once for the whole program, whichever thread comes first. */
static bool has_font(void)
{
  static gsize known; /* 1: no; 2: yes */
  if (g_once_init_enter(&known)) {
    FcConfig *config = FcConfigCreate();
    bool found = config && FcConfigParseAndLoadFromMemory(config, (const FcChar8 *)fonts, FcTrue) &&
                 FcConfigBuildFonts(config);
    const FcFontSet *set = found ? FcConfigGetFonts(config, FcSetSystem) : NULL;
    found = has_family(set) && FcConfigSetCurrent(config);
    if (config) FcConfigDestroy(config);
    g_once_init_leave(&known, found ? 2 : 1);
  }
  return known == 2;
}

enum be_status be_font_ready(struct be_err *err)
{
  if (has_font()) return BE_OK;
  be_fail(err, BE_FAILED, "there is no font to set texts in");
  be_fail_remedy(err, "install DejaVu Sans; on Debian: apt-get install fonts-dejavu-core");
  return BE_FAILED;
}

/* ---- reading the SVG ---- */

struct sheet {
  RsvgHandle *svg;
  double width, height; /* as wanted */
};

static enum be_status open_sheet(const char *svg, size_t size, double width, struct sheet *sheet,
                                 struct be_err *err)
{
  GError *error = NULL;
  double own_width, own_height;
  if (!(width >= 1 && width <= BE_RASTER_MAX))
    return be_fail(err, BE_TOO_LARGE, "a picture is 1 to %d px wide, not %g", BE_RASTER_MAX, width);
  if (be_font_ready(err) != BE_OK) return BE_FAILED;
  sheet->svg = rsvg_handle_new_from_data((const guint8 *)svg, size, &error);
  if (!sheet->svg) {
    be_fail(err, BE_BAD_INPUT, "this is no SVG: %s", error ? error->message : "it is empty");
    g_clear_error(&error);
    return BE_BAD_INPUT;
  }
  if (!rsvg_handle_get_intrinsic_size_in_pixels(sheet->svg, &own_width, &own_height) ||
      !(own_width > 0 && own_height > 0))
    return be_fail(err, BE_BAD_INPUT, "the SVG does not say how large it is in px");
  sheet->width = ceil(width);
  sheet->height = ceil(own_height * width / own_width);
  if (sheet->height > BE_RASTER_MAX)
    return be_fail(err, BE_TOO_LARGE, "a picture is at most %d px high, not %.0f", BE_RASTER_MAX,
                   sheet->height);
  return BE_OK;
}

/* Draws it and closes the surface. */
static enum be_status draw(const struct sheet *sheet, cairo_surface_t *surface, struct be_err *err)
{
  GError *error = NULL;
  const RsvgRectangle all = {0, 0, sheet->width, sheet->height};
  cairo_t *cairo = cairo_create(surface);
  bool drawn = rsvg_handle_render_document(sheet->svg, cairo, &all, &error);
  cairo_status_t status = cairo_status(cairo);
  cairo_destroy(cairo);
  if (status == CAIRO_STATUS_SUCCESS) status = cairo_surface_status(surface);
  if (status == CAIRO_STATUS_NO_MEMORY) be_fail(err, BE_NO_MEMORY, "no memory for the picture");
  else if (!drawn || status != CAIRO_STATUS_SUCCESS)
    be_fail(err, BE_BAD_INPUT, "the SVG cannot be drawn: %s",
            error ? error->message : cairo_status_to_string(status));
  g_clear_error(&error);
  if (status == CAIRO_STATUS_NO_MEMORY) return BE_NO_MEMORY;
  return drawn && status == CAIRO_STATUS_SUCCESS ? BE_OK : BE_BAD_INPUT;
}

cairo_status_t be_raster_take(void *out, const unsigned char *bytes, unsigned size)
{
  struct be_buf *buf = out;
  be_buf_add(buf, bytes, size);
  return CAIRO_STATUS_SUCCESS;
}

/* ---- editions ---- */

enum be_status be_png(const char *svg, size_t size, double width, struct be_buf *out,
                      struct be_err *err)
{
  struct sheet sheet = {0};
  cairo_surface_t *surface = NULL;
  enum be_status status = open_sheet(svg, size, width, &sheet, err);
  if (status == BE_OK) {
    surface = cairo_image_surface_create(CAIRO_FORMAT_ARGB32, (int)sheet.width, (int)sheet.height);
    status = draw(&sheet, surface, err);
  }
  if (status == BE_OK && be_png_write(surface, out) != BE_OK)
    status = out->status != BE_OK ? be_buf_status(out, err)
                                  : be_fail(err, BE_NO_MEMORY, "no memory for the picture");
  if (surface) cairo_surface_destroy(surface);
  if (sheet.svg) g_object_unref(sheet.svg);
  return status;
}

/* At 96 px an inch, as style sheets have it; a page is measured in points of 1/72 inch. */
enum be_status be_pdf(const char *svg, size_t size, double width, const char *title,
                      struct be_buf *out, struct be_err *err)
{
  struct sheet sheet = {0};
  cairo_surface_t *surface = NULL;
  enum be_status status = open_sheet(svg, size, width, &sheet, err);
  if (status == BE_OK) {
    sheet.width *= 0.75;
    sheet.height *= 0.75;
    surface = cairo_pdf_surface_create_for_stream(be_raster_take, out, sheet.width, sheet.height);
    /* The same picture gives the same bytes. */
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE, BE_RASTER_DAY);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, title);
    status = draw(&sheet, surface, err);
    cairo_surface_finish(surface);
    if (status == BE_OK) status = be_buf_status(out, err);
    if (status == BE_OK && cairo_surface_status(surface) != CAIRO_STATUS_SUCCESS)
      status = be_fail(err, BE_NO_MEMORY, "no memory for the picture");
  }
  if (surface) cairo_surface_destroy(surface);
  if (sheet.svg) g_object_unref(sheet.svg);
  return status;
}
