#include "convert.h"

#include "classes.h"
#include "keys.h"
#include "place.h"
#include "view.h"

#include "evenbore/text.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum {
  LEVELS_MAX = 16,
  NODE_BYTES = 3,    /* a comma, and brackets or quotes */
  NUMBER_BYTES = 22, /* 15 digits with sign, point and exponent */
  WORD_BYTES = 5,    /* false */
  USED_BYTES = 100,  /* the outermost brackets, and `used` where the limits want it */
  TRAIL_SIZE = 120
};
static const lua_Integer exact_max = 999999999999999; /* eb_json keeps 15 digits of a number */
static const char array_key[] = "eb.array";

/* The way from the request down to a value, for messages. */
typedef struct trail_step {
  const struct trail_step *up;
  const char *key; /* NULL: an element */
  lua_Integer element;
  int level;
} trail_step;

void convert_open(lua_State *L)
{
  lua_createtable(L, 0, 0);
  lua_setfield(L, LUA_REGISTRYINDEX, array_key);
}

void convert_push_array_metatable(lua_State *L)
{
  lua_getfield(L, LUA_REGISTRYINDEX, array_key);
}

void convert_push_null(lua_State *L)
{
  lua_pushlightuserdata(L, NULL);
}

bool convert_is_null(lua_State *L, int index)
{
  return lua_islightuserdata(L, index) && lua_touserdata(L, index) == NULL;
}

static bool is_marked(lua_State *L, int index)
{
  if (!lua_getmetatable(L, index))
    return false;
  convert_push_array_metatable(L);
  bool marked = lua_rawequal(L, -1, -2);
  lua_pop(L, 2);
  return marked;
}

static void write_trail(const trail_step *trail, char text[TRAIL_SIZE])
{
  if (trail->up == NULL) {
    snprintf(text, TRAIL_SIZE, "the request");
    return;
  }
  write_trail(trail->up, text);
  size_t size = trail->up->up == NULL ? 0 : strlen(text); /* the first name stands alone */
  if (trail->key != NULL)
    snprintf(text + size, TRAIL_SIZE - size, "%s%.40s", size == 0 ? "" : ".", trail->key);
  else
    snprintf(text + size, TRAIL_SIZE - size, "[%lld]", (long long)trail->element);
}

static int refuse(lua_State *L, const trail_step *trail, const char *what)
{
  char text[TRAIL_SIZE];
  write_trail(trail, text);
  return place_fail(L, "%s: %s", text, what);
}

/* Bounds the request's text while its tree grows: no value takes more bytes there than are taken off here. */
static void take_bytes(lua_State *L, const trail_step *trail, size_t *left, size_t size)
{
  if (*left < size)
    refuse(L, trail, "too much at once; one request has at most 64 KiB");
  *left -= size;
}

static void count_bytes(lua_State *L, const trail_step *trail, size_t *left, size_t size)
{
  take_bytes(L, trail, left, size + NODE_BYTES);
  machine_charge(L, 1 + size / 8);
}

/* What a string grows by where it is written: a quote, a backslash, a control character. */
static size_t escaped_bytes(const char *text, size_t size)
{
  unsigned more = 0;
  for (size_t i = 0; i < size; i++) {
    unsigned char c = (unsigned char)text[i];
    more += (unsigned)(c == '"') + (unsigned)(c == '\\') + 5 * (unsigned)(c < ' ');
  }
  return more;
}

static size_t number_bytes(double number)
{
  size_t digits = 1;
  if (fabs(number) > (double)exact_max || floor(number) < number)
    return NUMBER_BYTES;
  for (long long rest = (long long)fabs(number); rest >= 10; rest /= 10)
    digits++;
  return digits + (number < 0);
}

static const char *check_text(lua_State *L, int index, const trail_step *trail)
{
  size_t size;
  const char *text = lua_tolstring(L, index, &size);
  if (memchr(text, '\0', size) != NULL)
    refuse(L, trail, "a text with a NUL character cannot be shown");
  if (!eb_utf8_valid(text, size, NULL))
    refuse(L, trail, "the text is not UTF-8");
  return text;
}

static double check_number(lua_State *L, int index, const trail_step *trail)
{
  double number = lua_tonumber(L, index);
  if (!isfinite(number))
    refuse(L, trail, isnan(number) ? "not a number (0/0)" : "an infinite number");
  if (lua_isinteger(L, index)) {
    lua_Integer whole = lua_tointeger(L, index);
    if (whole > exact_max || whole < -exact_max)
      refuse(L, trail, "a whole number of more than 15 digits is not exact");
  }
  return number;
}

static eb_json *make_number(lua_State *L, int index, const trail_step *trail, size_t *left)
{
  double number = check_number(L, index, trail);
  take_bytes(L, trail, left, number_bytes(number));
  return eb_json_from_number(number);
}

static eb_json *make_string(lua_State *L, int index, const trail_step *trail, size_t *left)
{
  size_t size = lua_rawlen(L, index);
  count_bytes(L, trail, left, size);
  const char *text = check_text(L, index, trail);
  take_bytes(L, trail, left, escaped_bytes(text, size));
  return eb_json_from_string(text);
}

/* A new value for what is at `index`, which is no table; NULL where there is no memory. */
static eb_json *make(lua_State *L, int index, const trail_step *trail, size_t *left)
{
  switch (lua_type(L, index)) {
  case LUA_TBOOLEAN: take_bytes(L, trail, left, WORD_BYTES); return eb_json_from_bool(lua_toboolean(L, index));
  case LUA_TNUMBER: return make_number(L, index, trail, left);
  case LUA_TSTRING: return make_string(L, index, trail, left);
  default:
    if (!convert_is_null(L, index))
      refuse(L, trail, lua_pushfstring(L, "a %s cannot be sent", class_name(L, index)));
    take_bytes(L, trail, left, WORD_BYTES);
    return eb_json_null();
  }
}

/* Takes over `made`: it hangs in `container`, or is the request itself, before anything can raise. */
static void hang(lua_State *L, eb_json *container, const trail_step *trail, eb_json *made)
{
  bool kept = made != NULL;
  if (container == NULL)
    machine_of(L)->sent = made;
  else
    kept = trail->key == NULL ? eb_json_add(container, made) : eb_json_put(container, trail->key, made);
  if (!kept)
    machine_no_memory(L);
}

static void add(lua_State *L, eb_json *container, const trail_step *trail, size_t *left);

/* Whether the keys, in order, are 1 to `count`. */
static bool is_sequence(const table_key *keys, size_t count)
{
  return count > 0 && keys[0].whole && keys[0].integer == 1 && keys[count - 1].whole &&
         keys[count - 1].integer == (lua_Integer)count;
}

/* The element of that key, or the member. */
static trail_step step_to(lua_State *L, const table_key *key, lua_Integer place, bool array, const trail_step *way)
{
  trail_step next = {.up = way, .element = place, .level = way->level + 1};
  if (array && !(key->whole && key->integer == place))
    refuse(L, &next, key->string == NULL ? "the list has a hole here" : "a list has no names among its elements");
  if (!array && key->string == NULL)
    refuse(L, &next, "the table has names and numbers among its keys, or numbers with holes");
  if (!array)
    next.key = check_text(L, -1, way);
  return next;
}

/* Adds those of the request's places that stand before `key` (NULL: all), and gives the rest; the table's own go before
 * them. */
static const convert_place *add_places(lua_State *L, eb_json *request, const convert_place *places, const char *key,
                                       const trail_step *way, size_t *left)
{
  for (; places != NULL && places->key != NULL; places++) {
    int order = key == NULL ? -1 : strcmp(places->key, key);
    trail_step next = {.up = way, .key = places->key, .level = way->level + 1};
    if (order > 0)
      break;
    if (order == 0 || places->text[0] == '\0')
      continue;
    lua_pushstring(L, places->text);
    add(L, request, &next, left);
  }
  return places;
}

/* `places` are those of the request, NULL inside of it. */
static void add_table(lua_State *L, int index, eb_json *container, const convert_place *places, const trail_step *trail,
                      size_t *left)
{
  table_key few[KEYS_FEW];
  size_t count;
  if (trail->level > LEVELS_MAX)
    refuse(L, trail, "more than 16 tables inside one another");
  const table_key *keys = keys_sorted(L, index, few, &count);
  if (keys == NULL) {
    refuse(L, trail, "a table's keys must be names, or 1, 2, 3, ...");
    return;
  }
  bool array = places == NULL && (is_marked(L, index) || is_sequence(keys, count));
  eb_json *made = array ? eb_json_array() : eb_json_object();
  hang(L, container, trail, made);
  if (count > EB_JSON_MEMBERS_MAX)
    refuse(L, trail, "more than 4096 members in one table");
  for (size_t i = 0; i < count; i++) {
    keys_push_one(L, &keys[i]);
    trail_step next = step_to(L, &keys[i], (lua_Integer)i + 1, array, trail);
    if (!array)
      places = add_places(L, made, places, next.key, trail, left);
    lua_pushvalue(L, -1);
    lua_rawget(L, index);
    add(L, made, &next, left);
    lua_pop(L, 1);
  }
  add_places(L, made, places, NULL, trail, left);
}

/* Adds the value on top of the stack, and takes it off. */
static void add(lua_State *L, eb_json *container, const trail_step *trail, size_t *left)
{
  int index = lua_gettop(L);
  luaL_checkstack(L, 10, NULL);
  if (view_open(L, index))
    lua_replace(L, index);
  size_t key_size = trail->key == NULL ? 0 : strlen(trail->key);
  count_bytes(L, trail, left, trail->key == NULL ? 0 : key_size + 3);
  take_bytes(L, trail, left, escaped_bytes(trail->key, key_size));
  if (lua_type(L, index) == LUA_TTABLE)
    add_table(L, index, container, NULL, trail, left);
  else
    hang(L, container, trail, make(L, index, trail, left));
  lua_settop(L, index - 1);
}

static bool add_use(script_machine *machine)
{
  eb_json *used = eb_json_object();
  bool made = eb_json_set_number(used, "instructions", (double)machine->instructions) &&
              eb_json_set_number(used, "memory", (double)machine->most_memory);
  return eb_json_set(machine->sent, "used", used) && made;
}

void convert_to_request(lua_State *L, int index, const convert_place *places)
{
  script_machine *machine = machine_of(L);
  index = lua_absindex(L, index);
  int top = lua_gettop(L);
  eb_json_destroy(machine->sent);
  machine->sent = NULL;
  trail_step start = {.level = 1};
  size_t left = EB_PROCEDURE_REQUEST_MAX - USED_BYTES;
  add_table(L, index, NULL, places, &start, &left);
  if (machine->limits.tells_use && !add_use(machine))
    machine_no_memory(L);
  machine->asks = strcmp(eb_json_get_string(machine->sent, "op", ""), "ask") == 0;
  lua_settop(L, top);
}

static void push_number(lua_State *L, double number)
{
  lua_Integer whole;
  if (fabs(number) <= (double)exact_max && lua_numbertointeger(floor(number), &whole) && !(floor(number) < number))
    lua_pushinteger(L, whole);
  else
    lua_pushnumber(L, number);
}

static void push_array(lua_State *L, const eb_json *value)
{
  lua_Integer place = 0;
  lua_createtable(L, eb_json_count(value), 0);
  for (const eb_json *child = eb_json_first(value); child != NULL; child = eb_json_next(child)) {
    convert_push(L, child);
    lua_rawseti(L, -2, ++place);
  }
  convert_push_array_metatable(L);
  lua_setmetatable(L, -2);
}

static void push_object(lua_State *L, const eb_json *value)
{
  lua_createtable(L, 0, eb_json_count(value));
  for (const eb_json *child = eb_json_first(value); child != NULL; child = eb_json_next(child)) {
    if (eb_json_is_null(child))
      continue;
    lua_pushstring(L, eb_json_key(child));
    convert_push(L, child);
    lua_rawset(L, -3);
  }
}

void convert_push(lua_State *L, const eb_json *value)
{
  luaL_checkstack(L, 6, NULL);
  machine_charge(L, 1);
  if (eb_json_is_array(value))
    push_array(L, value);
  else if (eb_json_is_object(value))
    push_object(L, value);
  else if (eb_json_is_string(value))
    lua_pushstring(L, eb_json_as_string(value, ""));
  else if (eb_json_is_number(value))
    push_number(L, eb_json_as_number(value, 0));
  else if (eb_json_is_bool(value))
    lua_pushboolean(L, eb_json_as_bool(value, false));
  else
    convert_push_null(L);
}
