/* What the adjusters of an engine answered in its earlier jobs: where a job starts from it, and what it leaves. */
#include "private.h"

#include "evenbore/known.h"

#include <math.h>
#include <string.h>

/* Of the options, or of the journal once there is one: what stands there is what a replay goes by. */
static const eb_json *known_of(const eb_session *s)
{
  return s->journal == NULL ? s->options.known : eb_json_get(eb_journal_record(s->journal, 0), "known");
}

/* The adjuster as the line protocol shows it. Borrowed from `shown`. */
static const eb_json *shown_adjuster(const eb_json *shown, int index)
{
  return eb_json_at(eb_json_get(shown, "adjusters"), index);
}

static eb_status apply(const eb_json *one, eb_adjuster *adjuster, eb_error *error)
{
  if (!eb_known_is_sound(one))
    return eb_fail(error, EB_BAD_VALUE, "record 1", "what adjuster \"%s\" is known to answer cannot be", adjuster->id);
  adjuster->known_gain = eb_json_get_number(one, "gain", 1);
  /* Never less sure than of a stranger's. */
  adjuster->known_spread = fmin(eb_json_get_number(one, "spread", 1), adjuster->gain_spread);
  return EB_OK;
}

eb_status known_apply(const eb_session *s, eb_layout *layout, eb_error *error)
{
  if (known_of(s) == NULL)
    return EB_OK;
  eb_json *shown = eb_layout_json(layout);
  eb_status status = shown == NULL ? out_of_memory(error) : EB_OK;
  for (int k = 0; status == EB_OK && k < layout->adjuster_count; k++) {
    const eb_json *one = eb_known_of(known_of(s), shown_adjuster(shown, k));
    if (one != NULL)
      status = apply(one, &layout->adjuster[k], error);
  }
  eb_json_destroy(shown);
  return status;
}

eb_status known_tell(eb_session *s, eb_error *error)
{
  if (s->told_known || !s->greeted || !s->job.has_layout || known_of(s) == NULL)
    return EB_OK;
  eb_text text;
  s->told_known = true;
  eb_text_init(&text, s->host);
  eb_json *shown = eb_layout_json(&s->job.layout);
  eb_known_words(known_of(s), shown, &text);
  bool made = shown != NULL && !text.failed && session_tell_note(s, eb_text_string(&text));
  eb_json_destroy(shown);
  eb_text_clear(&text);
  return made ? EB_OK : out_of_memory(error);
}

eb_status known_set_aside(eb_session *s, eb_json **tell, eb_error *error)
{
  bool stands = true;
  if (s->job.set_aside || !s->job.has_layout || known_of(s) == NULL)
    return EB_OK;
  eb_status status = eb_evidence_known_stands(s->job.conditions[0].evidence, &stands, error);
  if (status != EB_OK || stands)
    return status;
  eb_text text;
  eb_text_init(&text, s->host);
  eb_text_printf(&text,
                 "What session %.200s taught of the adjusters does not fit the readings so far: "
                 "nothing is built on it.",
                 eb_json_get_string(known_of(s), "session", "?"));
  eb_json *made = eb_json_object();
  s->job.set_aside = true;
  if (!text.failed && eb_json_set_string(made, "kind", "note") &&
      eb_json_set_string(made, "text", eb_text_string(&text)))
    *tell = made;
  else
    eb_json_destroy(made);
  eb_text_clear(&text);
  return *tell == NULL ? out_of_memory(error) : EB_OK;
}

static bool add_answer(eb_json *list, const eb_json *part, eb_gain gain, int moves)
{
  eb_json *one = eb_json_object();
  bool made = eb_json_set_string(one, "adjuster", eb_json_get_string(part, "id", "")) &&
              eb_json_set(one, "kind", eb_json_copy(eb_json_get(part, "kind"))) &&
              eb_json_set(one, "sides", eb_json_copy(eb_json_get(part, "sides"))) &&
              eb_json_set_number(one, "gain", gain.mean) && eb_json_set_number(one, "spread", gain.spread) &&
              eb_json_set_number(one, "moves", moves);
  return eb_json_add(list, one) && made;
}

/* Of those that were moved in this job or, where it still stands, in an earlier one. */
static bool add_answers(const eb_session *s, eb_json *list, const eb_gain *gains, bool stands)
{
  eb_json *shown = eb_layout_json(&s->job.layout);
  bool made = shown != NULL;
  for (int k = 0; made && k < s->job.layout.adjuster_count; k++) {
    const eb_json *part = shown_adjuster(shown, k);
    const eb_json *one = eb_known_of(known_of(s), part);
    int moves = gains[k].moves + (stands ? eb_json_get_int(one, "moves", 0) : 0);
    if (moves > 0)
      made = add_answer(list, part, gains[k], moves);
  }
  eb_json_destroy(shown);
  return made;
}

static bool add_repeats(const eb_session *s, eb_json *end)
{
  eb_spread repeats = eb_session_repeats(s);
  eb_json *json = eb_json_object();
  bool made = eb_json_set_number(json, "repeatability", repeats.deviation) &&
              eb_json_set_number(json, "degrees_of_freedom", repeats.degrees_of_freedom);
  return eb_json_set(end, "repeats", json) && made;
}

bool known_add_answers(const eb_session *s, eb_json *end)
{
  eb_gain gains[EB_ADJUSTERS_MAX];
  if (!s->job.has_layout)
    return true;
  bool stands = true;
  if (eb_evidence_gains(s->job.conditions[0].evidence, gains, NULL) != EB_OK ||
      eb_evidence_known_stands(s->job.conditions[0].evidence, &stands, NULL) != EB_OK)
    return false;
  eb_json *list = eb_json_array();
  bool made = add_answers(s, list, gains, stands);
  return eb_json_set(end, "answered", list) && made && add_repeats(s, end);
}
