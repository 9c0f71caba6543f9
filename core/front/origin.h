/* Origin: where a procedure from another shop comes from, as a session keeps it among its inputs:
 *
 *   {"id", "version", "revision", "digest" (the bundle's), "maker", "key", "fingerprint", "standing" (trusted, not
 *   trusted), "cautions"? (what an untrusted one has to be told about before the job begins)} */
#ifndef EVENBORE_ORIGIN_H
#define EVENBORE_ORIGIN_H

#include "load.h"
#include "run.h"

#include "evenbore/session.h"

/* Of a procedure that was loaded; *origin is NULL where it is from no bundle, else owned by the caller.
 * EB_REVOKED: its key is; EB_BAD_MANIFEST: the bundle tells something else than its procedure declares (declared.h). */
eb_status eb_origin_make(const eb_run *run, const eb_loaded *loaded, const eb_json *declare, eb_json **origin,
                         eb_error *error);

/* After a session was led: EB_UNTRUSTED where its origin has cautions that nobody acknowledged, so that nothing was
 * done yet.  `path` is its journal's. */
eb_status eb_origin_check(const eb_run *run, const eb_session *session, const char *path, eb_error *error);

/* When a session goes on: what has become of its procedure's bundle and maker meanwhile, on standard error.  The job
 * goes by the source in its record in any case. */
void eb_origin_remark(const eb_run *run, const eb_session *session);

/* "Bench Nine, twin@1.0.0 revision 3, trusted" of a session's inputs; empty where there is no origin. */
const char *eb_origin_words(const eb_json *inputs, char *text, size_t size);

#endif
