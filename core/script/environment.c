#include "environment.h"

#include "source.h"
#include "verbs.h"
#include "view.h"

#include <lualib.h>

static const char names_key[] = "eb.names";
static const char procedure_key[] = "eb.procedure's globals";
static const char library_key[] = "eb.library's globals";

void environment_copy(lua_State *L, const char *const *names)
{
  for (; *names != NULL; names++) {
    lua_getfield(L, -2, *names);
    lua_setfield(L, -2, *names);
  }
}

/* One instruction of a script starts work that grows with a text, which no hook sees. */
static int charged(lua_State *L)
{
  size_t size = 0;
  if (lua_type(L, 1) == LUA_TSTRING)
    size = lua_rawlen(L, 1);
  machine_charge(L, 1 + size / 8);
  return lua_tocfunction(L, lua_upvalueindex(1))(L);
}

void environment_copy_charged(lua_State *L, const char *const *names)
{
  for (; *names != NULL; names++) {
    lua_getfield(L, -2, *names);
    lua_pushcclosure(L, charged, 1);
    lua_setfield(L, -2, *names);
  }
}

static void add_math(lua_State *L)
{
  static const char *const names[] = {"abs",  "ceil", "floor", "fmod",       "max",        "min",
                                      "modf", "pi",   "sqrt",  "huge",       "type",       "tointeger",
                                      "ult",  "deg",  "rad",   "maxinteger", "mininteger", NULL};
  lua_pushcfunction(L, luaopen_math);
  lua_call(L, 0, 1);
  lua_createtable(L, 0, 20);
  environment_copy(L, names);
  view_make(L, "math");
  lua_setfield(L, -3, "math");
  lua_pop(L, 1);
}

static void add_utf8(lua_State *L)
{
  static const char *const names[] = {"char", "codepoint", "codes", "len", "offset", NULL};
  lua_pushcfunction(L, luaopen_utf8);
  lua_call(L, 0, 1);
  lua_createtable(L, 0, 5);
  environment_copy_charged(L, names);
  view_make(L, "utf8");
  lua_setfield(L, -3, "utf8");
  lua_pop(L, 1);
}

/* A library file sees what a procedure sees, and the raw verbs; other files' tables are its own to change. */
static void make_library_globals(lua_State *L)
{
  lua_createtable(L, 0, 2);
  verbs_push(L);
  lua_setfield(L, -2, "core");
  lua_pushcfunction(L, source_require);
  lua_setfield(L, -2, "require");
  lua_createtable(L, 0, 1);
  environment_push_names(L);
  lua_setfield(L, -2, "__index");
  lua_setmetatable(L, -2);
  view_make(L, "");
  lua_setfield(L, LUA_REGISTRYINDEX, library_key);
}

void environment_open(lua_State *L)
{
  lua_createtable(L, 0, 40);
  lua_pushvalue(L, -1);
  lua_setfield(L, LUA_REGISTRYINDEX, names_key);
  basics_add(L);
  add_math(L);
  add_utf8(L);
  strings_push(L);
  lua_setfield(L, -2, "string");
  tables_push(L);
  lua_setfield(L, -2, "table");
  view_make(L, "");
  lua_setfield(L, LUA_REGISTRYINDEX, procedure_key);
  make_library_globals(L);
  lua_createtable(L, 0, 0); /* Lua's own table of globals was filled by its opener */
  lua_rawseti(L, LUA_REGISTRYINDEX, LUA_RIDX_GLOBALS);
}

void environment_push(lua_State *L, bool library)
{
  lua_getfield(L, LUA_REGISTRYINDEX, library ? library_key : procedure_key);
}

void environment_push_names(lua_State *L)
{
  lua_getfield(L, LUA_REGISTRYINDEX, names_key);
}
