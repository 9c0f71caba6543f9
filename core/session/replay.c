/* Leads the procedure: over the recorded answers first, then from ask to ask. */
#include "private.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* Where two texts part, at the beginning of the word. */
static size_t parting(const char *one, const char *other)
{
  size_t at = 0, word = 0;
  for (; one[at] != '\0' && one[at] == other[at]; at++)
    if (one[at] == ' ')
      word = at + 1;
  return word;
}

/* `from`: of a text, what is said of it. */
static void describe(const eb_json *thing, size_t from, char *text, size_t size)
{
  const char *at = eb_json_get_string(thing, "at", "no place");
  const char *key = eb_json_get_string(thing, "key", "");
  if (thing == NULL)
    snprintf(text, size, "its end");
  else if (key[0] != '\0')
    snprintf(text, size, "%s \"%s\" (%.60s) of %s", eb_json_get_string(thing, "kind", "ask"), key,
             eb_json_get_string(thing, "title", ""), at);
  else
    snprintf(text, size, "%s \"%s%.60s\" of %s", eb_json_get_string(thing, "kind", "tell"), from == 0 ? "" : "... ",
             eb_json_get_string(thing, "text", "") + from, at);
}

/* The first member in which two asks or tells differ; NULL: none. A caution's code is another one each time. */
static const char *difference(const eb_json *was, const eb_json *now)
{
  for (const eb_json *member = eb_json_first(was); member != NULL; member = eb_json_next(member))
    if (strcmp(eb_json_key(member), "code") != 0 && !eb_json_equal(member, eb_json_get(now, eb_json_key(member))))
      return eb_json_key(member);
  for (const eb_json *member = eb_json_first(now); member != NULL; member = eb_json_next(member))
    if (eb_json_get(was, eb_json_key(member)) == NULL)
      return eb_json_key(member);
  return NULL;
}

/* `now` is NULL where the procedure has come to its end. */
static eb_status mismatch(const eb_session *s, const eb_json *record, const eb_json *now, eb_error *error)
{
  const eb_json *was = eb_json_get(record, record_is(record, "told") ? "message" : "ask");
  char met[180];
  char recorded[180];
  char way[240];
  size_t from = parting(eb_json_get_string(was, "text", ""), eb_json_get_string(now, "text", ""));
  describe(was, from, recorded, sizeof recorded);
  describe(now, from, met, sizeof met);
  char place[64];
  snprintf(place, sizeof place, "record %zu", s->effective.index[s->at] + 1);
  const char *member = now == NULL ? NULL : difference(was, now);
  return eb_fail(error, EB_MISMATCH, place,
                 "the journal has %s where the procedure now comes to %s; they differ in \"%s\"; %s", recorded, met,
                 member == NULL ? "kind" : member, session_way_on(s, way, sizeof way));
}

/* Takes over reply. */
static eb_status set_reply(eb_session *s, eb_json *reply, eb_error *error)
{
  eb_json_destroy(s->reply);
  s->reply = reply;
  return reply == NULL ? out_of_memory(error) : EB_OK;
}

/* What an author did wrong is raised in the procedure, at its line; what else fails ends the run. */
static eb_status refuse(eb_session *s, eb_error *error)
{
  if (error->status == EB_OUT_OF_MEMORY)
    return error->status;
  eb_json *reply = eb_json_object();
  if (!eb_json_set_string(reply, "error", error->message)) {
    eb_json_destroy(reply);
    return out_of_memory(error);
  }
  return set_reply(s, reply, error);
}

static bool add_reading_facts(const eb_session *s, const eb_json *ask, const eb_json *value, eb_json *reply)
{
  double number = eb_json_as_number(value, 0);
  const eb_gauge *gauge = condition_gauge(s);
  return eb_json_put_bool(reply, "outside_best", number < gauge->best_low || number > gauge->best_high) &&
         eb_json_put_bool(reply, "no_air", answer_no_air(s, ask, value));
}

static eb_status reply_with(eb_session *s, const eb_json *ask, const eb_json *value, eb_error *error)
{
  eb_json *reply = eb_json_object();
  bool made = eb_json_put(reply, "value", eb_json_copy(value));
  if (made && strcmp(eb_json_get_string(ask, "kind", ""), "reading") == 0 && eb_json_is_number(value))
    made = add_reading_facts(s, ask, value, reply);
  if (!made) {
    eb_json_destroy(reply);
    return out_of_memory(error);
  }
  return set_reply(s, reply, error);
}

/* An answer settles its ask, or the same is asked again: *again is then the new ask. */
static eb_status settle(eb_session *s, const eb_json *ask, const eb_json *value, eb_json **again, eb_error *error)
{
  eb_slip slip = answer_slip(s, ask, value);
  if (slip != EB_SLIP_NONE) {
    *again = ask_again(ask, value, slip);
    return *again == NULL ? out_of_memory(error) : EB_OK;
  }
  eb_status status = job_apply(s, ask, value, error);
  return status == EB_OK ? reply_with(s, ask, value, error) : status;
}

/* What the core asked by itself is taken wherever it stands: when a person left and came back no replay can know. */
static eb_status take_own_records(eb_session *s, eb_error *error)
{
  const eb_json *record = records_next(s);
  while (record_is(record, "answer") &&
         (eb_json_get_bool(record, "resume", false) || safety_is_own(eb_json_get(record, "ask")))) {
    eb_status status = job_apply(s, eb_json_get(record, "ask"), eb_json_get(record, "value"), error);
    if (status != EB_OK)
      return status;
    s->at++;
    s->n++;
    record = records_next(s);
  }
  return EB_OK;
}

/* Opens script_ask, after the questions of a resume and the cautions that it needs. */
static eb_status present(eb_session *s, eb_error *error)
{
  eb_json *own = NULL;
  eb_status status = s->resume_asks ? resume_next_ask(s, &own, error) : EB_OK;
  if (status != EB_OK)
    return status;
  if (own != NULL)
    return session_open_ask(s, own, BY_RESUME, error);
  s->resume_asks = false;
  if (safety_is_start(s->script_ask) && parts_are_off(s)) {
    own = parts_ask(s, "safety.refit");
    return own == NULL ? out_of_memory(error) : session_open_ask(s, own, BY_SAFETY, error);
  }
  status = safety_next_ask(s, s->script_ask, &own, error);
  if (status != EB_OK)
    return status;
  if (own != NULL)
    return session_open_ask(s, own, BY_SAFETY, error);
  eb_json *ask = s->script_ask;
  s->script_ask = NULL;
  return session_open_ask(s, ask, BY_PROCEDURE, error);
}

/* Whether a recorded answer is one to script_ask, with the caution that it needs before it. */
static eb_status check_record(const eb_session *s, const eb_json *record, eb_error *error)
{
  eb_json *caution = NULL;
  eb_status status = safety_next_ask(s, s->script_ask, &caution, error);
  if (status == EB_OK && caution != NULL)
    status = mismatch(s, record, caution, error);
  else if (status == EB_OK &&
           (!record_is(record, "answer") || difference(eb_json_get(record, "ask"), s->script_ask) != NULL))
    status = mismatch(s, record, s->script_ask, error);
  eb_json_destroy(caution);
  return status;
}

/* Answers script_ask from the journal, or opens it: then *waits is set. */
static eb_status offer(eb_session *s, bool *waits, eb_error *error)
{
  for (;;) {
    eb_status status = take_own_records(s, error);
    if (status != EB_OK)
      return status;
    const eb_json *record = records_next(s);
    if (record == NULL) {
      *waits = true;
      return present(s, error);
    }
    status = check_record(s, record, error);
    if (status != EB_OK)
      return status;
    s->at++;
    s->n++;
    eb_json *again = NULL;
    status = settle(s, eb_json_get(record, "ask"), eb_json_get(record, "value"), &again, error);
    if (status != EB_OK || again == NULL)
      return status;
    eb_json_destroy(s->script_ask);
    s->script_ask = again;
  }
}

static eb_status handle_ask(eb_session *s, eb_json *request, bool *waits, eb_error *error)
{
  if (++s->job.prompts > s->prompts_max)
    return eb_fail(error, EB_BUDGET, eb_json_get_string(request, "at", ""),
                   "the procedure asks for more than %d prompts, the most that one session may have", s->prompts_max);
  eb_json *ask = NULL;
  if (ask_make(s, request, &ask, error) != EB_OK)
    return refuse(s, error);
  s->job.tells = 0;
  s->job.effort = 0;
  eb_json_destroy(s->script_ask);
  s->script_ask = ask;
  return offer(s, waits, error);
}

/* Takes over message. */
/* Takes over message, which goes into the record, and is shown from there. */
static eb_status tell_anew(eb_session *s, eb_json *message, bool shown, eb_error *error)
{
  eb_json *record = eb_json_object();
  bool made = eb_json_put_string(record, "kind", "told");
  if (!eb_json_put(record, "message", message) || !made) {
    eb_json_destroy(record);
    return out_of_memory(error);
  }
  eb_status status = session_record_told(s, record, error);
  s->at = s->effective.count;
  return status == EB_OK && shown ? session_queue_told(s, message, error) : status;
}

/* Takes over message, which must be what was told then. */
static eb_status tell_again(eb_session *s, const eb_json *record, eb_json *message, bool shown, eb_error *error)
{
  const eb_json *was = eb_json_get(record, "message");
  if (!record_is(record, "told") || !eb_json_equal(was, message)) {
    eb_status status = mismatch(s, record, message, error);
    eb_json_destroy(message);
    return status;
  }
  s->at++;
  request_told(s, was);
  if (shown)
    return session_queue(s, message, error);
  eb_json_destroy(message);
  return EB_OK;
}

static eb_status handle_tell(eb_session *s, eb_json *request, bool known, eb_error *error)
{
  if (++s->job.tells > TELLS_MAX)
    return eb_fail(error, EB_BUDGET, eb_json_get_string(request, "at", ""),
                   "the procedure tells more than %d things without asking one", TELLS_MAX);
  eb_json *message = NULL;
  if (request_tell(s, request, &message, error) != EB_OK)
    return refuse(s, error);
  /* What was told before an answer has been read; what comes after the last one is shown again. */
  bool shown = !known && !records_answers_left(s);
  const eb_json *record = records_next(s);
  eb_status status =
      record == NULL ? tell_anew(s, message, shown, error) : tell_again(s, record, message, shown, error);
  if (status != EB_OK)
    request_untold(s);
  return status == EB_OK ? set_reply(s, eb_json_object(), error) : status;
}

/* A layout that is fixed late is told by the core, so that no front and no reader of the journal goes without it. */
static eb_status handle_layout(eb_session *s, eb_json *request, eb_error *error)
{
  eb_status status = job_set_layout(s, eb_json_get(request, "layout"), eb_json_get_string(request, "at", ""), error);
  if (status == EB_REFUSED)
    return refuse(s, error);
  if (status != EB_OK)
    return status;
  bool known = session_complete_hello(s);
  bool made = eb_json_set_string(request, "kind", "layout") &&
              (eb_json_is_string(eb_json_get(request, "text")) || eb_json_set_string(request, "text", "The layout:"));
  status = made ? handle_tell(s, request, known, error) : out_of_memory(error);
  return status == EB_OK ? known_tell(s, error) : status;
}

static void add_others(const eb_session *s, eb_text *summary)
{
  const char *lead = " but ";
  for (int i = 0; i < s->job.layout.bore_count; i++)
    if (s->job.left_out >> i & 1) {
      eb_text_printf(summary, "%s%s", lead, s->job.layout.bore[i]);
      lead = " and ";
    }
}

/* Rounded up: a claim is never told better than it is. */
static void add_within(const eb_session *s, double claim, eb_text *summary)
{
  eb_text_printf(summary, " within %.1f %% of the mean%s, at a risk of %.0f %%", ceil(claim * 1000 - 1e-6) / 10,
                 s->job.left_out == 0 ? "" : " of the others", s->job.risk * 100);
}

static void add_claim(const eb_session *s, bool even, eb_text *summary)
{
  const condition *idle = &s->job.conditions[0];
  if (!idle->claims) {
    eb_text_add(summary, idle->read || s->job.condition_count < 2
                             ? "Nothing can be claimed: there is no verdict at idle since the last move."
                             : "Nothing was measured at idle.");
    return;
  }
  eb_text_add(summary, even ? "Even: every bore" : "Every bore");
  add_others(s, summary);
  add_within(s, idle->claim, summary);
  if (even)
    eb_text_add(summary, ".");
  else
    eb_text_printf(summary, "; wanted was %.1f %%.", s->job.tolerance * 100);
}

/* What a stopped engine was measured to be is a claim about metal, and told apart. */
static void add_cold_claims(const eb_session *s, eb_text *summary)
{
  for (int i = 0; i < s->job.condition_count; i++) {
    const condition *c = &s->job.conditions[i];
    if (!c->cold || !c->claims || !(c->claim < 1))
      continue;
    eb_text_printf(summary, " Engine off, by %s: every plate", length_word(c->length));
    add_others(s, summary);
    add_within(s, c->claim, summary);
    eb_text_printf(summary, "; wanted was %.1f %%.", c->tolerance * 100);
  }
}

static eb_status handle_end(eb_session *s, const eb_json *request, eb_error *error)
{
  const eb_json *record = records_next(s);
  if (record != NULL)
    return mismatch(s, record, NULL, error);
  /* The word is the core's: even only where the claim meets the tolerance and nothing was moved since. */
  const condition *idle = &s->job.conditions[0];
  bool even = idle->claims && idle->claim <= s->job.tolerance;
  eb_text summary;
  eb_text_init(&summary, s->host);
  add_claim(s, even, &summary);
  add_cold_claims(s, &summary);
  session_add_left_open(s, &summary);
  const char *more = eb_json_get_string(request, "summary", "");
  if (more[0] != '\0' && strlen(more) <= PROMPT_MAX)
    eb_text_printf(&summary, " %s", more);
  eb_status status = summary.failed ? out_of_memory(error)
                                    : session_end(s, even ? "even" : "claimed", eb_text_string(&summary), NULL, error);
  eb_text_clear(&summary);
  return status;
}

/* What the core works out is no work of the script's, so that its budget does not see it. */
static bool is_worked_out(const char *op)
{
  static const char *const ops[] = {"plan", "verdict", "findings", "snap_bores", "compare", "explain"};
  for (size_t i = 0; i < sizeof ops / sizeof ops[0]; i++)
    if (strcmp(op, ops[i]) == 0)
      return true;
  return false;
}

static eb_status count_effort(eb_session *s, const char *op, const eb_json *request, eb_error *error)
{
  s->job.effort += is_worked_out(op) ? 20 : 1;
  if (s->job.effort <= EFFORT_MAX)
    return EB_OK;
  return eb_fail(error, EB_BUDGET, eb_json_get_string(request, "at", ""),
                 "the procedure wants more and more of the core and asks nobody anything: a loop without end?");
}

/* What earlier jobs taught is never dropped in silence: it is told once, before what is decided without it. */
static eb_status tell_set_aside(eb_session *s, const eb_json *request, eb_error *error)
{
  eb_json *tell = NULL;
  eb_status status = known_set_aside(s, &tell, error);
  if (status != EB_OK || tell == NULL)
    return status;
  bool made = eb_json_set_string(tell, "at", eb_json_get_string(request, "at", ""));
  status = made ? handle_tell(s, tell, false, error) : out_of_memory(error);
  eb_json_destroy(tell);
  return status;
}

static eb_status handle_other(eb_session *s, const char *op, const eb_json *request, eb_error *error)
{
  eb_status status = count_effort(s, op, request, error);
  if (status == EB_OK && strcmp(op, "verdict") == 0)
    status = tell_set_aside(s, request, error);
  if (status != EB_OK)
    return status;
  eb_json *reply = NULL;
  status = request_answer(s, op, request, &reply, error);
  return status == EB_OK ? set_reply(s, reply, error) : refuse(s, error);
}

static eb_status handle_declare(eb_session *s, const char *op, const eb_json *request, eb_error *error)
{
  if (strcmp(op, "declare") != 0)
    return eb_fail(error, EB_SCRIPT, "", "the procedure sends \"%.40s\" before it has declared itself", op);
  eb_status status = request_declare(s, request, error);
  if (status == EB_OK)
    status = session_declared(s, request, error);
  return status == EB_OK ? set_reply(s, eb_json_object(), error) : status;
}

static eb_status handle(eb_session *s, eb_json *request, bool *waits, eb_error *error)
{
  const char *op = eb_json_get_string(request, "op", "");
  if (!s->job.declared)
    return handle_declare(s, op, request, error);
  if (strcmp(op, "ask") == 0)
    return handle_ask(s, request, waits, error);
  if (strcmp(op, "tell") == 0)
    return handle_tell(s, request, false, error);
  if (strcmp(op, "layout") == 0)
    return handle_layout(s, request, error);
  if (strcmp(op, "end") != 0)
    return handle_other(s, op, request, error);
  *waits = true;
  return handle_end(s, request, error);
}

/* From request to request until a person is to answer, or the procedure ends. */
static eb_status exchange_until_ask(eb_session *s, eb_error *error)
{
  bool waits = false;
  eb_status status = EB_OK;
  while (status == EB_OK && !waits) {
    eb_json *request = NULL;
    status = s->procedure.exchange(s->procedure.self, s->reply, &request, error);
    if (status == EB_OK)
      status = handle(s, request, &waits, error);
    eb_json_destroy(request);
  }
  return status;
}

eb_status session_run(eb_session *s, eb_error *error)
{
  if (s->runs)
    s->procedure.destroy(s->procedure.self);
  s->runs = false;
  eb_json_destroy(s->reply);
  s->reply = NULL;
  s->at = 0;
  s->n = 1;
  s->resume_step = 0;
  eb_status status = job_init(s, error);
  if (status == EB_OK)
    status = session_start_procedure(s, error);
  return status == EB_OK ? exchange_until_ask(s, error) : status;
}

eb_status session_go_on(eb_session *s, const eb_json *ask, asked_by by, const eb_json *value, eb_error *error)
{
  s->at = s->effective.count;
  s->n++;
  if (by != BY_PROCEDURE) {
    eb_status status = job_apply(s, ask, value, error);
    return status == EB_OK ? present(s, error) : status;
  }
  eb_json *again = NULL;
  eb_status status = settle(s, ask, value, &again, error);
  if (status != EB_OK)
    return status;
  if (again == NULL)
    return exchange_until_ask(s, error);
  eb_json_destroy(s->script_ask);
  s->script_ask = again;
  return present(s, error);
}
