/* Place: which line of the author's file is at work. */
#ifndef EB_SCRIPT_PLACE_H
#define EB_SCRIPT_PLACE_H

#include "machine.h"

/* Library files are named "lib/NAME.lua"; a procedure's own file has no folder. */
bool place_is_library(const char *name);

/* "v8-coupled.lua:31": the innermost line at work in the procedure's own file,
 * or in a library file. False, and an empty text, where there is none. */
bool place_author(lua_State *L, char place[PLACE_SIZE]);
bool place_library(lua_State *L, char place[PLACE_SIZE]);

/* The author's line, and the library's that is nearest to it: the step of a routine that is at work. Empty where there
 * is none. */
void place_request(lua_State *L, char author[PLACE_SIZE], char step[PLACE_SIZE]);

/* The author's line, else the library's, else the procedure's file. */
void place_any(lua_State *L, char place[PLACE_SIZE]);

/* Raises the formatted text (as lua_pushfstring) at that place. */
int place_fail(lua_State *L, const char *format, ...);

#endif
