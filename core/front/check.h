/* Check: what is found in a procedure without a customer's engine. */
#ifndef EVENBORE_CHECK_H
#define EVENBORE_CHECK_H

#include "load.h"
#include "run.h"

#include "evenbore/file.h"

enum { EB_CHECK_FINDINGS = 200 };

typedef struct eb_check_finding {
  bool error;              /* else a warning */
  unsigned line;           /* 0: the file as a whole */
  char file[EB_PATH_SIZE]; /* as it was given, or a library file beside it */
  char text[700];
} eb_check_finding;

/* What one procedure was seen to use up at most between two answers, and all together. */
typedef struct eb_check_use {
  double instructions, memory, prompts, text, request;
} eb_check_use;

/* One file being checked. */
typedef struct eb_check {
  const eb_run *run;
  const char *path; /* as given */
  eb_loaded loaded;
  eb_json *declare; /* its first request; NULL: it does not load. Owned */
  eb_json *layout;  /* the layout first met, with its places; owned. NULL: none */
  eb_json *shown;   /* the same as the line protocol has it; owned */
  int ways;         /* combinations of its options */
  int engines;      /* that were played */
  bool runs;        /* it has the engine run: it is to come to a claim */
  eb_check_use use;
  /* Sees every request of every play; NULL: nobody does. */
  void (*see)(void *context, const eb_json *request);
  void *context;
  int count;
  bool more; /* there were others, for which there is no room */
  eb_check_finding finding[EB_CHECK_FINDINGS];
} eb_check;

/* Adds a finding, unless the same stands there.  `place` is "NAME:LINE" as the program's errors have it; the
 * procedure's own name becomes the path that was given. */
#if defined(__GNUC__)
__attribute__((format(printf, 4, 5)))
#endif
void
eb_check_add(eb_check *check, bool error, const char *place, const char *format, ...);

/* Looks `path` through; the caller has set `run` and `path`, and all else to zero. False where the machine, not the
 * procedure, fails. */
bool eb_check_look(eb_check *check, eb_error *error);
int eb_check_errors(const eb_check *check); /* findings that are wrong, not only to look at */
void eb_check_say(eb_page *page, const eb_check *check);
void eb_check_clear(eb_check *check);

/* The parts of a check, in their order. */
void eb_check_source(eb_check *check, const eb_source *source); /* letters, and names that nothing is known of */
void eb_check_prompt(eb_check *check, const eb_json *ask, bool authors); /* its words; whether a line of theirs asks */
void eb_check_layout(eb_check *check, const eb_json *layout);            /* a layout, as the procedure declares it */
eb_status eb_check_play(eb_check *check, eb_error *error);               /* rehearsals; EB_OUT_OF_MEMORY, EB_IO */

#endif
