/* Rehearsal: a procedure played on one simulated engine, as a live job is but for the gauge, the wrench and the clock.
 */
#ifndef EVENBORE_REHEARSAL_H
#define EVENBORE_REHEARSAL_H

#include "load.h"

#include "evenbore/bay.h"

#include <stdatomic.h>

typedef struct eb_rehearsal {
  const eb_host *host;
  const eb_runner *runner;
  const eb_loaded *loaded;
  const eb_gauge *gauge;  /* NULL: what the procedure declares, or usual */
  double tolerance, risk; /* 0: the same */
  double fault[EB_FAULTS];
  bool one_fault;
  atomic_uchar *asked; /* by line of the procedure's file: 1 where a prompt was asked from there */
  size_t lines;        /* of the file, and one */
  /* Sees every message, and the line that answers it or NULL; NULL: nobody looks on. */
  void (*look_on)(void *context, const eb_json *message, const char *answer);
  /* May put another answer in place of the tuner's; NULL: none does. */
  void (*answer)(void *context, const eb_json *ask, char *line, size_t size);
  void *context;
  const eb_json *inputs; /* as eb_session_options has them; borrowed. NULL: none */
} eb_rehearsal;

typedef enum eb_rehearsal_end {
  EB_REHEARSAL_EVEN,
  EB_REHEARSAL_CLAIMED, /* with less than was wanted, or with no claim */
  EB_REHEARSAL_STUCK,   /* it goes on asking, or takes no answer */
  EB_REHEARSAL_FAILED,  /* the procedure's error */
  EB_REHEARSAL_ENDS
} eb_rehearsal_end;

typedef struct eb_rehearsed {
  uint64_t seed;
  eb_rehearsal_end end;
  double tolerance; /* that was wanted */
  bool claims;      /* and how much: */
  double claim, spread,
      began;  /* relative; spread: the truth about the bores claimed, in the end; of all, before work */
  double all; /* of all bores in the end */
  bool measured;
  eb_bay_work work;
  char place[160], why[640]; /* of one that is stuck or failed: where, and what; else "" */
} eb_rehearsed;

/* Plays one engine to its end. The same seed gives the same result.  A failure is not the procedure's:
 * EB_OUT_OF_MEMORY, EB_REFUSED (its engine cannot have the fault). */
eb_status eb_rehearsal_play(const eb_rehearsal *rehearsal, uint64_t seed, eb_rehearsed *result, eb_error *error);

/* Plays `count` engines from this seed on, by as many threads, and tells how far it is on standard error, unless quiet.
 * The results do not depend on the number of threads. */
eb_status eb_rehearsal_crowd(const eb_rehearsal *rehearsal, uint64_t seed, int count, int jobs, bool quiet,
                             eb_rehearsed *results, eb_error *error);

#endif
