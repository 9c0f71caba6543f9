/* Lines: a session for another program: one JSON object a line, both ways. */
#include "console.h"
#include "job.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

typedef struct talk {
  const eb_job *job;
  eb_console console;
  int exit_status;
} talk;

/* False when memory runs out; the session can still be paused. */
static bool send(talk *t, const eb_json *message)
{
  eb_text line;
  eb_text_init(&line, t->job->run->host);
  eb_json_add_text(&line, message);
  eb_text_add(&line, "\n");
  bool sent = !line.failed;
  if (sent)
    eb_console_write(&t->console, line.bytes, line.size);
  eb_text_clear(&line);
  return sent;
}

static void out_of_memory(const talk *t)
{
  static const eb_error error = {.status = EB_OUT_OF_MEMORY, .message = "out of memory; the session is paused"};
  eb_run_complain(t->job->run, &error);
}

static void send_messages(talk *t)
{
  const eb_json *message;
  while ((message = eb_session_next(t->job->session)) != NULL) {
    bool sent = send(t, message);
    if (strcmp(eb_json_get_string(message, "type", ""), "end") == 0)
      t->exit_status = eb_job_end(t->job, message);
    if (sent)
      continue;
    out_of_memory(t);
    t->exit_status = EB_EXIT_FAILED;
    eb_session_pause(t->job->session, NULL);
  }
}

static void refuse_long(talk *t)
{
  eb_json *message = eb_json_object();
  bool made = eb_json_set_string(message, "type", "refused") &&
              eb_json_set_number(message, "n", eb_json_get_number(eb_session_ask(t->job->session), "n", 0)) &&
              eb_json_set_string(message, "why", "the line is longer than 64 KiB") &&
              eb_json_set_string(message, "wanted", "one JSON object a line");
  if (!made || !send(t, message))
    out_of_memory(t);
  eb_json_destroy(message);
}

static void take(talk *t, const char *line, size_t size)
{
  eb_error error;
  if (eb_session_take(t->job->session, line, size, &error) != EB_OK &&
      eb_session_where(t->job->session) == EB_SESSION_ASKS)
    eb_run_complain(t->job->run, &error);
}

static void say_paused(const talk *t)
{
  char words[512];
  char line[600];
  snprintf(line, sizeof line, "paused; to go on: %s --lines", eb_job_resume_words(t->job, words, sizeof words));
  eb_run_remark(t->job->run, line);
}

static void lead(talk *t)
{
  send_messages(t);
  while (eb_session_where(t->job->session) == EB_SESSION_ASKS) {
    const char *line = NULL;
    size_t size = 0;
    eb_arrival arrival = eb_console_read(&t->console, &line, &size);
    if (arrival == EB_ARRIVED_LINE)
      take(t, line, size);
    else if (arrival == EB_ARRIVED_TOO_LONG)
      refuse_long(t);
    else
      eb_session_pause(t->job->session, NULL);
    send_messages(t);
  }
  if (eb_session_where(t->job->session) == EB_SESSION_PAUSED)
    say_paused(t);
}

int eb_lines_run(const eb_job *job)
{
  talk t = {.job = job};
  eb_error error;
  if (eb_console_open(job->run->host, STDIN_FILENO, STDOUT_FILENO, &t.console, &error) != EB_OK) {
    eb_run_complain(job->run, &error);
    return EB_EXIT_FAILED;
  }
  if (job->recovery != NULL && job->recovery->torn_bytes > 0) {
    char line[sizeof job->recovery->kept + 100];
    snprintf(line, sizeof line, "recovered: %zu bytes of an unfinished record are kept in %s",
             job->recovery->torn_bytes, job->recovery->kept);
    eb_run_remark(job->run, line);
  }
  lead(&t);
  if (t.console.write_failure != 0) {
    eb_fail(&error, EB_IO, "standard output", "cannot be written (%s); the session is paused",
            strerror(t.console.write_failure));
    eb_run_complain(job->run, &error);
    t.exit_status = EB_EXIT_FAILED;
  }
  eb_console_close(&t.console);
  return t.exit_status;
}
