/* Lua words: a Lua text told apart into words without being run: names, texts, numbers and signs; comments are passed
 * over.  Text that Lua would not read gives some words all the same. */
#ifndef EVENBORE_LUA_WORDS_H
#define EVENBORE_LUA_WORDS_H

#include <stdbool.h>
#include <stddef.h>

typedef enum eb_word_kind { EB_WORD_NAME, EB_WORD_TEXT, EB_WORD_NUMBER, EB_WORD_SIGN } eb_word_kind;

typedef struct eb_word {
  eb_word_kind kind;
  const char *at; /* of a text what stands between its quotes, escapes as they were written */
  size_t size;    /* of a sign 1 */
  unsigned line;  /* from 1 */
} eb_word;

typedef struct eb_words {
  const char *text;
  size_t size, at;
  unsigned line;
} eb_words;

void eb_words_begin(eb_words *words, const char *text, size_t size); /* borrowed */
bool eb_words_next(eb_words *words, eb_word *word);                  /* false at the end */
bool eb_word_is(const eb_word *word, eb_word_kind kind, const char *text);

#endif
