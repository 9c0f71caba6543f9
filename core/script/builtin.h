/* Builtin: the sources that scripts/embed.cmake puts into the program. */
#ifndef EB_SCRIPT_BUILTIN_H
#define EB_SCRIPT_BUILTIN_H

#include "evenbore/procedure.h"

/* Sorted by name, ended by a source without one. */
extern const eb_source builtin_procedures[];
extern const eb_source builtin_library[];

#endif
