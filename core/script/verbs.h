/* Verbs: the table `core` that library files see, and no procedure does.
 *
 * core.request(table) -> table
 *     Sends one request and waits for its reply.  Adds `at`, the author's line, and `by`, the library's line nearest
 *     to it, where they are missing.  A reply {"error": text} is raised at the author's line.
 * core.where() -> text
 *     "v8-coupled.lua:31": the author's line at work; the library's, or the file, where there is none.
 * core.where_field(place, name) -> text
 *     The line of a field of the table that begins at a place kept from core.where; the place itself where it cannot be
 *     told.
 * core.fail(text [, place])
 *     Raises at the author's line, or at a place kept from core.where.
 * core.array(table) -> table
 *     Marks the table as a list, so that it is one also while it is empty.
 * core.null
 *     JSON's null.  Replies have it in lists only: an object's null members are left out.
 * core.class(name, methods) -> function(fields) -> object
 *     Objects whose calls and fields can be read, and nothing else.  A method gets the object first; `fields` is a
 *     table that the library may keep and change; those among them that are tables only library files can read.  An
 *     unknown name is raised at the author's line.
 * core.kind(value) -> text or nil
 *     The class of an object.
 * core.nearest(word, list) -> text or nil
 *     What may have been meant by a misspelt word.
 * core.export(name, value)
 *     Makes a name visible in the procedure's file.  Functions are wrapped so that a tail call keeps the author's line;
 *     of a table the author gets a copy to read.
 * core.api(name) -> list or nil
 *     The fields of a table ("confirm"), or the parameters of a call of the job ("job:read"), as api.h has them:
 *     { name =, type =, need =, unit =, low =, high = }; unit, low and high only where there is one.
 * core.is(type, value) -> flag
 *     Whether a value is of a type of api.h, "text|function"; of a table alone that it is one.
 * core.shape(name) -> function(...) -> flag
 *     Whether what it is given is in every way what the rows of that name (as for core.api) want: for a call its
 *     arguments, for a table one.  False says no more than that a closer look is wanted.
 * core.globals
 *     What is visible there, to read: so that a check can list it.
 * core.procedure(declare, run) -> value
 *     What the procedure's file must return.  `declare` is sent first, as {"op": "declare"} with the place of this
 *     call; then `run` is called without arguments; when it returns, {"op": "end"} is sent. */
#ifndef EB_SCRIPT_VERBS_H
#define EB_SCRIPT_VERBS_H

#include "machine.h"

void verbs_push(lua_State *L);

/* Whether the value at `index` was made by core.procedure. */
bool verbs_is_procedure(lua_State *L, int index);

/* Of a procedure: what to declare, and what to run. */
enum { PROCEDURE_DECLARE = 1, PROCEDURE_RUN = 2 };

#endif
