#include "keys.h"

#include "evenbore/text.h"

#include <string.h>
#include <strings.h>

typedef struct key_form {
  eb_key key;
  const char *word, *keypad;
  bool text; /* may follow */
} key_form;

static const key_form forms[] = {
    {EB_KEY_BACK, "back", "-", false},   {EB_KEY_NOTE, "note", "+", true},     {EB_KEY_WHY, "why", "*", false},
    {EB_KEY_CHART, "chart", "/", false}, {EB_KEY_PAUSE, "pause", "//", false}, {EB_KEY_STOP, "stop", "--", true},
    {EB_KEY_HELP, "help", "**", false},  {EB_KEY_HELP, "?", "?", false},
};
enum { FORMS = sizeof forms / sizeof forms[0] };

static bool is_blank(char c)
{
  return c == ' ' || c == '\t';
}

static bool same(const char *text, size_t size, const char *word)
{
  return strlen(word) == size && strncasecmp(text, word, size) == 0;
}

eb_key eb_key_read(const char *line, size_t size, bool words, const char **rest, size_t *rest_size)
{
  while (size > 0 && is_blank(line[size - 1]))
    size--;
  while (size > 0 && is_blank(*line)) {
    line++;
    size--;
  }
  *rest = line;
  *rest_size = size;
  if (size == 0)
    return EB_KEY_EMPTY;
  size_t first = 0;
  while (first < size && !is_blank(line[first]))
    first++;
  for (size_t i = 0; i < FORMS; i++) {
    if (!same(line, first, forms[i].word) && !same(line, first, forms[i].keypad))
      continue;
    if (first < size && (!forms[i].text || words))
      continue;
    while (first < size && is_blank(line[first]))
      first++;
    *rest = line + first;
    *rest_size = size - first;
    return forms[i].key;
  }
  return EB_KEY_NONE;
}

const char *eb_key_nearest(const char *word)
{
  const char *known[FORMS];
  for (size_t i = 0; i < FORMS; i++)
    known[i] = forms[i].word;
  return eb_nearest(word, known, FORMS);
}
