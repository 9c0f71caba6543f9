#include "shape.h"

#include "view.h"

#include "evenbore/api.h"

#include <math.h>
#include <string.h>

static bool is(const char *word, size_t size, const char *known)
{
  return *word == *known && strlen(known) == size && memcmp(word, known, size) == 0;
}

static bool is_whole(lua_State *L, int index)
{
  double number = lua_tonumber(L, index);
  return lua_isinteger(L, index) || (!isnan(number) && !(floor(number) < number));
}

/* One word of a type that is no list. What is no word is the name of a table. */
static bool is_plain(lua_State *L, int index, const char *word, size_t size)
{
  int type = lua_type(L, index);
  if (is(word, size, "text"))
    return type == LUA_TSTRING;
  if (is(word, size, "number"))
    return type == LUA_TNUMBER;
  if (is(word, size, "flag"))
    return type == LUA_TBOOLEAN;
  if (is(word, size, "bore"))
    return type == LUA_TSTRING || lua_isinteger(L, index);
  if (is(word, size, "whole"))
    return type == LUA_TNUMBER && is_whole(L, index);
  if (is(word, size, "function"))
    return type == LUA_TFUNCTION;
  return type == LUA_TTABLE || is(word, size, "any") || is(word, size, "adjuster");
}

/* Its elements are those that ipairs would give. */
static bool is_list(lua_State *L, int index, const char *word, size_t size)
{
  bool all = lua_type(L, index) == LUA_TTABLE;
  int top = lua_gettop(L);
  luaL_checkstack(L, 2, NULL);
  for (lua_Integer i = 1; all && lua_geti(L, index, i) != LUA_TNIL; i++) {
    machine_charge(L, 1);
    all = is_plain(L, top + 1, word, size);
    lua_settop(L, top);
  }
  lua_settop(L, top);
  return all;
}

static bool is_of_word(lua_State *L, int index, const char *word, size_t size)
{
  static const char list_of[] = "list of ";
  const size_t lead = sizeof list_of - 1;
  if (size > lead && strncmp(word, list_of, lead) == 0)
    return is_list(L, index, word + lead, size - lead);
  if (is(word, size, "texts"))
    return is_list(L, index, "text", 4);
  if (is(word, size, "rows"))
    return is_list(L, index, "bores", 5);
  return is_plain(L, index, word, size);
}

/* Of any of the words of a type. */
static bool is_of(lua_State *L, int index, const char *type)
{
  size_t size = strcspn(type, "|");
  while (!is_of_word(L, index, type, size)) {
    if (type[size] == '\0')
      return false;
    type += size + 1;
    size = strcspn(type, "|");
  }
  return true;
}

int core_is(lua_State *L)
{
  const char *type = luaL_checkstring(L, 1);
  luaL_checkany(L, 2);
  lua_settop(L, 2);
  lua_pushboolean(L, is_of(L, 2, type));
  return 1;
}

/* A view is looked at more closely: what is asked of it may raise. */
static bool is_table(lua_State *L, int index)
{
  int top = lua_gettop(L);
  bool own = lua_istable(L, index) && !view_open(L, index);
  lua_settop(L, top);
  return own;
}

static bool table_fits(lua_State *L, int index, const eb_api_table *table);

static bool choices_fit(lua_State *L, int index)
{
  const eb_api_table *choice = eb_api_table_find("choice");
  bool all = true;
  int top = lua_gettop(L);
  luaL_checkstack(L, 2, NULL);
  for (lua_Integer i = 1; all && lua_geti(L, index, i) != LUA_TNIL; i++) {
    all = is_table(L, top + 1) && table_fits(L, top + 1, choice);
    lua_settop(L, top);
  }
  lua_settop(L, top);
  return all;
}

static bool value_fits(lua_State *L, int index, const eb_api_field *field)
{
  int type = lua_type(L, index);
  if (type == LUA_TNUMBER && field->low < field->high &&
      !(lua_tonumber(L, index) >= field->low && lua_tonumber(L, index) <= field->high))
    return false;
  if (type != LUA_TTABLE)
    return is_of(L, index, field->type);
  if (!is_table(L, index))
    return false;
  const eb_api_table *table = eb_api_table_find(field->type);
  if (table != NULL)
    return table_fits(L, index, table);
  if (strcmp(field->type, "list of choice") == 0)
    return choices_fit(L, index);
  return strchr(field->type, '|') == NULL && is_of(L, index, field->type);
}

/* Numbered entries are the caller's affair. */
static bool is_needed(const eb_api_field *field)
{
  return field->usual == NULL && !(field->name[0] >= '0' && field->name[0] <= '9');
}

static const eb_api_field *find_field(const eb_api_table *table, const char *name, size_t size)
{
  for (size_t i = 0; i < table->field_count; i++)
    if (is(name, size, table->fields[i].name))
      return &table->fields[i];
  return NULL;
}

static bool entry_fits(lua_State *L, int key, const eb_api_table *table, size_t *needed)
{
  if (lua_type(L, key) != LUA_TSTRING)
    return lua_type(L, key) == LUA_TNUMBER;
  size_t size;
  const char *name = lua_tolstring(L, key, &size);
  const eb_api_field *field = find_field(table, name, size);
  if (field == NULL || !value_fits(L, key + 1, field))
    return false;
  *needed -= is_needed(field);
  return true;
}

static bool table_fits(lua_State *L, int index, const eb_api_table *table)
{
  size_t needed = 0;
  int top = lua_gettop(L);
  luaL_checkstack(L, 4, NULL);
  for (size_t i = 0; i < table->field_count; i++)
    needed += is_needed(&table->fields[i]);
  bool fits = true;
  for (lua_pushnil(L); fits && lua_next(L, index) != 0;) {
    machine_charge(L, 1);
    fits = entry_fits(L, top + 1, table, &needed);
    lua_settop(L, top + 1);
  }
  lua_settop(L, top);
  return fits && needed == 0;
}

/* The table is upvalue 1. */
static int argument_fits(lua_State *L)
{
  luaL_checktype(L, 1, LUA_TTABLE);
  lua_pushboolean(L, is_table(L, 1) && table_fits(L, 1, lua_touserdata(L, lua_upvalueindex(1))));
  return 1;
}

/* The call is upvalue 1. */
static int arguments_fit(lua_State *L)
{
  const eb_api_call *call = lua_touserdata(L, lua_upvalueindex(1));
  bool fit = true;
  lua_settop(L, (int)call->take_count);
  for (size_t i = 0; fit && i < call->take_count; i++) {
    int index = (int)i + 1;
    fit = lua_isnil(L, index) ? call->takes[i].usual != NULL : value_fits(L, index, &call->takes[i]);
  }
  lua_pushboolean(L, fit);
  return 1;
}

int core_shape(lua_State *L)
{
  const char *name = luaL_checkstring(L, 1);
  const char *colon = strchr(name, ':');
  const void *rows = colon == NULL ? (const void *)eb_api_table_find(name) : eb_api_call_find("job", colon + 1);
  if (rows == NULL)
    return luaL_error(L, "core.shape: there is no %s", name);
  lua_pushlightuserdata(L, (void *)rows);
  lua_pushcclosure(L, colon == NULL ? argument_fits : arguments_fit, 1);
  return 1;
}
