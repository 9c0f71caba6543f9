/* Filter: the system calls that are left to a locked-in process. */
#ifndef EB_SCRIPT_FILTER_H
#define EB_SCRIPT_FILTER_H

#include "evenbore/status.h"

#include <linux/filter.h>
#include <stdbool.h>

enum { FILTER_STEPS_MAX = 128 };

/* A program for the kernel: read, write, exit, exit_group, clock_gettime, rt_sigreturn; anything else, and any
 * other machine's way to call, ends the process. */
typedef struct filter {
  struct sock_filter step[FILTER_STEPS_MAX];
  unsigned short count;
} filter;

/* Whether this kernel takes filters at all. */
bool filter_is_possible(void);

/* EB_OUT_OF_MEMORY; EB_IO where there is no file descriptor left. */
eb_status filter_make(filter *made, eb_error *error);

/* From here on, for good; false where the kernel refuses. Safe after a fork. */
bool filter_install(const filter *made);

#endif
