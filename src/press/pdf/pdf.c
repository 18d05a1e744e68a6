/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The edition: blocks in turn, each asked first what it needs at least where it starts. */
#include "press/pdf/page.h"
#include "press/raster.h"

#include <assert.h>
#include <cairo-pdf.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static const double title_text = 22, part_text = 16, heading_text = 11.5;
/* Of very many headings those of the parts alone; the outline has all. */
enum { CONTENTS_FROM = 8, CONTENTS_MOST = 40 };

/* ---- what is kept together ---- */

/* Prose is kept whole, up to a third of a page. */
static double text_height(struct pdf *pdf, const char *text, double size, double width)
{
  struct words words = be_words(pdf, text, size, false, width);
  double height = words.lines * words.leading;
  be_words_free(&words);
  return fmin(height, be_page_height(false) / 3);
}

static double heading_height(struct pdf *pdf, const char *text, double size)
{
  struct words words = be_words(pdf, text, size, true, be_page_width(pdf->wide));
  double height = words.lines * words.leading + 1.6 * size;
  be_words_free(&words);
  return height;
}

static double prose_height(struct pdf *pdf, const struct block *block)
{
  switch (block->kind) {
  case BLOCK_HEADING: return heading_height(pdf, block->text, heading_text);
  case BLOCK_SENTENCE: return text_height(pdf, block->text, BE_BODY_TEXT, BE_PROSE) + 6;
  case BLOCK_NOTE: return text_height(pdf, block->text, BE_NOTE_TEXT, BE_PROSE) + 6;
  case BLOCK_CAUTION: return text_height(pdf, block->text, BE_BODY_TEXT, BE_PROSE - 24) + 36;
  case BLOCK_FACT: return 3 * BE_BODY_TEXT;
  case BLOCK_TABLE:
  case BLOCK_FIGURE:
  case BLOCK_PICTURE: break;
  }
  return 0;
}

/* What is needed from block i on for it to stand well; a heading takes along the sentences below
 * it and what these are about. */
enum { TAKEN_ALONG = 3 };

static enum be_status start_of(struct pdf *pdf, const struct be_doc *doc, struct spot *spots,
                               size_t i, double *height, bool *wide, struct be_err *err)
{
  enum be_status status = BE_OK;
  bool headed = doc->blocks[i].kind == BLOCK_HEADING;
  size_t sentences = 0;
  double start = 0;
  *height = 0;
  *wide = false;
  for (; i < doc->block_count && sentences <= TAKEN_ALONG; i++) {
    const struct block *block = &doc->blocks[i];
    *height += prose_height(pdf, block);
    if (block->kind == BLOCK_TABLE)
      status = be_pdf_table_start(pdf, block->table, &spots[i], &start, err);
    if (block->kind == BLOCK_FIGURE)
      status = be_pdf_figure_start(pdf, block, &spots[i], &start, err);
    if (block->kind == BLOCK_SENTENCE || block->kind == BLOCK_NOTE) sentences++;
    else if (block->kind != BLOCK_HEADING) {
      *wide = spots[i].wide;
      break;
    }
    if (!headed) break;
  }
  *height += start;
  return status;
}

/* ---- blocks of text ---- */

/* Line by line; what does not fit goes on, with two lines at least on either page. What is on two
 * pages is one element of two. */
static void paragraph(struct pdf *pdf, const char *text, double size, enum be_tone tone)
{
  const double hair = 0.001; /* what was measured fits whatever was rounded */
  struct words words = be_words(pdf, text, size, false, BE_PROSE);
  int from = 0;
  be_tag(pdf, "P");
  while (from < words.lines) {
    int left = words.lines - from;
    int fit = (int)floor(be_page_room(pdf) / words.leading + hair);
    if (fit < left && fit > left - 2) fit = left - 2;
    if (fit < left && fit < 2 && !pdf->blank) {
      be_page_next(pdf, pdf->wide);
      continue;
    }
    if (fit < 1) fit = 1;
    if (fit > left) fit = left;
    const char *piece = fit < words.lines ? "Span" : NULL;
    be_tag(pdf, piece);
    be_words_show(pdf, &words, from, fit, be_page_left(), pdf->y, false, tone);
    be_tag_end(pdf, piece);
    pdf->y += fit * words.leading;
    pdf->blank = false;
    from += fit;
  }
  be_tag_end(pdf, "P");
  be_words_free(&words);
}

static void mark(struct pdf *pdf, struct spot *spot, const char *text, int *parent)
{
  char place[80];
  spot->page = pdf->page;
  spot->y = pdf->y;
  if (pdf->dry) return;
  snprintf(place, sizeof place, "page=%u pos=[%.0f %.0f]", pdf->page, be_page_left(), pdf->y);
  *parent = cairo_pdf_surface_add_outline(pdf->surface, *parent, text, place, 0);
}

static void heading(struct pdf *pdf, const char *text, double size, const char *element)
{
  if (!pdf->blank) pdf->y += size;
  struct words words = be_words(pdf, text, size, true, be_page_width(pdf->wide));
  be_tag(pdf, element);
  be_words_show(pdf, &words, 0, words.lines, be_page_left(), pdf->y, false, BE_TONE_INK);
  be_tag_end(pdf, element);
  pdf->y += words.lines * words.leading + 0.4 * size;
  pdf->blank = false;
  be_words_free(&words);
}

/* In a heavy frame, with its word. */
static void caution(struct pdf *pdf, const char *text)
{
  const double pad = 10, frame = 2;
  struct words word = be_words(pdf, "CAUTION", BE_BODY_TEXT, true, 0);
  struct words words = be_words(pdf, text, BE_BODY_TEXT, false, BE_PROSE - 2 * pad);
  double height = word.leading + words.lines * words.leading + 2 * pad;
  double x = be_page_left(), y = pdf->y + frame;
  if (!pdf->dry) {
    be_page_tone(pdf, BE_TONE_STOP);
    cairo_set_line_width(pdf->cairo, frame);
    cairo_rectangle(pdf->cairo, x + frame / 2, y, BE_PROSE - frame, height);
    cairo_stroke(pdf->cairo);
  }
  be_tag(pdf, "P");
  be_words_show(pdf, &word, 0, 1, x + pad, y + pad, false, BE_TONE_STOP);
  be_tag_end(pdf, "P");
  be_tag(pdf, "P");
  be_words_show(pdf, &words, 0, words.lines, x + pad, y + pad + word.leading, false, BE_TONE_INK);
  be_tag_end(pdf, "P");
  pdf->y += height + 2 * frame + 8;
  pdf->blank = false;
  be_words_free(&word);
  be_words_free(&words);
}

/* The values that follow one another begin at one place. */
static double fact_column(struct pdf *pdf, const struct be_doc *doc, size_t i)
{
  double widest = 0;
  for (; i < doc->block_count && doc->blocks[i].kind == BLOCK_FACT; i++)
    widest = fmax(widest, be_words_width(pdf, doc->blocks[i].label, BE_BODY_TEXT));
  return fmin(widest, BE_PROSE / 2) + 14;
}

/* Returns how high it is. */
static double fact_at(struct pdf *pdf, const struct block *block, double x, double column,
                      double width, bool show)
{
  struct words label = be_words(pdf, block->label, BE_BODY_TEXT, false, column - 8);
  struct words value = be_words(pdf, block->text, BE_BODY_TEXT, false, width - column);
  int lines = label.lines > value.lines ? label.lines : value.lines;
  double height = lines * label.leading;
  if (show) {
    be_tag(pdf, "LI");
    be_tag(pdf, "Lbl");
    be_words_show(pdf, &label, 0, label.lines, x, pdf->y, false, BE_TONE_MUTED);
    be_tag_end(pdf, "Lbl");
    be_tag(pdf, "LBody");
    be_words_show(pdf, &value, 0, value.lines, x + column, pdf->y, false, BE_TONE_INK);
    be_tag_end(pdf, "LBody");
    be_tag_end(pdf, "LI");
  }
  be_words_free(&label);
  be_words_free(&value);
  return height;
}

/* Pairs of them have room beside one another, with room to write below each. */
static void fact(struct pdf *pdf, const struct be_doc *doc, size_t i)
{
  size_t first = i, beside = pdf->by_hand ? 2 : 1, past = i;
  while (first > 0 && doc->blocks[first - 1].kind == BLOCK_FACT) first--;
  double column = fact_column(pdf, doc, first), height = 0;
  double width = be_page_width(pdf->wide) / (double)beside;
  while (past < doc->block_count && doc->blocks[past].kind == BLOCK_FACT) past++;
  if ((i - first) % beside != 0) return;
  if (i == first) be_tag(pdf, "L");
  for (size_t k = 0; i + k < past && k < beside; k++)
    height = fmax(height, fact_at(pdf, &doc->blocks[i + k], 0, column, width, false));
  be_page_need(pdf, fmin(height, be_page_height(pdf->wide)), pdf->wide);
  for (size_t k = 0; i + k < past && k < beside; k++)
    fact_at(pdf, &doc->blocks[i + k], be_page_left() + (double)k * width, column, width, true);
  pdf->y += height + (pdf->by_hand ? 8 : 2);
  pdf->blank = false;
  if (i + beside < past) return;
  be_tag_end(pdf, "L");
  pdf->y += 8;
}

/* ---- contents ---- */

static size_t headings_of(const struct pdf *pdf)
{
  size_t count = pdf->count - 1;
  for (size_t d = 0; d < pdf->count; d++)
    for (size_t i = 0; i < pdf->docs[d]->block_count; i++)
      count += pdf->docs[d]->blocks[i].kind == BLOCK_HEADING;
  return count;
}

static void entry(struct pdf *pdf, const struct spot *spot, const char *text, double indent)
{
  char number[24], place[80];
  double size = BE_NOTE_TEXT, x = be_page_left() + indent;
  snprintf(number, sizeof number, "%u", spot->page);
  struct words words = be_words(pdf, text, size, indent == 0, BE_PROSE - indent - 40);
  struct words page = be_words(pdf, number, size, false, 0);
  double height = words.lines * words.leading + (indent == 0 ? 3 : 0);
  be_page_need(pdf, height, false);
  be_tag(pdf, "TOCI");
  if (!pdf->dry) {
    snprintf(place, sizeof place, "page=%u pos=[%.0f %.0f]", spot->page, be_page_left(), spot->y);
    cairo_tag_begin(pdf->cairo, CAIRO_TAG_LINK, place);
  }
  double y = pdf->y + (indent == 0 ? 3 : 0);
  be_tag(pdf, "Span");
  be_words_show(pdf, &words, 0, words.lines, x, y, false,
                indent == 0 ? BE_TONE_INK : BE_TONE_MUTED);
  be_tag_end(pdf, "Span");
  be_tag(pdf, "Span");
  be_words_show(pdf, &page, 0, 1, be_page_left() + BE_PROSE, y + (words.lines - 1) * words.leading,
                true, BE_TONE_MUTED);
  be_tag_end(pdf, "Span");
  be_tag_end(pdf, CAIRO_TAG_LINK);
  be_tag_end(pdf, "TOCI");
  pdf->y += height;
  pdf->blank = false;
  be_words_free(&words);
  be_words_free(&page);
}

static void contents(struct pdf *pdf)
{
  const struct spot *spot = pdf->spots;
  size_t count = headings_of(pdf);
  bool all = count <= CONTENTS_MOST || pdf->count == 1;
  if (count < CONTENTS_FROM) return;
  heading(pdf, "Contents", heading_text, "H2");
  be_tag(pdf, "TOC");
  for (size_t d = 0; d < pdf->count; d++) {
    const struct be_doc *doc = pdf->docs[d];
    if (d > 0) entry(pdf, spot, doc->title, 0);
    spot++;
    for (size_t i = 0; i < doc->block_count; i++, spot++)
      if (all && doc->blocks[i].kind == BLOCK_HEADING) entry(pdf, spot, doc->blocks[i].text, 12);
  }
  be_tag_end(pdf, "TOC");
  pdf->y += 10;
}

/* ---- the whole ---- */

static enum be_status figure(struct pdf *pdf, const struct be_doc *doc, struct spot *spots,
                             size_t i, struct be_err *err)
{
  be_tag(pdf, "Div");
  enum be_status status = be_pdf_figure(pdf, doc, spots, i, err);
  const char *words = be_block_shown(&doc->blocks[i]).words;
  if (status == BE_OK && be_told_apart(pdf, words)) be_told_columns(pdf, words);
  else if (status == BE_OK && *words) paragraph(pdf, words, BE_NOTE_TEXT, BE_TONE_MUTED);
  be_tag_end(pdf, "Div");
  pdf->y += BE_FIGURE_GAP;
  return status;
}

static bool leads(const struct block *block)
{
  return block->kind == BLOCK_SENTENCE || block->kind == BLOCK_CAUTION ||
         block->kind == BLOCK_FACT || block->kind == BLOCK_NOTE;
}

static enum be_status block_of(struct pdf *pdf, const struct be_doc *doc, struct spot *spots,
                               size_t i, int part, struct be_err *err)
{
  const struct block *block = &doc->blocks[i];
  double height;
  bool wide;
  enum be_status status = start_of(pdf, doc, spots, i, &height, &wide, err);
  if (status != BE_OK) return status;
  /* Words that come to a new page do not turn it. */
  wide |= pdf->by_hand || (pdf->wide && leads(block));
  if (pdf->by_hand && block->kind == BLOCK_HEADING && !pdf->blank) be_page_next(pdf, true);
  /* A figure after long prose below one heading would leave most of a page empty. */
  bool too_much = block->kind == BLOCK_HEADING && height > be_page_height(wide);
  be_page_need(pdf, too_much ? be_page_height(wide) / 4 : height, wide);
  switch (block->kind) {
  case BLOCK_HEADING:
    mark(pdf, &spots[i], block->text, &part);
    heading(pdf, block->text, heading_text, pdf->headings);
    break;
  case BLOCK_SENTENCE:
    paragraph(pdf, block->text, BE_BODY_TEXT, BE_TONE_INK);
    pdf->y += 6;
    break;
  case BLOCK_NOTE:
    paragraph(pdf, block->text, BE_NOTE_TEXT, BE_TONE_MUTED);
    pdf->y += 6;
    break;
  case BLOCK_CAUTION: caution(pdf, block->text); break;
  case BLOCK_FACT: fact(pdf, doc, i); break;
  case BLOCK_TABLE:
    be_pdf_table(pdf, block->table, &spots[i], !be_table_named_above(doc, i));
    break;
  case BLOCK_FIGURE: return figure(pdf, doc, spots, i, err);
  case BLOCK_PICTURE: break; /* its address leads nowhere */
  }
  return BE_OK;
}

/* The first title is that of the whole; a part starts where half a page is left. */
static int title_of(struct pdf *pdf, const struct be_doc *doc, struct spot *spot, bool first)
{
  int outline = CAIRO_PDF_OUTLINE_ROOT;
  if (!first) be_page_need(pdf, be_page_height(false) / 2, false);
  if (!first && pdf->wide != pdf->by_hand) be_page_next(pdf, pdf->by_hand);
  if (first && pdf->edition->site) {
    struct words words = be_words(pdf, pdf->edition->site, BE_BODY_TEXT, false, 0);
    be_tag(pdf, "P");
    be_words_show(pdf, &words, 0, 1, be_page_left(), pdf->y, false, BE_TONE_MUTED);
    be_tag_end(pdf, "P");
    pdf->y += words.leading;
    be_words_free(&words);
  }
  if (!pdf->blank) {
    pdf->y += part_text;
    be_page_rule(pdf, be_page_left(), be_page_left() + be_page_width(false), pdf->y, 0.8,
                 BE_TONE_INK);
  }
  mark(pdf, spot, doc->title, &outline);
  heading(pdf, doc->title, first ? title_text : part_text, first ? "H1" : "H2");
  return outline;
}

static bool by_hand(const struct be_doc *doc)
{
  for (size_t i = 0; i < doc->block_count; i++)
    if (doc->blocks[i].kind == BLOCK_TABLE && doc->blocks[i].table->by_hand) return true;
  return false;
}

static enum be_status run(struct pdf *pdf, struct be_err *err)
{
  enum be_status status = BE_OK;
  struct spot *spot = pdf->spots;
  pdf->page = pdf->figures = 0;
  be_page_begin(pdf, by_hand(pdf->docs[0]));
  be_tag(pdf, "Document");
  for (size_t d = 0; d < pdf->count && status == BE_OK; d++) {
    const struct be_doc *doc = pdf->docs[d];
    pdf->by_hand = by_hand(doc);
    pdf->headings = d == 0 ? "H2" : "H3";
    be_tag(pdf, "Sect");
    int part = title_of(pdf, doc, spot++, d == 0);
    bool leading = d == 0;
    for (size_t i = 0; i < doc->block_count && status == BE_OK; i++) {
      if (leading && !leads(&doc->blocks[i])) {
        contents(pdf);
        leading = false;
      }
      status = block_of(pdf, doc, spot, i, part, err);
    }
    if (leading && status == BE_OK) contents(pdf);
    spot += doc->block_count;
    be_tag_end(pdf, "Sect");
  }
  be_tag_end(pdf, "Document");
  be_page_end(pdf);
  pdf->pages = pdf->page;
  return status;
}

static void add_name(struct be_buf *names, const char *name)
{
  enum { ALL_LONGEST = 2000, ONE_LONGEST = 200 };
  if (names->size < ALL_LONGEST && strlen(name) < ONE_LONGEST)
    be_buf_format(names, "%s%s", names->size ? ", " : "", name);
}

/* Its first sentence says what it is about, the names of its parts what it holds. */
static enum be_status tell_contents(const struct pdf *pdf)
{
  const struct be_doc *first = pdf->docs[0];
  struct be_buf names;
  be_buf_init(&names, 1 << 12);
  for (size_t d = 1; d < pdf->count; d++) add_name(&names, pdf->docs[d]->title);
  for (size_t i = 0; i < first->block_count && pdf->count == 1; i++)
    if (first->blocks[i].kind == BLOCK_HEADING) add_name(&names, first->blocks[i].text);
  if (names.size && names.status == BE_OK)
    cairo_pdf_surface_set_metadata(pdf->surface, CAIRO_PDF_METADATA_KEYWORDS, names.data);
  enum be_status status = names.status;
  be_buf_free(&names);
  if (first->block_count && first->blocks[0].kind == BLOCK_SENTENCE)
    cairo_pdf_surface_set_metadata(pdf->surface, CAIRO_PDF_METADATA_SUBJECT, first->blocks[0].text);
  return status;
}

/* What is told of the whole file; no clock. */
static enum be_status tell(const struct pdf *pdf)
{
  char creator[64];
  const char *moment = pdf->edition->moment ? pdf->edition->moment : BE_RASTER_DAY;
  snprintf(creator, sizeof creator, "bitterend %.40s", be_version);
  cairo_pdf_surface_set_metadata(pdf->surface, CAIRO_PDF_METADATA_TITLE, pdf->docs[0]->title);
  cairo_pdf_surface_set_metadata(pdf->surface, CAIRO_PDF_METADATA_CREATOR, creator);
  cairo_pdf_surface_set_metadata(pdf->surface, CAIRO_PDF_METADATA_CREATE_DATE, moment);
  if (pdf->edition->site)
    cairo_pdf_surface_set_metadata(pdf->surface, CAIRO_PDF_METADATA_AUTHOR, pdf->edition->site);
  return tell_contents(pdf);
}

static size_t spots_of(const struct pdf *pdf)
{
  size_t spots = pdf->count;
  for (size_t d = 0; d < pdf->count; d++) spots += pdf->docs[d]->block_count;
  return spots;
}

static enum be_status open_sheet(struct pdf *pdf, struct be_buf *out)
{
  pdf->arena = be_arena_create();
  pdf->spots = pdf->arena ? be_arena_alloc(pdf->arena, spots_of(pdf) * sizeof *pdf->spots) : NULL;
  if (!pdf->spots) return BE_NO_MEMORY;
  pdf->surface = cairo_pdf_surface_create_for_stream(be_raster_take, out, 595, 842);
  pdf->cairo = cairo_create(pdf->surface);
  pdf->context = pango_cairo_create_context(pdf->cairo);
  cairo_font_options_t *options = cairo_font_options_create();
  cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
  cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
  pango_cairo_context_set_font_options(pdf->context, options);
  cairo_set_font_options(pdf->cairo, options);
  cairo_font_options_destroy(options);
  pango_cairo_context_set_resolution(pdf->context, 72);
  pango_context_set_round_glyph_positions(pdf->context, FALSE);
  pango_context_set_language(pdf->context, pango_language_from_string("en"));
  return tell(pdf);
}

enum be_status be_doc_pdf(const struct be_doc *const *docs, size_t count,
                          const struct be_edition *edition, struct be_buf *out, struct be_err *err)
{
  assert(count > 0 && edition);
  struct pdf pdf = {.docs = docs, .count = count, .edition = edition, .dry = true};
  enum be_status status = BE_OK;
  for (size_t i = 0; i < count && status == BE_OK; i++) status = be_doc_status(docs[i], err);
  if (status == BE_OK) status = be_font_ready(err);
  if (status != BE_OK) return status;
  status = open_sheet(&pdf, out);
  if (status != BE_OK) be_fail(err, status, "no memory for the pages");
  if (status == BE_OK) status = run(&pdf, err);
  pdf.dry = false;
  if (status == BE_OK) status = run(&pdf, err);
  for (size_t i = 0; pdf.spots && i < spots_of(&pdf); i++) be_buf_free(&pdf.spots[i].svg);
  if (pdf.plain) g_object_unref(pdf.plain);
  if (pdf.context) g_object_unref(pdf.context);
  if (pdf.cairo) cairo_destroy(pdf.cairo);
  if (pdf.surface) cairo_surface_finish(pdf.surface);
  if (out->status != BE_OK) status = be_buf_status(out, err); /* drawing fails for it too */
  if (status == BE_OK && cairo_surface_status(pdf.surface) != CAIRO_STATUS_SUCCESS)
    status = be_fail(err, BE_NO_MEMORY, "no memory for the pages");
  if (pdf.surface) cairo_surface_destroy(pdf.surface);
  be_arena_free(pdf.arena);
  return status;
}
