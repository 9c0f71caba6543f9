/* Verbs: the table `core` that library files see, and no procedure does.
 *
 * core.request(table) -> table   sends one request, waits for its reply; adds `at`, the author's line, and `by`, the
 *                                library's line nearest to it; an {"error"} is raised at the author's line
 * core.where() -> text           "v8-coupled.lua:31": the author's line at work
 * core.fail(text [, place])      raises at the author's line, or at a place kept from core.where
 * core.array(table) -> table     marks it as a list, so that it is one also when it is empty
 * core.null                      JSON's null
 * core.class(name, methods) -> function(fields) -> object
 *                                objects whose calls and fields can be read and nothing else; a method gets the object first
 * core.kind(value) -> text, nil  the class of an object
 * core.nearest(word, list) -> text, nil   what was meant by a misspelt word
 * core.export(name, value)       makes a name visible in the procedure's file; functions keep the author's line
 * core.globals                   what is visible there, to read
 * core.procedure(declare, run) -> value   what the procedure's file must return: `declare` is sent first, as {"op": "declare"},
 *                                then `run` is called without arguments, then {"op": "end"} is sent */
#ifndef EB_SCRIPT_VERBS_H
#define EB_SCRIPT_VERBS_H

#include "machine.h"

void verbs_push(lua_State *L);

/* Whether the value at `index` was made by core.procedure. */
bool verbs_is_procedure(lua_State *L, int index);

/* Of a procedure: what to declare, and what to run. */
enum { PROCEDURE_DECLARE = 1, PROCEDURE_RUN = 2 };

/* Adds "at" and "by" to the table at `index` where they are missing. */
void verbs_add_places(lua_State *L, int index);

#endif
