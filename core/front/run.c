#include "run.h"

#include <ctype.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/ioctl.h>
#include <unistd.h>

static const char *variable(const char *name)
{
  const char *value = getenv(name);
  return value == NULL || value[0] == '\0' ? NULL : value;
}

/* By name, as setlocale would choose; it is not called, since it would change how numbers are read and written. */
static bool locale_is_utf8(void)
{
  const char *locale = variable("LC_ALL");
  if (locale == NULL)
    locale = variable("LC_CTYPE");
  if (locale == NULL)
    locale = variable("LANG");
  const char *codeset = locale == NULL ? NULL : strchr(locale, '.');
  return codeset != NULL && (strncasecmp(codeset, ".utf-8", 6) == 0 || strncasecmp(codeset, ".utf8", 5) == 0);
}

int eb_run_columns(void)
{
  struct winsize size;
  if (ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0)
    return size.ws_col;
  const char *columns = variable("COLUMNS");
  long number = columns == NULL ? 0 : strtol(columns, NULL, 10);
  return number > 0 && number < 10000 ? (int)number : EB_PAGE_COLUMNS_MAX;
}

void eb_run_look(eb_run *run)
{
  const char *terminal = variable("TERM");
  run->columns = eb_run_columns();
  run->utf8 = !run->options.ascii && locale_is_utf8();
  run->styled = !run->options.no_color && isatty(STDOUT_FILENO) == 1 && variable("NO_COLOR") == NULL &&
                terminal != NULL && strcmp(terminal, "dumb") != 0;
}

/* False where not all could be written; errno says why. */
static bool write_all(int file, const char *bytes, size_t size)
{
  while (size > 0) {
    ptrdiff_t done = write(file, bytes, size);
    if (done < 0 && errno == EINTR)
      continue;
    if (done <= 0)
      return false;
    bytes += done;
    size -= (size_t)done;
  }
  return true;
}

static void write_error_line(const eb_run *run, const char *place, const char *message)
{
  eb_page page;
  eb_page_init(&page, run->host, EB_PAGE_COLUMNS_MAX, run->utf8, false);
  eb_page_put(&page, EB_PLAIN, "evenbore: ");
  eb_page_put(&page, EB_PLAIN, place);
  eb_page_put(&page, EB_PLAIN, place[0] == '\0' ? "" : ": ");
  eb_page_put(&page, EB_PLAIN, message);
  eb_page_end(&page);
  static const char out_of_memory[] = "evenbore: out of memory\n";
  if (page.text.failed)
    write_all(STDERR_FILENO, out_of_memory, sizeof out_of_memory - 1);
  else
    write_all(STDERR_FILENO, page.text.bytes, page.text.size);
  eb_page_clear(&page);
}

static bool is_refusal(eb_status status)
{
  return status >= EB_NOT_BUNDLE && status <= EB_PASSPHRASE;
}

void eb_run_complain(const eb_run *run, const eb_error *error)
{
  char refused[sizeof error->message + 60];
  if (!is_refusal(error->status)) {
    write_error_line(run, error->place, error->message);
    return;
  }
  snprintf(refused, sizeof refused, "refused (%s): %s", eb_status_word(error->status), error->message);
  write_error_line(run, error->place, refused);
}

void eb_run_remark(const eb_run *run, const char *text)
{
  write_error_line(run, "", text);
}

int eb_run_print(const eb_run *run, eb_page *page)
{
  eb_error error = {.status = EB_OK};
  bool seen_enough = false; /* who closed a pipe */
  if (page->text.failed) {
    eb_fail(&error, EB_OUT_OF_MEMORY, "", "out of memory");
  } else if (!write_all(STDOUT_FILENO, eb_text_string(&page->text), page->text.size)) {
    seen_enough = errno == EPIPE;
    eb_fail(&error, EB_IO, "standard output", "cannot be written (%s)", strerror(errno));
  }
  if (error.status != EB_OK && !seen_enough)
    eb_run_complain(run, &error);
  eb_page_clear(page);
  return error.status == EB_OK ? EB_EXIT_DONE : EB_EXIT_FAILED;
}

int eb_run_write(const eb_run *run, const eb_text *text)
{
  eb_error error;
  if (write_all(STDOUT_FILENO, eb_text_string(text), text->size) || errno == EPIPE)
    return EB_EXIT_DONE;
  eb_fail(&error, errno == ENOSPC ? EB_NO_SPACE : EB_IO, "standard output", "cannot be written (%s)", strerror(errno));
  eb_run_complain(run, &error);
  return EB_EXIT_FAILED;
}

int eb_run_print_json(const eb_run *run, eb_json *value)
{
  eb_text text;
  int exit_status = EB_EXIT_FAILED;
  eb_text_init(&text, run->host);
  if (value != NULL && eb_json_add_shown(&text, value))
    eb_text_add(&text, "\n");
  eb_json_destroy(value);
  if (value == NULL || text.failed)
    eb_run_remark(run, "out of memory");
  else
    exit_status = eb_run_write(run, &text);
  eb_text_clear(&text);
  return exit_status;
}

int eb_run_status(eb_status status)
{
  if (is_refusal(status))
    return EB_EXIT_REFUSED + (int)(status - EB_NOT_BUNDLE);
  return status == EB_NOT_FOUND || status == EB_BAD_VALUE || status == EB_OUT_OF_RANGE || status == EB_BAD_UNIT
             ? EB_EXIT_USAGE
             : EB_EXIT_FAILED;
}

/* Quoted for a shell, unless it needs none. */
const char *eb_run_data(const eb_run *run, char *text, size_t size)
{
  text[0] = '\0';
  const char *data = run->options.data;
  if (data == NULL)
    return text;
  bool plain = true;
  for (const char *c = data; *c != '\0'; c++)
    plain = plain && (isalnum((unsigned char)*c) || strchr("/._-~+", *c) != NULL);
  if (strchr(data, '\'') == NULL && strlen(data) + 12 < size)
    snprintf(text, size, plain ? " --data %s" : " --data '%s'", data);
  return text;
}

int eb_run_account_status(const eb_run *run, const char *path, const eb_recovery *recovery)
{
  eb_error error;
  if (recovery->damaged_record == 0)
    return EB_EXIT_DONE;
  eb_fail(&error, EB_DAMAGED, path, "record %zu is damaged, %s; the account ends before it", recovery->damaged_record,
          recovery->damage);
  eb_run_complain(run, &error);
  return EB_EXIT_FAILED;
}
