#include "verbs.h"

#include "classes.h"
#include "convert.h"
#include "environment.h"
#include "keys.h"
#include "locate.h"
#include "place.h"
#include "shape.h"
#include "view.h"

#include "evenbore/api.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char procedure_key[] = "eb.procedure";

/* Pushes the reply; an error in it is raised at the author's line. */
static int take_reply(lua_State *L, int status, lua_KContext context)
{
  (void)status;
  (void)context;
  script_machine *machine = machine_of(L);
  const char *refusal = eb_json_get_string(machine->reply, "error", NULL);
  if (refusal != NULL)
    return place_fail(L, "%s", refusal);
  convert_push(L, machine->reply);
  return 1;
}

static int core_request(lua_State *L)
{
  char at[PLACE_SIZE], by[PLACE_SIZE];
  luaL_checktype(L, 1, LUA_TTABLE);
  lua_settop(L, 1);
  if (!lua_isyieldable(L))
    return place_fail(L, "nothing can be asked or told here; only inside `run`, and not while a table is sorted");
  place_request(L, at, by);
  convert_to_request(L, 1, (const convert_place[]){{"at", at}, {"by", by}, {NULL, NULL}});
  return lua_yieldk(L, 0, 0, take_reply);
}

static int core_where(lua_State *L)
{
  char place[PLACE_SIZE];
  place_any(L, place);
  lua_pushstring(L, place);
  return 1;
}

static const eb_source *source_at(const script_machine *machine, const char *place, size_t size)
{
  if (strlen(machine->main.name) == size && memcmp(machine->main.name, place, size) == 0)
    return &machine->main;
  for (size_t i = 0; i < machine->library_count; i++)
    if (strlen(machine->library[i].name) == size && memcmp(machine->library[i].name, place, size) == 0)
      return &machine->library[i];
  return NULL;
}

static int core_where_field(lua_State *L)
{
  const char *place = luaL_checkstring(L, 1);
  const char *name = luaL_checkstring(L, 2);
  const char *colon = strrchr(place, ':');
  const eb_source *source = colon == NULL ? NULL : source_at(machine_of(L), place, (size_t)(colon - place));
  lua_settop(L, 2);
  if (source == NULL) {
    lua_pushvalue(L, 1);
    return 1;
  }
  machine_charge(L, source->size);
  int line = locate_field(source, (int)strtol(colon + 1, NULL, 10), name);
  lua_pushfstring(L, "%s:%d", source->name, line);
  return 1;
}

static int core_fail(lua_State *L)
{
  const char *text = luaL_checkstring(L, 1);
  if (lua_isnoneornil(L, 2))
    return place_fail(L, "%s", text);
  lua_pushfstring(L, "%s: %s", luaL_checkstring(L, 2), text);
  return lua_error(L);
}

static int core_array(lua_State *L)
{
  luaL_checktype(L, 1, LUA_TTABLE);
  lua_settop(L, 1);
  basics_check_table(L, 1, "core.array");
  convert_push_array_metatable(L);
  lua_setmetatable(L, 1);
  return 1;
}

static int core_nearest(lua_State *L)
{
  const char *word = luaL_checkstring(L, 1);
  luaL_checktype(L, 2, LUA_TTABLE);
  keys_push_nearest_of(L, 2, word);
  return 1;
}

static void push_field(lua_State *L, const eb_api_field *field)
{
  lua_createtable(L, 0, 6);
  lua_pushstring(L, field->name);
  lua_setfield(L, -2, "name");
  lua_pushstring(L, field->type);
  lua_setfield(L, -2, "type");
  lua_pushboolean(L, field->usual == NULL);
  lua_setfield(L, -2, "need");
  if (field->unit[0] != '\0') {
    lua_pushstring(L, field->unit);
    lua_setfield(L, -2, "unit");
  }
  if (field->low < field->high) {
    lua_pushnumber(L, field->low);
    lua_setfield(L, -2, "low");
    lua_pushnumber(L, field->high);
    lua_setfield(L, -2, "high");
  }
}

static int core_api(lua_State *L)
{
  const char *name = luaL_checkstring(L, 1);
  const char *colon = strchr(name, ':');
  const eb_api_table *table = colon == NULL ? eb_api_table_find(name) : NULL;
  const eb_api_call *call = colon == NULL ? NULL : eb_api_call_find("job", colon + 1);
  if (table == NULL && call == NULL)
    return 0;
  const eb_api_field *fields = table == NULL ? call->takes : table->fields;
  size_t count = table == NULL ? call->take_count : table->field_count;
  lua_createtable(L, (int)count, 0);
  for (size_t i = 0; i < count; i++) {
    push_field(L, &fields[i]);
    lua_rawseti(L, -2, (lua_Integer)i + 1);
  }
  return 1;
}

static int core_export(lua_State *L)
{
  const char *name = luaL_checkstring(L, 1);
  luaL_checkany(L, 2);
  lua_settop(L, 2);
  environment_push_names(L);
  lua_pushvalue(L, 1);
  if (lua_rawget(L, 3) != LUA_TNIL)
    return luaL_error(L, "core.export: there is a %s already", name);
  lua_pushvalue(L, 1);
  lua_pushvalue(L, 2);
  if (lua_isfunction(L, -1))
    class_wrap(L);
  else if (lua_istable(L, -1))
    view_freeze(L, name);
  lua_rawset(L, 3);
  return 0;
}

static int core_procedure(lua_State *L)
{
  luaL_checktype(L, 1, LUA_TTABLE);
  luaL_checktype(L, 2, LUA_TFUNCTION);
  lua_settop(L, 2);
  script_machine *machine = machine_of(L);
  place_any(L, machine->declared);
  lua_newuserdatauv(L, 0, 2);
  lua_getfield(L, LUA_REGISTRYINDEX, procedure_key);
  lua_setmetatable(L, -2);
  lua_pushvalue(L, 1);
  lua_setiuservalue(L, -2, PROCEDURE_DECLARE);
  lua_pushvalue(L, 2);
  lua_setiuservalue(L, -2, PROCEDURE_RUN);
  return 1;
}

bool verbs_is_procedure(lua_State *L, int index)
{
  return luaL_testudata(L, index, procedure_key) != NULL;
}

static const luaL_Reg verbs[] = {
    {"api", core_api},
    {"array", core_array},
    {"class", core_class},
    {"export", core_export},
    {"fail", core_fail},
    {"is", core_is},
    {"kind", core_kind},
    {"nearest", core_nearest},
    {"procedure", core_procedure},
    {"request", core_request},
    {"shape", core_shape},
    {"where", core_where},
    {"where_field", core_where_field},
    {NULL, NULL},
};

void verbs_push(lua_State *L)
{
  lua_createtable(L, 0, 1);
  lua_pushliteral(L, "procedure");
  lua_setfield(L, -2, "eb.class");
  lua_setfield(L, LUA_REGISTRYINDEX, procedure_key);
  lua_createtable(L, 0, 16);
  luaL_setfuncs(L, verbs, 0);
  convert_push_null(L);
  lua_setfield(L, -2, "null");
  environment_push(L, false);
  lua_setfield(L, -2, "globals");
  view_make(L, "core");
}
