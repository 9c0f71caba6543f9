/* Locate: where in a source something is written that only its value was seen of. */
#ifndef EB_SCRIPT_LOCATE_H
#define EB_SCRIPT_LOCATE_H

#include "evenbore/procedure.h"

/* The line of `NAME = ...` in the table that begins on `line` or after it: of the table itself, else of one inside of
 * it.  `line` where there is none. */
int locate_field(const eb_source *source, int line, const char *name);

#endif
