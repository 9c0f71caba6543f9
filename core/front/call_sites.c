#include "call_sites.h"

#include "lua_words.h"

static const char *const calls[] = {"caution", "choose", "confirm", "line", "must", "number", "pass", "read"};

static const char *asking_call(const eb_word *word)
{
  for (size_t i = 0; i < sizeof calls / sizeof calls[0]; i++)
    if (eb_word_is(word, EB_WORD_NAME, calls[i]))
      return calls[i];
  return NULL;
}

bool eb_call_site_next(const char *text, size_t size, size_t *at, unsigned *line, const char **call)
{
  eb_words words = {.text = text, .size = size, .at = *at, .line = *line};
  eb_word word;
  int colons = 0;       /* that stand right before the word: two make a label */
  bool defines = false; /* `function job:confirm(` is no call */
  const char *found = NULL;
  while (found == NULL && eb_words_next(&words, &word)) {
    bool colon = eb_word_is(&word, EB_WORD_SIGN, ":");
    if (colons == 1 && !defines && (found = asking_call(&word)) != NULL)
      *call = found;
    defines = eb_word_is(&word, EB_WORD_NAME, "function") || (defines && (colon || word.kind == EB_WORD_NAME));
    colons = colon ? colons + 1 : 0;
    *line = word.line;
  }
  *at = words.at;
  return found != NULL;
}

unsigned eb_line_count(const char *text, size_t size)
{
  unsigned lines = 1;
  for (size_t i = 0; i < size; i++)
    lines += text[i] == '\n';
  return lines;
}
