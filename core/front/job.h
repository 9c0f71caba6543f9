/* Job: a session being led, whichever way it talks. */
#ifndef EVENBORE_JOB_H
#define EVENBORE_JOB_H

#include "run.h"

#include "evenbore/journal.h"
#include "evenbore/session.h"

typedef struct eb_job {
  const eb_run *run;
  eb_session *session;
  const char *id;              /* borrowed */
  const eb_recovery *recovery; /* what a resume met; NULL: a new session */
} eb_job;

/* Lead the session to its end or to a pause; return the exit status. */
int eb_terminal_run(const eb_job *job);
int eb_lines_run(const eb_job *job);

/* The exit status that an `end` message stands for; why the procedure failed, where it did, goes to standard error. */
int eb_job_end(const eb_job *job, const eb_json *end);

/* "evenbore resume ID", with the folder where it was given. */
const char *eb_job_resume_words(const eb_job *job, char *text, size_t size);

#endif
