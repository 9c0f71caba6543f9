/* Rig: one session led by lines of requests, in a file of its own. */
#ifndef EB_TESTS_SESSION_RIG_H
#define EB_TESTS_SESSION_RIG_H

#include "line_runner.h"

#include <unistd.h>

/* One session in a file of its own; messages are gathered as text. */
typedef struct rig {
  char path[64];
  line_log log;
  const eb_json *inputs; /* borrowed; NULL: none */
  eb_session *session;
  char seen[1 << 16];
  eb_error error;
} rig;

static inline void gather(rig *r)
{
  const eb_json *message;
  r->seen[0] = '\0';
  while ((message = eb_session_next(r->session)) != NULL) {
    char *text = eb_json_text(message);
    size_t used = strlen(r->seen);
    snprintf(r->seen + used, sizeof r->seen - used, "%s\n", text);
    eb_json_text_free(text);
  }
}

/* At r->path, on a host of the test's own. */
static inline eb_status begin_at(rig *r, const eb_host *host, const char *lines)
{
  eb_session_destroy(r->session);
  r->session = NULL;
  unlink(r->path);
  eb_runner runner = line_runner(&r->log);
  eb_source main = {.name = "two.lines", .text = lines, .size = strlen(lines)};
  eb_session_options options = {
      .id = "s1", .path = r->path, .program = "test 1", .runner = &runner, .main = &main, .inputs = r->inputs};
  eb_status status = eb_session_start(host, &options, &r->session, &r->error);
  if (status == EB_OK)
    gather(r);
  return status;
}

static inline eb_status begin_with(rig *r, const eb_json *inputs, const char *lines)
{
  memset(r, 0, sizeof *r);
  r->inputs = inputs;
  snprintf(r->path, sizeof r->path, "/tmp/eb-session-XXXXXX");
  int file = mkstemp(r->path);
  assert_true(file >= 0);
  close(file);
  return begin_at(r, eb_host_system(), lines);
}

static inline eb_status begin(rig *r, const char *lines)
{
  return begin_with(r, NULL, lines);
}

static inline void finish(rig *r)
{
  eb_session_destroy(r->session);
  char lock[80];
  snprintf(lock, sizeof lock, "%s.lock", r->path);
  unlink(lock);
  unlink(r->path);
}

static inline eb_status resume_by(rig *r, const char *program)
{
  eb_session_destroy(r->session);
  r->session = NULL;
  eb_runner runner = line_runner(&r->log);
  eb_recovery recovery;
  eb_status status = eb_session_resume(eb_host_system(), r->path, program, &runner, &r->session, &recovery, &r->error);
  if (status == EB_OK)
    gather(r);
  return status;
}

static inline eb_status resume(rig *r)
{
  return resume_by(r, "test 1");
}

static inline eb_status type(rig *r, const char *typed)
{
  eb_status status = eb_session_type(r->session, typed, strlen(typed), &r->error);
  gather(r);
  return status;
}

static inline eb_status take(rig *r, const char *line)
{
  eb_status status = eb_session_take(r->session, line, strlen(line), &r->error);
  gather(r);
  return status;
}

#define saw(r, text)                                                                                                   \
  do {                                                                                                                 \
    if (strstr((r)->seen, text) == NULL)                                                                               \
      fail_msg("missing %s in:\n%s", text, (r)->seen);                                                                 \
  } while (0)

static inline const char *key_asked(const rig *r)
{
  return eb_json_get_string(eb_session_ask(r->session), "key", "");
}

#endif
