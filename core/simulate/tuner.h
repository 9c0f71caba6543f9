/* What the files of the simulated tuner share. */
#ifndef EVENBORE_SIMULATE_TUNER_H
#define EVENBORE_SIMULATE_TUNER_H

#include "evenbore/person.h"
#include "evenbore/quantity.h"

#include "stream.h"

struct eb_bay {
  const eb_host *host;
  eb_bay_options options;
  eb_layout layout;
  eb_engine *engine; /* NULL until the layout is known */
  bool running;      /* as the tuner knows it */
  double idled_k;    /* how warm it was when it ran last */
  eb_gauge told;     /* the gauge that the session works with */
  bool gauge_told;
  stream draws;
  bool probe, sensor;        /* what the shop has: exhaust probe, mixture sensor */
  const char *placed;        /* the sensor: behind "all", one behind "each" row, or behind "row-1" alone */
  double last[EB_BORES_MAX]; /* what was typed last for a bore; 0: nothing yet */
  int swap_pass, swap_bore;  /* where two readings are typed in swapped order; 0: not at all */
  char condition[64];        /* that the throttle is in: of the last reading; "" is idle */
  double swapped;            /* the reading that is typed next then; 0: none */
  double vent_mark;          /* the engine's `vent` where the tuner marked it */
  double idle_rpm;           /* that the idle was set to; 0: not yet */
  int vain[EB_BORES_MAX];    /* how often nothing was found wrong with a bore that was asked about */
  int refusals;              /* of the open ask, in a row */
  eb_bay_work work;
  eb_sight sight;  /* what was looked at last */
  eb_faults found; /* what came to light */
};

/* Nothing is seen yet. */
void tuner_close_eyes(eb_bay *bay);

void tuner_find(eb_bay *bay, int fault);

/* Time passes, for the engine too. */
void tuner_spend(eb_bay *bay, eb_bay_minutes on, double minutes);

/* The engine comes to idle, or to rest, unless it does already. */
void tuner_switch(eb_bay *bay, bool runs);

/* The bore that an ask is about; -1: none. */
int tuner_bore(const eb_bay *bay, const eb_json *ask);

/* The value that is answered; owned by the caller; NULL when memory runs out. */
eb_json *tuner_number(eb_bay *bay, const eb_json *ask);
eb_json *tuner_confirm(eb_bay *bay, const eb_json *ask);
eb_json *tuner_choose(eb_bay *bay, const eb_json *ask);
eb_json *tuner_reading(eb_bay *bay, const eb_json *ask);
eb_json *tuner_adjust(eb_bay *bay, const eb_json *ask);

/* The throttle as a reading's condition wants it, and one look at the gauge there: what it shows, to its step. */
double tuner_look(eb_bay *bay, const eb_json *ask, int bore);
bool tuner_wants_plate(const eb_json *ask); /* a reading that is no air */

/* An adjuster is used for a move (ln); the engine must stand where it needs that. */
void tuner_move(eb_bay *bay, int adjuster, double move);

/* A bore to set the vent by: one that draws as much as half of them do. */
int tuner_usual_bore(const eb_bay *bay);

/* The gauge's vent, until a usual bore reads in the middle of the band. */
void tuner_turn_vent(eb_bay *bay);

/* Whether the gauge's vent is seen to be off its mark, by a turn that matters; and a new mark where it stands. */
bool tuner_vent_is_off(const eb_bay *bay);
void tuner_mark_vent(eb_bay *bay);

/* Whether the tachometer shows another speed now than the idle was set to. */
bool tuner_idle_is_off(const eb_bay *bay);

/* A pass was not taken: time for the engine to settle, and a thing or two come to light. */
void tuner_settle(eb_bay *bay);

/* What the tuner chose becomes true: which faults lie at the bore that is asked about (or anywhere), and whether they
 * are mended by that choice.  Gives those that are. */
eb_faults tuner_mend(eb_bay *bay, const eb_json *ask, const char *id);
bool tuner_asks_of_fault(const eb_json *ask);           /* whether the options name one, or mend and leave out a bore */
eb_faults tuner_named_faults(const eb_json *ask);       /* by the options; all where they name none */
eb_faults tuner_faults_at(const eb_bay *bay, int bore); /* -1: of the whole engine too */

/* A plate's gap, or its edge travel where the ask speaks of travel, mm. False: it cannot be measured now. */
bool tuner_measure_plate(eb_bay *bay, const eb_json *ask, double *mm);

/* A number in the ask's unit, inside its limits. */
eb_json *tuner_in_unit(const eb_json *ask, eb_quantity quantity, double value, const char *unit, double step);

#endif
