/* Process: this program's end of one that is locked in: a run's, or a cell's. */
#ifndef EB_SCRIPT_PROCESS_H
#define EB_SCRIPT_PROCESS_H

#include "child.h"
#include "frame.h"

typedef struct process process;

/* Forks; `live` is the child's part, child_live for a run.  `order` and what it names are borrowed for the call; its
 * socket and parent are set here. */
eb_status process_open(const eb_host *host, const child_order *order, void (*live)(const child_order *order),
                       long answer_ms, process **opened, eb_error *error);

/* What goes to and fro; borrowed. */
frame *process_frame(process *p);

/* Sends the frame, where there is something to be said, and waits for one of the kind FRAME_REQUEST, whose bytes are
 * whatever came.  EB_BUDGET where no whole one comes within `answer_ms`; the statuses of eb_procedure's exchange. */
eb_status process_exchange(process *p, bool sends, eb_error *error);

/* Ends it. */
void process_close(process *p);

/* process_open for a run: *procedure is then ready for its first exchange. */
eb_status process_begin(const eb_host *host, const child_order *order, void (*live)(const child_order *order),
                        long answer_ms, eb_procedure *procedure, eb_error *error);

#endif
