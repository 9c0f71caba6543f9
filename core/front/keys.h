/* Keys: what a typed line asks of the program instead of answering. */
#ifndef EVENBORE_KEYS_H
#define EVENBORE_KEYS_H

#include <stdbool.h>
#include <stddef.h>

typedef enum eb_key {
  EB_KEY_NONE, /* an answer */
  EB_KEY_EMPTY,
  EB_KEY_BACK,
  EB_KEY_NOTE,
  EB_KEY_WHY,
  EB_KEY_CHART,
  EB_KEY_PAUSE,
  EB_KEY_STOP,
  EB_KEY_HELP
} eb_key;

/* Reads one line without its newline.  A key stands alone on it, as a word or in its keypad form; note and stop may
 * have a text behind them, unless words are what is asked for (`words`).
 * *rest gets that text, or the whole line without the white space around it, *rest_size its bytes. */
eb_key eb_key_read(const char *line, size_t size, bool words, const char **rest, size_t *rest_size);

/* A word that is near a key's, for one that is no answer; NULL: none. */
const char *eb_key_nearest(const char *word);

#endif
