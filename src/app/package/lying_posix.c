/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What lies in a folder, whatever it should hold; links are named and not followed. */
#define _POSIX_C_SOURCE 200809L
#include "app/package/inside.h"

#include <dirent.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

enum { DEEPEST = 8, WHOLE = 4096 + BE_PACKAGE_PATH_MAX };

struct looking {
  const char *folder;
  be_file_seen *seen;
  void *context;
};

static void look_in(const struct looking *in, const char *path, int depth)
{
  char whole[WHOLE], next[WHOLE];
  int length = snprintf(whole, sizeof whole, "%s/%s", in->folder, path);
  DIR *dir = length > 0 && (size_t)length < sizeof whole ? opendir(whole) : NULL;
  for (struct dirent *one; dir && (one = readdir(dir)) != NULL;) {
    struct stat about;
    if (strcmp(one->d_name, ".") == 0 || strcmp(one->d_name, "..") == 0) continue;
    length = snprintf(next, sizeof next, "%s%s%s", path, *path ? "/" : "", one->d_name);
    if (length < 0 || (size_t)length >= sizeof next) continue;
    bool known = fstatat(dirfd(dir), one->d_name, &about, AT_SYMLINK_NOFOLLOW) == 0;
    if (!known || !S_ISDIR(about.st_mode)) in->seen(in->context, next);
    else if (depth < DEEPEST) look_in(in, next, depth + 1);
  }
  if (dir) closedir(dir);
}

void be_folder_files(const char *folder, be_file_seen *seen, void *context)
{
  const struct looking looking = {folder, seen, context};
  look_in(&looking, "", 0);
}
