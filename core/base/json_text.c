/* A tree as text. cJSON prints too, but reads every number back that it has printed: trees of this program hold 15
 * digits of one already. */
#include "json_number.h"

#include "evenbore/json.h"

#include <cjson/cJSON.h>
#include <string.h>

enum { ROOM = 1024 };

typedef struct sink {
  char *bytes; /* NULL: memory ran out */
  size_t size, room;
} sink;

/* Where the next `more` bytes go; NULL: memory ran out. */
static char *space_for(sink *out, size_t more)
{
  if (out->bytes == NULL || out->room - out->size >= more)
    return out->bytes == NULL ? NULL : out->bytes + out->size;
  size_t room = out->room * 2 + more;
  char *larger = cJSON_malloc(room);
  if (larger != NULL)
    memcpy(larger, out->bytes, out->size);
  cJSON_free(out->bytes);
  out->bytes = larger;
  out->room = room;
  return larger == NULL ? NULL : larger + out->size;
}

static void put(sink *out, const char *bytes, size_t size)
{
  char *to = space_for(out, size);
  if (to == NULL)
    return;
  memcpy(to, bytes, size);
  out->size += size;
}

static void put_escape(sink *out, unsigned char c)
{
  static const char digits[] = "0123456789abcdef";
  static const char plain[] = "\"\\\b\f\n\r\t";
  static const char written[] = "\"\\bfnrt";
  const char *met = strchr(plain, c);
  if (met != NULL)
    put(out, (const char[]){'\\', written[met - plain]}, 2);
  else
    put(out, (const char[]){'\\', 'u', '0', '0', digits[c >> 4], digits[c & 15]}, 6);
}

static void put_string(sink *out, const char *text)
{
  put(out, "\"", 1);
  for (;;) {
    size_t plain = 0;
    while ((unsigned char)text[plain] >= ' ' && text[plain] != '"' && text[plain] != '\\')
      plain++;
    put(out, text, plain);
    text += plain;
    if (*text == '\0')
      break;
    put_escape(out, (unsigned char)*text++);
  }
  put(out, "\"", 1);
}

static void put_number(sink *out, double number)
{
  char *to = space_for(out, JSON_NUMBER_SIZE);
  if (to != NULL)
    out->size += json_number_write(number, to);
}

static void put_value(sink *out, const cJSON *value);

static void put_children(sink *out, const cJSON *value)
{
  bool object = eb_json_is_object(value);
  put(out, object ? "{" : "[", 1);
  for (const cJSON *child = value->child; child != NULL; child = child->next) {
    if (object) {
      put_string(out, child->string);
      put(out, ":", 1);
    }
    put_value(out, child);
    if (child->next != NULL)
      put(out, ",", 1);
  }
  put(out, object ? "}" : "]", 1);
}

static void put_value(sink *out, const cJSON *value)
{
  if (eb_json_is_string(value))
    put_string(out, value->valuestring);
  else if (eb_json_is_number(value))
    put_number(out, value->valuedouble);
  else if (eb_json_is_object(value) || eb_json_is_array(value))
    put_children(out, value);
  else if (eb_json_is_null(value))
    put(out, "null", 4);
  else
    put(out, eb_json_as_bool(value, false) ? "true" : "false", eb_json_as_bool(value, false) ? 4 : 5);
}

char *eb_json_text(const eb_json *value)
{
  if (value == NULL)
    return NULL;
  sink out = {.bytes = cJSON_malloc(ROOM), .room = ROOM};
  put_value(&out, value);
  put(&out, "", 1);
  return out.bytes;
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
