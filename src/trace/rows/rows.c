/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows to tests. Nearly all rows are plain numbers, which plain.c reads a run
 * at a time; whatever it leaves is judged line by line in judge.c.
 *
 *   take a block of text (in order) -> read its first run (by any thread)
 *                                   -> keep it and judge the rest (in order)
 *
 * Invariant: what is kept depends on the rows alone, not on how the text was
 * cut into blocks or on who read them. */
#include "trace/rows/rows.h"

#include <math.h>
#include <string.h>

/* ---- blocks ---- */

/* Keeps the run that was read, then goes on from there to the end of the
 * block, or of the test. */
static void finish_block(struct be_reader *r, struct be_text_block *block)
{
  const char *end = block->text + block->size;
  be_reader_keep_run(r, &block->run);
  while (!r->ended && block->at < end) {
    be_reader_judge(r, block);
    if (r->ended) break;
    be_plain_read(&block->plain, &block->at, end, &block->run);
    be_reader_keep_run(r, &block->run);
  }
}

static void read_block(struct be_text_block *block)
{
  block->at = block->text;
  be_plain_read(&block->plain, &block->at, block->text + block->size, &block->run);
}

/* Takes block after block until the text or the test ends. What was taken but
 * not kept stays in its block. */
static void work(void *reader, size_t worker)
{
  struct be_reader *r = reader;
  struct be_text_block *block = r->block[worker];
  for (bool more = true; more;) {
    size_t number = atomic_fetch_add(&r->ticket, 1);
    enum be_status status = BE_OK;
    struct be_err err = {0};
    block->size = 0;
    block->at = block->text;
    block->number = number;
    be_gate_wait(r->taking, number);
    if (!r->no_more) status = be_feed_take(r->feed, block->text, &block->size, &err);
    bool last = status != BE_OK || block->size == 0;
    r->no_more = r->no_more || last;
    be_gate_pass(r->taking);
    if (!last) read_block(block);
    be_gate_wait(r->keeping, number);
    if (!r->ended && status != BE_OK) {
      if (r->err) *r->err = err;
      if (err.column) be_fail_at(r->err, NULL, r->line + 1, err.column);
      be_reader_fail(r, status);
    }
    bool keeps = !r->ended && !last;
    if (keeps) finish_block(r, block);
    else block->at = block->text;
    more = keeps && !r->ended;
    be_gate_pass(r->keeping);
  }
}

/* ---- setting up ---- */

static void set_up_plain(const struct be_reader *r, struct be_plain *plain)
{
  const struct be_block *head = r->head;
  *plain = (struct be_plain){
      .delimiter = head->delimiter,
      .decimal = head->decimal,
      .eol = r->feed->eol,
      .columns = head->columns_count,
  };
  for (size_t c = 0; c < plain->columns; c++) {
    plain->slot[c] = BE_NO_SLOT;
    plain->may_be_empty[c] = true;
  }
  for (size_t k = 0; k < r->lane_count; k++) {
    plain->off |= r->lane[k].roles->watched;
    for (int role = BE_ROLE_TIME; role < BE_ROLES; role++) {
      size_t column = r->lane[k].roles->column[role];
      if (column == BE_NOWHERE) continue;
      plain->slot[column] = r->lane[k].slot[role];
      plain->is_force[column] = role == BE_ROLE_FORCE;
      plain->may_be_empty[column] = role != BE_ROLE_FORCE || r->lane_count > 1;
    }
  }
}

/* A block without text of its own, for so many bytes. */
static struct be_text_block *create_block(const struct be_reader *r, size_t size)
{
  struct be_text_block *block = be_alloc_array(1, sizeof *block);
  if (!block) return NULL;
  set_up_plain(r, &block->plain);
  block->plain.forms = be_alloc_array(block->plain.columns, sizeof *block->plain.forms);
  /* A row has a byte a column at the least, and its end. */
  block->run.room = size / (r->slots + 1) + 1;
  if (block->run.room > BE_RUN_ROWS) block->run.room = BE_RUN_ROWS;
  block->numbers = be_alloc(r->slots * block->run.room * sizeof(double));
  for (size_t s = 0; s < r->slots && block->numbers; s++)
    block->run.column[s] = block->numbers + s * block->run.room;
  return block;
}

static void free_block(struct be_text_block *block)
{
  if (!block) return;
  be_free(block->plain.forms);
  be_free(block->numbers);
  be_free(block->text);
  be_free(block);
}

/* Makes block k ready for so many bytes, or with text of its own to take some. */
static enum be_status set_up_block(struct be_reader *r, size_t k, size_t size, bool takes)
{
  free_block(r->block[k]);
  struct be_text_block *block = r->block[k] = create_block(r, size);
  bool ready = block && block->numbers && block->plain.forms;
  if (ready && takes) {
    block->at = block->text = be_alloc(BE_WINDOW + BE_PAD);
    block->size = 0;
    ready = block->text;
  }
  return ready ? BE_OK : be_fail(r->err, BE_NO_MEMORY, "no memory to read rows");
}

static void set_up_lanes(struct be_reader *r, const struct be_lanes *lanes)
{
  const struct be_roles *roles = lanes->roles;
  r->lane_count = lanes->count;
  for (size_t k = 0; k < lanes->count; k++) {
    struct be_lane *lane = &r->lane[k];
    lane->roles = &roles[k];
    lane->axis = roles[k].column[BE_ROLE_TIME] != BE_NOWHERE        ? BE_ROLE_TIME
                 : roles[k].column[BE_ROLE_EXTENSION] != BE_NOWHERE ? BE_ROLE_EXTENSION
                                                                    : BE_ROLE_NONE;
    for (int role = BE_ROLE_NONE; role < BE_ROLES; role++)
      lane->slot[role] = role == BE_ROLE_NONE || roles[k].column[role] == BE_NOWHERE
                             ? BE_NO_SLOT
                             : (unsigned char)r->slots++;
  }
}

/* ---- all ---- */

/* The text that is in the window already, by this thread. */
static void read_window(struct be_reader *r)
{
  struct be_text_block *block = r->block[0];
  struct be_lines lines = be_feed_lines(r->feed);
  block->text = r->feed->data + r->feed->at;
  block->size = (size_t)(lines.end - lines.at);
  read_block(block);
  finish_block(r, block);
  lines.at = block->at;
  lines.number = r->line;
  be_feed_use(r->feed, &lines);
  block->text = NULL;
}

/* Text that was taken and not kept goes back, the last first. */
static enum be_status give_back(struct be_reader *r, size_t workers)
{
  enum be_status status = BE_OK;
  for (size_t number = r->ticket; number-- > 0 && status == BE_OK;)
    for (size_t k = 0; k < workers && status == BE_OK; k++) {
      struct be_text_block *block = r->block[k];
      if (block->number != number || block->at == block->text + block->size) continue;
      status = be_feed_give_back(r->feed, block->at,
                                 block->size - (size_t)(block->at - block->text), r->err);
      block->size = 0;
      block->at = block->text;
    }
  return status;
}

static enum be_status read_blocks(struct be_reader *r, unsigned threads)
{
  size_t workers = threads ? threads : be_processors();
  if (workers > BE_READERS_MAX) workers = BE_READERS_MAX;
  enum be_status status = BE_OK;
  for (size_t k = 0; k < workers && status == BE_OK; k++)
    status = set_up_block(r, k, BE_WINDOW, true);
  r->taking = be_gate_create();
  r->keeping = be_gate_create();
  if (status == BE_OK && !(r->taking && r->keeping))
    status = be_fail(r->err, BE_NO_MEMORY, "no memory to read rows");
  if (status == BE_OK) be_parallel(workers, (unsigned)workers, work, r);
  be_reader_fail(r, status);
  be_gate_free(r->taking);
  be_gate_free(r->keeping);
  r->feed->line = r->line;
  return r->status == BE_OK ? give_back(r, workers) : r->status;
}

static bool comes_before(const struct be_trace *a, const struct be_trace *b)
{
  return a->line[0] < b->line[0] || (a->line[0] == b->line[0] && a->lane < b->lane);
}

/* Gives the tests what all rows of their columns tell, and the order of their
 * first lines: lanes were kept a run at a time. */
static void finish_tests(struct be_reader *r)
{
  struct be_trace *tests = r->keep->file->tests;
  for (size_t k = r->first_test; k < r->keep->file->count; k++) {
    struct be_trace test = tests[k];
    const int *decimals = r->lane[test.lane].decimals;
    test.time_decimals = decimals[BE_ROLE_TIME];
    test.decimals = decimals[BE_ROLE_FORCE];
    test.extension_decimals = decimals[BE_ROLE_EXTENSION];
    size_t to = k;
    while (to > r->first_test && comes_before(&test, &tests[to - 1])) to--;
    memmove(&tests[to + 1], &tests[to], (k - to) * sizeof *tests);
    tests[to] = test;
  }
}

static enum be_status read_all(struct be_reader *r, unsigned threads)
{
  enum be_status status = set_up_block(r, 0, r->feed->size - r->feed->at, false);
  for (size_t k = 0; k < r->lane_count && status == BE_OK; k++) {
    be_lane_open(r, &r->lane[k]);
    status = r->status;
  }
  if (status == BE_OK) read_window(r);
  bool more = !r->feed->ended || r->feed->at < r->feed->size;
  if (status == BE_OK && !r->ended && more) status = read_blocks(r, threads);
  if (status == BE_OK) status = r->status;
  for (size_t k = 0; k < r->lane_count && status == BE_OK; k++) {
    be_lane_release(r, &r->lane[k]);
    be_lane_close(r, &r->lane[k]);
    status = r->status;
  }
  if (status == BE_OK) finish_tests(r);
  return status;
}

enum be_status be_rows_read(const struct be_block *head, const struct be_lanes *lanes,
                            unsigned threads, struct be_feed *feed, struct be_keep *keep,
                            struct be_rows_end *end, struct be_err *err)
{
  struct be_reader *r = be_alloc_array(1, sizeof *r);
  if (!r) return be_fail(err, BE_NO_MEMORY, "no memory to read rows");
  *end = (struct be_rows_end){0};
  r->head = head;
  r->feed = feed;
  r->keep = keep;
  r->end = end;
  r->err = err;
  r->line = feed->line;
  r->first_test = keep->file->count;
  set_up_lanes(r, lanes);
  enum be_status status = read_all(r, threads);
  const struct be_lane *first = &r->lane[0];
  end->axis_last = first->axis == BE_ROLE_NONE ? NAN : first->axis_last;
  for (size_t k = 0; k < BE_READERS_MAX; k++) free_block(r->block[k]);
  be_free(r);
  return status;
}
