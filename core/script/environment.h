/* Environment: the names that a procedure and a library file see. */
#ifndef EB_SCRIPT_ENVIRONMENT_H
#define EB_SCRIPT_ENVIRONMENT_H

#include "machine.h"

/* Builds it in a fresh state, and leaves nothing of Lua's own libraries reachable. */
void environment_open(lua_State *L);

/* Pushes what a chunk gets for its globals. */
void environment_push(lua_State *L, bool library);

/* Pushes the table behind the procedure's globals, which libraries add to. */
void environment_push_names(lua_State *L);

/* Fill the table on top of the stack, or push one: environment_open's parts. */
void basics_add(lua_State *L);
void strings_push(lua_State *L); /* and gives it to the strings' metatable */
void tables_push(lua_State *L);

/* Pushes the text of the value at `index`: never an address. */
const char *basics_push_text(lua_State *L, int index);

/* Where the value at `index` is not a plain table, raises; `who` is "table.insert". */
void basics_check_table(lua_State *L, int index, const char *who);

/* Copies the named members (ended by NULL) of the table below the top into the table on top. */
void environment_copy(lua_State *L, const char *const *names);

/* The same, each charged for the length of its first text. */
void environment_copy_charged(lua_State *L, const char *const *names);

#endif
