/* Token: the words of a Lua source, as far as the guard must tell them apart. */
#ifndef EB_SCRIPT_TOKEN_H
#define EB_SCRIPT_TOKEN_H

#include <stdbool.h>
#include <stddef.h>

typedef enum token_kind {
  TOKEN_END,     /* of the text, or of what Lua can read */
  TOKEN_OPERAND, /* a name, a number, nil, true, false, ... */
  TOKEN_STRING,
  TOKEN_OPEN,    /* ( [ { */
  TOKEN_CLOSE,   /* ) ] } */
  TOKEN_LINK,    /* an operator, or the . or : before a member */
  TOKEN_BOUNDARY /* what ends an expression: , ; = and keywords */
} token_kind;

typedef struct token_reader {
  const char *at;
  const char *end;
  int line;
  const char *word; /* the last token's text */
  size_t size;
} token_reader;

token_kind token_next(token_reader *reader);

#endif
