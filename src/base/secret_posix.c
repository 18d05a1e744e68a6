/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/base.h"

#include <errno.h>
#include <sha256.h>
#include <stdio.h>
#include <string.h>
#include <sys/random.h>

enum be_status be_secret(void *bytes, size_t size, struct be_err *err)
{
  unsigned char *at = bytes;
  while (size > 0) {
    ssize_t got = getrandom(at, size, 0);
    if (got < 0 && errno == EINTR) continue;
    if (got <= 0) {
      be_fail(err, BE_FAILED, "the system gives no random bytes: %s",
              got < 0 ? strerror(errno) : "none came");
      be_fail_remedy(err, "a system with getrandom is needed; nothing else is safe here");
      return BE_FAILED;
    }
    at += got;
    size -= (size_t)got;
  }
  return BE_OK;
}

bool be_secret_same(const void *a, const void *b, size_t size)
{
  const volatile unsigned char *one = a, *other = b;
  unsigned char differs = 0;
  for (size_t i = 0; i < size; i++) differs |= one[i] ^ other[i];
  return differs == 0;
}

void be_sha256_hex(const char *bytes, size_t size, char hex[65])
{
  SHA256_CTX context;
  uint8_t digest[SHA256_DIGEST_LENGTH];
  SHA256_Init(&context);
  SHA256_Update(&context, (const uint8_t *)bytes, size);
  SHA256_Final(digest, &context);
  for (size_t i = 0; i < sizeof digest; i++) snprintf(hex + 2 * i, 3, "%02x", digest[i]);
}
