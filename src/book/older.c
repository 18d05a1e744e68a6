/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A book that an older version wrote, for who may not or need not write to it. */
#include "book/inside.h"

enum be_status be_copy_to_memory(sqlite3 **db, struct be_err *err)
{
  sqlite3 *copy = NULL;
  enum { FLAGS = SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE | SQLITE_OPEN_NOMUTEX };
  bool opened = sqlite3_open_v2(":memory:", &copy, FLAGS, NULL) == SQLITE_OK;
  sqlite3_backup *going = opened ? sqlite3_backup_init(copy, "main", *db, "main") : NULL;
  if (going) {
    sqlite3_backup_step(going, -1);
    opened = sqlite3_backup_finish(going) == SQLITE_OK;
  }
  if (!going || !opened) {
    enum be_status status = be_sql_failed(copy, err);
    sqlite3_close(copy);
    return status;
  }
  sqlite3_close(*db);
  *db = copy;
  return BE_OK;
}
