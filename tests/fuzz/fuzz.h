/* What the fuzz targets share.  A target is one function that is given bytes and holds up: it aborts where a promise is
 * broken, and the sanitizers do where memory is. */
#ifndef EB_TESTS_FUZZ_H
#define EB_TESTS_FUZZ_H

#include "evenbore/status.h"
#include "evenbore/text.h"

#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static inline void must_at(bool holds, const char *what, int line)
{
  if (holds)
    return;
  fprintf(stderr, "line %d: not so: %s\n", line, what);
  abort();
}
#define must(condition) must_at(condition, #condition, __LINE__)

/* An error is one line that says something and can be shown. */
static inline void must_be_clear(const eb_error *error, eb_status status)
{
  must(error->status == status);
  must(error->message[0] != '\0');
  const char *texts[2] = {error->place, error->message};
  for (int i = 0; i < 2; i++) {
    size_t size = strlen(texts[i]);
    uint32_t c = 0;
    for (size_t at = 0; at < size; at += eb_utf8_decode(texts[i] + at, size - at, &c)) {
      must(eb_utf8_decode(texts[i] + at, size - at, &c) > 0);
      must(!eb_char_unprintable(c));
    }
  }
}

#endif
