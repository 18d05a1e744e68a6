/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Fuzz target: whatever bytes are called a file of devices, what is read of it is written as it was
 * read. Built with clang -fsanitize=fuzzer,address,undefined. */
#include "app/devices/devices.h"

#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size)
{
  static struct be_device list[BE_DEVICES_MAX], again[BE_DEVICES_MAX];
  struct be_buf text;
  size_t count, same;
  if (be_devices_parse((const char *)bytes, size, list, &count, NULL) != BE_OK) return 0;
  be_buf_init(&text, 64 * 1024);
  be_devices_write(list, count, &text);
  if (be_devices_parse(text.data, text.size, again, &same, NULL) != BE_OK || same != count ||
      memcmp(list, again, count * sizeof *list) != 0)
    abort();
  be_buf_free(&text);
  return 0;
}
