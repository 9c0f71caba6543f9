#include "call_sites.h"

#include <ctype.h>
#include <string.h>

static const char *const calls[] = {"caution", "choose", "confirm", "line", "must", "number", "pass", "read"};

typedef struct scan {
  const char *text;
  size_t size, at;
  unsigned line;
} scan;

static char here(const scan *s, size_t ahead)
{
  return s->at + ahead < s->size ? s->text[s->at + ahead] : '\0';
}

static void step(scan *s, size_t by)
{
  for (; by > 0 && s->at < s->size; by--)
    s->line += s->text[s->at++] == '\n';
}

/* `[[`, `[==[`: the count of equal signs, and -1 where no long bracket opens here. */
static int bracket_level(const scan *s)
{
  int level = 0;
  if (here(s, 0) != '[')
    return -1;
  while (here(s, 1 + (size_t)level) == '=')
    level++;
  return here(s, 1 + (size_t)level) == '[' ? level : -1;
}

static bool closes(const scan *s, int level)
{
  if (here(s, 0) != ']' || here(s, 1 + (size_t)level) != ']')
    return false;
  for (int i = 1; i <= level; i++)
    if (here(s, (size_t)i) != '=')
      return false;
  return true;
}

static void pass_long(scan *s, int level)
{
  step(s, (size_t)level + 2);
  while (s->at < s->size && !closes(s, level))
    step(s, 1);
  step(s, (size_t)level + 2);
}

static void pass_quoted(scan *s)
{
  char quote = here(s, 0);
  step(s, 1);
  while (s->at < s->size && here(s, 0) != quote && here(s, 0) != '\n')
    step(s, here(s, 0) == '\\' ? 2 : 1);
  step(s, 1);
}

/* Comments and texts; false where there is none here. */
static bool pass_words(scan *s)
{
  bool comment = here(s, 0) == '-' && here(s, 1) == '-';
  scan behind = *s;
  if (comment)
    step(&behind, 2);
  int level = bracket_level(&behind);
  if (level >= 0) {
    *s = behind;
    pass_long(s, level);
    return true;
  }
  if (comment) {
    while (s->at < s->size && here(s, 0) != '\n')
      step(s, 1);
    return true;
  }
  if (here(s, 0) != '"' && here(s, 0) != '\'')
    return false;
  pass_quoted(s);
  return true;
}

static bool in_name(char c)
{
  return isalnum((unsigned char)c) || c == '_';
}

/* The call's name where the scan stands on ":NAME" of one that asks. */
static const char *call_here(const scan *s)
{
  if (here(s, 0) != ':' || (s->at > 0 && s->text[s->at - 1] == ':'))
    return NULL;
  for (size_t i = 0; i < sizeof calls / sizeof calls[0]; i++) {
    size_t size = strlen(calls[i]);
    if (s->size - s->at > size && memcmp(s->text + s->at + 1, calls[i], size) == 0 && !in_name(here(s, size + 1)))
      return calls[i];
  }
  return NULL;
}

bool eb_call_site_next(const char *text, size_t size, size_t *at, unsigned *line, const char **call)
{
  scan s = {.text = text, .size = size, .at = *at, .line = *line};
  bool defines = false; /* `function job:confirm(` is no call */
  const char *found = NULL;
  while (s.at < s.size && found == NULL) {
    if (pass_words(&s))
      continue;
    if (in_name(here(&s, 0))) {
      size_t length = 0;
      while (in_name(here(&s, length)))
        length++;
      bool is_function = length == 8 && memcmp(s.text + s.at, "function", 8) == 0;
      defines = is_function || (defines && here(&s, length) == ':');
      step(&s, length);
      continue;
    }
    const char *named = call_here(&s);
    if (named != NULL && !defines) {
      found = named;
      *line = s.line;
    }
    defines = defines && isspace((unsigned char)here(&s, 0));
    step(&s, 1);
  }
  *at = s.at;
  if (found == NULL)
    return false;
  *call = found;
  return true;
}

unsigned eb_line_count(const char *text, size_t size)
{
  unsigned lines = 1;
  for (size_t i = 0; i < size; i++)
    lines += text[i] == '\n';
  return lines;
}
