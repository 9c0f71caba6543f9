/* Script: runs procedures written in Lua 5.4, contained. */
#ifndef EVENBORE_SCRIPT_H
#define EVENBORE_SCRIPT_H

#include "evenbore/procedure.h"

#ifdef __cplusplus
extern "C" {
#endif

/* Budgets of one procedure.  A script cannot raise them, nor catch their end with
 * pcall; reaching one ends the run with EB_BUDGET, not the session. */
typedef struct eb_script_limits {
  long instructions; /* Lua VM instructions between two requests, library work charged: 5 000 000 */
  long processor_ms; /* processor time between two requests, a backstop: 1 500 */
  size_t memory;     /* bytes of all Lua memory: 16 MiB */
  size_t string;     /* bytes of one string: 64 KiB */
  size_t block;      /* bytes of any other block: 1 MiB */
} eb_script_limits;
eb_script_limits eb_script_limits_usual(void);

/* The runner of Lua procedures. `limits` NULL: the usual ones; else borrowed, it must outlive the runner.
 *
 * The first exchange makes a fresh Lua state, runs lib/api.lua, then the procedure's file, which must
 * return what procedure { ... } made, and gives its `declare`.  The second begins
 * its `run`; when that returns, the request is {"op": "end"}.  Sources are UTF-8 text, at most 64 KiB each; a byte
 * order mark and Windows line ends are taken, compiled Lua is not.  A procedure's name has no folder, a library file's
 * is "lib/NAME.lua"; both have at most 59 bytes.  An error's place is the line of the file that it happened in; where
 * that is a library file, the message names the author's line too.  Runs in different threads do not meet; one run
 * is used by one thread at a time.  JSON trees, the reply's and the request's while it is
 * made, are not part of `memory`; EB_PROCEDURE_REQUEST_MAX bounds them. */
eb_runner eb_script_runner(const eb_script_limits *limits);

/* A procedure or library file that is built into the program.  Static. */
const eb_source *eb_script_builtin_procedure(const char *id); /* "v8-coupled"; NULL: none */
const eb_source *eb_script_builtin_procedures(size_t *count); /* sorted by name */
const eb_source *eb_script_builtin_library(size_t *count);    /* procedures/lib, sorted by name */

#ifdef __cplusplus
}
#endif
#endif
