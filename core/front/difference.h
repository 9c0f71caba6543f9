/* Difference: what became of a text, line by line. */
#ifndef EVENBORE_DIFFERENCE_H
#define EVENBORE_DIFFERENCE_H

#include "page.h"

#include "evenbore/procedure.h"
#include "evenbore/status.h"

/* Adds the fewest lines that were taken out (-) and put in (+) between two texts, with three lines around each, in the
 * usual unified form; what a screen would obey is written out.  Nothing where they are equal; either text may be empty.
 * Time and memory grow with the product of the lines that differ: 16 MiB for two texts of 4096.  EB_OUT_OF_MEMORY. */
eb_status eb_difference_say(eb_page *page, const eb_host *host, const eb_source *before, const eb_source *after,
                            eb_error *error);

#endif
