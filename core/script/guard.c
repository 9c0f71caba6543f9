#include "guard.h"

#include "token.h"

#include "evenbore/text.h"

#include <stdio.h>
#include <string.h>

enum {
  DEPTH_MAX = 180, /* brackets inside one another; Lua gives up at 200 of its own levels */
  LINKS_MAX = 400  /* operators, members and calls in one expression */
};

static int refuse(lua_State *L, const eb_source *source, int line, const char *what)
{
  lua_pushfstring(L, "%s:%d: %s", source->name, line, what);
  return lua_error(L);
}

static void check_character(lua_State *L, const eb_source *source, int line, size_t length, uint32_t c)
{
  if (length == 0)
    refuse(L, source, line, "the file is not UTF-8 here; save it as UTF-8");
  if (c == 0)
    refuse(L, source, line, "a NUL character; a procedure is text");
  if (eb_char_unprintable(c) && c != '\n' && c != '\r' && c != '\t') {
    char what[100];
    unsigned code = (unsigned)c;
    snprintf(what, sizeof what, "U+%04X hides or reorders text; in a string write it as \\u{%X}", code, code);
    refuse(L, source, line, what);
  }
}

/* Also in comments: who reads the file must see what Lua runs. */
static void check_characters(lua_State *L, const eb_source *source)
{
  int line = 1;
  for (size_t at = 0; at < source->size;) {
    if (source->text[at] >= ' ' && source->text[at] < '\x7F') { /* nearly all: plain ASCII */
      at++;
      continue;
    }
    uint32_t c = 0;
    size_t length = eb_utf8_decode(source->text + at, source->size - at, &c);
    check_character(L, source, line, length, c);
    line += c == '\n';
    at += length;
  }
}

/* What stands in one pair of brackets, or outside of all. */
typedef struct bracket_level {
  int links;        /* operators, members and calls in the expression at hand */
  bool has_operand; /* the last token can be called, or have a member */
} bracket_level;

static void take_token(token_kind kind, bracket_level *level)
{
  switch (kind) {
  case TOKEN_OPERAND:
    if (level->has_operand) /* two in a row: a new statement */
      level->links = 0;
    level->has_operand = true;
    break;
  case TOKEN_STRING:
    level->links += level->has_operand; /* f "text" */
    level->has_operand = true;
    break;
  case TOKEN_OPEN:
    level->links += level->has_operand; /* a call, or a member */
    break;
  case TOKEN_LINK:
    level->links++;
    level->has_operand = false;
    break;
  default: *level = (bracket_level){0}; break;
  }
}

static void check_expressions(lua_State *L, const eb_source *source)
{
  bracket_level levels[DEPTH_MAX + 1] = {{0}};
  int depth = 0;
  token_reader reader = {.at = source->text, .end = source->text + source->size, .line = 1};
  for (token_kind kind; (kind = token_next(&reader)) != TOKEN_END;) {
    if (reader.size == 4 && memcmp(reader.word, "_ENV", 4) == 0)
      refuse(L, source, reader.line, "_ENV has no meaning in a procedure");
    if (kind == TOKEN_CLOSE) {
      depth -= depth > 0;
      levels[depth].has_operand = true;
      continue;
    }
    take_token(kind, &levels[depth]);
    if (levels[depth].links > LINKS_MAX)
      refuse(L, source, reader.line, "more than 400 operators, members and calls in one expression; split it");
    if (kind == TOKEN_OPEN && depth == DEPTH_MAX)
      refuse(L, source, reader.line, "more than 180 brackets inside one another");
    if (kind == TOKEN_OPEN)
      levels[++depth] = (bracket_level){0};
  }
}

void guard_check(lua_State *L, eb_source *source)
{
  if (source->size > 0 && source->text[0] == LUA_SIGNATURE[0])
    refuse(L, source, 1, "compiled Lua; a procedure is text");
  if (source->size >= 3 && memcmp(source->text, "\xEF\xBB\xBF", 3) == 0) {
    source->text += 3;
    source->size -= 3;
  }
  if (source->size > 0 && source->text[0] == '#')
    refuse(L, source, 1, "a procedure is not run by a shell; take the line that begins with # out");
  check_characters(L, source);
  check_expressions(L, source);
}
