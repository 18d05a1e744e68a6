/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "rig/rig.h"
#include "rig/settings/settings.h"

#include <string.h>

static const struct {
  const char *key;
  size_t offset, room;
} keys[] = {
#define KEY(key, field)                                                                            \
  {                                                                                                \
    key, offsetof(struct be_rig_setup, field), sizeof((struct be_rig_setup *)0)->field             \
  }
    KEY("source", source),           KEY("source settings", source_settings),
    KEY("frames", frames),           KEY("frame settings", frame_settings),
    KEY("calibration", calibration),
#undef KEY
};
enum { KEYS = sizeof keys / sizeof keys[0] };

void be_rig_setup_write(struct be_buf *text, const struct be_rig_setup *setup)
{
  be_buf_format(text, "[%s]\n", setup->name);
  for (size_t i = 0; i < KEYS; i++) {
    const char *value = (const char *)setup + keys[i].offset;
    if (value[0]) be_buf_format(text, "%s = %s\n", keys[i].key, value);
  }
}

static bool read_key(const struct be_section_line *line, struct be_rig_setup *setup)
{
  for (size_t i = 0; i < KEYS; i++)
    if (be_section_key(line, keys[i].key))
      return be_section_copy(line, (char *)setup + keys[i].offset, keys[i].room);
  return false;
}

/* Whether there is such a source, and such frames with such settings. */
static enum be_status look_at(const struct be_rig_setup *setup, struct be_err *err)
{
  struct be_frames *frames = NULL;
  if (!be_rig_source_find(setup->source)) {
    be_fail(err, BE_WRONG_USE, "the rig \"%s\" has no source \"%s\"", setup->name, setup->source);
    be_fail_remedy(err, "sources are serial, tcp, file and simulated");
    return BE_WRONG_USE;
  }
  enum be_status status = be_frames_create(setup->frames, setup->frame_settings, &frames, err);
  be_frames_free(frames);
  return status;
}

enum be_status be_rig_setup_parse(const char *text, size_t size, const char *name,
                                  struct be_rig_setup *setup, struct be_err *err)
{
  struct be_section_line line = {0};
  size_t at = 0;
  bool inside = false;
  *setup = (struct be_rig_setup){0};
  while (be_section_next(text, size, &at, &line)) {
    if (line.name) {
      if (inside) break;
      inside = be_section_is(&line, name) && line.name_size < sizeof setup->name;
      if (inside) memcpy(setup->name, line.name, line.name_size);
    } else if (inside && !read_key(&line, setup)) {
      be_fail(err, BE_BAD_INPUT, "this line of the rig cannot be read");
      be_fail_at(err, NULL, line.number, 0);
      be_fail_remedy(err, "docs/formats.md shows what may stand there");
      return BE_BAD_INPUT;
    }
  }
  if (inside) return look_at(setup, err);
  be_fail(err, BE_BAD_INPUT, "there is no rig \"%s\"", name ? name : "[...]");
  be_fail_remedy(err, "look at the name, in [...] above its lines");
  return BE_BAD_INPUT;
}

struct be_rig_options be_rig_setup_options(const struct be_rig_setup *setup)
{
  return (struct be_rig_options){.source = be_rig_source_find(setup->source),
                                 .source_settings = setup->source_settings,
                                 .frames = setup->frames,
                                 .frame_settings = setup->frame_settings};
}

bool be_rig_name_at(const char *text, size_t size, size_t index, char name[64])
{
  struct be_section_line line = {0};
  size_t at = 0;
  while (be_section_next(text, size, &at, &line)) {
    if (!line.name || line.name_size >= 64 || index-- > 0) continue;
    memcpy(name, line.name, line.name_size);
    name[line.name_size] = '\0';
    return true;
  }
  return false;
}
