/* The report as JSON: the members that report.h lists. */
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

static eb_json *session_json(const story *s)
{
  eb_json *json = eb_json_object();
  bool made =
      eb_json_set_string(json, "name", eb_json_get_string(s->open, "session", "")) &&
      set_copy(json, "begun", eb_json_get(s->open, "time")) && set_copy(json, "ended", eb_json_get(s->end, "time")) &&
      eb_json_set_string(json, "state", state_word(s)) && set_copy(json, "program", eb_json_get(s->open, "program")) &&
      eb_json_set_string(json, "digest", eb_journal_digest(s->account->journal)) &&
      eb_json_set_number(json, "records", (double)s->account->count);
  if (made)
    return json;
  eb_json_destroy(json);
  return NULL;
}

static eb_json *procedure_json(const story *s)
{
  static const char *const keys[] = {"id", "version", "title", "digest"};
  eb_json *json = eb_json_object();
  bool made = json != NULL;
  for (size_t i = 0; made && i < sizeof keys / sizeof keys[0]; i++)
    made = set_copy(json, keys[i], eb_json_get(eb_json_get(s->open, "procedure"), keys[i]));
  if (made)
    return json;
  eb_json_destroy(json);
  return NULL;
}

static eb_json *claim_json(const story *s)
{
  double tolerance, risk;
  if (!story_claim(s, &tolerance, &risk))
    return eb_json_null();
  eb_json *json = eb_json_object();
  if (eb_json_set_number(json, "tolerance", tolerance) && eb_json_set_number(json, "risk", risk) &&
      eb_json_set_number(json, "record", (double)s->account->count))
    return json;
  eb_json_destroy(json);
  return NULL;
}

static eb_json *pass_bores(const eb_json *verdict)
{
  static const char *const keys[] = {"value", "deviation", "doubt", "word"};
  eb_json *json = eb_json_object();
  bool made = json != NULL;
  const eb_json *bore = eb_json_first(eb_json_get(verdict, "bores"));
  for (; made && bore != NULL; bore = eb_json_next(bore)) {
    eb_json *one = eb_json_object();
    for (size_t i = 0; made && i < sizeof keys / sizeof keys[0]; i++)
      made = set_copy(one, keys[i], eb_json_get(bore, keys[i]));
    made = eb_json_set(json, eb_json_key(bore), one) && made;
  }
  if (made)
    return json;
  eb_json_destroy(json);
  return NULL;
}

static bool add_verdict(eb_json *list, const story_verdict *verdict)
{
  eb_json *json = eb_json_object();
  bool made = eb_json_set_number(json, "record", (double)verdict->record) &&
              eb_json_set_string(json, "condition", verdict->condition) &&
              eb_json_set_number(json, "moves_before", (double)verdict->moves_before) &&
              eb_json_set_number(json, "spread", verdict->spread) &&
              eb_json_set_number(json, "claim", verdict->claim) &&
              eb_json_set(json, "bores", pass_bores(verdict->verdict));
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
              set_copy(json, "wished", eb_json_get(move->ask, "move")) &&
              set_copy(json, "done", eb_json_get(move->value, "done")) &&
              set_copy(json, "amount", eb_json_get(move->value, "amount")) &&
              set_contrast(json, "contrast_before", s, move->before, adjuster, NULL) &&
              eb_json_set(json, "contrast_expected", known ? eb_json_from_number(expected) : eb_json_null()) &&
              set_contrast(json, "contrast_after", s, move->after, adjuster, "contrast_doubt");
  return eb_json_add(list, json) && made;
}

static bool add_reading(eb_json *list, const eb_json *record, size_t number, bool taken_back)
{
  const eb_json *ask = eb_json_get(record, "ask");
  eb_json *json = eb_json_object();
  bool made = eb_json_set_number(json, "record", (double)number) &&
              set_copy(json, "time", eb_json_get(record, "time")) && set_copy(json, "bore", eb_json_get(ask, "bore")) &&
              set_copy(json, "pass", eb_json_get(ask, "pass")) &&
              set_copy(json, "condition", eb_json_get(ask, "condition")) &&
              set_copy(json, "value", eb_json_get(record, "value")) &&
              set_copy(json, "unit", eb_json_get(record, "unit")) && eb_json_set_bool(json, "taken_back", taken_back);
  return eb_json_add(list, json) && made;
}

static bool add_fact(eb_json *list, const eb_json *record, size_t number)
{
  eb_json *json = eb_json_object();
  bool made = eb_json_set_number(json, "record", (double)number) &&
              set_copy(json, "title", eb_json_get(eb_json_get(record, "ask"), "title")) &&
              set_copy(json, "value", eb_json_get(record, "value")) &&
              set_copy(json, "unit", eb_json_get(record, "unit"));
  return eb_json_add(list, json) && made;
}

static bool add_caution(eb_json *list, const eb_json *record, size_t number)
{
  eb_json *json = eb_json_object();
  bool made = eb_json_set_number(json, "record", (double)number) &&
              set_copy(json, "title", eb_json_get(eb_json_get(record, "ask"), "title")) &&
              set_copy(json, "time", eb_json_get(record, "time"));
  return eb_json_add(list, json) && made;
}

static bool add_note(eb_json *list, const eb_json *record, size_t number)
{
  eb_json *json = eb_json_object();
  bool made = eb_json_set_number(json, "record", (double)number) && set_copy(json, "text", eb_json_get(record, "text"));
  return eb_json_add(list, json) && made;
}

static bool add_records(eb_json *json, const story *s)
{
  eb_json *readings = eb_json_array(), *facts = eb_json_array(), *cautions = eb_json_array(), *notes = eb_json_array();
  bool made = true;
  for (size_t i = 0; made && i < s->account->count; i++) {
    const eb_json *record = eb_account_record(s->account, i);
    const char *kind = eb_json_get_string(eb_json_get(record, "ask"), "kind", "");
    bool taken_back = s->account->taken_back_by[i] != 0;
    if (strcmp(kind, "reading") == 0)
      made = add_reading(readings, record, i + 1, taken_back);
    else if (!taken_back && (strcmp(kind, "number") == 0 || strcmp(kind, "text") == 0))
      made = add_fact(facts, record, i + 1);
    else if (!taken_back && strcmp(kind, "caution") == 0)
      made = add_caution(cautions, record, i + 1);
    else if (eb_account_is(s->account, i, "note"))
      made = add_note(notes, record, i + 1);
  }
  made = eb_json_set(json, "readings", readings) && made;
  made = eb_json_set(json, "facts", facts) && made;
  made = eb_json_set(json, "cautions", cautions) && made;
  return eb_json_set(json, "notes", notes) && made;
}

static bool add_lists(eb_json *json, const story *s)
{
  eb_json *passes = eb_json_array(), *moves = eb_json_array();
  bool made = true;
  for (size_t i = 0; made && i < s->verdict_count; i++)
    made = add_verdict(passes, &s->verdict[i]);
  for (size_t i = 0; made && i < s->move_count; i++)
    made = add_move(moves, s, &s->move[i]);
  made = eb_json_set(json, "passes", passes) && made;
  made = eb_json_set(json, "moves", moves) && made;
  return made && add_records(json, s);
}

void form_json(const story *s, eb_text *text)
{
  eb_json *json = eb_json_object();
  bool made = eb_json_set_string(json, "format", "evenbore report") && eb_json_set_number(json, "version", 1) &&
              eb_json_set(json, "session", session_json(s)) && eb_json_set(json, "procedure", procedure_json(s)) &&
              set_copy(json, "engine", eb_json_get(eb_json_get(s->open, "inputs"), "engine")) &&
              set_copy(json, "gauge", eb_json_get(s->open, "gauge")) &&
              set_copy(json, "tolerance", eb_json_get(s->open, "tolerance")) &&
              set_copy(json, "risk", eb_json_get(s->open, "risk")) &&
              eb_json_set(json, "layout", s->has_layout ? eb_layout_json(&s->layout) : eb_json_null()) &&
              eb_json_set(json, "claim", claim_json(s)) && set_copy(json, "outcome", eb_json_get(s->end, "outcome")) &&
              set_copy(json, "summary", eb_json_get(s->end, "summary")) && add_lists(json, s);
  char *written = made ? eb_json_text(json) : NULL;
  if (written == NULL)
    text->failed = true;
  else
    eb_text_printf(text, "%s\n", written);
  eb_json_text_free(written);
  eb_json_destroy(json);
}
