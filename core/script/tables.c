#include "environment.h"

#include "convert.h"
#include "view.h"

enum { VALUES_MAX = 250 };

static lua_Integer check_sequence(lua_State *L, const char *who)
{
  luaL_checkany(L, 1);
  basics_check_table(L, 1, who);
  return (lua_Integer)lua_rawlen(L, 1);
}

/* The same for what only reads, which a view allows. */
static lua_Integer check_readable(lua_State *L, const char *who)
{
  luaL_checkany(L, 1);
  if (view_open(L, 1))
    lua_replace(L, 1);
  return check_sequence(L, who);
}

/* (table, value) or (table, position, value) */
static int table_insert(lua_State *L)
{
  lua_Integer size = check_sequence(L, "table.insert");
  int count = lua_gettop(L);
  if (count < 2 || count > 3)
    return luaL_error(L, "table.insert: a table, perhaps a position, and a value are needed");
  lua_Integer position = count == 2 ? size + 1 : luaL_checkinteger(L, 2);
  if (position < 1 || position > size + 1)
    return luaL_error(L, "table.insert: position %I is outside of 1 to %I", position, size + 1);
  machine_charge(L, 1 + (size_t)(size - position + 1));
  for (lua_Integer i = size; i >= position; i--) {
    lua_rawgeti(L, 1, i);
    lua_rawseti(L, 1, i + 1);
  }
  lua_settop(L, count);
  lua_rawseti(L, 1, position);
  return 0;
}

static int table_remove(lua_State *L)
{
  lua_Integer size = check_sequence(L, "table.remove");
  lua_Integer position = luaL_optinteger(L, 2, size);
  if (size == 0 && (position == 0 || position == 1))
    return 0;
  if (position < 1 || position > size)
    return luaL_error(L, "table.remove: position %I is outside of 1 to %I", position, size);
  machine_charge(L, 1 + (size_t)(size - position));
  lua_rawgeti(L, 1, position);
  for (lua_Integer i = position; i < size; i++) {
    lua_rawgeti(L, 1, i + 1);
    lua_rawseti(L, 1, i);
  }
  lua_pushnil(L);
  lua_rawseti(L, 1, size);
  return 1;
}

/* The sum of the lengths first, so that a text that is too long costs nothing. */
static void check_pieces(lua_State *L, lua_Integer first, lua_Integer last, size_t gap)
{
  size_t total = 0;
  size_t limit = machine_of(L)->limits.string;
  for (lua_Integer i = first; i <= last; i++) {
    machine_charge(L, 1);
    int type = lua_rawgeti(L, 1, i);
    if (type == LUA_TNIL)
      luaL_error(L, "table.concat: there is no element %I", i);
    if (type != LUA_TSTRING && type != LUA_TNUMBER)
      luaL_error(L, "table.concat: element %I is a %s; texts and numbers can be joined", i, luaL_typename(L, -1));
    total += (i > first ? gap : 0) + (type == LUA_TSTRING ? lua_rawlen(L, -1) : 1);
    if (total > limit)
      luaL_error(L, "table.concat: the text would be longer than %d bytes", (int)limit);
    lua_pop(L, 1);
    if (i == last) /* no step beyond the greatest integer */
      break;
  }
  machine_charge(L, total / 8);
}

static int table_concat(lua_State *L)
{
  lua_Integer size = check_readable(L, "table.concat");
  size_t gap;
  const char *between = luaL_optlstring(L, 2, "", &gap);
  lua_Integer first = luaL_optinteger(L, 3, 1);
  lua_Integer last = luaL_optinteger(L, 4, size);
  lua_settop(L, 2);
  check_pieces(L, first, last, gap);
  luaL_Buffer buffer;
  luaL_buffinit(L, &buffer);
  for (lua_Integer i = first; i <= last; i++) {
    if (i > first)
      luaL_addlstring(&buffer, between, gap);
    lua_rawgeti(L, 1, i);
    luaL_addvalue(&buffer);
    if (i == last)
      break;
  }
  luaL_pushresult(&buffer);
  return 1;
}

static int table_unpack(lua_State *L)
{
  lua_Integer size = check_readable(L, "table.unpack");
  lua_Integer first = luaL_optinteger(L, 2, 1);
  lua_Integer last = luaL_optinteger(L, 3, size);
  if (first > last)
    return 0;
  lua_Unsigned count = (lua_Unsigned)last - (lua_Unsigned)first;
  if (count >= VALUES_MAX)
    return luaL_error(L, "table.unpack: too many values at once; at most %d", VALUES_MAX);
  luaL_checkstack(L, VALUES_MAX, NULL);
  for (lua_Unsigned i = 0; i <= count; i++)
    lua_rawgeti(L, 1, (lua_Integer)((lua_Unsigned)first + i));
  return (int)count + 1;
}

/* Whether the element on top must come before the one below it; pops neither. */
static bool must_precede(lua_State *L)
{
  machine_charge(L, 4);
  if (lua_isnil(L, 2))
    return lua_compare(L, -1, -2, LUA_OPLT);
  lua_pushvalue(L, 2);
  lua_pushvalue(L, -2);
  lua_pushvalue(L, -4);
  lua_call(L, 2, 1);
  bool before = lua_toboolean(L, -1);
  lua_pop(L, 1);
  return before;
}

/* Merges [left, middle) and [middle, right) of the table at `from` into the one at `to`; counted from 1. */
static void merge(lua_State *L, int from, int to, lua_Integer left, lua_Integer middle, lua_Integer right)
{
  lua_Integer i = left;
  lua_Integer j = middle;
  for (lua_Integer k = left; k < right; k++) {
    bool second = i >= middle;
    if (!second && j < right) {
      lua_rawgeti(L, from, i);
      lua_rawgeti(L, from, j);
      second = must_precede(L); /* only then: equal elements keep their order */
      lua_pop(L, 2);
    }
    lua_rawgeti(L, from, second ? j++ : i++);
    lua_rawseti(L, to, k);
  }
}

static void copy(lua_State *L, int from, int to, lua_Integer size)
{
  for (lua_Integer i = 1; i <= size; i++) {
    lua_rawgeti(L, from, i);
    lua_rawseti(L, to, i);
  }
}

/* Stable; the table stays as it was when a comparison raises. */
static int table_sort(lua_State *L)
{
  lua_Integer size = check_sequence(L, "table.sort");
  lua_settop(L, 2);
  if (!lua_isnil(L, 2))
    luaL_checktype(L, 2, LUA_TFUNCTION);
  machine_charge(L, 1 + 2 * (size_t)size);
  lua_createtable(L, (int)size, 0);
  lua_createtable(L, (int)size, 0);
  int from = 3;
  int to = 4;
  copy(L, 1, from, size);
  for (lua_Integer width = 1; width < size; width *= 2) {
    for (lua_Integer left = 1; left <= size; left += 2 * width) {
      lua_Integer middle = left + width <= size ? left + width : size + 1;
      lua_Integer right = middle + width <= size ? middle + width : size + 1;
      merge(L, from, to, left, middle, right);
    }
    int other = from;
    from = to;
    to = other;
  }
  copy(L, from, 1, size);
  return 0;
}

static const luaL_Reg own[] = {
    {"concat", table_concat}, {"insert", table_insert}, {"remove", table_remove},
    {"sort", table_sort},     {"unpack", table_unpack}, {NULL, NULL},
};

void tables_push(lua_State *L)
{
  lua_createtable(L, 0, 5);
  luaL_setfuncs(L, own, 0);
  view_make(L, "table");
}
