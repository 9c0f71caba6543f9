/* Classes: the objects that library files make for authors, and calls from the author's file into a library's. */
#ifndef EB_SCRIPT_CLASSES_H
#define EB_SCRIPT_CLASSES_H

#include "machine.h"

/* The word for the value's kind: that of its class, or its type. */
const char *class_name(lua_State *L, int index);

/* Replaces the Lua function on top of the stack by one that calls it and keeps
 * the caller's line findable: a tail call to a C function leaves the caller's frame, one to a Lua function does not. */
void class_wrap(lua_State *L);

/* core.class(name, methods) */
int core_class(lua_State *L);

/* core.kind(value) */
int core_kind(lua_State *L);

#endif
