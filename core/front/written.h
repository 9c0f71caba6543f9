/* Written: what report, history and compare write: in which form, and where to. */
#ifndef EVENBORE_WRITTEN_H
#define EVENBORE_WRITTEN_H

#include "run.h"

#include "evenbore/report.h"

/* The form of --as, else of the ending of -o, else text. */
eb_status eb_written_options(const eb_run *run, eb_report_options *options, eb_error *error);

/* To a new file, whole or not at all, or to standard output. The exit status; what fails is said. */
int eb_written_out(const eb_run *run, const eb_text *text);

#endif
