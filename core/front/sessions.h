/* Sessions: the folder that they lie in, their names, and finding one by what a person types. */
#ifndef EVENBORE_SESSIONS_H
#define EVENBORE_SESSIONS_H

#include "data.h"

#include "evenbore/host.h"
#include "evenbore/status.h"
#include "evenbore/text.h"

#include <stdbool.h>
#include <stdint.h>

enum { EB_SESSION_PATH_SIZE = EB_DATA_PATH_SIZE, EB_SESSION_ID_SIZE = 256 };

/* What the list says of one session, from its journal alone. */
typedef struct eb_session_entry {
  char id[EB_SESSION_ID_SIZE];
  char engine[64], procedure[64];
  char started[40], changed[40]; /* RFC 3339, as in the journal; empty where unknown */
  char state[24];                /* open, even, claimed, stopped, held, damaged, unreadable */
  int64_t started_ms;
} eb_session_entry;

typedef struct eb_session_list {
  const eb_host *host;
  eb_session_entry *entries; /* newest first */
  size_t count, room;
  bool failed; /* memory ran out while it was made */
} eb_session_list;

/* `data` as given by --data, or NULL: $XDG_DATA_HOME/evenbore, else ~/.local/share/evenbore.
 * EB_NOT_FOUND where no variable says where, EB_OUT_OF_RANGE where the path is too long. */
eb_status eb_sessions_folder(const char *data, char folder[EB_SESSION_PATH_SIZE], eb_error *error);

/* Makes the folder, and those above it, where they are missing. EB_READ_ONLY, EB_NO_SPACE, EB_IO. */
eb_status eb_sessions_make_folder(const eb_host *host, const char *folder, eb_error *error);

/* The path of a session in the folder. EB_OUT_OF_RANGE where it is too long. */
eb_status eb_sessions_path(const char *folder, const char *id, char path[EB_SESSION_PATH_SIZE], eb_error *error);

/* "20261104-v8-coupled-1": the local date, the procedure, and the first number at or above *number that is free; sets
 * *number to it. */
eb_status eb_sessions_new_id(const eb_host *host, const char *folder, const char *procedure, int *number,
                             char id[EB_SESSION_ID_SIZE], eb_error *error);

/* All sessions of the folder; a folder that is not there holds none. The caller clears *list. */
eb_status eb_sessions_list(const eb_host *host, const char *folder, eb_session_list *list, eb_error *error);
void eb_sessions_clear(eb_session_list *list);

/* The path of the session that `name` means: a path to a file, an id, a number of the list, the
 * beginning of one id alone. EB_NOT_FOUND names the nearest; EB_BAD_VALUE: several begin so. */
eb_status eb_sessions_find(const eb_host *host, const char *folder, const char *name, char path[EB_SESSION_PATH_SIZE],
                           eb_error *error);

/* The newest session that is not over and not held; one that is held where there is no other. EB_NOT_FOUND. */
eb_status eb_sessions_latest(const eb_host *host, const char *folder, char path[EB_SESSION_PATH_SIZE], eb_error *error);

#endif
