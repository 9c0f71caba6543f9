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
  const eb_host *host;   /* borrowed */
  eb_session *session;
  char seen[1 << 16];
  bool raw; /* the core's own cautions are the test's to answer */
  eb_error error;
} rig;

static inline void gather_more(rig *r)
{
  const eb_json *message;
  while ((message = eb_session_next(r->session)) != NULL) {
    char *text = eb_json_text(message);
    size_t used = strlen(r->seen);
    snprintf(r->seen + used, sizeof r->seen - used, "%s\n", text);
    eb_json_text_free(text);
  }
}

/* The core's own cautions are seen to at once, for tests that are about what comes behind them. */
static inline void gather(rig *r)
{
  r->seen[0] = '\0';
  gather_more(r);
  while (!r->raw && see_to_caution(r->session, "safety."))
    gather_more(r);
}

/* At r->path, on a host of the test's own. */
static inline eb_status begin_at(rig *r, const eb_host *host, const char *lines)
{
  eb_session_destroy(r->session);
  r->session = NULL;
  r->host = host;
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

static inline eb_status begin_as(rig *r, const eb_host *host, const eb_json *inputs, bool raw, const char *lines)
{
  memset(r, 0, sizeof *r);
  r->inputs = inputs;
  r->raw = raw;
  snprintf(r->path, sizeof r->path, "/tmp/eb-session-XXXXXX");
  int file = mkstemp(r->path);
  assert_true(file >= 0);
  close(file);
  return begin_at(r, host, lines);
}

static inline eb_status begin(rig *r, const char *lines)
{
  return begin_as(r, eb_host_system(), NULL, false, lines);
}

static inline eb_status begin_with(rig *r, const eb_json *inputs, const char *lines)
{
  return begin_as(r, eb_host_system(), inputs, false, lines);
}

/* With the core's own cautions left open. */
static inline eb_status begin_raw(rig *r, const char *lines)
{
  return begin_as(r, eb_host_system(), NULL, true, lines);
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
  eb_status status = eb_session_resume(r->host, r->path, program, &runner, &r->session, &recovery, &r->error);
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

/* Who comes back sees to the cautions that hold, before anything else. */
static inline void see_to_the_return(rig *r)
{
  assert_true(see_to_caution(r->session, "resume.caution"));
  gather(r);
}

/* Writes the journal's file with `from` replaced by `to` in record `number`, and the chain made anew. */
static inline void rewrite(const rig *r, size_t number, const char *from, const char *to)
{
  eb_journal *old = NULL;
  eb_recovery recovery;
  assert_int_equal(eb_journal_read(eb_host_system(), r->path, &old, &recovery, NULL), EB_OK);
  char path[80];
  snprintf(path, sizeof path, "%s.2", r->path);
  eb_journal *new = NULL;
  for (size_t i = 0; i < eb_journal_count(old); i++) {
    char *text = eb_json_text(eb_journal_record(old, i));
    char *place = i + 1 == number ? strstr(text, from) : NULL;
    char *changed = malloc(strlen(text) + strlen(to) + 1);
    if (place != NULL)
      sprintf(changed, "%.*s%s%s", (int)(place - text), text, to, place + strlen(from));
    else
      strcpy(changed, text);
    eb_json *record = NULL;
    assert_int_equal(eb_json_parse(changed, strlen(changed), &record, NULL), EB_OK);
    eb_json_remove(record, "h");
    if (i > 0)
      assert_int_equal(eb_journal_append(new, record, true, NULL), EB_OK);
    else {
      assert_int_equal(eb_journal_create(eb_host_system(), path, record, &new, NULL), EB_OK);
      eb_json_destroy(record);
    }
    free(changed);
    eb_json_text_free(text);
  }
  eb_journal_close(old);
  eb_journal_close(new);
  assert_int_equal(rename(path, r->path), 0);
  strcat(path, ".lock");
  unlink(path);
}

#endif
