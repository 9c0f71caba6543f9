/* Earlier: what the last session about a kept engine leaves for its next one. */
#ifndef EVENBORE_EARLIER_H
#define EVENBORE_EARLIER_H

#include "given.h"

/* For the engine's file of `given`: what eb_known_make makes of its newest session that is over, whole and its own;
 * NULL where there is none, or no kept engine is meant. Sessions that are passed over are named on standard error, with
 * the reason.  Owned by the caller.  EB_OUT_OF_MEMORY, and what a folder that cannot be read gives. */
eb_status eb_earlier_known(const eb_run *run, const eb_given *given, eb_json **known, eb_error *error);

#endif
