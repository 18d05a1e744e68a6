/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Each figure as a picture of both kinds, its words and its data, and a table that lists them.
 * Names of files come from what the figure is of, so that the same book gives the same names. */
#include "app/figures/gallery.h"
#include "app/written.h"

#include <stdio.h>
#include <string.h>

enum { FILE_MAX = 256 * 1024 * 1024, PNG_SCREEN = 1520, PNG_COLUMN = 2008 };

/* png_width: of a column 85 mm at 600 to the inch. */
static const struct size {
  const char *word, *ending;
  enum be_frame frame;
  double png_width;
} sizes[] = {{"screen", "", BE_FRAME_SCREEN, PNG_SCREEN},
             {"column", "-column", BE_FRAME_COLUMN, PNG_COLUMN},
             {"wide", "-wide", BE_FRAME_WIDE, 1920},
             {"tall", "-tall", BE_FRAME_TALL, 1080}};
static const struct ground {
  const char *word;
  enum be_drawn how;
} grounds[] = {{"light", BE_DRAWN_LIGHT},
               {"dark", BE_DRAWN_DARK},
               {"print", BE_DRAWN_PRINT},
               {"clear", BE_DRAWN_CLEAR}};
enum { SIZES = sizeof sizes / sizeof sizes[0], GROUNDS = sizeof grounds / sizeof grounds[0] };

static const struct size *size_of(const struct figures_asked *asked)
{
  for (size_t i = 0; asked->size && i < SIZES; i++)
    if (strcmp(asked->size, sizes[i].word) == 0) return &sizes[i];
  return asked->size ? NULL : &sizes[0];
}

static const struct ground *ground_of(const struct figures_asked *asked)
{
  for (size_t i = 0; asked->ground && i < GROUNDS; i++)
    if (strcmp(asked->ground, grounds[i].word) == 0) return &grounds[i];
  const struct size *size = size_of(asked);
  return asked->ground ? NULL : &grounds[size && size->frame == BE_FRAME_COLUMN ? 2 : 0];
}

enum be_status be_figures_check(const struct figures_asked *asked, struct be_err *err)
{
  if (!size_of(asked))
    return be_fail(err, BE_WRONG_USE, "a size is screen, column, wide or tall, not \"%.40s\"",
                   asked->size);
  if (!ground_of(asked))
    return be_fail(err, BE_WRONG_USE, "a ground is light, dark, print or clear, not \"%.40s\"",
                   asked->ground);
  return BE_OK;
}

/* ---- files ---- */

struct writing {
  const struct survey *survey;
  const struct figures_asked *asked;
  const struct size *size;
  const struct ground *ground;
  struct be_arena *arena;
  struct be_table *index;
  struct be_file_names names;
  size_t files;
};

static enum be_status write_file(struct writing *writing, const char *name, const char *ending,
                                 const char *begins, const struct be_buf *bytes, struct be_err *err)
{
  bool png = *begins == '\x89';
  const struct be_ours ours = {.what = "figure",
                               .begins = begins,
                               .holds = {png ? "tEXtSoftware" : NULL, png ? "bitterend" : NULL},
                               .spared = writing->survey->book_path,
                               .spared_what = "book",
                               .option = "--figures"};
  const char *path =
      be_arena_format(writing->arena, "%s/%s%s", writing->asked->folder, name, ending);
  if (!path) return be_no_memory(err);
  writing->files++;
  return be_write_ours(path, &ours, bytes, err);
}

static enum be_status write_pictures(struct writing *writing, const struct be_figure *figure,
                                     const char *name, struct be_err *err)
{
  struct be_buf svg, png;
  be_buf_init(&svg, FILE_MAX);
  be_buf_init(&png, FILE_MAX);
  enum be_frame frame = writing->size->frame;
  enum be_status status = be_figure_svg(figure, frame, writing->ground->how, 1, &svg, err);
  if (status == BE_OK) status = be_png(svg.data, svg.size, writing->size->png_width, &png, err);
  if (status == BE_OK && frame == BE_FRAME_SCREEN && !writing->asked->ground) {
    /* An SVG that is looked at by itself follows its reader's light or dark. */
    svg.size = 0;
    status = be_figure_svg(figure, frame, BE_DRAWN_FILE, 1, &svg, err);
  }
  if (status == BE_OK) status = write_file(writing, name, ".svg", "<svg", &svg, err);
  if (status == BE_OK) status = write_file(writing, name, ".png", "\x89PNG", &png, err);
  be_buf_free(&svg);
  be_buf_free(&png);
  return status;
}

static enum be_status write_words(struct writing *writing, const struct be_figure *figure,
                                  const char *name, struct be_err *err)
{
  struct be_buf text, data;
  be_buf_init(&text, FILE_MAX);
  be_buf_init(&data, FILE_MAX);
  be_buf_format(&text, "Figure: %s\n%s\n\n%s\n", be_figure_title(figure),
                be_figure_subtitle(figure), be_figure_words(figure));
  enum be_status status = write_file(writing, name, ".txt", "Figure: ", &text, err);
  if (status == BE_OK) status = be_figure_csv(figure, &data, err);
  if (status == BE_OK) status = write_file(writing, name, ".csv", "what", &data, err);
  be_buf_free(&text);
  be_buf_free(&data);
  return status;
}

static void list_figure(struct writing *writing, const struct shown *shown,
                        const struct be_figure *part, const char *picture, const char *name)
{
  struct be_table *index = writing->index;
  be_table_text(index, "%s.svg", picture);
  be_table_text(index, "%s.png", picture);
  be_table_text(index, "%s.txt", name);
  be_table_text(index, "%s.csv", name);
  be_table_text(index, "%s", shown->kind);
  be_table_text(index, "%s", shown->of);
  be_table_text(index, "%s", be_figure_title(part));
  be_table_text(index, "%s", be_figure_subtitle(part));
  be_table_text(index, "%s", be_figure_words(part));
}

/* ---- one figure ---- */

/* Rows that have no room go on in another part. */
static enum be_status write_parts(struct writing *writing, const struct shown *shown,
                                  const char *name, struct be_err *err)
{
  struct be_figure **parts;
  size_t count;
  enum be_status status = be_figure_parts(shown->figure, writing->size->frame, &parts, &count, err);
  for (size_t i = 0; i < count && status == BE_OK; i++) {
    const char *picture =
        count == 1
            ? be_arena_format(writing->arena, "%s%s", name, writing->size->ending)
            : be_arena_format(writing->arena, "%s%s-part-%zu", name, writing->size->ending, i + 1);
    status = picture ? write_pictures(writing, parts[i], picture, err) : be_no_memory(err);
    if (status == BE_OK) list_figure(writing, shown, parts[i], picture, name);
  }
  be_figure_parts_free(parts, count);
  return status;
}

/* ---- all ---- */

static enum be_status write_index(struct writing *writing, const struct be_doc *index,
                                  struct be_err *err)
{
  struct be_buf bytes;
  be_buf_init(&bytes, FILE_MAX);
  enum be_status status = be_doc_csv(index, &bytes, err);
  const char *name = be_arena_format(writing->arena, "index%s", writing->size->ending);
  if (status == BE_OK)
    status = name ? write_file(writing, name, ".csv", "svg,png", &bytes, err) : be_no_memory(err);
  be_buf_free(&bytes);
  return status;
}

static enum be_status write_gallery(struct writing *writing, const struct gallery *gallery,
                                    struct be_err *err)
{
  static const struct be_column columns[] = {
      {"svg", "svg", BE_COLUMN_TEXT, false},        {"png", "png", BE_COLUMN_TEXT, false},
      {"words_file", "txt", BE_COLUMN_TEXT, false}, {"data_file", "csv", BE_COLUMN_TEXT, false},
      {"kind", "kind", BE_COLUMN_TEXT, false},      {"of", "of", BE_COLUMN_TEXT, false},
      {"title", "title", BE_COLUMN_TEXT, false},    {"subtitle", "subtitle", BE_COLUMN_TEXT, false},
      {"words", "words", BE_COLUMN_TEXT, false}};
  struct be_doc *index = be_doc_create("figures", "Figures");
  if (!index) return be_no_memory(err);
  writing->index =
      be_doc_table(index, "figures", NULL, columns, sizeof columns / sizeof columns[0]);
  writing->names.arena = writing->arena;
  enum be_status status = BE_OK;
  be_progress_step("writing", "figures", gallery->count);
  for (size_t i = 0; i < gallery->count && status == BE_OK; i++) {
    be_progress_at(i);
    const struct shown *shown = &gallery->list[i];
    const char *words = be_arena_format(writing->arena, "%s %s", shown->kind, shown->of);
    const char *name = words ? be_file_name(&writing->names, words) : NULL;
    status = name ? write_parts(writing, shown, name, err) : be_no_memory(err);
    if (status == BE_OK) status = write_words(writing, shown->figure, name, err);
  }
  if (status == BE_OK) status = write_index(writing, index, err);
  be_doc_free(index);
  return status;
}

enum be_status be_figures_write(struct survey *survey, const struct figures_asked *asked,
                                struct be_doc *doc, size_t *figures, size_t *files,
                                struct be_err *err)
{
  enum be_status status = be_figures_check(asked, err);
  struct gallery gallery = {.survey = survey, .doc = doc};
  struct writing writing = {.survey = survey, .asked = asked, .arena = survey->arena};
  if (status == BE_OK) status = be_dir_create(asked->folder, err);
  if (status == BE_OK && survey->book_path)
    status = be_book_open(survey->book_path, false, &gallery.book, err);
  if (status == BE_OK) {
    writing.size = size_of(asked);
    writing.ground = ground_of(asked);
    status = be_gallery_fill(&gallery, err);
  }
  if (status == BE_OK) status = write_gallery(&writing, &gallery, err);
  *figures = gallery.count;
  *files = writing.files;
  be_gallery_empty(&gallery);
  be_book_close(gallery.book);
  return status;
}
