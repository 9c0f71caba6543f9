/* Person: somebody in the simulated tuner's place in a bay, for practice.
 *
 * Before an answer the person looks; once the session has taken it, what was answered is done to the engine.  A look
 * shows what instruments show and eyes find, never what a reading would have to be: a needle has a span in which it
 * flutters, and whoever reads it chooses.  What is seen at which check is this project's own. */
#ifndef EVENBORE_PERSON_H
#define EVENBORE_PERSON_H

#include "evenbore/bay.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef enum eb_dial {
  EB_DIAL_NONE,
  EB_DIAL_GAUGE,
  EB_DIAL_THERMOMETER,
  EB_DIAL_PROBE, /* at an exhaust port */
  EB_DIAL_TACHOMETER,
  EB_DIAL_LEAF,   /* feeler leaves: `least` goes in, a `step` more does not */
  EB_DIAL_TRAVEL, /* of a plate's edge */
  EB_DIAL_MIXTURE,
  EB_DIAL_KNOWN /* nothing is measured: stamped, or in the papers */
} eb_dial;

/* Faults as a set: bit f is eb_fault f. */
typedef unsigned eb_faults;

typedef struct eb_sight {
  eb_dial dial;
  int bore;                   /* that the dial is at; -1: none */
  double least, most;         /* between which its needle moves, in the ask's unit; equal where it stands still */
  double step;                /* that it can be read to; 0: unknown */
  int rows;                   /* of a mixture sensor behind each row; 0: none */
  double lambda[EB_ROWS_MAX]; /* what it shows there */
  eb_faults checks, finds;    /* faults that this check would show, and those of them that it does */
  double waited_min;          /* passed for it */
  bool started, stopped;      /* the engine was, since nothing could be looked at otherwise */
} eb_sight;

typedef struct eb_felt {
  bool fired, stands; /* the engine came to idle, or to rest */
  double speed_rpm;   /* it idles at */
  bool moved;
  bool slack, hangs; /* an adjuster turned through its lash first; part of the move stays in the linkage */
  eb_faults mended;
  bool vent; /* the gauge's vent was turned */
  double waited_min;
} eb_felt;

/* What there is to see for an ask.  It takes time, in which the engine warms, and a second look sees the needle
 * elsewhere: whoever shows the same sight twice keeps it.  EB_OUT_OF_MEMORY. */
eb_status eb_bay_look(eb_bay *bay, const eb_json *ask, eb_sight *sight, eb_error *error);

/* The answer that a session took (`value` as the protocol has it) becomes true: the engine is started or stopped, the
 * vent turned, a fault that was named or found mended where that can be done at the engine.  An adjuster that was
 * answered as done is moved by `move` (as eb_move has it): the metal answers as it likes. */
void eb_bay_act(eb_bay *bay, const eb_json *ask, const eb_json *value, double move, eb_felt *felt);

/* What the bay's own tuner looked at for the last eb_bay_answer. */
void eb_bay_seen(const eb_bay *bay, eb_sight *sight);

/* The faults that came to light so far, by a check, a choice or a wait, whoever answers. */
eb_faults eb_bay_found(const eb_bay *bay);

#ifdef __cplusplus
}
#endif
#endif
