#include "source.h"

#include "environment.h"
#include "guard.h"
#include "keys.h"
#include "place.h"
#include "syntax.h"
#include "view.h"

#include <stdio.h>
#include <string.h>

enum { NAME_MAX_BYTES = LUA_IDSIZE - 1 }; /* Lua cuts longer ones in its messages */
static const char loaded_key[] = "eb.loaded";
static const char frozen_key[] = "eb.loaded, to read";

static char *copy_bytes(const eb_host *host, const char *bytes, size_t size)
{
  char *copy = host->allocate(host->context, NULL, size + 1);
  if (copy == NULL)
    return NULL;
  if (size > 0)
    memcpy(copy, bytes, size);
  copy[size] = '\0';
  return copy;
}

/* Behind the folder of a library file, "lib/" or that of a shop's own, "./lib/"; NULL: it is neither. */
static const char *base_of(const char *name)
{
  static const char shop[] = "./lib/";
  if (place_is_library(name))
    return name + 4;
  return strncmp(name, shop, sizeof shop - 1) == 0 ? name + sizeof shop - 1 : NULL;
}

static eb_status check_source(const eb_source *source, bool library, eb_error *error)
{
  size_t size = strlen(source->name);
  if (size == 0 || size > NAME_MAX_BYTES)
    return eb_fail(error, EB_SCRIPT, source->name, "a file's name has 1 to %d bytes", (int)NAME_MAX_BYTES);
  const char *base = library ? base_of(source->name) : source->name;
  if (base == NULL || strchr(base, '/') != NULL)
    return eb_fail(error, EB_SCRIPT, source->name,
                   "a procedure's name has no folder, a library file's is lib/NAME.lua, a shop's ./lib/NAME.lua");
  if (source->size > EB_PROCEDURE_SOURCE_MAX)
    return eb_fail(error, EB_SCRIPT, source->name, "the file has %zu bytes; at most %d", source->size,
                   (int)EB_PROCEDURE_SOURCE_MAX);
  return EB_OK;
}

eb_status source_check(const eb_source *main, const eb_source *library, size_t library_count, eb_error *error)
{
  if (library_count > EB_PROCEDURE_FILES_MAX)
    return eb_fail(error, EB_SCRIPT, main->name, "%zu library files; at most %d", library_count,
                   (int)EB_PROCEDURE_FILES_MAX);
  eb_status status = check_source(main, false, error);
  for (size_t i = 0; i < library_count && status == EB_OK; i++)
    status = check_source(&library[i], true, error);
  return status;
}

static eb_status copy_source(const eb_host *host, const eb_source *from, eb_source *to, eb_error *error)
{
  to->name = copy_bytes(host, from->name, strlen(from->name));
  to->text = copy_bytes(host, from->text, from->size);
  to->size = from->size;
  if (to->name == NULL || to->text == NULL)
    return eb_fail(error, EB_OUT_OF_MEMORY, from->name, "there is no memory to read the file");
  return EB_OK;
}

eb_status source_copy(script_machine *machine, const eb_source *main, const eb_source *library, size_t library_count,
                      eb_error *error)
{
  eb_status status = source_check(main, library, library_count, error);
  if (status == EB_OK)
    status = copy_source(machine->host, main, &machine->main, error);
  for (size_t i = 0; i < library_count && status == EB_OK; i++) {
    machine->library_count = i + 1;
    status = copy_source(machine->host, &library[i], &machine->library[i], error);
  }
  return status;
}

static void clear_source(const eb_host *host, eb_source *source)
{
  host->allocate(host->context, (char *)source->name, 0);
  host->allocate(host->context, (char *)source->text, 0);
}

void source_clear(script_machine *machine)
{
  clear_source(machine->host, &machine->main);
  for (size_t i = 0; i < machine->library_count; i++)
    clear_source(machine->host, &machine->library[i]);
  machine->main = (eb_source){0};
  machine->library_count = 0;
}

void source_load(lua_State *L, const eb_source *source)
{
  machine_charge(L, source->size);
  eb_source rest = *source;
  guard_check(L, &rest);
  lua_pushfstring(L, "=%s", source->name);
  int status = luaL_loadbufferx(L, rest.text, rest.size, lua_tostring(L, -1), "t");
  if (status == LUA_ERRSYNTAX)
    syntax_explain(L, source);
  if (status == LUA_ERRSYNTAX || status == LUA_ERRMEM)
    lua_error(L);
  if (status != LUA_OK) /* Lua's own limit of nesting: its text has no line */
    luaL_error(L, "%s: blocks or expressions are too deep inside one another", source->name);
  lua_remove(L, -2);
  environment_push(L, place_is_library(source->name));
  lua_setupvalue(L, -2, 1);
}

static const eb_source *find_library(const script_machine *machine, const char *file)
{
  for (size_t i = 0; i < machine->library_count; i++)
    if (strcmp(machine->library[i].name, file) == 0)
      return &machine->library[i];
  return NULL;
}

/* Raises with the name that may have been meant. */
static void refuse_unknown(lua_State *L, const char *name)
{
  const script_machine *machine = machine_of(L);
  lua_createtable(L, (int)machine->library_count, 0);
  for (size_t i = 0; i < machine->library_count; i++) {
    const char *base = base_of(machine->library[i].name);
    lua_pushlstring(L, base, strcspn(base, "."));
    lua_rawseti(L, -2, (lua_Integer)i + 1);
  }
  keys_push_nearest_of(L, -1, name);
  if (lua_isnil(L, -1))
    luaL_error(L, "require: there is no library file lib/%s.lua, built in or beside the procedure", name);
  luaL_error(L, "require: there is no library file lib/%s.lua; did you mean \"%s\"?", name, lua_tostring(L, -1));
}

/* The table of that name, made when it is first needed. */
static void push_kept(lua_State *L, const char *key)
{
  if (lua_getfield(L, LUA_REGISTRYINDEX, key) != LUA_TNIL)
    return;
  lua_pop(L, 1);
  lua_createtable(L, 0, 4);
  lua_pushvalue(L, -1);
  lua_setfield(L, LUA_REGISTRYINDEX, key);
}

/* Pushes what a library file returns, and keeps it in the table at `loaded`. */
static void run_library(lua_State *L, const eb_source *source, int loaded)
{
  lua_pushlightuserdata(L, machine_of(L)); /* it is being run */
  lua_setfield(L, loaded, source->name);
  source_load(L, source);
  lua_call(L, 0, 1);
  if (lua_isnil(L, -1)) {
    lua_pop(L, 1);
    lua_pushboolean(L, 1);
  }
  lua_pushvalue(L, -1);
  lua_setfield(L, loaded, source->name);
}

void source_push_library(lua_State *L, const char *name)
{
  luaL_checkstack(L, 8, NULL);
  const char *file = lua_pushfstring(L, "lib/%s.lua", name);
  const eb_source *source = find_library(machine_of(L), file);
  if (source == NULL) { /* what the program itself has goes before a shop's own */
    file = lua_pushfstring(L, "./lib/%s.lua", name);
    lua_replace(L, -2);
    source = find_library(machine_of(L), file);
  }
  push_kept(L, loaded_key);
  int loaded = lua_gettop(L);
  bool known = lua_getfield(L, loaded, file) != LUA_TNIL;
  if (known && lua_islightuserdata(L, -1) && lua_touserdata(L, -1) == machine_of(L))
    luaL_error(L, "require: %s is needed by a file that it needs itself", file);
  if (source == NULL)
    refuse_unknown(L, name);
  else if (!known)
    run_library(L, source, loaded);
  lua_replace(L, loaded - 1);
  lua_settop(L, loaded - 1);
}

static const char *check_name(lua_State *L)
{
  size_t size = 0;
  const char *name = luaL_checklstring(L, 1, &size);
  if (strlen(name) != size)
    luaL_error(L, "require: the name holds a NUL character");
  return name;
}

int source_require(lua_State *L)
{
  const char *name = check_name(L);
  source_push_library(L, name);
  return 1;
}

int source_require_frozen(lua_State *L)
{
  const char *name = check_name(L);
  lua_settop(L, 1);
  push_kept(L, frozen_key);
  source_push_library(L, name);
  if (lua_type(L, 3) != LUA_TTABLE)
    return 1;
  if (lua_getfield(L, 2, name) != LUA_TNIL) /* the same each time */
    return 1;
  lua_settop(L, 3);
  view_freeze(L, name);
  lua_pushvalue(L, 3);
  lua_setfield(L, 2, name);
  return 1;
}
