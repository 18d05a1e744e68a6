/* SPDX-License-Identifier: GPL-3.0-or-later */
/* failing: an allocator for tests that runs out of memory where it is told to,
 * and notices leaks, writes past the end and wrong sizes. Fresh and freed
 * memory is filled with rubbish, and a block that is resized always moves. */
#ifndef BE_FAILING_H
#define BE_FAILING_H

#include "base/base.h"

struct be_failing {
  size_t fail_at;           /* the call that fails, counted from 1; 0: none */
  bool for_ever;            /* and every call after it */
  size_t at_least, at_most; /* other sizes are neither counted nor failed; 0: no limit */
  size_t calls;             /* so far, freeing aside */
  size_t failed;            /* of these */
  size_t blocks;            /* live now */
  size_t bytes;             /* live now */
  size_t broken;            /* blocks found damaged or given back with a wrong size */
};

/* Installs the allocator, counting into *failing, or takes it out again. Only
 * one at a time. Blocks of before must not be freed between the two. */
void be_failing_start(struct be_failing *failing, size_t fail_at, bool for_ever);
void be_failing_stop(void);
/* From now on memory is plenty; what failed so far stays counted. For looking,
 * at the end of an operation, at what the failure left behind. */
void be_failing_relent(void);

/* What is tried. It must release all it made, whether it succeeds or not. */
typedef enum be_status be_operation(void *context, struct be_err *err);

/* How an operation bore the loss of its calls 1, 2, ... in turn. */
struct be_fail_report {
  size_t points;     /* calls that could be made to fail before it succeeded */
  size_t borne;      /* of these, after which it was done all the same */
  const char *fault; /* null if all went well, else what was wrong */
  size_t at;         /* the call whose failure showed it; 0: it succeeded */
};

enum { BE_FAIL_POINTS_MAX = 100000 };

void be_fail_search(be_operation *operation, void *context, bool for_ever,
                    struct be_fail_report *report);

/* Fails each call once, then each call and all after it, and asserts that
 * every time the status was BE_NO_MEMORY with words, nothing leaked and no
 * block was damaged; and that at least `known` calls were tried, so that a
 * loop that tries nothing cannot pass. */
void be_fail_loop(be_operation *operation, void *context, size_t known);

/* The same for an operation that may do without some of its memory (a cache
 * that stays smaller), and that itself looks whether all was done before it
 * returns BE_OK. */
void be_fail_search_bearing(be_operation *operation, void *context, bool for_ever,
                            struct be_fail_report *report);
void be_fail_loop_bearing(be_operation *operation, void *context, size_t known);

/* What be_fail_search_bearing does, in the time of one run rather than one for each call: at each
 * call the process is copied (fork), and the copy goes on without that memory while this process
 * waits. The same calls fail, in the same state of the program; under
 * sanitizers all of the first thousand, then each seventh. For what writes no file and
 * starts no thread, or is linked with no_threads.c. What a fault leaves in *context is seen: its
 * call is failed here as well. */
void be_fail_search_apart(be_operation *operation, void *context, bool for_ever,
                          struct be_fail_report *report);
void be_fail_loop_apart(be_operation *operation, void *context, size_t known);
/* Whether calls are failed in copies now. */
bool be_failing_apart(void);

#endif
