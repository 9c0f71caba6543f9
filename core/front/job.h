/* Job: a session being led, whichever way it talks. */
#ifndef EVENBORE_JOB_H
#define EVENBORE_JOB_H

#include "run.h"

#include "evenbore/journal.h"
#include "evenbore/session.h"

/* Somebody else at the terminal's side, who knows what the engine does: a practice's simulated bay.  Whatever they have
 * to say goes on the page. */
typedef struct eb_company {
  void *context;
  /* Every message before it is shown. False: the job cannot go on, and why has been said. */
  bool (*hear)(void *context, const eb_json *message);
  /* What there is to see for an ask, behind its prompt; again where the prompt is repeated. False as above. */
  bool (*show)(void *context, eb_page *page, const eb_json *ask);
  /* What goes to the session for what was typed: the same, or another text that lives until the next call. */
  const char *(*translate)(void *context, const eb_json *ask, const char *typed, size_t *size);
  /* The answer to the ask that was shown last was taken. */
  void (*act)(void *context, eb_page *page);
  /* A line of the protocol in the person's place, told on the page as well; NULL as above. A NULL function: the person
   * answers. Before it the page stays readable for `pace` ms a character. */
  const char *(*answer)(void *context, eb_page *page, const eb_json *ask);
  int pace_ms;
  void (*farewell)(void *context, eb_page *page);
} eb_company;

typedef struct eb_job {
  const eb_run *run;
  const eb_host *host; /* whose files the journal is among */
  eb_session *session;
  const char *id;              /* borrowed */
  const eb_recovery *recovery; /* what a resume met; NULL: a new session */
  const eb_company *company;   /* NULL: none */
} eb_job;

/* Lead the session to its end or to a pause; return the exit status. */
int eb_terminal_run(const eb_job *job);
int eb_lines_run(const eb_job *job);

/* The exit status that an `end` message stands for; why the procedure failed, where it did, goes to standard error. */
int eb_job_end(const eb_job *job, const eb_json *end);

/* "evenbore resume ID", with the folder where it was given. */
const char *eb_job_resume_words(const eb_job *job, char *text, size_t size);

#endif
