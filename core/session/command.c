/* What the front hands over: answers, and the commands that are possible at any ask. */
#include "private.h"

#include "evenbore/text.h"

#include <stdio.h>
#include <string.h>

static eb_status queue_refused(eb_session *s, const char *why, const char *wanted, eb_error *error)
{
  eb_json *message = eb_json_object();
  if (eb_json_set_string(message, "type", "refused") && eb_json_set_number(message, "n", s->wire_n) &&
      eb_json_set_string(message, "why", why) && eb_json_set_string(message, "wanted", wanted))
    return session_queue(s, message, error);
  eb_json_destroy(message);
  return out_of_memory(error);
}

static eb_status refuse_answer(eb_session *s, const eb_error *met, eb_error *error)
{
  char wanted[200];
  return queue_refused(s, met->message, answer_wanted(s->ask, wanted, sizeof wanted), error);
}

static eb_status not_saved(eb_session *s, const eb_error *met, eb_error *error)
{
  char why[800];
  snprintf(why, sizeof why, "not saved: %s", met->message);
  return queue_refused(s, why, "give it once more when that is mended, or pause; all answers before it are safe",
                       error);
}

/* Takes over typed, value and given, which may be NULL. */
static bool complete_answer(eb_session *s, eb_json *typed, eb_json *value, eb_json *given)
{
  char time[EB_TIME_TEXT_SIZE];
  eb_time_text(s->host->now(s->host->context), time);
  const char *unit = answer_unit(s->ask);
  bool has_given = given != NULL;
  bool made = eb_json_put(s->answer, "typed", typed);
  made = eb_json_put(s->answer, "value", value) && made && eb_json_set_string(s->answer, "time", time) &&
         (unit == NULL || eb_json_put_string(s->answer, "unit", unit));
  made = (!has_given || eb_json_put(s->answer, "given", given)) && made;
  return made && (s->by != BY_RESUME || eb_json_put_bool(s->answer, "resume", true));
}

/* The ask is as open as before. */
static void take_out_answer(eb_session *s)
{
  static const char *const keys[] = {"typed", "value", "unit", "given", "resume"};
  for (size_t i = 0; i < sizeof keys / sizeof keys[0]; i++)
    eb_json_remove(s->answer, keys[i]);
}

/* The answer is in the journal: it counts, whatever comes now. */
static eb_status go_on(eb_session *s, eb_error *error)
{
  const eb_json *record = s->answer;
  s->answer = NULL;
  s->ask = NULL;
  eb_error met = {.status = EB_OK};
  eb_status status = records_add(s, &s->effective, eb_journal_count(s->journal) - 1, &met);
  if (status == EB_OK)
    status = session_go_on(s, eb_json_get(record, "ask"), s->by, eb_json_get(record, "value"), &met);
  status = session_fail(s, status, &met);
  return status == EB_OK ? EB_OK : eb_fail(error, status, met.place, "%s", met.message);
}

/* `raw` is the protocol's value, `typed` what is kept as typed, which is taken over; both may be the same. */
static eb_status take_value(eb_session *s, const eb_json *raw, eb_json *typed, eb_error *error)
{
  eb_error met = {.status = EB_OK};
  eb_json *value = NULL;
  eb_json *given = NULL;
  eb_status status = answer_check(s->ask, raw, &value, &given, &met);
  if (status != EB_OK) {
    eb_json_destroy(typed);
    return status == EB_OUT_OF_MEMORY ? out_of_memory(error) : refuse_answer(s, &met, error);
  }
  bool made = complete_answer(s, typed, value, given);
  status = made ? session_save(s, s->answer, true, &met) : out_of_memory(&met);
  if (status == EB_OK)
    return go_on(s, error);
  take_out_answer(s);
  return status == EB_OUT_OF_MEMORY ? out_of_memory(error) : not_saved(s, &met, error);
}

static eb_status must_ask(const eb_session *s, eb_error *error)
{
  return s->state == EB_SESSION_ASKS ? EB_OK : eb_fail(error, EB_ENDED, "", "no prompt is open in this session");
}

eb_status eb_session_type(eb_session *s, const char *typed, size_t size, eb_error *error)
{
  eb_status status = must_ask(s, error);
  if (status != EB_OK)
    return status;
  eb_error met = {.status = EB_OK};
  eb_json *raw = NULL;
  status = answer_typed(s->ask, typed, size, &raw, &met);
  if (status != EB_OK)
    return status == EB_OUT_OF_MEMORY ? out_of_memory(error) : refuse_answer(s, &met, error);
  eb_text text;
  eb_text_init(&text, s->host);
  eb_text_add_bytes(&text, typed, size);
  eb_json *kept = text.failed ? NULL : eb_json_from_string(eb_text_string(&text));
  status = kept == NULL ? out_of_memory(error) : take_value(s, raw, kept, error);
  eb_text_clear(&text);
  eb_json_destroy(raw);
  return status;
}

/* What taking an answer back does not undo: the metal stays as it was left. */
static void undo_words(const eb_session *s, const eb_json *record, char *words, size_t size)
{
  const eb_json *ask = eb_json_get(record, "ask");
  const eb_json *value = eb_json_get(record, "value");
  const char *kind = eb_json_get_string(ask, "kind", "");
  const char *part = eb_json_as_string(eb_json_at(eb_json_get(ask, "takes_off"), 0), NULL);
  const char *refitted = eb_json_as_string(eb_json_at(eb_json_get(ask, "refits"), 0), NULL);
  words[0] = '\0';
  if (strcmp(kind, "engine") == 0)
    snprintf(words, size, "The engine was %s at that step. It is still so: the next prompt asks for it.",
             strcmp(eb_json_get_string(ask, "state", ""), "running") == 0 ? "started" : "stopped");
  else if (strcmp(kind, "adjust") == 0 && eb_json_get_bool(value, "done", false)) {
    int found = eb_layout_adjuster(&s->job.layout, eb_json_get_string(ask, "adjuster", ""));
    snprintf(words, size, "The move on the %s was made. Undo it by the same amount, or answer it as done again.",
             found < 0 ? "adjuster" : s->job.layout.adjuster[found].title);
  } else if (strcmp(kind, "confirm") == 0 && eb_json_as_bool(value, false) && part != NULL)
    snprintf(words, size, "\"%.100s\" was taken off at that step. Put it back, or answer that it is off again.", part);
  else if (strcmp(kind, "confirm") == 0 && eb_json_as_bool(value, false) && refitted != NULL)
    snprintf(words, size, "\"%.100s\" was refitted at that step. It counts as off again until you say that it is on.",
             refitted);
}

static bool moves_metal(const eb_json *record)
{
  const eb_json *ask = eb_json_get(record, "ask");
  return strcmp(eb_json_get_string(ask, "kind", ""), "engine") == 0 || eb_json_get(ask, "takes_off") != NULL ||
         eb_json_get(ask, "refits") != NULL;
}

static bool resume_answers_behind(const eb_session *s, int n)
{
  for (size_t i = s->effective.count; i > 0; i--) {
    const eb_json *record = eb_journal_record(s->journal, s->effective.index[i - 1]);
    if (record_is(record, "answer") && eb_json_get_int(record, "n", 0) <= n)
      return false;
    if (eb_json_get_bool(record, "resume", false))
      return true;
  }
  return false;
}

static eb_json *withdraw_record(eb_session *s, int to, const char *undo)
{
  eb_json *record = record_new(s, "withdraw");
  bool made = eb_json_set_number(record, "to", to);
  if (made && undo[0] != '\0')
    made = eb_json_set_string(record, "undo", undo);
  if (made)
    return record;
  eb_json_destroy(record);
  return NULL;
}

/* The answer is taken back in the journal: whatever fails now, the ask that was open is not. */
static eb_status run_again(eb_session *s, const char *undo, eb_error *error)
{
  eb_error met = {.status = EB_OK};
  eb_status status = undo[0] == '\0' || session_tell_note(s, undo) ? EB_OK : out_of_memory(&met);
  if (status == EB_OK)
    status = records_collect(s, &met);
  if (status == EB_OK)
    status = session_run(s, &met);
  status = session_fail(s, status, &met);
  return status == EB_OK ? EB_OK : eb_fail(error, status, met.place, "%s", met.message);
}

eb_status eb_session_back(eb_session *s, eb_error *error)
{
  eb_status status = must_ask(s, error);
  if (status != EB_OK)
    return status;
  const eb_json *last = records_last_answer(s);
  if (last == NULL)
    return queue_refused(s, "there is no answer to take back yet", "the answer to this prompt is wanted", error);
  char undo[300];
  undo_words(s, last, undo, sizeof undo);
  int to = eb_json_get_int(last, "n", 0);
  /* Time went by, or metal moved, that a replay knows nothing of: ask how the engine stands now. */
  bool asks = moves_metal(last) || resume_answers_behind(s, to);
  eb_error met = {.status = EB_OK};
  status = session_append(s, withdraw_record(s, to, undo), true, &met);
  if (status != EB_OK)
    return status == EB_OUT_OF_MEMORY ? out_of_memory(error) : not_saved(s, &met, error);
  s->resume_asks = s->resume_asks || asks;
  return run_again(s, undo, error);
}

static bool plain_text(const char *text, size_t limit)
{
  size_t size = strlen(text);
  size_t count = 0;
  for (size_t at = 0; at < size; count++) {
    uint32_t c = 0;
    size_t length = eb_utf8_decode(text + at, size - at, &c);
    if (length == 0 || eb_char_unprintable(c))
      return false;
    at += length;
  }
  return count > 0 && count <= limit;
}

eb_status eb_session_note(eb_session *s, const char *text, eb_error *error)
{
  eb_status status = must_ask(s, error);
  if (status != EB_OK)
    return status;
  if (!plain_text(text, PROMPT_MAX))
    return queue_refused(s, "a note is a line of plain text, not empty and at most 2000 characters",
                         "the note again, or the answer to this prompt", error);
  eb_json *record = record_new(s, "note");
  if (!eb_json_set_number(record, "n", s->n) || !eb_json_set_string(record, "text", text)) {
    eb_json_destroy(record);
    return out_of_memory(error);
  }
  eb_error met = {.status = EB_OK};
  status = session_append(s, record, true, &met);
  if (status != EB_OK)
    return status == EB_OUT_OF_MEMORY ? out_of_memory(error) : not_saved(s, &met, error);
  return session_tell_note(s, "Noted.") ? EB_OK : out_of_memory(error);
}

eb_status eb_session_why(eb_session *s, eb_error *error)
{
  eb_status status = must_ask(s, error);
  if (status != EB_OK)
    return status;
  const char *why = eb_json_get_string(s->ask, "why", "");
  return session_tell_note(s, why[0] == '\0' ? "The procedure says no more about this prompt." : why)
             ? EB_OK
             : out_of_memory(error);
}

eb_status eb_session_pause(eb_session *s, eb_error *error)
{
  eb_status status = must_ask(s, error);
  if (status == EB_OK)
    session_pause(s);
  return status;
}

eb_status eb_session_stop(eb_session *s, const char *why, eb_error *error)
{
  eb_status status = must_ask(s, error);
  if (status != EB_OK)
    return status;
  if (why[0] != '\0' && !plain_text(why, PROMPT_MAX))
    return queue_refused(s, "the reason is a line of plain text, at most 2000 characters",
                         "the reason again, or the answer to this prompt", error);
  eb_text summary;
  eb_text_init(&summary, s->host);
  size_t size = strlen(why);
  eb_text_printf(&summary, "Stopped by the tuner%s%s%s", size == 0 ? "" : ": ", why,
                 size > 0 && why[size - 1] == '.' ? "" : ".");
  session_add_left_open(s, &summary);
  eb_error met = {.status = EB_OK};
  status = summary.failed ? EB_OUT_OF_MEMORY : session_end(s, "stopped", eb_text_string(&summary), why, &met);
  eb_text_clear(&summary);
  if (status == EB_OK)
    return EB_OK;
  return status == EB_OUT_OF_MEMORY ? out_of_memory(error) : not_saved(s, &met, error);
}

static eb_status take_command(eb_session *s, const char *command, const eb_json *line, eb_error *error)
{
  static const char *const commands[] = {"back", "note", "why", "pause", "stop"};
  if (strcmp(command, "back") == 0)
    return eb_session_back(s, error);
  if (strcmp(command, "note") == 0)
    return eb_session_note(s, eb_json_get_string(line, "text", ""), error);
  if (strcmp(command, "why") == 0)
    return eb_session_why(s, error);
  if (strcmp(command, "pause") == 0)
    return eb_session_pause(s, error);
  if (strcmp(command, "stop") == 0)
    return eb_session_stop(s, eb_json_get_string(line, "why", ""), error);
  const char *near = eb_nearest(command, commands, sizeof commands / sizeof commands[0]);
  char why[120];
  snprintf(why, sizeof why, "there is no \"do\" of that name%s%s", near == NULL ? "" : "; the nearest is ",
           near == NULL ? "" : near);
  return queue_refused(s, why, "\"do\" is one of back, note, why, pause, stop", error);
}

static eb_status take_object(eb_session *s, eb_json *line, eb_error *error)
{
  const eb_json *command = eb_json_get(line, "do");
  if (command != NULL)
    return take_command(s, eb_json_as_string(command, ""), line, error);
  const eb_json *n = eb_json_get(line, "n");
  const eb_json *value = eb_json_get(line, "value");
  char why[120];
  if (!eb_json_is_number(n) || value == NULL)
    return queue_refused(s, "the line has neither \"n\" with \"value\" nor \"do\"",
                         "{\"n\":number of the ask,\"value\":...} or {\"do\":...}", error);
  if (eb_json_as_int(n, -1) != s->wire_n) {
    snprintf(why, sizeof why, "the line answers ask %.0f, and ask %d is open", eb_json_as_number(n, -1), s->wire_n);
    return queue_refused(s, why, "an answer to the open ask is wanted", error);
  }
  return take_value(s, value, eb_json_take(line, "value"), error);
}

eb_status eb_session_take(eb_session *s, const char *line, size_t size, eb_error *error)
{
  eb_status status = must_ask(s, error);
  if (status != EB_OK)
    return status;
  if (size > EB_SESSION_LINE_MAX)
    return queue_refused(s, "the line is longer than 64 KiB", "one JSON object a line", error);
  eb_json *object = NULL;
  eb_error met = {.status = EB_OK};
  status = eb_json_parse(line, size, &object, &met);
  if (status != EB_OK)
    return queue_refused(s, met.message, "one JSON object a line", error);
  if (eb_json_is_object(object))
    status = take_object(s, object, error);
  else
    status = queue_refused(s, "the line is no JSON object", "one JSON object a line", error);
  eb_json_destroy(object);
  return status;
}
