/* Figure: `evenbore figure`, questions about plates, screws and air that need no session. */
#ifndef EVENBORE_FIGURE_H
#define EVENBORE_FIGURE_H

#include <stdio.h>

/* argv[0] is "figure".  Answers go to `out`, one line on what is wrong to `err`.
 * Returns 0; 2: what was typed cannot be used; 1: the answer could not be written. */
int eb_figure_run(int argc, char **argv, FILE *out, FILE *err);

#endif
