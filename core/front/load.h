/* Load: a procedure by its id or its file, and what it declares. */
#ifndef EVENBORE_LOAD_H
#define EVENBORE_LOAD_H

#include "evenbore/bundle.h"
#include "evenbore/host.h"
#include "evenbore/json.h"
#include "evenbore/procedure.h"

#include <stdbool.h>

/* A procedure with its library files: the built-in ones, and those that it requires of lib/ beside it. */
typedef struct eb_loaded {
  const eb_host *host;
  eb_source source;
  eb_source library[EB_PROCEDURE_FILES_MAX];
  size_t library_count, builtin_count; /* the shop's own, owned, stand behind the built-in ones */
  char name[256];                      /* of a file: its base name, which `source` borrows */
  char *text;                          /* of a file; owned. NULL: built in, or a bundle's */
  bool borrows;                        /* a bundle's: no source here is owned */
  eb_bundle bundle;                    /* from the shelf; owned. source_count 0: it is from none */
} eb_loaded;

/* `name` is a built-in procedure's id, the id of one on the shelf, with @VERSION or its highest revision, or, with a
 * slash or ".lua" at its end, a path.  `data` is --data's folder or NULL.
 * EB_NOT_FOUND (with the nearest id), EB_BAD_VALUE (a folder, a bundle's file), EB_OUT_OF_RANGE (too large),
 * EB_BAD_TEXT (no text), EB_IO, and what the shelf's statuses are (shelf.h). `host` must outlive *loaded. */
eb_status eb_load(const eb_host *host, const char *data, const char *name, eb_loaded *loaded, eb_error *error);

/* What a bundle holds, to be run: borrowed from it.  EB_OUT_OF_RANGE: more library files than run; EB_SHADOWS: one has
 * the name of a built-in library file, which a procedure would get instead. */
eb_status eb_load_bundle(const eb_host *host, const eb_bundle *bundle, eb_loaded *loaded, eb_error *error);

void eb_load_clear(eb_loaded *loaded);

/* The next name that the text requires, from *at on; false where there is none any more.  A name in a comment is one
 * too: its file is then read for nothing. */
bool eb_load_next_required(const eb_source *source, size_t *at, char *name, size_t room);

/* Runs a procedure up to its declaration: {"op": "declare", "procedure", "layout"?, "gauge"?, ...}.
 * *declare is owned by the caller. The runner's statuses; EB_SCRIPT where it declares nothing. */
eb_status eb_load_declare(const eb_host *host, const eb_runner *runner, const eb_source *source,
                          const eb_source *library, size_t library_count, eb_json **declare, eb_error *error);

#endif
