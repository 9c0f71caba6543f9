/* Rehearsal: a procedure played on one simulated engine, as a live job is but for the gauge, the wrench and the clock.
 */
#ifndef EVENBORE_REHEARSAL_H
#define EVENBORE_REHEARSAL_H

#include "load.h"

#include "evenbore/bay.h"
#include "evenbore/script.h"

#include <stdatomic.h>

typedef struct eb_rehearsal {
  const eb_host *host;
  const eb_runner *runner;
  /* Crowds are played in cells of it; NULL: each run in its runner's process, as what another shop sent must be. */
  const eb_script_child *cells;
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

/* What is safe.  A job comes to its end, and what it claims in it, if it claims anything, holds for the metal as it
 * stands then: with the fault that is still in it, without the bores that the claim leaves out, after the throttle was
 * snapped and the engine driven off its idle once more.  How a fault comes to a safe end:
 *   leak           found by a hand on its stack and sealed; left out; never air that the gauge does not see
 *   dead           the bore draws nearly nothing: left out, and the claim says so
 *   weak, lean     no fault of the air: the air is made even all the same; named where a probe or a sensor is at hand
 *   stick, loose-coupler, lash
 *                  found by a snap or a finger, and mended; or so small that the claim holds wherever it comes to rest
 *   wander         waited out or mended, or averaged: more readings, or a wider claim
 *   warming        waited for
 *   band           the vent is turned, or the coarse steps make the claim wider
 *   vent           the pass is gone round again
 *   swap           both are read again; or moves on them are measured, and done anew
 * "Named" is more than safe: the fault came to light in the job, by a finding, a check or a choice that names it. */
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
  bool named; /* one of the faults that it was to have came to light */
  eb_bay_work work;
  char place[160], why[640]; /* of one that is stuck or failed: where, and what; else "" */
} eb_rehearsed;

/* Plays one engine to its end. The same seed gives the same result.  A failure is not the procedure's:
 * EB_OUT_OF_MEMORY, EB_REFUSED (its engine cannot have the fault). */
eb_status eb_rehearsal_play(const eb_rehearsal *rehearsal, uint64_t seed, eb_rehearsed *result, eb_error *error);

/* The same in two steps: what is the same for every engine, and one engine, once.  `rehearsal` is borrowed until the
 * clearing. */
typedef struct eb_rehearsal_begun eb_rehearsal_begun;
eb_status eb_rehearsal_begin(const eb_rehearsal *rehearsal, eb_rehearsal_begun **begun, eb_error *error);
eb_status eb_rehearsal_finish(eb_rehearsal_begun *begun, uint64_t seed, eb_rehearsed *result, eb_error *error);
void eb_rehearsal_clear(eb_rehearsal_begun *begun);

/* Plays `count` engines from this seed on, by as many processes as `jobs` says, forks of this one, and tells how far it
 * is on standard error, unless quiet.  The results do not depend on their number, nor on cells.  `look_on` and `answer`
 * are called in the process that plays, which has no cells then.  *played: of the engines from the first on those that
 * came to their end; fewer than `count` only where a Ctrl-C stopped it; a second one ends the program.  EB_IO: one of
 * the processes was ended from outside, or none could be started. */
eb_status eb_rehearsal_crowd(const eb_rehearsal *rehearsal, uint64_t seed, int count, int jobs, bool quiet,
                             eb_rehearsed *results, int *played, eb_error *error);

/* Plays engines for one process of a crowd in its cell; what a cell does not play well is to be played without. */
typedef struct eb_rehearsal_cell {
  eb_rehearsal rehearsal; /* copied: a cell sees no memory that is shared */
  eb_script_cell *cell;   /* NULL: none is open */
} eb_rehearsal_cell;

/* False where there is no cell, or the engine did not come to its end in it: for want of memory, by a failure of the
 * rehearsal's, or whatever ended the cell.  Else *result is what eb_rehearsal_play would give. */
bool eb_rehearsal_in_cell(eb_rehearsal_cell *in, uint64_t seed, eb_rehearsed *result);
void eb_rehearsal_cell_close(eb_rehearsal_cell *in);

/* Whether a result that came from a cell can be counted and shown. What it says may still be a lie. */
bool eb_rehearsed_is_whole(const eb_rehearsed *result);

#endif
