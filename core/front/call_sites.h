/* Call sites: where a procedure's own text makes a prompt. */
#ifndef EVENBORE_CALL_SITES_H
#define EVENBORE_CALL_SITES_H

#include <stdbool.h>
#include <stddef.h>

/* The next call of a method that always asks (job:confirm, job:number, ...; those that ask only where it is needed, as
 * a start of an engine that runs, are not among them), from *at on.  Comments and texts are passed over.  *line counts
 * from 1 and goes with *at: begin with both at the text's beginning, 0 and 1.  *call is the method's name; static.
 * False: there is none any more. */
bool eb_call_site_next(const char *text, size_t size, size_t *at, unsigned *line, const char **call);

unsigned eb_line_count(const char *text, size_t size);

#endif
