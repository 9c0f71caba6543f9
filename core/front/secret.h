/* Secret: a line that is typed without being shown, or read from a file. */
#ifndef EVENBORE_SECRET_H
#define EVENBORE_SECRET_H

#include "run.h"

#include "evenbore/maker.h"

typedef struct eb_secret {
  char bytes[EB_PASSPHRASE_MAX + 1]; /* ended by NUL */
  size_t size;
} eb_secret;
void eb_secret_forget(eb_secret *secret);

/* The passphrase: the first line of --passphrase-file, else typed at the terminal, where `question` is put to standard
 * error and nothing is echoed.  EB_PASSPHRASE: there is neither, or it was left with Ctrl-C or Ctrl-D; EB_OUT_OF_RANGE:
 * too long; EB_NOT_FOUND, EB_IO. */
eb_status eb_secret_read(const eb_run *run, const char *question, eb_secret *secret, eb_error *error);

#endif
