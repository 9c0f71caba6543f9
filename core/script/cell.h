/* Cell: the locked-in process in which a caller's work and its runs live together. */
#ifndef EB_SCRIPT_CELL_H
#define EB_SCRIPT_CELL_H

#include "child.h"

/* The cell's part of a fork: answers questions until nobody asks any more. Does not return. */
void cell_live(const child_order *order);

#endif
