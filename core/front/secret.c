#include "secret.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <termios.h>
#include <unistd.h>

void eb_secret_forget(eb_secret *secret)
{
  explicit_bzero(secret, sizeof *secret);
}

static eb_status too_long(const char *place, eb_error *error)
{
  return eb_fail(error, EB_OUT_OF_RANGE, place, "a passphrase has at most %d bytes", (int)EB_PASSPHRASE_MAX);
}

/* Up to the first newline; a carriage return before it is no part of it. */
static void take_line(eb_secret *secret)
{
  char *end = memchr(secret->bytes, '\n', secret->size);
  if (end != NULL)
    secret->size = (size_t)(end - secret->bytes);
  if (secret->size > 0 && secret->bytes[secret->size - 1] == '\r')
    secret->size--;
  secret->bytes[secret->size] = '\0';
}

static eb_status read_file(const eb_run *run, const char *path, eb_secret *secret, eb_error *error)
{
  const eb_host *host = run->host;
  int file = host->files.open(host->context, path, O_RDONLY | O_NOCTTY, 0);
  if (file < 0)
    return eb_fail(error, errno == ENOENT ? EB_NOT_FOUND : EB_IO, path, "the passphrase's file cannot be read (%s)",
                   strerror(errno));
  eb_status status = EB_OK;
  ptrdiff_t got = 1;
  while (status == EB_OK && got > 0 && memchr(secret->bytes, '\n', secret->size) == NULL) {
    got = host->files.read(host->context, file, secret->bytes + secret->size, EB_PASSPHRASE_MAX + 1 - secret->size);
    if (got < 0 && errno == EINTR)
      got = 1;
    else if (got < 0)
      status = eb_fail(error, EB_IO, path, "the passphrase's file cannot be read (%s)", strerror(errno));
    else
      secret->size += (size_t)got;
    if (status == EB_OK && secret->size > EB_PASSPHRASE_MAX)
      status = too_long(path, error);
  }
  host->files.close(host->context, file);
  if (status != EB_OK)
    return status;
  take_line(secret);
  return secret->size > 0 ? EB_OK : eb_fail(error, EB_PASSPHRASE, path, "the first line of this file is empty");
}

/* One key after the other, since Ctrl-C has to be met here: the terminal must not stay without echo. */
static eb_status type_line(int terminal, eb_secret *secret, eb_error *error)
{
  enum { CTRL_C = 3, CTRL_D = 4, BACKSPACE = 8, CTRL_U = 21, DELETE = 127 };
  for (;;) {
    unsigned char key = 0;
    ptrdiff_t got = read(terminal, &key, 1);
    if (got < 0 && errno == EINTR)
      continue;
    if (got <= 0 || key == CTRL_C || key == CTRL_D)
      return eb_fail(error, EB_PASSPHRASE, "", "no passphrase was typed; nothing was done");
    if (key == '\n' || key == '\r')
      return EB_OK;
    if (key == CTRL_U)
      secret->size = 0;
    else if (key == BACKSPACE || key == DELETE)
      secret->size -= secret->size > 0;
    else if (secret->size == EB_PASSPHRASE_MAX)
      return too_long("", error);
    else
      secret->bytes[secret->size++] = (char)key;
    secret->bytes[secret->size] = '\0';
  }
}

static eb_status read_terminal(int terminal, const char *question, eb_secret *secret, eb_error *error)
{
  struct termios before;
  sigset_t none, waiting;
  if (tcgetattr(terminal, &before) != 0)
    return eb_fail(error, EB_IO, "", "the terminal cannot be asked (%s)", strerror(errno));
  struct termios hidden = before;
  hidden.c_lflag &= ~(tcflag_t)(ECHO | ECHONL | ICANON | ISIG);
  hidden.c_cc[VMIN] = 1;
  hidden.c_cc[VTIME] = 0;
  sigfillset(&none);
  sigprocmask(SIG_BLOCK, &none, &waiting);
  tcsetattr(terminal, TCSAFLUSH, &hidden);
  dprintf(STDERR_FILENO, "%s ", question);
  eb_status status = type_line(terminal, secret, error);
  dprintf(STDERR_FILENO, "\n");
  tcsetattr(terminal, TCSAFLUSH, &before);
  sigprocmask(SIG_SETMASK, &waiting, NULL);
  return status;
}

eb_status eb_secret_read(const eb_run *run, const char *question, eb_secret *secret, eb_error *error)
{
  eb_secret read = {.size = 0};
  eb_status status;
  if (run->options.passphrase_file != NULL)
    status = read_file(run, run->options.passphrase_file, &read, error);
  else if (isatty(STDIN_FILENO) == 1)
    status = read_terminal(STDIN_FILENO, question, &read, error);
  else
    status =
        eb_fail(error, EB_PASSPHRASE, "",
                "a passphrase is wanted, and there is no terminal to type it at; name a file with --passphrase-file");
  if (status == EB_OK)
    *secret = read;
  eb_secret_forget(&read);
  return status;
}
