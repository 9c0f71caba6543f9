/* Lock: what a procedure's process gives up before the procedure runs. */
#ifndef EB_SCRIPT_LOCK_H
#define EB_SCRIPT_LOCK_H

#include "filter.h"

#include <sys/types.h>

/* Keeps the file descriptor `kept` and the memory that the process has, and nothing else that it could use: other
 * descriptors are closed, signals blocked, limits set to nothing, privileges never gained; `rules` NULL: no filter.
 * Dies with `parent`; `first_thread`: whether that forked in its first thread.  False where a step fails: the process
 * must end then.  Safe after a fork. */
bool lock_in(int kept, pid_t parent, bool first_thread, long processor_s, const filter *rules);

#endif
