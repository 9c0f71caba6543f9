/* A tree as text, and as one that a person may see. */
#include "evenbore/json.h"

#include <cjson/cJSON.h>
#include <limits.h>
#include <string.h>

char *eb_json_text(const eb_json *value)
{
  return cJSON_PrintUnformatted(value);
}

bool eb_json_text_into(const eb_json *value, char *text, size_t size)
{
  return size <= INT_MAX && cJSON_PrintPreallocated((eb_json *)value, text, (int)size, 0);
}

bool eb_json_add_text(eb_text *text, const eb_json *value)
{
  size_t spare = text->room - text->size;
  if (!text->failed && spare > 0 && eb_json_text_into(value, text->bytes + text->size, spare)) {
    text->size += strlen(text->bytes + text->size);
    return true;
  }
  if (text->bytes != NULL)
    text->bytes[text->size] = '\0';
  char *json = eb_json_text(value);
  if (json == NULL)
    text->failed = true;
  else
    eb_text_add(text, json);
  eb_json_text_free(json);
  return !text->failed;
}

void eb_json_text_free(char *text)
{
  cJSON_free(text);
}

/* Beyond ASCII there is nothing in JSON but what stands in strings, where an escape may replace it. */
static void add_shown(eb_text *text, const char *json)
{
  size_t size = strlen(json), length;
  for (size_t at = 0; at < size; at += length) {
    uint32_t c = 0;
    length = eb_utf8_decode(json + at, size - at, &c);
    if (length == 0)
      length = 1;
    if (c >= 0x10000 && eb_char_unprintable(c))
      eb_text_printf(text, "\\u%04X\\u%04X", (unsigned)(0xD7C0 + (c >> 10)), (unsigned)(0xDC00 + (c & 0x3FF)));
    else if (eb_char_unprintable(c))
      eb_text_printf(text, "\\u%04X", (unsigned)c);
    else
      eb_text_add_bytes(text, json + at, length);
  }
}

bool eb_json_add_shown(eb_text *text, const eb_json *value)
{
  char *json = eb_json_text(value);
  if (json == NULL)
    text->failed = true;
  else
    add_shown(text, json);
  eb_json_text_free(json);
  return !text->failed;
}
