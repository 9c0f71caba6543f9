/* A session played from its first ask to its end by a simulated bay, its journal in memory. */
#ifndef EB_TESTS_PLAY_H
#define EB_TESTS_PLAY_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "evenbore/bay.h"
#include "evenbore/scratch.h"
#include "evenbore/script.h"
#include "evenbore/session.h"

typedef struct play {
  eb_scratch *scratch;
  eb_bay *bay;
  eb_session *session;
  const eb_json *inputs; /* of the session's options; NULL: none */
  eb_runner runner;
  char outcome[16]; /* of the `end` message; "" before */
  char summary[512];
  bool claims;
  double claim, spread;                                /* relative: what it claims, and the truth about those bores */
  void (*each)(void *context, const eb_json *message); /* sees every message; NULL: nobody looks */
  void *context;
} play;

static inline void play_hear(play *p)
{
  const eb_json *message;
  eb_error error = {0};
  while ((message = eb_session_next(p->session)) != NULL) {
    if (eb_bay_hear(p->bay, message, &error) != EB_OK)
      fail_msg("the bay: %s", error.message);
    if (p->each != NULL)
      p->each(p->context, message);
    if (strcmp(eb_json_get_string(message, "type", ""), "end") != 0)
      continue;
    const eb_json *claim = eb_json_get(message, "claim");
    p->claims = eb_json_is_object(claim);
    p->claim = eb_json_get_number(claim, "tolerance", 0);
    p->spread = eb_bay_spread(p->bay, claim);
    snprintf(p->outcome, sizeof p->outcome, "%s", eb_json_get_string(message, "outcome", ""));
    snprintf(p->summary, sizeof p->summary, "%s", eb_json_get_string(message, "summary", ""));
  }
}

static inline void play_begin(play *p, const eb_source *procedure, const eb_bay_options *options)
{
  eb_error error = {0};
  size_t count = 0;
  const eb_source *library = eb_script_builtin_library(&count);
  p->runner = eb_script_runner(NULL);
  eb_session_options o = {.id = "play",
                          .path = "play.jsonl",
                          .program = "test",
                          .runner = &p->runner,
                          .main = procedure,
                          .library = library,
                          .library_count = count,
                          .inputs = p->inputs};
  p->outcome[0] = p->summary[0] = '\0';
  assert_int_equal(eb_scratch_create(eb_host_system(), &p->scratch, &error), EB_OK);
  assert_int_equal(eb_bay_create(eb_host_system(), options, &p->bay, &error), EB_OK);
  if (eb_session_start(eb_scratch_host(p->scratch), &o, &p->session, &error) != EB_OK)
    fail_msg("%s: %s", error.place, error.message);
  play_hear(p);
}

/* One ask and its answer. */
static inline void play_step(play *p)
{
  char line[EB_BAY_LINE_SIZE];
  eb_bay_work work;
  eb_error error = {0};
  assert_int_equal(eb_bay_answer(p->bay, eb_session_ask(p->session), line, sizeof line, &error), EB_OK);
  eb_bay_account(p->bay, &work);
  eb_scratch_set_time(p->scratch, work.minutes);
  eb_session_take(p->session, line, strlen(line), &error); /* a failure is told by its `end` */
  play_hear(p);
}

/* Until it is over. */
static inline void play_on(play *p)
{
  while (eb_session_where(p->session) == EB_SESSION_ASKS)
    play_step(p);
}

static inline void play_end(play *p)
{
  eb_session_destroy(p->session);
  eb_bay_destroy(p->bay);
  eb_scratch_destroy(p->scratch);
}

#endif
