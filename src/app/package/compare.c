/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A package that was taken back is made once more, of the new book and with the seed, level,
 * licence and authors that it tells: what is worked out and worded there is what would be now, or
 * is said to differ. The record itself was held against it before, and refused where it differs. */
#include "app/package/inside.h"

#include <jansson.h>
#include <stdio.h>
#include <string.h>

enum {
  LISTED_MOST = 40,       /* cells that differ */
  RESAMPLES_MOST = 200000 /* as told; a hand could write what would take days */
};

struct comparing {
  struct be_arena *arena;
  struct pack *pack;
  struct be_doc *doc;
  struct be_table *cells;
  struct survey survey;
  struct be_publishing asked;
  struct package package;
  struct be_answering how;
  char version[40];              /* of the program that made it; "" where it does not say */
  size_t listed, worked, worded; /* cells listed, tables and descriptions that differ */
};

/* ---- what the package tells of its making ---- */

static enum be_status read_text(struct comparing *in, const char *path, struct be_buf *text,
                                struct be_err *err)
{
  be_buf_init(text, BE_BOOK_FILE_MAX);
  if (!be_pack_sum(in->pack, path)) return BE_OK;
  return be_pack_read(in->pack, path, text, err);
}

/* "Worked out by bitterend 0.9 with seed 1 and 2000 resamples, intervals at 95 %" */
static bool hear_worked(struct comparing *in, const char *text)
{
  unsigned long long seed = 0;
  double level = 0;
  static const char begins[] = "Worked out by bitterend ";
  const char *at = text ? strstr(text, begins) : NULL;
  if (!at) return false;
  size_t resamples = 0;
  int got =
      sscanf(at + sizeof begins - 1, "%39s with seed %llu and %zu resamples, intervals at %lf",
             in->version, &seed, &resamples, &level);
  bool whole = got == 4 && level > 0 && level < 100 && resamples > 0 && resamples <= RESAMPLES_MOST;
  if (!whole) return false;
  in->how.seed = seed;
  in->how.resamples = resamples;
  in->how.level = level / 100;
  return true;
}

static const char *authors_of(struct comparing *in, const json_t *package)
{
  const char *all = NULL;
  size_t i;
  json_t *one;
  json_array_foreach(json_object_get(package, "contributors"), i, one)
  {
    const char *name = json_string_value(json_object_get(one, "title"));
    if (!name) continue;
    all = all ? be_arena_format(in->arena, "%s; %s", all, name)
              : be_arena_text(in->arena, name, strlen(name));
  }
  return all;
}

/* A licence that is not known here was put there by hand: then the usual one is compared with. */
static enum be_status hear_making(struct comparing *in, struct be_err *err)
{
  struct be_buf text, readme;
  json_error_t why;
  enum be_status status = read_text(in, "datapackage.json", &text, err);
  enum be_status other = read_text(in, "README.txt", &readme, err);
  if (status == BE_OK) status = other;
  if (status == BE_OK && !hear_worked(in, text.data)) hear_worked(in, readme.data);
  be_package_json_begin();
  json_t *told = status == BE_OK && text.size ? json_loadb(text.data, text.size, 0, &why) : NULL;
  if (status == BE_OK && be_package_json_lost()) status = be_no_memory(err);
  const char *licence = json_string_value(
      json_object_get(json_array_get(json_object_get(told, "licenses"), 0), "name"));
  if (licence) licence = be_arena_text(in->arena, licence, strlen(licence));
  in->asked.authors = authors_of(in, told);
  json_decref(told);
  be_buf_free(&text);
  be_buf_free(&readme);
  if (status == BE_OK && be_package_licence(licence, &in->package.licence, NULL) != BE_OK)
    status = be_package_licence(NULL, &in->package.licence, err);
  return status == BE_OK && be_arena_ran_out(in->arena) ? be_no_memory(err) : status;
}

/* ---- tables, cell by cell ---- */

struct grid {
  struct be_arena *arena;
  size_t columns, count, capacity;
  const char **cells;
};

static enum be_status keep_row(void *context, char *const *cells, size_t line, struct be_err *err)
{
  struct grid *grid = context;
  void *block = grid->cells;
  (void)line;
  enum be_status status = be_grow(&block, &grid->capacity, sizeof *grid->cells,
                                  grid->count + grid->columns, SIZE_MAX / 64, err);
  grid->cells = block;
  for (size_t i = 0; i < grid->columns && status == BE_OK; i++) {
    grid->cells[grid->count] = be_arena_text(grid->arena, cells[i], strlen(cells[i]));
    if (!grid->cells[grid->count++]) status = be_no_memory(err);
  }
  return status;
}

static void list_cell(struct comparing *in, const char *path, size_t row, const char *column,
                      const char *there, const char *here)
{
  static const struct be_column columns[] = {{"file", "file", BE_COLUMN_TEXT, false},
                                             {"row", "row", BE_COLUMN_NUMBER, false},
                                             {"column", "column", BE_COLUMN_TEXT, false},
                                             {"there", "in the package", BE_COLUMN_TEXT, false},
                                             {"here", "of this book", BE_COLUMN_TEXT, false}};
  if (in->listed++ >= LISTED_MOST) return;
  if (!in->cells)
    in->cells = be_doc_table(in->doc, "differs", "What differs in the package", columns, 5);
  be_table_text(in->cells, "%s", path);
  be_table_number(in->cells, (double)row, 0);
  be_table_text(in->cells, "%s", column);
  be_table_text(in->cells, "%s", there);
  be_table_text(in->cells, "%s", here);
}

static void list_cells(struct comparing *in, const struct piece *piece, const struct grid *there,
                       const struct grid *here)
{
  size_t columns = here->columns, rows = there->count / columns, more = here->count / columns;
  for (size_t i = 0; i < there->count && i < here->count; i++)
    if (strcmp(there->cells[i], here->cells[i]) != 0)
      list_cell(in, piece->path, i / columns, piece->table->columns[i % columns].name,
                there->cells[i], here->cells[i]);
  if (rows == more || !rows || !more) return;
  bool longer = rows > more;
  list_cell(in, piece->path, longer ? more : rows, "", longer ? "a row more" : "no such row",
            longer ? "no such row" : "a row more");
}

/* A table that is none any more is only said to differ. */
static enum be_status compare_cells(struct comparing *in, const struct piece *piece,
                                    struct be_err *err)
{
  struct grid there = {.arena = in->arena, .columns = piece->table->count}, here = there;
  struct be_buf told;
  struct be_err broken = {0};
  enum be_status status = read_text(in, piece->path, &told, err);
  if (status == BE_OK && told.size) {
    status = be_csv_cells(told.data, told.size, there.columns, keep_row, &there, &broken);
    if (status == BE_NO_MEMORY) status = be_no_memory(err);
    else if (status == BE_OK)
      status =
          be_csv_cells(piece->bytes.data, piece->bytes.size, here.columns, keep_row, &here, err);
    else status = BE_OK;
  }
  if (status == BE_OK && !broken.what[0]) list_cells(in, piece, &there, &here);
  be_free(there.cells);
  be_free(here.cells);
  be_buf_free(&told);
  return status;
}

/* ---- every file ---- */

static bool is_of_another(const struct comparing *in)
{
  return *in->version && strcmp(in->version, be_version) != 0;
}

static void say_one(struct comparing *in, const struct piece *piece)
{
  bool told = be_pack_sum(in->pack, piece->path) != NULL;
  const char *why = is_of_another(in) ? be_arena_format(in->arena,
                                                        "it was made by bitterend %s, and this "
                                                        "is %s",
                                                        in->version, be_version)
                    : piece->worked   ? "it was changed by hand, or worked out on a machine that "
                                        "rounds otherwise"
                                      : "it was changed by hand";
  if (!told) be_doc_note(in->doc, "The package has no %s.", piece->path);
  else be_doc_note(in->doc, "%s is not what this book gives: %s.", piece->path, why ? why : "");
}

static enum be_status compare_all(struct comparing *in, struct be_err *err)
{
  enum be_status status = BE_OK;
  for (size_t i = 0; i < in->package.count && status == BE_OK; i++) {
    const struct piece *piece = &in->package.pieces[i];
    const char *sum = be_pack_sum(in->pack, piece->path);
    if (sum && strcmp(sum, piece->sha256) == 0) continue;
    if (piece->worked) in->worked++;
    else in->worded++;
    say_one(in, piece);
    if (sum && piece->worked) status = compare_cells(in, piece, err);
  }
  return status;
}

static bool has_piece(const struct comparing *in, const char *path)
{
  for (size_t i = 0; i < in->package.count; i++)
    if (strcmp(in->package.pieces[i].path, path) == 0) return true;
  return false;
}

/* What lies there and no package of this book has. */
static void say_strangers(struct comparing *in)
{
  char one[BE_PACKAGE_PATH_MAX + 1];
  size_t listed = 0;
  const char *path = NULL, *first = NULL;
  for (size_t i = 0; (path = be_pack_path(in->pack, i)) != NULL; i++)
    if (!has_piece(in, path)) {
      listed++;
      if (!first) first = path;
    }
  if (listed)
    be_doc_note(in->doc,
                "Files that the checksums list and that belong to no package of this book: %zu, "
                "such as %s. They were not taken.",
                listed, first);
  size_t beside = be_pack_strangers(in->pack, one);
  if (beside)
    be_doc_note(in->doc,
                "Files that lie there and that the checksums do not list: %zu, such as %s. They "
                "were not looked at.",
                beside, one);
}

static void say(struct comparing *in)
{
  const struct be_answering *how = &in->survey.how;
  size_t first = be_doc_place(in->doc);
  if (in->worked == 0)
    be_doc_sentence(in->doc,
                    "The standings, strengths and loads worked in the package are those of this "
                    "book, the same to the bit, with seed %llu and %zu resamples%s.",
                    (unsigned long long)how->seed, how->resamples,
                    in->worded ? "" : "; so are its descriptions");
  else
    be_doc_sentence(in->doc,
                    "Tables worked in the package that are not those of this book, with seed %llu "
                    "and %zu resamples: %zu, named below. The record itself is the same: "
                    "`standings` works them out anew.",
                    (unsigned long long)how->seed, how->resamples, in->worked);
  be_doc_first(in->doc, first);
  if (in->listed > LISTED_MOST)
    be_doc_note(in->doc, "Of %zu cells that differ the first %d are listed.", in->listed,
                (int)LISTED_MOST);
  say_strangers(in);
}

enum be_status be_package_compare(struct pack *pack, struct be_book *book, struct be_doc *doc,
                                  struct be_err *err)
{
  struct comparing in = {.arena = be_arena_create(), .pack = pack, .doc = doc};
  struct be_record record;
  if (!in.arena) return be_no_memory(err);
  in.package =
      (struct package){.arena = in.arena, .survey = &in.survey, .asked = &in.asked, .thin = true};
  enum be_status status = hear_making(&in, err);
  if (status == BE_OK) status = be_book_read(book, in.arena, &record, err);
  if (status == BE_OK) status = be_survey_of(&record, &in.how, in.arena, &in.survey, err);
  if (status == BE_OK) status = be_package_make(&in.package, book, err);
  if (status == BE_OK) status = compare_all(&in, err);
  if (status == BE_OK) say(&in);
  if (status == BE_OK && be_arena_ran_out(in.arena)) status = be_no_memory(err);
  be_package_drop(&in.package);
  be_arena_free(in.arena);
  return status;
}
