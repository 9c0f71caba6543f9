/* Report: what went wrong in a script, for people. */
#ifndef EB_SCRIPT_REPORT_H
#define EB_SCRIPT_REPORT_H

#include "machine.h"

/* Reads the error on top of the coroutine's (or, before it is there, the state's) stack. */
eb_status report_failure(script_machine *machine, lua_State *L, int status, eb_error *error);

#endif
