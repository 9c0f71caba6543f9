#include "place.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

/* Between a verb and the author's line stand a few calls of the library. */
enum { LEVELS_MAX = 200 };

bool place_is_library(const char *name)
{
  return strncmp(name, "lib/", 4) == 0;
}

/* Whether the frame runs a line of a file. */
static bool read_frame(lua_State *L, lua_Debug *frame, bool *library)
{
  lua_getinfo(L, "Sl", frame);
  if (frame->currentline <= 0 || frame->source[0] != '=')
    return false;
  *library = place_is_library(frame->source + 1);
  return true;
}

static void write_place(const lua_Debug *frame, char place[PLACE_SIZE])
{
  snprintf(place, PLACE_SIZE, "%s:%d", frame->source + 1, frame->currentline);
}

static bool find(lua_State *L, bool wanted, char place[PLACE_SIZE])
{
  lua_Debug frame;
  bool library = false;
  for (int level = 0; level < LEVELS_MAX && lua_getstack(L, level, &frame); level++)
    if (read_frame(L, &frame, &library) && library == wanted) {
      write_place(&frame, place);
      return true;
    }
  place[0] = '\0';
  return false;
}

void place_step(lua_State *L, char place[PLACE_SIZE])
{
  lua_Debug frame, step = {.currentline = 0};
  bool library = true;
  for (int level = 0; level < LEVELS_MAX && library && lua_getstack(L, level, &frame); level++)
    if (read_frame(L, &frame, &library) && library)
      step = frame;
  place[0] = '\0';
  if (step.currentline > 0)
    write_place(&step, place);
}

bool place_author(lua_State *L, char place[PLACE_SIZE])
{
  return find(L, false, place);
}

bool place_library(lua_State *L, char place[PLACE_SIZE])
{
  return find(L, true, place);
}

void place_any(lua_State *L, char place[PLACE_SIZE])
{
  if (!place_author(L, place) && !place_library(L, place))
    snprintf(place, PLACE_SIZE, "%s", machine_of(L)->main.name);
}

int place_fail(lua_State *L, const char *format, ...)
{
  char place[PLACE_SIZE];
  place_any(L, place);
  lua_pushfstring(L, "%s: ", place);
  va_list arguments;
  va_start(arguments, format);
  lua_pushvfstring(L, format, arguments);
  va_end(arguments);
  lua_concat(L, 2);
  return lua_error(L);
}
