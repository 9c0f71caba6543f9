/* Guard: refuses sources that Lua's parser must not see. */
#ifndef EB_SCRIPT_GUARD_H
#define EB_SCRIPT_GUARD_H

#include "machine.h"

/* Raises "name:line: ..." for a source that is not text, or whose expressions are so long
 * that Lua would take quadratic time over them or run out of C stack; takes a byte order mark off. */
void guard_check(lua_State *L, eb_source *source);

#endif
