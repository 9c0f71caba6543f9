/* Process: the session's end of a run in a process of its own. */
#ifndef EB_SCRIPT_PROCESS_H
#define EB_SCRIPT_PROCESS_H

#include "child.h"

/* Forks; `live` is the child's part, child_live but for tests.  *procedure is then ready for its first exchange.
 * `order` and what it names are borrowed for the call; its socket and parent are set here.  An exchange ends with
 * EB_BUDGET where no whole request comes within `answer_ms`. */
eb_status process_begin(const eb_host *host, const child_order *order, void (*live)(const child_order *order),
                        long answer_ms, eb_procedure *procedure, eb_error *error);

#endif
