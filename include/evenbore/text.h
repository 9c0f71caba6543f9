/* Text: a growing string, UTF-8, and the nearest word. */
#ifndef EVENBORE_TEXT_H
#define EVENBORE_TEXT_H

#include "evenbore/host.h"

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/* A string that grows.  Once memory has run out it stays as it is and `failed`
 * is set, so that a writer checks once, at its end. */
typedef struct eb_text {
  const eb_host *host;
  char *bytes; /* ended by NUL; NULL while nothing was written */
  size_t size; /* without the NUL */
  size_t room;
  bool failed;
} eb_text;

void eb_text_init(eb_text *text, const eb_host *host);
void eb_text_clear(eb_text *text); /* frees; the text can be used again */
void eb_text_reset(eb_text *text); /* empties, keeps the memory and the failure */
void eb_text_add(eb_text *text, const char *string);
void eb_text_add_bytes(eb_text *text, const void *bytes, size_t size);
#if defined(__GNUC__)
__attribute__((format(printf, 2, 3)))
#endif
void
eb_text_printf(eb_text *text, const char *format, ...);
const char *eb_text_string(const eb_text *text); /* "" while nothing was written */

/* Whether the bytes are well-formed UTF-8 (RFC 3629: no surrogates, no overlong forms).
 * *bad, where not NULL, gets the offset of the first byte that is not. */
bool eb_utf8_valid(const char *bytes, size_t size, size_t *bad);

/* Decodes one character; returns its length in bytes, 0 at a malformed one or at the end. */
size_t eb_utf8_decode(const char *bytes, size_t size, uint32_t *code_point);

/* Whether a character must not reach a person's screen as it is: control
 * characters (tab and newline included), and those that change the direction
 * or hide (bidirectional controls, zero width, byte order mark). */
bool eb_char_unprintable(uint32_t code_point);

/* Appends `bytes` with every unprintable or malformed piece written as \xNN or
 * \u{NNNN}; newlines too unless keep_newlines. */
void eb_text_add_safe(eb_text *text, const char *bytes, size_t size, bool keep_newlines);

/* Columns that the text takes on a terminal of fixed-width cells; wide (East
 * Asian) characters count two, combining marks none. */
size_t eb_utf8_columns(const char *string);

/* The word of `words` that is nearest to `word` by edit distance (insert,
 * delete, replace, swap of neighbours), or NULL where none is near enough to
 * be what was meant: at most a third of the longer one's letters, at least one. */
const char *eb_nearest(const char *word, const char *const *words, size_t count);

#ifdef __cplusplus
}
#endif
#endif
