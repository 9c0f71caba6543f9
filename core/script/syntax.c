#include "syntax.h"

#include "token.h"

#include <stdlib.h>
#include <string.h>

/* A remedy for a complaint that is known by a piece of its text. */
static const struct {
  const char *met, *remedy;
} known[] = {
    {"near '!'", "not equal is ~= and not is not"},
    {"unfinished string", "close it with the same quote before its line ends"},
    {"unfinished long", "close it with ]]"},
    {"'then' expected", "an if goes: if ... then ... end; == compares, = sets"},
    {"'do' expected", "a loop goes: for ... do ... end or while ... do ... end"},
    {"'<eof>' expected near 'end'", "there is one end too many in front of it, or nothing that it ends"},
    {"malformed number", "a name begins with a letter, and a text stands in quotes"},
    {"unexpected symbol near ','", "one comma too many"},
    {"unexpected symbol near '}'", "something is missing before it"},
    {"near '+'", "there is no += or ++: write n = n + 1"},
    {"syntax error near", "a statement is a call, or sets a name: local x = ..."},
    {"'=' expected near", "a statement is a call, or sets a name: local x = ..."},
    {"')' expected", "a bracket is not closed, or a comma is missing before it"},
    {"unexpected symbol", "something is missing or too much before it"},
};

enum { DEPTH_MAX = 200 };

static bool is_word(const token_reader *reader, const char *word)
{
  return reader->size > 0 && strlen(word) == reader->size && memcmp(reader->word, word, reader->size) == 0;
}

static int indent_of(const eb_source *source, const char *at)
{
  const char *line = at;
  while (line > source->text && line[-1] != '\n')
    line--;
  return (int)strspn(line, " \t");
}

/* The line of the block that has no end, as the indents tell: the innermost one whose `end` stands further left than
 * it. -1: each has one. */
static int unclosed_block(const eb_source *source)
{
  token_reader reader = {.at = source->text, .end = source->text + source->size, .line = 1};
  int lines[DEPTH_MAX], indents[DEPTH_MAX], depth = 0;
  bool loop = false; /* the `do` of a for or while opens nothing more */
  while (token_next(&reader) != TOKEN_END) {
    bool opens = is_word(&reader, "function") || is_word(&reader, "if") || is_word(&reader, "for") ||
                 is_word(&reader, "while") || is_word(&reader, "repeat") || (is_word(&reader, "do") && !loop);
    if (is_word(&reader, "for") || is_word(&reader, "while") || is_word(&reader, "do"))
      loop = !is_word(&reader, "do");
    if (opens && depth < DEPTH_MAX) {
      lines[depth] = reader.line;
      indents[depth++] = indent_of(source, reader.word);
    }
    if (depth == 0 || !(is_word(&reader, "end") || is_word(&reader, "until")))
      continue;
    depth--;
    if (indent_of(source, reader.word) < indents[depth])
      return lines[depth];
  }
  return depth > 0 ? lines[depth - 1] : -1;
}

/* The line of the token in front of the first one on `line`. */
static int line_before(const eb_source *source, int line)
{
  token_reader reader = {.at = source->text, .end = source->text + source->size, .line = 1};
  int before = line;
  while (token_next(&reader) != TOKEN_END && reader.line < line)
    before = reader.line;
  return before;
}

static const char *remedy_of(const char *text)
{
  for (size_t i = 0; i < sizeof known / sizeof known[0]; i++)
    if (strstr(text, known[i].met) != NULL)
      return known[i].remedy;
  return NULL;
}

static void replace(lua_State *L, const eb_source *source, int line, const char *text, const char *remedy)
{
  lua_pushfstring(L, "%s:%d: %s; %s", source->name, line, text, remedy);
  lua_replace(L, -2);
}

void syntax_explain(lua_State *L, const eb_source *source)
{
  size_t size = strlen(source->name);
  const char *text = lua_tostring(L, -1);
  if (text == NULL || strncmp(text, source->name, size) != 0 || text[size] != ':')
    return;
  char *end = NULL;
  int line = (int)strtol(text + size + 1, &end, 10);
  if (line <= 0 || strncmp(end, ": ", 2) != 0)
    return;
  text = end + 2;
  int block = unclosed_block(source);
  const char *remedy = remedy_of(text);
  if (block > 0 && block <= line && (strstr(text, "'end' expected") != NULL || strstr(text, "near ','") != NULL))
    replace(L, source, block, text, "what begins on this line has no end of its own");
  else if (strncmp(text, "'}' expected", 12) == 0 && strstr(text, "near 'end'") != NULL)
    replace(L, source, line, text, "there is one end too many in front of it, or nothing that it ends");
  else if (strncmp(text, "'}' expected", 12) == 0 && strstr(text, "near <eof>") != NULL)
    replace(L, source, line, text, "the } that closes it is missing");
  else if (strncmp(text, "'}' expected", 12) == 0)
    replace(L, source, line_before(source, line), text, "is a comma missing at the end of this line?");
  else if (strstr(text, "'then' expected") != NULL || strstr(text, "'do' expected") != NULL)
    replace(L, source, strchr(text, '!') != NULL ? line : line_before(source, line), text, remedy);
  else if (remedy != NULL)
    replace(L, source, line, text, remedy);
}
