/* What is true of the engine and of the measurement, as a fold over the answers. */
#include "private.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

eb_status job_init(eb_session *s, eb_error *error)
{
  job_clear(&s->job);
  s->job = (job_state){.gauge = eb_gauge_usual(),
                       .tolerance = 0.05,
                       .risk = 0.05,
                       .open_parts = eb_json_array(),
                       .cautions = eb_json_object(),
                       .perishable = eb_json_object()};
  if (s->job.open_parts == NULL || s->job.cautions == NULL || s->job.perishable == NULL)
    return out_of_memory(error);
  return EB_OK;
}

void job_give(tellable *what, eb_json *value)
{
  eb_json_destroy(what->own);
  *what = (tellable){.value = value, .own = value};
}

void job_clear(job_state *job)
{
  for (int i = 0; i < job->condition_count; i++)
    eb_evidence_destroy(job->conditions[i].evidence);
  eb_json_destroy(job->open_parts);
  job_give(&job->verdict, NULL);
  job_give(&job->plan, NULL);
  eb_json_destroy(job->more);
  eb_json_destroy(job->shop_hazards);
  eb_json_destroy(job->origin_cautions);
  eb_json_destroy(job->cautions);
  eb_json_destroy(job->perishable);
  *job = (job_state){0};
}

eb_evidence *job_evidence(const eb_session *s)
{
  return s->job.condition_count == 0 ? NULL : s->job.conditions[s->job.current].evidence;
}

eb_status job_set_layout(eb_session *s, const eb_json *layout, const char *place, eb_error *error)
{
  if (s->job.has_layout)
    return eb_fail(error, EB_REFUSED, place, "the layout is fixed already; a session has one layout");
  eb_layout read;
  eb_status status = eb_layout_read(layout, place, &read, error);
  if (status == EB_OK)
    status = known_apply(s, &read, error);
  if (status != EB_OK)
    return status;
  s->job.layout = read;
  s->job.has_layout = true;
  condition *idle = &s->job.conditions[0];
  snprintf(idle->name, sizeof idle->name, "idle");
  status = eb_evidence_create(s->host, &s->job.layout, &s->job.gauge, &idle->evidence, error);
  if (status == EB_OK)
    s->job.condition_count = 1;
  return status;
}

const char *engine_word(engine_state state)
{
  static const char *const words[] = {"unknown", "stopped", "running"};
  return words[state];
}

bool json_array_has(const eb_json *array, const char *text)
{
  for (const eb_json *item = eb_json_first(array); item != NULL; item = eb_json_next(item))
    if (strcmp(eb_json_as_string(item, ""), text) == 0)
      return true;
  return false;
}

/* The gauge's level is unknown after a start, whatever the condition. */
eb_status job_new_period(eb_session *s, eb_error *error)
{
  for (int i = 0; i < s->job.condition_count; i++) {
    if (s->job.conditions[i].cold)
      continue;
    eb_status status = eb_evidence_period(s->job.conditions[i].evidence, error);
    if (status != EB_OK)
      return status;
  }
  return EB_OK;
}

/* The questions of a resume carry keys of their own and leave in place what they ask about. */
static bool of_resume(const eb_json *ask)
{
  return strncmp(eb_json_get_string(ask, "key", ""), "resume.", 7) == 0;
}

static eb_status apply_engine(eb_session *s, const eb_json *ask, eb_error *error)
{
  bool runs = strcmp(eb_json_get_string(ask, "state", ""), "running") == 0;
  s->job.engine = runs ? ENGINE_RUNNING : ENGINE_STOPPED;
  if (!of_resume(ask))
    s->job.wanted = s->job.engine;
  safety_engine(s, runs, of_resume(ask));
  for (int i = 0; i < s->job.condition_count; i++)
    s->job.conditions[i].stale = s->job.conditions[i].stale || (s->job.conditions[i].cold && runs);
  if (runs && eb_json_get(s->job.verdict.value, "length") != NULL)
    job_give(&s->job.verdict, NULL); /* what was true of the metal is no chart of the air */
  if (runs)
    return job_new_period(s, error);
  if (of_resume(ask))
    return EB_OK;
  eb_json_destroy(s->job.perishable);
  s->job.perishable = eb_json_object();
  return s->job.perishable == NULL ? out_of_memory(error) : EB_OK;
}

static eb_status apply_reading(eb_session *s, const eb_json *ask, const eb_json *value, eb_error *error)
{
  int bore = eb_layout_bore(&s->job.layout, eb_json_get_string(ask, "bore", ""));
  if (!eb_json_is_number(value) || bore < 0)
    return EB_OK;
  bool cold = condition_current(s)->cold;
  if (answer_no_air(s, ask, value))
    return cold ? EB_OK : eb_evidence_no_air(job_evidence(s), bore, error);
  const char *pushed = eb_json_get_string(ask, "pushed", "");
  if (pushed[0] != '\0')
    return eb_evidence_pushed(job_evidence(s), bore, eb_json_as_number(value, 0), strcmp(pushed, "open") == 0, error);
  return condition_reading(s, bore, eb_json_as_number(value, 0), error);
}

static eb_status apply_adjust(eb_session *s, const eb_json *ask, const eb_json *value, eb_error *error)
{
  s->job.attempts++;
  if (!eb_json_get_bool(value, "done", false))
    return EB_OK;
  s->job.conditions[0].claims = false;
  int adjuster = eb_layout_adjuster(&s->job.layout, eb_json_get_string(ask, "adjuster", ""));
  if (adjuster < 0)
    return EB_OK;
  const eb_adjuster *used = &s->job.layout.adjuster[adjuster];
  /* A plate that was set by its length stands where that says, whatever was read of its air before. */
  bool cold = eb_json_get(ask, "condition") != NULL;
  condition_forget(s, used->first | used->second, !cold);
  if (cold)
    return EB_OK;
  double move = eb_json_get_number(ask, "move", 0);
  double wished = eb_json_get_number(eb_json_get(ask, "amount"), "value", 0);
  double done = eb_json_get_number(eb_json_get(value, "amount"), "value", wished);
  if (fabs(wished) > 0)
    move *= done / wished;
  return eb_evidence_move(s->job.conditions[0].evidence, adjuster, move, error);
}

static eb_status keep(eb_json *object, const eb_json *ask, eb_error *error)
{
  return eb_json_set(object, eb_json_get_string(ask, "key", ""), eb_json_copy(ask)) ? EB_OK : out_of_memory(error);
}

static eb_status apply_caution(eb_session *s, const eb_json *ask, eb_error *error)
{
  if (safety_is_own(ask))
    safety_apply(s, ask);
  else if (of_resume(ask))
    safety_shown_again(s);
  else if (eb_json_get_bool(ask, "critical", false))
    return keep(s->job.cautions, ask, error);
  return EB_OK;
}

eb_status job_apply(eb_session *s, const eb_json *ask, const eb_json *value, eb_error *error)
{
  const char *kind = eb_json_get_string(ask, "kind", "");
  if (eb_json_get_bool(ask, "perishable", false)) {
    eb_status status = keep(s->job.perishable, ask, error);
    if (status != EB_OK)
      return status;
  }
  if (strcmp(kind, "caution") == 0)
    return apply_caution(s, ask, error);
  if (strcmp(kind, "engine") == 0)
    return apply_engine(s, ask, error);
  if (strcmp(kind, "reading") == 0)
    return apply_reading(s, ask, value, error);
  if (strcmp(kind, "adjust") == 0)
    return apply_adjust(s, ask, value, error);
  if (strcmp(kind, "confirm") != 0)
    return EB_OK;
  if (eb_json_as_bool(value, false) && eb_json_get_bool(ask, "snaps", false))
    return eb_evidence_snap(job_evidence(s), error);
  if (eb_json_as_bool(value, false))
    return parts_apply(s, ask, error);
  if (strcmp(eb_json_get_string(ask, "key", ""), "resume.kept-running") == 0)
    s->job.engine = ENGINE_STOPPED;
  return EB_OK;
}
