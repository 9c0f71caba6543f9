/* Claims: the figures of rehearsals as a bundle carries them. */
#ifndef EVENBORE_CLAIMS_H
#define EVENBORE_CLAIMS_H

#include "load.h"
#include "run.h"

#include "evenbore/bundle.h"

/* Rehearses by the options --engines, --seed, --jobs, --faults and --quiet; what is not given is as in `usual`, or,
 * where that is NULL, 200 engines from the first one on, without faults.  `declare` is the procedure's own, for
 * tolerance and risk.  *figures borrows from the options and from `usual`.  What the command line has wrong is
 * EB_BAD_VALUE. */
eb_status eb_claims_make(const eb_run *run, const eb_loaded *loaded, const eb_json *declare,
                         const eb_bundle_figures *usual, eb_bundle_figures *figures, eb_error *error);

/* A line a figure; with `other` a second column beside it, and a ! before a line where the two differ. */
void eb_claims_say(eb_page *page, const char *head, const eb_bundle_figures *figures, const char *other_head,
                   const eb_bundle_figures *other);

#endif
