/* A whole job on a simulated engine, for the report's tests: with a note, and an answer that is taken back. */
#ifndef EB_TESTS_REPORT_SIMULATED_H
#define EB_TESTS_REPORT_SIMULATED_H

#include "play.h"

#include "report/job.h"

typedef struct simulated {
  const char *name, *procedure, *inputs;
  uint64_t seed;
  size_t steps; /* then it is left; 0: to its end */
  bool stopped; /* there it is stopped */
  eb_fault fault;
  double strength;
} simulated;

static inline void simulated_take(play *p, const char *line)
{
  eb_error error;
  assert_int_equal(eb_session_take(p->session, line, strlen(line), &error), EB_OK);
  play_hear(p);
}

static inline const eb_source *simulated_procedure(const char *id)
{
  size_t count;
  const eb_source *sources = eb_script_builtin_procedures(&count);
  for (size_t i = 0; i < count; i++)
    if (strncmp(sources[i].name, id, strlen(id)) == 0)
      return &sources[i];
  fail_msg("there is no procedure %s", id);
  return NULL;
}

/* Plays it as far as it is to go; its journal is "play.jsonl" of the play's scratch. */
static inline void simulated_play(play *p, const simulated *of)
{
  eb_bay_options options = eb_bay_options_usual();
  options.seed = of->seed;
  if (of->strength > 0)
    options.fault[of->fault] = of->strength;
  eb_json *inputs = of->inputs == NULL ? NULL : parse(of->inputs);
  *p = (play){.inputs = inputs};
  play_begin(p, simulated_procedure(of->procedure), &options);
  for (size_t i = 1; eb_session_where(p->session) == EB_SESSION_ASKS && (of->steps == 0 || i <= of->steps); i++) {
    if (i == 30)
      simulated_take(p, "{\"do\":\"note\",\"text\":\"The return spring of bore 3 is weak: to be replaced at the next "
                        "service.\"}");
    if (i == 40)
      simulated_take(p, "{\"do\":\"back\"}");
    play_step(p);
  }
  if (of->stopped)
    simulated_take(p, "{\"do\":\"stop\",\"why\":\"The customer came for it.\"}");
  eb_json_destroy(inputs);
}

#endif
