#include "shown.h"

#include "evenbore/text.h"

#include <stdio.h>
#include <string.h>

enum { CHARACTERS_MAX = 40, MORE_SIZE = 3 };

const char *measure_shown(const char *bytes, size_t size, char shown[SHOWN_SIZE])
{
  size_t characters = 0;
  size_t used = 0;
  size_t cut = 0; /* the last place that leaves room for "..." */
  for (size_t at = 0; at < size;) {
    uint32_t c = 0;
    char piece[16];
    size_t length = eb_utf8_decode(bytes + at, size - at, &c);
    size_t columns = 1;
    if (length == 0)
      columns = (size_t)snprintf(piece, sizeof piece, "\\x%02X", (unsigned)(unsigned char)bytes[at]);
    else if (eb_char_unprintable(c))
      columns = (size_t)snprintf(piece, sizeof piece, "\\u{%X}", (unsigned)c);
    else
      snprintf(piece, sizeof piece, "%.*s", (int)length, bytes + at);
    at += length == 0 ? 1 : length;
    characters += columns;
    if (characters > CHARACTERS_MAX) {
      memcpy(shown + cut, "...", MORE_SIZE + 1);
      return shown;
    }
    memcpy(shown + used, piece, strlen(piece));
    used += strlen(piece);
    if (characters + MORE_SIZE <= CHARACTERS_MAX)
      cut = used;
  }
  shown[used] = '\0';
  return shown;
}
