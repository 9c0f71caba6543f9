/* Rehearse: what the command `rehearse` was asked for, and what it tells. */
#ifndef EVENBORE_REHEARSE_H
#define EVENBORE_REHEARSE_H

#include "run.h"
#include "tally.h"

/* Bars that a result is to meet, per cent of all engines (wrong: of all claims); negative: none. */
typedef struct eb_bars {
  double even, wrong, stuck, failed;
} eb_bars;

typedef struct eb_rehearse {
  const eb_run *run;
  const char *title, *id, *version; /* of the procedure, borrowed */
  int engines, jobs;
  uint64_t seed;
  eb_bars bars;
  const eb_rehearsal *rehearsal;
  const eb_tally *tally;
} eb_rehearse;

/* What is given for --faults (NULL: none) to a rehearsal without faults. EB_BAD_VALUE, EB_NOT_FOUND. */
eb_status eb_rehearse_faults(const char *text, eb_rehearsal *rehearsal, eb_error *error);

/* Which bar is missed first; NULL: none is. */
const char *eb_bars_missed(const eb_bars *bars, const eb_tally *tally);

/* The command that plays one engine again, cut to the buffer. */
const char *eb_rehearse_again(const eb_rehearse *o, uint64_t seed, char *text, size_t size);

/* Both return the exit status of having printed it. */
int eb_rehearse_print(const eb_rehearse *o);
int eb_rehearse_print_json(const eb_rehearse *o);

/* The same of every fault by itself: the first `count` of the rows, which are none and then each eb_fault; without
 * engines where it cannot be. */
int eb_rehearse_print_each(const eb_rehearse *o, const eb_tally *rows, int count);
int eb_rehearse_print_each_json(const eb_rehearse *o, const eb_tally *rows, int count);

#endif
