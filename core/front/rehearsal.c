/* One rehearsal: session and bay talk to one another until either has had enough. */
#include "rehearsal.h"

#include "evenbore/person.h"
#include "evenbore/scratch.h"
#include "evenbore/session.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* The same prompt so often in a row is no wait for warmth. */
enum { SAME_MAX = 60 };

struct eb_rehearsal_begun {
  const eb_rehearsal *rehearsal;
  eb_scratch *scratch;
  eb_bay *bay;
  eb_session *session;
  eb_rehearsed result;
  char key[80]; /* of the last prompt */
  int same;     /* how often it came in a row */
  char at[160]; /* where it is asked */
  char refused[640];
};
typedef struct eb_rehearsal_begun playing;

static void mark_line(const playing *p, const char *at)
{
  const char *name = p->rehearsal->loaded->source.name;
  size_t size = strlen(name);
  if (strncmp(at, name, size) != 0 || at[size] != ':')
    return;
  unsigned long line = strtoul(at + size + 1, NULL, 10);
  if (line < p->rehearsal->lines)
    atomic_store(&p->rehearsal->asked[line], 1);
}

static void end_with(playing *p, eb_rehearsal_end end, const char *place, const char *why)
{
  p->result.end = end;
  snprintf(p->result.place, sizeof p->result.place, "%.*s", (int)sizeof p->result.place - 1, place);
  snprintf(p->result.why, sizeof p->result.why, "%.*s", (int)sizeof p->result.why - 1, why);
}

static void note_ask(playing *p, const eb_json *ask)
{
  const char *key = eb_json_get_string(ask, "key", "");
  const char *kind = eb_json_get_string(ask, "kind", "");
  const char *at = eb_json_get_string(ask, "at", "");
  mark_line(p, at);
  p->result.measured = p->result.measured || (strcmp(kind, "reading") == 0);
  p->same = strcmp(key, p->key) == 0 ? p->same + 1 : 1;
  snprintf(p->key, sizeof p->key, "%s", key);
  snprintf(p->at, sizeof p->at, "%s", at);
  if (p->same <= SAME_MAX)
    return;
  char why[200];
  snprintf(why, sizeof why, "the prompt \"%s\" is asked %d times in a row", key, (int)SAME_MAX);
  end_with(p, EB_REHEARSAL_STUCK, at, why);
}

/* What fails on the way to the first prompt is told by its `end` alone. */
static void note_early_failure(playing *p, const char *summary)
{
  const char *rest = strstr(summary, EB_SESSION_SAFE);
  char why[640];
  snprintf(why, sizeof why, "%.*s", rest == NULL ? (int)strlen(summary) : (int)(rest - summary), summary);
  end_with(p, EB_REHEARSAL_FAILED, "", why);
}

static void note_end(playing *p, const eb_json *end)
{
  const char *outcome = eb_json_get_string(end, "outcome", "");
  const eb_json *claim = eb_json_get(end, "claim");
  p->result.claims = eb_json_is_object(claim);
  p->result.claim = eb_json_get_number(claim, "tolerance", 0);
  p->result.spread = eb_bay_spread(p->bay, claim);
  if (strcmp(outcome, "even") == 0)
    end_with(p, EB_REHEARSAL_EVEN, "", "");
  else if (strcmp(outcome, "claimed") == 0)
    end_with(p, EB_REHEARSAL_CLAIMED, "", "");
  else if (strcmp(outcome, "stopped") == 0)
    end_with(p, EB_REHEARSAL_STUCK, p->at, p->refused);
  else if (p->result.why[0] == '\0')
    note_early_failure(p, eb_json_get_string(end, "summary", ""));
}

/* Faults that a tell names: those that eyes at the engine do not find. */
static unsigned told_faults(const eb_json *message)
{
  unsigned told = 0;
  const eb_json *one = eb_json_first(eb_json_get(message, "findings"));
  for (; one != NULL; one = eb_json_next(one))
    if (strcmp(eb_json_get_string(one, "kind", ""), "swapped") == 0 && eb_json_get_bool(one, "sure", false))
      told |= 1U << EB_FAULT_SWAP;
  for (one = eb_json_first(eb_json_get(message, "crosscheck")); one != NULL; one = eb_json_next(one))
    if (eb_json_get_bool(one, "fuel", false))
      told |= 1U << EB_FAULT_WEAK | 1U << EB_FAULT_LEAN;
  return told;
}

static void note_named(playing *p, unsigned found)
{
  for (int f = 0; f < EB_FAULTS; f++)
    if (p->rehearsal->fault[f] > 0 && (found >> f & 1) != 0)
      p->result.named = true;
}

static eb_status note(playing *p, const eb_json *message, eb_error *error)
{
  const char *type = eb_json_get_string(message, "type", "");
  bool new_engine = eb_bay_engine(p->bay) == NULL;
  eb_status status = eb_bay_hear(p->bay, message, error);
  if (new_engine && eb_bay_engine(p->bay) != NULL)
    p->result.began = eb_bay_spread(p->bay, NULL);
  if (strcmp(type, "hello") == 0)
    p->result.tolerance = eb_json_get_number(message, "tolerance", 0);
  else if (strcmp(type, "ask") == 0)
    note_ask(p, message);
  else if (strcmp(type, "refused") == 0)
    snprintf(p->refused, sizeof p->refused, "no answer is taken to \"%s\": %s", p->key,
             eb_json_get_string(message, "why", ""));
  else if (strcmp(type, "tell") == 0 && !p->rehearsal->one_fault)
    note_named(p, told_faults(message));
  else if (strcmp(type, "end") == 0)
    note_end(p, message);
  return status;
}

/* The prompt itself is shown with its answer. */
static eb_status hear(playing *p, eb_error *error)
{
  const eb_json *message;
  eb_status status = EB_OK;
  while (status == EB_OK && (message = eb_session_next(p->session)) != NULL) {
    status = note(p, message, error);
    if (p->rehearsal->look_on != NULL && strcmp(eb_json_get_string(message, "type", ""), "ask") != 0)
      p->rehearsal->look_on(p->rehearsal->context, message, NULL);
  }
  return status;
}

/* A budget that prompts used up is a job without an end; any other is the procedure's error. */
static void note_failure(playing *p, const eb_error *met)
{
  bool endless = met->status == EB_BUDGET && p->result.work.prompts >= EB_PROMPTS_MAX;
  end_with(p, endless ? EB_REHEARSAL_STUCK : EB_REHEARSAL_FAILED, met->place, met->message);
}

static eb_status step(playing *p, eb_error *error)
{
  char line[EB_BAY_LINE_SIZE];
  eb_error met = {.status = EB_OK};
  const eb_json *ask = eb_session_ask(p->session);
  eb_status status = eb_bay_answer(p->bay, ask, line, sizeof line, error);
  if (status != EB_OK)
    return status;
  if (p->rehearsal->answer != NULL)
    p->rehearsal->answer(p->rehearsal->context, ask, line, sizeof line);
  if (p->rehearsal->look_on != NULL)
    p->rehearsal->look_on(p->rehearsal->context, ask, line);
  eb_bay_account(p->bay, &p->result.work);
  eb_scratch_set_time(p->scratch, p->result.work.minutes);
  status = eb_session_take(p->session, line, strlen(line), &met);
  if (status == EB_OUT_OF_MEMORY)
    return eb_fail(error, status, met.place, "%s", met.message);
  if (status != EB_OK)
    note_failure(p, &met);
  return hear(p, error);
}

static eb_status start_bay(playing *p, uint64_t seed, eb_error *error)
{
  const eb_rehearsal *r = p->rehearsal;
  eb_bay_options o = eb_bay_options_usual();
  o.seed = seed;
  o.one_fault = r->one_fault;
  memcpy(o.fault, r->fault, sizeof o.fault);
  return eb_bay_create(r->host, &o, &p->bay, error);
}

static eb_status start_session(playing *p, eb_error *error)
{
  const eb_rehearsal *r = p->rehearsal;
  eb_status status = eb_scratch_create(r->host, &p->scratch, error);
  if (status != EB_OK)
    return status;
  eb_session_options options = {.id = "rehearsal",
                                .path = "rehearsal.jsonl",
                                .program = "evenbore " EB_VERSION,
                                .runner = r->runner,
                                .main = &r->loaded->source,
                                .library = r->loaded->library,
                                .library_count = r->loaded->library_count,
                                .gauge = r->gauge,
                                .tolerance = r->tolerance,
                                .risk = r->risk,
                                .inputs = r->inputs};
  eb_error met = {.status = EB_OK};
  status = eb_session_start(eb_scratch_host(p->scratch), &options, &p->session, &met);
  if (status == EB_OUT_OF_MEMORY)
    return eb_fail(error, status, met.place, "%s", met.message);
  if (status != EB_OK)
    note_failure(p, &met);
  return EB_OK;
}

static bool goes_on(const playing *p)
{
  return p->session != NULL && eb_session_where(p->session) == EB_SESSION_ASKS && p->result.end != EB_REHEARSAL_STUCK;
}

eb_status eb_rehearsal_begin(const eb_rehearsal *rehearsal, eb_rehearsal_begun **begun, eb_error *error)
{
  const eb_host *host = rehearsal->host;
  playing *made = host->allocate(host->context, NULL, sizeof *made);
  if (made == NULL)
    return eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
  *made = (playing){.rehearsal = rehearsal, .result = {.end = EB_REHEARSAL_FAILED}};
  eb_status status = start_session(made, error);
  if (status == EB_OK)
    *begun = made;
  else
    eb_rehearsal_clear(made);
  return status;
}

eb_status eb_rehearsal_finish(eb_rehearsal_begun *begun, uint64_t seed, eb_rehearsed *result, eb_error *error)
{
  playing *p = begun;
  p->result.seed = seed;
  eb_status status = start_bay(p, seed, error);
  if (status == EB_OK && p->session != NULL)
    status = hear(p, error);
  while (status == EB_OK && goes_on(p))
    status = step(p, error);
  if (p->bay != NULL) {
    eb_bay_account(p->bay, &p->result.work);
    p->result.all = eb_bay_spread(p->bay, NULL);
    note_named(p, eb_bay_found(p->bay));
  }
  if (status == EB_OK)
    *result = p->result;
  return status;
}

void eb_rehearsal_clear(eb_rehearsal_begun *begun)
{
  const eb_host *host = begun->rehearsal->host;
  eb_session_destroy(begun->session);
  eb_bay_destroy(begun->bay);
  eb_scratch_destroy(begun->scratch);
  host->allocate(host->context, begun, 0);
}

eb_status eb_rehearsal_play(const eb_rehearsal *rehearsal, uint64_t seed, eb_rehearsed *result, eb_error *error)
{
  eb_rehearsal_begun *begun = NULL;
  eb_status status = eb_rehearsal_begin(rehearsal, &begun, error);
  if (begun == NULL)
    return status;
  status = eb_rehearsal_finish(begun, seed, result, error);
  eb_rehearsal_clear(begun);
  return status;
}
