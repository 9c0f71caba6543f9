/* Inspect: what the command `inspect` tells of a bundle, part by part. */
#ifndef EVENBORE_INSPECT_H
#define EVENBORE_INSPECT_H

#include "meaning.h"
#include "run.h"

#include "evenbore/bundle.h"

typedef struct eb_inspect {
  const eb_run *run;
  const char *path; /* as given */
  eb_page page;
  eb_bundle bundle, before; /* `before`: what it is compared with; all zero where there is nothing */
  char before_words[160];   /* "revision 2 on your shelf" */
} eb_inspect;

/* What changed against `before`: by meaning, then line by line. EB_OUT_OF_MEMORY. */
eb_status eb_inspect_changes(eb_inspect *inspect, eb_error *error);

/* Writes what other programs need to check a bundle into a new folder:
 *
 *   signed      the bytes that its signature is over
 *   signature   its 64 bytes
 *   maker.pem   the public key, as SubjectPublicKeyInfo
 *   SHA256SUMS  the digests of the sources, as the manifest has them
 *
 * and the sources by their names.  EB_EXISTS where something lies at `folder`; file.h's statuses. */
eb_status eb_inspect_take_apart(const eb_run *run, const eb_bundle *bundle, const char *folder, eb_error *error);

#endif
