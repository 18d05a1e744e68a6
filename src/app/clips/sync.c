/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The break of a trace put where the line is heard to snap. */
#include "app/clips/clips.h"
#include "app/clips/overlay.h"

enum be_status be_snap_in_footage(const struct be_film *film, const char *footage_path,
                                  const struct overlay *overlay, struct snap_found *found,
                                  struct be_err *err)
{
  (void)film;
  (void)overlay;
  (void)found;
  be_fail(err, BE_BAD_INPUT, "where the line snaps cannot be told from its sound");
  be_fail_at(err, footage_path, 0, 0);
  be_fail_remedy(err, "give with --offset how many seconds into the footage it lets go");
  return BE_BAD_INPUT;
}
