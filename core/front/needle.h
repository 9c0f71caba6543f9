/* Needle: where an instrument's needle flutters, on a piece of its scale that is to be read by eye. */
#ifndef EVENBORE_NEEDLE_H
#define EVENBORE_NEEDLE_H

#include "page.h"

/* Two lines: the fan that the needle sweeps, and below it the marks, each with its number, whose first character stands
 * at the mark's place.  Between two marks there is nothing to count: marks lie at least four `step`s (what the
 * instrument can be read to, > 0) apart.  `least` <= `most`. */
void eb_needle_draw(eb_page *page, double least, double most, double step);

/* How such a drawing is read, in words. */
void eb_needle_explain(eb_page *page);

#endif
