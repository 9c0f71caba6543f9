#include "console.h"

#include "evenbore/session.h"

#include <errno.h>
#include <poll.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

enum {
  ROOM = EB_SESSION_LINE_MAX + 2, /* with CR and newline */
  PIECE = 4096,                   /* a pipe that can be written to takes that much at once (POSIX: PIPE_BUF) */
  LAST_WORDS_S = 1                /* how long a reader that does not read holds up a pause */
};

static const int pausing[] = {SIGINT, SIGTERM, SIGHUP};

/* That a wait was interrupted says all: no other signal has a handler, and none of these comes at another time. */
static void interrupt(int signal)
{
  (void)signal;
}

static void take_signals(eb_console *console)
{
  sigset_t blocked;
  sigemptyset(&blocked);
  struct sigaction action = {.sa_handler = interrupt};
  sigemptyset(&action.sa_mask);
  for (size_t i = 0; i < sizeof pausing / sizeof pausing[0]; i++) {
    struct sigaction before;
    if (sigaction(pausing[i], NULL, &before) == 0 && before.sa_handler == SIG_IGN)
      continue; /* as nohup wants it */
    sigaction(pausing[i], &action, NULL);
    sigaddset(&blocked, pausing[i]);
  }
  pthread_sigmask(SIG_BLOCK, &blocked, &console->waiting);
  for (size_t i = 0; i < sizeof pausing / sizeof pausing[0]; i++)
    sigdelset(&console->waiting, pausing[i]);
  action.sa_handler = SIG_IGN;
  sigaction(SIGPIPE, &action, NULL);
}

eb_status eb_console_open(const eb_host *host, int in, int out, eb_console *console, eb_error *error)
{
  char *bytes = host->allocate(host->context, NULL, ROOM + 1);
  if (bytes == NULL)
    return eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
  *console = (eb_console){.host = host, .in = in, .out = out, .bytes = bytes};
  take_signals(console);
  return EB_OK;
}

void eb_console_close(eb_console *console)
{
  console->host->allocate(console->host->context, console->bytes, 0);
  console->bytes = NULL;
}

/* A signal that waits is taken first, also where there is always something to read. */
static bool signal_waits(void)
{
  sigset_t waits;
  sigpending(&waits);
  for (size_t i = 0; i < sizeof pausing / sizeof pausing[0]; i++)
    if (sigismember(&waits, pausing[i]) == 1)
      return true;
  return false;
}

/* Whether the file is ready; sets `signalled` where a signal came first. */
static bool wait_for(eb_console *console, int file, short events)
{
  static const struct timespec last_words = {.tv_sec = LAST_WORDS_S};
  for (;;) {
    struct pollfd waited = {.fd = file, .events = events};
    bool patient = events == POLLIN || !console->signalled;
    int ready = ppoll(&waited, 1, patient ? NULL : &last_words, &console->waiting);
    if (ready > 0)
      return true;
    if (ready == 0 || errno != EINTR)
      return false;
    console->signalled = true;
    if (events == POLLIN)
      return false;
  }
}

/* Removes the line handed out last, and finds the next; NULL where none is whole. */
static const char *next_line(eb_console *console, size_t *size)
{
  console->size -= console->handed;
  memmove(console->bytes, console->bytes + console->handed, console->size);
  console->handed = 0;
  char *newline = memchr(console->bytes, '\n', console->size);
  if (newline == NULL)
    return NULL;
  size_t length = (size_t)(newline - console->bytes);
  console->handed = length + 1;
  if (length > 0 && console->bytes[length - 1] == '\r')
    length--;
  console->bytes[length] = '\0';
  *size = length;
  return console->bytes;
}

static void fill(eb_console *console)
{
  ptrdiff_t got = read(console->in, console->bytes + console->size, ROOM - console->size);
  if (got > 0)
    console->size += (size_t)got;
  else if (got == 0 || (errno != EINTR && errno != EAGAIN))
    console->ended = true;
}

eb_arrival eb_console_read(eb_console *console, const char **line, size_t *size)
{
  for (;;) {
    if (console->signalled || signal_waits())
      return EB_ARRIVED_SIGNAL;
    if (console->closed)
      return EB_ARRIVED_END;
    const char *next = next_line(console, size);
    if (next != NULL && (console->discards || *size > EB_SESSION_LINE_MAX)) {
      console->discards = false;
      return EB_ARRIVED_TOO_LONG;
    }
    if (next != NULL) {
      *line = next;
      return EB_ARRIVED_LINE;
    }
    if (console->size == ROOM) {
      console->discards = true;
      console->size = 0;
    }
    if (console->ended)
      return EB_ARRIVED_END;
    if (wait_for(console, console->in, POLLIN))
      fill(console);
    else if (!console->signalled)
      console->ended = true;
  }
}

bool eb_console_rest(eb_console *console, int milliseconds)
{
  const struct timespec rest = {.tv_sec = milliseconds / 1000, .tv_nsec = milliseconds % 1000 * 1000000L};
  if (ppoll(NULL, 0, &rest, &console->waiting) < 0 && errno == EINTR)
    console->signalled = true;
  return !console->signalled && !signal_waits() && !console->closed;
}

void eb_console_write(eb_console *console, const char *bytes, size_t size)
{
  while (size > 0 && !console->closed) {
    if (!wait_for(console, console->out, POLLOUT)) {
      console->closed = true;
      return;
    }
    ptrdiff_t done = write(console->out, bytes, size < PIECE ? size : PIECE);
    if (done >= 0) {
      bytes += done;
      size -= (size_t)done;
    } else if (errno != EINTR && errno != EAGAIN) {
      console->closed = true;
      if (errno != EPIPE && errno != EIO)
        console->write_failure = errno;
    }
  }
}
