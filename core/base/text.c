#include "evenbore/text.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

void eb_text_init(eb_text *text, const eb_host *host)
{
  *text = (eb_text){.host = host};
}

void eb_text_clear(eb_text *text)
{
  text->host->allocate(text->host->context, text->bytes, 0);
  eb_text_init(text, text->host);
}

void eb_text_reset(eb_text *text)
{
  text->size = 0;
  if (text->bytes != NULL)
    text->bytes[0] = '\0';
}

/* Room for `more` bytes and the NUL behind what is there. */
static bool make_room(eb_text *text, size_t more)
{
  if (text->failed)
    return false;
  size_t wanted = text->size + more + 1;
  if (wanted <= text->room)
    return true;
  size_t room = text->room < 64 ? 64 : text->room * 2;
  if (room < wanted)
    room = wanted;
  char *bytes = text->host->allocate(text->host->context, text->bytes, room);
  if (bytes == NULL) {
    text->failed = true;
    return false;
  }
  text->bytes = bytes;
  text->room = room;
  return true;
}

void eb_text_add_bytes(eb_text *text, const void *bytes, size_t size)
{
  if (!make_room(text, size))
    return;
  if (size > 0)
    memcpy(text->bytes + text->size, bytes, size);
  text->size += size;
  text->bytes[text->size] = '\0';
}

void eb_text_add(eb_text *text, const char *string)
{
  eb_text_add_bytes(text, string, strlen(string));
}

void eb_text_printf(eb_text *text, const char *format, ...)
{
  va_list arguments;
  va_start(arguments, format);
  int size = vsnprintf(NULL, 0, format, arguments);
  va_end(arguments);
  if (size < 0 || !make_room(text, (size_t)size))
    return;
  va_start(arguments, format);
  vsnprintf(text->bytes + text->size, (size_t)size + 1, format, arguments);
  va_end(arguments);
  text->size += (size_t)size;
}

const char *eb_text_string(const eb_text *text)
{
  return text->bytes == NULL ? "" : text->bytes;
}

size_t eb_utf8_decode(const char *bytes, size_t size, uint32_t *code_point)
{
  const unsigned char *b = (const unsigned char *)bytes;
  if (size == 0)
    return 0;
  if (b[0] < 0x80) {
    *code_point = b[0];
    return 1;
  }
  size_t length = b[0] >= 0xF0 ? 4 : b[0] >= 0xE0 ? 3 : 2;
  if (b[0] < 0xC2 || b[0] > 0xF4 || size < length)
    return 0;
  uint32_t value = b[0] & (0x7FU >> length);
  for (size_t i = 1; i < length; i++) {
    if ((b[i] & 0xC0) != 0x80)
      return 0;
    value = value << 6 | (b[i] & 0x3FU);
  }
  static const uint32_t least[] = {0, 0, 0x80, 0x800, 0x10000};
  if (value < least[length] || value > 0x10FFFF || (value >= 0xD800 && value <= 0xDFFF))
    return 0;
  *code_point = value;
  return length;
}

/* How many of the bytes from `at` on are ASCII, eight at a time. */
static size_t skip_ascii(const char *bytes, size_t size, size_t at)
{
  size_t end = at;
  for (uint64_t eight; end + sizeof eight <= size; end += sizeof eight) {
    memcpy(&eight, bytes + end, sizeof eight);
    if ((eight & UINT64_C(0x8080808080808080)) != 0)
      break;
  }
  return end - at;
}

bool eb_utf8_valid(const char *bytes, size_t size, size_t *bad)
{
  for (size_t at = skip_ascii(bytes, size, 0); at < size; at += skip_ascii(bytes, size, at)) {
    uint32_t code_point;
    size_t length = eb_utf8_decode(bytes + at, size - at, &code_point);
    if (length == 0) {
      if (bad != NULL)
        *bad = at;
      return false;
    }
    at += length;
  }
  return true;
}

bool eb_char_unprintable(uint32_t c)
{
  return c < 0x20 || (c >= 0x7F && c < 0xA0) || c == 0xAD || c == 0x61C || (c >= 0x200B && c <= 0x200F) ||
         (c >= 0x2028 && c <= 0x202E) || (c >= 0x2060 && c <= 0x206F) || c == 0xFEFF || (c >= 0xFFF9 && c <= 0xFFFB) ||
         (c >= 0xE0000 && c <= 0xE0FFF);
}

void eb_text_add_safe(eb_text *text, const char *bytes, size_t size, bool keep_newlines)
{
  for (size_t at = 0; at < size;) {
    uint32_t c = 0;
    size_t length = eb_utf8_decode(bytes + at, size - at, &c);
    if (length == 0) {
      eb_text_printf(text, "\\x%02X", (unsigned)(unsigned char)bytes[at]);
      length = 1;
    } else if (c == '\n' && keep_newlines) {
      eb_text_add(text, "\n");
    } else if (eb_char_unprintable(c)) {
      eb_text_printf(text, "\\u{%X}", (unsigned)c);
    } else {
      eb_text_add_bytes(text, bytes + at, length);
    }
    at += length;
  }
}

static bool combining(uint32_t c)
{
  return (c >= 0x300 && c <= 0x36F) || (c >= 0x1AB0 && c <= 0x1AFF) || (c >= 0x1DC0 && c <= 0x1DFF) ||
         (c >= 0x20D0 && c <= 0x20FF) || (c >= 0xFE00 && c <= 0xFE0F) || (c >= 0xFE20 && c <= 0xFE2F);
}

static bool wide(uint32_t c)
{
  return (c >= 0x1100 && c <= 0x115F) || (c >= 0x2E80 && c <= 0xA4CF) || (c >= 0xAC00 && c <= 0xD7A3) ||
         (c >= 0xF900 && c <= 0xFAFF) || (c >= 0xFE30 && c <= 0xFE6F) || (c >= 0xFF00 && c <= 0xFF60) ||
         (c >= 0xFFE0 && c <= 0xFFE6) || (c >= 0x1F300 && c <= 0x1FAFF) || (c >= 0x20000 && c <= 0x3FFFD);
}

size_t eb_utf8_columns(const char *string)
{
  size_t size = strlen(string);
  size_t columns = 0;
  for (size_t at = 0; at < size;) {
    uint32_t c = 0;
    size_t length = eb_utf8_decode(string + at, size - at, &c);
    columns += length == 0 ? 1 : combining(c) ? 0 : wide(c) ? 2 : 1;
    at += length == 0 ? 1 : length;
  }
  return columns;
}

enum { WORD_MAX = 48 };

static size_t least(size_t a, size_t b)
{
  return a < b ? a : b;
}

/* Edit distance with swaps of neighbours (optimal string alignment). */
static size_t distance(const char *a, size_t a_size, const char *b, size_t b_size)
{
  size_t rows[3][WORD_MAX + 1];
  size_t *before = rows[0];
  size_t *last = rows[1];
  size_t *now = rows[2];
  for (size_t j = 0; j <= b_size; j++)
    last[j] = before[j] = j;
  for (size_t i = 1; i <= a_size; i++) {
    now[0] = i;
    for (size_t j = 1; j <= b_size; j++) {
      now[j] = least(least(last[j] + 1, now[j - 1] + 1), last[j - 1] + (a[i - 1] != b[j - 1]));
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
        now[j] = least(now[j], before[j - 2] + 1);
    }
    size_t *spare = before;
    before = last;
    last = now;
    now = spare;
  }
  return last[b_size];
}

const char *eb_nearest(const char *word, const char *const *words, size_t count)
{
  const char *nearest = NULL;
  size_t nearest_distance = 0;
  size_t size = strlen(word);
  if (size == 0 || size > WORD_MAX)
    return NULL;
  for (size_t i = 0; i < count; i++) {
    size_t other = strlen(words[i]);
    if (other > WORD_MAX)
      continue;
    size_t far = distance(word, size, words[i], other);
    size_t allowed = (size > other ? size : other) / 3;
    if (far <= (allowed > 0 ? allowed : 1) && far < (size > other ? size : other) &&
        (nearest == NULL || far < nearest_distance)) {
      nearest = words[i];
      nearest_distance = far;
    }
  }
  return nearest;
}
