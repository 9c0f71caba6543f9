/* Keys: the keys of a table in an order that is the same on every run. */
#ifndef EB_SCRIPT_KEYS_H
#define EB_SCRIPT_KEYS_H

#include "machine.h"

/* Pushes a sequence of the keys of the table at `index`: numbers ascending, then
 * strings in byte order; *count tells how many.  Where there is a key of another kind, false,
 * and the name of its type is pushed instead. */
bool keys_push(lua_State *L, int index, lua_Integer *count);

/* Pushes the string among the keys of the table at `index` that is nearest to `word`; nil where there is none. */
void keys_push_nearest(lua_State *L, int index, const char *word);

/* The same among the strings that are the elements of a sequence. */
void keys_push_nearest_of(lua_State *L, int sequence, const char *word);

#endif
