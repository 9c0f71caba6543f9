#include "classes.h"

#include "keys.h"
#include "place.h"

static const char class_field[] = "eb.class";

const char *class_name(lua_State *L, int index)
{
  if (luaL_getmetafield(L, index, class_field) == LUA_TNIL)
    return luaL_typename(L, index);
  const char *name = lua_tostring(L, -1); /* the metatable holds it */
  lua_pop(L, 1);
  return name;
}

static int finish_call(lua_State *L, int status, lua_KContext context)
{
  (void)status;
  (void)context;
  return lua_gettop(L);
}

static int call_wrapped(lua_State *L)
{
  lua_pushvalue(L, lua_upvalueindex(1));
  lua_insert(L, 1);
  lua_callk(L, lua_gettop(L) - 1, LUA_MULTRET, 0, finish_call);
  return lua_gettop(L);
}

void class_wrap(lua_State *L)
{
  lua_pushcclosure(L, call_wrapped, 1);
}

/* Upvalues: the function, the class's metatable, the call's name. */
static int call_method(lua_State *L)
{
  if (!lua_getmetatable(L, 1) || !lua_rawequal(L, -1, lua_upvalueindex(2))) {
    const char *name = lua_tostring(L, lua_upvalueindex(3));
    return place_fail(L, "%s is called with a colon: %s(...)", name, name);
  }
  lua_pop(L, 1);
  return call_wrapped(L);
}

/* Stack: the object, the name, the object's fields. */
static int refuse_member(lua_State *L, const char *class)
{
  if (lua_type(L, 2) != LUA_TSTRING)
    return place_fail(L, "%s: what is asked for must be a name, not a %s", class, luaL_typename(L, 2));
  const char *name = lua_tostring(L, 2);
  keys_push_nearest(L, lua_upvalueindex(1), name);
  if (!lua_isnil(L, -1))
    return place_fail(L, "%s:%s: there is no such call; did you mean %s:%s?", class, name, class, lua_tostring(L, -1));
  keys_push_nearest(L, 3, name);
  if (!lua_isnil(L, -1))
    return place_fail(L, "%s.%s: there is no such field; did you mean %s.%s?", class, name, class, lua_tostring(L, -1));
  return place_fail(L, "%s has nothing named %s", class, name);
}

/* Whether a line of a library file looks for the member. */
static bool asked_by_library(lua_State *L)
{
  lua_Debug frame;
  if (!lua_getstack(L, 1, &frame))
    return false;
  lua_getinfo(L, "S", &frame);
  return frame.source[0] == '=' && place_is_library(frame.source + 1);
}

/* (object, name); upvalues: the methods, the class's name */
static int find_member(lua_State *L)
{
  lua_pushvalue(L, 2);
  if (lua_rawget(L, lua_upvalueindex(1)) != LUA_TNIL)
    return 1;
  lua_settop(L, 2);
  lua_getiuservalue(L, 1, 1);
  lua_pushvalue(L, 2);
  int type = lua_rawget(L, 3);
  if (type == LUA_TTABLE && !asked_by_library(L)) /* an author could change it */
    return place_fail(L, "%s.%s is the library's own", lua_tostring(L, lua_upvalueindex(2)), lua_tostring(L, 2));
  if (type != LUA_TNIL)
    return 1;
  return refuse_member(L, lua_tostring(L, lua_upvalueindex(2)));
}

static int refuse_field(lua_State *L)
{
  const char *key = lua_type(L, 2) == LUA_TSTRING ? lua_tostring(L, 2) : "...";
  return place_fail(L, "%s.%s cannot be set", lua_tostring(L, lua_upvalueindex(1)), key);
}

/* Pushes the methods of argument 2, each made into a call that checks its object. */
static void push_methods(lua_State *L, int metatable)
{
  lua_Integer count;
  if (!keys_push(L, 2, &count))
    luaL_error(L, "core.class: a method's name is a %s", lua_tostring(L, -1));
  int keys = lua_gettop(L);
  lua_createtable(L, 0, (int)count);
  for (lua_Integer i = 1; i <= count; i++) {
    lua_rawgeti(L, keys, i);
    lua_pushvalue(L, -1);
    lua_rawget(L, 2);
    if (!lua_isfunction(L, -1) || lua_type(L, -2) != LUA_TSTRING)
      luaL_error(L, "core.class: methods are functions under names");
    lua_pushvalue(L, metatable);
    lua_pushfstring(L, "%s:%s", lua_tostring(L, 1), lua_tostring(L, -3));
    lua_pushcclosure(L, call_method, 3);
    lua_rawset(L, -3);
  }
  lua_remove(L, keys);
}

/* (fields); the class's metatable is upvalue 1 */
static int new_object(lua_State *L)
{
  lua_settop(L, 1);
  if (lua_isnil(L, 1))
    lua_createtable(L, 0, 0);
  else
    luaL_checktype(L, 1, LUA_TTABLE);
  lua_newuserdatauv(L, 0, 1);
  lua_pushvalue(L, lua_upvalueindex(1));
  lua_setmetatable(L, -2);
  lua_insert(L, -2);
  lua_setiuservalue(L, -2, 1);
  return 1;
}

int core_class(lua_State *L)
{
  luaL_checkstring(L, 1);
  luaL_checktype(L, 2, LUA_TTABLE);
  lua_settop(L, 2);
  lua_createtable(L, 0, 3);
  lua_pushvalue(L, 1);
  lua_setfield(L, 3, class_field);
  push_methods(L, 3);
  lua_pushvalue(L, 1);
  lua_pushcclosure(L, find_member, 2);
  lua_setfield(L, 3, "__index");
  lua_pushvalue(L, 1);
  lua_pushcclosure(L, refuse_field, 1);
  lua_setfield(L, 3, "__newindex");
  lua_pushcclosure(L, new_object, 1);
  return 1;
}

int core_kind(lua_State *L)
{
  luaL_checkany(L, 1);
  lua_settop(L, 1);
  if (luaL_getmetafield(L, 1, class_field) == LUA_TNIL)
    lua_pushnil(L);
  return 1;
}
