#include "report.h"

#include "place.h"

#include "evenbore/text.h"

#include <string.h>

enum { TEXT_MAX = 500, DEEP = 1000 };

/* Takes "NAME:12: " or "NAME: " off the text where NAME is a file of this run. */
static const char *split_place(const char *text, const char *name, char place[PLACE_SIZE])
{
  size_t size = strlen(name);
  if (strncmp(text, name, size) != 0 || text[size] != ':')
    return NULL;
  size_t digits = strspn(text + size + 1, "0123456789");
  size_t end = digits == 0 ? size : size + 1 + digits;
  if (text[end] != ':' || text[end + 1] != ' ' || end >= PLACE_SIZE)
    return NULL;
  memcpy(place, text, end);
  place[end] = '\0';
  return text + end + 2;
}

static const char *split(const script_machine *machine, const char *text, char place[PLACE_SIZE])
{
  const char *rest = split_place(text, machine->main.name, place);
  for (size_t i = 0; i < machine->library_count && rest == NULL; i++)
    rest = split_place(text, machine->library[i].name, place);
  return rest == NULL ? text : rest;
}

static size_t cut(const char *text, size_t size)
{
  if (size <= TEXT_MAX)
    return size;
  size = TEXT_MAX;
  while (size > 0 && ((unsigned char)text[size] & 0xC0U) == 0x80U)
    size--;
  return size;
}

static eb_status fail_safe(const script_machine *machine, const char *place, const char *text, size_t size,
                           const char *behind, eb_error *error)
{
  eb_text safe;
  eb_text_init(&safe, machine->host);
  eb_text_add_safe(&safe, text, cut(text, size), false);
  eb_text_add(&safe, behind);
  eb_status status = safe.failed ? eb_fail(error, EB_OUT_OF_MEMORY, place, "there is no memory for the error's text")
                                 : eb_fail(error, EB_SCRIPT, place, "%s", eb_text_string(&safe));
  eb_text_clear(&safe);
  return status;
}

static eb_status report_error(const script_machine *machine, lua_State *L, eb_error *error)
{
  char place[PLACE_SIZE];
  char author[PLACE_SIZE];
  char behind[PLACE_SIZE + 20] = "";
  place_any(L, place);
  if (lua_type(L, -1) != LUA_TSTRING)
    return eb_fail(error, EB_SCRIPT, place, "an error value of type %s was raised", luaL_typename(L, -1));
  size_t size = lua_rawlen(L, -1);
  const char *text = lua_tostring(L, -1);
  const char *rest = split(machine, text, place);
  if (place_is_library(place) && place_author(L, author))
    snprintf(behind, sizeof behind, " (called from %s)", author);
  return fail_safe(machine, place, rest, size - (size_t)(rest - text), behind, error);
}

static eb_status report_memory(const script_machine *machine, lua_State *L, const char *place, eb_error *error)
{
  lua_Debug frame;
  switch (machine->refused) {
  case REFUSED_BY_HOST: return eb_fail(error, EB_OUT_OF_MEMORY, place, "there is no memory left");
  case REFUSED_STRING: return eb_fail(error, EB_BUDGET, place, "a text longer than %zu bytes", machine->limits.string);
  case REFUSED_BLOCK:
    if (lua_getstack(L, DEEP, &frame))
      return eb_fail(error, EB_BUDGET, place, "calls inside calls without end: a function that always calls itself");
    return eb_fail(error, EB_BUDGET, place, "a table or list that needs more than %zu bytes", machine->limits.block);
  default:
    return eb_fail(error, EB_BUDGET, place, "the procedure holds more than %zu bytes of memory",
                   machine->limits.memory);
  }
}

eb_status report_failure(script_machine *machine, lua_State *L, int status, eb_error *error)
{
  char place[PLACE_SIZE];
  place_any(L, place);
  if (status == LUA_ERRMEM && machine->spent == SPENT_NOTHING)
    machine->spent = SPENT_MEMORY;
  if (machine->spent_at[0] != '\0')
    memcpy(place, machine->spent_at, sizeof place);
  switch (machine->spent) {
  case SPENT_MEMORY: return report_memory(machine, L, place, error);
  case SPENT_INSTRUCTIONS:
    return eb_fail(error, EB_BUDGET, place,
                   "more than %ld steps without asking or telling anything: a loop without end?",
                   machine->limits.instructions);
  case SPENT_TIME:
    return eb_fail(error, EB_BUDGET, place, "more than %ld ms of work without asking or telling anything",
                   machine->limits.processor_ms);
  case SPENT_NOTHING: break;
  }
  return report_error(machine, L, error);
}
