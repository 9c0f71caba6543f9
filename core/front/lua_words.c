#include "lua_words.h"

#include <ctype.h>
#include <string.h>

void eb_words_begin(eb_words *w, const char *text, size_t size)
{
  *w = (eb_words){.text = text, .size = size, .line = 1};
}

static char here(const eb_words *w, size_t ahead)
{
  return w->at + ahead < w->size ? w->text[w->at + ahead] : '\0';
}

static void step(eb_words *w, size_t by)
{
  for (; by > 0 && w->at < w->size; by--)
    w->line += w->text[w->at++] == '\n';
}

/* The equal signs of a long bracket that opens here; -1 where none does. */
static int bracket_level(const eb_words *w)
{
  size_t level = 0;
  if (here(w, 0) != '[')
    return -1;
  while (here(w, 1 + level) == '=')
    level++;
  return here(w, 1 + level) == '[' ? (int)level : -1;
}

static bool closes(const eb_words *w, size_t level)
{
  if (here(w, 0) != ']' || here(w, 1 + level) != ']')
    return false;
  for (size_t i = 1; i <= level; i++)
    if (here(w, i) != '=')
      return false;
  return true;
}

static void take_long(eb_words *w, size_t level, eb_word *word)
{
  step(w, level + 2);
  word->at = w->text + w->at;
  while (w->at < w->size && !closes(w, level))
    step(w, 1);
  word->size = (size_t)(w->text + w->at - word->at);
  step(w, level + 2);
}

static void take_quoted(eb_words *w, eb_word *word)
{
  char quote = here(w, 0);
  step(w, 1);
  word->at = w->text + w->at;
  while (w->at < w->size && here(w, 0) != quote && here(w, 0) != '\n')
    step(w, here(w, 0) == '\\' ? 2 : 1);
  word->size = (size_t)(w->text + w->at - word->at);
  step(w, 1);
}

static bool pass_comment(eb_words *w)
{
  if (here(w, 0) != '-' || here(w, 1) != '-')
    return false;
  step(w, 2);
  int level = bracket_level(w);
  eb_word comment;
  if (level >= 0)
    take_long(w, (size_t)level, &comment);
  else
    while (w->at < w->size && here(w, 0) != '\n')
      step(w, 1);
  return true;
}

static bool in_name(char c)
{
  return isalnum((unsigned char)c) || c == '_';
}

bool eb_words_next(eb_words *w, eb_word *word)
{
  while (w->at < w->size && (isspace((unsigned char)here(w, 0)) || pass_comment(w)))
    if (isspace((unsigned char)here(w, 0)))
      step(w, 1);
  if (w->at >= w->size)
    return false;
  int level = bracket_level(w);
  *word = (eb_word){.kind = EB_WORD_SIGN, .at = w->text + w->at, .size = 1, .line = w->line};
  if (level >= 0 || here(w, 0) == '"' || here(w, 0) == '\'') {
    word->kind = EB_WORD_TEXT;
    if (level >= 0)
      take_long(w, (size_t)level, word);
    else
      take_quoted(w, word);
    return true;
  }
  if (in_name(here(w, 0))) {
    bool number = isdigit((unsigned char)here(w, 0)) != 0;
    word->kind = number ? EB_WORD_NUMBER : EB_WORD_NAME;
    while (in_name(here(w, word->size)) || (number && here(w, word->size) == '.'))
      word->size++;
  }
  step(w, word->size);
  return true;
}

bool eb_word_is(const eb_word *word, eb_word_kind kind, const char *text)
{
  return word->kind == kind && strlen(text) == word->size && memcmp(text, word->at, word->size) == 0;
}
