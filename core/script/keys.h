/* Keys: the keys of a table in an order that is the same on every run. */
#ifndef EB_SCRIPT_KEYS_H
#define EB_SCRIPT_KEYS_H

#include "machine.h"

typedef struct table_key {
  const char *string; /* borrowed from the table; NULL: a number */
  size_t size;
  bool whole;
  lua_Integer integer;
  lua_Number number; /* also of an integer, rounded */
} table_key;

enum { KEYS_FEW = 24 };

/* The keys of the table at `index`: numbers ascending, then strings in byte order.  They are good until the table
 * changes, and lie in `few`, or where there are more of them in a block that is pushed (else nil is).  Where there is a
 * key of another kind, NULL, and the name of its type is pushed. */
const table_key *keys_sorted(lua_State *L, int index, table_key few[KEYS_FEW], size_t *count);
void keys_push_one(lua_State *L, const table_key *key);

/* Pushes a sequence of the same keys; *count tells how many.  Where there is a key of another kind, false, and the name
 * of its type is pushed instead. */
bool keys_push(lua_State *L, int index, lua_Integer *count);

/* Pushes the string among the keys of the table at `index` that is nearest to `word`; nil where there is none. */
void keys_push_nearest(lua_State *L, int index, const char *word);

/* The same among the strings that are the elements of a sequence. */
void keys_push_nearest_of(lua_State *L, int sequence, const char *word);

#endif
