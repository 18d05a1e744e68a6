/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BE_RIG_FILE_H
#define BE_RIG_FILE_H

#include "rig/line/line.h"

/* ---- captures: what came over a line, and when ---- */

/* Adds the first line of a capture, and a chunk with its bytes. docs/formats.md
 * describes the file. */
void be_capture_start(struct be_buf *out);
void be_capture_add(struct be_buf *out, const struct be_rig_chunk *chunk, const char *bytes);

/* ---- a file played as if it came over a line ---- */

/* A capture gives each run of bytes at its time; any other file its lines, at so many a
 * second. */
extern const struct be_rig_source be_rig_file;

#endif
