/* Syntax: what Lua's parser complains of, told with the line to look at and what to write. */
#ifndef EB_SCRIPT_SYNTAX_H
#define EB_SCRIPT_SYNTAX_H

#include "machine.h"

/* Replaces the parser's message on top of the stack, "NAME:LINE: ...", where more can be said. */
void syntax_explain(lua_State *L, const eb_source *source);

#endif
