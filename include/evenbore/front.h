/* Front: the program `evenbore` as one function. */
#ifndef EVENBORE_FRONT_H
#define EVENBORE_FRONT_H

#include "evenbore/host.h"

#ifdef __cplusplus
extern "C" {
#endif

/* Runs one command line over the standard files and returns the exit status:
 * 0 done or paused, 1 failed, 2 the command line is wrong (`evenbore --help` has the whole list).
 * It is meant to be the whole of a main: a job takes SIGINT, SIGTERM and SIGHUP
 * over as the wish to pause and leaves them blocked, and SIGPIPE ignored, when it returns.
 * `argv` is borrowed; of the environment XDG_DATA_HOME, HOME, LC_ALL, LC_CTYPE, LANG, TERM, NO_COLOR and COLUMNS are
 * read. */
int eb_front_run(int argc, char **argv, const eb_host *host);

#ifdef __cplusplus
}
#endif
#endif
