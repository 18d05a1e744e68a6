/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fault/enter_trial.h"

static const char *const lines_sheet = "line,spool,material,label,on hand (m),counted\n"
                                       "nylon 12 lb,s1,nylon,12 lb,41.5,May\n";
static const char *const rules_sheet = "trial,rule,value\nwinter,parts at a grip,void\n"
                                       "winter,level,0.9\nwinter,metres a specimen,1.25\n";
static const char *const plan_sheet =
    "trial,specimen,order,knot,line,spool,hardware,tyer,grips,tied\n"
    "winter,P5,2,none,nylon 12 lb,s1,,,,\n"
    "winter,P4,1,uni,nylon 12 lb,s1,ring,Ann,bollards,2026-02-27\n";
static const char *const benches_sheet = "bench,calibration,certificate\nshed,0.5 %,C-7\n";
static const char *const calibrations_sheet =
    "bench,calibration,date,load applied (N),reading (kg)\n"
    "shed,cell,2026-01-15,10,1.02\nshed,cell,,100,10.2\n";
static const char *const knots_sheet =
    "knot,kind,turns,aliases,crossings A\nuni,hitch,5,grinner,11\n";
static const char *const first_sheet =
    "specimen,knot,line,spool,load (lb),what,where\nP1,uni,nylon 12 lb,s1,8.25,broke,in the knot\n";
static const char *const sheet =
    "specimen;knot;line;spool;kraft;what;where;trace;correction;"
    "note;bench;knot B;judged by;photo;calibration;zero after (N)\n"
    "P2;grinner;nylon 12 lb;s1;;broke;in the knot;t2.csv;;;Shed;bow;Ann;\"p.jpg; "
    "q.jpg\";Cell;-0,2\n"
    "P1;uni;nylon 12 lb;s1;8,75;broke;at its entry;;misread;;;;Bo;old.jpg;;\n"
    ";none;braid 20 lb;;18,5;broke;clear of it;;;;attic;;;;lost;\n"
    "P3;reef;nylon 12 lb;s2;;slipped out;;t3.csv;;\"tag; moved\";;\n"
    "P4;;;;9,25;broke;grip;;;;;\n";
static const char *const other_sheets[] = {
    [TRIAL_RULES] = "trial,rule,value,reason\nwinter,level,0.95,agreed\nspring,seed,41,\n"
                    "Winter,parts at a grip,Void,\nspring,question,\"Which, wet?\",\n",
    [TRIAL_PLAN] = "trial,specimen,order,block,knot,knot B,line,spool,hardware,soak,glue,"
                   "temperature (C)\n"
                   "winter,P7,7,1,grinner,bow,nylon 12 lb,s2,ring,60 min,none,12.5\n"
                   "spring,P8,1,,none,,braid 20 lb,,,,,\n",
    [TRIAL_CALIBRATIONS] =
        "bench,calibration,certificate,date,months,load applied (N),reading,direction\n"
        "shed,new,N-1,2026-02-15,12,10,1.02,\nboat,bare,,2026-02-15,,10,10 mV,\n"
        "boat,bare,,,,20,20.1 mV,falling\nshed,new,,,,100,10.3,\n",
    [TRIAL_WEIGHTS] = "bench,date,weight (N),reading,session,note\nshed,2026-03-01T18:05,50,5.1 kg,"
                      "evening,warm\nattic,2026-03-01,50,50.1 N,,\n",
    [TRIAL_LINES] = "line,spool,lot,on hand (m),counted,source,opened\n"
                    "nylon 12 lb,s1,L-7,30,June,bought,2025-06\nbraid 20 lb,b1,,none,,,\n",
    [TRIAL_KNOTS] = "knot,turns,aliases,picture,time to tie (s),passes guides\n"
                    "uni,5,,k.svg,41,yes\nsnell,7,\"whipped, bound\",,,\n",
    [TRIAL_EVIDENCE] = "specimen,photo,clip,note,tied,grips,temperature (C)\n"
                       "P1,a.jpg;b.jpg,,from the left,2026-02-28 18:30,drums,21\n"
                       "p1,b.jpg,c.mp4,,,,\n",
};
static const char picture[] = "<svg><path d=\"M1 2 3 7\"/></svg>";

static enum be_status enter_plain(struct be_book *book, const char *name, const char *text,
                                  struct be_arena *arena)
{
  static const struct be_entering how;
  struct be_entered entered;
  return be_book_enter(book, name, text, strlen(text), &how, arena, &entered, NULL);
}

enum be_status trial_enter(struct trial *trial, struct be_book *book, struct be_arena *arena,
                           struct be_entered *entered, struct be_err *err)
{
  struct be_entering how = {.mapping = "load (lb) = kraft\ntyer := left hand",
                            .save_as = "mine",
                            .fetch = fetch_made,
                            .fetch_context = trial->files};
  const struct be_entering plain = {.fetch = fetch_made, .fetch_context = trial->files};
  if (trial->which != TRIAL_PULLS) {
    const char *text = other_sheets[trial->which];
    return be_book_enter(book, "other.csv", text, strlen(text), &plain, arena, entered, err);
  }
  return be_book_enter(book, "day.csv", sheet, strlen(sheet), &how, arena, entered, err);
}

/* ---- telling ---- */

static void tell_text(struct be_buf *text, const char *word)
{
  be_buf_format(text, "%s|", word ? word : "?");
}

static void tell_pull(struct be_buf *text, const struct be_record *record,
                      const struct be_pull *pull)
{
  tell_text(text, pull->code);
  tell_text(text, pull->knot >= 0 ? record->knots[pull->knot].full : "no knot");
  tell_text(text, pull->knot_b >= 0 ? record->knots[pull->knot_b].full : "no knot B");
  tell_text(text, pull->bench >= 0 ? record->benches[pull->bench].name : "no bench");
  tell_text(text, pull->line_a >= 0 ? record->lines[pull->line_a].name : NULL);
  tell_text(text, pull->line_a >= 0 ? record->lines[pull->line_a].spool : NULL);
  tell_text(text, pull->tyer);
  tell_text(text, pull->hardware);
  tell_text(text, pull->reason);
  tell_text(text, pull->trial >= 0 ? record->trials[pull->trial].name : "no trial");
  tell_text(text, pull->load_text);
  tell_text(text, pull->load_unit);
  tell_text(text, be_kind_word(pull->kind));
  tell_text(text, be_what_word(pull->what));
  tell_text(text, be_where_word(pull->where));
  tell_text(text, pull->note);
  tell_text(text, pull->judged_by);
  tell_text(text, pull->flags);
  for (int i = 0; i < BE_HANDLINGS; i++) {
    tell_text(text, pull->handling[i].text);
    be_buf_format(text, "%.17g|", pull->handling[i].number);
  }
  for (size_t i = 0; i < pull->evidence_count; i++) {
    tell_text(text, pull->evidence[i].name);
    tell_text(text, pull->evidence[i].note);
  }
  tell_text(text, pull->file);
  tell_text(text, pull->calibration_told);
  tell_text(text,
            pull->calibration >= 0 ? record->calibrations[pull->calibration].is.name : "none");
  be_buf_format(text, "%.17g %.17g|", pull->zero_before_N, pull->zero_after_N);
  be_buf_format(text, "%d %d %d %.17g %.17g %.17g %.17g %.17g\n", (int)pull->design,
                pull->file_line, pull->corrections, pull->load_N, pull->trace_peak_N,
                pull->trace_zero_N, pull->trace_missed_N, pull->trace_drift_N);
}

static enum be_status tell_more(struct be_book *book, const struct be_pull *pull,
                                struct be_arena *arena, struct be_buf *text, struct be_err *err)
{
  struct be_result *list = NULL;
  size_t count = 0;
  enum be_status status = BE_OK;
  if (pull->corrections) status = be_book_results(book, pull->id, arena, &list, &count, err);
  if (status != BE_OK) return status;
  for (size_t i = 0; i < count; i++) {
    be_buf_format(text, "%s %.17g ", be_kind_word(list[i].kind), list[i].load_N);
    tell_text(text, list[i].why);
    tell_text(text, list[i].reason);
    tell_text(text, list[i].judged_by);
    be_buf_format(text, "%zu\n", list[i].entered_at ? strlen(list[i].entered_at) : 0);
  }
  if (!pull->trace) return BE_OK;
  struct be_buf bytes;
  be_buf_init(&bytes, BE_BOOK_FILE_MAX);
  status = be_book_file(book, pull->trace, &bytes, err);
  if (status == BE_OK) be_buf_add(text, bytes.data, bytes.size);
  be_buf_free(&bytes);
  return status;
}

static void tell_trial(struct be_buf *text, const struct be_record *record,
                       const struct be_trial *trial)
{
  tell_text(text, trial->name);
  be_buf_format(text, "%zu\n", trial->fixed_at ? strlen(trial->fixed_at) : 0);
  for (int i = 0; i < BE_RULES; i++) tell_text(text, trial->rule[i]);
  for (size_t i = 0; i < trial->planned_count; i++) {
    const struct be_planned *planned = &trial->planned[i];
    tell_text(text, planned->code);
    tell_text(text, planned->knot >= 0 ? record->knots[planned->knot].full : "no knot");
    tell_text(text, planned->knot_b >= 0 ? record->knots[planned->knot_b].full : "no knot B");
    tell_text(text, planned->line_a >= 0 ? record->lines[planned->line_a].spool : "no line");
    tell_text(text, planned->hardware);
    tell_text(text, planned->handling[BE_HANDLED_GRIPS].text);
    tell_text(text, planned->handling[BE_HANDLED_TIED].text);
    be_buf_format(text, "%d %d %d %.17g %.17g %zu\n", (int)planned->design, (int)planned->soak,
                  planned->pull, planned->order, planned->block, planned->pulled_before);
  }
  for (size_t i = 0; i < trial->changes_count; i++) {
    const struct be_rule_change *change = &trial->changes[i];
    tell_text(text, be_rule_word(change->rule));
    tell_text(text, change->from);
    tell_text(text, change->to);
    tell_text(text, change->reason);
    be_buf_format(text, "%zu %zu\n", change->pulled,
                  change->changed_at ? strlen(change->changed_at) : 0);
  }
}

static void tell_calibrations(struct be_buf *text, const struct be_record *record)
{
  for (size_t i = 0; i < record->calibrations_count; i++) {
    const struct be_kept_calibration *kept = &record->calibrations[i];
    tell_text(text, kept->file);
    be_buf_format(text, "%d ", kept->bench);
    be_calibration_write(text, &kept->is);
  }
  for (size_t i = 0; i < record->weights_count; i++) {
    const struct be_check_weight *weight = &record->weights[i];
    tell_text(text, weight->date);
    tell_text(text, weight->unit);
    tell_text(text, weight->session);
    tell_text(text, weight->note);
    be_buf_format(text, "%d %d %.17g %.17g\n", weight->bench, weight->calibration, weight->weight_N,
                  weight->reading);
  }
}

enum be_status trial_tell(struct be_book *book, struct be_arena *arena, struct be_buf *text,
                          struct be_err *err)
{
  struct be_record record;
  enum be_status status = be_book_read(book, arena, &record, err);
  if (status != BE_OK) return status;
  for (size_t i = 0; i < record.lines_count; i++) {
    const struct be_line *line = &record.lines[i];
    tell_text(text, line->name);
    tell_text(text, line->spool);
    tell_text(text, line->material);
    tell_text(text, line->label);
    tell_text(text, line->counted);
    tell_text(text, line->source);
    tell_text(text, line->opened);
    be_buf_format(text, "%.17g %.17g %.17g %zu\n", line->label_N, line->counted_m, line->on_hand_m,
                  line->used_since);
  }
  for (size_t i = 0; i < record.knots_count; i++) {
    tell_text(text, record.knots[i].full);
    tell_text(text, record.knots[i].kind);
    tell_text(text, record.knots[i].aliases);
    tell_text(text, record.knots[i].guides);
    be_buf_format(text, "%.17g %d\n", record.knots[i].crossings_a, record.knots[i].picture > 0);
  }
  for (size_t i = 0; i < record.benches_count; i++) {
    tell_text(text, record.benches[i].name);
    tell_text(text, record.benches[i].certificate);
    be_buf_format(text, "%.17g\n", record.benches[i].calibration);
  }
  for (size_t i = 0; i < record.pulls_count && status == BE_OK; i++) {
    tell_pull(text, &record, &record.pulls[i]);
    status = tell_more(book, &record.pulls[i], arena, text, err);
  }
  for (size_t i = 0; i < record.trials_count; i++) tell_trial(text, &record, &record.trials[i]);
  tell_calibrations(text, &record);
  tell_text(text, record.unit);
  return status == BE_OK ? be_buf_status(text, err) : status;
}

/* ---- the state of a book ---- */

static bool same(const struct be_buf *a, const struct be_buf *b)
{
  return a->size == b->size && memcmp(a->data, b->data, a->size) == 0;
}

enum trial_state trial_state(const struct trial *trial, struct be_book *book)
{
  struct be_buf text;
  struct be_arena *arena = be_arena_create();
  be_buf_init(&text, 1 << 20);
  enum trial_state state = TRIAL_NEITHER;
  if (arena && trial_tell(book, arena, &text, NULL) == BE_OK)
    state = same(&text, &trial->before)  ? TRIAL_BEFORE
            : same(&text, &trial->after) ? TRIAL_AFTER
                                         : TRIAL_NEITHER;
  be_buf_free(&text);
  be_arena_free(arena);
  return state;
}

static enum trial_state look_at_file(const struct trial *trial)
{
  struct be_book *book = NULL;
  struct be_book_check checked;
  if (be_book_open(trial->path, false, &book, NULL) != BE_OK) return TRIAL_NEITHER;
  enum trial_state state = trial_state(trial, book);
  if (be_book_check(book, &checked, NULL) != BE_OK) state = TRIAL_NEITHER;
  be_book_close(book);
  return state;
}

/* All of a file, in memory that the failing allocator does not see. */
static struct image read_image(const char *path)
{
  struct image image = {NULL, 0};
  FILE *file = fopen(path, "rb");
  assert_non_null(file);
  assert_int_equal(fseek(file, 0, SEEK_END), 0);
  image.size = (size_t)ftell(file);
  image.bytes = malloc(image.size + 1);
  assert_non_null(image.bytes);
  rewind(file);
  assert_int_equal(fread(image.bytes, 1, image.size, file), image.size);
  fclose(file);
  return image;
}

/* A check enters all of the book again, which is most of a try's time: bytes that were looked at
 * before are not looked at again. */
enum trial_state trial_state_of_file(struct trial *trial)
{
  char journal[80];
  snprintf(journal, sizeof journal, "%s-journal", trial->path);
  if (be_file_exists(journal)) return look_at_file(trial);
  struct image image = read_image(trial->path);
  int state = TRIAL_BEFORE;
  while (state < TRIAL_STATES && (image.size != trial->seen[state].size ||
                                  memcmp(image.bytes, trial->seen[state].bytes, image.size) != 0))
    state++;
  if (state < TRIAL_STATES) {
    free(image.bytes);
    return (enum trial_state)state;
  }
  state = (int)look_at_file(trial);
  free(trial->seen[state].bytes);
  trial->seen[state] = image;
  return (enum trial_state)state;
}

/* ---- life cycle ---- */

static void write_bytes(const char *path, const void *bytes, size_t size)
{
  FILE *file = fopen(path, "wb");
  assert_non_null(file);
  assert_int_equal(fwrite(bytes, 1, size, file), size);
  assert_int_equal(fclose(file), 0);
}

void trial_restore(const struct trial *trial)
{
  char journal[80];
  snprintf(journal, sizeof journal, "%s-journal", trial->path);
  remove(journal);
  write_bytes(trial->path, trial->before_bytes.data, trial->before_bytes.size);
}

/* The counts of the sheet when all goes well. */
static void look_at_counts(const struct trial *trial)
{
  const struct be_entered *entered = &trial->entered;
  bool pulls = trial->which == TRIAL_PULLS;
  assert_int_equal(entered->pulls, pulls ? 4 : 0);
  assert_int_equal(entered->traces, pulls ? 2 : 0);
  assert_int_equal(entered->corrections, pulls ? 1 : 0);
  assert_int_equal(entered->rules, trial->which == TRIAL_RULES ? 3 : 0);
  assert_int_equal(entered->planned, trial->which == TRIAL_PLAN ? 2 : 0);
  assert_int_equal(entered->calibrations, trial->which == TRIAL_CALIBRATIONS ? 2 : 0);
  assert_int_equal(entered->weights, trial->which == TRIAL_WEIGHTS ? 2 : 0);
  if (trial->which == TRIAL_LINES) assert_int_equal(entered->known + entered->lines, 2);
}

void trial_start(struct trial *trial, enum trial_sheet which)
{
  memset(trial, 0, sizeof *trial);
  trial->which = which;
  const struct made_rows rows = {12, 15, 0, 4};
  make_trace_of(trial->traces[0], rows, 2.4, 147.3);
  make_trace_of(trial->traces[1], rows, 2.4, 88.9);
  trial->files[0] = (struct made_file){"t2.csv", trial->traces[0]};
  trial->files[1] = (struct made_file){"t3.csv", trial->traces[1]};
  trial->files[2] = (struct made_file){trial->which == TRIAL_KNOTS ? "k.svg" : NULL, picture};
  /* In memory where there is such a folder: the loops sync very often. */
  const char *memory = "/dev/shm/be-fault-XXXXXX", *disk = "/tmp/be-fault-XXXXXX";
  strcpy(trial->folder, memory);
  if (!mkdtemp(trial->folder)) strcpy(trial->folder, disk), assert_non_null(mkdtemp(trial->folder));
  snprintf(trial->path, sizeof trial->path, "%s/a.book", trial->folder);
  struct be_book *book = NULL;
  struct be_arena *arena = be_arena_create();
  assert_int_equal(be_book_create(trial->path, NULL), BE_OK);
  assert_int_equal(be_book_open(trial->path, true, &book, NULL), BE_OK);
  assert_int_equal(enter_plain(book, "lines.csv", lines_sheet, arena), BE_OK);
  assert_int_equal(enter_plain(book, "knots.csv", knots_sheet, arena), BE_OK);
  assert_int_equal(enter_plain(book, "benches.csv", benches_sheet, arena), BE_OK);
  assert_int_equal(enter_plain(book, "calibrations.csv", calibrations_sheet, arena), BE_OK);
  assert_int_equal(enter_plain(book, "rules.csv", rules_sheet, arena), BE_OK);
  assert_int_equal(enter_plain(book, "plan.csv", plan_sheet, arena), BE_OK);
  assert_int_equal(enter_plain(book, "first.csv", first_sheet, arena), BE_OK);
  be_buf_init(&trial->before, 1 << 20);
  be_buf_init(&trial->after, 1 << 20);
  be_buf_init(&trial->before_bytes, 1 << 30);
  assert_int_equal(trial_tell(book, arena, &trial->before, NULL), BE_OK);
  assert_int_equal(be_file_read(trial->path, &trial->before_bytes, NULL), BE_OK);
  assert_int_equal(trial_enter(trial, book, arena, &trial->entered, NULL), BE_OK);
  look_at_counts(trial);
  assert_int_equal(trial_tell(book, arena, &trial->after, NULL), BE_OK);
  be_book_close(book);
  be_arena_free(arena);
}

void trial_stop(struct trial *trial)
{
  be_buf_free(&trial->before);
  be_buf_free(&trial->after);
  be_buf_free(&trial->before_bytes);
  for (size_t i = 0; i < TRIAL_STATES; i++) free(trial->seen[i].bytes);
  remove(trial->path);
  assert_int_equal(rmdir(trial->folder), 0);
}
