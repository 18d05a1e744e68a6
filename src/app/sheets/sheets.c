/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The files: pages that print. */
#include "app/sheets/sheets.h"

#include "app/written.h"
#include "assets/assets.h"

typedef enum be_status writer(const struct survey *, const struct be_trial *, struct be_doc **,
                              struct be_err *);

static const struct sheet_kind {
  const char *name; /* of the file; the trial's comes behind it */
  const char *what;
  writer *write;
  bool of_trials; /* alone */
} kinds[] = {
    {"pull sheet", "pull sheet", be_pull_sheet_doc, false},
    {"labels", "labels", be_trial_labels_doc, true},
    {"plan", "plan", be_trial_doc, true},
    {"tie cards", "tie cards", be_tie_cards_doc, false},
};
enum { KINDS = sizeof kinds / sizeof kinds[0], PAGE_MAX = 64 * 1024 * 1024 };

struct sheets {
  const struct survey *survey;
  const char *folder, *style;
  struct be_table *files;
  struct be_file_names names;
};

/* The pull sheet has the notice above its rows already. */
static enum be_status print_edition(const struct sheets *sheets, const struct sheet_kind *kind,
                                    const struct be_doc *doc, bool pdf, struct be_buf *bytes,
                                    struct be_err *err)
{
  const char *foot = kind->write == be_pull_sheet_doc ? NULL : be_notice;
  const struct be_edition edition = {.sheet = sheets->style,
                                     .site = "Bitter End",
                                     .foot = foot,
                                     .moment = sheets->survey->record.last.entered_at};
  return pdf ? be_doc_pdf(&doc, 1, &edition, bytes, err)
             : be_doc_html(&doc, 1, &edition, bytes, err);
}

static enum be_status write_edition(struct sheets *sheets, const struct sheet_kind *kind,
                                    const struct be_doc *doc, bool pdf, const char *path,
                                    struct be_err *err)
{
  static const struct be_ours ours[] = {{.what = "sheet",
                                         .holds = {"<meta name=\"generator\" content=\"bitterend"},
                                         .option = "--sheets"},
                                        {.what = "sheet",
                                         .begins = "%PDF-",
                                         .anywhere = "/Creator (bitterend",
                                         .option = "--sheets"}};
  struct be_buf bytes;
  be_buf_init(&bytes, PAGE_MAX);
  enum be_status status = print_edition(sheets, kind, doc, pdf, &bytes, err);
  if (status == BE_OK) status = be_write_ours(path, &ours[pdf], &bytes, err);
  be_buf_free(&bytes);
  return status;
}

static enum be_status write_sheet(struct sheets *sheets, const struct sheet_kind *kind,
                                  const struct be_trial *trial, struct be_err *err)
{
  struct be_arena *arena = sheets->survey->arena;
  const char *name = trial ? be_arena_format(arena, "%s %s", kind->name, trial->name) : kind->name;
  name = name ? be_file_name(&sheets->names, name) : NULL;
  if (!name) return be_no_memory(err);
  struct be_doc *doc = NULL;
  enum be_status status = kind->write(sheets->survey, trial, &doc, err);
  for (int pdf = 0; pdf < 2 && status == BE_OK; pdf++) {
    const char *path =
        be_arena_format(arena, "%s/%s.%s", sheets->folder, name, pdf ? "pdf" : "html");
    if (!path) status = be_no_memory(err);
    else status = write_edition(sheets, kind, doc, pdf, path, err);
    be_table_text(sheets->files, "%s%s%s%s", kind->what, trial ? " of " : "",
                  trial ? trial->name : "", pdf ? ", pages" : "");
    be_table_text(sheets->files, "%s", path ? path : "");
  }
  be_doc_free(doc);
  return status;
}

static enum be_status write_all(struct sheets *sheets, const struct be_trial *trial,
                                struct be_err *err)
{
  enum be_status status = BE_OK;
  for (size_t k = 0; k < KINDS && status == BE_OK; k++)
    if (trial || !kinds[k].of_trials) status = write_sheet(sheets, &kinds[k], trial, err);
  return status;
}

enum be_status be_sheets_write(const struct survey *survey, const char *folder,
                               struct be_table *files, struct be_err *err)
{
  static const char *const parts[] = {"assets/style.css", "assets/labels.css", "assets/paper.css"};
  struct sheets sheets = {survey, folder, "", files, {.arena = survey->arena}};
  for (size_t i = 0; i < 3 && sheets.style; i++) {
    const struct be_asset *part = be_asset_find(parts[i]);
    sheets.style = be_arena_format(survey->arena, "%s%s", sheets.style, part ? part->text : "");
  }
  if (!sheets.style) return be_no_memory(err);
  enum be_status status = be_dir_create(folder, err);
  for (size_t i = 0; i < survey->record.trials_count && status == BE_OK; i++)
    status = write_all(&sheets, &survey->record.trials[i], err);
  return status == BE_OK && survey->record.trials_count == 0 ? write_all(&sheets, NULL, err)
                                                             : status;
}
