#include "locate.h"

#include "token.h"

#include <string.h>

static bool is_word(const token_reader *reader, const char *word)
{
  return reader->size > 0 && strlen(word) == reader->size && memcmp(reader->word, word, reader->size) == 0;
}

/* Whether what follows is a single `=`. */
static bool is_assigned(const token_reader *reader)
{
  token_reader next = *reader;
  return token_next(&next) == TOKEN_BOUNDARY && *next.word == '=';
}

static void skip_to_line(token_reader *reader, int line)
{
  while (reader->at < reader->end && reader->line < line) {
    const char *end = memchr(reader->at, '\n', (size_t)(reader->end - reader->at));
    reader->at = end == NULL ? reader->end : end + 1;
    reader->line++;
  }
}

int locate_field(const eb_source *source, int line, const char *name)
{
  token_reader reader = {.at = source->text, .end = source->text + source->size, .line = 1};
  int depth = 0, inside = 0;
  skip_to_line(&reader, line);
  for (;;) {
    token_kind kind = token_next(&reader);
    if (kind == TOKEN_END)
      break;
    if (kind == TOKEN_OPEN)
      depth++;
    if (kind == TOKEN_CLOSE && --depth <= 0)
      break;
    if (kind != TOKEN_OPERAND || !is_word(&reader, name) || !is_assigned(&reader))
      continue;
    if (depth == 1)
      return reader.line;
    if (inside == 0 && depth > 1)
      inside = reader.line;
  }
  return inside > 0 ? inside : line;
}
