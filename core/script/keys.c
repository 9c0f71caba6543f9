#include "keys.h"

#include "evenbore/text.h"

#include <string.h>

typedef struct table_key {
  const char *string; /* borrowed from the table; NULL: a number */
  size_t size;
  bool whole;
  lua_Integer integer;
  lua_Number number; /* also of an integer, rounded */
} table_key;

static bool key_read(lua_State *L, int index, table_key *key)
{
  memset(key, 0, sizeof *key);
  if (lua_type(L, index) == LUA_TSTRING) {
    key->string = lua_tolstring(L, index, &key->size);
    return true;
  }
  if (lua_type(L, index) != LUA_TNUMBER)
    return false;
  key->whole = lua_isinteger(L, index);
  key->integer = key->whole ? lua_tointeger(L, index) : 0;
  key->number = lua_tonumber(L, index);
  return true;
}

/* A float among the keys is never equal to an integer, but may look so once that is rounded. */
static bool number_before(const table_key *a, const table_key *b)
{
  if (a->whole && b->whole)
    return a->integer < b->integer;
  if (a->number < b->number || a->number > b->number)
    return a->number < b->number;
  return a->whole && !b->whole;
}

static bool key_before(const table_key *a, const table_key *b)
{
  if (a->string == NULL || b->string == NULL)
    return a->string == NULL && (b->string != NULL || number_before(a, b));
  int order = memcmp(a->string, b->string, a->size < b->size ? a->size : b->size);
  return order < 0 || (order == 0 && a->size < b->size);
}

static void swap(table_key *a, table_key *b)
{
  table_key moved = *a;
  *a = *b;
  *b = moved;
}

static void sift(table_key *keys, size_t root, size_t count)
{
  for (size_t child; (child = 2 * root + 1) < count; root = child) {
    if (child + 1 < count && key_before(&keys[child], &keys[child + 1]))
      child++;
    if (!key_before(&keys[root], &keys[child]))
      return;
    swap(&keys[root], &keys[child]);
  }
}

/* A heap, in place: it needs no memory that could run out. Keys are distinct, so stability is no matter. */
static void sort(table_key *keys, size_t count)
{
  for (size_t i = count / 2; i-- > 0;)
    sift(keys, i, count);
  for (size_t last = count; last-- > 1;) {
    swap(&keys[0], &keys[last]);
    sift(keys, 0, last);
  }
}

static size_t count_keys(lua_State *L, int index)
{
  size_t count = 0;
  for (lua_pushnil(L); lua_next(L, index) != 0; lua_pop(L, 1))
    count++;
  return count;
}

static void charge_sort(lua_State *L, size_t count)
{
  size_t rounds = 2;
  for (size_t half = count; half > 1; half /= 2)
    rounds++;
  machine_charge(L, count * rounds);
}

/* Fills `keys`; false leaves a key of another kind on the stack. */
static bool gather(lua_State *L, int index, table_key *keys)
{
  size_t at = 0;
  for (lua_pushnil(L); lua_next(L, index) != 0; lua_pop(L, 1))
    if (!key_read(L, -2, &keys[at++])) {
      lua_pop(L, 1);
      return false;
    }
  return true;
}

static void key_push(lua_State *L, const table_key *key)
{
  if (key->string != NULL)
    lua_pushlstring(L, key->string, key->size);
  else if (key->whole)
    lua_pushinteger(L, key->integer);
  else
    lua_pushnumber(L, key->number);
}

bool keys_push(lua_State *L, int index, lua_Integer *count)
{
  index = lua_absindex(L, index);
  luaL_checkstack(L, 6, NULL);
  size_t found = count_keys(L, index);
  charge_sort(L, found);
  table_key *keys = lua_newuserdatauv(L, (found + 1) * sizeof *keys, 0);
  if (!gather(L, index, keys)) {
    lua_pushstring(L, luaL_typename(L, -1));
    lua_replace(L, -3);
    lua_pop(L, 1);
    return false;
  }
  sort(keys, found);
  lua_createtable(L, (int)found, 0);
  for (size_t i = 0; i < found; i++) {
    key_push(L, &keys[i]);
    lua_rawseti(L, -2, (lua_Integer)i + 1);
  }
  lua_remove(L, -2);
  *count = (lua_Integer)found;
  return true;
}

enum { NAMES_MAX = 256, UNITS_PER_NAME = 100 };

void keys_push_nearest_of(lua_State *L, int sequence, const char *word)
{
  const char *names[NAMES_MAX];
  size_t count = 0;
  sequence = lua_absindex(L, sequence);
  luaL_checkstack(L, 2, NULL);
  for (lua_Integer i = 1; count < NAMES_MAX && lua_rawgeti(L, sequence, i) != LUA_TNIL; i++) {
    if (lua_type(L, -1) == LUA_TSTRING)
      names[count++] = lua_tostring(L, -1); /* the sequence holds it */
    lua_pop(L, 1);
  }
  lua_settop(L, lua_gettop(L) - (count < NAMES_MAX ? 1 : 0));
  machine_charge(L, count * UNITS_PER_NAME);
  const char *nearest = eb_nearest(word, names, count);
  if (nearest == NULL)
    lua_pushnil(L);
  else
    lua_pushstring(L, nearest);
}

void keys_push_nearest(lua_State *L, int index, const char *word)
{
  lua_Integer count;
  if (!keys_push(L, index, &count)) {
    lua_pop(L, 1);
    lua_pushnil(L);
    return;
  }
  keys_push_nearest_of(L, -1, word);
  lua_remove(L, -2);
}
