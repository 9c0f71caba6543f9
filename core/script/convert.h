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

/* A member that a request gets where it has none of that name; an empty text is left out. Both borrowed. */
typedef struct convert_place {
  const char *key, *text;
} convert_place;

/* Turns the table at `index` into the machine's request: members in byte order of their keys, `places` (NULL, or in
 * that order too, ended by a NULL key) among them.  A table with the keys 1 to n is an array, an empty one an object
 * unless it is a marked array.  What JSON cannot say is raised at the author's line: functions, texts that are not
 * UTF-8, numbers that are not finite or not exact, holes, more than 16 levels, more than EB_PROCEDURE_REQUEST_MAX
 * bytes. */
void convert_to_request(lua_State *L, int index, const convert_place *places);

/* Pushes a value: objects without their null members, arrays marked, whole numbers as integers. */
void convert_push(lua_State *L, const eb_json *value);

#endif
