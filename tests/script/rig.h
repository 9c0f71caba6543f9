/* Rig: runs a procedure's text against scripted replies. */
#ifndef EB_TESTS_SCRIPT_RIG_H
#define EB_TESTS_SCRIPT_RIG_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "evenbore/host.h"
#include "evenbore/script.h"
#include "text_exchange.h"

/* The least library: what a procedure's file needs to be one, and an ask. */
static const char rig_api[] =
    "core.export('procedure', function(t)\n"
    "  return core.procedure({ id = t.id or 'x' }, function() if t.run then t.run() end end)\n"
    "end)\n"
    "core.export('ask', function(t)\n"
    "  local reply = core.request { op = 'ask', value = t }\n"
    "  return reply.value\n"
    "end)\n";

/* Whether runs live in a process of their own. */
static bool rig_in_child;

typedef struct script_rig {
  eb_script_child *child; /* NULL: the run lives in this thread */
  eb_procedure procedure;
  eb_error error;
  request_text last;
  const char *request; /* its text; empty after a failure */
} script_rig;

static inline eb_source rig_source(const char *name, const char *text)
{
  return (eb_source){.name = name, .text = text, .size = strlen(text)};
}

/* Hands over a reply (NULL: none yet). */
static inline eb_status rig_next(script_rig *rig, const char *reply)
{
  rig->request = rig->last.text;
  rig->last.text[0] = '\0';
  return text_exchange(&rig->procedure, reply, &rig->last, &rig->error);
}

/* Starts a text as "v8.lua" with library files; the first exchange is made. */
static inline eb_status rig_start_sized(script_rig *rig, const eb_script_limits *limits, const char *text, size_t size,
                                        const eb_source *library, size_t library_count)
{
  memset(rig, 0, sizeof *rig);
  eb_source main = {.name = "v8.lua", .text = text, .size = size};
  eb_script_child_options options = {.limits = limits};
  if (rig_in_child)
    assert_int_equal(eb_script_child_create(eb_host_system(), &options, &rig->child, &rig->error), EB_OK);
  eb_runner runner = rig_in_child ? eb_script_child_runner(rig->child) : eb_script_runner(limits);
  eb_status status =
      runner.start(runner.context, eb_host_system(), &main, library, library_count, &rig->procedure, &rig->error);
  return status == EB_OK ? rig_next(rig, NULL) : status;
}

static inline eb_status rig_start(script_rig *rig, const char *text)
{
  eb_source api = rig_source("lib/api.lua", rig_api);
  return rig_start_sized(rig, NULL, text, strlen(text), &api, 1);
}

static inline void rig_end(script_rig *rig)
{
  if (rig->procedure.destroy != NULL)
    rig->procedure.destroy(rig->procedure.self);
  rig->procedure.destroy = NULL;
  eb_script_child_destroy(rig->child);
  rig->child = NULL;
}

/* Runs `lines` inside `run`, its first line being line 2, until the first request after `declare`. */
static inline eb_status rig_run(script_rig *rig, const eb_script_limits *limits, const char *lines)
{
  static char text[EB_PROCEDURE_SOURCE_MAX + 1];
  snprintf(text, sizeof text, "return procedure { run = function()\n%s\nend }", lines);
  eb_source api = rig_source("lib/api.lua", rig_api);
  eb_status status = rig_start_sized(rig, limits, text, strlen(text), &api, 1);
  return status == EB_OK ? rig_next(rig, "{}") : status;
}

/* The text that `ask { ... }` sends for what `expression` gives. */
static inline const char *rig_value(script_rig *rig, const char *expression)
{
  char lines[4096];
  snprintf(lines, sizeof lines, "ask { %s }", expression);
  eb_status status = rig_run(rig, NULL, lines);
  if (status != EB_OK)
    fail_msg("%s: %s: %s", expression, rig->error.place, rig->error.message);
  char *value = strstr(rig->last.text, "\"value\":");
  assert_non_null(value);
  value[strlen(value) - 1] = '\0';
  rig_end(rig);
  return value + 8;
}

/* For the test programs whose tests hold for both ways to run. */
static inline int rig_to_child(void **state)
{
  (void)state;
  rig_in_child = true;
  return 0;
}

#endif
