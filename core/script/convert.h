/* Convert: Lua values to JSON and back. */
#ifndef EB_SCRIPT_CONVERT_H
#define EB_SCRIPT_CONVERT_H

#include "machine.h"

/* Makes the metatable of marked arrays; it has no events. */
void convert_open(lua_State *L);
void convert_push_array_metatable(lua_State *L);

/* JSON's null, as core.null. */
void convert_push_null(lua_State *L);
bool convert_is_null(lua_State *L, int index);

/* Turns the table at `index` into the machine's request: members in byte order
 * of their keys, a table with the keys 1 to n as an array, an empty one as an object
 * unless it is a marked array.  What JSON cannot say is raised at the author's line: functions, texts that
 * are not UTF-8, numbers that are not finite or not exact, holes, more than 16 levels, more than
 * EB_PROCEDURE_REQUEST_MAX bytes. */
void convert_to_request(lua_State *L, int index);

/* Pushes a value: objects without their null members, arrays marked, whole numbers as integers. */
void convert_push(lua_State *L, const eb_json *value);

#endif
