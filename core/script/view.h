/* View: a table that scripts can read but not change, and whose unknown names are errors. */
#ifndef EB_SCRIPT_VIEW_H
#define EB_SCRIPT_VIEW_H

#include "machine.h"

/* Puts a view in the place of the table on top of the stack.  `name` stands in
 * its errors ("math"); empty for the names that a file sees. */
void view_make(lua_State *L, const char *name);

/* Puts a view of a copy in the place of the table on top of the stack, and so with every table inside: what a library
 * gives to authors without giving it away.  Unknown names are nil. */
void view_freeze(lua_State *L, const char *name);

/* Where the value at `index` is a view, pushes the table behind it. */
bool view_open(lua_State *L, int index);

#endif
