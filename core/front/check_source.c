/* A procedure's text: letters that deceive, and names that nothing is known of. */
#include "check.h"

#include "evenbore/script.h"

#include <stdio.h>
#include <string.h>

typedef enum script { OTHER, LATIN, GREEK, CYRILLIC, ARMENIAN, FULL_WIDTH } script;

/* Letters alone: a micro or ohm sign is no letter of a word. */
static script script_of(uint32_t c)
{
  if ((c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= 0xC0 && c <= 0x24F && c != 0xD7 && c != 0xF7))
    return LATIN;
  if (c >= 0x370 && c <= 0x3FF && c != 0x3BC && c != 0x3A9)
    return GREEK;
  if (c >= 0x400 && c <= 0x52F)
    return CYRILLIC;
  if (c >= 0x531 && c <= 0x588)
    return ARMENIAN;
  return c >= 0xFF21 && c <= 0xFF5A ? FULL_WIDTH : OTHER;
}

static bool in_word(uint32_t c)
{
  return script_of(c) != OTHER || (c >= '0' && c <= '9') || c == '_' || c == '-';
}

typedef struct scan {
  eb_check *check;
  const char *name;
  unsigned line;
  script seen; /* in the word at hand */
} scan;

static void complain(scan *s, bool error, const char *format, unsigned c)
{
  char place[200];
  snprintf(place, sizeof place, "%.150s:%u", s->name, s->line);
#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wformat-nonliteral"
  eb_check_add(s->check, error, place, format, c);
#pragma GCC diagnostic pop
}

static void look(scan *s, uint32_t c)
{
  script met = script_of(c);
  if (eb_char_unprintable(c) && c != '\n' && c != '\r' && c != '\t')
    complain(s, true, "the character U+%04X hides, or turns the direction of what is read; delete it", (unsigned)c);
  if (met != OTHER && s->seen != OTHER && met != s->seen)
    complain(s, false, "U+%04X looks like a letter of another alphabet in the same word; type the word anew",
             (unsigned)c);
  if (!in_word(c))
    s->seen = OTHER;
  else if (met != OTHER && s->seen == OTHER)
    s->seen = met;
}

static void add_unknown(void *context, int line, const char *message)
{
  scan *s = context;
  char place[200];
  snprintf(place, sizeof place, "%.150s:%d", s->name, line);
  eb_check_add(s->check, true, place, "%s", message);
}

void eb_check_source(eb_check *check, const eb_source *source)
{
  scan s = {.check = check, .name = source->name, .line = 1};
  for (size_t at = 0; at < source->size;) {
    uint32_t c = 0;
    size_t size = eb_utf8_decode(source->text + at, source->size - at, &c);
    bool mark = at == 0 && c == 0xFEFF;
    if (size > 0 && !mark)
      look(&s, c);
    s.line += c == '\n';
    at += size == 0 ? 1 : size;
  }
  eb_script_unknown_names(source, add_unknown, &s);
}
