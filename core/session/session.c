/* The room session: leads one job from its first ask to its end.
 *
 * A procedure asks, the front answers, the journal keeps; what is true of the
 * engine follows from the answers and is made anew by every replay.  The
 * fronts use it, and whatever else talks to a person at an engine. */
#include "private.h"

#include <stdio.h>
#include <string.h>

eb_status out_of_memory(eb_error *error)
{
  return eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
}

static char *copy_string(const eb_host *host, const char *text)
{
  size_t size = strlen(text) + 1;
  char *copy = host->allocate(host->context, NULL, size);
  if (copy != NULL)
    memcpy(copy, text, size);
  return copy;
}

/* NULL when memory runs out. */
static eb_session *session_new(const eb_host *host, const char *program, const eb_runner *runner)
{
  eb_session *s = host->allocate(host->context, NULL, sizeof *s);
  if (s == NULL)
    return NULL;
  *s = (eb_session){.host = host, .runner = *runner, .n = 1, .prompts_max = EB_PROMPTS_MAX};
  s->program = s->program_copy = copy_string(host, program);
  s->queue = eb_json_array();
  s->unsaved = eb_json_array();
  if (s->program != NULL && s->queue != NULL && s->unsaved != NULL)
    return s;
  eb_session_destroy(s);
  return NULL;
}

static void close_ask(eb_session *s, eb_session_state state)
{
  eb_json_destroy(s->answer);
  if (s->passed)
    eb_json_destroy(s->shown);
  s->answer = s->shown = NULL;
  s->ask = NULL;
  s->passed = false;
  s->state = state;
}

void eb_session_destroy(eb_session *s)
{
  if (s == NULL)
    return;
  const eb_host *host = s->host;
  if (s->runs)
    s->procedure.destroy(s->procedure.self);
  job_clear(&s->job);
  eb_json_destroy(s->reply);
  eb_json_destroy(s->script_ask);
  close_ask(s, EB_SESSION_PAUSED);
  eb_json_destroy(s->queue);
  eb_json_destroy(s->current);
  eb_json_destroy(s->unsaved);
  host->allocate(host->context, s->effective.index, 0);
  host->allocate(host->context, s->hidden.index, 0);
  host->allocate(host->context, s->program_copy, 0);
  eb_journal_close(s->journal);
  host->allocate(host->context, s, 0);
}

eb_status eb_session_start(const eb_host *host, const eb_session_options *options, eb_session **session,
                           eb_error *error)
{
  eb_session *s = session_new(host, options->program, options->runner);
  if (s == NULL)
    return out_of_memory(error);
  s->options = *options;
  if (options->prompts_max > 0)
    s->prompts_max = options->prompts_max;
  eb_error met = {.status = EB_OK};
  eb_status status = session_run(s, &met);
  if (status != EB_OK && s->journal == NULL) {
    eb_session_destroy(s);
    return eb_fail(error, status, met.place, "%s", met.message);
  }
  /* What fails once the journal is there is told to the front, and can be resumed. */
  session_fail(s, status, &met);
  *session = s;
  return EB_OK;
}

const char *session_way_on(const eb_session *s, char *text, size_t size)
{
  const char *by = eb_json_get_string(eb_journal_record(s->journal, 0), "program", "another program");
  if (strcmp(by, s->program) == 0)
    snprintf(text, size, "nothing is lost: show and report read it as before; begin a new session to go on");
  else
    snprintf(
        text, size,
        "it was made by %.40s and this is %.40s: go on with that one, or begin a new session; nothing is lost, show "
        "and report read it as before",
        by, s->program);
  return text;
}

static eb_status over_already(eb_session *s, const char *path, eb_error *error)
{
  size_t count = eb_journal_count(s->journal);
  const eb_json *last = eb_journal_record(s->journal, count - 1);
  if (strcmp(eb_json_get_string(last, "kind", ""), "end") != 0)
    return EB_OK;
  return eb_fail(error, EB_ENDED, path, "this session is over (%s); start a new one, or look at this one with show",
                 eb_json_get_string(last, "outcome", "ended"));
}

eb_status eb_session_resume(const eb_host *host, const char *path, const char *program, const eb_runner *runner,
                            eb_session **session, eb_recovery *recovery, eb_error *error)
{
  eb_session *s = session_new(host, program, runner);
  if (s == NULL)
    return out_of_memory(error);
  eb_status status = eb_journal_open(host, path, &s->journal, recovery, error);
  if (status == EB_OK)
    status = over_already(s, path, error);
  if (status == EB_OK) {
    const eb_json *open = eb_journal_record(s->journal, 0);
    s->prompts_max = eb_json_get_int(eb_json_get(open, "limits"), "prompts", EB_PROMPTS_MAX);
    s->resumed = s->away = s->resume_asks = true;
    status = records_collect(s, error);
  }
  if (status == EB_OK)
    status = session_run(s, error);
  if (status != EB_OK) {
    eb_session_destroy(s);
    return status;
  }
  *session = s;
  return EB_OK;
}

eb_json *record_new(eb_session *s, const char *kind)
{
  char time[EB_TIME_TEXT_SIZE];
  eb_time_text(s->host->now(s->host->context), time);
  eb_json *record = eb_json_object();
  if (eb_json_put_string(record, "kind", kind) && eb_json_put_string(record, "time", time))
    return record;
  eb_json_destroy(record);
  return NULL;
}

static eb_status save_told(eb_session *s, eb_error *error)
{
  eb_json *first = eb_json_element(s->unsaved, 0);
  while (first != NULL) {
    eb_status status = eb_journal_append(s->journal, first, false, error);
    if (status != EB_OK)
      return status;
    eb_json_take_first(s->unsaved);
    status = records_add(s, &s->effective, eb_journal_count(s->journal) - 1, error);
    if (status != EB_OK)
      return status;
    first = eb_json_element(s->unsaved, 0);
  }
  return EB_OK;
}

eb_status session_save(eb_session *s, eb_json *record, bool sync, eb_error *error)
{
  eb_status status = save_told(s, error);
  return status == EB_OK ? eb_journal_append(s->journal, record, sync, error) : status;
}

eb_status session_append(eb_session *s, eb_json *record, bool sync, eb_error *error)
{
  eb_status status = record == NULL ? out_of_memory(error) : session_save(s, record, sync, error);
  if (status != EB_OK)
    eb_json_destroy(record);
  return status;
}

eb_status session_record_told(eb_session *s, eb_json *record, eb_error *error)
{
  if (record == NULL || !eb_json_add(s->unsaved, record))
    return out_of_memory(error);
  /* A full disk does not end the job here: the next answer will not be taken until this is saved. */
  eb_error met;
  return save_told(s, &met) == EB_OUT_OF_MEMORY ? out_of_memory(error) : EB_OK;
}

eb_status session_queue(eb_session *s, eb_json *message, eb_error *error)
{
  if (message == NULL || !eb_json_add(s->queue, message))
    return out_of_memory(error);
  return EB_OK;
}

eb_status session_queue_told(eb_session *s, const eb_json *message, eb_error *error)
{
  return eb_json_add_shared(s->queue, message) ? EB_OK : out_of_memory(error);
}

bool session_tell_note(eb_session *s, const char *text)
{
  eb_json *message = eb_json_object();
  if (eb_json_set_string(message, "type", "tell") && eb_json_set_string(message, "kind", "note") &&
      eb_json_set_string(message, "text", text))
    return eb_json_add(s->queue, message);
  eb_json_destroy(message);
  return false;
}

eb_status session_queue_hello(eb_session *s, eb_error *error)
{
  const eb_json *open = eb_journal_record(s->journal, 0);
  eb_json *hello = eb_json_object();
  bool made = eb_json_set_string(hello, "type", "hello") && eb_json_set_number(hello, "protocol", EB_PROTOCOL) &&
              eb_json_set_string(hello, "engine", s->program) &&
              eb_json_set_string(hello, "session", eb_json_get_string(open, "session", "")) &&
              eb_json_set_string(hello, "file", eb_journal_path(s->journal)) &&
              eb_json_set_bool(hello, "resumed", s->resumed) &&
              eb_json_set(hello, "procedure", eb_json_copy(eb_json_get(eb_json_get(open, "declare"), "procedure"))) &&
              eb_json_set(hello, "layout", s->job.has_layout ? eb_layout_json(&s->job.layout) : eb_json_null()) &&
              eb_json_set(hello, "gauge", eb_gauge_json(&s->job.gauge)) &&
              eb_json_set_number(hello, "tolerance", s->job.tolerance) &&
              eb_json_set_number(hello, "risk", s->job.risk);
  if (!made) {
    eb_json_destroy(hello);
    return out_of_memory(error);
  }
  return session_queue(s, hello, error);
}

bool session_complete_hello(eb_session *s)
{
  eb_json *first = eb_json_element(s->queue, 0);
  return strcmp(eb_json_get_string(first, "type", ""), "hello") == 0 &&
         eb_json_set(first, "layout", eb_layout_json(&s->job.layout));
}

/* Whether all of `ask` stands in `other` too; that a reading is asked again makes no difference. */
static bool stands_in(const eb_json *ask, const eb_json *other)
{
  for (const eb_json *member = eb_json_first(ask); member != NULL; member = eb_json_next(member))
    if (strcmp(eb_json_key(member), "again") != 0 && !eb_json_equal(member, eb_json_get(other, eb_json_key(member))))
      return false;
  return true;
}

/* An answer to the same ask that was taken back, the latest one. What was seen to is to be seen to again. */
static const eb_json *taken_back(const eb_session *s, const eb_json *ask)
{
  if (strcmp(eb_json_get_string(ask, "kind", ""), "caution") == 0)
    return NULL;
  for (size_t i = s->hidden.count; i > 0; i--) {
    const eb_json *record = eb_journal_record(s->journal, s->hidden.index[i - 1]);
    const eb_json *other = eb_json_get(record, "ask");
    if (stands_in(ask, other) && stands_in(other, ask))
      return record;
  }
  return NULL;
}

/* A value of the record in the unit of the ask as it is shown. Owned by the caller; NULL: out of memory. */
static eb_json *in_shown_unit(const eb_json *shown, const eb_json *record)
{
  eb_quantity quantity;
  const eb_json *value = eb_json_get(record, "value");
  double number = eb_json_as_number(value, 0);
  if (eb_json_get(shown, "asked") == NULL ||
      eb_quantity_read(eb_json_get_string(shown, "quantity", ""), &quantity, NULL) != EB_OK ||
      eb_unit_convert(quantity, number, answer_unit(shown), eb_json_get_string(shown, "unit", ""), &number, NULL) !=
          EB_OK)
    return eb_json_copy(value);
  return eb_json_from_number(number);
}

static bool add_before(eb_json *shown, const eb_json *record)
{
  eb_json *before = eb_json_object();
  bool made = eb_json_set(before, "typed", eb_json_copy(eb_json_get(record, "typed"))) &&
              eb_json_set(before, "value", in_shown_unit(shown, record));
  if (!made) {
    eb_json_destroy(before);
    return false;
  }
  return eb_json_set(shown, "before", before);
}

static bool add_code(const eb_session *s, eb_json *ask)
{
  if (strcmp(eb_json_get_string(ask, "kind", ""), "caution") != 0)
    return true;
  char code[3];
  safety_code(s, ask, code);
  return eb_json_set_string(ask, "code", code);
}

/* As the front gets it. Owned by the caller; NULL: out of memory. */
static eb_json *shown_ask(const eb_session *s, const eb_json *ask)
{
  eb_json *shown = eb_json_object();
  const eb_json *before = taken_back(s, ask);
  if (eb_json_put_string(shown, "type", "ask") && eb_json_put_number(shown, "n", s->wire_n) &&
      eb_json_join(shown, eb_json_copy(ask)) && (before == NULL || add_before(shown, before)))
    return shown;
  eb_json_destroy(shown);
  return NULL;
}

/* What the record of an answer begins with; the time is that of the answer. Takes over ask; NULL: out of memory. */
static eb_json *begin_answer(const eb_session *s, eb_json *ask)
{
  eb_json *record = eb_json_object();
  bool made = add_code(s, ask) && eb_json_put_string(record, "kind", "answer") &&
              eb_json_put_string(record, "time", "") && eb_json_put_number(record, "n", s->n);
  if (eb_json_put(record, "ask", ask) && made)
    return record;
  eb_json_destroy(record);
  return NULL;
}

eb_status session_open_ask(eb_session *s, eb_json *ask, asked_by by, eb_error *error)
{
  close_ask(s, EB_SESSION_ASKS);
  s->by = by;
  s->wire_n++;
  s->answer = begin_answer(s, ask);
  s->ask = eb_json_get(s->answer, "ask");
  eb_json *shown = s->ask == NULL ? NULL : shown_ask(s, s->ask);
  eb_status status = session_queue(s, shown, error);
  if (status == EB_OK)
    s->shown = shown;
  return status;
}

static eb_json *end_message(const eb_session *s, const char *outcome, const char *summary)
{
  eb_json *end = eb_json_object();
  bool made = eb_json_set_string(end, "type", "end") && eb_json_set_string(end, "outcome", outcome) &&
              eb_json_set(end, "claim", claim_json(s)) && condition_add_claims(s, end) &&
              eb_json_set_string(end, "summary", summary);
  if (made)
    return end;
  eb_json_destroy(end);
  return NULL;
}

void session_add_left_open(const eb_session *s, eb_text *summary)
{
  if (s->job.engine == ENGINE_RUNNING)
    eb_text_add(summary, " The engine was left running: stop it.");
  eb_json *off = parts_off(s);
  summary->failed = summary->failed || off == NULL;
  const eb_json *part = eb_json_first(off);
  if (part != NULL)
    eb_text_add(summary, " Still off, to be refitted before any start:");
  for (; part != NULL; part = eb_json_next(part))
    eb_text_printf(summary, " %s%s", eb_json_as_string(part, ""), eb_json_next(part) == NULL ? "." : ",");
  eb_json_destroy(off);
}

eb_status session_fail(eb_session *s, eb_status status, eb_error *error)
{
  if (status == EB_OK)
    return EB_OK;
  char summary[1024];
  snprintf(summary, sizeof summary, "%s%s%s" EB_SESSION_SAFE, error->place, error->place[0] == '\0' ? "" : ": ",
           error->message);
  close_ask(s, EB_SESSION_FAILED);
  if (session_queue(s, end_message(s, "failed", summary), NULL) != EB_OK)
    return out_of_memory(error);
  return status;
}

eb_status session_end(eb_session *s, const char *outcome, const char *summary, const char *why, eb_error *error)
{
  eb_json *record = record_new(s, "end");
  bool made = eb_json_set_string(record, "outcome", outcome) && eb_json_set(record, "claim", claim_json(s)) &&
              condition_add_claims(s, record) && known_add_answers(s, record) &&
              eb_json_set_string(record, "summary", summary);
  if (made && why != NULL)
    made = eb_json_set_string(record, "why", why);
  if (!made) {
    eb_json_destroy(record);
    return out_of_memory(error);
  }
  eb_status status = session_append(s, record, true, error);
  if (status != EB_OK)
    return status;
  close_ask(s, EB_SESSION_ENDED);
  return session_queue(s, end_message(s, outcome, summary), error);
}

void session_pause(eb_session *s)
{
  close_ask(s, EB_SESSION_PAUSED);
}

const eb_json *eb_session_next(eb_session *s)
{
  if (s->current != NULL && s->current == s->shown)
    s->passed = true;
  else
    eb_json_destroy(s->current);
  s->current = eb_json_take_first(s->queue);
  return s->current;
}

eb_session_state eb_session_where(const eb_session *s)
{
  return s->state;
}

const eb_json *eb_session_ask(const eb_session *s)
{
  return s->state == EB_SESSION_ASKS ? s->shown : NULL;
}

const eb_json *eb_session_opening(const eb_session *s)
{
  return eb_journal_record(s->journal, 0);
}

const eb_gauge *eb_session_gauge(const eb_session *s)
{
  return &s->job.gauge;
}

eb_spread eb_session_repeats(const eb_session *s)
{
  eb_spread parts[CONDITIONS_MAX];
  size_t count = 0;
  for (int i = 0; i < s->job.condition_count; i++)
    if (!s->job.conditions[i].cold) /* a feeler set's repeats are not the gauge's */
      parts[count++] = eb_evidence_repeats(s->job.conditions[i].evidence);
  return eb_spread_pool(parts, count);
}

const eb_json *eb_session_verdict(const eb_session *s)
{
  return s->job.verdict.value;
}
