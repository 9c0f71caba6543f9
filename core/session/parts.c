/* Which parts are off. An answer that is taken back puts nothing back on: a part that came off at such a step is off
 * until an answer that holds says that it is on. */
#include "private.h"

#include <string.h>

static bool add_parts(eb_json *off, const eb_json *parts)
{
  bool made = off != NULL;
  for (const eb_json *part = eb_json_first(parts); made && part != NULL; part = eb_json_next(part))
    if (!json_array_has(off, eb_json_as_string(part, "")))
      made = eb_json_add(off, eb_json_copy(part));
  return made;
}

/* `off` without `refits` and with `takes_off`; NULL when memory runs out. Takes over `off`. */
static eb_json *after(eb_json *off, const eb_json *refits, const eb_json *takes_off)
{
  eb_json *left = eb_json_array();
  bool made = left != NULL;
  for (const eb_json *part = eb_json_first(off); made && part != NULL; part = eb_json_next(part))
    if (!json_array_has(refits, eb_json_as_string(part, "")))
      made = eb_json_add(left, eb_json_copy(part));
  made = made && add_parts(left, takes_off);
  eb_json_destroy(off);
  if (made)
    return left;
  eb_json_destroy(left);
  return NULL;
}

eb_status parts_apply(eb_session *s, const eb_json *ask, eb_error *error)
{
  s->job.open_parts = after(s->job.open_parts, eb_json_get(ask, "refits"), eb_json_get(ask, "takes_off"));
  return s->job.open_parts == NULL ? out_of_memory(error) : EB_OK;
}

eb_json *parts_off(const eb_session *s)
{
  eb_json *off = eb_json_array();
  size_t holds = 0;
  for (size_t i = 1; off != NULL && i < eb_journal_count(s->journal); i++) {
    const eb_json *record = eb_journal_record(s->journal, i);
    const eb_json *ask = eb_json_get(record, "ask");
    while (holds < s->effective.count && s->effective.index[holds] < i)
      holds++;
    bool effective = holds < s->effective.count && s->effective.index[holds] == i;
    if (strcmp(eb_json_get_string(ask, "kind", ""), "confirm") == 0 && eb_json_get_bool(record, "value", false))
      off = after(off, effective ? eb_json_get(ask, "refits") : NULL, eb_json_get(ask, "takes_off"));
  }
  return off;
}

bool parts_are_off(const eb_session *s)
{
  eb_json *off = parts_off(s);
  bool none = off != NULL && eb_json_count(off) == 0;
  eb_json_destroy(off);
  return !none;
}

eb_json *parts_ask(const eb_session *s, const char *key)
{
  eb_json *off = parts_off(s);
  eb_json *ask = eb_json_object();
  bool made = eb_json_set_string(ask, "kind", "confirm") && eb_json_set_string(ask, "key", key) &&
              eb_json_set_string(ask, "title", "On again?") &&
              eb_json_set_string(ask, "text",
                                 "These came off at a step that was taken back. Is each of them on again, and secure? "
                                 "Ignition off before a hand goes in.") &&
              eb_json_set_string(ask, "why", "The engine cannot be started while a part is off.");
  if (eb_json_set(ask, "refits", off) && made)
    return ask;
  eb_json_destroy(ask);
  return NULL;
}
