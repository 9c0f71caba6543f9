/* Complete: names for a shell that completes what a person types. */
#ifndef EVENBORE_COMPLETE_H
#define EVENBORE_COMPLETE_H

#include "run.h"

/* `words` are those behind `complete`: "bash" prints the shell's script; "words" and the words of a command line up to
 * the one that is typed print what that one can become, one a line. Never fails for what is typed: what cannot be
 * completed has nothing printed.  The exit status. */
int eb_complete_run(const eb_run *run, int count, char **words);

#endif
