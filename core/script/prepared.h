/* Prepared: the memory of a run's process, and in it, where many runs are to begin, the library that they share.
 *
 * It is made by the program before any fork; a child finds its copy as it was and goes on from there.  Only the
 * program's own library is ever run outside of a child. */
#ifndef EB_SCRIPT_PREPARED_H
#define EB_SCRIPT_PREPARED_H

#include "arena.h"
#include "machine.h"

typedef struct prepared {
  void *pages; /* NULL: nothing is there */
  size_t size;
  arena memory;
  eb_host host; /* allocates in there, and has no files; points into this structure, which must stay where it is */
  script_machine *machine; /* NULL: a run begins from nothing */
} prepared;

/* Pages of memory as nobody has used them; NULL: the system has none.  Safe after a fork. */
void *prepared_pages(size_t size);

/* The system's host, but for memory, which comes from this arena, and without files. */
eb_host prepared_host(arena *memory);

/* Memory for a run with these limits, nothing in it. False where the system has none.  Safe after a fork. */
bool prepared_take(prepared *made, const eb_script_limits *limits);

/* The same with the built-in library loaded. */
eb_status prepared_make(prepared *made, const eb_script_limits *limits, eb_error *error);
void prepared_clear(prepared *made);

/* Whether a run with these library files may begin from it: those that it has are among them, byte by byte. */
bool prepared_fits(const prepared *made, const eb_source *library, size_t library_count);

#endif
