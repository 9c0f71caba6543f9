/* Api: all that a procedure can name, as one table: calls, tables of fields, types, units, what is usual, and one line
 * of help each.  The checks of the Lua library, the manual, the editor's definition file and luacheck's list of globals
 * are all made from it. */
#ifndef EVENBORE_API_H
#define EVENBORE_API_H

#include "evenbore/text.h"

#ifdef __cplusplus
extern "C" {
#endif

/* A field of a table, or a parameter of a call.
 *
 * `type` is one of the words below, or several with "|" between them, or the name of a table of fields:
 *   text  number  whole  flag  bore  bores  texts  rows  pair  function  adjuster  adjusters  any
 * or "list of NAME", NAME being a table of fields.
 * `usual` NULL: it must be there; "": it may be left out; else what is taken where it is left out.
 * `low` and `high` are a number's limits; both 0: none beyond what the core itself wants. */
typedef struct eb_api_field {
  const char *name; /* "1", "2", ... for a numbered entry */
  const char *type;
  const char *unit; /* "C", "mm", "minutes", "share" (0.05 for 5 %); "": none */
  const char *usual;
  double low, high;
  const char *help;
} eb_api_field;

/* A table that an author writes, or reads from a reply.  Static. */
typedef struct eb_api_table {
  const char *name; /* "confirm" */
  const char *help;
  const eb_api_field *fields;
  size_t field_count;
  bool is_read; /* a reply: never written by an author, so never checked */
} eb_api_table;

/* A function that a procedure's file sees, or a call of the job.  Static. */
typedef struct eb_api_call {
  const char *of;   /* "job"; "": a function of the file */
  const char *name; /* "confirm" */
  const eb_api_field *takes;
  size_t take_count;
  const char *gives; /* a type as a field's; "": nothing */
  const char *help;
} eb_api_call;

const eb_api_table *eb_api_tables(size_t *count);
const eb_api_call *eb_api_calls(size_t *count);
const eb_api_table *eb_api_table_find(const char *name);               /* NULL: none */
const eb_api_call *eb_api_call_find(const char *of, const char *name); /* NULL: none */

/* The names of the Lua language that are there: "assert", "math.floor", ... in byte order; what is not among them is
 * not there. */
const char *const *eb_api_language(size_t *count);

/* Fields of the object `job` that can be read. */
const eb_api_table *eb_api_job_fields(void);

/* Adds the definition file that Lua language servers read: annotations and empty functions, no code to run. */
void eb_api_write_lua(eb_text *text);

/* Adds `stds.procedure = {...}` for a .luacheckrc. */
void eb_api_write_luacheck(eb_text *text);

#ifdef __cplusplus
}
#endif
#endif
