#include "earlier.h"

#include "sessions.h"

#include "evenbore/account.h"
#include "evenbore/known.h"

#include <stdio.h>
#include <string.h>

enum { PASSED_OVER_MOST = 3 }; /* sessions that are named; of more their number is said */

typedef struct search {
  const eb_run *run;
  const eb_given *given;
  const char *folder;
  int passed_over;
  eb_json *known;
} search;

static void pass_over(search *s, const eb_session_entry *entry, const char *why)
{
  char text[700];
  if (++s->passed_over > PASSED_OVER_MOST)
    return;
  snprintf(text, sizeof text, "session %.200s of this engine is passed over: %.300s", entry->id, why);
  eb_run_remark(s->run, text);
}

/* What an adjuster answers is counted in amounts that the throttle's dimensions give. */
static bool same_throttle(const search *s, const eb_json *open)
{
  const eb_json *then = eb_json_get(eb_json_get(eb_json_get(open, "inputs"), "engine_file"), "throttle");
  const eb_json *now = eb_json_get(s->given->engine, "throttle");
  return then == NULL || now == NULL ? eb_json_count(then) == 0 && eb_json_count(now) == 0 : eb_json_equal(then, now);
}

static eb_status make(search *s, const eb_account *account, const eb_session_entry *entry)
{
  const eb_json *open = eb_account_record(account, 0);
  char why[200];
  eb_error error;
  if (account->recovery.damaged_record > 0) {
    snprintf(why, sizeof why, "its record %zu is damaged", account->recovery.damaged_record);
    pass_over(s, entry, why);
    return EB_OK;
  }
  if (!same_throttle(s, open)) {
    pass_over(s, entry, "the engine's file says other things of its throttles now");
    return EB_OK;
  }
  eb_status status =
      eb_known_make(open, eb_account_end(account), eb_journal_digest(account->journal), &s->known, &error);
  if (status == EB_BAD_VALUE || status == EB_REFUSED)
    pass_over(s, entry, error.message);
  return status == EB_OUT_OF_MEMORY ? status : EB_OK;
}

static eb_status look_at(search *s, const eb_session_entry *entry)
{
  char path[EB_SESSION_PATH_SIZE];
  eb_account account;
  eb_error error;
  if (strcmp(entry->state, "open") == 0 || strcmp(entry->state, "held") == 0) {
    pass_over(s, entry, "it is not over");
    return EB_OK;
  }
  if (strcmp(entry->id, entry->name) != 0) {
    pass_over(s, entry, "its file does not bear its name, so it may be of another shop's engine");
    return EB_OK;
  }
  if (strcmp(entry->state, "failed") == 0)
    return EB_OK;
  eb_status status = eb_sessions_path(s->folder, entry->id, path, &error);
  if (status == EB_OK)
    status = eb_account_read(s->run->host, path, &account, &error);
  if (status == EB_OUT_OF_MEMORY)
    return status;
  if (status != EB_OK) {
    pass_over(s, entry, error.message);
    return EB_OK;
  }
  status = make(s, &account, entry);
  eb_account_clear(&account);
  return status;
}

static eb_status search_all(search *s, const eb_session_list *list)
{
  const char *typed = s->run->options.engine;
  const char *slash = strrchr(typed, '/');
  const char *engine = slash == NULL ? typed : slash + 1;
  const char *name = eb_json_get_string(s->given->engine, "name", "");
  for (size_t i = 0; s->known == NULL && i < list->count; i++) {
    if (strcmp(list->entries[i].engine_file, engine) != 0 || strcmp(list->entries[i].engine, name) != 0)
      continue;
    eb_status status = look_at(s, &list->entries[i]);
    if (status != EB_OK)
      return status;
  }
  if (s->passed_over > PASSED_OVER_MOST) {
    char text[80];
    snprintf(text, sizeof text, "and %d others of it are", s->passed_over - PASSED_OVER_MOST);
    eb_run_remark(s->run, text);
  }
  return EB_OK;
}

eb_status eb_earlier_known(const eb_run *run, const eb_given *given, eb_json **known, eb_error *error)
{
  char folder[EB_SESSION_PATH_SIZE];
  eb_session_list list;
  *known = NULL;
  if (given->engine == NULL || run->options.fresh)
    return EB_OK;
  eb_status status = eb_sessions_folder(run->options.data, folder, error);
  if (status == EB_OK)
    status = eb_sessions_list(run->host, folder, EB_LOOK_ENDS, &list, error);
  if (status != EB_OK)
    return status;
  search s = {.run = run, .given = given, .folder = folder};
  status = search_all(&s, &list);
  eb_sessions_clear(&list);
  if (status != EB_OK)
    return eb_fail(error, status, "", "out of memory");
  *known = s.known;
  return EB_OK;
}
