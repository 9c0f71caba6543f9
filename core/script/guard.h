/* Guard: refuses sources that Lua's parser must not see. */
#ifndef EB_SCRIPT_GUARD_H
#define EB_SCRIPT_GUARD_H

#include "machine.h"

/* Raises "name:line: ..." for a source that is not plain UTF-8 text, that hides
 * or reorders what a reader sees, or whose expressions are so long that Lua would take
 * quadratic time or run out of C stack over them.  Takes a byte order mark off. */
void guard_check(lua_State *L, eb_source *source);

#endif
