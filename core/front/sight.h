/* Sight: what somebody in a simulated bay sees, hears and feels, in words and drawings. */
#ifndef EVENBORE_SIGHT_H
#define EVENBORE_SIGHT_H

#include "page.h"

#include "evenbore/person.h"

/* What is told of it needs names for bores and rows: a layout as in the line protocol, or NULL. */
void eb_sight_show(eb_page *page, const eb_sight *sight, const eb_json *ask, const eb_json *layout,
                   const eb_engine *engine);
void eb_sight_felt(eb_page *page, const eb_felt *felt, const eb_json *ask);

/* "leak at bore 3": a fault where it lies, cut to the buffer. */
const char *eb_sight_fault(eb_fault fault, eb_bores where, const eb_json *layout, char *text, size_t size);

#endif
