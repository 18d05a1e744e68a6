/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Every text passes through be_markup_text; nothing else here is not constant. */
#include "press/inside.h"

#include <assert.h>
#include <string.h>

struct page {
  struct be_buf *out;
  unsigned figures;  /* drawn so far, for their ids */
  unsigned tables;   /* the same; regions must have names of their own */
  unsigned headings; /* written so far inside documents, for theirs */
  int heading;       /* the level of headings inside the present document */
  const struct be_edition *edition;
};

/* Constant markup around a text. */
static void wrap(struct be_buf *out, const char *before, const char *text, const char *after)
{
  be_buf_text(out, before);
  be_markup_text(out, text);
  be_buf_text(out, after);
}

/* The way to another page, which is asked the same as this one. */
static void way_to(struct be_buf *out, const char *address, const struct be_edition *edition)
{
  wrap(out, "<a href=\"", address, "");
  if (edition->asking) wrap(out, strchr(address, '?') ? "&amp;" : "?", edition->asking, "");
  be_buf_char(out, '"');
}

/* ---- tables ---- */

/* Columns of short texts are not broken over lines, and those of sentences not into single words.
 */
enum { SHORT_TEXT_MAX = 16, LONG_TEXT_MIN = 60 };

static const char *class_of(const struct be_table *table, size_t column)
{
  switch (table->columns[column].kind) {
  case BE_COLUMN_NUMBER: return " class=\"number\"";
  case BE_COLUMN_INTERVAL: return " class=\"interval\"";
  case BE_COLUMN_COUNT: return " class=\"count\"";
  case BE_COLUMN_TEXT: break;
  }
  size_t widest = table->widest[column];
  return widest <= SHORT_TEXT_MAX  ? " class=\"short\""
         : widest >= LONG_TEXT_MIN ? " class=\"long\""
                                   : "";
}

/* A head is broken here, into lines of about one length; the sheet keeps them. */
static void head_of(struct be_buf *out, const struct be_table *table, size_t column)
{
  enum { LEAST = 9, OF_TEXT = 24 };
  const char *head = table->columns[column].head;
  size_t width = be_text_columns(head, strlen(head)) / 2 + 3;
  size_t least = table->widest[column] > SHORT_TEXT_MAX ? OF_TEXT : LEAST;
  struct be_buf lines;
  be_buf_init(&lines, DOC_TEXT_MAX);
  be_text_wrap(&lines, head, width < least ? least : width, 0);
  if (lines.status != BE_OK) out->status = lines.status;
  else {
    lines.data[lines.size - 1] = '\0'; /* the end of the last line */
    wrap(out, "", lines.data, "</th>");
  }
  be_buf_free(&lines);
}

static void heads(struct be_buf *out, const struct be_table *table)
{
  be_buf_text(out, "<thead><tr>");
  for (size_t i = 0; i < table->column_count; i++) {
    const struct be_column *column = &table->columns[i];
    if (column->program_only) continue;
    if (!*column->head) { /* a head of nothing names nothing */
      be_buf_format(out, "<td%s></td>", class_of(table, i));
      continue;
    }
    be_buf_format(out, "<th scope=\"col\"%s>", class_of(table, i));
    head_of(out, table, i);
  }
  be_buf_text(out, "</tr></thead>\n");
}

/* Spaces as wide as a point and as a digit, so that the points line up. */
static void tail(struct be_buf *out, size_t missing, bool point)
{
  for (size_t i = 0; i < missing; i++)
    be_buf_text(out, i == 0 && point ? "\xE2\x80\x88" : "\xE2\x80\x87");
}

static void cell_of(const struct page *page, const struct be_table *table, size_t row,
                    size_t column, bool names_row)
{
  struct be_buf *out = page->out;
  const struct cell *cell = be_table_cell(table, row, column);
  char room[CELL_ROOM];
  be_buf_text(out, names_row ? "<th scope=\"row\"" : "<td");
  be_buf_text(out, class_of(table, column));
  be_buf_char(out, '>');
  /* A report is a file: the addresses of pages lead nowhere in it. */
  bool link = cell->link && page->edition->places;
  if (link) {
    way_to(out, cell->link, page->edition);
    be_buf_char(out, '>');
  }
  be_markup_text(out, be_cell_text(cell, room));
  if (cell->kind == CELL_NUMBER) {
    size_t own = be_cell_tail(cell);
    tail(out, table->tails[column] - own, own == 0);
  }
  if (link) be_buf_text(out, "</a>");
  be_buf_text(out, names_row ? "</th>" : "</td>");
}

enum { ROWS_OPEN_MAX = 20 };

static void table_of(struct page *page, const struct be_table *table, bool named_above)
{
  struct be_buf *out = page->out;
  size_t rows = be_table_rows(table), shown = 0, first = table->column_count;
  for (size_t i = table->column_count; i-- > 0;)
    if (!table->columns[i].program_only) {
      shown++;
      first = i;
    }
  if (shown == 0) return;
  const char *name = *table->title ? table->title : table->name;
  bool folded = table->folded || (table->folded_long && rows > ROWS_OPEN_MAX);
  if (folded) wrap(out, "<details><summary>", name, "</summary>\n");
  be_buf_format(out, "<div class=\"table\" role=\"region\" tabindex=\"0\" aria-label=\"Table %u: ",
                ++page->tables);
  wrap(out, "", name, table->by_hand ? "\">\n<table class=\"by-hand\">\n" : "\">\n<table>\n");
  if (*table->title)
    wrap(out, named_above || folded ? "<caption class=\"unseen\">" : "<caption>", table->title,
         "</caption>\n");
  heads(out, table);
  be_buf_text(out, "<tbody>\n");
  for (size_t row = 0; row < rows; row++) {
    be_buf_text(out, "<tr>");
    for (size_t i = 0; i < table->column_count; i++)
      if (!table->columns[i].program_only)
        cell_of(page, table, row, i, i == first && table->columns[i].kind == BE_COLUMN_TEXT);
    be_buf_text(out, "</tr>\n");
  }
  if (rows == 0) be_buf_format(out, "<tr><td colspan=\"%zu\">No rows</td></tr>\n", shown);
  be_buf_text(out, "</tbody>\n</table>\n</div>\n");
  if (folded) be_buf_text(out, "</details>\n");
}

/* ---- labels ---- */

enum { LARGE_TEXT_MAX = 12 };

static void label_of(struct be_buf *out, const struct be_table *table, size_t row)
{
  char room[CELL_ROOM];
  const struct drawn *drawn = NULL;
  be_buf_text(out, "<li>");
  for (size_t i = 0; i < table->column_count; i++) {
    const struct be_column *column = &table->columns[i];
    if (column->program_only) continue;
    const struct cell *cell = be_table_cell(table, row, i);
    const char *text = be_cell_text(cell, room);
    bool large = be_text_columns(text, strlen(text)) <= LARGE_TEXT_MAX;
    if (cell->drawn) drawn = cell->drawn;
    wrap(out,
         i > 0   ? "<span>"
         : large ? "<strong>"
                 : "<strong class=\"small\">",
         column->head, *column->head ? ": " : "");
    wrap(out, "", text, i == 0 ? "</strong>" : "</span>");
  }
  for (; drawn; drawn = drawn->before) be_symbol_svg(&drawn->symbol, out);
  be_buf_text(out, "</li>\n");
}

static void labels_of(struct be_buf *out, const struct be_table *table)
{
  wrap(out, "<ul class=\"labels\" aria-label=\"", *table->title ? table->title : table->name,
       "\">\n");
  for (size_t row = 0; row < be_table_rows(table); row++) label_of(out, table, row);
  be_buf_text(out, "</ul>\n");
}

/* ---- blocks ---- */

/* Words and numbers of a figure, both folded away. */
static enum be_status caption_of(struct page *page, const struct block *block, struct be_err *err)
{
  struct be_doc *numbers = NULL;
  const char *words = be_block_shown(block).words;
  enum be_status status = block->figure ? be_numbers_doc(block->figure, &numbers, err) : BE_OK;
  if (status != BE_OK) return status;
  bool told = numbers && numbers->block_count;
  if (*words || told) {
    be_buf_text(page->out, "<figcaption>");
    if (*words)
      wrap(page->out, "<details><summary>In words</summary><p>", words, "</p></details>\n");
    if (told) table_of(page, numbers->blocks[0].table, false);
    be_buf_text(page->out, "</figcaption>\n");
  }
  be_doc_free(numbers);
  return BE_OK;
}

static enum be_status draw(struct page *page, const struct block *block, unsigned number,
                           struct be_err *err)
{
  if (block->drawing)
    return be_drawing_svg(block->drawing, BE_DRAWN_INLINE, number, page->out, err);
  enum be_status status =
      be_figure_svg(block->figure, BE_FRAME_SCREEN, BE_DRAWN_INLINE, number - 1, page->out, err);
  return status == BE_OK ? be_figure_svg(block->figure, BE_FRAME_COLUMN, BE_DRAWN_INLINE, number,
                                         page->out, err)
                         : status;
}

static enum be_status figure_of(struct page *page, const struct block *block, struct be_err *err)
{
  const struct shown shown = be_block_shown(block);
  page->figures += 2;
  unsigned number = page->figures;
  be_buf_format(page->out, "<figure aria-labelledby=\"figure-%u-name\">\n", number);
  be_buf_format(page->out, "<p class=\"title\" id=\"figure-%u-name\">", number);
  wrap(page->out, "", shown.title, "</p>\n");
  if (*shown.subtitle) wrap(page->out, "<p class=\"subtitle\">", shown.subtitle, "</p>\n");
  be_buf_format(page->out,
                "<div class=\"drawing\" role=\"region\" tabindex=\"0\" aria-label=\"Drawing %u: ",
                number / 2);
  wrap(page->out, "", shown.title, "\">\n");
  enum be_status status = draw(page, block, number, err);
  if (status != BE_OK) return status;
  be_buf_text(page->out, "</div>\n");
  status = caption_of(page, block, err);
  be_buf_text(page->out, "</figure>\n");
  return status;
}

/* The ways to the sections of a long document, folded away. */
enum { CONTENTS_FROM = 8, PARTS_FROM = 4 };

static void contents(const struct page *page, const struct be_doc *doc)
{
  unsigned number = page->headings;
  size_t count = 0;
  for (size_t i = 0; i < doc->block_count; i++) count += doc->blocks[i].kind == BLOCK_HEADING;
  if (count < CONTENTS_FROM) return;
  wrap(page->out, "<nav class=\"contents\" aria-label=\"On this page: ", doc->title,
       "\"><details><summary>On this page</summary><ul>\n");
  for (size_t i = 0; i < doc->block_count; i++) {
    if (doc->blocks[i].kind != BLOCK_HEADING) continue;
    be_buf_format(page->out, "<li><a href=\"#section-%u\">", ++number);
    wrap(page->out, "", doc->blocks[i].text, "</a></li>\n");
  }
  be_buf_text(page->out, "</ul></details></nav>\n");
}

static void section(struct page *page, const char *text)
{
  be_buf_format(page->out, "<h%d id=\"section-%u\">", page->heading, ++page->headings);
  be_markup_text(page->out, text);
  be_buf_format(page->out, "</h%d>\n", page->heading);
}

static void fact(struct be_buf *out, const struct be_doc *doc, size_t i)
{
  const struct block *block = &doc->blocks[i];
  if (i == 0 || doc->blocks[i - 1].kind != BLOCK_FACT) be_buf_text(out, "<dl>\n");
  wrap(out, "<div><dt>", block->label, "</dt>");
  wrap(out, "<dd>", block->text, "</dd></div>\n");
  if (i + 1 == doc->block_count || doc->blocks[i + 1].kind != BLOCK_FACT)
    be_buf_text(out, "</dl>\n");
}

/* Its address leads nowhere in a report. */
static void picture(const struct page *page, const struct block *block)
{
  if (!page->edition->places) return;
  if (block->key) {
    wrap(page->out, "<figure class=\"space\" data-tie=\"", block->key, "\" ");
    wrap(page->out, "data-name=\"", block->label, "\"><div class=\"still\">\n");
  }
  wrap(page->out, "<p class=\"picture\"><img src=\"", block->text, "\" ");
  wrap(page->out, "alt=\"", block->label, "\"></p>\n");
  if (block->key) be_buf_text(page->out, "</div></figure>\n");
}

static enum be_status body(struct page *page, const struct be_doc *doc, struct be_err *err)
{
  bool leading = true;
  for (size_t i = 0; i < doc->block_count; i++) {
    const struct block *block = &doc->blocks[i];
    if (leading && block->kind != BLOCK_SENTENCE) contents(page, doc);
    leading = leading && block->kind == BLOCK_SENTENCE;
    switch (block->kind) {
    case BLOCK_SENTENCE: wrap(page->out, "<p>", block->text, "</p>\n"); break;
    case BLOCK_HEADING: section(page, block->text); break;
    case BLOCK_NOTE: wrap(page->out, "<p class=\"note\">", block->text, "</p>\n"); break;
    case BLOCK_CAUTION:
      wrap(page->out, "<p class=\"caution\" role=\"note\"><strong>CAUTION</strong> ", block->text,
           "</p>\n");
      break;
    case BLOCK_FACT: fact(page->out, doc, i); break;
    case BLOCK_PICTURE: picture(page, block); break;
    case BLOCK_FIGURE: {
      enum be_status status = figure_of(page, block, err);
      if (status != BE_OK) return status;
      break;
    }
    case BLOCK_TABLE:
      if (block->table->labels) labels_of(page->out, block->table);
      else table_of(page, block->table, be_table_named_above(doc, i));
      break;
    }
  }
  return BE_OK;
}

/* ---- the page ---- */

/* A report of many documents opens with the ways to each of them. */
static void parts(struct be_buf *out, const struct be_doc *const *docs, size_t count)
{
  be_buf_text(out, "<nav aria-label=\"In this report\"><ul>\n");
  for (size_t i = 1; i < count; i++) {
    be_buf_format(out, "<li><a href=\"#part-%zu\">", i);
    wrap(out, "", docs[i]->title, "</a></li>\n");
  }
  be_buf_text(out, "</ul></nav>\n");
}

static void head(struct be_buf *out, const char *title, const struct be_edition *edition)
{
  be_buf_text(out, "<!DOCTYPE html>\n<html lang=\"en\"");
  be_buf_text(out, edition->comma ? " data-decimal=\",\">\n" : ">\n");
  be_buf_text(out, "<head>\n<meta charset=\"utf-8\">\n"
                   "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
                   "<meta name=\"color-scheme\" content=\"light dark\">\n"
                   "<link rel=\"icon\" href=\"data:,\">\n");
  wrap(out, "<title>", title, "");
  if (edition->site) wrap(out, " - ", edition->site, "");
  be_buf_text(out, "</title>\n");
  be_buf_format(out, "<meta name=\"generator\" content=\"bitterend %s\">\n", be_version);
  if (edition->sheet_link) {
    wrap(out, "<link rel=\"stylesheet\" href=\"", edition->sheet_link, "\">\n");
  } else if (edition->sheet) {
    assert(!strstr(edition->sheet, "</"));
    be_buf_format(out, "<style>\n%s%s</style>\n", be_figure_style(), edition->sheet);
  }
  if (edition->script_link)
    wrap(out, "<script src=\"", edition->script_link, "\" defer></script>\n");
  be_buf_text(out, "</head>\n");
}

static void top(struct be_buf *out, const struct be_edition *edition)
{
  be_buf_text(out, "<body>\n<a class=\"skip\" href=\"#main\">Skip to the content</a>\n");
  if (!edition->site && !edition->places_count) return;
  be_buf_text(out, "<header>\n");
  if (edition->site) wrap(out, "<p class=\"site\">", edition->site, "</p>\n");
  if (edition->places_count) {
    be_buf_text(out, "<nav aria-label=\"Pages\"><ul>\n");
    for (size_t i = 0; i < edition->places_count; i++) {
      const struct be_place *place = &edition->places[i];
      bool here = edition->here && strcmp(edition->here, place->address) == 0;
      be_buf_text(out, "<li>");
      way_to(out, place->address, edition);
      wrap(out, here ? " aria-current=\"page\">" : ">", place->name, "</a></li>\n");
    }
    be_buf_text(out, "</ul></nav>\n");
  }
  be_buf_text(out, "</header>\n");
}

static void ways(struct be_buf *out, const struct be_edition *edition)
{
  const struct be_ways *ways = edition->ways;
  wrap(out, "<nav class=\"ways\" aria-label=\"", ways->name, "\">");
  wrap(out, "<p>", ways->name, "</p><ul>\n");
  for (size_t i = 0; i < ways->count; i++) {
    bool now = strcmp(ways->now, ways->list[i].address) == 0;
    be_buf_text(out, "<li>");
    way_to(out, ways->list[i].address, edition);
    wrap(out, now ? " aria-current=\"page\">" : ">", ways->list[i].name, "</a></li>\n");
  }
  be_buf_text(out, "</ul></nav>\n");
}

static void choices(struct be_buf *out, const struct be_field *field)
{
  for (size_t i = 0; i < field->choices_count; i++) {
    const struct be_place *choice = &field->choices[i];
    bool now = !field->proposed && field->value && strcmp(field->value, choice->address) == 0;
    wrap(out, "<option value=\"", choice->address, now ? "\" selected>" : "\">");
    wrap(out, "", choice->name, "</option>\n");
  }
}

static void typed(struct be_buf *out, const struct be_field *field, const char *does, size_t number)
{
  if (field->proposed) be_buf_format(out, " list=\"list-%s%zu\"", does, number);
  wrap(out, " autocomplete=\"off\" value=\"", field->value ? field->value : "", "\"");
  be_buf_text(out, field->required ? " required>" : ">");
  if (field->proposed) {
    be_buf_format(out, "<datalist id=\"list-%s%zu\">\n", does, number);
    choices(out, field);
    be_buf_text(out, "</datalist>");
  }
  be_buf_text(out, "</div>\n");
}

static void field(struct be_buf *out, const struct be_field *field, const char *does, size_t number)
{
  bool chosen = field->choices && !field->proposed;
  if (!field->label) {
    wrap(out, "<input type=\"hidden\" name=\"", field->name, "\"");
    wrap(out, " value=\"", field->value ? field->value : "", "\">\n");
    return;
  }
  be_buf_format(out, "<div><label for=\"field-%s%zu\">", does, number);
  wrap(out, "", field->label, "</label>");
  be_buf_format(out, "<%s id=\"field-%s%zu\"", chosen ? "select" : "input", does, number);
  wrap(out, " name=\"", field->name, "\"");
  if (!chosen) {
    typed(out, field, does, number);
    return;
  }
  be_buf_text(out, ">\n");
  choices(out, field);
  be_buf_text(out, "</select></div>\n");
}

/* What every way keeps, such as unit=kg, a form that asks keeps too; one that is posted goes to the
 * very address of its page. */
void be_form_html(struct be_buf *out, const struct be_form *form, const char *asking)
{
  const char *value = asking && !form->does ? strchr(asking, '=') : NULL;
  const char *does = form->does ? form->does : "";
  if (form->folded)
    wrap(out, form->open ? "<details open><summary>" : "<details><summary>", form->title,
         "</summary>\n");
  else {
    be_buf_format(out, "<section aria-labelledby=\"form-name%s\"><h2 id=\"form-name%s\">", does,
                  does);
    wrap(out, "", form->title, "</h2>\n");
  }
  if (form->note) wrap(out, "<p class=\"note\">", form->note, "</p>\n");
  if (form->does)
    wrap(out, "<form method=\"post\">\n<input type=\"hidden\" name=\"do\" value=\"", does, "\">\n");
  else wrap(out, "<form method=\"get\" action=\"", form->address, "\">\n");
  for (size_t i = 0; i < form->count; i++) field(out, &form->fields[i], does, i + 1);
  if (value) {
    be_buf_format(out, "<input type=\"hidden\" name=\"%.*s\"", (int)(value - asking), asking);
    wrap(out, " value=\"", value + 1, "\">\n");
  }
  wrap(out, form->does ? "<button type=\"submit\">" : "<button>", form->button,
       "</button>\n</form>");
  be_buf_text(out, form->folded ? "</details>\n" : "</section>\n");
}

enum be_status be_doc_html(const struct be_doc *const *docs, size_t count,
                           const struct be_edition *edition, struct be_buf *out, struct be_err *err)
{
  assert(count > 0 && edition && (edition->places || edition->places_count == 0));
  for (size_t i = 0; i < count; i++) {
    enum be_status status = be_doc_status(docs[i], err);
    if (status != BE_OK) return status;
  }
  struct page page = {.out = out, .edition = edition};
  head(out, docs[0]->title, edition);
  top(out, edition);
  be_buf_text(out, "<main id=\"main\" tabindex=\"-1\">\n");
  if (edition->ways) ways(out, edition);
  if (edition->form && edition->form->folded) be_form_html(out, edition->form, edition->asking);
  for (size_t i = 0; i < count; i++) {
    if (i) be_buf_format(out, "<h2 id=\"part-%zu\">", i);
    wrap(out, i ? "" : "<h1>", docs[i]->title, i ? "</h2>\n" : "</h1>\n");
    page.heading = i == 0 ? 2 : 3;
    enum be_status status = body(&page, docs[i], err);
    if (status != BE_OK) return status;
    if (i == 0 && count > PARTS_FROM) parts(out, docs, count);
  }
  if (edition->insert) be_buf_text(out, edition->insert);
  if (edition->form && !edition->form->folded) be_form_html(out, edition->form, edition->asking);
  be_buf_text(out, "</main>\n");
  if (edition->foot) wrap(out, "<footer><p>", edition->foot, "</p>");
  for (size_t i = 0; edition->foot && i < edition->foot_ways_count; i++) {
    be_buf_text(out, "\n<p>");
    way_to(out, edition->foot_ways[i].address, edition);
    wrap(out, ">", edition->foot_ways[i].name, "</a></p>\n");
  }
  if (edition->foot) be_buf_text(out, "</footer>\n");
  be_buf_text(out, "</body>\n</html>\n");
  return be_buf_status(out, err);
}
