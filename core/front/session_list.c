#include "sessions.h"

#include "evenbore/format.h"
#include "evenbore/journal.h"

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

static void describe(const eb_host *host, const eb_glance *glance, const char *path, eb_session_entry *entry)
{
  const eb_json *open = glance->first;
  const eb_json *last = glance->last;
  const eb_json *inputs = eb_json_get(open, "inputs");
  copy(entry->name, sizeof entry->name, eb_json_get_string(open, "session", ""));
  bool practice = eb_json_get(inputs, "practice") != NULL;
  copy(entry->engine, sizeof entry->engine, practice ? "(practice)" : eb_json_get_string(inputs, "engine", ""));
  copy(entry->engine_file, sizeof entry->engine_file,
       eb_json_get_string(eb_json_get(inputs, "engine_file"), "file", ""));
  copy(entry->procedure, sizeof entry->procedure, eb_json_get_string(eb_json_get(open, "procedure"), "id", "?"));
  copy(entry->started, sizeof entry->started, eb_json_get_string(open, "time", ""));
  copy(entry->changed, sizeof entry->changed, eb_json_get_string(last, "time", entry->started));
  entry->started_ms = eb_format_time_ms(entry->started);
  entry->size_bytes = glance->size_bytes;
  if (glance->damage[0] != '\0')
    copy(entry->state, sizeof entry->state, "damaged");
  else if (strcmp(eb_json_get_string(last, "kind", ""), "end") == 0)
    copy(entry->state, sizeof entry->state, eb_json_get_string(last, "outcome", "?"));
  else
    copy(entry->state, sizeof entry->state, is_held(host, path) ? "held" : "open");
}

static void describe_failure(eb_status status, eb_session_entry *entry)
{
  const char *word = status == EB_DAMAGED ? "damaged" : status == EB_TOO_NEW ? "newer" : "unreadable";
  copy(entry->state, sizeof entry->state, word);
}

static eb_status glance_at(const eb_host *host, const char *folder, eb_session_entry *entry)
{
  static const char *const wanted[] = {"time", "session", "inputs", "procedure.id", NULL};
  char path[EB_SESSION_PATH_SIZE];
  eb_glance glance;
  eb_status status = eb_sessions_path(folder, entry->id, path, NULL);
  if (status == EB_OK)
    status = eb_journal_glance(host, path, wanted, &glance, NULL);
  if (status == EB_OUT_OF_MEMORY)
    return status;
  if (status != EB_OK) {
    describe_failure(status, entry);
    return EB_OK;
  }
  describe(host, &glance, path, entry);
  eb_glance_clear(&glance);
  return EB_OK;
}

static eb_status read_whole(const eb_host *host, const char *folder, eb_session_entry *entry)
{
  char path[EB_SESSION_PATH_SIZE];
  eb_journal *journal = NULL;
  eb_recovery recovery = {0};
  eb_status status = eb_sessions_path(folder, entry->id, path, NULL);
  if (status == EB_OK)
    status = eb_journal_read(host, path, &journal, &recovery, NULL);
  if (status == EB_OUT_OF_MEMORY)
    return status;
  if (status != EB_OK)
    describe_failure(status, entry);
  else if (recovery.damaged_record > 0)
    copy(entry->state, sizeof entry->state, "damaged");
  eb_journal_close(journal);
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
  int order = strcmp(other->started, one->started); /* to the millisecond */
  return order != 0 ? order : strcmp(other->id, one->id);
}

eb_status eb_sessions_names(const eb_host *host, const char *folder, eb_session_list *list, eb_error *error)
{
  eb_session_list made = {.host = host};
  eb_status status = EB_OK;
  eb_path_kind kind = host->files.kind(host->context, folder);
  if (kind == EB_PATH_FOLDER && host->files.list(host->context, folder, take_name, &made) != 0)
    status = eb_fail(error, EB_IO, folder, "this folder cannot be read (%s)", strerror(errno));
  else if (kind != EB_PATH_FOLDER && kind != EB_PATH_NOTHING)
    status = eb_fail(error, EB_IO, folder, "this is no folder; choose another with --data");
  if (made.failed)
    status = eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
  if (status == EB_OK)
    *list = made;
  else
    eb_sessions_clear(&made);
  return status;
}

static eb_status look_at_all(const char *folder, eb_session_look look, eb_session_list *list)
{
  int64_t bytes = 0;
  for (size_t i = 0; i < list->count; i++) {
    if (glance_at(list->host, folder, &list->entries[i]) != EB_OK)
      return EB_OUT_OF_MEMORY;
    bytes += list->entries[i].size_bytes;
  }
  list->whole = look == EB_LOOK_WHOLE || (look == EB_LOOK_QUICK && bytes <= EB_LOOK_QUICK_BYTES);
  for (size_t i = 0; list->whole && i < list->count; i++)
    if (list->entries[i].size_bytes > 0 && read_whole(list->host, folder, &list->entries[i]) != EB_OK)
      return EB_OUT_OF_MEMORY;
  return EB_OK;
}

eb_status eb_sessions_list(const eb_host *host, const char *folder, eb_session_look look, eb_session_list *list,
                           eb_error *error)
{
  eb_session_list made;
  eb_status status = eb_sessions_names(host, folder, &made, error);
  if (status != EB_OK)
    return status;
  if (look_at_all(folder, look, &made) != EB_OK) {
    eb_sessions_clear(&made);
    return eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
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
