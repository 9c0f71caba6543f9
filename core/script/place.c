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

/* Whether the frame runs a line of a file, and not a function of C. */
static bool read_frame(lua_State *L, lua_Debug *frame, bool *library)
{
  lua_getinfo(L, "S", frame);
  if (frame->source[0] != '=' || *frame->what == 'C')
    return false;
  *library = place_is_library(frame->source + 1);
  return true;
}

/* Empty where there is no frame.  Each request has two places, and printf takes longer than all the rest of them. */
static void write_place(lua_State *L, lua_Debug *frame, char place[PLACE_SIZE])
{
  char digits[12];
  size_t count = 0, size = 0;
  if (frame->source != NULL) {
    lua_getinfo(L, "l", frame); /* to work a line out is dear: only of these */
    for (int line = frame->currentline; line > 0; line /= 10)
      digits[count++] = (char)('0' + line % 10);
    size = strnlen(frame->source + 1, PLACE_SIZE - sizeof digits);
    memcpy(place, frame->source + 1, size);
    place[size++] = ':';
  }
  while (count > 0)
    place[size++] = digits[--count];
  place[size] = '\0';
}

/* The innermost frame of the author's file, and the library's nearest to it inside; what is not there has no source. */
static void find_frames(lua_State *L, lua_Debug *author, lua_Debug *step)
{
  lua_Debug frame;
  bool library = true;
  author->source = step->source = NULL;
  for (int level = 0; level < LEVELS_MAX && lua_getstack(L, level, &frame); level++) {
    if (!read_frame(L, &frame, &library))
      continue;
    *(library ? step : author) = frame;
    if (!library)
      return;
  }
}

void place_request(lua_State *L, char author[PLACE_SIZE], char step[PLACE_SIZE])
{
  lua_Debug author_frame, step_frame;
  find_frames(L, &author_frame, &step_frame);
  write_place(L, &author_frame, author);
  write_place(L, &step_frame, step);
}

bool place_author(lua_State *L, char place[PLACE_SIZE])
{
  lua_Debug author, step;
  find_frames(L, &author, &step);
  write_place(L, &author, place);
  return place[0] != '\0';
}

bool place_library(lua_State *L, char place[PLACE_SIZE])
{
  lua_Debug frame;
  bool library = false;
  for (int level = 0; level < LEVELS_MAX && lua_getstack(L, level, &frame); level++)
    if (read_frame(L, &frame, &library) && library) {
      write_place(L, &frame, place);
      return true;
    }
  place[0] = '\0';
  return false;
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
