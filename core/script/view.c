#include "view.h"

#include "keys.h"

#include <string.h>

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

/* (table, key) with the view's name and a dot, or nothing, as upvalue. */
static int unknown_name(lua_State *L)
{
  const char *prefix = lua_tostring(L, lua_upvalueindex(1));
  if (lua_type(L, 2) != LUA_TSTRING)
    return luaL_error(L, "%s[...]: what is asked for must be a name, not a %s", prefix, luaL_typename(L, 2));
  const char *full = lua_pushfstring(L, "%s%s", prefix, lua_tostring(L, 2));
  if (remedy(full) != NULL)
    return luaL_error(L, "there is no %s here; %s", full, remedy(full));
  keys_push_nearest(L, 1, lua_tostring(L, 2));
  if (!lua_isnil(L, -1))
    return luaL_error(L, "there is no %s here; did you mean %s%s?", full, prefix, lua_tostring(L, -1));
  if (*prefix != '\0')
    return luaL_error(L, "there is no %s here", full);
  return luaL_error(L, "there is no %s here; a name of your own begins with: local %s", full, full);
}

static int refuse_write(lua_State *L)
{
  const char *prefix = lua_tostring(L, lua_upvalueindex(1));
  const char *key = lua_type(L, 2) == LUA_TSTRING ? lua_tostring(L, 2) : "...";
  if (*prefix != '\0')
    return luaL_error(L, "%s%s cannot be changed", prefix, key);
  return luaL_error(L, "%s cannot be set here; a name of your own begins with: local %s", key, key);
}

static void set_handler(lua_State *L, const char *event, lua_CFunction handler, const char *name)
{
  lua_pushstring(L, name);
  lua_pushstring(L, *name == '\0' ? "" : ".");
  lua_concat(L, 2);
  lua_pushcclosure(L, handler, 1);
  lua_setfield(L, -2, event);
}

void view_make(lua_State *L, const char *name)
{
  if (!lua_getmetatable(L, -1)) {
    lua_createtable(L, 0, 1);
    set_handler(L, "__index", unknown_name, name);
  }
  lua_setmetatable(L, -2);
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

bool view_open(lua_State *L, int index)
{
  index = lua_absindex(L, index);
  if (luaL_getmetafield(L, index, "eb.view") == LUA_TNIL)
    return false;
  lua_pop(L, 1);
  luaL_getmetafield(L, index, "__index");
  return true;
}
