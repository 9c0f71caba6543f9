/* Scratch: a host whose files are kept in memory and whose clock on the wall is moved by hand.
 *
 * For sessions that are to leave nothing behind: a rehearsal writes its
 * journal there, with the code that writes one to a disk.  Memory, processor time and the clock that limits are
 * measured by are those of the host that it was made with.  One thread at a time. */
#ifndef EVENBORE_SCRATCH_H
#define EVENBORE_SCRATCH_H

#include "evenbore/host.h"
#include "evenbore/status.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef struct eb_scratch eb_scratch;

enum { EB_SCRATCH_FILES = 32 }; /* at most, and as many open at once */

/* Empty, its clock at 2000-01-01T08:00:00Z.  Every path is one name, of at most 63 bytes, in the one folder ".".
 * `host` must outlive it. EB_OUT_OF_MEMORY. */
eb_status eb_scratch_create(const eb_host *host, eb_scratch **scratch, eb_error *error);
void eb_scratch_destroy(eb_scratch *scratch); /* NULL is allowed */

/* Borrowed for as long as the scratch lives. */
const eb_host *eb_scratch_host(const eb_scratch *scratch);

/* Sets the clock, minutes since it was made. */
void eb_scratch_set_time(eb_scratch *scratch, double minutes);

#ifdef __cplusplus
}
#endif
#endif
