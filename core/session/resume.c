/* What is asked when a person comes back: who was away does not know what
 * changed meanwhile, and a replay cannot tell.  The same questions come after
 * a step that touched the metal was taken back. */
#include "private.h"

#include <stdio.h>
#include <string.h>

static eb_json *new_ask(const char *kind, const char *key, const char *title, const char *text, const char *why)
{
  eb_json *ask = eb_json_object();
  if (eb_json_set_string(ask, "kind", kind) && eb_json_set_string(ask, "key", key) &&
      eb_json_set_string(ask, "title", title) && eb_json_set_string(ask, "text", text) &&
      eb_json_set_string(ask, "why", why) && eb_json_set_string(ask, "stage", "Back at the engine"))
    return ask;
  eb_json_destroy(ask);
  return NULL;
}

/* Whether a caution's hazards may be there while the engine is as the job wants it. */
static bool applies(const eb_session *s, const eb_json *caution)
{
  const char *when = eb_json_get_string(caution, "applies", "");
  return when[0] == '\0' || s->job.wanted == ENGINE_UNKNOWN || strcmp(when, engine_word(s->job.wanted)) == 0;
}

static bool add_hazards(const eb_json *caution, eb_json *hazards)
{
  const eb_json *hazard = eb_json_first(eb_json_get(caution, "hazards"));
  for (; hazard != NULL; hazard = eb_json_next(hazard)) {
    const char *text = eb_json_as_string(hazard, "");
    if (!json_array_has(hazards, text) && !eb_json_add_string(hazards, text))
      return false;
  }
  return true;
}

/* The core's own cautions, and the procedure's. */
static eb_json *ask_cautions(const eb_session *s)
{
  eb_json *hazards = eb_json_array();
  bool made = safety_add_again(s, hazards);
  const eb_json *caution = eb_json_first(s->job.cautions);
  for (; made && caution != NULL; caution = eb_json_next(caution))
    if (applies(s, caution))
      made = add_hazards(caution, hazards);
  eb_json *ask =
      new_ask("caution", "resume.caution", "Before you go on", "You have been away. These hold again from here.",
              "Whoever comes back to an engine, or takes over from somebody else, starts with what can hurt.");
  made = made && eb_json_set_bool(ask, "critical", true);
  if (eb_json_set(ask, "hazards", hazards) && made)
    return ask;
  eb_json_destroy(ask);
  return NULL;
}

static eb_json *ask_engine(const eb_session *s, bool running)
{
  eb_json *ask = running ? new_ask("engine", "resume.engine", "Engine running",
                                   "Start it, let it come to idle, warm and steady, and say when it runs.",
                                   "The job stands at a step that needs it running. The gauge's level is taken as new.")
                         : new_ask("engine", "resume.engine", "Engine stopped", "The engine is to be stopped here.",
                                   "The job stands at a step that needs the engine stopped.");
  if (eb_json_set_string(ask, "state", running ? "running" : "stopped") &&
      eb_json_set(ask, "open", eb_json_copy(s->job.open_parts)))
    return ask;
  eb_json_destroy(ask);
  return NULL;
}

static eb_json *ask_kept_running(void)
{
  return new_ask("confirm", "resume.kept-running", "Engine kept running",
                 "Has the engine kept running since, with the idle speed and the gauge's vent untouched?",
                 "If it has, the readings so far can be compared with those to come. If not, they get a level of their "
                 "own.");
}

/* Only what still lets the job go on is taken: an engine that went cold is warmed first. */
static bool narrow_to_holds(eb_json *ask)
{
  const eb_json *holds = eb_json_get(ask, "holds");
  return holds == NULL || (eb_json_set(ask, "low", eb_json_copy(eb_json_at(holds, 0))) &&
                           eb_json_set(ask, "high", eb_json_copy(eb_json_at(holds, 1))));
}

static bool narrow(eb_json *ask)
{
  eb_json *asked = eb_json_member(ask, "asked");
  return narrow_to_holds(ask) && (asked == NULL || narrow_to_holds(asked));
}

/* A fact that does not keep (warm, idle speed), asked again as it was. */
static eb_json *ask_perishable(const eb_session *s, int index)
{
  const eb_json *was = eb_json_first(s->job.perishable);
  for (int i = 0; i < index && was != NULL; i++)
    was = eb_json_next(was);
  eb_json *ask = was == NULL ? NULL : eb_json_copy(was);
  char key[KEY_MAX + 8];
  snprintf(key, sizeof key, "resume.%s", eb_json_get_string(was, "key", ""));
  if (eb_json_set_string(ask, "key", key) && eb_json_set_bool(ask, "perishable", false) && narrow(ask))
    return ask;
  eb_json_destroy(ask);
  return NULL;
}

/* The steps in order; each is asked, or passed over where it does not apply. Parts are asked for until they are on. */
enum { STEP_CAUTIONS, STEP_PARTS, STEP_KEPT_RUNNING, STEP_START, STEP_ENGINE, STEP_FACTS };

static bool step_applies(const eb_session *s, int step)
{
  if (step == STEP_CAUTIONS)
    return s->away && s->job.safety.place;
  if (step == STEP_PARTS)
    return s->job.wanted == ENGINE_RUNNING && parts_are_off(s);
  if (step == STEP_KEPT_RUNNING)
    return s->job.engine == ENGINE_RUNNING;
  if (step == STEP_START)
    return s->job.engine == ENGINE_STOPPED && s->job.wanted == ENGINE_RUNNING;
  return step != STEP_ENGINE || s->job.engine == ENGINE_STOPPED;
}

static eb_json *ask_step(const eb_session *s, int step)
{
  if (step == STEP_CAUTIONS)
    return ask_cautions(s);
  if (step == STEP_PARTS)
    return parts_ask(s, "resume.refit");
  if (step == STEP_KEPT_RUNNING)
    return ask_kept_running();
  if (step == STEP_START)
    return safety_start_ask(s);
  if (step == STEP_ENGINE)
    return ask_engine(s, s->job.wanted == ENGINE_RUNNING);
  return ask_perishable(s, step - STEP_FACTS);
}

eb_status resume_next_ask(eb_session *s, eb_json **ask, eb_error *error)
{
  if (s->resume_step == STEP_CAUTIONS && !s->away)
    safety_taken_back(s);
  /* Facts that do not keep are facts about a running engine. */
  int facts = s->job.wanted == ENGINE_RUNNING ? eb_json_count(s->job.perishable) : 0;
  while (s->resume_step < STEP_FACTS + facts && !step_applies(s, s->resume_step))
    s->resume_step++;
  s->away = s->away && s->resume_step <= STEP_CAUTIONS;
  if (s->resume_step >= STEP_FACTS + facts) {
    *ask = NULL;
    return EB_OK;
  }
  *ask = ask_step(s, s->resume_step);
  if (s->resume_step != STEP_PARTS)
    s->resume_step++;
  return *ask == NULL ? out_of_memory(error) : EB_OK;
}
