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
  char id[EB_SESSION_ID_SIZE];   /* its file's name */
  char name[EB_SESSION_ID_SIZE]; /* that its first record gives it: another one in a file that was renamed */
  char engine[256], procedure[64];
  char engine_file[128];         /* name of the kept engine that it is about, or of its file (red.json); empty: none */
  char started[40], changed[40]; /* RFC 3339, as in the journal; empty where unknown */
  char state[24];                /* open, even, claimed, stopped, held, damaged, newer, unreadable */
  int64_t started_ms, size_bytes;
} eb_session_entry;

typedef struct eb_session_list {
  const eb_host *host;
  eb_session_entry *entries; /* newest first */
  size_t count, room;
  bool failed; /* memory ran out while it was made */
  bool whole;  /* every journal was read from its beginning to its end */
} eb_session_list;

/* How much of each journal is read: its beginning and its end alone, all of it where that is quick for all of them
 * together, or all of it in any case.  Damage in the middle is seen only by reading all. */
typedef enum eb_session_look { EB_LOOK_ENDS, EB_LOOK_QUICK, EB_LOOK_WHOLE } eb_session_look;
enum { EB_LOOK_QUICK_BYTES = 16 * 1024 * 1024 };

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
eb_status eb_sessions_list(const eb_host *host, const char *folder, eb_session_look look, eb_session_list *list,
                           eb_error *error);
/* The ids alone, in no order: no file is opened. The other members stay empty. */
eb_status eb_sessions_names(const eb_host *host, const char *folder, eb_session_list *list, eb_error *error);
void eb_sessions_clear(eb_session_list *list);

/* The path of the session that `name` means: a path to a file, an id, a number of the list, the
 * beginning of one id alone. EB_NOT_FOUND names the nearest; EB_BAD_VALUE: several begin so. */
eb_status eb_sessions_find(const eb_host *host, const char *folder, const char *name, char path[EB_SESSION_PATH_SIZE],
                           eb_error *error);

/* The newest session that is not over and not held; one that is held where there is no other. EB_NOT_FOUND. */
eb_status eb_sessions_latest(const eb_host *host, const char *folder, char path[EB_SESSION_PATH_SIZE], eb_error *error);

#endif
