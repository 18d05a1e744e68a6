/* SPDX-License-Identifier: GPL-3.0-or-later */
#define _POSIX_C_SOURCE 200809L
#include "fault/failing_disk.h"

#include <sqlite3.h>
#include <string.h>
#include <unistd.h>

struct failing_disk failing_disk;

static sqlite3_vfs *real;

/* A file of ours; that of the real way lies behind it. */
struct layer {
  sqlite3_file base;
  sqlite3_file *below;
};

/* Counts one operation; true if it must fail. Dying does not come back. */
static bool fails(enum disk_operation operation)
{
  struct failing_disk *disk = &failing_disk;
  ++disk->calls[operation];
  ++disk->calls[DISK_ANY];
  size_t call = disk->calls[disk->operation];
  if ((operation != disk->operation && disk->operation != DISK_ANY) || !disk->fail_at) return false;
  bool for_ever = disk->end == DISK_FAILS_FOR_EVER || disk->end == DISK_IS_FULL;
  if (for_ever ? call < disk->fail_at : call != disk->fail_at) return false;
  disk->failed++;
  if (disk->end == DISK_DIES) _exit(DISK_DEAD);
  return true;
}

static sqlite3_file *below(sqlite3_file *file)
{
  return ((struct layer *)file)->below;
}

static int layer_close(sqlite3_file *file)
{
  return below(file)->pMethods->xClose(below(file));
}

static int layer_read(sqlite3_file *file, void *bytes, int size, sqlite3_int64 at)
{
  if (fails(DISK_READ)) return SQLITE_IOERR_READ;
  return below(file)->pMethods->xRead(below(file), bytes, size, at);
}

static int layer_write(sqlite3_file *file, const void *bytes, int size, sqlite3_int64 at)
{
  bool failing = fails(DISK_WRITE);
  if (failing && failing_disk.end == DISK_TEARS) {
    below(file)->pMethods->xWrite(below(file), bytes, size / 2, at);
    _exit(DISK_DEAD);
  }
  if (failing) return failing_disk.end == DISK_IS_FULL ? SQLITE_FULL : SQLITE_IOERR_WRITE;
  return below(file)->pMethods->xWrite(below(file), bytes, size, at);
}

static int layer_truncate(sqlite3_file *file, sqlite3_int64 size)
{
  if (fails(DISK_TRUNCATE)) return SQLITE_IOERR_TRUNCATE;
  return below(file)->pMethods->xTruncate(below(file), size);
}

static int layer_sync(sqlite3_file *file, int flags)
{
  if (fails(DISK_SYNC)) return SQLITE_IOERR_FSYNC;
  return below(file)->pMethods->xSync(below(file), flags);
}

static int layer_size(sqlite3_file *file, sqlite3_int64 *size)
{
  return below(file)->pMethods->xFileSize(below(file), size);
}

static int layer_lock(sqlite3_file *file, int level)
{
  return below(file)->pMethods->xLock(below(file), level);
}

static int layer_unlock(sqlite3_file *file, int level)
{
  return below(file)->pMethods->xUnlock(below(file), level);
}

static int layer_reserved(sqlite3_file *file, int *held)
{
  return below(file)->pMethods->xCheckReservedLock(below(file), held);
}

static int layer_control(sqlite3_file *file, int what, void *argument)
{
  return below(file)->pMethods->xFileControl(below(file), what, argument);
}

static int layer_sector(sqlite3_file *file)
{
  return below(file)->pMethods->xSectorSize(below(file));
}

static int layer_traits(sqlite3_file *file)
{
  return below(file)->pMethods->xDeviceCharacteristics(below(file));
}

static int layer_open(sqlite3_vfs *vfs, const char *name, sqlite3_file *file, int flags, int *out)
{
  /* Version 1: no shared memory and no mapping, so that all passes through here. */
  static const sqlite3_io_methods methods = {
      1,           layer_close, layer_read,   layer_write,    layer_truncate, layer_sync,
      layer_size,  layer_lock,  layer_unlock, layer_reserved, layer_control,  layer_sector,
      layer_traits};
  struct layer *layer = (struct layer *)file;
  (void)vfs;
  layer->base.pMethods = NULL;
  layer->below = (sqlite3_file *)(layer + 1);
  if (fails(DISK_OPEN)) return SQLITE_CANTOPEN;
  int code = real->xOpen(real, name, layer->below, flags, out);
  if (code == SQLITE_OK) layer->base.pMethods = &methods;
  return code;
}

static int layer_delete(sqlite3_vfs *vfs, const char *name, int sync_folder)
{
  (void)vfs;
  if (fails(DISK_DELETE)) return SQLITE_IOERR_DELETE;
  failing_disk.undurable += !sync_folder;
  return real->xDelete(real, name, sync_folder);
}

void failing_disk_install(void)
{
  static sqlite3_vfs vfs;
  if (real) return;
  real = sqlite3_vfs_find(NULL);
  vfs = *real;
  vfs.zName = "failing";
  vfs.pNext = NULL;
  vfs.szOsFile = (int)sizeof(struct layer) + real->szOsFile;
  vfs.xOpen = layer_open;
  vfs.xDelete = layer_delete;
  sqlite3_vfs_register(&vfs, 1);
}
