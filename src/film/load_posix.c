/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Looks for the module: beside the program where it was built, then where it was installed. */
#define _POSIX_C_SOURCE 200809L
#include "film/film.h"

#include <dlfcn.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

enum { PATH_BYTES = 4096 };

static const char *told;
static _Atomic(const struct be_film *) opened;

void be_film_look_in(const char *folder)
{
  told = folder;
  opened = NULL;
}

static bool program_folder(char folder[PATH_BYTES])
{
  ssize_t length = readlink("/proc/self/exe", folder, PATH_BYTES - 1);
  if (length <= 0) return false;
  folder[length] = '\0';
  char *end = strrchr(folder, '/');
  if (end) *end = '\0';
  return end != NULL;
}

static const struct be_film *take_from(const char *path)
{
  void *module = dlopen(path, RTLD_NOW | RTLD_LOCAL);
  const struct be_film *film = module ? dlsym(module, "be_film_module") : NULL;
  if (film && film->version == BE_FILM_VERSION) return film;
  if (module) dlclose(module);
  return NULL;
}

/* The first place that has the file decides: what is wrong with it is what is told. */
static const struct be_film *look(char why[400])
{
  static const char *const beside[] = {"/../film/", "/../../src/film/", "/../src/film/",
                                       "/../" BE_FILM_LIBDIR "/bitterend/"};
  char folder[PATH_BYTES] = "", path[PATH_BYTES + 100];
  bool known = !told && program_folder(folder);
  for (size_t i = 0; i <= sizeof beside / sizeof beside[0]; i++) {
    bool last = i == sizeof beside / sizeof beside[0];
    if (told) snprintf(path, sizeof path, "%s/" BE_FILM_FILE, told);
    else if (last) snprintf(path, sizeof path, BE_FILM_FOLDER "/" BE_FILM_FILE);
    else if (known) snprintf(path, sizeof path, "%s%s" BE_FILM_FILE, folder, beside[i]);
    else continue;
    if (access(path, F_OK) != 0) continue;
    const struct be_film *film = take_from(path);
    const char *words = film ? NULL : dlerror();
    if (!film) snprintf(why, 400, "%s", words ? words : "it is of another version");
    return film;
  }
  snprintf(why, 400, "there is no " BE_FILM_FILE);
  return NULL;
}

enum be_status be_film_open(const struct be_film **film, struct be_err *err)
{
  char why[400] = "";
  *film = opened;
  if (*film) return BE_OK;
  *film = look(why);
  opened = *film;
  if (*film) return BE_OK;
  be_fail(err, BE_FAILED, "the part of the program that codes film cannot be opened: %s", why);
  be_fail_remedy(err, "install the FFmpeg libraries; on Debian: apt-get install libavformat59 "
                      "libswscale6 libswresample4. Pictures in a folder need none of them: --to "
                      "FOLDER/");
  return BE_FAILED;
}
