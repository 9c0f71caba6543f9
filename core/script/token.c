#include "token.h"

#include <string.h>

/* Follows Lua's own lexer step by step (llex.c of Lua 5.4), so that no text is
 * code to one and a string to the other. Where Lua would stop with an error, the reader ends. */

static bool is_digit(char c)
{
  return c >= '0' && c <= '9';
}
static bool is_letter(char c)
{
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '_';
}
static bool is_hexadecimal(char c)
{
  return is_digit(c) || (c >= 'a' && c <= 'f') || (c >= 'A' && c <= 'F');
}
static bool is_space(char c)
{
  return c == ' ' || (c >= '\t' && c <= '\r');
}

/* The byte `ahead` of the place at hand; NUL, which no checked source holds, behind the end. */
static char peek(const token_reader *reader, size_t ahead)
{
  return ahead < (size_t)(reader->end - reader->at) ? reader->at[ahead] : '\0';
}

static void skip(token_reader *reader)
{
  reader->line += *reader->at == '\n';
  reader->at++;
}

/* How many = stand between the brackets of [==[ or ]==] at hand; -1 where it is none. */
static int bracket_level_of(const token_reader *reader, char bracket)
{
  size_t level = 0;
  while (peek(reader, level + 1) == '=')
    level++;
  return peek(reader, level + 1) == bracket ? (int)level : -1;
}

/* The long string or comment at hand; false where it has no end. */
static bool skip_long(token_reader *reader, int level)
{
  for (reader->at += level + 2; reader->at < reader->end; skip(reader))
    if (*reader->at == ']' && bracket_level_of(reader, ']') == level) {
      reader->at += level + 2;
      return true;
    }
  return false;
}

static bool skip_comment(token_reader *reader)
{
  reader->at += 2;
  int level = peek(reader, 0) == '[' ? bracket_level_of(reader, '[') : -1;
  if (level >= 0)
    return skip_long(reader, level);
  while (reader->at < reader->end && *reader->at != '\n' && *reader->at != '\r')
    reader->at++;
  return true;
}

static void skip_escape(token_reader *reader)
{
  char escaped = peek(reader, 1);
  char behind = peek(reader, 2);
  bool pair = (escaped == '\r' && behind == '\n') || (escaped == '\n' && behind == '\r');
  reader->at++;
  if (reader->at < reader->end)
    skip(reader);
  if (pair)
    skip(reader);
  while (escaped == 'z' && is_space(peek(reader, 0)))
    skip(reader);
}

static token_kind read_string(token_reader *reader)
{
  char quote = *reader->at++;
  while (reader->at < reader->end) {
    if (*reader->at == quote) {
      reader->at++;
      return TOKEN_STRING;
    }
    if (*reader->at == '\n' || *reader->at == '\r')
      return TOKEN_END;
    if (*reader->at == '\\')
      skip_escape(reader);
    else
      reader->at++;
  }
  return TOKEN_END;
}

static token_kind read_number(token_reader *reader)
{
  bool hexadecimal = *reader->at == '0' && (peek(reader, 1) == 'x' || peek(reader, 1) == 'X');
  reader->at += hexadecimal ? 2 : 1;
  for (;;) {
    char c = peek(reader, 0);
    bool exponent = hexadecimal ? c == 'p' || c == 'P' : c == 'e' || c == 'E';
    if (!exponent && !is_hexadecimal(c) && c != '.')
      break;
    reader->at++;
    if (exponent && (peek(reader, 0) == '-' || peek(reader, 0) == '+'))
      reader->at++;
  }
  return is_letter(peek(reader, 0)) ? TOKEN_END : TOKEN_OPERAND;
}

static bool is_one_of(const token_reader *reader, const char *const *words)
{
  for (; *words != NULL; words++)
    if (**words == *reader->word && strlen(*words) == reader->size && memcmp(*words, reader->word, reader->size) == 0)
      return true;
  return false;
}

static token_kind read_word(token_reader *reader)
{
  static const char *const operators[] = {"and", "or", "not", NULL};
  static const char *const keywords[] = {"break",    "do",   "else",  "elseif", "end",   "for",
                                         "function", "goto", "if",    "in",     "local", "repeat",
                                         "return",   "then", "until", "while",  NULL};
  while (is_letter(peek(reader, 0)) || is_digit(peek(reader, 0)))
    reader->at++;
  reader->size = (size_t)(reader->at - reader->word);
  if (is_one_of(reader, operators))
    return TOKEN_LINK;
  return is_one_of(reader, keywords) ? TOKEN_BOUNDARY : TOKEN_OPERAND;
}

static bool is_in(char c, const char *set)
{
  return c != '\0' && strchr(set, c) != NULL;
}

static token_kind read_symbol(token_reader *reader)
{
  char c = peek(reader, 0);
  char behind = peek(reader, 1);
  if (c == '.' && behind == '.' && peek(reader, 2) == '.') {
    reader->at += 3;
    return TOKEN_OPERAND;
  }
  bool twice = is_in(c, ":./<>") && behind == c;
  bool compared = is_in(c, "=~<>") && behind == '=';
  reader->at += twice || compared ? 2 : 1;
  if (is_in(c, "([{"))
    return TOKEN_OPEN;
  if (is_in(c, ")]}"))
    return TOKEN_CLOSE;
  if (is_in(c, ",;") || (c == '=' && !compared) || (c == ':' && twice))
    return TOKEN_BOUNDARY;
  return TOKEN_LINK;
}

/* To the next token; false where a comment has no end. */
static bool skip_between(token_reader *reader)
{
  for (;;) {
    if (is_space(peek(reader, 0)))
      skip(reader);
    else if (peek(reader, 0) != '-' || peek(reader, 1) != '-')
      return true;
    else if (!skip_comment(reader))
      return false;
  }
}

token_kind token_next(token_reader *reader)
{
  if (!skip_between(reader) || reader->at == reader->end)
    return TOKEN_END;
  reader->word = reader->at;
  reader->size = 0;
  char c = *reader->at;
  if (c == '"' || c == '\'')
    return read_string(reader);
  if (c == '[' && bracket_level_of(reader, '[') >= 0)
    return skip_long(reader, bracket_level_of(reader, '[')) ? TOKEN_STRING : TOKEN_END;
  if (is_digit(c) || (c == '.' && is_digit(peek(reader, 1))))
    return read_number(reader);
  if (is_letter(c))
    return read_word(reader);
  return read_symbol(reader);
}
