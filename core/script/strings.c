#include "environment.h"

#include "view.h"

#include <lualib.h>
#include <string.h>

enum {
  VALUES_MAX = 250,         /* results of one call: what a register of Lua can count */
  UNITS_PER_CONVERSION = 40 /* of a format: a number with 99 decimals takes that long */
};

/* A position counted from the end where it is negative; at least 1. */
static size_t from_position(lua_Integer position, size_t size)
{
  if (position > 0)
    return (size_t)position;
  if (position == 0 || position < -(lua_Integer)size)
    return 1;
  return size + (size_t)position + 1;
}

/* The same for a last position; at most `size`. */
static size_t to_position(lua_Integer position, size_t size)
{
  if (position > (lua_Integer)size)
    return size;
  if (position >= 0)
    return (size_t)position;
  return position < -(lua_Integer)size ? 0 : size + (size_t)position + 1;
}

static int string_byte(lua_State *L)
{
  size_t size;
  const char *text = luaL_checklstring(L, 1, &size);
  lua_Integer first = luaL_optinteger(L, 2, 1);
  size_t from = from_position(first, size);
  size_t to = to_position(luaL_optinteger(L, 3, first), size);
  if (from > to)
    return 0;
  size_t count = to - from + 1;
  if (count > VALUES_MAX)
    return luaL_error(L, "string.byte: %d bytes at once; at most %d", (int)count, VALUES_MAX);
  luaL_checkstack(L, (int)count, NULL);
  for (size_t i = from; i <= to; i++)
    lua_pushinteger(L, (unsigned char)text[i - 1]);
  return (int)count;
}

static int string_rep(lua_State *L)
{
  size_t size, gap;
  const char *text = luaL_checklstring(L, 1, &size);
  lua_Integer times = luaL_checkinteger(L, 2);
  const char *between = luaL_optlstring(L, 3, "", &gap);
  size_t limit = machine_of(L)->limits.string;
  if (times <= 0 || size + gap == 0) {
    lua_pushliteral(L, "");
    return 1;
  }
  if ((size_t)times > (limit + gap) / (size + gap))
    return luaL_error(L, "string.rep: the text would be longer than %d bytes", (int)limit);
  size_t total = (size_t)times * (size + gap) - gap;
  machine_charge(L, (size_t)times + total / 8);
  luaL_Buffer buffer;
  luaL_buffinitsize(L, &buffer, total);
  while (times-- > 0) {
    luaL_addlstring(&buffer, text, size);
    if (times > 0)
      luaL_addlstring(&buffer, between, gap);
  }
  luaL_pushresult(&buffer);
  return 1;
}

/* Plain find: (text, part, from) gives first and last position, or nil. */
static int string_find(lua_State *L)
{
  size_t size, wanted;
  const char *text = luaL_checklstring(L, 1, &size);
  const char *part = luaL_checklstring(L, 2, &wanted);
  size_t from = from_position(luaL_optinteger(L, 3, 1), size) - 1;
  machine_charge(L, 1 + (size + wanted) / 4);
  const char *met = from > size ? NULL : memmem(text + from, size - from, part, wanted);
  if (met == NULL) {
    lua_pushnil(L);
    return 1;
  }
  lua_pushinteger(L, met - text + 1);
  lua_pushinteger(L, met - text + (lua_Integer)wanted);
  return 2;
}

/* The pieces of a text between the places where `by` stands. */
static int string_split(lua_State *L)
{
  size_t size, gap;
  const char *text = luaL_checklstring(L, 1, &size);
  const char *by = luaL_checklstring(L, 2, &gap);
  if (gap == 0)
    return luaL_error(L, "string.split: an empty text cannot stand between pieces");
  machine_charge(L, 1 + size);
  lua_createtable(L, 0, 0);
  const char *end = text + size;
  lua_Integer count = 0;
  for (;;) {
    const char *met = memmem(text, (size_t)(end - text), by, gap);
    lua_pushlstring(L, text, (size_t)((met == NULL ? end : met) - text));
    lua_rawseti(L, -2, ++count);
    if (met == NULL)
      return 1;
    text = met + gap;
  }
}

static bool is_space(char c)
{
  return c == ' ' || (c >= '\t' && c <= '\r');
}

static int string_trim(lua_State *L)
{
  size_t size;
  const char *text = luaL_checklstring(L, 1, &size);
  machine_charge(L, 1 + size / 8);
  while (size > 0 && is_space(text[size - 1]))
    size--;
  while (size > 0 && is_space(*text)) {
    text++;
    size--;
  }
  lua_pushlstring(L, text, size);
  return 1;
}

/* Takes one conversion off a format; returns its letter, '\0' at the format's end. */
static char next_conversion(const char **format, const char *end)
{
  const char *at = memchr(*format, '%', (size_t)(end - *format)); /* a NUL may stand before it */
  if (at == NULL)
    return '\0';
  at += 1 + strspn(at + 1, "-+ #0.123456789");
  *format = at < end ? at + 1 : end;
  return *at;
}

/* Lua's own does the work; %s gets the text that our tostring gives, and %p, an address, is refused. */
static int string_format(lua_State *L)
{
  size_t size;
  const char *format = luaL_checklstring(L, 1, &size);
  machine_charge(L, 1 + size / 8);
  const char *end = format + size;
  int argument = 1;
  for (char letter; (letter = next_conversion(&format, end)) != '\0';) {
    machine_charge(L, UNITS_PER_CONVERSION);
    if (letter == '%')
      continue;
    if (letter == 'p')
      return luaL_error(L, "string.format: there is no %%p here");
    if (++argument > lua_gettop(L))
      break;
    if (letter != 's')
      continue;
    basics_push_text(L, argument);
    machine_charge(L, 1 + lua_rawlen(L, -1) / 8);
    lua_replace(L, argument);
  }
  return lua_tocfunction(L, lua_upvalueindex(1))(L);
}

static const luaL_Reg own[] = {
    {"byte", string_byte},   {"find", string_find}, {"rep", string_rep},
    {"split", string_split}, {"trim", string_trim}, {NULL, NULL},
};

void strings_push(lua_State *L)
{
  static const char *const measured[] = {"char", "len", "lower", "sub", "upper", NULL};
  lua_pushcfunction(L, luaopen_string);
  lua_call(L, 0, 1);
  lua_createtable(L, 0, 12);
  environment_copy_charged(L, measured);
  luaL_setfuncs(L, own, 0);
  lua_getfield(L, -2, "format");
  lua_pushcclosure(L, string_format, 1);
  lua_setfield(L, -2, "format");
  lua_remove(L, -2);
  lua_pushliteral(L, "");
  lua_createtable(L, 0, 1); /* in place of the metatable that the opener made */
  lua_pushvalue(L, -3);
  lua_setfield(L, -2, "__index");
  lua_setmetatable(L, -2);
  lua_pop(L, 1);
  view_make(L, "string");
}
