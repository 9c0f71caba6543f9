/* Runner: a run in two steps, for a process that is to begin many. */
#ifndef EB_SCRIPT_RUNNER_H
#define EB_SCRIPT_RUNNER_H

#include "machine.h"

/* A run that has its library and no procedure yet. `host` and `limits` as for eb_script_runner. */
eb_status runner_prepare(const eb_host *host, const eb_script_limits *limits, const eb_source *library,
                         size_t library_count, script_machine **machine, eb_error *error);

/* Makes it the run of `main`, as if that had been started at once; library files of the names that it was prepared with
 * have the same texts.  *procedure owns the machine then, and also after a failure it is of no other use. */
eb_status runner_begin(script_machine *machine, const eb_source *main, const eb_source *library, size_t library_count,
                       eb_procedure *procedure, eb_error *error);

#endif
