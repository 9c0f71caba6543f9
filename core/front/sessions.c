#include "sessions.h"

#include "evenbore/file.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { NUMBER_MAX = 9999 };

static eb_status too_long(const char *path, eb_error *error)
{
  return eb_fail(error, EB_OUT_OF_RANGE, path, "the path is longer than %d bytes; choose a shorter one with --data",
                 (int)EB_SESSION_PATH_SIZE - 1);
}

eb_status eb_sessions_folder(const char *data, char folder[EB_SESSION_PATH_SIZE], eb_error *error)
{
  return eb_data_path(data, "sessions", folder, error);
}

eb_status eb_sessions_make_folder(const eb_host *host, const char *folder, eb_error *error)
{
  return eb_folder_make(host, folder, 0755, error);
}

eb_status eb_sessions_path(const char *folder, const char *id, char path[EB_SESSION_PATH_SIZE], eb_error *error)
{
  int size = snprintf(path, EB_SESSION_PATH_SIZE, "%s/%s.jsonl", folder, id);
  return size < EB_SESSION_PATH_SIZE ? EB_OK : too_long(folder, error);
}

eb_status eb_sessions_new_id(const eb_host *host, const char *folder, const char *procedure, int *number,
                             char id[EB_SESSION_ID_SIZE], eb_error *error)
{
  char now[EB_TIME_TEXT_SIZE];
  eb_time_text(host->now(host->context), now);
  for (; *number <= NUMBER_MAX; (*number)++) {
    char path[EB_SESSION_PATH_SIZE];
    snprintf(id, EB_SESSION_ID_SIZE, "%.4s%.2s%.2s-%.64s-%d", now, now + 5, now + 8, procedure, *number);
    eb_status status = eb_sessions_path(folder, id, path, error);
    if (status != EB_OK || host->files.kind(host->context, path) == EB_PATH_NOTHING)
      return status;
  }
  return eb_fail(error, EB_EXISTS, folder,
                 "%d sessions of %.64s today; move some away or choose another folder with "
                 "--data",
                 (int)NUMBER_MAX, procedure);
}

static bool is_number(const char *name)
{
  return name[0] != '\0' && strlen(name) <= 4 && strspn(name, "0123456789") == strlen(name);
}

static eb_status not_found(const eb_session_list *list, const char *name, eb_error *error)
{
  const eb_host *host = list->host;
  const char **ids = host->allocate(host->context, NULL, (list->count + 1) * sizeof *ids);
  if (ids == NULL)
    return eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
  for (size_t i = 0; i < list->count; i++)
    ids[i] = list->entries[i].id;
  const char *near = eb_nearest(name, ids, list->count);
  if (list->count == 0)
    eb_fail(error, EB_NOT_FOUND, name,
            "no such session, and there is none yet; begin one with evenbore tune PROCEDURE");
  else if (is_number(name))
    eb_fail(error, EB_NOT_FOUND, name, "no such session; the list has numbers 1 to %zu", list->count);
  else
    eb_fail(error, EB_NOT_FOUND, name,
            near == NULL ? "no such session; evenbore sessions lists them%s" : "no such session; the nearest is %s",
            near == NULL ? "" : near);
  host->allocate(host->context, ids, 0);
  return EB_NOT_FOUND;
}

/* The session meant, NULL where there is none; counts how many begin so. */
static const eb_session_entry *pick(const eb_session_list *list, const char *name, size_t *matches)
{
  const eb_session_entry *picked = NULL;
  *matches = 0;
  if (is_number(name)) {
    size_t number = (size_t)strtoul(name, NULL, 10);
    return number >= 1 && number <= list->count ? &list->entries[number - 1] : NULL;
  }
  for (size_t i = 0; i < list->count; i++) {
    if (strcmp(list->entries[i].id, name) == 0)
      return &list->entries[i];
    if (strncmp(list->entries[i].id, name, strlen(name)) == 0) {
      picked = &list->entries[i];
      (*matches)++;
    }
  }
  return picked;
}

static bool is_path(const char *name)
{
  size_t size = strlen(name);
  return strchr(name, '/') != NULL || (size > 6 && strcmp(name + size - 6, ".jsonl") == 0);
}

eb_status eb_sessions_find(const eb_host *host, const char *folder, const char *name, char path[EB_SESSION_PATH_SIZE],
                           eb_error *error)
{
  if (name[0] == '\0')
    return eb_fail(error, EB_NOT_FOUND, "", "an empty text names no session; evenbore sessions lists them");
  if (is_path(name)) {
    int size = snprintf(path, EB_SESSION_PATH_SIZE, "%s", name);
    return size < EB_SESSION_PATH_SIZE ? EB_OK : too_long("", error);
  }
  eb_session_list list;
  eb_status status = is_number(name) ? eb_sessions_list(host, folder, EB_LOOK_ENDS, &list, error)
                                     : eb_sessions_names(host, folder, &list, error);
  if (status != EB_OK)
    return status;
  size_t matches;
  const eb_session_entry *picked = pick(&list, name, &matches);
  if (picked == NULL)
    status = not_found(&list, name, error);
  else if (matches > 1 && strcmp(picked->id, name) != 0)
    status = eb_fail(error, EB_BAD_VALUE, name,
                     "%zu sessions begin so; type more of the id, or its number in evenbore "
                     "sessions",
                     matches);
  else
    status = eb_sessions_path(folder, picked->id, path, error);
  eb_sessions_clear(&list);
  return status;
}

eb_status eb_sessions_latest(const eb_host *host, const char *folder, char path[EB_SESSION_PATH_SIZE], eb_error *error)
{
  eb_session_list list;
  eb_status status = eb_sessions_list(host, folder, EB_LOOK_QUICK, &list, error);
  if (status != EB_OK)
    return status;
  const eb_session_entry *open = NULL;
  const eb_session_entry *held = NULL;
  for (size_t i = list.count; i > 0; i--) {
    if (strcmp(list.entries[i - 1].state, "open") == 0)
      open = &list.entries[i - 1];
    if (strcmp(list.entries[i - 1].state, "held") == 0)
      held = &list.entries[i - 1];
  }
  const eb_session_entry *picked = open != NULL ? open : held;
  if (picked == NULL)
    status = eb_fail(error, EB_NOT_FOUND, "", "no session is open; begin one with evenbore tune PROCEDURE");
  else
    status = eb_sessions_path(folder, picked->id, path, error);
  eb_sessions_clear(&list);
  return status;
}
