#include "guard.h"

#include <string.h>

void guard_check(lua_State *L, eb_source *source)
{
  if (source->size > 0 && source->text[0] == LUA_SIGNATURE[0])
    luaL_error(L, "%s: compiled Lua; a procedure is text", source->name);
  if (source->size >= 3 && memcmp(source->text, "\xEF\xBB\xBF", 3) == 0) {
    source->text += 3;
    source->size -= 3;
  }
}
