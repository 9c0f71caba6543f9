/* Declared: what a bundle's manifest tells, against what its procedure itself declares. */
#ifndef EVENBORE_DECLARED_H
#define EVENBORE_DECLARED_H

#include "evenbore/bundle.h"
#include "evenbore/json.h"

/* The next part that the two do not have alike, from *at on, which begins at 0: "id", "version", "title", "api",
 * "layout" (one is declared that the manifest does not have) or "hazards" (the same); static. NULL: no other. */
const char *eb_declared_otherwise(const eb_manifest *manifest, const eb_json *declare, size_t *at);

#endif
