/* Console: whole lines from a person or a program, and bytes back to them, with the wish to pause in between.
 *
 * SIGINT, SIGTERM and SIGHUP are blocked but while the console waits, so that they interrupt nothing else; once
 * one has come, and at the end of input, every read says so. */
#ifndef EVENBORE_CONSOLE_H
#define EVENBORE_CONSOLE_H

#include "evenbore/host.h"
#include "evenbore/status.h"

#include <signal.h>
#include <stdbool.h>

typedef enum eb_arrival {
  EB_ARRIVED_LINE,
  EB_ARRIVED_TOO_LONG, /* a line of more than EB_SESSION_LINE_MAX bytes; it is gone */
  EB_ARRIVED_END,      /* end of input, or the terminal was closed */
  EB_ARRIVED_SIGNAL
} eb_arrival;

typedef struct eb_console {
  const eb_host *host;
  int in, out;      /* file descriptors; borrowed */
  sigset_t waiting; /* the signals that are blocked while it waits */
  char *bytes;      /* what was read and not handed out; owned */
  size_t size;
  size_t handed;                 /* bytes of the line handed out last */
  bool discards;                 /* until the next newline */
  bool signalled, ended, closed; /* closed: nobody reads what is written */
  int write_failure;             /* errno of a write that failed otherwise, as on a full disk; 0: none */
} eb_console;

/* Takes the signals over, for good. EB_OUT_OF_MEMORY. */
eb_status eb_console_open(const eb_host *host, int in, int out, eb_console *console, eb_error *error);
void eb_console_close(eb_console *console);

/* Waits for one line.  *line and *size are without its newline and a CR before that, borrowed until the next read;
 * the byte behind them is NUL.  A last line without newline may be a torn one and is not handed out. */
eb_arrival eb_console_read(eb_console *console, const char **line, size_t *size);

/* Lets so much time pass; what comes in meanwhile waits. False where the wish to pause came first, or nobody reads. */
bool eb_console_rest(eb_console *console, int milliseconds);

/* Writes all, or sets `closed`. */
void eb_console_write(eb_console *console, const char *bytes, size_t size);

#endif
