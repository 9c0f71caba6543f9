#include "view.h"

#include "keys.h"

#include <string.h>

enum { LEVELS_MAX = 16 };

/* Names of ordinary Lua that are missing on purpose, and what serves instead. */
static const struct {
  const char *name, *remedy;
} absent[] = {
    {"print", "job:tell{...} shows a text to the technician"},
    {"next", "use pairs"},
    {"xpcall", "use pcall"},
    {"setmetatable", "a procedure has plain tables only"},
    {"getmetatable", "a procedure has plain tables only"},
    {"os", "a procedure has no access to the machine that it runs on"},
    {"io", "a procedure has no access to the machine that it runs on"},
    {"string.match", "there are no patterns: use find, split, trim or sub"},
    {"string.gmatch", "there are no patterns: use split"},
    {"string.gsub", "there are no patterns: use split and table.concat"},
    {"math.random", "a procedure does the same on every run"},
};

static const char *remedy(const char *name)
{
  for (size_t i = 0; i < sizeof absent / sizeof absent[0]; i++)
    if (strcmp(absent[i].name, name) == 0)
      return absent[i].remedy;
  return NULL;
}

/* Pushes "math.floor", or "tostring" where the view's name is empty. */
static const char *push_full(lua_State *L, const char *view, const char *name)
{
  return *view == '\0' ? lua_pushstring(L, name) : lua_pushfstring(L, "%s.%s", view, name);
}

/* (table, name); the view's name is upvalue 1 */
static int unknown_name(lua_State *L)
{
  const char *view = lua_tostring(L, lua_upvalueindex(1));
  if (lua_type(L, 2) != LUA_TSTRING)
    return luaL_error(L, "%s: what is asked for must be a name, not a %s", view, luaL_typename(L, 2));
  const char *name = lua_tostring(L, 2);
  const char *full = push_full(L, view, name);
  if (remedy(full) != NULL)
    return luaL_error(L, "there is no %s here; %s", full, remedy(full));
  keys_push_nearest(L, 1, name);
  if (!lua_isnil(L, -1))
    return luaL_error(L, "there is no %s here; did you mean %s?", full, push_full(L, view, lua_tostring(L, -1)));
  if (*view != '\0')
    return luaL_error(L, "there is no %s here", full);
  return luaL_error(L, "there is no %s here; a name of your own begins with: local %s", full, full);
}

/* (table, name, value); the view's name is upvalue 1 */
static int refuse_write(lua_State *L)
{
  const char *view = lua_tostring(L, lua_upvalueindex(1));
  const char *name = lua_type(L, 2) == LUA_TSTRING ? lua_tostring(L, 2) : "...";
  if (*view != '\0')
    return luaL_error(L, "%s.%s cannot be changed", view, name);
  return luaL_error(L, "%s cannot be set here; a name of your own begins with: local %s", name, name);
}

static void set_handler(lua_State *L, const char *event, lua_CFunction handler, const char *name)
{
  lua_pushstring(L, name);
  lua_pushcclosure(L, handler, 1);
  lua_setfield(L, -2, event);
}

/* The view over the table on top, which it takes off. */
static void push_over(lua_State *L, const char *name)
{
  lua_createtable(L, 0, 0);
  lua_createtable(L, 0, 3);
  set_handler(L, "__newindex", refuse_write, name);
  lua_pushboolean(L, 1);
  lua_setfield(L, -2, "eb.view");
  lua_pushvalue(L, -3);
  lua_setfield(L, -2, "__index");
  lua_setmetatable(L, -2);
  lua_remove(L, -2);
}

void view_make(lua_State *L, const char *name)
{
  if (!lua_getmetatable(L, -1)) {
    lua_createtable(L, 0, 1);
    set_handler(L, "__index", unknown_name, name);
  }
  lua_setmetatable(L, -2);
  push_over(L, name);
}

static int length_behind(lua_State *L)
{
  lua_pushinteger(L, (lua_Integer)lua_rawlen(L, lua_upvalueindex(1)));
  return 1;
}

static void freeze(lua_State *L, const char *name, int done, int level);

/* Copies what is in the table at `from` into the one at `to`. */
static void copy_frozen(lua_State *L, const char *name, int from, int to, int done, int level)
{
  for (lua_pushnil(L); lua_next(L, from) != 0;) {
    if (lua_type(L, -1) == LUA_TTABLE)
      freeze(L, name, done, level + 1);
    lua_pushvalue(L, -2);
    lua_insert(L, -2);
    lua_rawset(L, to);
  }
  if (lua_getmetatable(L, from)) /* a list stays one also while it is empty */
    lua_setmetatable(L, to);
}

/* `done` is a table of the views of tables that were met: two ways to one table stay so, and a circle ends. */
static void freeze(lua_State *L, const char *name, int done, int level)
{
  luaL_checkstack(L, 12, NULL);
  int from = lua_gettop(L);
  if (level > LEVELS_MAX)
    luaL_error(L, "%s: more than %d tables inside one another", name, LEVELS_MAX);
  if (view_open(L, from)) {
    lua_settop(L, from);
    return;
  }
  lua_pushvalue(L, from);
  if (lua_rawget(L, done) == LUA_TNIL) {
    lua_settop(L, from);
    lua_createtable(L, 0, 0);
    lua_pushvalue(L, -1);
    push_over(L, name);
    lua_getmetatable(L, -1);
    lua_pushvalue(L, from + 1);
    lua_pushcclosure(L, length_behind, 1);
    lua_setfield(L, -2, "__len");
    lua_pop(L, 1);
    lua_pushvalue(L, from);
    lua_pushvalue(L, -2);
    lua_rawset(L, done);
    copy_frozen(L, name, from, from + 1, done, level);
  }
  lua_replace(L, from);
  lua_settop(L, from);
}

void view_freeze(lua_State *L, const char *name)
{
  lua_createtable(L, 0, 0);
  lua_insert(L, -2);
  freeze(L, name, lua_gettop(L) - 1, 1);
  lua_remove(L, -2);
}

bool view_open(lua_State *L, int index)
{
  index = lua_absindex(L, index);
  if (lua_type(L, index) != LUA_TTABLE || luaL_getmetafield(L, index, "eb.view") == LUA_TNIL)
    return false;
  lua_pop(L, 1);
  luaL_getmetafield(L, index, "__index");
  return true;
}
