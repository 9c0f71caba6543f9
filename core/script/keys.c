#include "keys.h"

#include "evenbore/text.h"

#include <string.h>

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
static void sort_many(table_key *keys, size_t count)
{
  for (size_t i = count / 2; i-- > 0;)
    sift(keys, i, count);
  for (size_t last = count; last-- > 1;) {
    swap(&keys[0], &keys[last]);
    sift(keys, 0, last);
  }
}

static void sort_few(table_key *keys, size_t count)
{
  for (size_t i = 1; i < count; i++) {
    table_key moved = keys[i];
    size_t at = i;
    for (; at > 0 && key_before(&moved, &keys[at - 1]); at--)
      keys[at] = keys[at - 1];
    keys[at] = moved;
  }
}

static void charge_sort(lua_State *L, size_t count)
{
  size_t rounds = 2;
  for (size_t half = count; half > 1; half /= 2)
    rounds++;
  machine_charge(L, count * rounds);
}

/* Fills `keys` as far as there is room, and counts all.  Gives the type of a key of another kind; NULL: there is none.
 */
static const char *gather(lua_State *L, int index, table_key *keys, size_t room, size_t *count)
{
  const char *other = NULL;
  table_key beyond;
  size_t at = 0;
  for (lua_pushnil(L); lua_next(L, index) != 0; at++) {
    lua_pop(L, 1);
    if (!key_read(L, -1, at < room ? &keys[at] : &beyond) && other == NULL)
      other = luaL_typename(L, -1);
  }
  *count = at;
  return other;
}

const table_key *keys_sorted(lua_State *L, int index, table_key few[KEYS_FEW], size_t *count)
{
  index = lua_absindex(L, index);
  luaL_checkstack(L, 6, NULL);
  const char *other = gather(L, index, few, KEYS_FEW, count);
  charge_sort(L, *count);
  if (other != NULL) {
    lua_pushstring(L, other);
    return NULL;
  }
  if (*count <= KEYS_FEW) {
    lua_pushnil(L);
    sort_few(few, *count);
    return few;
  }
  table_key *keys = lua_newuserdatauv(L, *count * sizeof *keys, 0);
  gather(L, index, keys, *count, count);
  sort_many(keys, *count);
  return keys;
}

void keys_push_one(lua_State *L, const table_key *key)
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
  table_key few[KEYS_FEW];
  size_t found;
  const table_key *keys = keys_sorted(L, index, few, &found);
  if (keys == NULL)
    return false;
  lua_createtable(L, (int)found, 0);
  for (size_t i = 0; i < found; i++) {
    keys_push_one(L, &keys[i]);
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
