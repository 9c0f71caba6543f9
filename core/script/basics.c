#include "environment.h"

#include "classes.h"
#include "convert.h"
#include "keys.h"
#include "source.h"
#include "view.h"

#include <lualib.h>
#include <math.h>

const char *basics_push_text(lua_State *L, int index)
{
  index = lua_absindex(L, index);
  switch (lua_type(L, index)) {
  case LUA_TNIL: return lua_pushliteral(L, "nil");
  case LUA_TBOOLEAN: return lua_pushstring(L, lua_toboolean(L, index) ? "true" : "false");
  case LUA_TSTRING: lua_pushvalue(L, index); return lua_tostring(L, -1);
  case LUA_TNUMBER:
    if (isnan(lua_tonumber(L, index))) /* its sign differs between machines */
      return lua_pushliteral(L, "nan");
    return luaL_tolstring(L, index, NULL);
  default:
    if (convert_is_null(L, index))
      return lua_pushliteral(L, "null");
    return lua_pushstring(L, class_name(L, index));
  }
}

void basics_check_table(lua_State *L, int index, const char *who)
{
  if (lua_type(L, index) != LUA_TTABLE)
    luaL_error(L, "%s: a table is needed, not a %s", who, class_name(L, index));
  if (!lua_getmetatable(L, index))
    return;
  convert_push_array_metatable(L);
  if (!lua_rawequal(L, -1, -2))
    luaL_error(L, "%s: this table cannot be changed", who);
  lua_pop(L, 2);
}

static int basic_tostring(lua_State *L)
{
  luaL_checkany(L, 1);
  basics_push_text(L, 1);
  return 1;
}

/* The end of a budget is not caught: not by this pcall, nor by one around it. */
static int after_pcall(lua_State *L, int status, lua_KContext context)
{
  (void)context;
  script_machine *machine = machine_of(L);
  if (status == LUA_ERRMEM && machine->spent == SPENT_NOTHING)
    machine->spent = SPENT_MEMORY;
  if (machine->spent != SPENT_NOTHING)
    return lua_error(L);
  if (status == LUA_OK || status == LUA_YIELD)
    return lua_gettop(L);
  lua_pushboolean(L, 0);
  lua_insert(L, -2);
  return 2;
}

static int basic_pcall(lua_State *L)
{
  luaL_checkany(L, 1);
  lua_pushboolean(L, 1);
  lua_insert(L, 1);
  int status = lua_pcallk(L, lua_gettop(L) - 2, LUA_MULTRET, 0, 0, after_pcall);
  return after_pcall(L, status, 0);
}

/* Upvalues: the table, the sequence of its keys, the place in that. */
static int next_pair(lua_State *L)
{
  lua_Integer at = lua_tointeger(L, lua_upvalueindex(3));
  do {
    lua_settop(L, 0);
    machine_charge(L, 1);
    if (lua_rawgeti(L, lua_upvalueindex(2), ++at) == LUA_TNIL)
      return 1;
    lua_pushvalue(L, 1);
  } while (lua_rawget(L, lua_upvalueindex(1)) == LUA_TNIL); /* taken out during the walk */
  lua_pushinteger(L, at);
  lua_replace(L, lua_upvalueindex(3));
  return 2;
}

static int basic_pairs(lua_State *L)
{
  luaL_checkany(L, 1);
  lua_settop(L, 1);
  if (view_open(L, 1))
    lua_replace(L, 1);
  else
    basics_check_table(L, 1, "pairs");
  lua_Integer count;
  if (!keys_push(L, 1, &count))
    return luaL_error(L, "pairs: a key is a %s; only numbers and texts have an order", lua_tostring(L, -1));
  lua_pushinteger(L, 0);
  lua_pushcclosure(L, next_pair, 3);
  return 1;
}

static const luaL_Reg own[] = {
    {"pairs", basic_pairs},       {"pcall", basic_pcall}, {"require", source_require_frozen},
    {"tostring", basic_tostring}, {NULL, NULL},
};

void basics_add(lua_State *L)
{
  static const char *const plain[] = {"assert", "error", "ipairs", "rawequal", "rawlen", "select", "type", NULL};
  static const char *const measured[] = {"tonumber", NULL};
  lua_pushcfunction(L, luaopen_base);
  lua_call(L, 0, 1);
  lua_insert(L, -2);
  environment_copy(L, plain);
  environment_copy_charged(L, measured);
  luaL_setfuncs(L, own, 0);
  lua_remove(L, -2);
}
