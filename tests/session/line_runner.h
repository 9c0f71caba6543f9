/* A runner whose procedures are lists of requests, a JSON object a line: what
 * the session makes of requests can be tested without a script language. */
#ifndef LINE_RUNNER_H
#define LINE_RUNNER_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "evenbore/session.h"

typedef struct line_procedure {
  char *text;
  const char *at;
} line_procedure;

/* The replies of the last run, a line each. */
typedef struct line_log {
  char replies[1 << 16];
} line_log;

typedef struct line_run {
  line_procedure procedure;
  line_log *log;
} line_run;

static void line_keep(line_log *log, const eb_json *reply)
{
  char *text = eb_json_text(reply);
  size_t used = strlen(log->replies);
  if (text != NULL && used + strlen(text) + 2 < sizeof log->replies)
    snprintf(log->replies + used, sizeof log->replies - used, "%s\n", text);
  eb_json_text_free(text);
}

static eb_status line_exchange(void *self, const eb_json *reply, eb_json **request, eb_error *error)
{
  line_run *run = self;
  if (reply != NULL)
    line_keep(run->log, reply);
  const char *line = run->procedure.at;
  if (*line == '\0')
    return eb_fail(error, EB_SCRIPT, "lines:0", "there are no more lines");
  size_t size = strcspn(line, "\n");
  run->procedure.at = line + size + (line[size] == '\n');
  return eb_json_parse(line, size, request, error);
}

static void line_destroy(void *self)
{
  line_run *run = self;
  free(run->procedure.text);
  free(run);
}

static eb_status line_start(void *context, const eb_host *host, const eb_source *main, const eb_source *library,
                            size_t library_count, eb_procedure *procedure, eb_error *error)
{
  (void)host;
  (void)library;
  (void)library_count;
  (void)error;
  line_run *run = calloc(1, sizeof *run);
  run->log = context;
  run->log->replies[0] = '\0';
  run->procedure.text = malloc(main->size + 1);
  memcpy(run->procedure.text, main->text, main->size);
  run->procedure.text[main->size] = '\0';
  run->procedure.at = run->procedure.text;
  *procedure = (eb_procedure){.self = run, .exchange = line_exchange, .destroy = line_destroy};
  return EB_OK;
}

static inline eb_runner line_runner(line_log *log)
{
  return (eb_runner){.context = log, .name = "lines", .start = line_start};
}

/* Whether the open ask was a caution of the core's own whose key begins so; it is seen to then. */
static inline bool see_to_caution(eb_session *session, const char *key)
{
  const eb_json *ask = eb_session_ask(session);
  if (strncmp(eb_json_get_string(ask, "key", ""), key, strlen(key)) != 0)
    return false;
  char code[3];
  snprintf(code, sizeof code, "%s", eb_json_get_string(ask, "code", ""));
  assert_int_equal(eb_session_type(session, code, 2, NULL), EB_OK);
  return true;
}

#define DECLARE                                                                                                        \
  "{\"op\":\"declare\",\"procedure\":{\"id\":\"two\",\"version\":\"1\",\"title\":\"Two bores\",\"api\":1},"            \
  "\"layout\":{\"rows\":[[\"1\",\"2\"]],\"adjusters\":[{\"id\":\"screw\",\"kind\":\"screw\","                          \
  "\"sides\":[[\"1\"],[\"2\"]],\"effort\":2,\"stopped\":false},{\"id\":\"plate-1\",\"kind\":\"plate\","                \
  "\"sides\":[[\"1\"]],\"effort\":15,\"stopped\":true}]}}\n"
#define ASK(kind, key, rest)                                                                                           \
  "{\"op\":\"ask\",\"kind\":\"" kind "\",\"key\":\"" key "\",\"title\":\"T " key                                       \
  "\",\"text\":\"Do it.\",\"at\":\"two.lua:1\"" rest "}\n"
#define RUNNING ASK("engine", "run", ",\"state\":\"running\"")
#define STOPPED ASK("engine", "halt", ",\"state\":\"stopped\"")
#define READING(bore) ASK("reading", "r" bore, ",\"bore\":\"" bore "\"")
#define NUMBER(key) ASK("number", key, ",\"quantity\":\"temperature\",\"unit\":\"C\",\"low\":0,\"high\":150")
#define END "{\"op\":\"end\",\"summary\":\"All done.\"}\n"

#endif
