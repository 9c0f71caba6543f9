/* The report as JSON, as include/evenbore/report.schema.json has it. */
#include "forms.h"

#include "evenbore/format.h"

#include <math.h>
#include <string.h>

static const char *state_word(const story *s)
{
  static const char *const words[] = {"open", "ended", "stopped", "failed", "damaged"};
  return words[s->state];
}

static bool set_copy(eb_json *object, const char *key, const eb_json *value)
{
  return eb_json_set(object, key, value == NULL ? eb_json_null() : eb_json_copy(value));
}

/* Where `made` does not hold, memory ran out: *json is then gone, and NULL is what a setter takes for that. */
static eb_json *whole(eb_json *json, bool made)
{
  if (made)
    return json;
  eb_json_destroy(json);
  return NULL;
}

static bool set_count(eb_json *object, const char *key, size_t number)
{
  return eb_json_set_number(object, key, (double)number);
}

static eb_json *session_json(const story *s)
{
  eb_json *json = eb_json_object();
  const eb_recovery *recovery = &s->account->recovery;
  bool made =
      eb_json_set_string(json, "name", eb_json_get_string(s->open, "session", "")) &&
      set_copy(json, "begun", eb_json_get(s->open, "time")) && set_copy(json, "ended", eb_json_get(s->end, "time")) &&
      eb_json_set_string(json, "state", state_word(s)) && set_copy(json, "program", eb_json_get(s->open, "program")) &&
      eb_json_set_string(json, "digest", eb_journal_digest(s->account->journal)) &&
      set_count(json, "records", s->account->count) && set_count(json, "damaged_record", recovery->damaged_record) &&
      set_count(json, "torn_bytes", recovery->torn_bytes);
  return whole(json, made);
}

static eb_json *procedure_json(const story *s)
{
  static const char *const keys[] = {"id", "version", "title", "digest"};
  eb_json *json = eb_json_object();
  const eb_json *origin = eb_json_get(eb_json_get(s->open, "inputs"), "origin");
  bool made = eb_json_set_string(json, "maker", eb_json_get_string(origin, "maker", "")) &&
              eb_json_set_string(json, "fingerprint", eb_json_get_string(origin, "fingerprint", "")) &&
              eb_json_set_string(json, "standing", eb_json_get_string(origin, "standing", ""));
  for (size_t i = 0; made && i < sizeof keys / sizeof keys[0]; i++)
    made = set_copy(json, keys[i], eb_json_get(eb_json_get(s->open, "procedure"), keys[i]));
  return whole(json, made);
}

static eb_json *gauge_json(const story *s)
{
  static const char *const keys[] = {"low", "high", "step", "best", "unit", "vent"};
  const eb_json *gauge = eb_json_get(s->open, "gauge");
  eb_json *json = eb_json_object();
  bool made = set_copy(json, "repeatability_share", eb_json_get(gauge, "repeatability"));
  for (size_t i = 0; made && i < sizeof keys / sizeof keys[0]; i++)
    made = set_copy(json, keys[i], eb_json_get(gauge, keys[i]));
  return whole(json, made);
}

static eb_json *claim_json(const story *s)
{
  double tolerance, risk;
  if (!story_claim(s, &tolerance, &risk))
    return eb_json_null();
  eb_json *json = eb_json_object();
  return whole(json, eb_json_set_number(json, "tolerance_share", tolerance) &&
                         eb_json_set_number(json, "risk_share", risk) && set_count(json, "record", s->account->count));
}

static eb_json *bores_json(const eb_json *verdict)
{
  eb_json *json = eb_json_object();
  bool made = json != NULL;
  const eb_json *bore = eb_json_first(eb_json_get(verdict, "bores"));
  for (; made && bore != NULL; bore = eb_json_next(bore)) {
    eb_json *one = eb_json_object();
    made = set_copy(one, "value", eb_json_get(bore, "value")) &&
           set_copy(one, "deviation_share", eb_json_get(bore, "deviation")) &&
           set_copy(one, "doubt_share", eb_json_get(bore, "doubt")) && set_copy(one, "word", eb_json_get(bore, "word"));
    made = eb_json_set(json, eb_json_key(bore), one) && made;
  }
  return whole(json, made);
}

/* A journal has it relative. */
static bool set_ln(eb_json *json, const char *key, const eb_json *share)
{
  bool known = eb_json_is_number(share) && eb_json_as_number(share, 0) > -1;
  return eb_json_set(json, key, known ? eb_json_from_number(log1p(eb_json_as_number(share, 0))) : eb_json_null());
}

static eb_json *contrasts_json(const eb_json *verdict)
{
  eb_json *list = eb_json_array();
  bool made = list != NULL;
  const eb_json *contrast = eb_json_first(eb_json_get(verdict, "contrasts"));
  for (; made && contrast != NULL; contrast = eb_json_next(contrast)) {
    eb_json *one = eb_json_object();
    made = set_copy(one, "adjuster", eb_json_get(contrast, "adjuster")) &&
           set_copy(one, "level", eb_json_get(contrast, "level")) &&
           set_ln(one, "value_ln", eb_json_get(contrast, "value")) &&
           set_ln(one, "doubt_ln", eb_json_get(contrast, "doubt"));
    made = eb_json_add(list, one) && made;
  }
  return whole(list, made);
}

static bool add_verdict(eb_json *list, const story *s, const story_verdict *verdict)
{
  eb_json *json = eb_json_object();
  bool made = set_count(json, "record", verdict->record) && eb_json_set_string(json, "condition", verdict->condition) &&
              set_count(json, "moves_before", verdict->moves_before) &&
              eb_json_set_string(json, "unit", story_unit(s, verdict)) &&
              eb_json_set_number(json, "spread_share", verdict->spread) &&
              eb_json_set_number(json, "claim_share", verdict->claim) &&
              eb_json_set(json, "bores", bores_json(verdict->verdict)) &&
              eb_json_set(json, "contrasts", contrasts_json(verdict->verdict));
  return eb_json_add(list, json) && made;
}

static bool set_contrast(eb_json *json, const char *key, const story *s, const story_verdict *verdict,
                         const eb_adjuster *adjuster, const char *doubt_key)
{
  double value, doubt;
  bool known = verdict != NULL && adjuster != NULL &&
               story_contrast(s, eb_json_get(verdict->verdict, "bores"), adjuster, &value, &doubt);
  if (!eb_json_set(json, key, known ? eb_json_from_number(value) : eb_json_null()))
    return false;
  return doubt_key == NULL || eb_json_set(json, doubt_key, known ? eb_json_from_number(doubt) : eb_json_null());
}

static bool add_move(eb_json *list, const story *s, const story_move *move)
{
  double expected;
  const char *id = eb_json_get_string(move->ask, "adjuster", "");
  int k = s->has_layout ? eb_layout_adjuster(&s->layout, id) : -1;
  const eb_adjuster *adjuster = k < 0 ? NULL : &s->layout.adjuster[k];
  eb_json *json = eb_json_object();
  bool known = adjuster != NULL && story_expected(s, move->plan, adjuster, &expected);
  bool made = eb_json_set_number(json, "record", (double)move->record) && eb_json_set_string(json, "adjuster", id) &&
              eb_json_set_string(json, "title", adjuster == NULL ? id : adjuster->title) &&
              set_copy(json, "wished_ln", eb_json_get(move->ask, "move")) &&
              set_copy(json, "done", eb_json_get(move->value, "done")) &&
              set_copy(json, "why", eb_json_get(move->value, "why")) &&
              set_copy(json, "amount", eb_json_get(move->value, "amount")) &&
              set_contrast(json, "contrast_before_ln", s, move->before, adjuster, NULL) &&
              eb_json_set(json, "contrast_expected_ln", known ? eb_json_from_number(expected) : eb_json_null()) &&
              set_contrast(json, "contrast_after_ln", s, move->after, adjuster, "contrast_doubt_ln");
  return eb_json_add(list, json) && made;
}

static bool add_reading(eb_json *list, const eb_json *record, size_t number, bool taken_back)
{
  const eb_json *ask = eb_json_get(record, "ask");
  const eb_json *value = eb_json_get(record, "value");
  eb_json *json = eb_json_object();
  bool made = set_count(json, "record", number) && set_copy(json, "time", eb_json_get(record, "time")) &&
              set_copy(json, "bore", eb_json_get(ask, "bore")) && set_copy(json, "pass", eb_json_get(ask, "pass")) &&
              set_copy(json, "condition", eb_json_get(ask, "condition")) &&
              set_copy(json, "pushed", eb_json_get(ask, "pushed")) &&
              set_copy(json, "value", eb_json_is_number(value) ? value : NULL) &&
              set_copy(json, "unreadable", eb_json_get(value, "unreadable")) &&
              set_copy(json, "unit", eb_json_get(record, "unit")) && eb_json_set_bool(json, "taken_back", taken_back);
  return eb_json_add(list, json) && made;
}

/* What every answer has. */
static eb_json *answer_json(const eb_json *record, size_t number)
{
  eb_json *json = eb_json_object();
  return whole(json, set_count(json, "record", number) && set_copy(json, "time", eb_json_get(record, "time")) &&
                         set_copy(json, "title", eb_json_get(eb_json_get(record, "ask"), "title")));
}

static bool add_fact(eb_json *list, const eb_json *record, size_t number)
{
  eb_json *json = answer_json(record, number);
  bool made =
      set_copy(json, "value", eb_json_get(record, "value")) && set_copy(json, "unit", eb_json_get(record, "unit"));
  return eb_json_add(list, json) && made;
}

static bool add_check(eb_json *list, const story *s, const eb_json *record, size_t number)
{
  char answer[600];
  eb_json *json = answer_json(record, number);
  bool made = eb_json_set_string(json, "answer", story_answer(s, number - 1, answer, sizeof answer));
  return eb_json_add(list, json) && made;
}

static bool add_taken_back(eb_json *list, const story *s, const eb_json *record, size_t number)
{
  char answer[600];
  eb_json *json = answer_json(record, number);
  bool made = eb_json_set_string(json, "answer", story_answer(s, number - 1, answer, sizeof answer)) &&
              set_count(json, "by_record", s->account->taken_back_by[number - 1]);
  return eb_json_add(list, json) && made;
}

static bool add_note(eb_json *list, const eb_json *record, size_t number)
{
  eb_json *json = eb_json_object();
  bool made = set_count(json, "record", number) && set_copy(json, "time", eb_json_get(record, "time")) &&
              set_copy(json, "text", eb_json_get(record, "text"));
  return eb_json_add(list, json) && made;
}

enum { READINGS, FACTS, CHECKS, CAUTIONS, TAKEN_BACK, NOTES, LISTS };

static bool add_answer(eb_json *const list[LISTS], const story *s, const eb_json *record, size_t number)
{
  const char *kind = eb_json_get_string(eb_json_get(record, "ask"), "kind", "");
  bool taken_back = s->account->taken_back_by[number - 1] != 0;
  if (strcmp(kind, "reading") == 0 && !add_reading(list[READINGS], record, number, taken_back))
    return false;
  if (taken_back)
    return add_taken_back(list[TAKEN_BACK], s, record, number);
  if (strcmp(kind, "number") == 0 || strcmp(kind, "text") == 0)
    return add_fact(list[FACTS], record, number);
  if (strcmp(kind, "confirm") == 0 || strcmp(kind, "choose") == 0)
    return add_check(list[CHECKS], s, record, number);
  if (strcmp(kind, "caution") != 0)
    return true;
  eb_json *caution = answer_json(record, number);
  return eb_json_add(list[CAUTIONS], caution);
}

static bool add_records(eb_json *json, const story *s)
{
  static const char *const names[LISTS] = {"readings", "facts", "checks", "cautions", "taken_back", "notes"};
  eb_json *list[LISTS];
  bool made = true;
  for (int i = 0; i < LISTS; i++)
    list[i] = eb_json_array();
  for (size_t i = 0; made && i < s->account->count; i++) {
    if (eb_account_is(s->account, i, "answer"))
      made = add_answer(list, s, eb_account_record(s->account, i), i + 1);
    else if (eb_account_is(s->account, i, "note"))
      made = add_note(list[NOTES], eb_account_record(s->account, i), i + 1);
  }
  for (int i = 0; i < LISTS; i++)
    made = eb_json_set(json, names[i], list[i]) && made;
  return made;
}

static bool add_lists(eb_json *json, const story *s)
{
  eb_json *passes = eb_json_array(), *moves = eb_json_array();
  bool made = true;
  for (size_t i = 0; made && i < s->verdict_count; i++)
    made = add_verdict(passes, s, &s->verdict[i]);
  for (size_t i = 0; made && i < s->move_count; i++)
    made = add_move(moves, s, &s->move[i]);
  made = eb_json_set(json, "passes", passes) && made;
  made = eb_json_set(json, "moves", moves) && made;
  return made && add_records(json, s);
}

void form_json_end(eb_text *text, eb_json *json, bool made)
{
  if (!made)
    text->failed = true;
  else if (eb_json_add_shown(text, json))
    eb_text_add(text, "\n");
  eb_json_destroy(json);
}

void form_json(const story *s, eb_text *text)
{
  eb_json *json = eb_json_object();
  bool made = eb_json_set_string(json, "format", "evenbore report") && eb_json_set_number(json, "version", 1) &&
              eb_json_set(json, "session", session_json(s)) && eb_json_set(json, "procedure", procedure_json(s)) &&
              set_copy(json, "engine", eb_json_get(eb_json_get(s->open, "inputs"), "engine")) &&
              eb_json_set(json, "gauge", gauge_json(s)) &&
              set_copy(json, "tolerance_share", eb_json_get(s->open, "tolerance")) &&
              set_copy(json, "risk_share", eb_json_get(s->open, "risk")) &&
              set_copy(json, "known", eb_json_get(s->open, "known")) &&
              eb_json_set(json, "layout", s->has_layout ? eb_layout_json(&s->layout) : eb_json_null()) &&
              eb_json_set(json, "claim", claim_json(s)) && set_copy(json, "outcome", eb_json_get(s->end, "outcome")) &&
              set_copy(json, "summary", eb_json_get(s->end, "summary")) && add_lists(json, s);
  if (made && eb_json_get(eb_json_get(s->open, "inputs"), "practice") != NULL)
    made = eb_json_set_bool(json, "practice", true);
  form_json_end(text, json, made);
}
