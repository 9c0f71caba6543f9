#include "sessions.h"

#include "evenbore/account.h"
#include "evenbore/format.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char suffix[] = ".jsonl";

/* What lies in PATH.lock while a process holds the session, or after one that died holding it. The lock is tried only
 * in that case, so that a look at the list does not get in the way of one that is about to be opened. */
static bool is_held(const eb_host *host, const char *path)
{
  char lock[EB_SESSION_PATH_SIZE + 8];
  snprintf(lock, sizeof lock, "%s.lock", path);
  int file = host->files.open(host->context, lock, O_RDONLY | O_NOFOLLOW | O_NONBLOCK, 0);
  if (file < 0)
    return false;
  bool held = host->files.seek_end(host->context, file) > 0 && host->files.lock(host->context, file) != 0 &&
              errno == EWOULDBLOCK;
  host->files.close(host->context, file);
  return held;
}

static void copy(char *to, size_t size, const char *from)
{
  snprintf(to, size, "%s", from);
}

static void describe(const eb_account *account, const char *path, eb_session_entry *entry)
{
  const eb_json *open = eb_account_record(account, 0);
  const eb_json *last = eb_account_record(account, account->count - 1);
  const eb_json *end = eb_account_end(account);
  const eb_json *inputs = eb_json_get(open, "inputs");
  bool practice = eb_json_get(inputs, "practice") != NULL;
  copy(entry->engine, sizeof entry->engine, practice ? "(practice)" : eb_json_get_string(inputs, "engine", ""));
  copy(entry->procedure, sizeof entry->procedure, eb_json_get_string(eb_json_get(open, "procedure"), "id", "?"));
  copy(entry->started, sizeof entry->started, eb_json_get_string(open, "time", ""));
  copy(entry->changed, sizeof entry->changed, eb_json_get_string(last, "time", entry->started));
  entry->started_ms = eb_format_time_ms(entry->started);
  if (account->recovery.damaged_record > 0)
    copy(entry->state, sizeof entry->state, "damaged");
  else if (end != NULL)
    copy(entry->state, sizeof entry->state, eb_json_get_string(end, "outcome", "?"));
  else
    copy(entry->state, sizeof entry->state, is_held(account->host, path) ? "held" : "open");
}

static eb_status look(const eb_host *host, const char *folder, eb_session_entry *entry)
{
  char path[EB_SESSION_PATH_SIZE];
  eb_account account;
  eb_status status = eb_sessions_path(folder, entry->id, path, NULL);
  if (status == EB_OK)
    status = eb_account_read(host, path, &account, NULL);
  if (status == EB_OUT_OF_MEMORY)
    return status;
  if (status != EB_OK) {
    copy(entry->state, sizeof entry->state, status == EB_DAMAGED ? "damaged" : "unreadable");
    return EB_OK;
  }
  if (account.count > 0)
    describe(&account, path, entry);
  else
    copy(entry->state, sizeof entry->state, "damaged");
  eb_account_clear(&account);
  return EB_OK;
}

/* Non-zero ends the walk: memory has run out. */
static int take_name(void *argument, const char *name)
{
  eb_session_list *list = argument;
  size_t size = strlen(name);
  if (size <= sizeof suffix - 1 || size - (sizeof suffix - 1) >= EB_SESSION_ID_SIZE || name[0] == '.' ||
      strcmp(name + size - (sizeof suffix - 1), suffix) != 0)
    return 0;
  if (list->count == list->room) {
    size_t room = list->room == 0 ? 16 : list->room * 2;
    eb_session_entry *grown = list->host->allocate(list->host->context, list->entries, room * sizeof *grown);
    if (grown == NULL) {
      list->failed = true;
      return -1;
    }
    list->entries = grown;
    list->room = room;
  }
  eb_session_entry *entry = &list->entries[list->count++];
  *entry = (eb_session_entry){.started_ms = 0};
  memcpy(entry->id, name, size - (sizeof suffix - 1));
  return 0;
}

static int newer_first(const void *a, const void *b)
{
  const eb_session_entry *one = a;
  const eb_session_entry *other = b;
  if (one->started_ms != other->started_ms)
    return one->started_ms > other->started_ms ? -1 : 1;
  return strcmp(other->id, one->id);
}

eb_status eb_sessions_list(const eb_host *host, const char *folder, eb_session_list *list, eb_error *error)
{
  eb_session_list made = {.host = host};
  eb_status status = EB_OK;
  eb_path_kind kind = host->files.kind(host->context, folder);
  if (kind == EB_PATH_FOLDER && host->files.list(host->context, folder, take_name, &made) != 0)
    status = eb_fail(error, EB_IO, folder, "this folder cannot be read (%s)", strerror(errno));
  else if (kind != EB_PATH_FOLDER && kind != EB_PATH_NOTHING)
    status = eb_fail(error, EB_IO, folder, "this is no folder; choose another with --data");
  if (status == EB_OK && made.failed)
    status = eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
  for (size_t i = 0; status == EB_OK && i < made.count; i++)
    status = look(host, folder, &made.entries[i]);
  if (status != EB_OK) {
    eb_sessions_clear(&made);
    return status;
  }
  if (made.count > 0)
    qsort(made.entries, made.count, sizeof *made.entries, newer_first);
  *list = made;
  return EB_OK;
}

void eb_sessions_clear(eb_session_list *list)
{
  list->host->allocate(list->host->context, list->entries, 0);
  *list = (eb_session_list){.host = list->host};
}
