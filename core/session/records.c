/* Which records of the journal hold: all but what was taken back. */
#include "private.h"

#include <string.h>

bool record_is(const eb_json *record, const char *kind)
{
  return strcmp(eb_json_get_string(record, "kind", ""), kind) == 0;
}

eb_status records_add(eb_session *s, records *list, size_t index, eb_error *error)
{
  if (list->count == list->room) {
    size_t room = list->room == 0 ? 64 : list->room * 2;
    size_t *grown = s->host->allocate(s->host->context, list->index, room * sizeof *grown);
    if (grown == NULL)
      return out_of_memory(error);
    list->index = grown;
    list->room = room;
  }
  list->index[list->count++] = index;
  return EB_OK;
}

/* How many records still hold when answer `to` and all after it are taken
 * back.  What was told on the way to that answer's ask holds. */
static size_t kept_before(const eb_session *s, int to)
{
  for (size_t i = 0; i < s->effective.count; i++) {
    const eb_json *record = eb_journal_record(s->journal, s->effective.index[i]);
    if (record_is(record, "answer") && eb_json_get_int(record, "n", 0) >= to)
      return i;
  }
  return s->effective.count;
}

static eb_status hide(eb_session *s, int to, eb_error *error)
{
  size_t kept = kept_before(s, to);
  eb_status status = EB_OK;
  for (size_t i = kept; status == EB_OK && i < s->effective.count; i++) {
    const eb_json *record = eb_journal_record(s->journal, s->effective.index[i]);
    if (record_is(record, "answer"))
      status = records_add(s, &s->hidden, s->effective.index[i], error);
  }
  if (status == EB_OK)
    s->effective.count = kept;
  return status;
}

eb_status records_collect(eb_session *s, eb_error *error)
{
  s->effective.count = s->hidden.count = 0;
  eb_status status = EB_OK;
  for (size_t i = 0; status == EB_OK && i < eb_journal_count(s->journal); i++) {
    const eb_json *record = eb_journal_record(s->journal, i);
    if (record_is(record, "withdraw"))
      status = hide(s, eb_json_get_int(record, "to", 0), error);
    else if (record_is(record, "answer") || record_is(record, "told"))
      status = records_add(s, &s->effective, i, error);
  }
  return status;
}

const eb_json *records_next(const eb_session *s)
{
  return s->at < s->effective.count ? eb_journal_record(s->journal, s->effective.index[s->at]) : NULL;
}

bool records_answers_left(const eb_session *s)
{
  for (size_t i = s->at; i < s->effective.count; i++)
    if (record_is(eb_journal_record(s->journal, s->effective.index[i]), "answer"))
      return true;
  return false;
}

const eb_json *records_last_answer(const eb_session *s)
{
  for (size_t i = s->effective.count; i > 0; i--) {
    const eb_json *record = eb_journal_record(s->journal, s->effective.index[i - 1]);
    const eb_json *ask = eb_json_get(record, "ask");
    bool own = eb_json_get_bool(record, "resume", false) || safety_is_own(ask);
    if (record_is(record, "answer") && !own && eb_json_get(ask, "again") == NULL)
      return record;
  }
  return NULL;
}
