/* Lock: one process at a time appends to a journal.  Private to the room. */
#ifndef EB_JOURNAL_LOCK_H
#define EB_JOURNAL_LOCK_H

#include "evenbore/host.h"
#include "evenbore/status.h"

/* Takes the lock of the journal at `path` and writes the holder's process, machine and time into it.
 * EB_HELD names those of the present holder; EB_NOT_FOUND (no such folder), EB_NO_SPACE, EB_READ_ONLY, EB_IO. */
eb_status eb_lock_take(const eb_host *host, const char *path, int *lock, eb_error *error);
void eb_lock_release(const eb_host *host, int lock);

#endif
