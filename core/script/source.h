/* Source: the texts of a run, checked, loaded and required. */
#ifndef EB_SCRIPT_SOURCE_H
#define EB_SCRIPT_SOURCE_H

#include "machine.h"

/* Names, counts and sizes. */
eb_status source_check(const eb_source *main, const eb_source *library, size_t library_count, eb_error *error);

/* Copies names and texts, checked. */
eb_status source_copy(script_machine *machine, const eb_source *main, const eb_source *library, size_t library_count,
                      eb_error *error);
void source_clear(script_machine *machine);

/* Pushes the source as a function with its environment; raises "name:line: ...". */
void source_load(lua_State *L, const eb_source *source);

/* Runs library file lib/NAME.lua, once; pushes what it returned. */
void source_push_library(lua_State *L, const char *name);

/* require(name): what the file returned; for the procedure's own file, to read only. */
int source_require(lua_State *L);
int source_require_frozen(lua_State *L);

#endif
